"""Laws of the ranking: chances add up, evidence moves them the right way, nothing missing breaks it."""

import math
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_t

from lungeline.case import Animal, Case, Settings
from lungeline.errors import InputError, SimulationError
from lungeline.explain import explain, prepare
from lungeline.explain.animals import Herd, stands
from lungeline.explain.assumed import NO_FAULT, NONE_OF_THESE, assumed
from lungeline.explain.bank import ONSETS_S, Array, Bank, at_times, bank
from lungeline.explain.channel import channels
from lungeline.explain.measured import Measured, measured, typed
from lungeline.explain.next_test import entropy_bits, most_helpful, proposals
from lungeline.explain.particles import Particles, particles
from lungeline.explain.ranking import (
    AT_FIRST_S,
    AT_FIRST_SHARE,
    DISCREPANCY_SD,
    DISCREPANCY_SHARE,
    Ranking,
    compared,
    rank,
    weighed,
)
from lungeline.explain.trial import Trial

CASE = Case(animal=Animal(species="horse", weight_kg=500.0))
CAUSES = (
    "circuit_leak",
    "cuff_leak",
    "tube_obstruction",
    "vaporiser_empty",
    "low_cardiac_output",
    "pneumothorax",
    "flow_sensor_error",
)
WEIGHTS = dict.fromkeys((*CAUSES, NO_FAULT, NONE_OF_THESE), 1.0)
_KEPT: dict[str, tuple[Herd, Bank, Particles]] = {}


def simulated() -> tuple[Herd, Bank, Particles]:
    """The typical horse and a few others with every cause, simulated once."""
    if not _KEPT:
        with ThreadPoolExecutor(2) as pool:
            herd = stands(CASE, measured(typed({"map_mmhg": 70.0}), assumed()), seed=1, pool=pool)
            found = particles(herd.stands, CAUSES, pool)
            _KEPT["it"] = herd, bank(found.kept), found
    return _KEPT["it"]


def seen(changes: dict[str, float], only: set[str] | None = None) -> Measured:
    """Readings of a horse in which these channels have changed by so much, the others not at all."""
    before = simulated()[0].stands[0].before
    names = {name for name in before if name in channels()} & (only or set(before))
    was = {name: before[name] for name in names if math.isfinite(before[name])}
    now = {name: value + changes.get(name, 0.0) for name, value in was.items()}
    return measured([*typed(was, 0.0), *typed(now, 60.0)], assumed(), 0.0)


def ranked(it: Measured, answers: dict[str, int] | None = None) -> Ranking:
    return rank(it, simulated()[1], assumed(), weights=WEIGHTS, answers=answers)


ANY_CHANGE = st.dictionaries(
    st.sampled_from(
        ["peak_pressure_cmh2o", "map_mmhg", "etco2_mmhg", "tidal_volume_expired_l", "spare_volume_l"]
    ),
    st.floats(-1e6, 1e6),
)


@given(ANY_CHANGE, st.sets(st.sampled_from(sorted(channels())), min_size=1))
@settings(max_examples=30, deadline=None)
def test_chances_add_up_to_one_whatever_is_read_and_whatever_is_missing(
    changes: dict[str, float], only: set[str]
) -> None:
    before = simulated()[0].stands[0].before
    if not only & set(before):
        return
    found = ranked(seen(changes, only))
    assert math.fsum(found.chances.values()) == pytest.approx(1.0, abs=1e-9)
    assert set(found.chances) == set(WEIGHTS)
    assert all(0.0 <= chance <= 1.0 for chance in found.chances.values())
    assert found.shares.sum() <= 1.0 + 1e-9


def test_the_more_volume_is_lost_the_less_nothing_has_happened() -> None:
    chances = [
        ranked(seen({"tidal_volume_expired_l": -lost})).chances[NO_FAULT] for lost in (0.0, 0.3, 0.6, 1.2)
    ]
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > chances[-1]


def test_the_further_agent_falls_the_likelier_the_vaporiser() -> None:
    chances = [
        ranked(seen({"inspired_agent_fraction": -fall})).chances["vaporiser_empty"]
        for fall in (0.0, 0.002, 0.004)
    ]
    assert chances == sorted(chances)
    assert chances[-1] > 0.5


def test_an_answer_that_fits_a_cause_raises_it_and_one_that_does_not_lowers_it() -> None:
    it = seen({"peak_pressure_cmh2o": 8.0})
    answers = assumed().tests["pass_catheter"].answers
    plain = ranked(it).chances["tube_obstruction"]
    stops = ranked(it, {"pass_catheter": answers.index("stops")}).chances["tube_obstruction"]
    passes = ranked(it, {"pass_catheter": answers.index("passes")}).chances["tube_obstruction"]
    assert passes < plain < stops


def test_a_cause_fits_its_own_simulation_best() -> None:
    herd, _, found = simulated()
    before = herd.stands[0].before
    for code in CAUSES:
        own = [it for it in found.of(code) if it.animal == 0 and it.severity_fraction > 0.8]
        now = own[0].course[7]  # after four minutes
        changes = {name: now[name] - before[name] for name in now if name in before}
        changes.pop("end_expiratory_hold_pressure_cmh2o", None)
        assert ranked(seen(changes)).ordered()[0] == code


def test_what_no_listed_cause_could_do_is_none_of_these() -> None:
    assert ranked(seen({"map_mmhg": 60.0, "fio2_fraction": 0.02})).ordered()[0] == NONE_OF_THESE


def test_no_test_that_stops_breathing_is_proposed_before_oxygenation_is_safe() -> None:
    found = ranked(seen({"peak_pressure_cmh2o": 2.0}))
    unsafe = proposals(found, assumed(), oxygenation_safe=False)
    safe = proposals(found, assumed(), oxygenation_safe=True)
    assert unsafe
    assert not any(each.test.interrupts for each in unsafe)
    assert any(each.test.interrupts for each in safe)


def test_no_test_tells_more_than_is_unknown_and_all_tell_something() -> None:
    found = ranked(seen({"peak_pressure_cmh2o": 8.0}))
    unknown = entropy_bits(np.array(list(found.chances.values())))
    every = [
        *proposals(found, assumed(), oxygenation_safe=True),
        *most_helpful(found, assumed(), ("pao2_mmhg",)),
    ]
    assert all(0.0 < each.expected_bits <= unknown for each in every)


def test_a_test_that_was_done_is_not_asked_for_again() -> None:
    found = ranked(seen({"peak_pressure_cmh2o": 8.0}))
    first = proposals(found, assumed(), oxygenation_safe=True)[0].test
    done = {first.code: "", **dict.fromkeys(first.reads, "")}
    again = proposals(found, assumed(), oxygenation_safe=True, done=done)
    assert first.code not in {each.test.code for each in again}


def test_a_run_that_is_no_number_is_dropped_openly_and_the_rest_is_ranked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    herd, _, _ = simulated()
    once = Trial.try_cause

    def breaks(self: Trial, code: str, severity: float, _twist: object) -> None:
        if code == "pneumothorax" and severity > 0.8:
            raise SimulationError(where="simulation", given="nan", allowed="numbers", do="Report it.")
        once(self, code, severity, None)

    monkeypatch.setattr(Trial, "try_cause", breaks)
    with ThreadPoolExecutor(2) as pool:
        found = particles(herd.stands, CAUSES, pool)
    assert found.dropped == {"pneumothorax": len(herd.stands)}
    left = rank(seen({}), bank(found.kept), assumed(), weights=WEIGHTS)
    assert math.fsum(left.chances.values()) == pytest.approx(1.0)
    assert "pneumothorax" in left.chances


def test_what_was_prepared_while_all_was_well_ranks_as_if_it_were_simulated_now() -> None:
    before = typed({"peak_pressure_cmh2o": 20.0, "etco2_mmhg": 38.0, "map_mmhg": 70.0}, at_s=0.0)
    now = typed({"peak_pressure_cmh2o": 27.0, "etco2_mmhg": 37.0, "map_mmhg": 69.0}, at_s=60.0)
    ready = prepare(CASE, before)
    begin_s = time.perf_counter()
    quick = explain(CASE, [*before, *now], changed_s=0.0, prepared=ready)
    assert time.perf_counter() - begin_s <= 1.0  # the requirement of a running case
    slow = explain(CASE, [*before, *now], changed_s=0.0)
    assert {it.code: it.probability for it in quick.causes} == pytest.approx(
        {it.code: it.probability for it in slow.causes}
    )
    with pytest.raises(InputError):
        explain(replace(CASE, settings=Settings(peep_cmh2o=8.0)), now, prepared=ready)


def test_looks_err_together_by_what_was_and_as_far_as_they_wandered_together() -> None:
    it = measured([
        *typed({"map_mmhg": 70.0}, 0.0), *typed({"map_mmhg": 66.0}, 300.0), *typed({"map_mmhg": 60.0}, 420.0)
    ], assumed(), 0.0)  # fmt: skip
    (told,) = compared(it, {})
    seen_map = it.observed["map_mmhg"]
    noise, was, wander = seen_map.looks[-1].noise_sd, seen_map.before_sd, seen_map.wander_sd
    assert (told.kind, told.values.tolist(), told.back_s.tolist()) == ("change", [-4.0, -10.0], [120.0, 0.0])
    # closed form: a random walk that is as wide as is usual at the end; the rest is common to both or of one
    apart = told.errors - told.errors[0, 0]
    assert apart[0, 1] == pytest.approx(-(noise**2))
    assert apart[1, 1] == pytest.approx(wander**2 * 120.0 / 420.0)
    common = was**2 + DISCREPANCY_SD**2 * (was**2 + noise**2 + wander**2)
    assert told.errors[0, 0] == pytest.approx(common + noise**2 + wander**2 * 300.0 / 420.0)


@pytest.mark.parametrize("began_s", [150.0, 450.0])
def test_each_quantity_is_weighed_by_the_density_of_a_reference_library(began_s: float) -> None:
    """Against scipy's multivariate Student density, whatever is constant over rows taken off."""
    it = measured([
        *typed({"map_mmhg": 70.0}, 0.0), *typed({"map_mmhg": 66.0}, 300.0), *typed({"map_mmhg": 60.0}, 420.0)
    ], assumed(), 0.0)  # fmt: skip
    _, table, _ = simulated()
    (told,), onset = compared(it, {}), ONSETS_S.index(began_s)
    logs = weighed(table, told)[:, onset]
    i, after_s = table.channels.index("map_mmhg"), began_s - told.back_s
    made = at_times(table.course[:, :, i], after_s)
    moved = made - at_times(table.unchanged[:, :, i], after_s)[table.animal]

    def scale(p: Array) -> Array:
        passing = AT_FIRST_SHARE * p * (after_s <= AT_FIRST_S)
        return told.errors + DISCREPANCY_SHARE**2 * np.outer(p, p) + np.outer(passing, passing)

    ours = [
        multivariate_t.logpdf(told.values, loc, scale(p), df=4) for loc, p in zip(made, moved, strict=True)
    ]
    apart = logs - np.array(ours)
    assert apart == pytest.approx(np.full(len(apart), apart[0]), abs=1e-9)


def test_when_it_began_tells_a_step_from_a_drift() -> None:
    """The same change by now: at once, five minutes ago, speaks for a cuff; slowly, less so."""
    lost = [0.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0]
    slowly = [0.0, 1 / 6, 2 / 6, 3 / 6, 4 / 6, 5 / 6, 1.0]
    chances = []
    for course in (lost, slowly):
        rows = [typed({"tidal_volume_expired_l": 6.0 - share}, 60.0 * i) for i, share in enumerate(course)]
        told = rank(
            measured([r for row in rows for r in row], assumed(), 0.0),
            simulated()[1],
            assumed(),
            weights=WEIGHTS,
        )
        chances.append(told.chances["cuff_leak"])
    assert chances[0] > chances[1]


def test_an_animal_at_unrest_is_not_compared_as_if_it_lay_still() -> None:
    """What swings while all is well swings by itself: one more swing as wide is no evidence."""
    calm = [
        *typed({"etco2_mmhg": 40.0}, 0.0),
        *typed({"etco2_mmhg": 40.0}, -60.0),
        *typed({"etco2_mmhg": 40.0}, -120.0),
    ]
    restless = [
        *typed({"etco2_mmhg": 40.0}, 0.0),
        *typed({"etco2_mmhg": 46.0}, -60.0),
        *typed({"etco2_mmhg": 33.0}, -120.0),
    ]
    now = typed({"etco2_mmhg": 34.0}, 60.0)
    chances = [
        rank(measured([*before, *now], assumed(), 0.0), simulated()[1], assumed(), weights=WEIGHTS).chances[
            NO_FAULT
        ]
        for before in (calm, restless)
    ]
    assert chances[1] > chances[0]


def test_what_moves_within_minutes_is_no_surer_evidence_the_longer_ago_all_was_well() -> None:
    """Two hours after the last row that was well, a quantity still wanders from minute to minute."""

    def step_sd(changed_s: float) -> float:
        rows = [
            *typed({"map_mmhg": 70.0}, changed_s),
            *typed({"map_mmhg": 70.0}, 0.0),
            *typed({"map_mmhg": 70.0}, 60.0),
        ]
        (told,) = compared(measured(rows, assumed(), changed_s), {})
        return float(np.sqrt(np.array([-1.0, 1.0]) @ told.errors @ np.array([-1.0, 1.0])))

    assert step_sd(-7200.0) == pytest.approx(step_sd(-540.0))

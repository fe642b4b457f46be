"""Laws of the ranking: chances add up, evidence moves them the right way, nothing missing breaks it."""

import math
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lungeline.case import Animal, Case, Settings
from lungeline.errors import InputError, SimulationError
from lungeline.explain import explain, prepare
from lungeline.explain.animals import Herd, stands
from lungeline.explain.assumed import NO_FAULT, NONE_OF_THESE, assumed
from lungeline.explain.bank import Bank, bank
from lungeline.explain.measured import Measured, channels, measured, typed
from lungeline.explain.next_test import entropy_bits, most_helpful, proposals
from lungeline.explain.particles import particles
from lungeline.explain.ranking import Ranking, compared, rank
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
_KEPT: dict[str, tuple[Herd, Bank]] = {}


def simulated() -> tuple[Herd, Bank]:
    """The typical horse and a few others with every cause, simulated once."""
    if not _KEPT:
        with ThreadPoolExecutor(2) as pool:
            herd = stands(CASE, measured(typed({"map_mmhg": 70.0}), assumed()), seed=1, pool=pool)
            _KEPT["it"] = herd, bank(particles(herd.stands, CAUSES, pool).kept)
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
    before = simulated()[0].stands[0].before
    table = simulated()[1]
    for code in CAUSES:
        own = [it for it in table.kept if it.cause == code and it.animal == 0 and it.severity_fraction > 0.8]
        changes = {name: own[0].now[name] - before[name] for name in own[0].now if name in before}
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
    herd, _ = simulated()
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


def test_of_two_readings_in_time_the_trend_counts_what_the_change_does_not_tell() -> None:
    """The trend's error is taken off what it shares with the change: what is left errs on its own."""
    it = measured([
        *typed({"map_mmhg": 70.0}, 0.0), *typed({"map_mmhg": 66.0}, 300.0), *typed({"map_mmhg": 60.0}, 420.0)
    ], assumed(), 0.0)  # fmt: skip
    change, trend = compared(it, {})
    seen_map = it.observed["map_mmhg"]
    assert (change.kind, trend.kind) == ("change", "trend")
    # closed form: regression of the trend (-6) on the change (-10), residual standard deviation
    slope = seen_map.shared / seen_map.change_sd**2
    assert trend.value == pytest.approx(-6.0 + 10.0 * slope)
    assert trend.sd == pytest.approx(math.sqrt(seen_map.trend_sd**2 - slope * seen_map.shared))

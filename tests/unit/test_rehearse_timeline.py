"""What was seen, done and hidden, over time; and harm added up anew from the breaths, by another way."""

import json
import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from lungeline.rehearse import Outcome, Rehearsal, deeds, judge, play, scenario_named
from lungeline.rehearse.harm import harm_of
from lungeline.rehearse.quantities import HARM
from lungeline.rehearse.timeline import HIDDEN, timeline

pytestmark = pytest.mark.slow
# between them, each kind of harm is done at least once
PLAYED = [
    ("disconnection", "wrong"),
    ("torsion_hypoxaemia", "wrong"),
    ("recruitment_in_hypovolaemia", "wrong"),
]


@cache
def _played(name: str, answer: str) -> tuple[Outcome, Rehearsal]:
    scenario = scenario_named(name)
    return play(scenario, () if answer == "nothing" else scenario.wrong[0].script)


def _column(run: Rehearsal, key: str) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    values = [getattr(breath, key) for breath in run.breaths]
    return np.array([math.nan if value is None else value for value in values])


def _added_up(run: Rehearsal) -> dict[str, float]:
    """Harm by its definition in docs/rehearse.md: each breath stands until the next begins. Arithmetic."""
    begun_s = _column(run, "time_s")
    minutes = np.diff(np.append(begun_s, run.live.time_s)) / 60.0
    pao2, pressure = _column(run, "pao2_mmhg"), _column(run, "map_mmhg")
    oxygen, peak = _column(run, "fio2_fraction"), _column(run, "peak_pressure_cmh2o")
    air = _column(run, "room_air_entrained_l")
    at_s, fractions = (np.array(each) for each in zip(*run.oxygen_set, strict=True))
    least_oxygen = fractions[np.searchsorted(at_s, begun_s - run.begun_s, side="right") - 1] - 0.05
    return {
        "hypoxaemia_minutes": np.nansum(minutes[pao2 < 60.0]),
        "hypoxaemia_mmhg_min": np.nansum(minutes * np.clip(60.0 - pao2, 0.0, None)),
        "hypotension_minutes": np.nansum(minutes[pressure < 70.0]),
        "low_oxygen_minutes": np.nansum(minutes[oxygen < least_oxygen]),
        "room_air_l": air[-1] - air[0],
        "pressure_cmh2o_min": np.nansum(minutes * np.clip(peak - 40.0, 0.0, None)),
    }


@pytest.mark.parametrize(("name", "answer"), PLAYED)
def test_harm_added_up_another_way_is_the_same(name: str, answer: str) -> None:
    outcome, run = _played(name, answer)
    assert outcome.harm.as_json() == pytest.approx(_added_up(run), rel=1e-9, abs=1e-9)


def test_oxygen_is_held_against_what_was_set_then() -> None:
    run = Rehearsal(scenario_named("auto_peep"))
    run.advance(30.0)
    first = run.breaths[0]
    low = [replace(first, time_s=at_s, fio2_fraction=0.6) for at_s in (0.0, 60.0, 120.0)]
    was_high = harm_of(low, [(0.0, 0.95), (90.0, 0.5)], 180.0)
    assert was_high.low_oxygen_minutes == 2.0  # the first two breaths of a minute each; the dial turned later
    run.act("set", {"fresh_gas_oxygen_fraction": 0.5})
    assert [fraction for _, fraction in run.oxygen_set][-1] == 0.5
    assert run.oxygen_set[-1][0] == pytest.approx(30.0)


def test_between_them_every_harm_is_done() -> None:
    done = {
        key
        for name, answer in PLAYED
        for key, value in _played(name, answer)[0].harm.as_json().items()
        if value
    }
    assert done == set(HARM)


def test_the_hidden_tracks_are_the_breaths_and_the_shown_ones_the_readings() -> None:
    _, run = _played("torsion_hypoxaemia", "wrong")
    line = timeline(run)
    assert [track.key for track in line.hidden] == list(HIDDEN)
    for track in line.hidden:
        assert track.values == tuple(getattr(breath, track.key) for breath in run.breaths)
    shown = {(track.key, track.source): len(track.values) for track in line.shown}
    for (key, source), count in shown.items():
        assert count == sum(it.key == key and it.source == source for it in run.readings(0.0))
    assert min(track.times_s[0] for track in line.shown) >= 0.0
    assert line.end_s == pytest.approx(run.scenario.minutes * 60.0)


def test_what_the_learner_does_not_see_is_not_shown() -> None:
    scenario = scenario_named("disconnection").model_copy(update={"hidden_instruments": ("etco2_mmhg",)})
    line = timeline(play(scenario, ())[1])
    assert line.of("etco2_mmhg") is None
    assert line.of("spo2_fraction") is not None


def test_a_fault_is_told_from_when_it_began_until_it_was_mended() -> None:
    scenario = scenario_named("disconnection")  # off at 1 min; the model answer puts it back at 90 s
    line = timeline(play(scenario, scenario.model_answer)[1])
    (fault,) = line.severities
    assert fault.key == "disconnection"
    assert fault.values == (1.0, 0.0)
    assert fault.times_s[0] == pytest.approx(60.0, abs=1.0)
    mended_s = 90.0 + deeds()["reconnect"].takes_s
    assert fault.times_s[1] == pytest.approx(mended_s, abs=1.0)


def test_what_never_was_is_not_told_after_going_back() -> None:
    run = Rehearsal(scenario_named("disconnection"))
    run.advance(30.0)
    kept = run.keep()
    run.advance(60.0)
    assert "disconnection" in run.severities
    run.back_to(kept)
    assert not [step for steps in run.severities.values() for step in steps]
    run.advance(60.0)
    assert run.severities["disconnection"][0][1] == 1.0


def test_a_fault_there_from_the_start_is_told_from_the_start() -> None:
    line = timeline(Rehearsal(scenario_named("torsion_hypoxaemia")))
    begun = {track.key: (track.times_s[0], track.values[0]) for track in line.severities}
    assert begun == {
        event.code: (0.0, event.severity_fraction)
        for event in scenario_named("torsion_hypoxaemia").case.faults
    }


def test_it_is_plain_data() -> None:
    _, run = _played("torsion_hypoxaemia", "wrong")
    told = timeline(run).as_json()
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert told["simulated"] is True


def test_a_rehearsal_that_has_only_begun_can_be_judged_and_told() -> None:
    run = Rehearsal(scenario_named("disconnection"))
    assert not run.breaths
    assert judge(run).harm.hypoxaemia_minutes == 0.0
    assert timeline(run).end_s == 0.0

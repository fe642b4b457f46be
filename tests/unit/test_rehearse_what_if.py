"""What if: up to the moment nothing differs, from there on only what was done instead."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import pytest

from lungeline.errors import OutOfRangeError
from lungeline.rehearse import Rehearsal, Scenario, play, scenario_named
from lungeline.rehearse.scenario import Step
from lungeline.rehearse.timeline import Timeline
from lungeline.rehearse.what_if import what_if, what_if_lines, with_trainer

pytestmark = pytest.mark.slow


def _step(at_s: float, deed: str, **given: object) -> Step:
    return Step.model_validate({"at_s": at_s, "deed": deed, "with": given})


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    return scenario_named("disconnection")


LATE = (_step(75.0, "look at bellows"), _step(200.0, "reconnect"))
PROMPT = (_step(85.0, "check hoses"), _step(90.0, "reconnect"))


def _hidden(line: Timeline, key: str, until_s: float) -> list[tuple[float, float | None]]:
    track = line.of(key, hidden=True)
    assert track is not None
    return [it for it in zip(track.times_s, track.values, strict=True) if it[0] < until_s]


def test_doing_the_same_instead_makes_no_difference(scenario: Scenario) -> None:
    found = what_if(scenario, LATE, LATE[1:], from_s=80.0)
    assert found.was == found.would
    assert found.was_line == found.would_line
    assert all(it.change in {0.0, None} for it in (*found.harm, *found.at_end))


def test_before_the_moment_nothing_differs_and_after_it_only_what_was_done(scenario: Scenario) -> None:
    found = what_if(scenario, LATE, PROMPT, from_s=80.0)
    for key in ("pao2_mmhg", "paco2_mmhg", "cardiac_output_l_min"):
        before = _hidden(found.was_line, key, 80.0)
        assert before == _hidden(found.would_line, key, 80.0)
        assert len(before) > 5
    assert found.would.acts[0] == found.was.acts[0]  # done at 75 s, and it stays
    assert [act.deed for act in found.would.acts] == ["look at bellows", "check hoses", "reconnect"]
    # off the circle for 30 s of drawn air rather than for 140 s: reconnected at 90 s instead of 200 s
    air = next(it for it in found.harm if it.key == "room_air_l")
    assert air.change is not None
    assert air.change < 0.0
    assert (found.was.passed, found.would.passed) == (False, True)
    was, would = found.critical_actions[0]
    assert (was.met, would.met) == (False, True)


def test_each_way_is_as_if_it_had_been_played_alone(scenario: Scenario) -> None:
    found = what_if(scenario, LATE, PROMPT, from_s=80.0, seed=3)
    assert found.was == play(scenario, LATE, seed=3)[0]
    assert found.would == play(scenario, (LATE[0], *PROMPT), seed=3)[0]
    assert found.as_json() == what_if(scenario, LATE, PROMPT, from_s=80.0, seed=3).as_json()


def test_acts_of_a_rehearsal_that_still_runs_are_taken_as_they_are(scenario: Scenario) -> None:
    run = Rehearsal(scenario)
    run.advance(75.0)
    run.act("look at bellows")
    run.act("set", {"respiratory_rate_per_min": 9.0})
    run.act("recruitment", {"pressures_cmh2o": [30.0, 40.0], "hold_s": 5.0})
    found = what_if(scenario, run.acts, PROMPT[1:], from_s=90.0)
    assert found.was.acts == run.acts
    assert [act.deed for act in found.would.acts[:3]] == [act.deed for act in run.acts]


@pytest.mark.parametrize(
    ("from_s", "at_s"), [(-1.0, 90.0), (480.0, 490.0), (95.0, 90.0), (float("nan"), 90.0)]
)
def test_a_moment_that_is_none_is_refused(scenario: Scenario, from_s: float, at_s: float) -> None:
    with pytest.raises(OutOfRangeError):
        what_if(scenario, LATE, [_step(at_s, "reconnect")], from_s=from_s)


@dataclass(frozen=True)
class _Done:
    at_s: float
    hand: str
    given: Mapping[str, Any] = field(default_factory=dict)


def test_what_a_trainer_did_happens_again(scenario: Scenario) -> None:
    hands = (
        _Done(20.0, "fault", {"code": "cuff_leak", "severity": 0.5, "over_min": 0.0}),
        _Done(30.0, "say", {"text": "Something hisses."}),
        _Done(40.0, "note", {"text": "looks away"}),
    )
    found = what_if(with_trainer(scenario, hands), LATE, PROMPT, from_s=80.0)
    leak = next(it for it in found.would_line.severities if it.key == "cuff_leak")
    assert leak.times_s[0] == pytest.approx(20.0, abs=1.0)
    assert leak.values[0] == 0.5
    assert [it.says for it in found.was_line.told if it.says] == [
        "Something hisses.",
        scenario.happenings[0].say,
    ]


def test_the_words_tell_both_ways(scenario: Scenario) -> None:
    text = "\n".join(what_if_lines(what_if(scenario, LATE, PROMPT, from_s=80.0)))
    assert "from 1:20 on" in text
    assert "NOT MET 3:20" in text
    assert "met 1:30" in text

"""A rehearsal that is led: going back, faults put in, instruments hidden or standing still."""

import pytest

from lungeline.errors import InputError
from lungeline.rehearse import scenario_named
from lungeline.rehearse.practice import Practice


@pytest.fixture
def practice() -> Practice:
    return Practice(scenario_named("disconnection"))


def _told(practice: Practice) -> list[tuple[float, float | None]]:
    return [(each.time_s, each.paco2_mmhg) for each in practice.run.breaths]


def test_going_back_and_doing_the_same_gives_the_same(practice: Practice) -> None:
    practice.advance(47.0)
    practice.act("set", {"respiratory_rate_per_min": 9.0})
    practice.hand("fault", {"code": "low_cardiac_output", "severity": 0.5, "over_min": 1.0})
    practice.advance(100.0)
    practice.act("reconnect")
    practice.advance(60.0)
    first, readings = _told(practice), practice.readings(150.0)
    practice.back_to(120.0)  # between two kept moments, after what was done
    assert practice.run.now_s == pytest.approx(120.0, abs=0.05)
    assert [act.deed for act in practice.run.acts] == ["set"]
    assert [done.hand for done in practice.hands] == ["fault"]
    assert practice.known.respiratory_rate_per_min == 9.0
    practice.advance(27.0)
    practice.act("reconnect")
    practice.advance(60.0)
    assert _told(practice) == first
    shown = {each.key for each in practice.readings(150.0)}
    assert shown == {each.key for each in readings}


def test_what_came_after_never_was(practice: Practice) -> None:
    practice.advance(40.0)
    practice.act("set", {"peep_cmh2o": 8.0})
    practice.hand("hide", {"key": "etco2_mmhg"})
    practice.back_to(20.0)
    assert practice.run.acts == ()
    assert practice.hands == ()
    assert practice.masked == {}
    assert practice.known == practice.run.scenario.case.settings
    with pytest.raises(InputError):
        practice.back_to(21.0)


def test_a_fault_put_in_is_felt_and_taken_out(practice: Practice) -> None:
    practice.hand("fault", {"code": "tube_obstruction", "severity": 0.6})
    practice.advance(30.0)
    worse = practice.truth
    practice.hand("fault", {"code": "tube_obstruction", "severity": 0.0})
    practice.advance(25.0)
    assert worse is not None
    assert practice.truth is not None
    assert worse.peak_pressure_cmh2o > practice.truth.peak_pressure_cmh2o + 5.0  # type: ignore[operator]  # an animal on a machine has it


def test_a_hidden_instrument_shows_nothing_and_a_frozen_one_the_same(practice: Practice) -> None:
    practice.advance(20.0)
    practice.hand("hide", {"key": "etco2_mmhg"})
    practice.hand("freeze", {"key": "map_mmhg"})
    stands = practice.masked["map_mmhg"]
    practice.advance(30.0)
    new = practice.readings(25.0)
    assert not any(each.key == "etco2_mmhg" for each in new)
    assert {each.value for each in new if each.key == "map_mmhg"} == {stands}
    practice.hand("show", {"key": "etco2_mmhg"})
    practice.advance(10.0)
    assert any(each.key == "etco2_mmhg" for each in practice.readings(50.0))


def test_what_the_trainer_says_the_learner_hears(practice: Practice) -> None:
    practice.advance(5.0)
    practice.hand("say", {"text": "The surgeon asks how she is."})
    practice.hand("note", {"text": "Looked at the hoses first."})
    practice.hand("mark", {"behaviour": "team working", "rating": 4})
    assert [told.says for told in practice.run.told if told.says] == ["The surgeon asks how she is."]
    assert [done.hand for done in practice.hands] == ["say", "note", "mark"]


@pytest.mark.parametrize(
    ("what", "given", "says"),
    [
        ("injure", {}, "fault"),
        ("fault", {"code": "tube_obstructoin"}, "tube_obstruction"),
        ("fault", {"code": "tube_obstruction", "severity": 2.0}, "0 to 1"),
        ("fault", {"code": "tube_obstruction", "severity": float("nan")}, "0 to 1"),
        ("set", {"peep": 5.0}, "peep_cmh2o"),
        ("set", {"peep_cmh2o": 900.0}, "peep_cmh2o"),
        ("hide", {"key": "etco2"}, "etco2_mmhg"),
        ("say", {"text": " "}, "500"),
        ("mark", {"behaviour": "courage", "rating": 3}, "team working"),
        ("mark", {"behaviour": "team working", "rating": 6}, "1 to 5"),
    ],
)
def test_what_cannot_be_done_is_refused_and_changes_nothing(
    practice: Practice, what: str, given: dict[str, object], says: str
) -> None:
    with pytest.raises(InputError) as refused:
        practice.hand(what, given)
    assert says in str(refused.value)
    assert practice.hands == ()
    assert practice.run.live.active_faults == {}


def test_what_shows_no_number_yet_cannot_stand_still(practice: Practice) -> None:
    practice.back_to(0.0)  # the instruments begin anew
    with pytest.raises(InputError, match="hide it"):
        practice.hand("freeze", {"key": "map_mmhg"})
    assert practice.masked == {}

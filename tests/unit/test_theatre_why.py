"""Why and what next, from a record: rows compared, what is noticed, causes, the animal, gases in doubt."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from lungeline.case import Animal, Case, Settings, case_to_json
from lungeline.errors import InputError, MissingError, UnknownNameError
from lungeline.record import CaseState
from lungeline.theatre import Cases, Desk
from lungeline.theatre.case_beside import case_now
from lungeline.theatre.causes import Causes
from lungeline.theatre.expected import beside
from lungeline.theatre.gas_doubts import doubts
from lungeline.theatre.quiet import noticed
from lungeline.theatre.rows_read import Story, rows_read, set_otherwise_since, story
from lungeline.theatre.this_animal import Animals, choices_now

BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
Told = tuple[float, str, dict[str, Any]]
PLAN: Told = (-5.0, "plan", {"case": case_to_json(Case(animal=Animal(species="horse", weight_kg=520.0)))})
UNDER: Told = (0.0, "phase", {"phase": "maintain"})
SET: Told = (1.0, "setting", {"tidal_volume_l": 6.0, "respiratory_rate_per_min": 7.0})
WELL = {
    "peak_pressure_cmh2o": 22.0, "tidal_volume_expired_l": 5.9, "etco2_mmhg": 40.0, "map_mmhg": 72.0,
    "spo2_fraction": 0.97,
}  # fmt: skip
TIGHT = WELL | {"peak_pressure_cmh2o": 33.0}
GAS = {"sample": "arterial", "paco2_mmhg": 49.0, "pao2_mmhg": 260.0}


def _at(minutes: float) -> datetime:
    return BEGAN + timedelta(minutes=minutes)


def _state(tmp_path: Path, *told: Told) -> CaseState:
    cases = Cases(tmp_path / "data", key_file=tmp_path / "key" / "record.key")
    desk = Desk(cases=cases, author="A. Vet", device="tablet", clock=lambda: _at(300.0))
    opened = desk.open_case({"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0})
    for at_min, kind, body in told:
        desk.enter(opened.case, kind, body, event_time=_at(at_min))
    return cases.read(opened.case).state


def _rows(*minutes: float, values: dict[str, float] = WELL) -> list[Told]:
    return [(at_min, "reading", dict(values)) for at_min in minutes]


def _tight(tmp_path: Path, *more: Told) -> CaseState:
    rows = [*_rows(15.0, 20.0, 25.0, 30.0), *_rows(35.0, 40.0, values=TIGHT)]
    return _state(tmp_path, PLAN, UNDER, SET, *rows, *more)


def _story(state: CaseState, until: datetime | None = None) -> Story:
    told = story(rows_read(state), set_otherwise_since(state), until)
    assert told is not None
    return told


# --- what is compared with what -------------------------------------------------------------------------


def test_the_newest_are_compared_with_the_last_row_that_is_unlike_them(tmp_path: Path) -> None:
    told = _story(_tight(tmp_path))
    assert (told.well_until, told.unlike) == (_at(30.0), True)
    assert told.now["peak_pressure_cmh2o"] == 33.0
    assert told.before["peak_pressure_cmh2o"] == [22.0] * 4
    chosen = _story(_tight(tmp_path / "chosen"), _at(20.0))
    assert (chosen.well_until, chosen.chosen) == (_at(20.0), True)


def test_what_is_on_the_move_is_compared_with_where_it_came_from(tmp_path: Path) -> None:
    """Two mmHg a minute: a row of three minutes ago differs by enough, but was on the way already."""
    rows = [(20.0 + i, "reading", WELL | {"etco2_mmhg": 40.0 + 2.0 * i}) for i in range(9)]
    told = _story(_state(tmp_path, PLAN, UNDER, SET, *_rows(10.0, 15.0), *rows))
    assert (told.well_until, told.before["etco2_mmhg"][-1], told.now["etco2_mmhg"]) == (_at(20.0), 40.0, 56.0)


def test_rows_keep_their_times_so_that_a_step_is_told_from_a_drift(tmp_path: Path) -> None:
    told = _story(_tight(tmp_path))
    readings, changed_s = told.readings()
    pressure = [(it.time_s, it.value) for it in readings if it.key == "peak_pressure_cmh2o"]
    assert changed_s == 0.0
    assert pressure == [
        (-900.0, 22.0),
        (-600.0, 22.0),
        (-300.0, 22.0),
        (0.0, 22.0),
        (300.0, 33.0),
        (600.0, 33.0),
    ]
    assert told.now_s == 600.0


def test_what_was_read_a_while_ago_is_taken_to_be_so_still(tmp_path: Path) -> None:
    rows = [
        *_rows(30.0),
        (36.0, "reading", {"map_mmhg": 60.0}),
        (40.0, "reading", {"peak_pressure_cmh2o": 33.0}),
    ]
    readings, _ = _story(_state(tmp_path, PLAN, UNDER, SET, *rows)).readings()
    assert [(it.time_s, it.value) for it in readings if it.key == "map_mmhg"] == [
        (0.0, 72.0), (360.0, 60.0), (600.0, 60.0)
    ]  # fmt: skip


def test_rows_of_other_settings_are_not_compared(tmp_path: Path) -> None:
    changed: Told = (32.0, "setting", {"tidal_volume_l": 7.0})
    told = _story(_state(tmp_path, PLAN, UNDER, SET, *_rows(25.0, 30.0), changed, *_rows(35.0, values=TIGHT)))
    assert told.well_until is None
    assert told.readings()[1] is None
    same: Told = (32.0, "setting", {"tidal_volume_l": 6.0})  # said again, nothing was turned
    again = _state(tmp_path / "same", PLAN, UNDER, SET, *_rows(25.0), same, *_rows(35.0, values=TIGHT))
    assert _story(again).well_until == _at(25.0)


def test_what_cannot_be_used_is_no_row(tmp_path: Path) -> None:
    venous: Told = (20.0, "gases", {"sample": "venous", "paco2_mmhg": 55.0, "pao2_mmhg": 40.0})
    artefact: Told = (21.0, "reading", {"etco2_mmhg": 3.0, "artefact": True})
    state = _state(tmp_path, UNDER, venous, artefact)
    assert rows_read(state) == ()
    assert story((), None) is None


def test_rows_typed_in_parts_and_live_numbers_add_up(tmp_path: Path) -> None:
    state = _state(tmp_path, UNDER, (20.0, "reading", {"map_mmhg": 70.0}))
    live = {"etco2_mmhg": [(_at(22.0), 40.0), (_at(22.25), 44.0)]}
    told = story(rows_read(state, live), None)
    assert told is not None
    assert told.now == {"etco2_mmhg": 42.0}  # the mean of its minute, arithmetic; the row before is what was
    assert told.before == {"map_mmhg": [70.0]}


def test_a_minute_that_has_only_begun_lacks_nothing_that_was_just_measured(tmp_path: Path) -> None:
    live = {
        "etco2_mmhg": [(_at(at_min), 40.0) for at_min in (20.0, 21.0, 22.0)],
        "map_mmhg": [(_at(at_min), 70.0) for at_min in (20.0, 21.0, 22.0, 23.0, 24.0)],
    }
    told = story(rows_read(_state(tmp_path, UNDER), live), None)
    assert told is not None
    assert told.now == {"etco2_mmhg": 40.0, "map_mmhg": 70.0}
    assert told.before["etco2_mmhg"] == [40.0, 40.0]


# --- what is noticed ------------------------------------------------------------------------------------


def test_what_moved_and_stayed_is_noticed_once_it_has_lasted(tmp_path: Path) -> None:
    state = _tight(tmp_path)
    assert noticed(state, _at(36.0)) == ()
    (found,) = noticed(state, _at(42.0))
    assert (found.finding.code, found.priority) == ("watch_moved_together", "medium")
    assert _at(35.0) < found.at <= _at(40.0)


def test_after_a_manoeuvre_or_a_new_position_nothing_is_noticed_for_a_while(tmp_path: Path) -> None:
    for place, what in enumerate(("turned", "recruitment")):
        state = _tight(tmp_path / str(place), (33.0, "event", {"what": what}))
        assert noticed(state, _at(42.0)) == (), what


def test_what_was_seen_to_is_not_told_again_and_its_rule_keeps_count(tmp_path: Path) -> None:
    code = "watch_moved_together"
    seen: Told = (42.0, "advice", {"code": code, "done": "followed"})
    assert noticed(_tight(tmp_path, seen), _at(43.0)) == ()
    earlier: Told = (20.0, "advice", {"code": code, "done": "declined"})
    (again,) = noticed(_tight(tmp_path / "earlier", earlier), _at(42.0))
    assert (again.right, again.wrong) == (0, 1)


def test_live_numbers_are_watched_too_and_nothing_of_an_animal_awake(tmp_path: Path) -> None:
    live = {
        "peak_pressure_cmh2o": [(_at(15.0 + it / 4.0), 22.0 if it < 80 else 33.0) for it in range(120)],
    }
    state = _state(tmp_path, PLAN, UNDER, SET)
    (found,) = noticed(state, _at(45.0), live)
    assert found.finding.code == "watch_moved_together"
    awake = _state(tmp_path / "awake", PLAN, UNDER, SET, (44.0, "phase", {"phase": "recover"}))
    assert noticed(awake, _at(45.0), live) == ()


# --- causes ---------------------------------------------------------------------------------------------


@pytest.mark.slow
def test_an_answer_in_the_record_ranks_the_causes_anew_and_asks_the_next_test(tmp_path: Path) -> None:
    causes = Causes()

    def why(name: str, *more: Told) -> Any:  # noqa: ANN401  as it is told
        state = _tight(tmp_path / name, *more)
        case = case_now(state)
        assert case is not None
        return causes.why(state, case, _story(state))

    first = why("first")
    chances = {it.code: it.probability for it in first.told.causes}
    assert first.lines[0].causes[0].code in {"tube_obstruction", "bronchospasm", "airway_secretions"}
    assert first.next_test is not None
    wheeze = {"code": "test_listen_both_sides", "done": "followed", "about": "listen_both_sides=wheeze"}
    second = why("second", (41.0, "advice", wheeze))
    after = {it.code: it.probability for it in second.told.causes}
    assert after["bronchospasm"] > 2.0 * chances["bronchospasm"]
    assert [it.test.code for it in second.told.tests if it.test.code == "listen_both_sides"] == []
    later = {"code": f"test_{first.next_test.test.code}", "done": "later", "about": first.next_test.test.code}
    put_off = why("later", (41.0, "advice", later))
    assert put_off.next_test.test.code != first.next_test.test.code
    odd = {"code": "test_x", "done": "followed", "about": "listen_both_sides=a kettle"}
    assert why("odd", (41.0, "advice", odd)).told.causes  # what no test could find ranks nothing


@pytest.mark.slow
def test_causes_that_readings_cannot_tell_apart_stand_on_one_line_with_the_look_that_can(
    tmp_path: Path,
) -> None:
    rows = [*_rows(20.0, 25.0, 30.0), *_rows(35.0, values=WELL | {"peak_pressure_cmh2o": 26.0})]
    state = _state(tmp_path, PLAN, UNDER, SET, *rows)
    case = case_now(state)
    assert case is not None
    why = Causes().why(state, case, _story(state))
    pairs = [line for line in why.lines if len(line.causes) > 1]
    assert pairs
    for line in pairs:
        one, other = line.causes
        assert one.probability < 2.0 * other.probability
        assert line.splits is not None
        assert line.splits.chances(one.code) != line.splits.chances(other.code)


# --- this animal ----------------------------------------------------------------------------------------


@pytest.mark.slow
def test_a_gas_tells_of_the_animal_and_of_carbon_dioxide_since_then_less_and_less(tmp_path: Path) -> None:
    state = _state(
        tmp_path, PLAN, UNDER, SET, *_rows(15.0, 20.0), (20.5, "gases", GAS), *_rows(25.0, 30.0, 45.0)
    )
    asked, rows, animals = beside(state, _at(46.0)), rows_read(state), Animals()
    assert asked is not None
    fitted = animals.fitted(asked, rows)
    assert "carbon_dioxide_output_l_min" in {it.name for it in fitted.numbers}
    since = animals.since_gas(asked, rows, _at(46.0))
    assert since is not None
    assert (since.at, since.paco2_mmhg) == (_at(20.5), 49.0)
    width = [high - low for low, high in zip(since.low, since.high, strict=True)]
    assert width[-1] > width[0]
    assert len(width) == 25  # whole minutes since the gas, arithmetic
    old = animals.since_gas(asked, rows, _at(90.0))
    assert old is not None
    assert old.too_old
    assert animals.since_gas(asked, [row for row in rows if not row.gas], _at(46.0)) is None


@pytest.mark.slow
def test_what_comes_is_told_from_now_on_with_what_was_set_since_the_last_reading(tmp_path: Path) -> None:
    rows = _rows(15.0, 20.0)
    state = _state(tmp_path, PLAN, UNDER, SET, *rows, (20.5, "gases", GAS))
    faster: Told = (22.0, "setting", {"respiratory_rate_per_min": 12.0})
    later = _state(tmp_path / "faster", PLAN, UNDER, SET, *rows, (20.5, "gases", GAS), faster)
    ends = []
    for each in (state, later):
        asked = beside(each, _at(25.0))
        assert asked is not None
        told = Animals().ahead(asked, rows_read(each), ["leave", "stop"], _at(25.0), None)
        assert told.from_min == pytest.approx(4.5)  # 25 - 20.5, arithmetic
        leave, stop = told.outlooks
        assert stop.bands["paco2_mmhg"].middle[-1] > leave.bands["paco2_mmhg"].middle[-1] + 10.0
        ends.append(leave.bands["paco2_mmhg"].middle[-1])
    assert ends[1] < ends[0] - 5.0


def test_without_readings_or_with_an_unknown_choice_it_is_said_what_to_do(tmp_path: Path) -> None:
    state = _state(tmp_path, PLAN, UNDER, SET)
    asked = beside(state, _at(5.0))
    assert asked is not None
    with pytest.raises(MissingError, match="Enter what is measured"):
        Animals().fitted(asked, rows_read(state))
    read = _state(tmp_path / "read", PLAN, UNDER, SET, *_rows(4.0))
    with pytest.raises(UnknownNameError, match="rate_up"):
        Animals().ahead(asked, rows_read(read), ["rate_upp"], _at(5.0), None)


def test_only_what_can_be_done_is_a_choice() -> None:
    alone = choices_now(Settings(ventilator_on=False, fresh_gas_flow_l_min=6.0))
    assert list(alone) == ["leave", "fresh_gas_down"]
    assert alone["fresh_gas_down"][0].settings == {"fresh_gas_flow_l_min": 3.0}  # half, arithmetic
    held = choices_now(Settings(ventilator_on=True, peep_cmh2o=12.0, respiratory_rate_per_min=7.0))
    assert held["peep"][0].settings == {"peep_cmh2o": 17.0}  # five more, arithmetic
    assert held["rate_up"][0].settings == {"respiratory_rate_per_min": 9.0}


# --- gases in doubt -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("gas", "readings", "code"),
    [
        ({"paco2_mmhg": 6.7, "pao2_mmhg": 35.0}, {}, "kpa"),  # 50 and 262 mmHg, by 7.5
        ({"paco2_mmhg": 58.0, "pao2_mmhg": 44.0}, {"spo2_fraction": 0.97}, "venous"),
        # on air at sea level PAO2 is about 100 mmHg (closed form)
        ({"paco2_mmhg": 40.0, "pao2_mmhg": 300.0, "fio2_fraction": 0.21}, {}, "inspired"),
        ({"paco2_mmhg": 30.0, "pao2_mmhg": 200.0}, {"etco2_mmhg": 41.0}, "bubble"),
        # 6.1 + lg(24 / (0.0307 * 60)) = 7.21 (closed form)
        ({"paco2_mmhg": 60.0, "bicarbonate_mmol_l": 24.0, "arterial_ph": 7.4}, {}, "ph"),
    ],
)
def test_a_gas_that_cannot_well_be_is_doubted(
    gas: dict[str, float], readings: dict[str, float], code: str
) -> None:
    assert [it.code for it in doubts(gas, readings)] == [code]


def test_ordinary_gases_of_ill_horses_too_are_not_doubted() -> None:
    monitor = {"etco2_mmhg": 44.0, "fio2_fraction": 0.9, "spo2_fraction": 0.9}
    for paco2, pao2, ph in ((49.0, 350.0, 7.36), (75.0, 62.0, 7.2), (95.0, 110.0, 7.1)):
        assert doubts({"paco2_mmhg": paco2, "pao2_mmhg": pao2, "arterial_ph": ph}, monitor) == ()
    # hypoxaemia that the oximeter sees too
    assert doubts({"paco2_mmhg": 50.0, "pao2_mmhg": 45.0}, monitor | {"spo2_fraction": 0.82}) == ()


def test_what_was_read_grows_old_and_what_rests_on_it_goes(tmp_path: Path) -> None:
    state = _tight(tmp_path)
    assert noticed(state, _at(45.0))
    assert noticed(state, _at(90.0)) == ()


def test_half_an_hour_after_the_last_row_nothing_is_foretold(tmp_path: Path) -> None:
    state = _state(tmp_path, PLAN, UNDER, SET, *_rows(15.0, 20.0))
    asked = beside(state, _at(55.0))
    assert asked is not None
    with pytest.raises(InputError, match="Enter what is measured now"):
        Animals().ahead(asked, rows_read(state), ["leave"], _at(55.0), None)


def test_what_is_done_after_the_readings_is_no_part_of_the_fit(tmp_path: Path) -> None:
    rows = _rows(15.0, 20.0)
    off: Told = (22.0, "event", {"what": "off the circle"})
    on: Told = (26.0, "event", {"what": "on the circle again"})
    before = _state(tmp_path, PLAN, UNDER, SET, *rows)
    after = _state(tmp_path / "off", PLAN, UNDER, SET, *rows, off, on)
    told = []
    for each in (before, after):
        asked = beside(each, _at(27.0))
        assert asked is not None
        told.append(Animals().fitted(asked, rows_read(each)))
    assert [it.value for it in told[0].numbers] == pytest.approx([it.value for it in told[1].numbers])
    assert told[0].at_min == told[1].at_min

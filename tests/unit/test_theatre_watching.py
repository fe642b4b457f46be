"""What is watched: due, raised and not set back, threats of the last readings, what should happen beside."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from lungeline.case import Animal, Case, Cylinder, Supply, case_to_json
from lungeline.record import CaseState
from lungeline.theatre import Cases, Desk
from lungeline.theatre.due import due
from lungeline.theatre.set_back import off_circle_since, to_set_back
from lungeline.theatre.watching import threats_now, watched

BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
Told = tuple[float, str, dict[str, Any]]
PLAN: Told = (-5.0, "plan", {"case": case_to_json(Case(animal=Animal(species="horse", weight_kg=520.0)))})
SET: Told = (
    1.0,
    "setting",
    {"mode": "volume", "tidal_volume_l": 6.0, "pressure_limit_cmh2o": 35.0, "peep_cmh2o": 5.0},
)
GOOD = {"etco2_mmhg": 44.0, "peak_pressure_cmh2o": 21.0, "map_mmhg": 70.0, "spo2_fraction": 0.97}
UNDER: Told = (0.0, "phase", {"phase": "maintain"})


def _state(tmp_path: Path, *told: Told) -> CaseState:
    cases = Cases(tmp_path / "data", key_file=tmp_path / "key" / "record.key")
    desk = Desk(cases=cases, author="A. Vet", device="tablet", clock=lambda: BEGAN + timedelta(hours=3))
    case = desk.open_case({"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}).case
    for at_min, kind, body in told:
        desk.enter(case, kind, body, event_time=BEGAN + timedelta(minutes=at_min))
    return cases.read(case).state


def _at(minutes: float) -> datetime:
    return BEGAN + timedelta(minutes=minutes)


def test_a_row_is_due_every_five_minutes_and_a_gas_after_twenty_then_hourly(tmp_path: Path) -> None:
    state = _state(
        tmp_path,
        UNDER,
        (12.0, "reading", dict(GOOD)),
        (25.0, "gases", {"sample": "arterial", "paco2_mmhg": 45.0}),
    )
    told = {each.what: each.at for each in due(state, _at(30.0))}
    assert told == {"row": _at(17.0), "gases": _at(85.0)}
    fresh = _state(tmp_path / "fresh", UNDER)
    assert {each.what: each.at for each in due(fresh, _at(1.0))} == {"row": _at(5.0), "gases": _at(20.0)}
    assert due(_state(tmp_path / "none"), _at(1.0)) == ()


def test_cylinder_and_absorbent_of_the_plan_come_to_an_end_by_what_is_set(tmp_path: Path) -> None:
    large = Cylinder(water_capacity_l=50.0, gauge_bar=150.0)
    case = Case(
        animal=Animal(species="horse", weight_kg=520.0), supply=Supply(oxygen="cylinders"), cylinders=(large,)
    )
    plan: Told = (-5.0, "plan", {"case": case_to_json(case)})

    def at(name: str, *more: Told) -> dict[str, datetime]:
        return {
            each.what: each.at for each in due(_state(tmp_path / name, plan, UNDER, SET, *more), _at(30.0))
        }

    usual = at("usual")
    # twice the flow empties it sooner; the absorbent takes what the animal gives, whatever flows
    fast = at("fast", (1.0, "setting", {"fresh_gas_flow_l_min": 20.0}))
    assert fast["cylinder"] < usual["cylinder"]
    assert fast["absorbent"] == usual["absorbent"]
    # counted from the change: both anew, by as much later as the change was after the first setting
    changed: tuple[Told, ...] = tuple(
        (21.0, "event", {"what": f"{it} changed"}) for it in ("cylinder", "absorbent")
    )
    anew = at("anew", *changed)
    assert anew["cylinder"] - usual["cylinder"] == timedelta(minutes=20)
    assert anew["absorbent"] - usual["absorbent"] == timedelta(minutes=20)


def test_what_was_raised_is_to_be_set_back_until_it_is(tmp_path: Path) -> None:
    raised: Told = (10.0, "setting", {"tidal_volume_l": 9.0, "pressure_limit_cmh2o": 50.0})
    state = _state(tmp_path, UNDER, SET, raised)
    told = {each.key: (each.back_to, each.now) for each in to_set_back(state, _at(12.0))}
    assert told == {"tidal_volume_l": (6.0, 9.0), "pressure_limit_cmh2o": (35.0, 50.0)}
    back: Told = (14.0, "setting", {"tidal_volume_l": 6.0})
    later = _state(tmp_path / "later", UNDER, SET, raised, back)
    assert [each.key for each in to_set_back(later, _at(15.0))] == ["pressure_limit_cmh2o"]
    # however long it takes; entered again as it is, it is meant to stay
    assert [each.key for each in to_set_back(later, _at(160.0))] == ["pressure_limit_cmh2o"]
    stays: Told = (30.0, "setting", {"pressure_limit_cmh2o": 50.0})
    assert to_set_back(_state(tmp_path / "stays", UNDER, SET, raised, back, stays), _at(31.0)) == ()


def test_hands_that_did_a_manoeuvre_are_asked_to_turn_back_what_it_turned(tmp_path: Path) -> None:
    deep: Told = (10.0, "event", {"what": "deep breath", "detail": "9 L"})
    (told,) = to_set_back(_state(tmp_path / "deep", UNDER, SET, deep), _at(11.0))
    assert (told.key, told.now, told.back_to, told.because) == ("tidal_volume_l", None, 6.0, "deep breath")
    recruited: Told = (10.0, "event", {"what": "recruitment", "detail": "40 cmH2O"})
    state = _state(tmp_path / "recruited", UNDER, SET, recruited)
    assert {it.key: it.back_to for it in to_set_back(state, _at(11.0))} == {
        "pressure_limit_cmh2o": 35.0,
        "peep_cmh2o": 5.0,
    }
    back: Told = (12.0, "setting", {"tidal_volume_l": 6.0})
    assert to_set_back(_state(tmp_path / "back", UNDER, SET, deep, back), _at(13.0)) == ()


def test_a_peep_that_began_at_nothing_is_asked_back_too(tmp_path: Path) -> None:
    steps = ((1.0, 0.0), (3.0, 5.0), (9.0, 15.0))
    told: list[Told] = [(at_min, "setting", {"peep_cmh2o": peep_cmh2o}) for at_min, peep_cmh2o in steps]
    (found,) = to_set_back(_state(tmp_path, UNDER, *told), _at(12.0))
    assert (found.key, found.now, found.back_to) == ("peep_cmh2o", 15.0, 5.0)


def test_a_cpap_carried_into_peep_is_to_be_set_back_to_what_peep_was(tmp_path: Path) -> None:
    cpap: Told = (20.0, "setting", {"mode": "spontaneous", "peep_cmh2o": 12.0})
    again: Told = (30.0, "setting", {"mode": "volume"})
    (told,) = to_set_back(_state(tmp_path / "carried", UNDER, SET, cpap, again), _at(31.0))
    assert (told.key, told.now, told.back_to, told.because) == ("peep_cmh2o", 12.0, 5.0, "carried")
    # while it breathes by itself the pressure is raised, and that is meant
    kept: Told = (31.0, "setting", {"peep_cmh2o": 12.0})
    assert to_set_back(_state(tmp_path / "kept", UNDER, SET, cpap, again, kept), _at(32.0)) == ()
    told_with: Told = (30.0, "setting", {"mode": "volume", "peep_cmh2o": 5.0})
    assert to_set_back(_state(tmp_path / "with", UNDER, SET, cpap, told_with), _at(32.0)) == ()


def test_off_the_circle_counts_until_it_is_on_again(tmp_path: Path) -> None:
    off: Told = (10.0, "event", {"what": "off the circle"})
    on: Told = (12.0, "event", {"what": "on the circle again"})
    assert off_circle_since(_state(tmp_path / "off", UNDER, off)) == _at(10.0)
    assert off_circle_since(_state(tmp_path / "on", UNDER, off, on)) is None


def test_a_small_change_is_no_deep_breath(tmp_path: Path) -> None:
    state = _state(tmp_path, UNDER, SET, (10.0, "setting", {"tidal_volume_l": 6.5}))
    assert to_set_back(state, _at(12.0)) == ()


def test_a_threat_is_told_at_once_and_not_of_old_or_missing_readings(tmp_path: Path) -> None:
    calm = _state(tmp_path / "calm", PLAN, UNDER, SET, (10.0, "reading", dict(GOOD)))
    assert threats_now(calm, _at(11.0)) == ()
    grave = _state(tmp_path / "grave", PLAN, UNDER, SET, (10.0, "reading", GOOD | {"etco2_mmhg": 3.0}))
    assert [finding.code for finding in threats_now(grave, _at(11.0))] == ["threat_no_carbon_dioxide"]
    assert threats_now(grave, _at(40.0)) == ()
    without = {key: value for key, value in GOOD.items() if key != "etco2_mmhg"}
    silent = _state(tmp_path / "silent", PLAN, UNDER, SET, (10.0, "reading", without))
    assert threats_now(silent, _at(11.0)) == ()


def test_what_is_measured_live_threatens_too_and_the_newer_number_counts(tmp_path: Path) -> None:
    calm = _state(tmp_path, PLAN, UNDER, SET, (10.0, "reading", dict(GOOD)))
    silent = {"etco2_mmhg": (_at(10.9), 2.0)}
    assert [each.code for each in threats_now(calm, _at(11.0), silent)] == ["threat_no_carbon_dioxide"]
    assert threats_now(calm, _at(11.0), {"etco2_mmhg": (_at(5.0), 2.0)}) == ()


def test_a_threat_is_told_where_no_plan_was_kept_and_nothing_is_made_up_for_it(tmp_path: Path) -> None:
    low: Told = (10.0, "reading", {"map_mmhg": 35.0, "peak_pressure_cmh2o": 0.0})
    unplanned = _state(tmp_path / "unplanned", UNDER, low)
    # no ventilator was told to run, so that no pressure is no fault of one
    assert [each.code for each in threats_now(unplanned, _at(11.0))] == ["threat_no_flow"]
    running: Told = (1.0, "setting", {"mode": "volume", "tidal_volume_l": 6.0})
    machine = _state(tmp_path / "machine", UNDER, running, low)
    found = {each.code for each in threats_now(machine, _at(11.0))}
    assert found == {"threat_no_pressure", "threat_no_flow"}


def test_the_lanes_have_what_was_measured_and_set_and_nothing_that_was_struck_out(tmp_path: Path) -> None:
    state = _state(tmp_path, PLAN, UNDER, SET, (10.0, "reading", GOOD | {"estimated": True}))
    told = watched(state, _at(12.0))
    assert told["measured"]["etco2_mmhg"] == [[9.0, 44.0, "e"]]
    assert told["set"]["tidal_volume_l"] == [[0.0, 6.0, ""]]
    assert told["next_phases"] == ["closed", "recover", "wean"]
    assert told["now_min"] == pytest.approx(11.0)

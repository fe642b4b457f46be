"""What is watched: due, raised and not set back, threats of the last readings, what should happen beside."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from lungeline.case import Animal, Case, case_to_json
from lungeline.record import CaseState
from lungeline.theatre import Cases, Desk
from lungeline.theatre.due import due, to_set_back
from lungeline.theatre.expected import KEYS, beside, expected
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


def test_what_was_raised_is_to_be_set_back_until_it_is(tmp_path: Path) -> None:
    raised: Told = (10.0, "setting", {"tidal_volume_l": 9.0, "pressure_limit_cmh2o": 50.0})
    state = _state(tmp_path, UNDER, SET, raised)
    told = {each.key: (each.back_to, each.now) for each in to_set_back(state, _at(12.0))}
    assert told == {"tidal_volume_l": (6.0, 9.0), "pressure_limit_cmh2o": (35.0, 50.0)}
    back: Told = (14.0, "setting", {"tidal_volume_l": 6.0})
    later = _state(tmp_path / "later", UNDER, SET, raised, back)
    assert [each.key for each in to_set_back(later, _at(15.0))] == ["pressure_limit_cmh2o"]
    # meant to stay, after half an hour
    assert to_set_back(later, _at(60.0)) == ()


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


def test_nothing_is_expected_without_a_plan_or_before_anything_is_set(tmp_path: Path) -> None:
    assert beside(_state(tmp_path / "a", UNDER, SET), _at(5.0)) is None
    assert beside(_state(tmp_path / "b", PLAN, UNDER), _at(5.0)) is None


@pytest.mark.slow
def test_what_is_expected_follows_what_was_set_and_when(tmp_path: Path) -> None:
    halved: Told = (11.0, "setting", {"tidal_volume_l": 3.5})
    usual, less = (
        beside(_state(tmp_path / name, PLAN, UNDER, SET, *more), _at(28.0))
        for name, more in (("a", ()), ("b", (halved,)))
    )
    assert usual is not None
    assert less is not None
    assert usual.began == _at(1.0)
    before, after = expected(usual), expected(less)
    assert set(KEYS) == before.values.keys()
    co2 = [run.values["etco2_mmhg"] for run in (before, after)]
    at_9, at_28 = 8, 27
    assert co2[0]["middle"][at_9] == pytest.approx(co2[1]["middle"][at_9])
    late = [each["middle"][at_28] or 0.0 for each in co2]
    assert late[1] > late[0] + 5.0
    band = before.values["etco2_mmhg"]
    assert all(
        (low or 0.0) < (high or 0.0) for low, high in zip(band["low"][2:], band["high"][2:], strict=True)
    )


def test_the_lanes_have_what_was_measured_and_set_and_nothing_that_was_struck_out(tmp_path: Path) -> None:
    state = _state(tmp_path, PLAN, UNDER, SET, (10.0, "reading", GOOD | {"estimated": True}))
    told = watched(state, _at(12.0))
    assert told["measured"]["etco2_mmhg"] == [[9.0, 44.0, "e"]]
    assert told["set"]["tidal_volume_l"] == [[0.0, 6.0, ""]]
    assert told["next_phases"] == ["closed", "recover", "wean"]
    assert told["now_min"] == pytest.approx(11.0)

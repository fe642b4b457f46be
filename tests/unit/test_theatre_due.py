"""When cylinder and absorbent come to their end: by how much flowed and when, not by what is set last."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from lungeline.case import Animal, Case, Cylinder, Profile, Settings, Start, Supply, case_to_json
from lungeline.plan.gas.absorbent_supply import absorbent_supply
from lungeline.plan.gas.supplies import supplies
from lungeline.record import CaseState
from lungeline.theatre import Cases, Desk
from lungeline.theatre.due import ABSORBENT_CHANGED, CYLINDER_CHANGED, due

BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
Told = tuple[float, str, dict[str, Any]]
# Already primed, nothing kept back or set aside: what is left is the arithmetic of litres over flow.
BARE = Profile(reserve_fraction=0.0, recovery_oxygen_l_min=0.0)
CASE = Case(
    animal=Animal(species="horse", weight_kg=500.0),
    start=Start(state="induced", reservoir_content_l=15.0, circle_oxygen_fraction=0.95),
    settings=Settings(fresh_gas_flow_l_min=5.0, tidal_volume_l=5.0, respiratory_rate_per_min=8.0),
    supply=Supply(oxygen="cylinders"),
    cylinders=(Cylinder(gauge_bar=100.0, water_capacity_l=20.0),),
)
UNDER: Told = (0.0, "phase", {"phase": "maintain"})


def _plan(case: Case = CASE) -> Told:
    return (-5.0, "plan", {"case": case_to_json(case)})


def _flow(at_min: float, l_min: float) -> Told:
    return (at_min, "setting", {"fresh_gas_flow_l_min": l_min})


def _at(minutes: float) -> datetime:
    return BEGAN + timedelta(minutes=minutes)


def _state(tmp_path: Path, *told: Told) -> CaseState:
    cases = Cases(tmp_path / "data", key_file=tmp_path / "key" / "record.key")
    desk = Desk(cases=cases, author="A. Vet", device="tablet", clock=lambda: _at(600.0))
    case = desk.open_case({"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 500.0}).case
    for at_min, kind, body in told:
        desk.enter(case, kind, body, event_time=_at(at_min))
    return cases.read(case).state


def _due_min(state: CaseState, what: str, now_min: float) -> float | None:
    """Return the minute at which something is due, None where it is not due at all."""
    found = {each.what: each.at for each in due(state, _at(now_min), BARE)}
    return (found[what] - BEGAN).total_seconds() / 60.0 if what in found else None


def _usable_l() -> float:
    low = supplies(CASE, BARE).oxygen.usable_l.low
    assert low is not None
    return low


def test_at_one_flow_a_cylinder_lasts_for_its_litres_over_that_flow(tmp_path: Path) -> None:
    found = _due_min(_state(tmp_path, _plan(), UNDER, _flow(0.0, 5.0)), "cylinder", 10.0)
    assert found == pytest.approx(_usable_l() / 5.0, abs=1.0)  # arithmetic; whole minutes, rounded down


def test_what_flowed_at_a_high_flow_is_gone_though_a_low_one_is_set_now(tmp_path: Path) -> None:
    state = _state(tmp_path, _plan(), UNDER, _flow(0.0, 15.0), _flow(100.0, 5.0))
    left_l = _usable_l() - 15.0 * 100.0
    assert left_l > 0.0
    # arithmetic
    assert _due_min(state, "cylinder", 101.0) == pytest.approx(100.0 + left_l / 5.0, abs=1.0)


def test_until_a_flow_is_told_the_planned_one_flows(tmp_path: Path) -> None:
    planned = replace(CASE, settings=replace(CASE.settings, fresh_gas_flow_l_min=15.0))
    connected: Told = (0.0, "setting", {"tidal_volume_l": 5.0})
    state = _state(tmp_path, _plan(planned), UNDER, connected, _flow(100.0, 5.0))
    left_l = _usable_l() - 15.0 * 100.0
    assert _due_min(state, "cylinder", 101.0) == pytest.approx(100.0 + left_l / 5.0, abs=1.0)  # arithmetic


def test_what_was_spared_at_a_low_flow_is_still_there_at_a_high_one(tmp_path: Path) -> None:
    state = _state(tmp_path, _plan(), UNDER, _flow(0.0, 5.0), _flow(100.0, 15.0))
    left_l = _usable_l() - 5.0 * 100.0
    assert _due_min(state, "cylinder", 101.0) == pytest.approx(100.0 + left_l / 15.0, abs=1.0)


def test_a_cylinder_spent_before_the_flow_was_lowered_stays_spent(tmp_path: Path) -> None:
    spent_at_min = _usable_l() / 15.0
    state = _state(tmp_path, _plan(), UNDER, _flow(0.0, 15.0), _flow(spent_at_min + 20.0, 1.0))
    assert _due_min(state, "cylinder", spent_at_min + 21.0) == pytest.approx(spent_at_min, abs=1.0)


def test_a_setting_that_was_struck_out_never_flowed(tmp_path: Path) -> None:
    cases = Cases(tmp_path / "data", key_file=tmp_path / "key" / "record.key")
    desk = Desk(cases=cases, author="A. Vet", device="tablet", clock=lambda: _at(600.0))
    case = desk.open_case({"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 500.0}).case
    for at_min, kind, body in (_plan(), UNDER, _flow(0.0, 5.0)):
        desk.enter(case, kind, body, event_time=_at(at_min))
    wrong = desk.enter(case, "setting", {"fresh_gas_flow_l_min": 15.0}, event_time=_at(10.0))
    desk.strike(case, wrong.seq, "undone")
    found = _due_min(cases.read(case).state, "cylinder", 20.0)
    assert found == pytest.approx(_usable_l() / 5.0, abs=1.0)


def test_a_fresh_cylinder_begins_anew_at_the_flow_set_then(tmp_path: Path) -> None:
    changed: Told = (60.0, "event", {"what": CYLINDER_CHANGED})
    state = _state(tmp_path, _plan(), UNDER, _flow(0.0, 15.0), _flow(30.0, 5.0), changed)
    assert _due_min(state, "cylinder", 61.0) == pytest.approx(60.0 + _usable_l() / 5.0, abs=1.0)


def test_oxygen_from_a_pipe_is_never_due(tmp_path: Path) -> None:
    piped = replace(CASE, supply=Supply(oxygen="pipeline"), cylinders=())
    state = _state(tmp_path, _plan(piped), UNDER, _flow(0.0, 5.0))
    assert _due_min(state, "cylinder", 10.0) is None
    assert _due_min(state, "absorbent", 10.0) is not None


def test_a_cylinder_of_no_known_size_has_no_end_that_could_be_told(tmp_path: Path) -> None:
    unknown = replace(CASE, cylinders=(Cylinder(gauge_bar=100.0),))
    state = _state(tmp_path, _plan(unknown), UNDER, _flow(0.0, 5.0))
    assert _due_min(state, "cylinder", 10.0) is None


def test_fresh_absorbent_lasts_from_when_it_was_put_in_and_is_all_there(tmp_path: Path) -> None:
    half = replace(CASE, equipment=replace(CASE.equipment, absorbent_used_fraction=0.5))
    low_h = absorbent_supply(CASE).absorbent_hours.low
    assert low_h is not None
    told = (_plan(half), UNDER, _flow(0.0, 5.0))
    # half is left: half the hours of a full canister (arithmetic)
    assert _due_min(_state(tmp_path / "half", *told), "absorbent", 10.0) == pytest.approx(low_h * 30.0)
    changed: Told = (90.0, "event", {"what": ABSORBENT_CHANGED})
    fresh = _state(tmp_path / "fresh", *told, changed)
    assert _due_min(fresh, "absorbent", 91.0) == pytest.approx(90.0 + low_h * 60.0)


def test_a_row_entered_late_does_not_hide_the_newer_one(tmp_path: Path) -> None:
    rows: tuple[Told, ...] = ((30.0, "reading", {"map_mmhg": 70.0}), (20.0, "reading", {"map_mmhg": 71.0}))
    assert _due_min(_state(tmp_path, _plan(), UNDER, *rows), "row", 31.0) == pytest.approx(35.0)


def test_nothing_is_due_once_the_animal_recovers(tmp_path: Path) -> None:
    awake: Told = (100.0, "phase", {"phase": "recover"})
    assert due(_state(tmp_path, _plan(), UNDER, _flow(0.0, 5.0), awake), _at(110.0), BARE) == ()

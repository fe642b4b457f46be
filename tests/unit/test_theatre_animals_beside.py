"""Animals beside a case go on from before a change; the band follows what was set; the ledger adds up."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from lungeline.case import Animal, Case, Change, Disconnect, case_to_json
from lungeline.record import CaseState
from lungeline.theatre import Cases, Desk
from lungeline.theatre.animals_beside import AnimalBeside
from lungeline.theatre.expected import KEYS, beside, expected
from lungeline.theatre.ledger import ledger

BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
Told = tuple[float, str, dict[str, Any]]
HORSE = Case(animal=Animal(species="horse", weight_kg=520.0))
PLAN: Told = (-5.0, "plan", {"case": case_to_json(HORSE)})
UNDER: Told = (0.0, "phase", {"phase": "maintain"})
SET: Told = (1.0, "setting", {"mode": "volume", "tidal_volume_l": 6.0, "peep_cmh2o": 5.0})
HALVED: Told = (11.0, "setting", {"tidal_volume_l": 3.5})


def _state(tmp_path: Path, *told: Told, weight_kg: float | None = 520.0) -> CaseState:
    cases = Cases(tmp_path / "data", key_file=tmp_path / "key" / "record.key")
    desk = Desk(cases=cases, author="A. Vet", device="tablet", clock=lambda: BEGAN + timedelta(hours=3))
    opening = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": weight_kg}
    case = desk.open_case({key: value for key, value in opening.items() if value is not None}).case
    for at_min, kind, body in told:
        desk.enter(case, kind, body, event_time=BEGAN + timedelta(minutes=at_min))
    return cases.read(case).state


def _at(minutes: float) -> datetime:
    return BEGAN + timedelta(minutes=minutes)


def _always() -> bool:
    return True


def test_nothing_is_expected_where_nothing_is_set_or_nobody_knows_the_weight(tmp_path: Path) -> None:
    assert beside(_state(tmp_path / "b", PLAN, UNDER), _at(5.0)) is None
    unknown = _state(tmp_path / "c", UNDER, SET, weight_kg=None)
    assert beside(unknown, _at(5.0), assume=True) is None


@pytest.mark.parametrize("at_min", [12.0, 12.4, 20.0, 39.95])
def test_an_animal_that_went_back_is_as_one_that_never_was_elsewhere(at_min: float) -> None:
    first = Change(at_min=8.0, settings={"peep_cmh2o": 8.0})
    other = Change(at_min=at_min, settings={"tidal_volume_l": 4.0})
    away = Change(at_min=at_min + 2.0, manoeuvre=Disconnect(minutes=2.5))
    straight, turned = (AnimalBeside(HORSE, {"lung_capacity_l": 1.1}) for _ in range(2))
    assert turned.run([first], 40, _always)
    assert turned.run([first, other, away], 45, _always)
    assert straight.run([first, other, away], 45, _always)
    assert turned.minutes == straight.minutes
    # told that nothing was changed after all
    assert turned.run([first], 45, _always)
    assert turned.minutes != straight.minutes


def test_minutes_that_were_run_are_not_run_again() -> None:
    animal = AnimalBeside(HORSE, {})
    looked: list[int] = []

    def counted() -> bool:
        looked.append(1)
        return True

    animal.run([], 40, counted)
    assert len(looked) == 40
    looked.clear()
    animal.run([Change(at_min=33.0, settings={"peep_cmh2o": 8.0})], 41, counted)
    assert len(looked) == 11  # from 30, where it was kept last before the change, to 41: arithmetic


def test_nobody_waits_for_what_nobody_wants() -> None:
    animal = AnimalBeside(HORSE, {})
    left = [True] * 5
    assert not animal.run([], 40, lambda: bool(left and left.pop()))
    assert len(animal.minutes) == 5
    assert animal.run([], 10, _always)  # and goes on from there
    assert len(animal.minutes) == 10


@pytest.mark.slow
def test_off_the_circle_the_animals_are_too_for_as_long_as_it_lasted(tmp_path: Path) -> None:
    off: Told = (10.0, "event", {"what": "off the circle"})
    on: Told = (13.0, "event", {"what": "on the circle again"})
    usual = beside(_state(tmp_path / "a", PLAN, UNDER, SET), _at(18.0))
    apart = beside(_state(tmp_path / "b", PLAN, UNDER, SET, off, on), _at(18.0))
    assert usual is not None
    assert apart is not None
    (change,) = apart.case.changes
    assert (change.at_min, change.manoeuvre) == (9.0, Disconnect(minutes=3.0))
    at_13 = 12
    kept, lost = (expected(it).values["fio2_fraction"]["middle"][at_13] or 0.0 for it in (usual, apart))
    assert lost < kept - 0.1  # room air was breathed


@pytest.mark.slow
def test_what_is_expected_follows_what_was_set_and_when(tmp_path: Path) -> None:
    usual, less = (
        beside(_state(tmp_path / name, PLAN, UNDER, SET, *more), _at(28.0))
        for name, more in (("a", ()), ("b", (HALVED,)))
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
    assert max(each or 0.0 for each in before.values["spo2_fraction"]["high"]) <= 1.0


def test_the_ledger_adds_up_to_what_the_reservoir_holds() -> None:
    told = ledger(HORSE)
    settings = HORSE.settings
    assert told.ceiling_l == pytest.approx(settings.tidal_volume_l + settings.spare_volume_l)  # arithmetic
    assert 0.0 <= told.lowest_l < told.ceiling_l - 0.8 * settings.tidal_volume_l  # a breath was taken out
    flows = told.flows_l
    gone = sum(flows[name] for name in ("oxygen_used_l", "leaked_l", "sampled_l", "spilled_l"))
    # what comes in a settled minute goes, or stays in an animal that still takes up agent and oxygen
    assert flows["fresh_gas_l"] == pytest.approx(gone, rel=0.05)
    deep = next(each for each in told.manoeuvres if "deep" in each.name)
    assert deep.needed_l > 0.0


def test_an_animal_that_failed_goes_on_once_it_is_told_otherwise() -> None:
    animal = AnimalBeside(Case(animal=Animal(species="horse", weight_kg=520.0)), {})
    assert animal.run((Change(at_min=1.0, settings={"peep_cmh2o": 8.0}),), 3, _always)
    animal.failed = True  # as where the model could not hold a setting
    assert not animal.run((Change(at_min=1.0, settings={"peep_cmh2o": 8.0}),), 5, _always)
    assert animal.run((Change(at_min=1.0, settings={"peep_cmh2o": 5.0}),), 5, _always)
    assert len(animal.minutes) == 5

"""The simulated animal of a running case: run to now, set as the record says, and on with the clock."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from lungeline.record import CaseState
from lungeline.theatre import Cases, Desk
from lungeline.theatre.expected import beside
from lungeline.theatre.running_animal import RATE_HZ, RunningAnimal

BEGAN = datetime(2026, 5, 4, 9, 0, tzinfo=UTC)
Told = tuple[float, str, dict[str, Any]]
SET: Told = (0.0, "setting", {"mode": "volume", "tidal_volume_l": 6.0, "peep_cmh2o": 5.0})


def _state(tmp_path: Path, *told: Told) -> CaseState:
    cases = Cases(tmp_path / "data", key_file=tmp_path / "key" / "record.key")
    desk = Desk(cases=cases, author="A. Vet", device="tablet", clock=lambda: BEGAN + timedelta(hours=3))
    opening = {"purpose": "demo", "name": "Stella", "species": "horse", "weight_kg": 520.0}
    case = desk.open_case(opening).case
    for at_min, kind, body in told:
        desk.enter(case, kind, body, event_time=BEGAN + timedelta(minutes=at_min))
    return cases.read(case).state


def _animal(state: CaseState, at_min: float) -> RunningAnimal:
    now = BEGAN + timedelta(minutes=at_min)
    asked = beside(state, now, assume=True)
    assert asked is not None
    return RunningAnimal(asked, now)


@pytest.mark.parametrize("at_min", [0.0, 0.7, 20.0, 20.003])
def test_it_is_run_to_now_and_then_as_the_clock_goes(tmp_path: Path, at_min: float) -> None:
    animal = _animal(_state(tmp_path, SET), at_min)
    assert animal.feed.now_s == pytest.approx(at_min * 60.0, abs=0.1)  # time goes in tenths of a second
    before = sum(len(block.values) for block in animal.feed.blocks()[:1])
    for tenths in range(1, 31):
        animal.run_to(BEGAN + timedelta(minutes=at_min, seconds=tenths / 10.0))
    after = animal.feed.blocks()[0]
    assert after.start_index + len(after.values) - before == pytest.approx(3.0 * RATE_HZ, abs=0.1 * RATE_HZ)


def test_what_was_done_before_it_was_looked_at_was_done_to_it_too(tmp_path: Path) -> None:
    off: Told = (10.0, "event", {"what": "off the circle"})
    on: Told = (13.0, "event", {"what": "on the circle again"})
    usual = _animal(_state(tmp_path / "a", SET), 14.0)
    apart = _animal(_state(tmp_path / "b", SET, off, on), 14.0)
    oxygen = [
        max(next(block.values for block in it.feed.blocks() if block.channel == "oxygen_fraction")[-500:])
        for it in (usual, apart)
    ]
    assert oxygen[1] < oxygen[0] - 0.05  # room air is in the circle


def test_a_computer_that_slept_does_not_hurry_after(tmp_path: Path) -> None:
    animal = _animal(_state(tmp_path, SET), 5.0)
    before_s = animal.feed.now_s
    animal.run_to(BEGAN + timedelta(minutes=65.0))
    assert animal.feed.now_s - before_s <= 2.1
    animal.run_to(BEGAN + timedelta(minutes=65.0, seconds=1.0))
    assert animal.feed.now_s - before_s == pytest.approx(3.0, abs=0.2)


def test_it_is_set_as_the_record_says_and_off_the_circle_with_the_animal(tmp_path: Path) -> None:
    raised: Told = (4.0, "setting", {"peep_cmh2o": 12.0})
    animal = _animal(_state(tmp_path / "a", SET), 5.0)
    animal.set_as(_state(tmp_path / "b", SET, raised))
    animal.run_to(BEGAN + timedelta(minutes=5.0, seconds=2.0))
    for second in range(3, 25):
        animal.run_to(BEGAN + timedelta(minutes=5.0, seconds=float(second)))
    pressures = animal.feed.blocks(animal.feed.epoch, animal.feed.blocks()[0].start_index)[0]
    assert pressures.channel == "pressure_cmh2o"
    assert min(pressures.values[-500:]) > 8.0
    off: Told = (5.0, "event", {"what": "off the circle"})
    animal.set_as(_state(tmp_path / "c", SET, raised, off))
    for second in range(25, 40):
        animal.run_to(BEGAN + timedelta(minutes=5.0, seconds=float(second)))
    assert min(animal.feed.blocks()[0].values[-250:]) < 1.0  # open to the air


def test_what_cannot_be_set_changes_nothing_and_goes_on(tmp_path: Path) -> None:
    animal = _animal(_state(tmp_path / "a", SET), 2.0)
    wrong: Told = (2.0, "setting", {"inspiratory_time_s": 15.0, "respiratory_rate_per_min": 30.0})
    animal.set_as(_state(tmp_path / "b", SET, wrong))
    animal.run_to(BEGAN + timedelta(minutes=2.0, seconds=1.0))
    assert animal.feed.blocks()

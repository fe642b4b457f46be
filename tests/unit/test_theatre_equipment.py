"""The equipment's log: registered once, checked often, proven like a case, and never a case."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from lungeline.case import Animal, Case
from lungeline.check import (
    Circuit,
    Given,
    HeldFlow,
    Item,
    Judged,
    LungTest,
    Walk,
    breaths_of,
    compensating_flow,
    judge_leak,
    leak_in_use,
    standard_checklist,
    trend_of,
    ventilator_on_lung,
    worse,
)
from lungeline.check.walk import answered
from lungeline.errors import ConflictError, InputError, UnknownNameError
from lungeline.theatre import Cases
from lungeline.theatre.equipment import Equipment, slug

NOW = datetime(2026, 5, 4, 7, 40, tzinfo=UTC)


class _Clock:
    def __init__(self) -> None:
        """Begin on a Monday."""
        self.at = NOW

    def __call__(self) -> datetime:
        """Tell the time, a second later each time."""
        self.at += timedelta(seconds=1)
        return self.at


@pytest.fixture
def equipment(tmp_path: Path) -> Equipment:
    key = tmp_path / "key" / "record.key"
    return Equipment(author="A. Vet", device="desk", path=tmp_path / "data", key_file=key, clock=_Clock())


def _judged(flow_l_min: float) -> Judged:
    held = HeldFlow(
        pressure_cmh2o=30.0, flow_l_min=flow_l_min, circuit=Circuit(volume_l=50.0),
        rises_at_l_min=flow_l_min + 0.1, falls_at_l_min=max(flow_l_min - 0.1, 0.0),
    )  # fmt: skip
    test = compensating_flow(held)
    horse = Case(animal=Animal(species="horse", weight_kg=520.0))
    return judge_leak(test, leak_in_use(test, breaths_of(horse)))


def test_equipment_is_registered_changed_and_retired_and_all_of_it_stays(equipment: Equipment) -> None:
    circle = equipment.add(Item(sort="circle", name="Circle 1", serial="4711", capacity_l=30.0))
    equipment.change("4711", {"absorbent_used_hours": 6.0})
    assert equipment.machine("circle 1").item.absorbent_used_hours == 6.0
    assert equipment.machine("Circle 1").item.capacity_l == 30.0
    equipment.retire("Circle 1", "cracked dome")
    assert equipment.machines() == ()
    kept = equipment.machine(circle.id)
    assert kept.retired == "cracked dome"
    assert [entry.kind for entry in kept.entries] == ["machine", "machine", "retired"]


def test_a_name_is_taken_once_and_kept(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    with pytest.raises(ConflictError):
        equipment.add(Item(sort="circle", name="circle  1"))
    with pytest.raises(InputError, match="keeps its name"):
        equipment.change("Circle 1", {"name": "Circle 2"})
    with pytest.raises(UnknownNameError, match="Circle 1"):
        equipment.machine("Circel 1")
    with pytest.raises(InputError):
        slug("···")


def test_leak_tests_make_a_trend_that_is_told(equipment: Equipment) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    for week in range(6):
        at = (NOW + timedelta(weeks=week)).isoformat(timespec="minutes")
        equipment.note_leak("Circle 1", _judged(0.15 + 0.05 * week), at)
    past = equipment.machine("Circle 1").past()
    assert [round(test.leak_ml_min) for test in past] == [150, 200, 250, 300, 350, 400]
    assert trend_of(past, "Circle 1").course == "getting worse"
    assert "machine_getting_worse" in {finding.code for finding in worse(past, "Circle 1")}


def test_a_guided_check_is_logged_once_with_its_list_and_only_when_it_is_finished(
    equipment: Equipment,
) -> None:
    equipment.add(Item(sort="circle", name="Circle 1"))
    walk = Walk(
        checklist=standard_checklist(),
        form="after",
        machine="Circle 1",
        began_at=NOW.isoformat(),
        species="horse",
    )
    with pytest.raises(InputError, match="open steps"):
        equipment.note_walk("Circle 1", walk)
    while (step := walk.next_step) is not None:
        walk = answered(walk, step.key, Given(at=NOW.isoformat(), by="A. Vet", skipped=True))
    first, again = (equipment.note_walk("Circle 1", walk) for _ in range(2))
    assert first == again
    (kept,) = equipment.machine("Circle 1").walks()
    assert kept == walk
    assert kept.checklist.stamp == standard_checklist().stamp


def test_a_test_lung_is_logged(equipment: Equipment) -> None:
    equipment.add(Item(sort="ventilator", name="Ventilator A"))
    result = ventilator_on_lung(
        LungTest(
            set_tidal_volume_l=5.0,
            set_rate_per_min=8.0,
            set_inspiratory_time_s=2.0,
            measured_tidal_volume_l=4.9,
        )
    )
    equipment.note_lung("Ventilator A", result)
    assert equipment.machine("Ventilator A").lungs()[0]["verdict"] == result.verdict


def test_the_log_is_proven_and_is_no_case(equipment: Equipment) -> None:
    assert not equipment.begun
    assert equipment.machines() == ()
    equipment.add(Item(sort="circle", name="Circle 1"))
    equipment.note_leak("Circle 1", _judged(0.2))
    assert equipment.verify("Circle 1").outcome == "unverifiable"
    equipment.seal()
    assert equipment.verify("Circle 1").outcome == "intact"
    assert equipment.path is not None
    cases = Cases(equipment.path, key_file=equipment.key_file)
    assert list(cases.every()) == []
    assert cases.ids() == []

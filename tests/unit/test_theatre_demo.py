"""The demonstration: filled once, whole, never to be taken for real."""

from datetime import UTC, datetime, timedelta

import pytest

from lungeline.check import worse
from lungeline.errors import RecordError
from lungeline.theatre import Cases, Desk, sign
from lungeline.theatre.demo import make_clinic
from lungeline.theatre.equipment import Equipment
from lungeline.theatre.kept_checks import past_leaks

NOW = datetime(2026, 5, 4, 2, 30, tzinfo=UTC)


@pytest.fixture(scope="module")
def clinic(tmp_path_factory: pytest.TempPathFactory) -> Cases:
    folder = tmp_path_factory.mktemp("demo")
    key = folder / "key" / "record.key"
    assert make_clinic(folder / "data", NOW, key_file=key)
    assert not make_clinic(folder / "data", NOW, key_file=key)  # a second start leaves it as it is
    return Cases(folder / "data", key_file=key)


def test_one_case_runs_others_are_closed_and_one_is_only_planned(clinic: Cases) -> None:
    phases = {now.state.opening["name"]: now.state.phase for now in clinic.every()}
    assert sorted(phases.values()) == ["closed", "closed", "maintain", "prepare"]


def test_every_case_is_marked_and_none_is_real(clinic: Cases) -> None:
    assert clinic.store("real").cases() == []
    assert {now.mark for now in clinic.every()} == {"SIMULATED"}


def test_nothing_is_told_of_the_future_and_nothing_is_late(clinic: Cases) -> None:
    entries = [entry for now in clinic.every() for entry in now.entries]
    assert all(entry.event_time <= NOW and entry.entry_time <= NOW for entry in entries)
    assert all(entry.entry_time - entry.event_time < timedelta(minutes=2) for entry in entries)


def test_every_case_is_proven_intact(clinic: Cases) -> None:
    assert {clinic.verify(case).outcome for case in clinic.ids()} == {"intact"}


def test_a_demonstration_cannot_be_signed(clinic: Cases) -> None:
    closed = next(now for now in clinic.every() if now.state.phase == "closed")
    desk = Desk(cases=clinic, author="R. Alder", device="test", clock=lambda: NOW)
    with pytest.raises(RecordError, match="nothing simulated is ever signed"):
        sign(desk, closed.state.case, role="anaesthetist")


def test_the_readings_are_those_of_a_living_animal(clinic: Cases) -> None:
    running = next(now for now in clinic.every() if now.state.phase == "maintain")
    readings = running.state.readings
    assert 20 < readings["etco2_mmhg"].value < 70
    assert 40 < readings["map_mmhg"].value < 120
    assert len([item for item in running.state.items if item.kind == "reading"]) == 10


def test_the_equipment_has_a_history_and_one_circle_gets_worse(clinic: Cases) -> None:
    desk = Desk(cases=clinic, author="R. Alder", device="test", clock=lambda: NOW)
    machines = {it.item.name: past_leaks(it) for it in Equipment(desk=desk).machines()}
    assert len(machines["Large circle B"]) == 12
    assert [finding.code for finding in worse(machines["Large circle B"], "Large circle B")]
    assert not worse(machines["Large circle A"], "Large circle A")
    assert all(it.item.sort != "circle" or machines[it.item.name] for it in Equipment(desk=desk).machines())

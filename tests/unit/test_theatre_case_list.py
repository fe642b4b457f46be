"""The list of cases says what reading each whole would say, and reads again only what has grown."""

import contextlib
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from lungeline.record.store.by_kind import entries_by_case
from lungeline.theatre import CaseInList, Cases, Damaged, Desk, sign
from lungeline.theatre.case_list import in_list

OPENING: dict[str, Any] = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.delenv("LUNGELINE_DATABASE", raising=False)
    monkeypatch.setenv("LUNGELINE_KEY_FILE", str(tmp_path / "keys" / "record.key"))
    return Desk(cases=Cases(tmp_path / "data"), author="A. Vet", device="tablet")


def _closed_and_signed(desk: Desk) -> str:
    case = desk.open_case(OPENING).case
    for phase in ("induce", "maintain"):
        desk.enter(case, "phase", {"phase": phase})
    desk.enter(case, "reading", {"map_mmhg": 70.0})
    desk.correct(case, 1, "weighed again", {"weight_kg": 505.0})
    desk.enter(case, "phase", {"phase": "wean"})
    slip = desk.enter(case, "phase", {"phase": "closed"}).seq
    desk.strike(case, slip, "too early")
    desk.enter(case, "phase", {"phase": "closed"})
    sign(desk, case, role="anaesthetist", because="a test")
    return case


def _whole(cases: Cases) -> list[CaseInList]:
    return [in_list(now.entries, now.state) for now in cases.every()]


def test_the_list_says_what_the_whole_cases_say(desk: Desk) -> None:
    signed = _closed_and_signed(desk)
    running = desk.open_case(OPENING | {"name": "Luna"}).case
    demo = desk.open_case(OPENING | {"purpose": "demo"}).case
    listed = list(desk.cases.listed())
    assert listed == _whole(desk.cases)
    assert [it.case for it in listed] == [running, signed, demo]
    told = next(it for it in listed if it.case == signed)
    assert (told.phase, told.opening["weight_kg"], told.count, told.signed_count) == ("closed", 505.0, 10, 9)
    assert [it.simulated for it in listed] == [False, False, True]
    assert {now.state.case for now in desk.cases.running()} == {running, demo}
    # what another program adds is in it, and what a correction changes
    other = Desk(cases=Cases(desk.cases.path), author="B. Vet", device="phone")
    other.enter(running, "phase", {"phase": "induce"})
    other.correct(running, 1, "another name", {"name": "Luna II"})
    told = next(it for it in desk.cases.listed() if it.case == running)
    assert (told.phase, told.opening["name"], told.count) == ("induce", "Luna II", 3)


def test_only_what_has_grown_is_read_again(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    cases = [desk.open_case(OPENING).case for _ in range(3)]
    asked: list[set[str]] = []

    def counted(store: Any, kinds: Any, wanted: Any) -> Any:  # noqa: ANN401  as the function it stands for
        asked.append(set(wanted))
        return entries_by_case(store, kinds, wanted)

    monkeypatch.setattr("lungeline.theatre.case_list.entries_by_case", counted)
    list(desk.cases.listed())
    list(desk.cases.listed())
    desk.enter(cases[1], "reading", {"map_mmhg": 70.0})
    assert {it.case: it.count for it in desk.cases.listed()}[cases[1]] == 2
    assert asked == [set(cases), {cases[1]}]


def test_a_damaged_opening_is_told_and_hides_no_other(desk: Desk) -> None:
    cases = [desk.open_case(OPENING).case for _ in range(2)]
    database = desk.cases.store("real").folder.database
    with contextlib.closing(sqlite3.connect(database, isolation_level=None)) as raw:
        raw.execute("DROP TRIGGER record_entry_no_update")
        raw.execute("UPDATE record_entry SET line = 'x' WHERE case_id = ?", [cases[0]])
    damaged: list[Damaged] = []
    assert [it.case for it in Cases(desk.cases.path).listed(damaged)] == [cases[1]]
    assert [(it.case, "cannot be read" in it.reason) for it in damaged] == [(cases[0], True)]

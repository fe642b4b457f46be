"""Backups on a schedule: rotating, checked, and patient with a stick that is pulled out."""

import os
import signal
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path

import pytest

from lungeline.errors import OutOfRangeError, StoreError
from lungeline.record.store.backup import HEADS, check_backup
from lungeline.theatre import Backups, Cases, Desk, Round, Schedule, back_up_all

STAR = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.delenv("LUNGELINE_DATABASE", raising=False)
    monkeypatch.setenv("LUNGELINE_KEY_FILE", str(tmp_path / "keys" / "record.key"))
    made = Desk(cases=Cases(tmp_path / "data"), author="A. Vet", device="tablet")
    made.open_case(STAR, case="star")
    return made


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    folder = tmp_path / "stick"
    folder.mkdir()
    return folder


def backups_to(desk: Desk, stick: Path, keep: int = 3) -> Backups:
    return Backups(desk.cases, Schedule(folder=stick, every_min=15.0, keep_number=keep))


def told(desk: Desk, value: float = 70.0) -> None:
    desk.enter("star", "reading", {"map_mmhg": value})


def copies_in(stick: Path) -> list[Path]:
    return sorted(it for it in (stick / "rotating").iterdir() if not it.name.endswith(HEADS))


def test_each_round_copies_what_is_new_and_the_oldest_go(desk: Desk, stick: Path) -> None:
    backups = backups_to(desk, stick)
    made: list[Path] = []
    for _ in range(5):
        told(desk)
        done = backups.round()
        assert done.fault is None
        made.extend(done.copies)
        assert backups.round() == Round()  # nothing new, nothing made, nothing pushed out
    assert copies_in(stick) == made[-3:]
    counts = [[it.count for it in check_backup(copy, desk.cases.store("real").key)] for copy in made[-3:]]
    assert counts == [[4], [5], [6]]  # the opening, and as many readings as there were
    assert len(list((stick / "rotating").iterdir())) == 6  # each with its heads, and nothing else


def test_both_sides_are_copied_and_copies_made_by_hand_stay(desk: Desk, stick: Path) -> None:
    desk.open_case(STAR | {"purpose": "demo"})
    by_hand = back_up_all(desk, stick)
    backups = backups_to(desk, stick, keep=1)
    for _ in range(2):
        told(desk)
        assert backups.round().fault is None
    assert sorted(copy.name.partition("-")[0] for copy in copies_in(stick)) == ["real", "simulated"]
    assert all(copy.exists() for copy in by_hand)


def test_the_copy_just_made_stays_although_others_bear_a_later_time(desk: Desk, stick: Path) -> None:
    backups = backups_to(desk, stick, keep=1)
    (first,) = backups.round().copies
    later = first.with_name("real-20990101T000000000000Z.sqlite3")
    first.rename(later)
    told(desk)
    (second,) = backups.round().copies
    assert copies_in(stick) == [second]


def test_a_stick_that_is_gone_is_told_and_nothing_made_in_its_place(
    desk: Desk, stick: Path, tmp_path: Path
) -> None:
    backups = backups_to(desk, stick)
    assert backups.round().copies
    stick.rename(tmp_path / "pocket")
    stick.mkdir()  # the empty place where it was mounted
    told(desk)
    fault = backups.round().fault
    assert fault is not None
    assert "go on by themselves" in str(fault)
    assert list(stick.iterdir()) == []
    stick.rmdir()
    assert backups.round().fault is not None
    (tmp_path / "pocket").rename(stick)
    assert backups.round().fault is None
    assert len(copies_in(stick)) == 2


def test_a_stick_that_was_never_there_is_not_made(desk: Desk, stick: Path) -> None:
    stick.rmdir()
    backups = backups_to(desk, stick)
    assert backups.round().fault is not None
    assert not stick.exists()
    stick.mkdir()
    assert backups.round().copies


def test_an_unsound_copy_is_told_set_aside_and_pushes_nothing_out(desk: Desk, stick: Path) -> None:
    backups = backups_to(desk, stick, keep=1)
    told(desk)
    (sound,) = backups.round().copies
    told(desk)
    database = desk.cases.store("real").folder.database
    with closing(sqlite3.connect(database, isolation_level=None)) as raw:
        raw.execute("DROP TRIGGER record_entry_no_update")
        raw.execute("UPDATE record_entry SET line = replace(line, ':70}', ':90}') WHERE seq = 2")
    for _ in range(2):
        fault = backups.round().fault
        assert fault is not None
        assert "changed: wrong hash (entry 2)" in str(fault)
    aside = [copy for copy in copies_in(stick) if copy != sound]
    assert [copy.suffix for copy in aside] == [".unsound"]
    assert sound.exists()


def test_what_a_round_that_was_cut_short_left_is_cleared_away(desk: Desk, stick: Path) -> None:
    (stick / "rotating").mkdir()
    (stick / "rotating" / "real-1.sqlite3.part").write_bytes(b"half")
    (copy,) = backups_to(desk, stick).round().copies
    assert copies_in(stick) == [copy]


def test_rounds_run_in_a_thread_until_they_are_stopped(desk: Desk, stick: Path) -> None:
    stop, rounds = threading.Event(), list[Round]()
    backups = Backups(desk.cases, Schedule(folder=stick, every_min=0.001))

    def hear(done: Round) -> None:
        rounds.append(done)
        told(desk)
        if len(rounds) == 3:
            stop.set()

    runner = threading.Thread(target=backups.run, args=(stop, hear))
    runner.start()
    runner.join(30)
    assert [len(done.copies) for done in rounds] == [1, 1, 1]


@pytest.mark.parametrize("schedule", [{"every_min": 0.0}, {"every_min": 1e6}, {"keep_number": 0}])
def test_a_schedule_that_copies_or_keeps_nothing_is_refused(stick: Path, schedule: dict[str, float]) -> None:
    with pytest.raises(OutOfRangeError):
        Schedule(folder=stick, **schedule)  # type: ignore[arg-type]  # one of its numbers


def test_the_command_copies_until_it_is_stopped_and_tells_a_fault_once(desk: Desk, stick: Path) -> None:
    command = [str(Path(sys.executable).with_name("lungeline")), "case", "backup", "--every-min", "0.002"]
    stick.rmdir()
    known = os.environ | {"LUNGELINE_DATA": str(desk.cases.path)}
    runs = subprocess.Popen(
        [*command, "--to", str(stick), "--keep", "2"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=known,
    )
    assert runs.stderr
    assert runs.stdout
    assert "NO BACKUP" in runs.stderr.readline()
    stick.mkdir()
    assert runs.stderr.readline() == "Backups go on.\n"
    copy = Path(runs.stdout.readline().strip())
    assert check_backup(copy, desk.cases.store("real").key)[0].outcome == "intact"
    runs.send_signal(signal.SIGTERM)
    rest = runs.communicate(timeout=30)
    assert (runs.returncode, rest) == (0, ("", ""))


def test_a_file_that_is_no_copy_of_the_record_is_told(desk: Desk, tmp_path: Path) -> None:
    other = tmp_path / "real-1.sqlite3"
    with closing(sqlite3.connect(other)) as raw:
        raw.execute("CREATE TABLE something (else_ TEXT)")
    with pytest.raises(StoreError, match="no such table"):
        check_backup(other, desk.cases.store("real").key)


def test_a_database_that_refuses_is_told_and_the_rounds_go_on(desk: Desk, stick: Path) -> None:
    backups = backups_to(desk, stick)
    database = desk.cases.store("real").folder.database
    desk.cases.store("real").close()
    database.rename(database.with_name("away"))
    database.mkdir()  # nothing that can be opened
    fault = backups.round().fault
    assert fault is not None
    database.rmdir()
    database.with_name("away").rename(database)
    assert backups.round().copies

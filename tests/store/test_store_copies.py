"""Backups and JSON lines: made while the store is in use, checked, and put back as they were."""

import errno
import os
import shutil
import sqlite3
import subprocess
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.db import connections, transaction

from lungeline.errors import ConflictError, InputError, RecordError, StoreError
from lungeline.record import Draft, add_head, read_heads
from lungeline.record.store.backup import back_up, check_backup, heads_of, restore_backup
from lungeline.record.store.folder import DataFolder
from lungeline.record.store.lines import restore_lines, verify_lines, write_lines
from lungeline.record.store.store import Store

New = Callable[..., Draft]
Place = Any  # its class is in conftest.py, which cannot be imported
OPENING = {"purpose": "real", "name": "שרה 🐴", "species": "horse"}


@pytest.fixture
def filled(store: Store, new: New) -> Store:
    for case in ("c1", "c2"):
        store.append(new("opening", OPENING, case=case))
        for value in range(60, 70):
            store.append(new(case=case, body={"map_mmhg": float(value)}))
    return store


def all_lines(store: Store) -> list[list[str]]:
    return [list(store.lines(case)) for case in ("c1", "c2")]


def test_a_backup_holds_every_case_and_proves_it(filled: Store, tmp_path: Path) -> None:
    copy = back_up(filled, tmp_path / "stick")
    verdicts = check_backup(copy, filled.key)
    assert [(it.case, it.outcome, it.proven_count) for it in verdicts] == [
        ("c1", "intact", 11),
        ("c2", "intact", 11),
    ]
    # one file and its heads, which can be carried away
    assert sorted(file.name for file in copy.parent.iterdir()) == [copy.name, heads_of(copy).name]


def test_a_backup_made_while_others_write_is_whole(filled: Store, new: New, tmp_path: Path) -> None:
    stop = threading.Event()

    def write() -> None:
        while not stop.is_set():
            filled.append(new())
        filled.close()

    writer = threading.Thread(target=write)
    writer.start()
    try:
        copies = [back_up(filled, tmp_path / "stick") for _ in range(3)]
    finally:
        stop.set()
        writer.join()
    for copy in copies:
        outcomes = {(verdict.outcome, verdict.count >= 11) for verdict in check_backup(copy, filled.key)}
        assert outcomes == {("intact", True)}


def test_a_damaged_cut_or_foreign_backup_is_told(filled: Store, tmp_path: Path) -> None:
    copy = back_up(filled, tmp_path / "stick")
    if copy.suffix == ".jsonl":
        lines = copy.read_text(encoding="utf-8").splitlines()
        copy.write_text("\n".join(lines[:-1]), encoding="utf-8")
    else:
        with sqlite3.connect(copy) as raw:
            raw.execute("DROP TRIGGER record_entry_no_delete")
            raw.execute("DELETE FROM record_entry WHERE case_id = 'c2' AND seq = 11")
        raw.close()
    verdicts = check_backup(copy, filled.key)
    assert [(it.outcome, it.at_seq) for it in verdicts] == [("intact", None), ("cut", 11)]
    assert {it.outcome for it in check_backup(copy, None)} == {"unverifiable"}
    with pytest.raises(StoreError):
        check_backup(tmp_path / "nothing.sqlite3", filled.key)


def test_lines_put_into_an_empty_store_give_the_same_case(
    place: Place, filled: Store, tmp_path: Path
) -> None:
    filled.note_heads(["c1", "c2"])
    write_lines(filled, tmp_path / "all.jsonl")
    heads = read_heads(filled.folder.heads, filled.key)
    assert {it.outcome for it in verify_lines(tmp_path / "all.jsonl", filled.key, heads)} == {"intact"}
    # a case moves from either database to a file
    empty = place.open(path=tmp_path / "empty", url=None)
    restore_lines(empty, tmp_path / "all.jsonl", heads)
    assert all_lines(empty) == all_lines(filled)
    with pytest.raises(ConflictError, match="empty store"):
        restore_lines(empty, tmp_path / "all.jsonl", heads)
    with pytest.raises(ConflictError, match="empty store"):
        restore_lines(filled, tmp_path / "all.jsonl", heads)


def test_lines_that_were_changed_or_cut_are_not_put_back(place: Place, filled: Store, tmp_path: Path) -> None:
    filled.note_heads(["c1", "c2"])
    heads = read_heads(filled.folder.heads, filled.key)
    write_lines(filled, tmp_path / "one.jsonl", ["c1"])
    whole = (tmp_path / "one.jsonl").read_text(encoding="utf-8")
    empty = place.open(path=tmp_path / "empty", url=None)
    own = [head for head in heads if head.case == "c1"]
    for text in (whole.replace(":65", ":56"), whole.rsplit("\n", 2)[0], whole.replace("c1", "c3")):
        assert text != whole
        (tmp_path / "one.jsonl").write_text(text, encoding="utf-8")
        with pytest.raises(RecordError):
            restore_lines(empty, tmp_path / "one.jsonl", own)
    (tmp_path / "one.jsonl").write_bytes(whole.encode().replace(b"65", b"\xff5"))
    with pytest.raises(RecordError):
        restore_lines(empty, tmp_path / "one.jsonl", own)
    assert empty.cases() == []


def test_a_case_that_is_not_there_is_not_written_as_an_empty_file(filled: Store, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="List the cases"):
        write_lines(filled, tmp_path / "none.jsonl", ["c9"])
    assert not (tmp_path / "none.jsonl").exists()
    with pytest.raises(StoreError):
        write_lines(filled, tmp_path / "no" / "where.jsonl")


# --- a file, its loss and its damage ------------------------------------------------------------------


@pytest.fixture
def in_file(file_place: Place, new: New) -> Store:
    store: Store = file_place.open()
    store.append(new("opening", OPENING))
    for value in range(60, 90):
        store.append(new(body={"map_mmhg": float(value)}))
    return store


def test_a_backup_put_back_goes_on_where_it_ended(file_place: Place, in_file: Store, new: New) -> None:
    copy = back_up(in_file)
    before = list(in_file.lines("c1"))
    in_file.close()
    shutil.rmtree(in_file.folder.path.parent / "other", ignore_errors=True)
    there = DataFolder(path=file_place.path / "other")
    assert {it.outcome for it in restore_backup(copy, there, in_file.key)} == {"intact"}
    again = file_place.open(path=there.path)
    assert list(again.lines("c1")) == before
    assert again.append(new()).seq == 32
    assert again.verify("c1").outcome == "intact"
    with pytest.raises(ConflictError):
        restore_backup(copy, there, in_file.key)


def test_what_an_older_backup_lacks_shows_against_a_newer_head(
    file_place: Place, in_file: Store, new: New
) -> None:
    copy = back_up(in_file)
    in_file.append(new())
    in_file.note_heads(["c1"])
    in_file.close()
    in_file.folder.database.unlink()
    restore_backup(copy, in_file.folder, in_file.key)
    again = file_place.open()
    verdict = again.verify("c1")
    assert (verdict.outcome, verdict.at_seq) == ("cut", 32)


def test_a_lost_database_is_told_with_the_newest_backup_and_not_made_anew(
    file_place: Place, in_file: Store
) -> None:
    copy = back_up(in_file)
    in_file.close()
    in_file.folder.database.unlink()
    with pytest.raises(StoreError, match=copy.name):
        file_place.open()
    assert not in_file.folder.database.exists()
    in_file.folder.database.touch()  # emptied is as lost as gone
    with pytest.raises(StoreError, match="gone"):
        file_place.open()


@pytest.mark.parametrize("place_in_file", [0, 20_000])
def test_a_damaged_database_is_told_and_left_as_it_is(
    file_place: Place, in_file: Store, place_in_file: int
) -> None:
    in_file.close()
    connections[in_file.alias].close()
    database = in_file.folder.database
    with database.open("r+b") as file:
        file.seek(place_in_file)
        file.write(b"\xff" * 4096)
    damaged = database.read_bytes()
    with pytest.raises(StoreError, match="No backup"):
        file_place.open()
    assert database.read_bytes() == damaged


def refused(store: Store, new: New, words: str) -> None:
    """Hold that a write is refused in these words, and that all goes on afterwards."""
    before = list(store.lines("c1"))
    sent = new()
    with pytest.raises(StoreError, match=words):
        store.append(sent)
    store.close()
    assert list(store.lines("c1")) == before
    assert store.append(sent).seq == len(before) + 1


def raw(store: Store, statement: str) -> None:
    with connections[store.alias].cursor() as cursor:
        cursor.execute(statement)


def pragma(store: Store, statement: str) -> None:
    with connections[store.alias].cursor() as cursor:
        cursor.execute(f"PRAGMA {statement}")


def test_a_full_disk_is_told_and_loses_nothing(in_file: Store, new: New) -> None:
    with connections[in_file.alias].cursor() as cursor:
        cursor.execute("PRAGMA page_count")
        pages = cursor.fetchone()[0]
    # SQLite itself then reports what it reports of a full disk
    pragma(in_file, f"max_page_count = {pages}")
    with pytest.raises(StoreError, match="disk is full"):
        in_file.append(new("note", {"text": "x" * 100_000}))
    in_file.close()
    assert len(in_file.entries_after("c1")) == 31
    assert in_file.append(new("note", {"text": "x" * 100_000})).seq == 32


def test_a_read_only_file_is_told_and_loses_nothing(in_file: Store, new: New) -> None:
    pragma(in_file, "query_only = 1")
    refused(in_file, new, "read-only")


def test_a_foreign_program_that_locks_the_database_is_told(in_file: Store, new: New) -> None:
    foreign = sqlite3.connect(in_file.folder.database, isolation_level=None)
    foreign.execute("BEGIN IMMEDIATE")
    pragma(in_file, "busy_timeout = 50")
    sent = new()
    with pytest.raises(StoreError, match="locked"):
        in_file.append(sent)
    foreign.execute("ROLLBACK")
    foreign.close()
    assert in_file.append(sent).seq == 32


def test_a_locked_or_read_only_server_is_told_and_loses_nothing(
    filled: Store, place: Place, new: New
) -> None:
    if place.url is None:
        pytest.skip("a file has tests of its own, above")
    filled.close()
    other = place.open()
    sent = new()
    with transaction.atomic(using=other.alias):
        raw(other, "LOCK TABLE record_entry IN EXCLUSIVE MODE")
        raw(filled, "SET lock_timeout = '50ms'")
        with pytest.raises(StoreError, match="locked"):
            filled.append(sent)
    raw(filled, "SET default_transaction_read_only = on")
    with pytest.raises(StoreError, match="read-only"):
        filled.append(sent)
    filled.close()
    assert filled.append(sent).seq == 12
    with connections[filled.alias].cursor() as cursor:
        cursor.execute("SHOW lock_timeout")
        assert cursor.fetchone()[0] == "10s"  # nobody waits for ever


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of eight megabytes."""
    there = tmp_path / "disk"
    there.mkdir()
    if not mounted("-t", "tmpfs", "-o", "size=8m", "tmpfs", there):
        pytest.skip("no disk may be mounted here")
    yield there
    subprocess.run(["/bin/umount", "-l", str(there)], check=True)


def mounted(*words: str | Path) -> bool:
    command = ["/bin/mount", *map(str, words)]
    try:
        return subprocess.run(command, capture_output=True, check=False).returncode == 0
    except OSError:
        return False


def test_a_disk_that_really_is_full_or_read_only_loses_nothing(
    file_place: Place, small_disk: Path, new: New
) -> None:
    ballast = small_disk / "ballast"
    ballast.write_bytes(bytes(5_000_000))
    store: Store = file_place.open(path=small_disk / "data")
    kept = [store.append(new("opening", OPENING))]
    sent = new("note", {"text": "x" * 100_000})
    while store.folder.database.exists():
        try:
            kept.append(store.append(sent))
        except StoreError as error:
            assert "disk is full" in str(error)  # noqa: PT017  it comes when it comes
            break
        sent = new("note", {"text": "x" * 100_000})
    assert len(kept) > 2
    assert store.entries_after("c1") == kept
    ballast.unlink()
    kept.append(store.append(sent))
    store.note_heads(["c1"])
    store.close()
    assert mounted("-o", "remount,ro", small_disk)
    late = new()
    with pytest.raises(StoreError, match=r"[Rr]ead-only"):
        store.append(late)
    assert mounted("-o", "remount,rw", small_disk)
    kept.append(store.append(late))
    assert store.entries_after("c1") == kept
    assert store.verify("c1").outcome == "intact"
    store.close()


def test_a_head_that_a_full_disk_cut_short_is_told(
    tmp_path: Path, in_file: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert in_file.key
    write = os.write
    full = iter([True])

    def nearly_full(handle: int, text: bytes) -> int:
        if next(full, False):
            return write(handle, text[:10])
        raise OSError(errno.ENOSPC, "No space left on device")

    path = tmp_path / "heads.jsonl"
    head = in_file.note_heads(["c1"])[0]
    with monkeypatch.context() as patched:
        patched.setattr(os, "write", nearly_full)
        with pytest.raises(StoreError, match="No space left"):
            add_head(path, head, in_file.key)
    add_head(path, head, in_file.key)
    assert read_heads(path, in_file.key) == [head]


def test_a_commit_is_on_disk_when_it_returns(in_file: Store) -> None:
    found = {}
    with connections[in_file.alias].cursor() as cursor:
        for name in ("journal_mode", "synchronous"):
            cursor.execute(f"PRAGMA {name}")
            found[name] = cursor.fetchone()[0]
    # sqlite.org/pragma.html: synchronous 2 is FULL
    assert found == {"journal_mode": "wal", "synchronous": 2}

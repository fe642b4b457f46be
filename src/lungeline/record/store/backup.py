"""Copies of a whole store: made while it is in use, looked over, and put back."""

import os
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from django.db import connections

from lungeline.errors import ConflictError, RecordError, StoreError
from lungeline.record.heads import read_heads
from lungeline.record.key import Key
from lungeline.record.store.folder import DataFolder
from lungeline.record.store.lines import verify_lines, write_lines
from lungeline.record.store.opening import file_fault
from lungeline.record.store.refusals import in_words
from lungeline.record.store.store import Store
from lungeline.record.verify import Verdict, verify

_FILE, _LINES = ".sqlite3", ".jsonl"
HEADS = ".heads.jsonl"


def back_up(store: Store, folder: Path | None = None) -> Path:
    """Copy a store into a folder, the data folder's own where none is named, and return the copy.

    A file is copied by SQLite's online backup; of a server, all cases are written as JSON lines. The heads
    are noted first and go along. The copy is looked over before it gets its name.
    """
    target = folder or store.folder.backups
    store.note_heads(store.counts())
    is_file = connections[store.alias].vendor == "sqlite"
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%fZ")
    copy = target / f"{store.folder.side}-{stamp}{_FILE if is_file else _LINES}"
    try:
        target.mkdir(parents=True, exist_ok=True)
        if is_file:
            _copy_file(store, copy)
        else:
            write_lines(store, copy)
        if store.folder.heads.exists():
            shutil.copyfile(store.folder.heads, heads_of(copy))
            _sync(heads_of(copy))
    except OSError as error:
        raise StoreError(
            where=str(target),
            given=error.strerror,
            allowed="a folder one may write to, with room for the copy",
            do="Free some space or name another place; the record itself is untouched.",
        ) from None
    return copy


def heads_of(copy: Path) -> Path:
    """Return where the heads of a copy lie."""
    return copy.with_name(f"{copy.name}{HEADS}")


def _copy_file(store: Store, copy: Path) -> None:
    part = copy.with_name(f"{copy.name}.part")
    part.unlink(missing_ok=True)
    with in_words(store.alias, str(copy)), closing(sqlite3.connect(part)) as target:
        source = connections[store.alias]
        source.ensure_connection()
        source.connection.backup(target)
        # one file that can be carried away, without a journal beside it
        target.execute("PRAGMA journal_mode=DELETE")
    fault = file_fault(part)
    if fault:
        part.unlink()
        raise StoreError(
            where=str(copy), given=fault, allowed="a sound copy", do="Use another disk for the backup."
        )
    _sync(part)
    part.replace(copy)


def _sync(path: Path) -> None:
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def check_backup(copy: Path, key: Key | None) -> list[Verdict]:
    """Check every case of a copy against the key and the heads that went along.

    Raises StoreError where the copy cannot be read at all.
    """
    heads = read_heads(heads_of(copy), key)
    if not copy.is_file():
        raise StoreError(where=str(copy), given="no file", allowed="a backup", do="Name another copy.")
    if copy.suffix == _LINES:
        return verify_lines(copy, key, heads)
    fault = file_fault(copy)
    if fault:
        raise StoreError(where=str(copy), given=fault, allowed="a sound backup", do="Take another copy.")
    lines = _lines_of_file(copy)
    cases = sorted({*lines, *(head.case for head in heads)})
    return [verify(case, lines.get(case, ()), key, heads) for case in cases]


def _lines_of_file(copy: Path) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    try:
        with closing(sqlite3.connect(copy)) as connection:
            rows = connection.execute("SELECT case_id, line FROM record_entry ORDER BY case_id, seq")
            for case, line in rows:
                found.setdefault(case, []).append(line)
    except sqlite3.DatabaseError as error:
        raise StoreError(
            where=str(copy), given=str(error), allowed="a copy of the record", do="Take another copy."
        ) from None
    return found


def restore_backup(copy: Path, folder: DataFolder, key: Key | None) -> list[Verdict]:
    """Put a copy of a file into a data folder that has no database, once every case of it was checked."""
    verdicts = check_backup(copy, key)
    for verdict in verdicts:
        if verdict.outcome in {"changed", "cut"}:
            raise RecordError(
                where=f"{copy}, case {verdict.case}",
                given=f"{verdict.outcome}: {verdict.reason} (entry {verdict.at_seq})",
                allowed="a backup as it was made",
                do="Take another copy.",
            )
    if folder.database.exists():
        raise ConflictError(
            where=str(folder.database),
            given="a database is there",
            allowed="a folder without one",
            do="Move the old file aside first; keep it.",
        )
    folder.path.mkdir(parents=True, exist_ok=True)
    part = folder.database.with_name(f"{folder.database.name}.part")
    shutil.copyfile(copy, part)
    _sync(part)
    part.replace(folder.database)
    _add_heads(copy, folder)
    return verdicts


def _add_heads(copy: Path, folder: DataFolder) -> None:
    """Add the copy's heads to those there are: a newer head that stays shows what the copy lacks."""
    if heads_of(copy).exists():
        with folder.heads.open("a", encoding="utf-8") as file:
            file.write(heads_of(copy).read_text(encoding="utf-8"))
            file.flush()
            os.fsync(file.fileno())

"""How a store is opened: looked over first, brought up to date, never silently made anew."""

import os
import sqlite3
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from django.db import connections
from django.db.migrations.executor import MigrationExecutor

from lungeline.errors import StoreError
from lungeline.record.key import key_path, load_key, make_key
from lungeline.record.store.databases import add_database
from lungeline.record.store.folder import DATABASE_VARIABLE, DataFolder, Side, data_path
from lungeline.record.store.held import Holder
from lungeline.record.store.lock import WriterLock
from lungeline.record.store.refusals import in_words
from lungeline.record.store.rows import rows_of
from lungeline.record.store.store import Store, now_here

_WAIT_S = 10.0
_MIGRATION_LOCK = 0x6C756E67  # any number of our own, the same in every process


def open_store(  # noqa: PLR0913  where things lie, each with a usual place
    path: Path | None = None,
    *,
    side: Side = "real",
    url: str | None = None,
    key_file: Path | None = None,
    wait_s: float = _WAIT_S,
    clock: Callable[[], datetime] = now_here,
) -> Store:
    """Open a store, made where there is none yet.

    path: the data folder, LUNGELINE_DATA or the platform's where not given.
    side: real cases, or rehearsals and demonstrations; the latter always live in a file.
    url: a PostgreSQL database in place of the file, LUNGELINE_DATABASE where not given.
    key_file: LUNGELINE_KEY_FILE or the platform's folder for settings where not given.
    wait_s: how long a writer waits for another one [s].
    clock: the store's.
    Raises StoreError for a database that is damaged or gone.
    """
    folder = DataFolder(path=path or data_path(), side=side)
    _make_folder(folder.path)
    url = url or os.environ.get(DATABASE_VARIABLE) or None
    database = url if url and side == "real" else folder.database
    lock = WriterLock(folder.lock, wait_s)
    with lock.taken_or_held() as holder:
        if isinstance(database, Path):
            _look_over(folder, thoroughly=holder is None)
        alias = add_database(database)
        with in_words(alias, connections[alias].settings_dict["NAME"]):
            if holder is None:
                bring_up_to_date(alias)
            else:  # the server that holds the lock has looked it over and brought it up to date
                _check_up_to_date(alias, holder)
        folder.mark.touch()
        return _with_key(alias, folder, key_file or key_path(), lock, clock)


def _with_key(
    alias: str, folder: DataFolder, key_file: Path, lock: WriterLock, clock: Callable[[], datetime]
) -> Store:
    key = load_key(key_file)
    with in_words(alias, connections[alias].settings_dict["NAME"]):
        # a new key beside old entries could prove nothing and would hide that the old one is gone
        if key is None and not rows_of(alias).exists():
            key = make_key(key_file)
    return Store(alias=alias, folder=folder, key=key, lock=lock, clock=clock)


def bring_up_to_date(alias: str, target: str | None = None) -> None:
    """Run the migrations that are missing, none where there is none; up to `target` where it is given."""
    connection = connections[alias]
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_lock(%s)", [_MIGRATION_LOCK])
    executor = MigrationExecutor(connection)
    leaves = executor.loader.graph.leaf_nodes("lungeline_record")
    wanted = [("lungeline_record", target)] if target else leaves
    if executor.migration_plan(wanted):
        executor.migrate(wanted)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_unlock(%s)", [_MIGRATION_LOCK])


def _check_up_to_date(alias: str, holder: Holder) -> None:
    executor = MigrationExecutor(connections[alias])
    if executor.migration_plan(executor.loader.graph.leaf_nodes("lungeline_record")):
        raise StoreError(
            where=connections[alias].settings_dict["NAME"],
            given=f"tables of an older version, held by the server that runs as process {holder.pid}",
            allowed="the same version on both sides",
            do="Stop that server and start it again with this version.",
        )


def _make_folder(path: Path) -> None:
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise StoreError(
            where=str(path),
            given=error.strerror,
            allowed="a folder one may write to",
            do="Mend its rights, or name another with LUNGELINE_DATA.",
        ) from None


def _look_over(folder: DataFolder, *, thoroughly: bool) -> None:
    """Refuse a database that is damaged, or gone from where one was made."""
    if not folder.database.exists() or folder.database.stat().st_size == 0:
        if folder.mark.exists():
            raise _lost(folder, "the database that was made here is gone")
        return
    fault = file_fault(folder.database) if thoroughly else ""
    if fault:
        raise _lost(folder, fault)


def file_fault(path: Path) -> str:
    """Return what is wrong with a SQLite file, nothing where it is sound."""
    try:
        connection = sqlite3.connect(path, timeout=_WAIT_S)
        try:
            found = [str(row[0]) for row in connection.execute("PRAGMA quick_check(1)")]
        finally:
            connection.close()
    except sqlite3.DatabaseError as error:
        return str(error)
    return "" if found == ["ok"] else "; ".join(found)


def _lost(folder: DataFolder, given: str) -> StoreError:
    copies = sorted(folder.backups.glob(f"{folder.side}*.sqlite3"), key=lambda file: file.stat().st_mtime)
    advice = f"The newest backup is {copies[-1]}." if copies else "No backup lies in the data folder."
    return StoreError(
        where=str(folder.database),
        given=given,
        allowed="the database as it was left",
        do=f"Nothing was made in its place. {advice} Keep what is left of the old file.",
    )

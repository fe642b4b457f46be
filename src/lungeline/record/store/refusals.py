"""What a database says when it will not, in words a person can act on."""

import contextlib
import sqlite3
from collections.abc import Iterator

from django.db import Error as DatabaseRefusal
from django.db import connections

from lungeline.errors import StoreError

_FULL = "the disk is full", "Free some space, then send again: nothing acknowledged is lost."
_LOCKED = "the database is locked", "Another program is writing: send again."
_MEANT = {
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_READONLY: ("the file is read-only", "Mend its rights, then send again."),
    sqlite3.SQLITE_CANTOPEN: ("the file cannot be opened", "Mend the rights of file and folder."),
    sqlite3.SQLITE_BUSY: _LOCKED,
    sqlite3.SQLITE_IOERR: ("the disk failed to read or write", "Copy the folder to a sound disk at once."),
    sqlite3.SQLITE_CORRUPT: (
        "the database is damaged",
        "Leave the file as it is, and restore a backup elsewhere.",
    ),
    sqlite3.SQLITE_NOTADB: (
        "the database is damaged",
        "Leave the file as it is, and restore a backup elsewhere.",
    ),
}
# PostgreSQL's own codes: postgresql.org/docs, appendix A
_MEANT_BY_SERVER = {
    "53100": _FULL,
    "55P03": _LOCKED,
    "25006": ("the database is read-only", "Let it be written to, then send again."),
}
# the connection is as good as before; on a full disk no other could be opened, to read
_HARMLESS = frozenset({sqlite3.SQLITE_FULL, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_BUSY})
_PRIMARY_CODE = 0xFF  # the low byte of SQLite's extended codes


@contextlib.contextmanager
def in_words(alias: str, place: str) -> Iterator[None]:
    """Turn what the database says into a StoreError, and let go of a connection that may be broken."""
    try:
        yield
    except (DatabaseRefusal, sqlite3.Error) as error:
        if _code(error) not in _HARMLESS:
            with contextlib.suppress(DatabaseRefusal, sqlite3.Error):
                connections[alias].close()
        given, do = _words(error)
        allowed = "a database that keeps what it is given"
        raise StoreError(where=place, given=given, allowed=allowed, do=do) from error


def _code(error: Exception) -> int:
    """Return SQLite's code, 0 where it is not SQLite that refused."""
    cause = error if isinstance(error, sqlite3.Error) else error.__cause__
    return int(getattr(cause, "sqlite_errorcode", 0)) & _PRIMARY_CODE


def _words(error: Exception) -> tuple[str, str]:
    code, state = _code(error), getattr(error.__cause__, "sqlstate", None)
    if code in _MEANT:
        return _MEANT[code]
    if state in _MEANT_BY_SERVER:
        return _MEANT_BY_SERVER[state]
    said = (str(error).strip().splitlines() or [type(error).__name__])[0]
    return said, "Whether it was kept is not known: send it again, it is entered once."

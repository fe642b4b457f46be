"""What a database says when it will not, in words a person can act on."""

import contextlib
import sqlite3
from collections.abc import Iterator

from django.db import Error as DatabaseRefusal
from django.db import connections

from lungeline.errors import StoreError

_MEANT = {
    sqlite3.SQLITE_FULL: (
        "the disk is full",
        "Free some space, then send again: nothing acknowledged is lost.",
    ),
    sqlite3.SQLITE_READONLY: ("the file is read-only", "Mend its rights, then send again."),
    sqlite3.SQLITE_CANTOPEN: ("the file cannot be opened", "Mend the rights of file and folder."),
    sqlite3.SQLITE_BUSY: ("the database is locked", "Another program is writing: send again."),
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
_PRIMARY_CODE = 0xFF  # the low byte of SQLite's extended codes


@contextlib.contextmanager
def in_words(alias: str, place: str) -> Iterator[None]:
    """Turn what the database says into a StoreError, and let go of a connection that may be broken."""
    try:
        yield
    except (DatabaseRefusal, sqlite3.Error) as error:
        with contextlib.suppress(DatabaseRefusal, sqlite3.Error):
            connections[alias].close()
        given, do = _words(error)
        allowed = "a database that keeps what it is given"
        raise StoreError(where=place, given=given, allowed=allowed, do=do) from error


def _words(error: Exception) -> tuple[str, str]:
    cause = error if isinstance(error, sqlite3.Error) else error.__cause__
    code = getattr(cause, "sqlite_errorcode", None)
    if code is not None and code & _PRIMARY_CODE in _MEANT:
        return _MEANT[code & _PRIMARY_CODE]
    said = (str(error).strip().splitlines() or [type(error).__name__])[0]
    return said, "Whether it was kept is not known: send it again, it is entered once."

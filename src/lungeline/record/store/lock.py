"""One writer at a time, between processes: a lock on a file, which the system frees when its holder dies."""

import contextlib
import json
import os
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

from lungeline.errors import StoreError

_AGAIN_S = 0.005
_OWNER_WRITES = 0o644
_LONGEST_NOTE = 200


class WriterLock:
    """The lock of one store. Taken for each write, or held on to by a server."""

    def __init__(self, path: Path, timeout_s: float) -> None:
        """Know the file, and how long to wait for it [s]."""
        self._path, self._timeout_s = path, timeout_s
        self._threads = threading.RLock()
        self._handle: int | None = None
        self._depth = 0

    @contextlib.contextmanager
    def taken(self) -> Iterator[None]:
        """Hold the lock for a while; StoreError where another process does not let go of it."""
        with self._threads:
            if self._depth == 0:
                self._handle = self._take()
            self._depth += 1
            try:
                yield
            finally:
                self._depth -= 1
                if self._depth == 0 and self._handle is not None:
                    os.close(self._handle)
                    self._handle = None

    def _take(self) -> int:
        try:
            handle = os.open(self._path, os.O_RDWR | os.O_CREAT, _OWNER_WRITES)
        except OSError as error:
            raise _refused(
                self._path, error.strerror or "cannot be opened", "a folder one may write to"
            ) from None
        until_s = time.monotonic() + self._timeout_s
        while not _locked(handle):
            if time.monotonic() > until_s:
                holder = _holder(handle)
                os.close(handle)
                raise _refused(self._path, f"locked by {holder}", "one writer at a time")
            time.sleep(_AGAIN_S)
        os.ftruncate(handle, 0)
        os.lseek(handle, 0, os.SEEK_SET)
        os.write(handle, json.dumps({"pid": os.getpid()}).encode())
        return handle


def _refused(path: Path, given: str, allowed: str) -> StoreError:
    do = "Wait for the other program or end it, or mend the folder's rights; then send again."
    return StoreError(where=str(path), given=given, allowed=allowed, do=do)


def _holder(handle: int) -> str:
    os.lseek(handle, 0, os.SEEK_SET)
    try:
        return f"process {json.loads(os.read(handle, _LONGEST_NOTE))['pid']}"
    except (ValueError, KeyError, TypeError):
        return "another process"


if sys.platform == "win32":
    import msvcrt

    _FAR_BYTE = 2**30  # beyond the text, so that others can read who holds it

    def _locked(handle: int) -> bool:
        os.lseek(handle, _FAR_BYTE, os.SEEK_SET)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
else:
    import fcntl

    def _locked(handle: int) -> bool:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

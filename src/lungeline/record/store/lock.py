"""One writer at a time, between processes: a lock on a file, which the system frees when its holder dies."""

import contextlib
import json
import os
import sys
import threading
import time
import weakref
from collections.abc import Iterator
from pathlib import Path

from lungeline.errors import StoreError
from lungeline.record.store.held import Holder, read_holder

_AGAIN_S = 0.005
_OWNER_WRITES = 0o644
_NOTE_LENGTH, _LONGEST_NOTE = 60, 200


class WriterLock:
    """The lock of one store. Taken for each write, or held on to by a server."""

    def __init__(self, path: Path, timeout_s: float) -> None:
        """Know the file, and how long to wait for it [s]."""
        self._path, self.timeout_s = path, timeout_s
        self._threads = threading.RLock()
        self._handle: int | None = None
        self._depth = 0
        _locks.add(self)

    @contextlib.contextmanager
    def taken(self) -> Iterator[None]:
        """Hold the lock for a while; StoreError where another process does not let go of it."""
        with self.taken_or_held() as holder:
            if holder is not None:
                raise _held(self._path, holder)
            yield

    @contextlib.contextmanager
    def taken_or_held(self) -> Iterator[Holder | None]:
        """Hold the lock for a while; where a server holds on to it, give that server at once."""
        holder = self._enter()
        try:
            yield holder
        finally:
            if holder is None:
                self._leave()

    def hold(self) -> None:
        """Hold on to the lock, for all threads of this process, until `release`."""
        holder = self._enter()
        if holder is not None:
            raise _held(self._path, holder)
        self._threads.release()

    def release(self) -> None:
        """Let go of what `hold` holds."""
        self._threads.acquire()
        self._leave()

    def _enter(self) -> Holder | None:
        """Take the lock and keep this process's other threads out, or give the server that has it."""
        self._threads.acquire()
        try:
            found = self._take() if self._depth == 0 else None
        except BaseException:
            self._threads.release()
            raise
        if found is not None:
            self._threads.release()
            return found
        self._depth += 1
        return None

    def _leave(self) -> None:
        self._depth -= 1
        if self._depth == 0 and self._handle is not None:
            os.close(self._handle)
            self._handle = None
        self._threads.release()

    def _take(self) -> Holder | None:
        try:
            handle = os.open(self._path, os.O_RDWR | os.O_CREAT, _OWNER_WRITES)
        except OSError as error:
            raise _refused(
                self._path, error.strerror or "cannot be opened", "a folder one may write to"
            ) from None
        until_s = time.monotonic() + self.timeout_s
        while not _locked(handle):
            holder = read_holder(self._path.parent)
            if holder is not None and holder.pid == _noted_pid(handle):
                os.close(handle)
                return holder
            if time.monotonic() > until_s:
                noted = _noted_pid(handle)
                os.close(handle)
                given = f"locked by process {noted}" if noted else "locked by another process"
                raise _refused(self._path, given, "one writer at a time")
            time.sleep(_AGAIN_S)
        _note_pid(handle)
        self._handle = handle
        return None

    def forked(self) -> None:
        """Let go in a forked child of what the parent holds: the child may outlive it."""
        if self._handle is not None:
            os.close(self._handle)
        self._threads, self._handle, self._depth = threading.RLock(), None, 0


_locks: "weakref.WeakSet[WriterLock]" = weakref.WeakSet()


def _in_child() -> None:
    for lock in list(_locks):
        lock.forked()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_in_child)


def _refused(path: Path, given: str, allowed: str) -> StoreError:
    do = "Wait for the other program or end it, or mend the folder's rights; then send again."
    return StoreError(where=str(path), given=given, allowed=allowed, do=do)


def _held(path: Path, holder: Holder) -> StoreError:
    return StoreError(
        where=str(path),
        given=f"held by the server that runs as process {holder.pid}",
        allowed="a data folder that no server holds",
        do="Stop that server first, then do it again.",
    )


def _note_pid(handle: int) -> None:
    """Tell those who wait who holds the lock; on a full disk the lock holds all the same."""
    if _noted_pid(handle) == os.getpid():
        return
    with contextlib.suppress(OSError):
        os.lseek(handle, 0, os.SEEK_SET)
        # over the note before it, as cutting that off would be a wait for the disk
        os.write(handle, json.dumps({"pid": os.getpid()}).ljust(_NOTE_LENGTH).encode())


def _noted_pid(handle: int) -> int | None:
    os.lseek(handle, 0, os.SEEK_SET)
    try:
        return int(json.loads(os.read(handle, _LONGEST_NOTE))["pid"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


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

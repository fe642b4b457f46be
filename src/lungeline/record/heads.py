"""The head file: one line for each head ever noted, only ever added to, beside the database but not in it."""

import hmac
import os
from dataclasses import asdict
from pathlib import Path

from lungeline.errors import LungelineError, StoreError
from lungeline.record.canonical import canonical, read
from lungeline.record.chain import Head, seal_text
from lungeline.record.key import Key

_OWNER_WRITES = 0o644


def add_head(path: Path, head: Head, key: Key) -> None:
    """Add a head to the file and return once it is on disk."""
    plain = canonical(asdict(head))
    line = canonical(asdict(head) | {"seal": seal_text(plain, key)}) + "\n"
    try:
        fresh = not path.exists()
        handle = os.open(path, os.O_RDWR | os.O_APPEND | os.O_CREAT, _OWNER_WRITES)
        try:
            _write_whole(handle, line)
        finally:
            os.close(handle)
        if fresh:
            _sync_folder(path.parent)
    except OSError as error:
        raise StoreError(
            where=str(path),
            given=error.strerror,
            allowed="a head file that can be added to",
            do="Free the disk or mend its rights, then sign again: the entry itself is safe.",
        ) from None


def read_heads(path: Path, key: Key | None) -> list[Head]:
    """Return the heads of a file in order; what is no head, or was not sealed by this key, is passed over.

    The last line may be torn by a loss of power; its head was then never promised to anybody. Heads of
    another key are given too, as they tell that this key is not the one; without a key, all are.
    """
    try:
        lines = path.read_text(encoding="utf-8", errors="replace").splitlines()
    except FileNotFoundError:
        return []
    pairs = map(_parsed, lines)
    return [head for head, seal in pairs if head is not None and not _forged(head, seal, key)]


def _forged(head: Head, seal: str, key: Key | None) -> bool:
    if key is None or head.key_id != key.id:
        return False
    return not hmac.compare_digest(seal_text(canonical(asdict(head)), key), seal)


def _parsed(line: str) -> tuple[Head | None, str]:
    try:
        given = read(line)
        seal = given.pop("seal")
        head = Head(**given)
    except (LungelineError, AttributeError, KeyError, TypeError):
        return None, ""
    typed = isinstance(head.count, int) and all(isinstance(it, str) for it in (head.case, head.hash, seal))
    return (head, seal) if typed else (None, "")


def _write_whole(handle: int, line: str) -> None:
    # a torn line before ours must not swallow ours
    size = os.lseek(handle, 0, os.SEEK_END)
    torn = size > 0 and _last_byte(handle, size) != b"\n"
    rest = (("\n" if torn else "") + line).encode()
    while rest:  # a disk that is nearly full takes a part, and refuses the next
        rest = rest[os.write(handle, rest) :]
    os.fsync(handle)


def _last_byte(handle: int, size: int) -> bytes:
    os.lseek(handle, size - 1, os.SEEK_SET)
    return os.read(handle, 1)


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":  # folders cannot be opened there, and need not be
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

"""What a server that holds the lock leaves in the data folder: where, and with which token, to post to it."""

import contextlib
import json
import os
import secrets
from dataclasses import asdict, dataclass, field
from pathlib import Path

from lungeline.errors import StoreError

NAME = "server.json"
_OWNER_ONLY, _TOKEN_BYTES, _LONGEST = 0o600, 32, 10_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder:
    """A server that holds a folder's locks. address: where it is posted to; pid: its process."""

    address: str
    token: str = field(repr=False)
    pid: int


def new_token() -> str:
    """Return a token nobody can guess."""
    return secrets.token_urlsafe(_TOKEN_BYTES)


def note_holder(folder: Path, holder: Holder) -> None:
    """Tell other programs of this user's who holds the folder; nobody else may read the token."""
    part = folder / f"{NAME}.{os.getpid()}.part"
    try:
        part.unlink(missing_ok=True)
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ONLY)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(asdict(holder), file)
        part.replace(folder / NAME)
    except OSError as error:
        raise StoreError(
            where=str(folder / NAME),
            given=error.strerror,
            allowed="a folder one may write to, with room for a note",
            do="Free some space or mend the folder's rights, then start the server again.",
        ) from None


def forget_holder(folder: Path, holder: Holder) -> None:
    """Take the note away, unless another server has written its own."""
    if read_holder(folder) == holder:
        with contextlib.suppress(OSError):
            (folder / NAME).unlink()


def read_holder(folder: Path) -> Holder | None:
    """Return who says to hold the folder; whether it lives only the lock tells."""
    try:
        with (folder / NAME).open(encoding="utf-8") as file:
            told = json.loads(file.read(_LONGEST))
        return Holder(address=str(told["address"]), token=str(told["token"]), pid=int(told["pid"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None

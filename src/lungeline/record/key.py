"""The key of the chain: 32 random bytes in a file of their own, never beside the entries they vouch for."""

import contextlib
import hashlib
import os
import re
import secrets
from dataclasses import dataclass, field
from pathlib import Path

from lungeline.errors import KeyFileError

KEY_VARIABLE = "LUNGELINE_KEY_FILE"
_FORM = re.compile(r"lungeline-record-key/1 ([0-9a-f]{64})\n")
_KEY_BYTES = 32
_ID_DIGITS = 16
_OWNER_ONLY = 0o600


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """The secret, and an id that may be shown: it tells keys apart and gives nothing away."""

    secret: bytes = field(repr=False)

    @property
    def id(self) -> str:
        """First digits of the secret's hash."""
        return hashlib.sha256(b"lungeline record key id " + self.secret).hexdigest()[:_ID_DIGITS]


def key_path() -> Path:
    """Return where the key lies: LUNGELINE_KEY_FILE, or the platform's folder for settings."""
    given = os.environ.get(KEY_VARIABLE)
    if given:
        return Path(given).expanduser()
    from platformdirs import user_config_path

    return user_config_path("lungeline") / "record.key"


def load_key(path: Path) -> Key | None:
    """Return the key of a file, None where there is no file; KeyFileError where it holds no key."""
    try:
        found = _FORM.fullmatch(path.read_text(encoding="ascii"))
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise _unusable(path, type(error).__name__) from None
    if found is None:
        raise _unusable(path, "other content")
    return Key(secret=bytes.fromhex(found[1]))


def make_key(path: Path) -> Key:
    """Make a key file, readable by its owner only, and return its key; one that is there already stays."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.{os.getpid()}.{secrets.token_hex(4)}")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ONLY)
    try:
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(f"lungeline-record-key/1 {secrets.token_hex(_KEY_BYTES)}\n")
            file.flush()
            os.fsync(file.fileno())
        # a link fails where a name is taken: of two processes that start together, one key wins
        with contextlib.suppress(FileExistsError):
            os.link(part, path)
    finally:
        part.unlink()
    key = load_key(path)
    if key is None:
        raise _unusable(path, "vanished")
    return key


def _unusable(path: Path, given: str) -> KeyFileError:
    return KeyFileError(
        where=str(path),
        given=given,
        allowed="a key file made by this program",
        do="Put the key file back from its copy; a new key cannot prove what an old one sealed.",
    )

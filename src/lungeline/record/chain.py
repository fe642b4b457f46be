"""The chain: each entry carries a keyed hash over itself and the hash before it (HMAC-SHA-256, RFC 2104)."""

import hashlib
import hmac
from dataclasses import dataclass, replace

from lungeline.record.entry import Entry
from lungeline.record.key import Key

GENESIS = "0" * 64


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """How far a case went at one time: kept elsewhere, it shows that nothing was cut off since.

    case: id of the case.
    count: entries there were.
    hash: hash of the last of them.
    key_id: which key sealed it.
    """

    case: str
    count: int
    hash: str
    key_id: str


def sealed(entry: Entry, key: Key) -> Entry:
    """Return the entry with its hash."""
    return replace(entry, hash=_keyed_hash(entry.content(), key))


def is_sealed(entry: Entry, key: Key) -> bool:
    """Whether an entry is what was sealed with this key."""
    return hmac.compare_digest(_keyed_hash(entry.content(), key), entry.hash)


def head_of(entry: Entry, key: Key) -> Head:
    """Return the head of a case whose last entry this is."""
    return Head(case=entry.case, count=entry.seq, hash=entry.hash, key_id=key.id)


def seal_text(text: str, key: Key) -> str:
    """Return the keyed hash of any text, told apart from an entry's."""
    return _keyed_hash(f"head {text}", key)


def _keyed_hash(text: str, key: Key) -> str:
    return hmac.new(key.secret, text.encode(), hashlib.sha256).hexdigest()

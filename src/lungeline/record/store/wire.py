"""What passes between a program that posts and the server that holds the lock, as JSON."""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any, get_args

from lungeline.errors import InputError, LungelineError, StoreError
from lungeline.record.canonical import canonical
from lungeline.record.entry import Draft
from lungeline.record.moment import read_moment, written
from lungeline.record.store.folder import Side

SCHEMA = "lungeline.posting/1"
# a note may have two million signs, each of four bytes at most; a few of them at once
LARGEST_BYTES = 32_000_000
_TIMES = ("event_time", "sent_time")


@dataclass(frozen=True, slots=True, kw_only=True)
class Posting:
    """What is asked of the server. drafts: to be entered, all or none; heads: cases whose heads to note."""

    side: Side
    drafts: tuple[Draft, ...] = ()
    heads: tuple[str, ...] = ()

    def text(self) -> bytes:
        """Return it as JSON; InputError where it is too long for one request."""
        drafts = [_plain(draft) for draft in self.drafts]
        content = {"schema": SCHEMA, "side": self.side, "drafts": drafts, "heads": self.heads}
        text = canonical(content).encode()
        _check_size(text)
        return text


def read_posting(text: bytes) -> Posting:
    """Return the posting of a text, or raise InputError."""
    _check_size(text)
    try:
        given = json.loads(text)
    except (ValueError, RecursionError):
        raise _refused(given="no JSON", allowed="JSON") from None
    usable = isinstance(given, dict) and given.keys() == {"schema", "side", "drafts", "heads"}
    if not usable or given["schema"] != SCHEMA or given["side"] not in get_args(Side):
        raise _refused(given="another form", allowed=f"{SCHEMA} with side, drafts and heads")
    drafts = tuple(_draft(row) for row in _list(given["drafts"]))
    return Posting(side=given["side"], drafts=drafts, heads=tuple(map(str, _list(given["heads"]))))


def _check_size(text: bytes) -> None:
    if len(text) > LARGEST_BYTES:
        raise InputError(
            where="posting",
            given=f"{len(text)} bytes",
            allowed=f"at most {LARGEST_BYTES} bytes",
            do="Send less at once.",
        )


def _plain(draft: Draft) -> dict[str, Any]:
    plain = {item.name: getattr(draft, item.name) for item in fields(Draft)}
    return plain | {name: written(plain[name]) for name in _TIMES if plain[name] is not None}


def _draft(row: object) -> Draft:
    if not isinstance(row, dict) or row.keys() != {item.name for item in fields(Draft)}:
        raise _refused(
            given="a draft of another form", allowed=", ".join(item.name for item in fields(Draft))
        )
    times = {name: read_moment(row[name], f"entry.{name}") for name in _TIMES if row[name] is not None}
    return Draft(**(row | times))


def _list(given: object) -> Sequence[Any]:
    if not isinstance(given, list):
        raise _refused(given="no list", allowed="lists of drafts and heads")
    return given


def error_of(reply: Mapping[str, Any]) -> LungelineError:
    """Return the error a reply tells of, of the class it was raised as."""
    parts = dict(reply["error"])
    kinds = {kind.code: kind for kind in _kinds(LungelineError)}
    return kinds.get(parts.pop("code"), StoreError)(**parts)


def _kinds(kind: type[LungelineError]) -> Iterable[type[LungelineError]]:
    yield kind
    for narrower in kind.__subclasses__():
        yield from _kinds(narrower)


def _refused(given: str, allowed: str) -> InputError:
    return InputError(
        where="posting", given=given, allowed=allowed, do="Use the same version of the program on both sides."
    )

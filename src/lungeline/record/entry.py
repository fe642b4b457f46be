"""One entry of the record, and the draft a device sends to have it entered."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import datetime
from types import MappingProxyType
from typing import Any

from lungeline.case.refusals import shown
from lungeline.errors import InputError
from lungeline.record.canonical import canonical, read
from lungeline.record.moment import read_moment, whole_millisecond, written

SCHEMA = "lungeline.entry/1"
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._:@-]{0,99}")
_FIRST_PRINTABLE = " "
_LONGEST_PERSON = 200
_HASH = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """What a device wants entered. Sent twice under one uid, it is entered once.

    uid: made by the device, never used for anything else.
    case: id of the case.
    kind: which kind of entry, one of `KINDS`.
    event_time: when it happened, by the device's clock.
    author: who says so.
    device: what it was entered on; each has its own name.
    device_seq: the device's own count of its entries; None lets the writer count.
    body: what is to be recorded, as its kind wants it.
    corrects: uid of the entry that this one corrects or strikes out.
    sent_time: when the device sent it, by its own clock; tells a clock that is wrong.
    """

    uid: str
    case: str
    kind: str
    event_time: datetime
    author: str
    device: str
    body: Mapping[str, Any]
    device_seq: int | None = None
    corrects: str | None = None
    sent_time: datetime | None = None

    def __post_init__(self) -> None:
        """Refuse names that cannot be told apart, moments without offset, and what JSON cannot hold."""
        _check_names(self)
        if self.device_seq is not None:
            _check_count(self.device_seq, "entry.device_seq")
        object.__setattr__(self, "event_time", whole_millisecond(self.event_time, "entry.event_time"))
        object.__setattr__(self, "body", _frozen_body(self.body))

    def says_the_same_as(self, entry: "Entry") -> bool:
        """Whether an entry is what became of this draft, or of one just like it."""
        own_count = self.device_seq in {None, entry.device_seq}
        names = ("uid", "case", "kind", "event_time", "author", "device", "corrects")
        same = all(getattr(self, name) == getattr(entry, name) for name in names)
        # two moments are equal across offsets; what was written down is not
        same_offset = self.event_time.utcoffset() == entry.event_time.utcoffset()
        return own_count and same and same_offset and canonical(self.body) == canonical(entry.body)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of the record, as it was acknowledged and as it stays.

    uid, case, kind, event_time, author, device, device_seq, body, corrects: as in the draft.
    seq: place in the case, 1 and up without a gap, in the order in which entries were accepted.
    entry_time: when it was accepted, by the store's clock.
    prev: hash of the entry before; zeros for the first.
    hash: keyed hash over all of the above.
    """

    uid: str
    case: str
    seq: int
    kind: str
    event_time: datetime
    entry_time: datetime
    author: str
    device: str
    device_seq: int
    body: Mapping[str, Any]
    corrects: str | None
    prev: str
    hash: str = field(default="")

    def __post_init__(self) -> None:
        """Refuse what no writer of ours would have written."""
        _check_names(self)
        _check_count(self.seq, "entry.seq")
        _check_count(self.device_seq, "entry.device_seq")
        for name in ("event_time", "entry_time"):
            object.__setattr__(self, name, whole_millisecond(getattr(self, name), f"entry.{name}"))
        if not _HASH.fullmatch(self.prev) or (self.hash and not _HASH.fullmatch(self.hash)):
            raise _refuse(where="entry.hash", given=self.hash, allowed="64 hexadecimal digits")
        object.__setattr__(self, "body", _frozen_body(self.body))

    def content(self) -> str:
        """Return the canonical text of everything but the hash: what the hash is taken over."""
        return canonical(self._plain() | {"schema": SCHEMA})

    def line(self) -> str:
        """Return the canonical text of the whole entry, one line, as stores and files keep it."""
        return canonical(self._plain() | {"schema": SCHEMA, "hash": self.hash})

    def _plain(self) -> dict[str, object]:
        plain = {item.name: getattr(self, item.name) for item in fields(self) if item.name != "hash"}
        return plain | {"event_time": written(self.event_time), "entry_time": written(self.entry_time)}


def entry_from_line(line: str) -> Entry:
    """Return the entry of a line; InputError unless it is, to the last sign, as `Entry.line` writes it."""
    given = read(line)
    names = {item.name for item in fields(Entry)} | {"schema"}
    if not isinstance(given, dict) or given.keys() != names or given.pop("schema") != SCHEMA:
        raise _refuse(
            where="entry",
            given=shown(line[:200]),
            allowed=f"an entry of {SCHEMA} with all its fields and no other",
        )
    times = {name: read_moment(given[name], f"entry.{name}") for name in ("event_time", "entry_time")}
    entry = Entry(**(given | times))
    if entry.line() != line:
        raise _refuse(
            where="entry", given=shown(line[:200]), allowed="moments to the millisecond, with their offset"
        )
    return entry


def _frozen_body(body: object) -> Mapping[str, Any]:
    if not isinstance(body, Mapping):
        raise _refuse(where="entry.body", given=shown(body), allowed="an object")
    # a copy of our own, so that nobody changes an entry by keeping hold of its body
    return MappingProxyType(read(canonical(body)))


def _check_names(item: Draft | Entry) -> None:
    names = {"uid": item.uid, "case": item.case, "kind": item.kind, "device": item.device}
    if item.corrects is not None:
        names["corrects"] = item.corrects
    for name, value in names.items():
        if not isinstance(value, str) or not _NAME.fullmatch(value):
            allowed = "up to 100 letters, digits and . _ : @ -, beginning with a letter or digit"
            raise _refuse(f"entry.{name}", value, allowed)
    _check_person(item.author)


def _check_person(author: object) -> None:
    usable = isinstance(author, str) and 0 < len(author.strip()) <= len(author) <= _LONGEST_PERSON
    if not usable or any(mark < _FIRST_PRINTABLE for mark in str(author)):
        allowed = f"a person's name in one line, at most {_LONGEST_PERSON} characters"
        raise _refuse(where="entry.author", given=author, allowed=allowed)


def _check_count(value: object, where: str) -> None:
    if isinstance(value, bool) or not isinstance(value, int) or value < 1:
        raise _refuse(where, value, "a whole number from 1")


def _refuse(where: str, given: object, allowed: str) -> InputError:
    return InputError(where=where, given=given, allowed=allowed, do="Correct the entry and send it again.")

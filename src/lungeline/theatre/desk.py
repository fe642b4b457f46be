"""The desk at which a case is kept: one person on one device, who opens, enters, corrects and strikes out."""

import getpass
import os
import platform
import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

from lungeline.errors import InputError, RecordError, UnknownNameError
from lungeline.record import Draft, Entry, Item, checked_body
from lungeline.theatre.case_clock import moment_told
from lungeline.theatre.cases import CaseNow, Cases
from lungeline.theatre.people import FILE, Person, check_right, person_named, read_people
from lungeline.theatre.phases import check_phase

AUTHOR_VARIABLE, DEVICE_VARIABLE = "LUNGELINE_AUTHOR", "LUNGELINE_DEVICE"
_AFTER_SIGNING = frozenset({"addendum", "outcome", "controlled"})
_BY_SIGNING = frozenset({"signature", "clock", "opening", "correction", "strike"})
_NO_NAME = re.compile(r"[^A-Za-z0-9._-]+")


def _now() -> datetime:
    return datetime.now(UTC).astimezone()


def this_device() -> str:
    """Return the name of this device: LUNGELINE_DEVICE, or the computer's."""
    given = os.environ.get(DEVICE_VARIABLE) or f"cli.{platform.node() or 'computer'}"
    return _NO_NAME.sub("-", given)


def this_author() -> str:
    """Return who sits here: LUNGELINE_AUTHOR, or who is logged in to the computer."""
    given = os.environ.get(AUTHOR_VARIABLE)
    try:
        return given or getpass.getuser()
    except (KeyError, OSError):  # an account without a name, as in some containers
        return "unnamed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """Who enters, on what, into which cases. clock: the device's."""

    cases: Cases
    author: str
    device: str
    clock: Callable[[], datetime] = _now

    def person(self) -> Person:
        """Return who sits here, as far as the people's file knows them.

        Where that file cannot be used, recording goes on, as of somebody not listed; signing reads it itself.
        """
        try:
            people = read_people(self.cases.path / FILE)
        except InputError:
            return Person(name=self.author, listed=False)
        return person_named(self.author, people)

    def open_case(self, body: Mapping[str, Any], *, case: str | None = None) -> Entry:
        """Open a case, real or simulated by its purpose, and return its first entry."""
        check_right(self.person(), "new")
        checked = checked_body("opening", body)
        store = self.cases.store("real" if checked["purpose"] == "real" else "simulated")
        now = self.clock()
        return store.append(self._draft(case or self.cases.new_id(now), "opening", checked, now))

    def enter(
        self,
        case: str,
        kind: str,
        body: Mapping[str, Any],
        *,
        event_time: datetime | None = None,
        uid: str | None = None,
    ) -> Entry:
        """Enter something that happened, now where no time is told, and return its entry once it is on disk.

        uid: of an entry that may have been sent before; it is then entered once.
        """
        check_right(self.person(), "enter")
        if kind in _BY_SIGNING:
            raise InputError(
                where="entry.kind",
                given=kind,
                allowed="what happened",
                do="Use sign, correct, strike or new.",
            )
        now = self.cases.read(case)
        there = now.store.entry(uid) if uid else None
        moment = event_time or (there.event_time if there else self.clock())
        draft = self._draft(case, kind, body, moment)
        draft = replace(draft, uid=uid) if uid else draft
        if there is None:
            _check_open(now, kind)
            if kind == "phase":
                check_phase(now.state, checked_body(kind, body)["phase"], moment)
        return now.store.append(draft)

    def moment(
        self, case: str, *, at: str | None = None, ago_min: float | None = None, uid: str | None = None
    ) -> datetime | None:
        """Return when something was, None where nothing is told of it.

        uid: of an entry that may have been sent before; minutes ago are then those of the first time.
        """
        if at is None and ago_min is None:
            return None
        there = self.cases.find(case).entry(uid) if uid else None
        told = moment_told(there.entry_time if there else self.clock(), at=at, ago_min=ago_min)
        return there.event_time if there and ago_min is not None else told

    def correct(  # noqa: PLR0913  what a correction consists of
        self,
        case: str,
        seq: int,
        reason: str,
        changes: Mapping[str, Any],
        *,
        leave_out: Collection[str] = (),
        event_time: datetime | None = None,
    ) -> Entry:
        """Correct an entry: what it now says, with these fields changed or left out; it stays in view."""
        check_right(self.person(), "correct")
        now = self.cases.read(case)
        item = item_at(now, seq)
        unknown = set(leave_out) - item.body.keys()
        if unknown:
            raise UnknownNameError.nearest(where="leave out", given=min(unknown), valid=item.body)
        kept = {key: value for key, value in item.body.items() if key not in leave_out}
        moment = event_time or item.event_time
        right = checked_body(item.kind, {**kept, **changes})
        if dict(right) == dict(item.body) and moment == item.event_time:
            raise InputError(
                where="correction", given="nothing new", allowed="a change", do="Say what should be there."
            )
        if item.kind == "phase":
            check_phase(now.state, right["phase"], moment, instead_of=item)
        body = {"reason": reason, "kind": item.kind, "body": right}
        return now.store.append(self._draft(case, "correction", body, moment, corrects=item.entry.uid))

    def strike(self, case: str, seq: int, reason: str) -> Entry:
        """Strike an entry out, or a strike-out, which undoes it; it stays in view."""
        check_right(self.person(), "strike")
        now = self.cases.read(case)
        target = entry_at(now, seq)
        body = {"reason": reason}
        return now.store.append(self._draft(case, "strike", body, self.clock(), corrects=target.uid))

    def append(self, now: CaseNow, kind: str, body: Mapping[str, Any]) -> Entry:
        """Enter something by this person as it is, for the other parts of this package."""
        return now.store.append(self._draft(now.state.case, kind, body, self.clock()))

    def _draft(
        self,
        case: str,
        kind: str,
        body: Mapping[str, Any],
        moment: datetime,
        corrects: str | None = None,
    ) -> Draft:
        return Draft(
            uid=str(uuid4()),
            case=case,
            kind=kind,
            event_time=moment,
            author=self.author,
            device=self.device,
            body=body,
            corrects=corrects,
            sent_time=self.clock(),
        )


def entry_at(now: CaseNow, seq: int) -> Entry:
    """Return the entry with a number."""
    if not 1 <= seq <= len(now.entries):
        raise UnknownNameError(
            where="entry", given=seq, allowed=f"1 to {len(now.entries)}", do="See the numbers with show."
        )
    return now.entries[seq - 1]


def item_at(now: CaseNow, seq: int) -> Item:
    """Return the item that an entry began or belongs to."""
    uid = entry_at(now, seq).uid
    for item in now.state.items:
        if uid in {item.entry.uid, *(entry.uid for entry in item.history)}:
            return item
    raise UnknownNameError(
        where="entry", given=seq, allowed="an entry that leads to an original", do="Check the case (verify)."
    )


def _check_open(now: CaseNow, kind: str) -> None:
    """Refuse new content in a case that is closed and signed; what is added then is an addendum."""
    signed = now.state.signed_count > 0
    if signed and now.state.phase == "closed" and kind not in _AFTER_SIGNING:
        raise RecordError(
            where="entry.kind",
            given=f"{kind}, after closing and signing",
            allowed=", ".join(sorted(_AFTER_SIGNING)),
            do="Write it as an addendum, or correct or strike out what is wrong: all of it shows.",
        )
    if kind == "addendum" and not signed:
        raise RecordError(
            where="entry.kind",
            given="addendum, before any signature",
            allowed="after a signature",
            do="Enter it as what it is, or as a note.",
        )

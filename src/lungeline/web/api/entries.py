"""Cases and their entries: read, entered once whatever the connection does, corrected, struck out."""

import json
from datetime import datetime
from typing import Any

from django.http import HttpRequest
from ninja import Router, Schema
from pydantic import Field

from lungeline.errors import UnknownNameError
from lungeline.record import Entry
from lungeline.record.moment import read_moment
from lungeline.theatre import CaseInList, CaseNow
from lungeline.web.parts.seat import cases_of, desk_of, note_followed, side_of
from lungeline.web.running import running

router = Router()
_MOST_AT_ONCE = 1000
_UID = r"^[A-Za-z0-9][A-Za-z0-9._:@-]{0,99}$"


class Opened(Schema):
    """A case to open. body: the fields of an opening entry."""

    body: dict[str, Any]


class Entered(Schema):
    """One thing that happened. uid: made on the device; sent twice it is entered once."""

    uid: str = Field(pattern=_UID)
    kind: str
    body: dict[str, Any]
    event_time: str | None = None


class Corrected(Schema):
    """What an entry should say. changes: fields with their right values; leave_out: fields to drop."""

    reason: str = Field(min_length=1, max_length=2000)
    changes: dict[str, Any] = Field(default_factory=dict)
    leave_out: list[str] = Field(default_factory=list)
    event_time: str | None = None


class Struck(Schema):
    """Why an entry is struck out."""

    reason: str = Field(min_length=1, max_length=2000)


@router.get("")
def every_case(request: HttpRequest) -> dict[str, Any]:
    """List the cases this device shows, newest first."""
    return {"cases": [_listed(listed) for listed in cases_of(request)]}


@router.post("", response={201: dict[str, Any]})
def open_case(request: HttpRequest, given: Opened) -> tuple[int, dict[str, Any]]:
    """Open a case and return its first entry."""
    return 201, shown(told(desk_of(request).open_case(given.body)))


@router.get("/{case}/entries")
def entries(request: HttpRequest, case: str, after: int = 0) -> dict[str, Any]:
    """Return the entries of a case after a place, in order."""
    now = seen(request, case)
    new = [entry for entry in now.entries if entry.seq > after]
    return {"case": case, "mark": now.mark, "entries": [shown(entry) for entry in new[:_MOST_AT_ONCE]]}


@router.post("/{case}/entries", response={201: dict[str, Any]})
def enter(request: HttpRequest, case: str, given: Entered) -> tuple[int, dict[str, Any]]:
    """Enter what happened; answered once it is on disk."""
    seen(request, case)
    note_followed(request, case)
    moment = _moment(given.event_time)
    entry = desk_of(request).enter(case, given.kind, given.body, event_time=moment, uid=given.uid)
    return 201, shown(told(entry))


@router.post("/{case}/entries/{seq}/correction", response={201: dict[str, Any]})
def correct(request: HttpRequest, case: str, seq: int, given: Corrected) -> tuple[int, dict[str, Any]]:
    """Correct an entry; the old one stays in view."""
    seen(request, case)
    entry = desk_of(request).correct(
        case,
        seq,
        given.reason,
        given.changes,
        leave_out=given.leave_out,
        event_time=_moment(given.event_time),
    )
    return 201, shown(told(entry))


@router.post("/{case}/entries/{seq}/strike", response={201: dict[str, Any]})
def strike(request: HttpRequest, case: str, seq: int, given: Struck) -> tuple[int, dict[str, Any]]:
    """Strike an entry out; it stays in view."""
    seen(request, case)
    return 201, shown(told(desk_of(request).strike(case, seq, given.reason)))


def seen(request: HttpRequest, case: str) -> CaseNow:
    """Return a case of the side this device shows."""
    side = side_of(request)
    store = next((it for it in running().cases.stores() if it.folder.side == side), None)
    if store is None or not store.has(case):
        raise UnknownNameError.nearest(where="case", given=case, valid=store.ids() if store else ())
    return running().cases.read(case)


def _moment(written: str | None) -> datetime | None:
    return None if written is None else read_moment(written, "event_time")


def told(entry: Entry) -> Entry:
    """Tell open pages of an entry, and return it."""
    running().hub.tell(entry.case, entry.seq)
    return entry


def _listed(listed: CaseInList) -> dict[str, Any]:
    return {"case": listed.case, "count": listed.count, "opening": dict(listed.opening)}


def shown(entry: Entry) -> dict[str, Any]:
    """Return an entry as one plain object."""
    plain: dict[str, Any] = json.loads(entry.line())
    return plain

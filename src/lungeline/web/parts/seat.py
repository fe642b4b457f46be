"""Who sits at a page, on which device, and which cases that device shows."""

import re
import secrets
from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest

from lungeline.errors import InputError, RecordError
from lungeline.record.store.folder import Side
from lungeline.record.store.store import CaseListed
from lungeline.theatre import Desk, this_author
from lungeline.web.running import running

DEVICE_COOKIE = "lungeline_device"
_DEVICE = re.compile(r"web\.[A-Za-z0-9-]{4,40}")
_DEVICE_BYTES = 6
_NO_NAME = re.compile(r"[^A-Za-z0-9._-]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """A place at the record: who, on what, and which side of the data is shown."""

    author: str
    device: str
    side: Side


def seat_of(request: HttpRequest) -> Seat:
    """Return who asks, on what."""
    return Seat(author=_author(request), device=device_of(request), side=side_of(request))


def side_of(request: HttpRequest) -> Side:
    """Return which cases this browser shows: real ones, or simulated ones, never both."""
    if running().demo_only:
        return "simulated"
    return "simulated" if request.session.get("side") == "simulated" else "real"


def show_side(request: HttpRequest, side: Side) -> None:
    """Show the other side from now on. Refused while a real case that this browser has had open goes on."""
    followed = set(request.session.get("followed", ()))
    if side == "simulated" and any(
        now.state.case in followed and not now.mark for now in running().cases.running()
    ):
        raise RecordError(
            where="pages",
            given="rehearsals, beside a real case that goes on",
            allowed="one or the other in one browser",
            do="Close the case first, or use another device to rehearse.",
        )
    if side == "real" and running().demo_only:
        raise RecordError(
            where="pages",
            given="real cases",
            allowed="demonstrations alone",
            do="Start lungeline serve without --demo.",
        )
    request.session["side"] = side


def note_followed(request: HttpRequest, case: str) -> None:
    """Remember that this browser has had a case open."""
    followed = [*request.session.get("followed", ())]
    if case not in followed:
        request.session["followed"] = [*followed[-50:], case]


def device_of(request: HttpRequest) -> str:
    """Return the name of the device: its cookie's, or one made for it now and set with the answer."""
    if request.caller.device:
        return "web." + _NO_NAME.sub("-", request.caller.device)
    kept = request.COOKIES.get(DEVICE_COOKIE, "")
    if _DEVICE.fullmatch(kept):
        return str(kept)
    made = getattr(request, "new_device", None) or f"web.{secrets.token_hex(_DEVICE_BYTES)}"
    request.new_device = made
    return str(made)


def _author(request: HttpRequest) -> str:
    return str(request.caller.author or request.session.get("author") or this_author())


def name_author(request: HttpRequest, author: str) -> None:
    """Record under this name from now on, in this browser."""
    if not author.strip():
        raise InputError(where="author", given="nothing", allowed="a person's name", do="Say who it is.")
    request.session["author"] = " ".join(author.split())


def desk_of(request: HttpRequest) -> Desk:
    """Return the desk at which this request is done."""
    seat = seat_of(request)
    return Desk(cases=running().cases, author=seat.author, device=seat.device)


def cases_of(request: HttpRequest) -> Sequence[CaseListed]:
    """Return the cases this browser shows, the newest first."""
    side = side_of(request)
    return next((it.cases() for it in running().cases.stores() if it.folder.side == side), [])

"""Who sits at a page, on which device, and which cases that device shows."""

import re
import secrets
from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest

from lungeline.errors import InputError, RecordError
from lungeline.record.store.folder import Side
from lungeline.theatre import CaseInList, Desk, this_author
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
        it.case in followed and it.phase != "closed" and not it.simulated for it in running().cases.listed()
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
    if request.caller.person is not None:  # else anybody could take another's rights along with the name
        raise RecordError(
            where="author",
            given=f"another name than {request.caller.person.name}",
            allowed="the name somebody signed in with",
            do="Sign out first.",
        )
    if not author.strip():
        raise InputError(where="author", given="nothing", allowed="a person's name", do="Say who it is.")
    request.session["author"] = " ".join(author.split())


def desk_of(request: HttpRequest) -> Desk:
    """Return the desk at which this request is done."""
    seat = seat_of(request)
    return Desk(cases=running().cases, author=seat.author, device=seat.device)


def cases_of(request: HttpRequest) -> Sequence[CaseInList]:
    """Return the cases this browser shows, the newest first."""
    simulated = side_of(request) == "simulated"
    return [it for it in running().cases.listed() if it.simulated == simulated]

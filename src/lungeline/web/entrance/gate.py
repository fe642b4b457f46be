"""The gate: looks at every request before a page does, and says who asks and how far they come."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal
from urllib.parse import urlencode

from django.conf import settings
from django.contrib.sessions.backends.db import SessionStore
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

from lungeline.errors import LungelineError
from lungeline.theatre import CaseNow
from lungeline.theatre.people import Person, Right
from lungeline.theatre.unsigned import nobody_at
from lungeline.web.entrance.access import note_access
from lungeline.web.entrance.pairing import paired_device
from lungeline.web.entrance.refused import RightError, SignInError
from lungeline.web.entrance.signing_in import person_of, touch
from lungeline.web.parts.refusals import refused, status_of
from lungeline.web.running import THIS_COMPUTER, running

Level = Literal["stranger", "device", "person", "computer"]
_OPEN = re.compile(r"/(enter|pair)/")
# what a paired device may do before anybody signs in: an emergency does not wait
_EMERGENCY = re.compile(
    r"/(cases/new/|emergency/|api/cases$|api/openapi\.json$)|/case/(?P<page>[^/]+)/(watch|emergency)/|/api/cases/(?P<api>[^/]+)/"
)
# how one sees things changes nothing for others; a plan is reckoned and kept by nobody
_OWN_VIEW = re.compile(r"/settings/$|/api/(settings/view|plan|figures)")
_ADMINISTER = re.compile(r"/(api/)?settings/(people|devices|access|backups)")
_NOTED = re.compile(r"\.(pdf|csv|json|zip|jsonl)$|/export|/sign")


@dataclass(frozen=True, slots=True, kw_only=True)
class Caller:
    """Who asks. device: name of the paired device, empty for others."""

    level: Level
    person: Person | None = None
    device: str = ""

    @property
    def author(self) -> str:
        """Under which name they record; empty where the page's own name serves."""
        if self.person is not None:
            return self.person.name
        return nobody_at(self.device) if self.level == "device" else ""


def caller_with(cookies: Mapping[str, str], session: Mapping[str, object], address: str) -> Caller:
    """Return who asks: with these cookies and this session, from this address."""
    if not running().open_to_network or address in THIS_COMPUTER:
        return Caller(level="computer", person=person_of(session))
    device = paired_device(cookies)
    name = device.name if device else ""
    person = person_of(session)
    if person is not None:
        return Caller(level="person", person=person, device=name)
    return Caller(level="device" if device else "stranger", device=name)


def gate(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Let requests through that may pass."""

    def answer(request: HttpRequest) -> HttpResponse:
        caller = caller_with(request.COOKIES, request.session, address_of(request))
        request.caller = caller
        error = _refusal(request, caller)
        if error is not None:
            _note(request, caller, error.code)
            if isinstance(error, SignInError) and _is_page(request):
                return HttpResponseRedirect(f"/enter/?{urlencode({'next': request.path})}")
            return refused(request, error.as_json()["error"], status_of(error))
        if caller.person is not None:
            touch(request.session)
        response = get_response(request)
        if caller.level != "computer" and _NOTED.search(request.path):
            _note(request, caller, str(response.status_code))
        return response

    return answer


def _note(request: HttpRequest, caller: Caller, outcome: str) -> None:
    what = f"{request.method} {_short(request.path)}"
    note_access(request, what, outcome, person=caller.author, device=caller.device)


def _is_page(request: HttpRequest) -> bool:
    return request.method == "GET" and not request.path.startswith("/api/")


def _refusal(request: HttpRequest, caller: Caller) -> LungelineError | None:
    if caller.level == "computer" or _OPEN.match(request.path):
        return None
    if caller.level == "person":
        return _by_right(request, caller)
    if caller.level == "device" and _emergency(request, caller):
        return None
    return SignInError(
        where="signing in",
        given="nobody",
        allowed="people of this clinic",
        do="Sign in; what waits here is kept.",
    )


def _by_right(request: HttpRequest, caller: Caller) -> LungelineError | None:
    """Ask for the right a request needs at least; what more it takes, the desk asks for."""
    need: Right = "record"
    if _ADMINISTER.match(request.path):
        need = "administer"
    elif request.method in {"GET", "HEAD"} or _OWN_VIEW.match(request.path):
        need = "view"
    if caller.person is not None and need in caller.person.rights:
        return None
    return RightError(
        where=_short(request.path),
        given=f"{caller.person.name}, {caller.person.role}" if caller.person else "nobody",
        allowed=f"people with the right to {need}",
        do="Ask one of them.",
    )


def _emergency(request: HttpRequest, caller: Caller) -> bool:
    """Whether a request belongs to an emergency: opening a case, or going on with one this device opened."""
    found = _EMERGENCY.match(request.path)
    if found is None:
        return False
    case = found["page"] or found["api"]
    if case is None:
        return not (request.path == "/api/cases" and request.method == "GET")
    try:
        return _own_emergency(running().cases.read(case), caller)
    except LungelineError:
        return False


def may_follow(cookies: Mapping[str, str], address: str, case: str) -> bool:
    """Whether whoever holds these cookies may follow a case over a socket."""
    session = SessionStore(session_key=cookies.get(settings.SESSION_COOKIE_NAME))
    caller = caller_with(cookies, session, address)
    try:
        side = running().cases.find(case).folder.side
        if caller.level == "device":
            return side == "real" and _own_emergency(running().cases.read(case), caller)
    except LungelineError:
        return False
    if (side == "simulated") != (running().demo_only or session.get("side") == "simulated"):
        return False
    return caller.level == "computer" or _has_right(caller, "view")


def may_rehearse(cookies: Mapping[str, str], address: str, *, teaching: bool = False) -> bool:
    """Whether whoever holds these cookies may follow a rehearsal. teaching: as its trainer."""
    session = SessionStore(session_key=cookies.get(settings.SESSION_COOKIE_NAME))
    caller = caller_with(cookies, session, address)
    if not running().demo_only and session.get("side") != "simulated":
        return False
    return caller.level == "computer" or _has_right(caller, "teach" if teaching else "view")


def _has_right(caller: Caller, right: Right) -> bool:
    return caller.person is not None and right in caller.person.rights


def _own_emergency(now: CaseNow, caller: Caller) -> bool:
    return bool(now.entries) and now.entries[0].author == caller.author and now.state.phase != "closed"


def address_of(request: HttpRequest) -> str:
    """Return the address a request came from."""
    return str(request.META.get("REMOTE_ADDR", ""))


def _short(path: str) -> str:
    return path[:120]

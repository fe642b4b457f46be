"""People and devices: who is let in, with which word or PIN, and who looked at what."""

from typing import TYPE_CHECKING, Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.errors import LungelineError, UnknownNameError
from lungeline.theatre import RIGHTS, read_people
from lungeline.theatre.people import FILE, Person
from lungeline.web.entrance.access import last_accesses, note_access
from lungeline.web.entrance.pairing import devices, make_code, retire
from lungeline.web.entrance.signing_in import has_word, set_word
from lungeline.web.pages.about import about
from lungeline.web.parts.refusals import status_of
from lungeline.web.parts.seat import seat_of
from lungeline.web.running import running

if TYPE_CHECKING:
    from collections.abc import Callable

_SHOWN = 100


def people(request: HttpRequest) -> HttpResponse:
    """Show people and devices, and do what was asked with them."""
    told: dict[str, Any] = {}
    status = 200
    if request.method == "POST":
        try:
            told = _done(request)
        except LungelineError as error:
            told, status = {"refusal": error.as_json()["error"]}, status_of(error)
    listed = read_people(running().folder / FILE)
    context = (
        about("settings")
        | told
        | {
            "people": [_row(one) for one in listed],
            "roles": list(RIGHTS),
            "devices": devices(),
            "accesses": last_accesses(_SHOWN),
            "opened": running().open_to_network,
        }
    )
    return render(request, "people.html", context, status=status)


def _row(one: Person) -> dict[str, Any]:
    return {"name": one.name, "role": one.role, "pin": one.pin is not None, "word": has_word(one.name)}


def _done(request: HttpRequest) -> dict[str, Any]:
    what, name = request.POST.get("do", ""), request.POST.get("name", "").strip()
    author = seat_of(request).author
    done: dict[str, Callable[[], Any]] = {
        "word": lambda: set_word(name, request.POST.get("word", "")),
        "retire device": lambda: retire(name),
        "code": lambda: {"code": make_code(request.POST.get("device", ""), author)},
    }
    if what not in done:
        raise UnknownNameError.nearest(where="do", given=what, valid=done)
    result = done[what]()
    note_access(request, f"people: {what}", "done", person=author)
    return result if isinstance(result, dict) else {"done": what}

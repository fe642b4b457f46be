"""People and devices: who is let in, with which word or PIN, and who looked at what."""

import threading
from typing import TYPE_CHECKING, Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.errors import InputError, LungelineError, UnknownNameError
from lungeline.theatre import RIGHTS, Role, read_people
from lungeline.theatre.people import FILE, Person
from lungeline.theatre.people_file import add_person, change_role, set_pin
from lungeline.theatre.people_file import retire as retire_person
from lungeline.web.entrance.access import last_accesses, note_access
from lungeline.web.entrance.administering import check_administers, refusal_to_administer
from lungeline.web.entrance.pairing import devices, make_code
from lungeline.web.entrance.pairing import retire as retire_device
from lungeline.web.entrance.signing_in import has_word, let_in_no_more, set_word
from lungeline.web.pages.about import about
from lungeline.web.parts.refusals import status_of
from lungeline.web.parts.seat import seat_of
from lungeline.web.running import running

if TYPE_CHECKING:
    from collections.abc import Callable

_SHOWN = 100
_one_at_a_time = threading.Lock()  # the file of people is read and written anew as a whole


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
            "people": [_row(one) for one in listed if not one.retired],
            "retired": [one.name for one in listed if one.retired],
            "may_change": refusal_to_administer(request) is None,
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
    check_administers(request)
    what, name = request.POST.get("do", ""), request.POST.get("name", "").strip()
    path, author = running().folder / FILE, seat_of(request).author
    done: dict[str, Callable[[], Any]] = {
        "add": lambda: add_person(path, name, _role(request)),
        "role": lambda: change_role(path, name, _role(request)),
        "pin": lambda: set_pin(path, name, request.POST.get("pin", "")),
        "word": lambda: set_word(name, request.POST.get("word", "")),
        "retire": lambda: _retire(name),
        "retire device": lambda: retire_device(name),
        "code": lambda: {"code": make_code(request.POST.get("device", ""), author)},
    }
    if what not in done:
        raise UnknownNameError.nearest(where="do", given=what, valid=done)
    with _one_at_a_time:
        result = done[what]()
    note_access(request, f"people: {what}", "done", person=author)
    return result if isinstance(result, dict) else {"done": what}


def _role(request: HttpRequest) -> Role:
    told = request.POST.get("role", "")
    for role in RIGHTS:
        if role == told:
            return role
    raise InputError(where="role", given=told, allowed=", ".join(RIGHTS), do="Choose one of these.")


def _retire(name: str) -> None:
    retire_person(running().folder / FILE, name)
    let_in_no_more(name)

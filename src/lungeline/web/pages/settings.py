"""Settings of this browser and of the data folder: language, units, who records, which cases are shown."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from lungeline.errors import InputError, LungelineError, UnknownNameError
from lungeline.theatre import Schedule, back_up_all, check_right
from lungeline.theatre.clinic_profile import clinic_profile
from lungeline.units import UNITS
from lungeline.web.entrance.access import note_access
from lungeline.web.entrance.administering import check_administers, refusal_to_administer
from lungeline.web.pages.about import about
from lungeline.web.parts.measures import CHOICES, view_of
from lungeline.web.parts.numbers_typed import number_typed
from lungeline.web.parts.refusals import status_of
from lungeline.web.parts.seat import desk_of, name_author, seat_of, show_side, side_of
from lungeline.web.running import running
from lungeline.words import PAGE_LANGUAGES

_LANGUAGE_NAMES = {"en": "English", "de": "Deutsch"}


def settings(request: HttpRequest) -> HttpResponse:
    """Show what can be chosen, and do what was asked. How things are shown is kept by the page itself."""
    return _answered(request, _done)


def backups(request: HttpRequest) -> HttpResponse:
    """Say where copies go, how often, and how many are kept."""
    return _answered(request, _scheduled)


def _answered(request: HttpRequest, done: Callable[[HttpRequest], dict[str, Any]]) -> HttpResponse:
    told: dict[str, Any] = {}
    status = 200
    if request.method == "POST":
        try:
            told = done(request)
        except LungelineError as error:
            told, status = {"refusal": error.as_json()["error"]}, status_of(error)
        else:
            if not told:
                return HttpResponseRedirect("/settings/")
    view = view_of(request)
    context = (
        about("settings")
        | told
        | {
            "languages": [{"code": code, "name": _LANGUAGE_NAMES[code]} for code in PAGE_LANGUAGES],
            "themes": [{"value": each, "word": f"settings.{each}"} for each in ("auto", "light", "dark")],
            "signed_in": request.caller.person is not None,
            "choices": [_choice(stored, readable, view) for stored, readable in CHOICES.items()],
            "side": side_of(request),
            "demo_only": running().demo_only,
            "profile": clinic_profile(running().folder),
            "folder": running().folder,
        }
        | _copies(request)
    )
    return render(request, "settings.html", context, status=status)


def _choice(stored: str, readable: tuple[str, ...], view: Mapping[str, str]) -> dict[str, Any]:
    units = [
        {"suffix": unit, "label": UNITS[unit].label, "chosen": view[stored] == unit} for unit in readable
    ]
    return {"stored": stored, "word": f"settings.unit_{stored}", "units": units}


def _done(request: HttpRequest) -> dict[str, Any]:
    what = request.POST.get("do", "")
    match what:
        case "author":
            name_author(request, request.POST.get("author", ""))
        case "side":
            show_side(request, "simulated" if side_of(request) == "real" else "real")
        case "backup":
            return _backed_up(request)
        case _:
            raise UnknownNameError.nearest(where="do", given=what, valid=("author", "side", "backup"))
    return {}


# -- copies ------------------------------------------------------------------------------------------------


def _copies(request: HttpRequest) -> dict[str, Any]:
    copying = running().backing_up
    return {
        "schedule": copying.schedule,
        "last": copying.last,
        "last_fault": copying.fault.as_json()["error"] if copying.fault else None,
        "same_disk": copying.on_the_same_disk,
        "may_administer": refusal_to_administer(request) is None,
        "typed": {key: request.POST.get(key, "") for key in ("folder", "every_min", "keep_number")},
    }


def _backed_up(request: HttpRequest) -> dict[str, Any]:
    """Copy at once: to where copies go, beside the data where nobody said."""
    desk = desk_of(request)
    check_right(desk.person(), "backup")
    done = running().backing_up.now()
    if done is None:
        return {"copies": [path.name for path in back_up_all(desk)]}
    if done.fault is not None:
        raise done.fault
    return {"copies": [path.name for path in done.copies], "nothing_new": not done.copies}


def _scheduled(request: HttpRequest) -> dict[str, Any]:
    check_administers(request)
    what = request.POST.get("do", "")
    match what:
        case "set":
            running().backing_up.keep(_schedule(request))
        case "off":
            running().backing_up.forget()
        case _:
            raise UnknownNameError.nearest(where="do", given=what, valid=("set", "off"))
    note_access(request, f"backups: {what}", "done", person=seat_of(request).author)
    return {}


def _schedule(request: HttpRequest) -> Schedule:
    numbers = {name: number_typed(name, request.POST.get(name, "")) for name in ("every_min", "keep_number")}
    every_min, keep_number = numbers["every_min"], numbers["keep_number"]
    if every_min is None or keep_number is None or keep_number != int(keep_number):
        raise InputError(
            where="backups",
            given=f"every {request.POST.get('every_min')} min, {request.POST.get('keep_number')} copies",
            allowed="a number of minutes and a whole number of copies",
            do="Type both.",
        )
    folder = Path(request.POST.get("folder", "").strip())
    return Schedule(folder=folder, every_min=every_min, keep_number=int(keep_number))

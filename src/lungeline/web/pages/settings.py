"""Settings of this browser and of the data folder: language, units, who records, which cases are shown."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from lungeline.errors import LungelineError, UnknownNameError
from lungeline.theatre import back_up_all
from lungeline.theatre.clinic_profile import clinic_profile
from lungeline.units import UNITS
from lungeline.web.pages.about import about
from lungeline.web.parts.measures import CHOICES, view_of
from lungeline.web.parts.refusals import status_of
from lungeline.web.parts.seat import desk_of, name_author, show_side, side_of
from lungeline.web.running import running
from lungeline.words import PAGE_LANGUAGES

_LANGUAGE_NAMES = {"en": "English", "de": "Deutsch"}


def settings(request: HttpRequest) -> HttpResponse:
    """Show what can be chosen, and do what was asked. How things are shown is kept by the page itself."""
    told: dict[str, Any] = {}
    status = 200
    if request.method == "POST":
        try:
            told = _done(request)
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
            "choices": [_choice(stored, readable, view) for stored, readable in CHOICES.items()],
            "side": side_of(request),
            "demo_only": running().demo_only,
            "profile": clinic_profile(running().folder),
            "folder": running().folder,
        }
    )
    return render(request, "settings.html", context, status=status)


def _choice(stored: str, readable: tuple[str, ...], view: Mapping[str, str]) -> dict[str, Any]:
    units = [
        {"suffix": unit, "label": UNITS[unit].label, "chosen": view[stored] == unit} for unit in readable
    ]
    return {"stored": stored, "units": units}


def _done(request: HttpRequest) -> dict[str, Any]:
    what = request.POST.get("do", "")
    match what:
        case "author":
            name_author(request, request.POST.get("author", ""))
        case "side":
            show_side(request, "simulated" if side_of(request) == "real" else "real")
        case "backup":
            return {"copies": [path.name for path in back_up_all(desk_of(request))]}
        case _:
            raise UnknownNameError.nearest(where="do", given=what, valid=("author", "side", "backup"))
    return {}

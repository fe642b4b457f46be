"""The list of cases, and a new one."""

from typing import Any, get_args

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from lungeline.case.animal import Position, Species
from lungeline.errors import InputError
from lungeline.record.bodies import WeighedBy
from lungeline.theatre import CaseInList, Damaged
from lungeline.units import UNITS, convert
from lungeline.web.pages.about import about
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.numbers_typed import number_typed
from lungeline.web.parts.seat import desk_of, side_of
from lungeline.web.running import running

_TEXTS = ("procedure", "breed", "sex", "owner", "case_number", "diagnosis")
_CHOICES = ("species", "weighed_by", "position")
_NUMBERS = ("weight_kg", "age_years")


def cases(request: HttpRequest) -> HttpResponse:
    """Show every case of the side this browser shows, the running ones first."""
    simulated = side_of(request) == "simulated"
    damaged: list[Damaged] = []
    shown = [it for it in running().cases.listed(damaged) if it.simulated == simulated]
    shown.sort(key=lambda it: it.phase == "closed")
    fault = running().backing_up.fault
    context = {
        "cases": [_row(it) for it in shown],
        "damaged": damaged,
        "no_copy": fault.as_json()["error"] if fault else None,
    }
    return render(request, "cases.html", about("cases") | context)


def _row(listed: CaseInList) -> dict[str, Any]:
    opening, phase = listed.opening, listed.phase
    page = "record" if phase == "closed" else "watch"
    return {
        "case": listed.case,
        "href": f"/case/{listed.case}/{page}/",
        "name": opening.get("name", ""),
        "species_word": f"cases.{opening.get('species', '')}",
        "weight_kg": opening.get("weight_kg"),
        "procedure": opening.get("procedure", ""),
        "phase": phase,
        "phase_word": f"cases.phase_{phase or 'none'}",
        "day": f"{listed.opened:%Y-%m-%d %H:%M}",
    }


def new(request: HttpRequest) -> HttpResponse:
    """Open a case, or ask what it takes."""
    refusal: dict[str, Any] | None = None
    if request.method == "POST":
        try:
            entry = desk_of(request).open_case(_opening(request))
        except InputError as error:
            refusal = error.as_json()["error"]
        else:
            return HttpResponseRedirect(f"/case/{entry.case}/watch/")
    view = view_of(request)
    context = about("cases") | {
        "refusal": refusal,
        "typed": {key: request.POST.get(key, "") for key in (*_TEXTS, *_CHOICES, *_NUMBERS, "name")},
        "species": get_args(Species),
        "weighed_by": get_args(WeighedBy),
        "positions": [
            {"value": each, "word": f"cases.{each.replace(' ', '_')}"} for each in get_args(Position)
        ],
        "texts": [name for name in _TEXTS if name != "procedure"],
        "weight_label": UNITS[view["kg"]].label,
    }
    return render(request, "new_case.html", context, status=200 if refusal is None else 400)


def _opening(request: HttpRequest) -> dict[str, Any]:
    typed = {key: request.POST.get(key, "").strip() for key in ("name", *_TEXTS, *_CHOICES)}
    body: dict[str, Any] = {key: value for key, value in typed.items() if value}
    for name in _NUMBERS:
        value = number_typed(name, request.POST.get(name, ""))
        if value is not None:
            body[name] = value
    if "weight_kg" in body:
        body["weight_kg"] = convert(body["weight_kg"], view_of(request)["kg"], "kg")
    return body | {"purpose": "real" if side_of(request) == "real" else "demo"}

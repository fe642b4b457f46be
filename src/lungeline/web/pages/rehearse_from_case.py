"""A scenario made of a case that was: asked for on its record, made meanwhile, shown with its band."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from lungeline.rehearse.scenario import Scenario
from lungeline.theatre import Desk
from lungeline.theatre.own_scenarios import keep_scenario, new_scenario_name
from lungeline.theatre.scenario_from_case import case_as_it_went, scenario_from_case
from lungeline.web.making_scenarios import making
from lungeline.web.pages.about import about, case_shown
from lungeline.web.parts.seat import desk_of, side_of
from lungeline.web.parts.teaching import check_teaches
from lungeline.web.running import running


def from_case(request: HttpRequest, case: str) -> HttpResponse:
    """Say what it is; where it was asked for, begin."""
    check_teaches(request)
    now = case_shown(request, case)
    if request.method == "POST":
        case_as_it_went(now)  # what cannot be made is refused at once
        desk = desk_of(request)
        making().begin(case, lambda: _made(desk, case))
        return HttpResponseRedirect(request.path)
    context = {"begun": making().of(case) is not None, "plays_here": side_of(request) == "simulated"}
    return render(request, "rehearse_from_case.html", about("record", now) | context)


def _made(desk: Desk, case: str) -> Scenario:
    made = scenario_from_case(desk, case, new_scenario_name())
    keep_scenario(running().folder, made.scenario)
    return made.scenario

"""Rehearse: choose a scenario, play it, lead it, and look at how it went."""

from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.views.decorators.http import require_POST

from lungeline.errors import LungelineError, UnknownNameError
from lungeline.rehearse import deeds
from lungeline.rehearse.bench_readings import NEEDED
from lungeline.rehearse.hands import BEHAVIOURS
from lungeline.rehearse.timeline import timeline
from lungeline.simulate.faults import FAULTS
from lungeline.theatre.clinic_profile import clinic_profile
from lungeline.theatre.competence import SKILLS
from lungeline.theatre.equipment import Equipment
from lungeline.theatre.kept_rehearsals import KeptRehearsals, known_scenario, known_scenarios
from lungeline.theatre.printed_bench import print_bench_guide
from lungeline.theatre.printed_debrief import print_debrief
from lungeline.theatre.printed_handout import print_handout
from lungeline.web.api.rehearse import going_told, scenario_told
from lungeline.web.api.rehearse_played import played_told
from lungeline.web.pages.about import about
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.refusals import status_of
from lungeline.web.parts.seat import desk_of, seat_of, show_side, side_of
from lungeline.web.parts.teaching import check_teaches, kept_for, may_teach
from lungeline.web.rehearsals import SPEEDS, rehearsals
from lungeline.web.running import running
from lungeline.words import page_words

_TABS = ("look", "mend", "give", "say")
_SORTS = ("set", "manoeuvre", *_TABS)


def listed(request: HttpRequest) -> HttpResponse:
    """Show the scenarios, what goes on, and one's own rehearsals; or ask whether to rehearse here."""
    if side_of(request) == "real":
        return render(request, "rehearse_here.html", about("rehearse"))
    scenarios = sorted(known_scenarios(running().folder), key=lambda it: it.number)
    kept = KeptRehearsals(running().folder).of(seat_of(request).author)
    titles = {it.name: it.title for it in scenarios}
    context = {
        "scenarios": [scenario_told(it) for it in scenarios],
        "going": [going_told(it) for it in rehearsals().going()],
        "played": [played_told(it) | {"title": titles.get(it.scenario, it.scenario)} for it in kept],
        "may_teach": may_teach(request),
    }
    return render(request, "rehearse.html", about("rehearse") | context)


@require_POST
def here(request: HttpRequest) -> HttpResponse:
    """Rehearse on this device from now on: it shows simulated cases, and no real one any more."""
    try:
        show_side(request, "simulated")
    except LungelineError as error:
        refusal = {"refusal": error.as_json()["error"]}
        return render(request, "rehearse_here.html", about("rehearse") | refusal, status=status_of(error))
    return HttpResponseRedirect("/rehearse/")


def learner(request: HttpRequest, rehearsal: str) -> HttpResponse:
    """Show a rehearsal as its learner sees it; one that is over, how it went."""
    return _going(request, rehearsal, "rehearsal.html")


def trainer(request: HttpRequest, rehearsal: str) -> HttpResponse:
    """Show a rehearsal as its trainer leads it."""
    check_teaches(request)
    return _going(request, rehearsal, "trainer.html")


def _going(request: HttpRequest, rehearsal: str, template: str) -> HttpResponse:
    if side_of(request) == "real":
        return HttpResponseRedirect("/rehearse/")
    try:
        found = rehearsals().find(rehearsal)
    except UnknownNameError:
        KeptRehearsals(running().folder).read(rehearsal)
        return HttpResponseRedirect(f"/rehearse/{rehearsal}/debrief/")
    scenario = found.scenario
    context: dict[str, Any] = {
        "rehearsal": rehearsal,
        "scenario": scenario_told(scenario),
        "led": found.begun.led,
        "bench": found.begun.bench,
        "needed": NEEDED,
        "may_teach": may_teach(request),
        # whoever leads does it on the trainer's page, also where learner and trainer share this computer
        "turns_clock": template == "trainer.html" or not found.begun.led,
        "tabs": _TABS,
        "deeds": {sort: [it for it in deeds().values() if it.sort == sort] for sort in (*_TABS, "manoeuvre")},
        "causes": _causes(),
        "faults": list(FAULTS.values()),
        "behaviours": BEHAVIOURS,
        "speeds": SPEEDS,
        "animal": {
            "name": page_words(view_of(request)["language"])["rehearse.patient"],
            "species": scenario.case.animal.species,
            "weight_kg": scenario.case.animal.weight_kg,
        },
    }
    return render(request, template, about("rehearse") | context)


def _causes() -> list[dict[str, str]]:
    """Return what can be said to be wrong, in any scenario."""
    codes = {it.cause for it in known_scenarios(running().folder) if it.cause} | set(FAULTS)
    titles = {code: it.title for code, it in FAULTS.items()}
    return [{"code": code, "title": titles.get(code, code.replace("_", " "))} for code in sorted(codes)]


def debrief(request: HttpRequest, rehearsal: str) -> HttpResponse:
    """Show how a rehearsal went."""
    if side_of(request) == "real":
        return HttpResponseRedirect("/rehearse/")
    kept = kept_for(request, rehearsal).read(rehearsal)
    scenario = known_scenario(running().folder, kept.scenario)
    context = {
        "rehearsal": rehearsal,
        "kept": played_told(kept),
        "scenario": scenario_told(scenario),
        "deeds": {sort: [it for it in deeds().values() if it.sort == sort] for sort in _SORTS},
        "causes": _causes(),
        "learner": kept.author,
        "mine": kept.author == seat_of(request).author,
        "may_teach": may_teach(request),
        "skills": sorted(SKILLS, key=lambda skill: skill not in scenario.skills),
        "assessor": request.caller.person.name if request.caller.person else "",
    }
    return render(request, "debrief.html", about("rehearse") | context)


def debrief_pdf(request: HttpRequest, rehearsal: str) -> HttpResponse:
    """Give the debrief as PDF."""
    practice = kept_for(request, rehearsal).replayed(rehearsal)
    content = print_debrief(
        practice.run.scenario, practice.outcome, timeline(practice.run, practice.readings(0.0))
    )
    return _pdf(content, f"SIMULATED-{rehearsal}-debrief.pdf")


def sheet(request: HttpRequest, name: str, which: str) -> HttpResponse:
    """Give the handout of a scenario, or the guide to play it beside a real machine, as PDF."""
    scenario = known_scenario(running().folder, name)
    if which == "handout":
        content = print_handout(scenario)
    elif which == "bench":
        machines = [it.item for it in Equipment(desk=desk_of(request)).machines()]
        content = print_bench_guide(scenario, profile=clinic_profile(running().folder), machines=machines)
    else:
        raise UnknownNameError.nearest(where="page", given=f"{which}.pdf", valid=("handout", "bench"))
    return _pdf(content, f"SIMULATED-{name}-{which}.pdf")


def _pdf(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    return answer

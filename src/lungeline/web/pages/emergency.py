"""The emergency card: read at a run, on a phone, in millilitres. No script is needed to show it."""

from typing import Any, get_args

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.case import Animal, Profile, Reasoned
from lungeline.case.animal import Species
from lungeline.errors import InputError
from lungeline.plan.animal.patient import patient
from lungeline.plan.drugs.dose_text import dose_text
from lungeline.plan.drugs.doses import AnimalDose
from lungeline.plan.drugs.emergency import (
    EmergencyCard,
    EmergencyLine,
    emergency_card,
    volumes_by_strength,
)
from lungeline.plan.drugs.labels import printed
from lungeline.reference.formulary import drug
from lungeline.theatre import case_to_plan, clinic_profile
from lungeline.units import UNITS, convert
from lungeline.web.pages.about import about, case_shown
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.numbers_typed import number_typed
from lungeline.web.parts.plan_words import drug_name, finding_told, local
from lungeline.web.running import running

# The heart that stands still first, then the one that flutters, then the slow one, then the plane.
_FIRST = ("arrest", "ventricular_fibrillation", "bradycardia", "rescue")
_MISSING = "emergency_dose_missing"


def emergency(request: HttpRequest) -> HttpResponse:
    """Show the card of any animal: species and weight are asked for, and nothing else."""
    species, typed = request.GET.get("species", ""), request.GET.get("weight_kg", "")
    context = about("emergency") | _question(request, species, typed)
    if species and typed:
        try:
            read = number_typed("weight_kg", typed)
            weight_kg = convert(read or 0.0, view_of(request)["kg"], "kg")
            context |= card(request, species, weight_kg, clinic_profile(running().folder))
        except InputError as error:
            context["refusal"] = error.as_json()["error"]
    return render(request, "emergency.html", context, status=400 if context.get("refusal") else 200)


def emergency_case(request: HttpRequest, case: str) -> HttpResponse:
    """Show the card of a case's animal; its weight is asked for where nobody has entered one."""
    now = case_shown(request, case)
    animal = case_to_plan(now.state)["animal"]
    typed = request.GET.get("weight_kg", "")
    context = about("emergency", now) | _question(request, animal["species"], typed)
    try:
        weight_kg = animal.get("weight_kg")
        if typed:
            weight_kg = convert(number_typed("weight_kg", typed) or 0.0, view_of(request)["kg"], "kg")
        if weight_kg is not None:
            context |= card(request, animal["species"], weight_kg, clinic_profile(running().folder))
    except InputError as error:
        context["refusal"] = error.as_json()["error"]
    return render(request, "emergency.html", context, status=400 if context.get("refusal") else 200)


def card(request: HttpRequest, species: str, weight_kg: float, profile: Profile) -> dict[str, Any]:
    """Return the card of an animal, as the page shows it."""
    language = view_of(request)["language"]
    animal = Animal(species=species, weight_kg=weight_kg)  # type: ignore[arg-type]  # checked by the record
    made = emergency_card(patient(animal, profile))
    lines = sorted(made.lines, key=lambda line: _FIRST.index(line.use) if line.use in _FIRST else len(_FIRST))
    return {
        "species": species,
        "weight_kg": weight_kg,
        "lines": [_line(line, made, language) for line in lines],
        "unsigned": any(line.chosen is None for line in made.lines),
        "missing": [finding_told(each, language) for each in made.findings if each.code == _MISSING],
        "facts": [_fact(fact) for fact in made.facts],
        "profile": profile,
    }


def _question(request: HttpRequest, species: str, typed: str) -> dict[str, Any]:
    return {
        "asked_species": species,
        "asked_weight": typed,
        "all_species": get_args(Species),
        "weight_label": UNITS[view_of(request)["kg"]].label,
    }


def _line(line: EmergencyLine, made: EmergencyCard, language: str) -> dict[str, Any]:
    doses = line.published if line.chosen is None else (line.chosen,)
    signed = line.chosen.chosen if line.chosen else None
    place = f"emergency.{line.drug}.{line.use}."
    return {
        "drug": drug_name(drug(line.drug), language),
        "use_word": f"prepare.use_{line.use}",
        "signed_by": f"{signed.signed_by} {signed.signed_on}" if signed else "",
        "stopped": any(each.severity == "stop" and each.about.startswith(place) for each in made.findings),
        "doses": [_dose(dose, language, own=line.chosen is not None) for dose in doses],
    }


def _dose(dose: AnimalDose, language: str, *, own: bool) -> dict[str, Any]:
    published = dose.chosen.published[0].figure if dose.chosen.published else None
    return {
        "dose": local(printed(dose_text(dose.dose.value or 0.0, dose.dose.unit)), language),
        "route": dose.chosen.route,
        "total": dose.total_mg,
        "volumes": _volumes(dose),
        "memory": bool(published and published.rests_on_memory and not own),
        "source": "" if own or published is None else published.source,
    }


def _volumes(dose: AnimalDose) -> list[dict[str, float | None]]:
    """Return the signed strength's volume, else that from each strength that is about."""
    if dose.volume_ml.value is not None:
        strength_mg_ml = dose.strength.strength_mg_ml if dose.strength else None
        return [{"volume_ml": dose.volume_ml.value, "strength_mg_ml": strength_mg_ml}]
    return [{**each} for each in volumes_by_strength(dose)]


def _fact(fact: Reasoned) -> dict[str, Any]:
    what = fact.name.rpartition(".")[2]
    return {"word": f"prepare.fact_{what}", "what": what.replace("_", " "), "number": fact}

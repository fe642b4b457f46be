"""Plans: made from a case, previewed while a number is moved, asked why, printed. Nothing is recorded."""

from dataclasses import fields
from datetime import UTC, datetime
from typing import Any, Literal

from django.http import HttpRequest, HttpResponse
from ninja import Router, Schema
from pydantic import Field

from lungeline.case import Case, Finding, Profile, case_from_json, case_from_tables, profile_from_toml
from lungeline.case.fields import described
from lungeline.case.settings import Settings
from lungeline.errors import UnknownNameError
from lungeline.export.pdf import PAGES, plan_pdf
from lungeline.plan import Plan
from lungeline.plan.preview import Shape
from lungeline.plan.settled_doses import DoseChoice
from lungeline.plan.spans import spans
from lungeline.theatre import SIMULATED, clinic_profile, plan_body
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.plannings import Asked, plannings
from lungeline.web.parts.seat import device_of, side_of
from lungeline.web.running import running
from lungeline.words import say

router = Router()
_MOST_ANIMALS = 400  # some ten seconds of two cores
_KEY = Field(pattern=r"^[0-9a-f]{24}$")
_TICKET = Field(default="", pattern=r"^[A-Za-z0-9-]{0,60}$")
_MINUTE_L = ("fresh_gas_l", "oxygen_used_l", "leaked_l", "sampled_l", "spilled_l", "room_air_l")
_BREATH = (
    "peak_pressure_cmh2o",
    "etco2_mmhg",
    "paco2_mmhg",
    "pao2_mmhg",
    "spo2_fraction",
    "fio2_fraction",
    "end_tidal_agent_fraction",
    "mac_multiple",
    "map_mmhg",
)


class Choice(Schema):
    """What was settled of one dose: its strength, and who confirmed it."""

    drug: str
    use: str
    strength: str = ""
    first_person: str = ""
    second_person: str = ""
    dose_again: str = ""
    reason: str = ""


class Wanted(Schema):
    """What to plan. case: tables as in a case file, or a case as JSON; profile_toml: text of a profile.

    ticket: made up by the asker, to ask how far the work is.
    """

    case: dict[str, Any]
    profile_toml: str = Field(default="", max_length=200_000)
    animals: int = Field(default=100, ge=1, le=_MOST_ANIMALS)
    seed: int = Field(default=1, ge=0)
    doses: list[Choice] = Field(default_factory=list, max_length=200)
    ticket: str = _TICKET


class Moved(Schema):
    """A number moved by hand. key: of an open plan; changed: settings asked for, by name."""

    key: str = _KEY
    changed: dict[str, float]


@router.post("")
def make(request: HttpRequest, given: Wanted) -> dict[str, Any]:
    """Return the whole plan of a case, with the key under which it stays open."""
    asked = Asked(
        case=_case(given.case),
        profile=_profile(given.profile_toml),
        animals=given.animals,
        seed=given.seed,
        doses=tuple(DoseChoice(**choice.dict()) for choice in given.doses),
    )
    key, plan = plannings.plan(asked, given.ticket, device_of(request))
    return {
        "key": key,
        "mark": _mark(request),
        "plan": plan.as_json(),
        "fixed": sorted(plan.begun.fixed),
        "spans": {name: [span.low, span.high, span.step] for name, span in spans(plan).items()},
        "curves": plannings.preview(key, device_of(request)).curves().as_json(),
        "minutes": _minutes(plan.course.minutes),
    }


@router.get("/progress/{ticket}")
def progress(request: HttpRequest, ticket: str) -> dict[str, Any]:  # noqa: ARG001  as the router calls it
    """Return how far the work under a ticket is."""
    return plannings.progress(ticket)


@router.post("/preview")
def preview(request: HttpRequest, given: Moved) -> dict[str, Any]:
    """Return the breath that follows from a moved number, the others solved around it.

    `superseded` is true, and nothing else is told, where this device asked something newer meanwhile.
    """
    _check_names(given.changed)
    plannings.moved(device_of(request))
    shape = plannings.preview(given.key, device_of(request)).shape(given.changed)
    if shape is None:
        return {"superseded": True}
    return {"superseded": False, **_shape(request, plannings.find(given.key), shape, given.changed)}


@router.post("/course")
def course(request: HttpRequest, given: Moved) -> dict[str, Any]:
    """Return the first two hours that follow from a moved number, and what spare gas it takes."""
    _check_names(given.changed)
    asked = plannings.preview(given.key, device_of(request))
    ran = asked.course(given.changed)
    if ran is None:
        return {"superseded": True}
    return {
        "superseded": False,
        "minutes": _minutes(ran.minutes),
        "spare": asked.spare(given.changed).as_json(),
    }


@router.get("/bands")
def bands(request: HttpRequest, key: str, ticket: str = "") -> dict[str, Any]:
    """Return how far apart animals would go in the course of an open plan."""
    return plannings.bands(key, ticket, device_of(request)).as_json()


@router.get("/why")
def why(request: HttpRequest, key: str, name: str) -> dict[str, Any]:  # noqa: ARG001  as the router calls it
    """Return where a number of an open plan comes from: formula, inputs, sources in full, basis."""
    plan = plannings.find(key)
    told, known = plan.why(name), plan.sources()
    return {**told, "sources": [known.get(each, each) for each in told["sources"]]}


@router.get("/body")
def body(request: HttpRequest, key: str) -> dict[str, Any]:  # noqa: ARG001  as the router calls it
    """Return what a case's record keeps of an open plan, to enter with the kind `plan`."""
    return plan_body(plannings.find(key).as_json())


@router.get("/pdf/{which}")
def pdf(request: HttpRequest, which: str, key: str, paper: Literal["a4", "letter"] = "a4") -> HttpResponse:
    """Return a sheet of an open plan for print: plan, drugs, labels, emergency, chart, or all."""
    if which not in {*PAGES, "all"}:
        raise UnknownNameError.nearest(where="pages", given=which, valid=(*PAGES, "all"))
    plan = plannings.find(key)
    made = plan_pdf(
        plan,
        paper=paper,
        pages=PAGES if which == "all" else (which,),
        printed_at=datetime.now(UTC).astimezone(),
        mark=_mark(request),
    )
    name = f"{which}-{plan.case.animal.species}-{plan.case.animal.weight_kg:.0f}kg.pdf"
    return HttpResponse(
        made, content_type="application/pdf", headers={"Content-Disposition": f'inline; filename="{name}"'}
    )


def _mark(request: HttpRequest) -> str:
    return SIMULATED if side_of(request) == "simulated" else ""


def _case(given: dict[str, Any]) -> Case:
    return case_from_json(given) if "schema" in given else case_from_tables(given)


def _profile(written: str) -> Profile:
    return profile_from_toml(written) if written.strip() else clinic_profile(running().folder)


def _check_names(changed: dict[str, float]) -> None:
    known = {doc.name for doc in described(Settings).values() if doc.kind == "number"}
    for name in changed:
        if name not in known:
            raise UnknownNameError.nearest(where="changed", given=name, valid=known)


def _shape(request: HttpRequest, plan: Plan, shape: Shape, changed: dict[str, float]) -> dict[str, Any]:
    """Return a breath as a page draws it, with what was moved around the number that was asked for."""
    now = {each.name: getattr(shape.settings, each.name) for each in fields(shape.settings)}
    moved = [
        {"name": name, "from": getattr(plan.settings, name), "to": value}
        for name, value in now.items()
        if name not in changed and value != getattr(plan.settings, name)
    ]
    return {
        "settings": now,
        "moved": moved,
        "breath": {each.name: getattr(shape.breath, each.name) for each in fields(shape.breath)},
        "curves": shape.curves.as_json(),
        "findings": [_said(finding, request) for finding in shape.findings],
    }


def _said(finding: Finding, request: HttpRequest) -> dict[str, str]:
    said = say(finding, view_of(request)["language"])
    return {"code": said.code, "severity": said.severity, "says": said.says, "do": said.do}


def _minutes(minutes: tuple[Any, ...]) -> dict[str, list[float | None]]:
    """Return a course as columns: minutes, litres in and out, what the reservoir held, and the breaths."""
    columns: dict[str, list[float | None]] = {
        name: [getattr(each, name) for each in minutes]
        for name in ("at_min", *_MINUTE_L, "lowest_reservoir_l")
    }
    return columns | {name: [getattr(each.breath, name) for each in minutes] for name in _BREATH}

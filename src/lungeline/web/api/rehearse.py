"""Rehearsals for pages and programs: begin, do, turn the clock, a trainer's hand, and how it went."""

import secrets
from dataclasses import replace
from typing import Any, Literal

from django.http import HttpRequest
from ninja import Router, Schema
from pydantic import Field

from lungeline.errors import UnknownNameError
from lungeline.rehearse import deeds
from lungeline.rehearse.hands import BEHAVIOURS
from lungeline.rehearse.scenario import Scenario
from lungeline.simulate.faults import FAULTS
from lungeline.theatre.kept_rehearsals import known_scenario, known_scenarios
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.previews import preview_of
from lungeline.web.parts.seat import seat_of
from lungeline.web.parts.teaching import check_rehearses, check_teaches
from lungeline.web.parts.why_words import said_to
from lungeline.web.rehearsals import Role, RunningRehearsal, rehearsals
from lungeline.web.running import running

router = Router()


class Begin(Schema):
    """A rehearsal to begin.

    scenario: one is drawn where none is named, of a skill where that is. led: a trainer turns its clock.
    bench: a real machine breathes for a rubber lung, and what it does is typed in. seed: of the instruments'
    noise.
    """

    scenario: str | None = None
    skill: str = ""
    led: bool = False
    bench: bool = False
    seed: int | None = Field(default=None, ge=0, le=2**31)


class Deed(Schema):
    """Something a learner does, and what it takes."""

    deed: str
    given: dict[str, Any] = Field(default_factory=dict, alias="with")


class Reads(Schema):
    """What was read off the real machine. turned: the learner turned it, so that it counts as done."""

    typed: dict[str, Any]
    turned: bool = False


class Control(Schema):
    """How the clock goes on. value: times real time for speed, seconds for step and back."""

    do: Literal["pause", "go", "speed", "step", "back", "end"]
    value: float | None = Field(default=None, ge=0, le=36000)


class Hand(Schema):
    """Something a trainer does, and what it takes."""

    do: str
    given: dict[str, Any] = Field(default_factory=dict, alias="with")


class Setting(Schema):
    """Settings that a learner thinks of changing."""

    settings: dict[str, Any]


@router.get("/scenarios")
def listed(request: HttpRequest) -> dict[str, Any]:
    """List the scenarios, what can be done in any, and what a trainer can put in."""
    del request
    return {
        "scenarios": [scenario_told(it) for it in known_scenarios(running().folder)],
        "deeds": [
            {"code": it.code, "label": it.label, "sort": it.sort, "takes_s": it.takes_s, "source": it.source}
            for it in deeds().values()
        ],
        "faults": [{"code": it.code, "title": it.title, "law": it.severity_law} for it in FAULTS.values()],
        "behaviours": list(BEHAVIOURS),
    }


def scenario_told(it: Scenario) -> dict[str, Any]:
    """Return a scenario as one chooses it: nothing that gives it away."""
    return {
        "name": it.name, "number": it.number, "title": it.title, "objective": it.objective,
        "minutes": it.minutes, "skills": list(it.skills), "species": it.case.animal.species,
        "weight_kg": it.case.animal.weight_kg, "story": it.story.strip(),
        "replayed": [each.model_dump() for each in it.replayed],
    }  # fmt: skip


@router.post("/begin", response={201: dict[str, Any]})
def begin(request: HttpRequest, given: Begin) -> tuple[int, dict[str, Any]]:
    """Begin a rehearsal: the animal is settled and handed over."""
    check_rehearses(request)
    if given.led:
        check_teaches(request)
    scenario = (
        _drawn(given.skill) if given.scenario is None else known_scenario(running().folder, given.scenario)
    )
    made = rehearsals().begin(
        scenario, author=seat_of(request).author, led=given.led, bench=given.bench, seed=given.seed
    )
    return 201, _view(request, made, "learner")


def _drawn(skill: str) -> Scenario:
    """Return a scenario nobody chose."""
    fitting = [it for it in known_scenarios(running().folder) if not skill or skill in it.skills]
    if not fitting:
        known = sorted({each for it in known_scenarios(running().folder) for each in it.skills})
        raise UnknownNameError.nearest(where="skill", given=skill, valid=known)
    return secrets.choice(fitting)


@router.get("/going")
def going(request: HttpRequest) -> dict[str, Any]:
    """List the rehearsals that go on."""
    check_rehearses(request)
    return {"going": [going_told(it) for it in rehearsals().going()]}


def going_told(it: RunningRehearsal) -> dict[str, Any]:
    """Return a rehearsal as one joins it."""
    return {
        "id": it.begun.id, "species": it.scenario.case.animal.species, "led": it.begun.led,
        "weight_kg": it.scenario.case.animal.weight_kg,
        "began": it.begun.began.isoformat(timespec="seconds"),
    }  # fmt: skip


@router.get("/going/{rehearsal}")
def learner(request: HttpRequest, rehearsal: str) -> dict[str, Any]:
    """Return how it stands, as the learner sees it."""
    return _view(request, _found(request, rehearsal), "learner")


@router.get("/going/{rehearsal}/trainer")
def trainer(request: HttpRequest, rehearsal: str) -> dict[str, Any]:
    """Return how it stands, with what is hidden."""
    check_teaches(request)
    return _view(request, _found(request, rehearsal), "trainer")


@router.post("/going/{rehearsal}/deeds", response={201: dict[str, Any]})
def do(request: HttpRequest, rehearsal: str, given: Deed) -> tuple[int, dict[str, Any]]:
    """Do what a learner does; what it shows comes when it is done, in the log."""
    found = _found(request, rehearsal)
    act = found.do(lambda practice: practice.act(given.deed, given.given))
    return 201, {"at_s": act.at_s, "deed": act.deed, "takes_s": deeds()[act.deed].takes_s}


@router.post("/going/{rehearsal}/bench", response={201: dict[str, Any]})
def read_off(request: HttpRequest, rehearsal: str, given: Reads) -> tuple[int, dict[str, Any]]:
    """Take over what the real machine does; time goes on from the first of it."""
    found = _found(request, rehearsal)
    return 201, found.do(lambda practice: practice.type_in(given.typed, turned=given.turned)).as_json()


@router.post("/going/{rehearsal}/preview")
def preview(request: HttpRequest, rehearsal: str, given: Setting) -> dict[str, Any]:
    """Return what a change would do to an animal in which nothing is wrong. Nothing is set by asking."""
    found = _found(request, rehearsal)
    known = found.do(lambda practice: practice.known, looks=True)
    believed = replace(found.scenario.case, settings=known, assumed_settings=(), changes=(), faults=())
    return preview_of(believed, given.settings)


@router.post("/going/{rehearsal}/control")
def control(request: HttpRequest, rehearsal: str, given: Control) -> dict[str, Any]:
    """Turn the clock. Where a trainer leads, the trainer alone does."""
    found = _found(request, rehearsal)
    if found.begun.led:
        check_teaches(request)
    found.control(given.do, given.value)
    return {"id": rehearsal, "over": found.ended}


@router.post("/going/{rehearsal}/hands", response={201: dict[str, Any]})
def hand(request: HttpRequest, rehearsal: str, given: Hand) -> tuple[int, dict[str, Any]]:
    """Do what a trainer does: a fault, an instrument hidden, a word to the learner, a note, a mark."""
    check_teaches(request)
    found = _found(request, rehearsal)
    return 201, found.do(lambda practice: practice.hand(given.do, given.given)).as_json()


# -- who asks ----------------------------------------------------------------------------------------------


def _found(request: HttpRequest, rehearsal: str) -> RunningRehearsal:
    check_rehearses(request)
    return rehearsals().find(rehearsal)


def _view(request: HttpRequest, found: RunningRehearsal, role: Role) -> dict[str, Any]:
    told = found.view(role)
    view = view_of(request)
    said = [said_to(finding, view) for finding in told["threats"]]
    # a title may give away what is wrong
    title = {"title": found.scenario.title} if role == "trainer" else {}
    return {**title, "story": found.scenario.story.strip(), **told, "threats": said}

"""Rehearsals that were played: how each went, what would have been, and skills signed off."""

from dataclasses import asdict
from datetime import UTC, datetime
from typing import Any

from django.http import HttpRequest
from ninja import Router, Schema
from pydantic import Field

from lungeline.errors import LungelineError
from lungeline.rehearse.practice import Practice
from lungeline.rehearse.scenario import Step as ScriptStep
from lungeline.rehearse.timeline import timeline
from lungeline.rehearse.what_if import what_if, with_trainer
from lungeline.theatre.competence import Competence
from lungeline.theatre.kept_rehearsals import KeptRehearsal, KeptRehearsals
from lungeline.theatre.printed_debrief import GENERALLY_SIMPLIFIED
from lungeline.web.api.rehearse import scenario_told
from lungeline.web.entrance.attempts import pin_tried
from lungeline.web.making_scenarios import making
from lungeline.web.pages.about import case_shown
from lungeline.web.parts.seat import seat_of
from lungeline.web.parts.teaching import check_rehearses, check_teaches, kept_for
from lungeline.web.running import running

router = Router()


class Instead(Schema):
    """What would have been done instead, from a moment on."""

    from_s: float = Field(ge=0, le=36000)
    deeds: list[ScriptStep] = Field(max_length=100)


class SignedOff(Schema):
    """A skill signed off: which, whether it was shown, a note, and the teacher's PIN.

    assessor: the teacher, where nobody is signed in.
    """

    skill: str = Field(max_length=50)
    passed: bool
    note: str = Field(default="", max_length=2000)
    assessor: str = Field(default="", max_length=200)
    pin: str = Field(default="", max_length=50)


@router.get("/played")
def played(request: HttpRequest) -> dict[str, Any]:
    """List one's own rehearsals, the newest first."""
    check_rehearses(request)
    kept = KeptRehearsals(running().folder).of(seat_of(request).author)
    return {"played": [played_told(it) for it in kept]}


def played_told(it: KeptRehearsal) -> dict[str, Any]:
    """Return a rehearsal that was played, as its learner sees it in a list."""
    return {
        "id": it.id, "scenario": it.scenario, "began": it.began, "passed": it.passed,
        "minutes": it.played_s / 60.0, "bench": it.bench,
    }  # fmt: skip


@router.get("/played/{rehearsal}")
def debrief(request: HttpRequest, rehearsal: str) -> dict[str, Any]:
    """Return how it went: outcome, everything over time with what was hidden, what to take home."""
    practice = kept_for(request, rehearsal).replayed(rehearsal)
    scenario = practice.run.scenario
    return {
        "outcome": practice.outcome.as_json(),
        "timeline": timeline(practice.run, practice.readings(0.0)).as_json(),
        "hands": [each.as_json() for each in practice.hands],
        "scenario": scenario_told(scenario),
        "settings": {key: value for key, value in asdict(practice.known).items() if value is not None},
        "cause": scenario.cause,
        "teaching": [{"says": it.says, "source": it.source} for it in scenario.teaching],
        "simplified": [*scenario.simplified, *GENERALLY_SIMPLIFIED],
    }


@router.post("/played/{rehearsal}/what-if")
def instead(request: HttpRequest, rehearsal: str, given: Instead) -> dict[str, Any]:
    """Return how it would have gone: what was done up to a moment stands, then something else."""
    practice = kept_for(request, rehearsal).replayed(rehearsal)
    scenario = with_trainer(practice.run.scenario, _by_others(practice))
    found = what_if(scenario, practice.run.acts, given.deeds, from_s=given.from_s, seed=practice.seed)
    return found.as_json()


def _by_others(practice: Practice) -> list[Any]:
    """Return what was done to the animal by others than the learner: the trainer, and the machine as read."""
    return [*practice.hands, *practice.typed]


@router.delete("/played/{rehearsal}")
def forget(request: HttpRequest, rehearsal: str) -> dict[str, Any]:
    """Take one's own rehearsal away, for good."""
    kept_for(request, rehearsal).forget(rehearsal, seat_of(request).author)
    return {"id": rehearsal, "gone": True}


@router.post("/played/{rehearsal}/sign-off", response={201: dict[str, Any]})
def sign_off(request: HttpRequest, rehearsal: str, given: SignedOff) -> tuple[int, dict[str, Any]]:
    """Sign off what its learner has shown, as a teacher with a PIN."""
    check_teaches(request)
    kept = kept_for(request, rehearsal).read(rehearsal)
    caller = request.caller
    assessor = caller.person.name if caller.person else given.assessor or seat_of(request).author
    with pin_tried(assessor, request, given.pin):
        line = Competence(folder=running().folder).sign_off(
            person=kept.author, skill=given.skill, scenario=kept.scenario, passed=given.passed,
            assessor=assessor, pin=given.pin or None, at=datetime.now(UTC).astimezone(), note=given.note,
        )  # fmt: skip
    return 201, line.as_json()


@router.get("/from-case/{case}")
def from_case(request: HttpRequest, case: str) -> dict[str, Any]:
    """Return how far the scenario of a case is: none, working, refused, or made, with how far off it lies."""
    check_teaches(request)
    case_shown(request, case)
    made = making().of(case)
    if made is None:
        return {"state": "none"}
    if not made.done():
        return {"state": "working"}
    error = made.exception()
    if isinstance(error, LungelineError):
        return {"state": "refused", **error.as_json()}
    return {"state": "made", "scenario": scenario_told(made.result())}

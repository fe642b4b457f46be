"""The guided check for pages and programs: begun, answered a step at a time, left, gone on with."""

from typing import Any, Literal

from django.http import HttpRequest
from ninja import Router, Schema
from pydantic import Field

from lungeline.check import Given, Step, Walk, standard_checklist
from lungeline.errors import LungelineError
from lungeline.reference import sources
from lungeline.theatre.kept_checks import walks_since
from lungeline.theatre.open_checks import OpenCheck
from lungeline.web.api.check_said import said
from lungeline.web.api.entries import seen
from lungeline.web.parts.check_store import found_machine, kept_walk, limits_here, logs, open_checks
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.seat import desk_of

router = Router()


class Begun(Schema):
    """A guided check to begin, or to go on with. case: it is done for, empty for none."""

    machine: str = Field(min_length=1, max_length=80)
    form: Literal["full", "short", "after"] = "full"
    case: str = ""


class Answered(Schema):
    """The answer to a step. notices: what the machine said meanwhile, by the keys of the list."""

    step: str
    good: bool | None = None
    values: dict[str, float] = Field(default_factory=dict)
    word: str = ""
    skipped: bool = False
    note: str = Field(default="", max_length=500)
    notices: list[str] = Field(default_factory=list)


@router.get("")
def walks(request: HttpRequest, machine: str, case: str = "") -> dict[str, Any]:
    """Return what there is for a machine: the forms on offer, checks that are open, those of today."""
    checks, now = open_checks(request), desk_of(request).clock()
    today = now.isoformat(timespec="seconds")
    own = [each for each in checks.all() if (each.walk.machine, each.walk.case) == (machine, case)]
    of_today = [each for each in own if each.walk.began_at[:10] == today[:10]]
    return {
        "machine": machine,
        "registered": found_machine(request, machine) is not None,
        "offered": checks.offered(machine, today, _logged(request, machine)),
        "open": [_short(each) for each in of_today if not each.walk.finished],
        "today": [_short(each) for each in of_today if each.walk.finished],
    }


@router.post("", response={201: dict[str, Any]})
def begin(request: HttpRequest, given: Begun) -> tuple[int, dict[str, Any]]:
    """Begin a guided check, or go on with the one of today."""
    species = str(seen(request, given.case).state.opening.get("species", "")) if given.case else ""
    found = found_machine(request, given.machine)
    walk = Walk(
        checklist=standard_checklist(view_of(request)["language"]), form=given.form,
        machine=found.item.name if found else given.machine, species=species, case=given.case,
        began_at=desk_of(request).clock().isoformat(timespec="seconds"), limits=limits_here(),
    )  # fmt: skip
    return 201, _told(request, open_checks(request).begin(walk, _logged(request, walk.machine)))


@router.get("/{walk}")
def walk(request: HttpRequest, walk: str) -> dict[str, Any]:
    """Return a guided check as it stands."""
    return _told(request, open_checks(request).read(walk))


@router.post("/{walk}/answers", response={201: dict[str, Any]})
def answer(request: HttpRequest, walk: str, given: Answered) -> tuple[int, dict[str, Any]]:
    """Answer a step; numbers are judged. Written down before this returns."""
    desk = desk_of(request)
    told = Given(
        at=desk.clock().isoformat(timespec="seconds"), by=desk.author, good=given.good, values=given.values,
        word=given.word, skipped=given.skipped, note=given.note, notices=tuple(given.notices),
    )  # fmt: skip
    return 201, _told(request, open_checks(request).answer(walk, given.step, told))


# -- as an object ------------------------------------------------------------------------------------------


def _logged(request: HttpRequest, machine: str) -> tuple[Walk, ...]:
    """Return the checks of today in the log of a machine, wherever they were made."""
    found = found_machine(request, machine) if logs(request) else None
    if found is None:
        return ()
    midnight = desk_of(request).clock().replace(hour=0, minute=0, second=0, microsecond=0)
    return walks_since(found, midnight)


def _short(it: OpenCheck) -> dict[str, Any]:
    walk = it.walk
    return {
        "id": it.id, "form": walk.form, "began_at": walk.began_at, "finished": walk.finished,
        "done": len(walk.standing), "of": len(walk.steps), "verdict": walk.verdict,
    }  # fmt: skip


def _told(request: HttpRequest, it: OpenCheck) -> dict[str, Any]:
    walk, following = it.walk, it.walk.next_step
    return {
        **_short(it),
        "machine": walk.machine,
        "case": walk.case,
        "checklist": walk.checklist.stamp,
        "limits": walk.limits.as_json(),
        "steps": [_step(walk, step) for step in walk.steps],
        "notices": [
            {"key": each.key, "says": each.says, "else_means": each.else_means}
            for each in walk.checklist.notices
        ],
        "next": following.key if following else None,
        "said": said(request, walk.findings),
        **_kept(request, it),
    }


def _kept(request: HttpRequest, it: OpenCheck) -> dict[str, Any]:
    """Keep a finished check, which is done once; one that cannot be kept now is tried whenever it is seen."""
    if not it.walk.finished:
        return {"kept": None, "not_kept": ""}
    try:
        return {"kept": kept_walk(request, it), "not_kept": ""}
    except LungelineError as error:  # it is on disk: nothing is lost
        return {"kept": None, "not_kept": str(error)}


def _step(walk: Walk, step: Step) -> dict[str, Any]:
    given = walk.standing.get(step.key)
    return {
        "key": step.key, "title": step.title, "do": step.do, "passes": step.passes, "source": step.source,
        "sources": [it.citation for key, it in sources().items() if key in step.source],
        "kind": step.kind, "fails": step.fails, "fix": step.fix, "numbers": list(step.numbers),
        "least": step.least, "most": step.most,
        "outcomes": [{"key": each.key, "word": each.word, "sound": each.sound} for each in step.outcomes],
        "normal": [notice.key for notice in walk.checklist.normal_at(step.key)],
        "result": given.result if given else None,
        "values": dict(given.values) if given else {},
        "by": given.by if given else "",
        "at": given.at if given else "",
    }  # fmt: skip

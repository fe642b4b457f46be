"""The running case for its page: lanes, what is expected, what a change would do, what threatens."""

from typing import Any

from django.http import HttpRequest
from ninja import Router, Schema

from lungeline.case import Case
from lungeline.errors import MissingError
from lungeline.theatre import CaseNow, clinic_profile
from lungeline.theatre.due import due
from lungeline.theatre.expected import Expectations, beside
from lungeline.theatre.ledger import ledger
from lungeline.theatre.watching import case_now, threats_now, watched
from lungeline.web.api.entries import seen
from lungeline.web.live import feeds
from lungeline.web.parts.measures import view_of
from lungeline.web.parts.previews import preview_of
from lungeline.web.parts.seat import desk_of
from lungeline.web.parts.why_words import said_to
from lungeline.web.running import running

router = Router()


class Changed(Schema):
    """Settings that a person thinks of changing. assumed: where no plan was kept, take what is usual."""

    settings: dict[str, Any]
    assumed: bool = False


_expectations = Expectations()


@router.get("/{case}/watch")
def watch(request: HttpRequest, case: str) -> dict[str, Any]:
    """Return the running case: clock, lanes, what is due or must be set back, threats with the first act."""
    now, moment = seen(request, case), desk_of(request).clock()
    view = view_of(request)
    threats = [said_to(finding, view) for finding in threats_now(now.state, moment, feeds().latest(case))]
    shown = watched(now.state, moment, clinic_profile(running().folder))
    return {**shown, "threats": threats, "live": feeds().may_have(now)}


@router.get("/{case}/due")
def due_next(request: HttpRequest, case: str) -> dict[str, Any]:
    """Return what is due next, the soonest first: a row, a blood gas, a cylinder, the absorbent."""
    state, profile = seen(request, case).state, clinic_profile(running().folder)
    return {"due": [each.as_json() for each in due(state, desk_of(request).clock(), profile)]}


@router.get("/{case}/expected")
def expected_now(request: HttpRequest, case: str, *, assumed: bool = False) -> dict[str, Any]:
    """Return the bands in which an animal like this one should be.

    Nothing where no plan was kept and nobody agreed to what is usual, or where somebody asked anew meanwhile.
    """
    asked = beside(seen(request, case).state, desk_of(request).clock(), assume=assumed)
    found = None if asked is None else _expectations.get(asked)
    return {"expected": found and found.as_json(), "asked_anew": asked is not None and found is None}


@router.get("/{case}/ledger")
def spare_gas(request: HttpRequest, case: str, *, assumed: bool = False) -> dict[str, Any]:
    """Return what the reservoir must do: a breath, the next manoeuvre, what flows in and out each minute."""
    found = case_now(seen(request, case).state, assume=assumed)
    return {"ledger": found and ledger(found).as_json()}


@router.post("/{case}/preview")
def preview(request: HttpRequest, case: str, given: Changed) -> dict[str, Any]:
    """Return the breath after half an hour as it is set, and with a change. Nothing is set by asking."""
    return preview_of(planned(seen(request, case), assume=given.assumed), given.settings)


def planned(now: CaseNow, *, assume: bool = False) -> Case:
    """Return the case as it is set now, by its plan; refused where none was kept and none may be assumed."""
    found = case_now(now.state, assume=assume)
    if found is None:
        raise MissingError(
            where="plan", given="none in this case", allowed="a kept plan", do="Keep one under Prepare first."
        )
    return found

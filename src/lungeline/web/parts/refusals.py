"""Refusals, in the one form they have: as JSON for programs, in words on a page."""

import logging
from collections.abc import Callable, Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

from lungeline.errors import (
    ConflictError,
    LungelineError,
    RecordError,
    SimulationError,
    StoreError,
    UnknownNameError,
)
from lungeline.web.entrance.refused import NotLetInError, RightError, SignInError, WaitError
from lungeline.web.parts.forged import ForgedError, forged_request

_log = logging.getLogger(__name__)
_STATUS: tuple[tuple[type[LungelineError], int], ...] = (
    (SignInError, 401),
    (NotLetInError, 401),
    (WaitError, 429),
    (RightError, 403),
    (ForgedError, 403),
    (ConflictError, 409),
    (StoreError, 503),
    (RecordError, 409),
    (SimulationError, 422),
)
_NAMED = frozenset({"case", "page", "entry", "rehearsal", "scenario"})  # by addresses
_NOT_FOUND, _BAD, _WRONG = 404, 400, 500
_NOTHING_TOLD = {
    "code": "failed",
    "where": "the program",
    "given": "this request",
    "allowed": "an answer",
    "do": "Nothing was recorded by it. Try again; if it stays so, restart the program and tell its makers.",
}


def status_of(error: LungelineError) -> int:
    """Return the HTTP status of one of our errors."""
    if isinstance(error, UnknownNameError) and error.where in _NAMED:
        return _NOT_FOUND
    return next((status for kind, status in _STATUS if isinstance(error, kind)), _BAD)


def refused(request: HttpRequest, parts: Mapping[str, Any], status: int) -> HttpResponse:
    """Return a refusal as the asker can read it."""
    if request.path.startswith("/api/") or "application/json" in request.headers.get("Accept", ""):
        return JsonResponse({"error": dict(parts)}, status=status)
    return render(request, "refusal.html", {"refusal": parts}, status=status)


class Refusals:
    """Turns errors into refusals; of what went wrong inside nothing is told but that it did."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        """Keep the rest of the chain."""
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass the request on."""
        response = self._get_response(request)
        if response.status_code == _NOT_FOUND and not getattr(response, "told", False):
            parts = UnknownNameError(
                where="page",
                given=request.path,
                allowed="a page of this program",
                do="Begin at the first page.",
            ).as_json()["error"]
            if response.headers.get("Content-Type", "").startswith("text/html"):
                return _told(refused(request, parts, _NOT_FOUND))
        return response

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse:
        """Answer an error."""
        if isinstance(error, LungelineError):
            return _told(refused(request, error.as_json()["error"], status_of(error)))
        _log.exception("a request failed")
        return _told(refused(request, _NOTHING_TOLD, _WRONG))


def _told(response: HttpResponse) -> HttpResponse:
    response.told = True
    return response


refusals = Refusals


def forged(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001  as Django calls it
    """Answer a request that did not come from one of our own pages."""
    error = forged_request()
    return _told(refused(request, error.as_json()["error"], status_of(error)))

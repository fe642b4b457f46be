"""The interface programs use, and the pages too. Described by itself at /api/openapi.json."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from ninja import NinjaAPI
from ninja.errors import ValidationError

from lungeline.errors import LungelineError
from lungeline.web.api.check import router as check
from lungeline.web.api.entries import router as entries
from lungeline.web.api.plan import router as plan
from lungeline.web.api.record import router as record
from lungeline.web.api.rehearse import router as rehearse
from lungeline.web.api.rehearse_played import router as rehearse_played
from lungeline.web.api.watch import router as watch
from lungeline.web.api.why import router as why
from lungeline.web.parts.entrance import let_in
from lungeline.web.parts.refusals import refused, status_of

_MALFORMED, _MOST_ECHOED = 422, 200
_SECRETS = frozenset({"pin", "word"})

api = NinjaAPI(
    title="lungeline",
    version="1",
    description="Decision support, not a device: it controls nothing; the attending veterinarian decides.",
    docs_url=None,  # its page would load scripts from elsewhere
    urls_namespace="api",
    auth=let_in,
)
api.add_router("/check", check, tags=["check"])
api.add_router("/cases", watch, tags=["watch"])
api.add_router("/cases", why, tags=["watch"])
api.add_router("/cases", record, tags=["record"])
api.add_router("/cases", entries, tags=["cases"])
api.add_router("/plan", plan, tags=["plan"])
api.add_router("/rehearse", rehearse, tags=["rehearse"])
api.add_router("/rehearse", rehearse_played, tags=["rehearse"])


@api.exception_handler(LungelineError)
def _refuse(request: HttpRequest, error: LungelineError) -> HttpResponse:
    return refused(request, error.as_json()["error"], status_of(error))


@api.exception_handler(ValidationError)
def _malformed(request: HttpRequest, error: ValidationError) -> HttpResponse:
    first = error.errors[0] if error.errors else {}
    place = ".".join(str(part) for part in first.get("loc", ())[1:]) or "request"
    parts = {
        "code": "input",
        "where": place,
        "given": _echo(first),
        "allowed": str(first.get("msg", "see the description")),
        "do": "Correct it and send it again; /api/openapi.json tells what each request takes.",
    }
    return refused(request, parts, _MALFORMED)


def _echo(error: Mapping[str, Any]) -> str:
    """Return what was given, where it is a single value and no secret: a whole body may hold a PIN."""
    given = error.get("input", "something else")
    place = {str(part) for part in error.get("loc", ())}
    whole = isinstance(given, dict | list)
    return "something else" if whole or place & _SECRETS else str(given)[:_MOST_ECHOED]

"""What a page of a case shows at its head: whose animal it is, and the ways to the other pages."""

from typing import Any

from django.http import HttpRequest

from lungeline.errors import UnknownNameError
from lungeline.theatre import CaseNow
from lungeline.theatre.unsigned import unclaimed
from lungeline.web.parts.seat import note_followed, side_of
from lungeline.web.running import running

_PAGES = ("prepare", "check", "watch", "record")


def case_shown(request: HttpRequest, case: str) -> CaseNow:
    """Return a case of the side this browser shows, and remember that it was open here."""
    now = running().cases.read(case)
    side = "simulated" if now.mark else "real"
    if side != side_of(request):
        raise UnknownNameError(
            where="case",
            given=case,
            allowed="cases of the kind this browser shows: real ones, or simulated ones, never both",
            do="Choose the other kind under Settings first.",
        )
    note_followed(request, case)
    return now


def about(here: str, now: CaseNow | None = None) -> dict[str, Any]:
    """Return the head of a page: `here` is one of the parts of the work, or another word."""
    if now is None:
        parts = ("cases", "prepare", "check", "rehearse")
        return {"nav": _nav(here, {part: f"/{part}/" for part in parts})}
    case = now.state.case
    ways = {"cases": "/cases/"} | {page: f"/case/{case}/{page}/" for page in _PAGES}
    return {
        "nav": _nav(here, ways),
        "case_id": case,
        "last_seq": now.state.count,
        "animal": now.state.opening,
        "phase": now.state.phase,
        "phase_word": f"cases.phase_{now.state.phase or 'none'}",
        "emergency_href": f"/case/{case}/emergency/",
        "unclaimed": unclaimed(now),
    }


def _nav(here: str, ways: dict[str, str]) -> list[dict[str, Any]]:
    return [{"href": href, "word": f"frame.{page}", "here": page == here} for page, href in ways.items()]

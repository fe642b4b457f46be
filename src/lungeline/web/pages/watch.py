"""The running case."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.reference.formulary import drugs
from lungeline.theatre.due import ABSORBENT_CHANGED, CYLINDER_CHANGED
from lungeline.web.api.record import kinds
from lungeline.web.api.watch import watch as told
from lungeline.web.pages.about import about, case_shown

EVENTS = (
    "intubated", "connected to the circle", "surgery begins", "surgery ends", "turned", "abdomen opened",
    "bowel decompressed", "moved", "extubated", "cuff checked", "suction", "alarm acted on",
    CYLINDER_CHANGED, ABSORBENT_CHANGED,
)  # fmt: skip


def watch(request: HttpRequest, case: str) -> HttpResponse:
    """Show the running case as it is now; forms and names of drugs come with it, and need no connection."""
    now = case_shown(request, case)
    context = about("watch", now) | {
        "events": [(each, f"watch.event_{each.replace(' ', '_')}") for each in EVENTS],
        "kinds": kinds(request)["kinds"],
        "drugs": _drugs(),
        "told": told(request, case),
    }
    return render(request, "watch.html", context)


def _drugs() -> list[dict[str, Any]]:
    """Return every drug of the formulary with what else it is called."""
    found = []
    for drug in drugs().values():
        also = [drug.german, *drug.synonyms]
        readable = [name.replace("_", " ") for name in (drug.name,) if "_" in name]
        found.append({"name": drug.name, "also": [*also, *readable]})
    return found

"""The running case."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.web.pages.about import about, case_shown

EVENTS = (
    "intubated", "connected to the circle", "surgery begins", "surgery ends", "turned", "abdomen opened",
    "bowel decompressed", "moved", "extubated", "cuff checked", "suction", "alarm acted on",
)  # fmt: skip


def watch(request: HttpRequest, case: str) -> HttpResponse:
    """Show the running case; the page asks for the rest itself."""
    now = case_shown(request, case)
    context = about("watch", now) | {
        "events": [(each, f"watch.event_{each.replace(' ', '_')}") for each in EVENTS]
    }
    return render(request, "watch.html", context)

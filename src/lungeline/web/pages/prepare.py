"""Prepare: what the animal needs is asked, the plan shown, moved by hand, printed and kept."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.export.pdf import PAGES
from lungeline.theatre import CaseNow, case_to_plan, clinic_profile
from lungeline.web.pages.about import about, case_shown
from lungeline.web.pages.prepare_form import asked
from lungeline.web.pages.prepare_sections import sections
from lungeline.web.parts.plannings import plannings
from lungeline.web.running import running

# What a kept plan tells that the form may not ask: it stays as it is when the case is planned again.
_KNOWN = ("equipment", "place", "procedure", "supply")


def prepare(request: HttpRequest) -> HttpResponse:
    """Plan without a case: the animal is still on the lorry."""
    return _page(request, None)


def prepare_case(request: HttpRequest, case: str) -> HttpResponse:
    """Plan for a case, with what its record already tells."""
    return _page(request, case_shown(request, case))


def plan_sections(request: HttpRequest, key: str) -> HttpResponse:
    """Return everything of an open plan that is read, as a part of the page."""
    return render(request, "prepare_plan.html", sections(request, plannings.find(key)))


def _page(request: HttpRequest, now: CaseNow | None) -> HttpResponse:
    tables = case_to_plan(now.state) if now else {}
    profile = clinic_profile(running().folder)
    start: dict[str, Any] = {
        "title": tables.get("title", ""),
        "case": now.state.case if now else None,
        "known": {name: tables[name] for name in _KNOWN if name in tables},
        "cylinders": tables.get("cylinders", []),
        "sheets": ["all", *PAGES],
        "animal_known": bool(tables.get("animal", {}).get("weight_kg")),
    }
    context = about("prepare", now) | {
        "form": asked(tables),
        "start": start,
        "profile": profile,
        "kept": _kept(now),
    }
    return render(request, "prepare.html", context)


def _kept(now: CaseNow | None) -> str:
    """Return when the case's last plan was kept."""
    plans = [item for item in now.state.items if item.kind == "plan" and not item.struck] if now else []
    return f"{plans[-1].event_time:%H:%M}" if plans else ""

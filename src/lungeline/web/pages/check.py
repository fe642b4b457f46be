"""The check of the breathing system: leak tests, the guided check, a test lung, equipment and its log."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from lungeline.theatre import SIMULATED
from lungeline.theatre.printed_log import print_log
from lungeline.web.pages.about import about, case_shown
from lungeline.web.parts.check_store import equipment_of, logs
from lungeline.web.running import running

_PARTS = ("walk", "leak", "lung", "machines")


def check(request: HttpRequest, case: str = "") -> HttpResponse:
    """Show the checks, of a case or of none."""
    head = about("check", case_shown(request, case)) if case else about("check")
    context = head | {"parts": _PARTS, "logs": logs(request)}
    return render(request, "check.html", context)


def printed(request: HttpRequest, machine: str) -> HttpResponse:
    """Send the log of a machine as PDF."""
    equipment = equipment_of(request)
    now = equipment.machine(machine)
    mark = SIMULATED if running().demo_only else ""
    answer = HttpResponse(print_log(equipment, now.id, mark=mark), content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{now.id}-log.pdf"'
    return answer

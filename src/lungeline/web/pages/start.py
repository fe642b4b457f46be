"""The first page: the running case, where there is one alone; the list of cases otherwise."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

from lungeline.web.parts.seat import side_of
from lungeline.web.running import running


def start(request: HttpRequest) -> HttpResponse:
    """Go to where the work is."""
    simulated = side_of(request) == "simulated"
    shown = [it for it in running().cases.listed() if it.simulated == simulated]
    open_now = [it.case for it in shown if it.phase != "closed"]
    return HttpResponseRedirect(f"/case/{open_now[0]}/watch/" if len(open_now) == 1 else "/cases/")

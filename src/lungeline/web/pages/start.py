"""The first page: the running case, where there is one alone; the list of cases otherwise."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect

from lungeline.web.parts.seat import side_of
from lungeline.web.running import running


def start(request: HttpRequest) -> HttpResponse:
    """Go to where the work is."""
    simulated = side_of(request) == "simulated"
    open_now = [now.state.case for now in running().cases.running() if bool(now.mark) == simulated]
    return HttpResponseRedirect(f"/case/{open_now[0]}/watch/" if len(open_now) == 1 else "/cases/")

"""The door: signing in and out, and pairing a device."""

from typing import Any

from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.utils.http import url_has_allowed_host_and_scheme

from lungeline.errors import LungelineError
from lungeline.theatre.unsigned import claim
from lungeline.web.entrance.access import note_access
from lungeline.web.entrance.gate import address_of
from lungeline.web.entrance.pairing import TOKEN_COOKIE, pair
from lungeline.web.entrance.signing_in import sign_in, takes_pin
from lungeline.web.pages.about import about, case_shown
from lungeline.web.parts.refusals import status_of
from lungeline.web.parts.seat import desk_of
from lungeline.web.running import running

_YEAR_S = 365 * 24 * 3600


def enter(request: HttpRequest) -> HttpResponse:
    """Sign somebody in, by word, or by PIN where one serves."""
    onward = request.POST.get("next") or request.GET.get("next", "")
    refusal, status = None, 200
    if request.method == "POST":
        typed = {key: request.POST.get(key, "") for key in ("name", "word", "pin")}
        try:
            sign_in(request, typed["name"], word=typed["word"], pin=typed["pin"])
        except LungelineError as error:
            refusal, status = error.as_json()["error"], status_of(error)
        else:
            return HttpResponseRedirect(_safe(request, onward))
    context = about("enter") | {
        "refusal": refusal,
        "next": onward,
        "device": request.caller.device,
        "takes_pin": takes_pin(request),
        "emergency": request.caller.level == "device",
        "name": request.POST.get("name", ""),
    }
    return render(request, "enter.html", context, status=status)


def leave(request: HttpRequest) -> HttpResponse:
    """Sign out; what waits on the device stays there."""
    if request.method == "POST":
        note_access(request, "sign out", "done", person=request.caller.author)
        logout(request)
    return HttpResponseRedirect("/enter/")


def pairing(request: HttpRequest) -> HttpResponse:
    """Pair this device by the code that an administrator made."""
    refusal: dict[str, Any] | None = None
    status = 200
    if request.method == "POST":
        try:
            device, token = pair(request.POST.get("code", ""), address_of(request))
        except LungelineError as error:
            refusal, status = error.as_json()["error"], status_of(error)
        else:
            note_access(request, "pair", "done", device=device.name)
            answer = HttpResponseRedirect("/enter/")
            answer.set_cookie(
                TOKEN_COOKIE,
                token,
                max_age=_YEAR_S,
                httponly=True,
                samesite="Strict",
                secure=request.is_secure(),
            )
            return answer
    return render(request, "pair.html", about("enter") | {"refusal": refusal}, status=status)


def certificate(request: HttpRequest) -> HttpResponse:  # noqa: ARG001  as Django calls it
    """Give the certificate that other devices must trust; it is no secret."""
    path = running().folder / "tls" / "authority.pem"
    content = path.read_bytes() if path.exists() else b""
    return HttpResponse(content, content_type="application/x-pem-file", status=200 if content else 404)


def claimed(request: HttpRequest, case: str) -> HttpResponse:
    """Let a person say that they made what nobody had signed for."""
    case_shown(request, case)
    if request.method == "POST":
        claim(desk_of(request), case)
    return HttpResponseRedirect(f"/case/{case}/watch/")


def _safe(request: HttpRequest, onward: str) -> str:
    """Return where to go on: a page of ours, whatever the address said."""
    return onward if onward and url_has_allowed_host_and_scheme(onward, {request.get_host()}) else "/"

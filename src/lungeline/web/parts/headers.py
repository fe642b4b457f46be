"""Headers that keep a page to itself: nothing is loaded from elsewhere, and nobody else frames it."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from lungeline.web.parts.seat import DEVICE_COOKIE

# styles are set by scripts on canvases and lanes, hence inline styles; scripts come from files alone
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; "
    "font-src 'self'; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'; "
    "manifest-src 'self'; media-src 'self' data:"
)

_YEARS_S = 10 * 365 * 24 * 3600


def headers(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[[HttpRequest], HttpResponse]:
    """Add the headers to every answer."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.setdefault("Content-Security-Policy", _POLICY)
        response.setdefault("Permissions-Policy", "camera=(), microphone=(), geolocation=()")
        response.setdefault("Cache-Control", "no-store")  # an animal's record stays on no shared device
        made = getattr(request, "new_device", None)
        if made:
            # a device keeps its name for years: its entries are counted under it
            response.set_cookie(
                DEVICE_COOKIE,
                made,
                max_age=_YEARS_S,
                httponly=True,
                samesite="Strict",
                secure=request.is_secure(),
            )
        return response

    return answer

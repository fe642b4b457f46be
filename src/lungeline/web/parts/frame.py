"""What stands on every page: where one is, whose animal it is, and whether anything is real."""

from typing import Any

from django.http import HttpRequest
from django.middleware.csrf import get_token

from lungeline.theatre import SIMULATED
from lungeline.web.parts.measures import conversions, labels, view_of
from lungeline.web.parts.seat import seat_of
from lungeline.words import page_words


def frame(request: HttpRequest) -> dict[str, Any]:
    """Return what the base of every page shows."""
    seat, view = seat_of(request), view_of(request)
    get_token(request)  # every page can send entries, so every page has the token for it
    return {
        "view": view,
        "seat": seat,
        "mark": SIMULATED if seat.side == "simulated" else "",
        "given": {
            "view": view,
            "units": labels(),
            "conversions": conversions(),
            "words": dict(page_words(view["language"])),
            "author": seat.author,
            "device": seat.device,
        },
    }

"""What the interface for programs asks of every request besides the gate: that a page of ours sent it."""

from django.http import HttpRequest
from ninja.utils import check_csrf

from lungeline.web.parts.forged import forged_request


def let_in(request: HttpRequest) -> bool:
    """Let a request in, or raise."""
    if check_csrf(request) is not None:
        raise forged_request()
    return True

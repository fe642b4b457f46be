"""Who is let in. On the computer itself nobody signs in; from other devices people must."""

from collections.abc import Mapping

from django.http import HttpRequest
from ninja.utils import check_csrf

from lungeline.errors import LungelineError
from lungeline.web.parts.forged import forged_request
from lungeline.web.running import running


def let_in(request: HttpRequest) -> bool:
    """Let a request in, or raise: it must come from a page of ours."""
    if check_csrf(request) is not None:
        raise forged_request()
    return True


def may_follow(cookies: Mapping[str, str], case: str) -> bool:  # noqa: ARG001  the session decides once others are let in
    """Whether whoever holds these cookies may follow a case."""
    try:
        running().cases.find(case)
    except LungelineError:
        return False
    return not running().open_to_network

"""The refusal of a request that none of our own pages sent."""

from lungeline.errors import LungelineError


class ForgedError(LungelineError):
    """A request that none of our own pages sent."""

    code = "forged"


def forged_request() -> ForgedError:
    """Return the refusal."""
    return ForgedError(
        where="request",
        given="no fitting token of a page",
        allowed="requests of an open page",
        do="Load the page anew; what waits on this device is sent then.",
    )

"""Why somebody is not let in."""

from lungeline.errors import LungelineError


class SignInError(LungelineError):
    """Nobody has signed in."""

    code = "sign_in"


class RightError(LungelineError):
    """Somebody has signed in who may not do this."""

    code = "right"


class WaitError(LungelineError):
    """Too many wrong guesses of late."""

    code = "wait"


class NotLetInError(LungelineError):
    """What was typed does not let anybody in."""

    code = "not_let_in"

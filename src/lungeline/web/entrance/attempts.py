"""How often somebody may guess: after a few failures, names and addresses wait."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta

from django.http import HttpRequest
from django.utils import timezone

from lungeline.errors import RecordError
from lungeline.web.entrance.refused import NotLetInError, WaitError
from lungeline.web.models import Failure

# guesses before waiting, and for how long; assumption (NIST SP 800-63B: 100 at most; from memory)
_OF_A_NAME, _OF_AN_ADDRESS = 5, 30
_WAIT = timedelta(minutes=10)


def check_may_try(name: str, address: str) -> None:
    """Refuse a further guess while there were too many of late, for names nobody has just as for others."""
    since = timezone.now() - _WAIT
    for subject, most in (
        (f"name:{name.casefold()[:150]}", _OF_A_NAME),
        (f"address:{address}", _OF_AN_ADDRESS),
    ):
        if Failure.objects.filter(subject=subject, at__gt=since).count() >= most:
            raise WaitError(
                where="signing in",
                given=f"{most} wrong attempts",
                allowed=f"another in {int(_WAIT.total_seconds() // 60)} minutes",
                do="Wait, or use the computer that serves the pages, or a paired device for an emergency.",
            )


def note_failure(name: str, address: str) -> NotLetInError:
    """Count a wrong guess and return the refusal, which does not say what was wrong."""
    now = timezone.now()
    Failure.objects.filter(at__lt=now - _WAIT).delete()
    for subject in (f"name:{name.casefold()[:150]}", f"address:{address}"):
        Failure.objects.create(subject=subject)
    return NotLetInError(
        where="signing in",
        given="a name and a word or PIN",
        allowed="those that belong together",
        do="Type them again.",
    )


def forget_failures(name: str) -> None:
    """Begin anew for a name that was let in."""
    Failure.objects.filter(subject=f"name:{name.casefold()[:150]}").delete()


@contextmanager
def pin_tried(name: str, request: HttpRequest, pin: str) -> Iterator[None]:
    """Let a PIN be tried in the block: refused after too many wrong ones, and a wrong one is counted."""
    address = str(request.META.get("REMOTE_ADDR", ""))
    check_may_try(name, address)
    try:
        yield
    except RecordError as error:
        if error.where == "pin" and pin:
            note_failure(name, address)
        raise
    forget_failures(name)

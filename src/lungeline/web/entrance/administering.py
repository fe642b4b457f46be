"""Who may change people, devices and where copies go: those who administer, signed in as such."""

from django.http import HttpRequest

from lungeline.errors import LungelineError
from lungeline.theatre.people import FILE, read_people
from lungeline.theatre.people_file import administrators
from lungeline.web.entrance.refused import RightError, SignInError
from lungeline.web.entrance.signing_in import has_word
from lungeline.web.running import running


def check_administers(request: HttpRequest) -> None:
    """Refuse who does not administer."""
    refusal = refusal_to_administer(request)
    if refusal is not None:
        raise refusal


def refusal_to_administer(request: HttpRequest) -> LungelineError | None:
    """Return why somebody may not administer, None where they may.

    On the computer that serves anybody may, for as long as no administrator could sign in there.
    """
    caller = request.caller
    if caller.person is None:
        if caller.level == "computer" and not _somebody_could():
            return None
        return SignInError(
            where="people and devices",
            given="nobody who has signed in",
            allowed="somebody who administers",
            do="Sign in, with a password or PIN.",
        )
    if "administer" in caller.person.rights:
        return None
    return RightError(
        where="people and devices",
        given=f"{caller.person.name}, {caller.person.role}",
        allowed="people with the right to administer",
        do="Ask one of them.",
    )


def _somebody_could() -> bool:
    people = administrators(read_people(running().folder / FILE))
    return any(one.pin is not None or has_word(one.name) for one in people)

"""Who may lead a rehearsal, look at another's, and sign a skill off."""

from django.http import HttpRequest

from lungeline.errors import RecordError
from lungeline.theatre.kept_rehearsals import KeptRehearsals
from lungeline.theatre.people import FILE, person_named, read_people
from lungeline.web.entrance.refused import RightError
from lungeline.web.parts.seat import seat_of, side_of
from lungeline.web.running import running


def may_teach(request: HttpRequest) -> bool:
    """Whether whoever asks may lead: anybody on this computer, elsewhere who has the right to teach."""
    caller = request.caller
    return caller.level == "computer" or (caller.person is not None and "teach" in caller.person.rights)


def check_teaches(request: HttpRequest) -> None:
    """Refuse who may not lead."""
    if not may_teach(request):
        raise RightError(
            where="rehearsal", given="no right to teach", allowed="people who teach", do="Ask one of them."
        )


def is_teacher(request: HttpRequest) -> bool:
    """Whether whoever asks is somebody who teaches, by name: sitting at this computer is not enough."""
    caller = request.caller
    person = caller.person or person_named(seat_of(request).author, read_people(running().folder / FILE))
    return "teach" in person.rights


def check_rehearses(request: HttpRequest) -> None:
    """Refuse a browser that shows real cases."""
    if side_of(request) == "real":
        raise RecordError(
            where="rehearsal", given="a browser with real cases", allowed="one with simulated ones",
            do="Say on the page Rehearse that this device rehearses now.",
        )  # fmt: skip


def kept_for(request: HttpRequest, rehearsal: str) -> KeptRehearsals:
    """Return the rehearsals, where the one asked for is one's own, or one teaches."""
    check_rehearses(request)
    kept = KeptRehearsals(running().folder)
    if kept.read(rehearsal).author != seat_of(request).author and not may_teach(request):
        raise RightError(
            where="rehearsal", given="another's", allowed="one's own",
            do="Results belong to the learner: ask them.",
        )  # fmt: skip
    return kept

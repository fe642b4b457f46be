"""Who was there when, and as what: over the whole of a case."""

from dataclasses import dataclass, replace
from datetime import datetime

from lungeline.record import CaseState
from lungeline.theatre.people import same_person


@dataclass(frozen=True, slots=True, kw_only=True)
class Attendance:
    """One stretch of time that a person was there in a function.

    came: None where only the leaving was told; left: None while they are there.
    """

    person: str
    function: str
    came: datetime | None
    left: datetime | None = None


def team(state: CaseState) -> tuple[Attendance, ...]:
    """Return who was there, each stretch of time, in the order in which they came."""
    found: list[Attendance] = []
    for item in state.items:
        if item.kind != "team" or item.struck:
            continue
        person, function = str(item.body["person"]), str(item.body["function"])
        there = next((place for place, it in enumerate(found) if _is_open(it, person, function)), None)
        if item.body.get("presence") == "left":
            if there is None:
                found.append(Attendance(person=person, function=function, came=None, left=item.event_time))
            else:
                found[there] = replace(found[there], left=item.event_time)
        elif there is None:  # who is there already cannot come
            found.append(Attendance(person=person, function=function, came=item.event_time))
    return tuple(found)


def _is_open(it: Attendance, person: str, function: str) -> bool:
    return it.left is None and same_person(it.person, person) and same_person(it.function, function)

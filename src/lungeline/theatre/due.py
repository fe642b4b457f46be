"""What is due next in a running case: a row of readings, a blood gas, the next cylinder, fresh absorbent."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from lungeline.case import Case, Profile
from lungeline.errors import LungelineError
from lungeline.plan.gas.absorbent_supply import absorbent_supply
from lungeline.plan.gas.supplies import supplies
from lungeline.record import CaseState, Item
from lungeline.theatre.case_beside import case_now, set_since
from lungeline.theatre.case_clock import UNDER, case_clock, minutes_between
from lungeline.units import convert

# how often; common practice, no source
_ROW_EVERY, _GAS_AFTER, _GAS_EVERY = timedelta(minutes=5), timedelta(minutes=20), timedelta(hours=1)
_MOST_KNOWN = 256  # every setting of some long cases
_known_min: dict[str, float | None] = {}
CYLINDER_CHANGED, ABSORBENT_CHANGED = "cylinder changed", "absorbent changed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """Something to be done next: a row of readings, a blood gas, a cylinder, the absorbent."""

    what: str
    at: datetime

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {"what": self.what, "at": self.at.isoformat(timespec="seconds")}


def due(state: CaseState, now: datetime, profile: Profile | None = None) -> tuple[Due, ...]:
    """Return what is due next, the soonest first; nothing where no anaesthetic goes on."""
    clock = case_clock(state, now)
    if clock.phase not in UNDER or clock.induced is None:
        return ()
    rows = _last(state, "reading")
    gases = _last(state, "gases")
    found = (
        Due(what="row", at=(rows.event_time if rows else clock.induced) + _ROW_EVERY),
        Due(what="gases", at=gases.event_time + _GAS_EVERY if gases else clock.induced + _GAS_AFTER),
        *_supplies(state, clock.induced, profile or Profile()),
    )
    return tuple(sorted(found, key=lambda each: each.at))


def _supplies(state: CaseState, induced: datetime, profile: Profile) -> Iterator[Due]:
    """Yield when cylinder and absorbent of the plan come to their end, if all stays as it is set now.

    By the lower end of what they may hold; from when something was first set, or from the last change.
    """
    case = case_now(state)
    settings = _first(state, "setting")
    connected = settings.event_time if settings else induced
    if case is None:
        return
    changed = _last_event(state, CYLINDER_CHANGED)
    spent = _cylinder_spent(set_since(state, changed or connected), profile)
    if spent is not None:
        yield Due(what="cylinder", at=spent)
    changed = _last_event(state, ABSORBENT_CHANGED)
    if changed:
        case = replace(case, equipment=replace(case.equipment, absorbent_used_fraction=0.0))
    minutes = _absorbent_min(case)
    if minutes is not None:
        yield Due(what="absorbent", at=(changed or connected) + timedelta(minutes=minutes))


def _cylinder_spent(stretches: Sequence[tuple[datetime, Case]], profile: Profile) -> datetime | None:
    """Return when a cylinder is spent: each stretch has taken its share, as it was set then.

    None where it never is: no oxygen flows now, none comes from cylinders, or their size is not known.
    """
    left = 1.0
    ends = [*(begin for begin, _ in stretches[1:]), None]
    for (begin, case), end in zip(stretches, ends, strict=True):
        whole = _oxygen_min(case, profile)
        if whole is None:  # nothing was taken meanwhile
            continue
        if end is None or minutes_between(begin, end) >= left * whole:
            return begin + timedelta(minutes=left * whole)
        left -= minutes_between(begin, end) / whole
    return None


def _oxygen_min(case: Case, profile: Profile) -> float | None:
    if case.supply.oxygen != "cylinders":
        return None
    asked = repr((case, profile))
    if asked not in _known_min:  # asked again at every look, answered by half an hour of the model
        _known_min[asked] = _reckoned_oxygen_min(case, profile)
        while len(_known_min) > _MOST_KNOWN:
            _known_min.pop(next(iter(_known_min)), None)
    return _known_min.get(asked)


def _reckoned_oxygen_min(case: Case, profile: Profile) -> float | None:
    try:
        return supplies(case, profile).oxygen_minutes.low
    except LungelineError:  # a cylinder of no known size: the plan has said so
        return None


def _absorbent_min(case: Case) -> float | None:
    hours = absorbent_supply(case).absorbent_hours
    shortest = hours.value if hours.low is None else hours.low
    return None if shortest is None else convert(shortest, "h", "min")


def _first(state: CaseState, kind: str) -> Item | None:
    return next((item for item in state.items if item.kind == kind and not item.struck), None)


def _last(state: CaseState, kind: str) -> Item | None:
    kept = [item for item in state.items if item.kind == kind and not item.struck]
    return kept[-1] if kept else None


def _last_event(state: CaseState, what: str) -> datetime | None:
    kept = [item for item in state.items if item.kind == "event" and not item.struck]
    return next((item.event_time for item in reversed(kept) if item.body["what"] == what), None)

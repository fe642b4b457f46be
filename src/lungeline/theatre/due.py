"""What is due next in a running case, and what was changed for a moment and is still set."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

from lungeline.record import CaseState, Item
from lungeline.theatre.case_clock import case_clock

# how often; common practice, no source
_ROW_EVERY, _GAS_AFTER, _GAS_EVERY = timedelta(minutes=5), timedelta(minutes=20), timedelta(hours=1)
_UNDER = frozenset({"induce", "maintain", "wean"})
# raised for a moment: by how much of what it was before, and how lately, to be taken for that; assumption
_RAISED = {
    "tidal_volume_l": 1.25,
    "pressure_limit_cmh2o": 1.15,
    "peep_cmh2o": 1.5,
    "inspiratory_pressure_cmh2o": 1.25,
}
_LATELY = timedelta(minutes=30)


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """Something to be done next: a row of readings, a blood gas."""

    what: str
    at: datetime

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        return {"what": self.what, "at": self.at.isoformat(timespec="seconds")}


@dataclass(frozen=True, slots=True, kw_only=True)
class BackTo:
    """A setting that was raised, and what it was before."""

    key: str
    now: float
    back_to: float
    since: datetime

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        since = self.since.isoformat(timespec="seconds")
        return {"key": self.key, "now": self.now, "back_to": self.back_to, "since": since}


def due(state: CaseState, now: datetime) -> tuple[Due, ...]:
    """Return what is due next, the soonest first; nothing where no anaesthetic goes on."""
    clock = case_clock(state, now)
    if clock.phase not in _UNDER or clock.induced is None:
        return ()
    rows = _last(state, "reading")
    gases = _last(state, "gases")
    found = (
        Due(what="row", at=(rows.event_time if rows else clock.induced) + _ROW_EVERY),
        Due(what="gases", at=gases.event_time + _GAS_EVERY if gases else clock.induced + _GAS_AFTER),
    )
    return tuple(sorted(found, key=lambda each: each.at))


def to_set_back(state: CaseState, now: datetime) -> tuple[BackTo, ...]:
    """Return settings raised lately and not yet set back: a deep breath, a limit, a CPAP that was carried."""
    return tuple(found for key in _RAISED if (found := _raised(state, key, now)) is not None)


def _raised(state: CaseState, key: str, now: datetime) -> BackTo | None:
    told = list(_told(state, key))
    for (_, before), (at, after) in reversed(list(pairwise(told))):
        if after > before * _RAISED[key] and now - at <= _LATELY and told[-1][1] > before * _RAISED[key]:
            return BackTo(key=key, now=told[-1][1], back_to=before, since=at)
    return None


def _told(state: CaseState, key: str) -> Iterator[tuple[datetime, float]]:
    for item in state.items:
        value = item.body.get(key)
        if item.kind == "setting" and not item.struck and isinstance(value, int | float):
            yield item.event_time, float(value)


def _last(state: CaseState, kind: str) -> Item | None:
    kept = [item for item in state.items if item.kind == kind and not item.struck]
    return kept[-1] if kept else None

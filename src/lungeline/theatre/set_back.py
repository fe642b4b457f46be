"""What was changed for a moment and is still so: asked for until it is set back, or said to stay."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise
from typing import Any, Literal

from lungeline.record import CaseState, Item
from lungeline.theatre.case_clock import UNDER, case_clock

Because = Literal["raised", "deep breath", "recruitment", "carried"]
# raised for a moment: by how much of what it was before, to be taken for that; assumption
_RAISED = {
    "tidal_volume_l": 1.25,
    "pressure_limit_cmh2o": 1.15,
    "peep_cmh2o": 1.5,
    "inspiratory_pressure_cmh2o": 1.25,
}
# what hands turn for a manoeuvre, and must turn back
_TURNED: dict[Because, tuple[str, ...]] = {
    "deep breath": ("tidal_volume_l",),
    "recruitment": ("pressure_limit_cmh2o", "peep_cmh2o"),
}
OFF_CIRCLE, ON_CIRCLE = "off the circle", "on the circle again"


@dataclass(frozen=True, slots=True, kw_only=True)
class BackTo:
    """A setting that was changed for a moment. now: what it is told to be; back_to: what it was before."""

    key: str
    now: float | None
    back_to: float
    since: datetime
    because: Because

    def as_json(self) -> dict[str, Any]:
        """Return it as a plain object."""
        since = self.since.isoformat(timespec="seconds")
        told = {"key": self.key, "now": self.now, "back_to": self.back_to}
        return {**told, "since": since, "because": self.because}


def to_set_back(state: CaseState, now: datetime) -> tuple[BackTo, ...]:
    """Return what must be set back: a raised setting, what a manoeuvre turned, a CPAP carried into PEEP.

    It goes once the setting is entered as it was. Entered again as it is now, it is meant to stay.
    """
    if case_clock(state, now).phase not in UNDER:
        return ()
    found: dict[str, BackTo] = {}
    for because, keys in _TURNED.items():
        found |= {it.key: it for key in keys if (it := _turned(state, because, key)) is not None}
    found |= {it.key: it for key in _RAISED if (it := _raised(state, key)) is not None}
    carried = _carried(state)
    return tuple((found | ({carried.key: carried} if carried else {})).values())


def off_circle_since(state: CaseState) -> datetime | None:
    """Return since when the animal is off the circle; None while it is on it."""
    spans = off_circle(state)
    return spans[-1][0] if spans and spans[-1][1] is None else None


def off_circle(state: CaseState) -> list[tuple[datetime, datetime | None]]:
    """Return when the animal was off the circle, from when until when; None where it still is."""
    spans: list[tuple[datetime, datetime | None]] = []
    for item in _kept(state, "event"):
        is_off = bool(spans) and spans[-1][1] is None
        if item.body["what"] == OFF_CIRCLE and not is_off:
            spans.append((item.event_time, None))
        elif item.body["what"] == ON_CIRCLE and is_off:
            spans[-1] = (spans[-1][0], item.event_time)
    return spans


def _raised(state: CaseState, key: str) -> BackTo | None:
    """Follow a setting: far above what it was, it is raised; back near it, or said twice, it is not."""
    usual, since, last = None, None, None
    for at, value in _told(state, key):
        if not usual or value == last or value <= usual * _RAISED[key]:
            usual, since = value, None
        elif since is None:
            since = at
        last = value
    if usual is None or since is None:
        return None
    return BackTo(key=key, now=last, back_to=usual, since=since, because="raised")


def _turned(state: CaseState, because: Because, key: str) -> BackTo | None:
    """Return what a manoeuvre's hands may have left turned: until the setting is told again."""
    done = [item for item in _kept(state, "event") if item.body["what"] == because]
    told = list(_told(state, key))
    before = [value for at, value in told if done and at <= done[-1].event_time]
    if not before or any(at > done[-1].event_time for at, _ in told):
        return None
    return BackTo(key=key, now=None, back_to=before[-1], since=done[-1].event_time, because=because)


def _carried(state: CaseState) -> BackTo | None:
    """Return a CPAP that went on as PEEP when the machine took over, and what PEEP was before it."""
    modes = [(it.event_time, it.body["mode"]) for it in _kept(state, "setting") if "mode" in it.body]
    taken_over = [later for (_, mode), later in pairwise(modes) if mode == "spontaneous" != later[1]]
    if not taken_over or modes[-1][1] == "spontaneous":
        return None
    since = taken_over[-1][0]
    cpap_since = max(at for at, mode in modes if mode == "spontaneous")
    told = list(_told(state, "peep_cmh2o"))
    during = [value for at, value in told if at < since]
    before = [value for at, value in told if at < cpap_since]
    back_to = before[-1] if before else 0.0
    if any(at >= since for at, _ in told) or not during or during[-1] <= back_to:
        return None
    return BackTo(key="peep_cmh2o", now=during[-1], back_to=back_to, since=since, because="carried")


def _told(state: CaseState, key: str) -> Iterator[tuple[datetime, float]]:
    for item in _kept(state, "setting"):
        value = item.body.get(key)
        if isinstance(value, int | float):
            yield item.event_time, float(value)


def _kept(state: CaseState, kind: str) -> list[Item]:
    return [item for item in state.items if item.kind == kind and not item.struck]

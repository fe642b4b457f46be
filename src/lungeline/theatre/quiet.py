"""A case watched quietly from its record: what was read, set and done, gone through anew each time.

Rows are minutes apart: what a row told stands for ten minutes, or until another follows, as for life threats.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import zip_longest
from typing import Any

from lungeline.case import Finding, Reading
from lungeline.explain import Watcher
from lungeline.explain.quiet import Priority
from lungeline.record import CaseState, Item
from lungeline.theatre.case_beside import case_planned
from lungeline.theatre.case_clock import UNDER
from lungeline.theatre.rows_read import FRESH, Live, Row, rows_read
from lungeline.theatre.set_back import to_set_back

_MINUTE = timedelta(minutes=1)
_SEEN_TO = frozenset({"followed", "declined"})
# after these, readings move on purpose
_EXPECTED = frozenset({
    "intubated", "connected to the circle", "surgery begins", "surgery ends", "turned", "abdomen opened",
    "bowel decompressed", "moved", "deep breath", "recruitment", "off the circle", "on the circle again",
    "suction",
})  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Noticed:
    """One finding of quiet watching. right, wrong: what people said of this rule in this case so far."""

    finding: Finding
    priority: Priority
    at: datetime
    right: int
    wrong: int


def noticed(state: CaseState, now: datetime, live: Live | None = None) -> tuple[Noticed, ...]:
    """Return what is so and was not seen to, gravest first; life threats are told elsewhere.

    live: what was measured live by quantity, with its time. Nothing for an animal unknown or not under.
    """
    planned = case_planned(state, assume=True)
    if planned is None or state.phase not in UNDER:
        return ()
    rows = rows_read(state)
    began = min([*(row.at for row in rows), *(it.event_time for it in state.items)], default=now)
    watcher = Watcher(replace(planned, assumed_settings=(), changes=(), faults=()))
    settings, heard = planned.settings, began
    for at, told in _in_order(state, rows, live or {}, now):
        at_s, heard = (at - began).total_seconds(), at
        if isinstance(told, dict):
            settings = replace(settings, **told)
            watcher.changed(settings, at_s)
        elif told is None:
            watcher.expect(at_s)
        else:
            watcher.take(Reading(time_s=at_s, key=key, value=value, source="typed") for key, value in told)
    while (heard := heard + _MINUTE) <= now:  # nothing came since: what was read grows old
        watcher.pass_time((heard - began).total_seconds())
    asked_back = {f"settings.{it.key}" for it in to_set_back(state, now)}
    found = []
    for it in watcher.standing():
        at, told_of = began + timedelta(seconds=it.at_s), [*_told_of(state, it.finding.code)]
        elsewhere = it.priority == "high" or it.finding.about in asked_back
        if not elsewhere and not any(item.event_time >= at for item in told_of):
            right = sum(item.body["done"] == "followed" for item in told_of)
            found.append(
                Noticed(
                    finding=it.finding, priority=it.priority, at=at, right=right, wrong=len(told_of) - right
                )
            )
    return tuple(found)


def moved_keys(finding: Finding) -> list[str]:
    """Return the readings a finding rests on."""
    moved = finding.figures.get("moved")
    if isinstance(moved, str):
        return [part.partition(" ")[0] for part in moved.split(", ")]
    return [] if finding.about.startswith("settings.") else [finding.about]


_Told = dict[str, Any] | list[tuple[str, float]] | None


def _in_order(
    state: CaseState, rows: Sequence[Row], live: Live, now: datetime
) -> Iterator[tuple[datetime, _Told]]:
    """Yield what was set, that something was done, and what was read, by time; what was done comes first."""
    found: list[tuple[datetime, int, _Told]] = []
    told: dict[str, Any] = {}
    for item in state.items:
        if item.struck or item.event_time > now:
            continue
        new = _set(item, told)
        if new:
            told |= new
            found.append((item.event_time, 0, new))
        elif item.kind == "phase" or item.body.get("what") in _EXPECTED:
            found.append((item.event_time, 0, None))
    readings: dict[datetime, dict[str, float]] = defaultdict(dict)
    for row, following in zip_longest(rows, rows[1:]):
        ends = min(row.at + FRESH, now, *([following.at] if following else []))
        _hold(row, rows, ends, live, readings)
    for key, line in live.items():
        for at, value in line:
            readings[at][key] = value
    found += [(at, 1, list(values.items())) for at, values in readings.items() if at <= now]
    for at, _, what in sorted(found, key=lambda each: each[:2]):
        yield at, what


def _set(item: Item, told: dict[str, Any]) -> dict[str, Any]:
    """Return what an entry sets otherwise than it was."""
    if item.kind != "setting":
        return {}
    return {key: value for key, value in item.body.items() if key != "reason" and told.get(key) != value}


def _hold(
    row: Row, rows: Sequence[Row], ends: datetime, live: Live, readings: dict[datetime, dict[str, float]]
) -> None:
    """Let what is known at a row stand for every minute until the next one, or until it is too old."""
    known: dict[str, tuple[datetime, float]] = {}
    for other in rows:
        if row.at - FRESH < other.at <= row.at:
            known |= {key: (other.at, value) for key, value in other.values.items() if key not in live}
    at = row.at
    while at < ends or at == row.at:
        readings[at] |= {key: value for key, (told, value) in known.items() if at - told < FRESH}
        at += _MINUTE


def _told_of(state: CaseState, code: str) -> Iterator[Item]:
    for item in state.items:
        advice = item.kind == "advice" and not item.struck
        if advice and item.body.get("code") == code and item.body.get("done") in _SEEN_TO:
            yield item

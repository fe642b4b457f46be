"""The lanes of a whole case for a screen, as one plain object: those of the print, values as stored."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime
from itertools import zip_longest
from typing import Any

from lungeline.export.pdf.record_sheets import Point
from lungeline.record import CaseState, Item
from lungeline.theatre.case_clock import minutes_between
from lungeline.theatre.completeness import reading_gaps
from lungeline.theatre.phases import phases_begun
from lungeline.theatre.printed_lanes import LANES, LaneKind, points_of, scale_end, spans_of, steps_of
from lungeline.units import unit_of

_COURSE = frozenset({"reading", "setting", "drug", "infusion", "gases", "phase"})
_MARKED = frozenset({"drug", "event", "fluid", "check", "handover", "gases"})
_LEAST_MIN = 5.0  # a chart of a case that has just begun
_LEAST_HIGH = 10.0  # end of the scale of a unit that shares its lane in print


def chart_json(state: CaseState, now: datetime) -> dict[str, Any]:
    """Return the lanes of a case, its parts, infusions and marks; times count from `began` [min]."""
    kept = [item for item in state.items if not item.struck]
    times = [item.event_time for item in kept if item.kind in _COURSE] or [now]
    began = times[0].replace(second=0, microsecond=0)
    end = now if state.phase not in {"closed", ""} else times[-1]

    def at(moment: datetime) -> float:
        return round(minutes_between(began, moment), 3)

    return {
        "began": began.isoformat(),
        "minutes": max(at(end), at(times[-1]), _LEAST_MIN),
        "lanes": [lane for kind in LANES for lane in _lanes(kind, kept, began)],
        "parts": list(_parts(state, began)),
        "infusions": list(_infusions(kept, began)),
        "marks": [
            {"at_min": at(item.event_time), "seq": item.entry.seq, "kind": item.kind}
            for item in kept
            if item.kind in _MARKED
        ],
        "gaps": [[at(one), at(other)] for one, other in reading_gaps(state, now)],
    }


def _lanes(kind: LaneKind, kept: Sequence[Item], began: datetime) -> Iterator[dict[str, Any]]:
    """Yield a lane for each unit of a printed one: on a screen each unit may be read in another."""
    measured = [(key, shape, points_of(kept, key, 1.0, began)) for key, _, shape in kind.measured]
    steps = [(key, steps_of(kept, key, 1.0, began)) for key, _ in kind.set_]
    known = [key for key, _, points in measured if points]
    known += [key for key, points in steps if points and (known or not kind.measured)]
    for place, unit in enumerate(dict.fromkeys(_unit(key) for key in known)):
        series = [(key, shape, points) for key, shape, points in measured if points and _unit(key) == unit]
        set_ = [(key, points) for key, points in steps if points and _unit(key) == unit]
        values = [point.value for _, _, points in series for point in points]
        values += [point.value for _, points in set_ for point in points]
        least = kind.low / kind.factor
        yield {
            "low": min(least, math.floor(min(values))),
            "high": scale_end(max(values), _LEAST_HIGH if place else kind.high / kind.factor),
            "series": [
                {"key": key, "shape": shape, "points": _told(points)} for key, shape, points in series
            ],
            "steps": [{"key": key, "points": _told(points)} for key, points in set_],
            "spans": list(spans_of(kept, began)) if kind.spans and unit == "mmhg" else [],
        }


def _unit(key: str) -> str:
    unit = unit_of(key)
    return unit.suffix if unit else ""


def _told(points: Sequence[Point]) -> list[tuple[float, float, str]]:
    return [(round(point.at_min, 3), point.value, point.note) for point in points]


def _parts(state: CaseState, began: datetime) -> Iterator[dict[str, Any]]:
    begun = phases_begun(state)
    for item, following in zip_longest(begun, begun[1:]):
        if item.body["phase"] != "closed":
            to_min = None if following is None else minutes_between(began, following.event_time)
            from_min = minutes_between(began, item.event_time)
            yield {"phase": item.body["phase"], "from_min": from_min, "to_min": to_min}


def _infusions(kept: Sequence[Item], began: datetime) -> Iterator[dict[str, Any]]:
    infusions = [item for item in kept if item.kind == "infusion"]
    for drug in dict.fromkeys(item.body["drug"] for item in infusions):
        own = [item for item in infusions if item.body["drug"] == drug]
        last = minutes_between(began, own[-1].event_time)
        yield {
            "drug": drug,
            "from_min": minutes_between(began, own[0].event_time),
            "to_min": last if own[-1].body["action"] == "stop" else None,
        }

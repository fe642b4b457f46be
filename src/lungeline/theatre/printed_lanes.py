"""What was measured and set, as lanes for print: which quantities share a lane, on which scale."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

from lungeline.export.pdf.record_sheets import Flag, Lane, Point, Series, Shape
from lungeline.record import CaseState, Item
from lungeline.theatre.case_clock import minutes_between

_PERCENT = 100.0
_FLAGGED = frozenset({"reading", "gases", "setting", "drug", "infusion", "fluid", "event"})


class LaneKind(NamedTuple):
    """A lane as it is looked for: its least scale, and which keys it shows with which shape.

    drawn: on paper over an axis; else in rows of numbers, where its course tells less than its value.
    """

    title: str
    unit: str
    low: float
    high: float
    measured: tuple[tuple[str, str, Shape], ...]
    set_: tuple[tuple[str, str], ...] = ()
    factor: float = 1.0
    spans: bool = False
    drawn: bool = True


LANES = (
    LaneKind(
        "Circulation", "mmHg, /min", 0, 200,
        (("map_mmhg", "mean", "square"), ("heart_rate_per_min", "heart rate", "ring")), spans=True,
    ),
    LaneKind(
        "Pressure", "cmH2O", 0, 40,
        (("peak_pressure_cmh2o", "peak", "dot"), ("plateau_pressure_cmh2o", "plateau", "ring"),
         ("end_expiratory_pressure_cmh2o", "end-expiratory", "cross")),
        (("pressure_limit_cmh2o", "limit"), ("peep_cmh2o", "PEEP")),
    ),
    LaneKind(
        "Volume", "L", 0, 10,
        (("tidal_volume_expired_l", "expired", "dot"), ("tidal_volume_inspired_l", "inspired", "ring")),
        (("tidal_volume_l", "volume"),),
    ),
    LaneKind(
        "Breaths", "/min", 0, 20,
        (("respiratory_rate_per_min", "rate", "dot"), ("own_breaths_per_min", "own", "ring")),
        (("respiratory_rate_per_min", "rate"),), drawn=False,
    ),
    LaneKind(
        "Carbon dioxide", "mmHg", 0, 80,
        (("etco2_mmhg", "end-tidal", "dot"), ("fico2_mmhg", "inspired", "cross"),
         ("paco2_mmhg", "arterial", "diamond")),
    ),
    LaneKind(
        "Oxygen", "%", 20, 100,
        (("fio2_fraction", "inspired", "dot"), ("spo2_fraction", "saturation", "ring")),
        (("fresh_gas_oxygen_fraction", "fresh gas"),), factor=_PERCENT,
    ),
    LaneKind("Arterial oxygen", "mmHg", 0, 500, (("pao2_mmhg", "arterial", "diamond"),), drawn=False),
    LaneKind(
        "Agent", "%", 0, 3,
        (("end_tidal_agent_fraction", "end-tidal", "dot"), ("inspired_agent_fraction", "inspired", "ring")),
        factor=_PERCENT,
    ),
    LaneKind(
        "Dial, fresh gas", "%, L/min", 0, 6, (),
        (("vaporiser_percent", "dial"), ("fresh_gas_flow_l_min", "fresh gas")), drawn=False,
    ),
    LaneKind(
        "Spare gas", "L", 0, 10, (("spare_volume_l", "least", "dot"),), (("spare_volume_l", "spare"),),
        drawn=False,
    ),
    LaneKind("Temperature", "°C", 33, 40, (("temperature_c", "body", "dot"),), drawn=False),
)  # fmt: skip


def lanes_of(state: CaseState, began: datetime) -> tuple[Lane, ...]:
    """Return the lanes that have something in them; times count from `began` [min]."""
    kept = [item for item in state.items if not item.struck]
    return tuple(lane for each in LANES if (lane := _lane(each, kept, began)) is not None)


def _lane(each: LaneKind, kept: Sequence[Item], began: datetime) -> Lane | None:
    series = [
        Series(label=label, shape=shape, points=points_of(kept, key, each.factor, began))
        for key, label, shape in each.measured
    ]
    series = [one for one in series if one.points]
    steps = [(label, steps_of(kept, key, each.factor, began)) for key, label in each.set_]
    steps = [one for one in steps if one[1]]
    if not series and not (steps and not each.measured):
        return None
    values = [point.value for one in series for point in one.points]
    values += [point.value for _, points in steps for point in points]
    return Lane(
        title=each.title,
        unit=each.unit,
        low=min(each.low, math.floor(min(values, default=each.low))),
        high=scale_end(max(values, default=each.high), each.high),
        series=series,
        steps=steps,
        spans=tuple(spans_of(kept, began)) if each.spans else (),
        drawn=each.drawn,
    )


def flags_of(state: CaseState, began: datetime) -> tuple[Flag, ...]:
    """Return at which minutes something was estimated, late, corrected or struck out, as far as any was."""
    items = [item for item in state.items if item.kind in _FLAGGED]
    found = {
        "estimated": [item for item in items if item.body.get("estimated")],
        "artefact": [item for item in items if item.body.get("artefact")],
        "entered late": [item for item in items if item.late],
        "corrected": [item for item in items if item.corrected],
        "struck out, not drawn": [item for item in items if item.struck],
    }
    return tuple(
        Flag(label=label, at_min=tuple(minutes_between(began, item.event_time) for item in those))
        for label, those in found.items()
        if those
    )


def scale_end(highest: float, least: float) -> float:
    """Return the end of a scale: the usual one, doubled as often as it takes, so that charts look alike."""
    high = least
    while highest > high:
        high *= 2.0
    return high


def points_of(kept: Sequence[Item], key: str, factor: float, began: datetime) -> tuple[Point, ...]:
    """Return what was measured of a quantity; times count from `began` [min]."""
    return tuple(
        Point(
            at_min=minutes_between(began, item.event_time),
            value=item.body[key] * factor,
            note=_note(item),
        )
        for item in kept
        if item.kind in {"reading", "gases"} and isinstance(item.body.get(key), int | float)
    )


def _note(item: Item) -> str:
    letters = {
        "e": bool(item.body.get("estimated")),
        "a": bool(item.body.get("artefact")),
        "l": item.late,
        "c": item.corrected,
    }
    return "".join(letter for letter, so in letters.items() if so)


def steps_of(kept: Sequence[Item], key: str, factor: float, began: datetime) -> tuple[Point, ...]:
    """Return what was set of a quantity, each from its minute on."""
    return tuple(
        Point(at_min=minutes_between(began, item.event_time), value=item.body[key] * factor)
        for item in kept
        if item.kind == "setting" and isinstance(item.body.get(key), int | float)
    )


def spans_of(kept: Sequence[Item], began: datetime) -> Iterator[tuple[float, float, float]]:
    """Return minute, diastolic and systolic pressure where both were measured [mmHg]."""
    for item in kept:
        low, high = (item.body.get(f"{which}_pressure_mmhg") for which in ("diastolic", "systolic"))
        if item.kind == "reading" and low is not None and high is not None:
            yield minutes_between(began, item.event_time), low, high

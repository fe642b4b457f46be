"""The fall, or the rise, in a pressure trace as a line: found, fitted, and refused where it is none."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

from lungeline.check.leak_law import MIDDLE_NUMBER
from lungeline.check.trace_file import Trace
from lungeline.errors import InputError
from lungeline.reference import figure

LEAST_PRESSURE_CMH2O = 5.0
_FEWEST = 8
_LEAST_SHARE = 0.6  # of the first pressure: what falls further is left out, the valve may have been opened
_NEAR_SHARE = 0.75  # of the top; a wait that costs more pressure is cut short
_RISE_SHARES = 0.7, 0.95  # of the top, between which the rise is timed
_SURE = 3.0  # standard errors
_JUMPS_CMH2O = 3.0  # a scatter about the line that no decay has
_LEAST_LEFT = 1e-6
_OUTLIER = 4.0  # standard deviations
_STRAIGHTENS = 1.0 - MIDDLE_NUMBER  # P to this power falls evenly for a leak between one hole and fine gaps


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A stretch of a trace: pressures at both ends by a fitted line, and the standard error of each."""

    from_s: float
    to_s: float
    from_cmh2o: float
    to_cmh2o: float
    error_cmh2o: float
    points_number: int

    @property
    def seconds_s(self) -> float:
        """Its length."""
        return self.to_s - self.from_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What to make of a trace.

    from_s, to_s: the part with all flow off; else from a minute after the top, or what there is, to its end.
    at_pressure_cmh2o: for which the leak is wanted; leak_exponent_number: law of the leak where known.
    """

    from_s: float | None = None
    to_s: float | None = None
    at_pressure_cmh2o: float | None = None
    leak_exponent_number: float | None = None


WHOLE = Part()


def fall_line(trace: Trace, part: Part = WHOLE) -> Line:
    """Return the fall of a trace, or raise InputError with what it shows instead."""
    _refuse_rubbish(trace)
    top_s = top_of_s(trace)
    waits_s = figure("leak_test.least_wait_s").value
    from_s = part.from_s
    last_s = trace.time_s[-1] if part.to_s is None else part.to_s
    if from_s is None:
        # no whole wait where the trace ends too soon for it, or the pressure would be gone
        from_s = top_s + min(waits_s, (last_s - top_s) / 2.0, _lasts_s(trace, top_s))
    points = _until_it_falls_away(points_between(trace, from_s, last_s))
    if len(points) < _FEWEST:
        raise _refuse(
            given=f"{len(points)} points after {from_s:g} s",
            allowed=f"at least {_FEWEST} while the pressure falls",
        )
    line = _without_outliers(points)
    if line.to_cmh2o - line.from_cmh2o > _SURE * math.sqrt(2.0) * max(
        line.error_cmh2o, trace.step_cmh2o / 4.0
    ):
        raise _refuse(
            given=f"pressure that rises from {line.from_cmh2o:.1f} to {line.to_cmh2o:.1f} cmH2O in "
            f"{line.seconds_s:.0f} s with the flow off",
            allowed="pressure that falls or stands",
        )
    return line


def rise_line(trace: Trace, top_s: float) -> Line:
    """Return the rise of a trace before its top, or raise InputError where none shows."""
    before = points_between(trace, trace.time_s[0], top_s)
    top = max(value for _, value in before)
    low, high = (share * top for share in _RISE_SHARES)
    first = next((at for at, value in before if value >= low), None)
    last = next((at for at, value in before if value >= high), None)
    points = points_between(trace, first, last) if first is not None and last is not None else []
    if len(points) < _FEWEST:
        raise _refuse(
            given=f"{len(points)} points while pressure rises",
            allowed=f"at least {_FEWEST}: start it before the flow",
        )
    return _line(points, power=1.0)


def _refuse_rubbish(trace: Trace) -> None:
    values = trace.pressure_cmh2o
    if len(set(values)) == 1:
        raise _refuse(
            given=f"a flat line: {len(values)} points, all {values[0]:g} cmH2O",
            allowed="a pressure that was raised and may fall",
        )
    top = max(values)
    if top < LEAST_PRESSURE_CMH2O:
        raise _refuse(
            given=f"a pressure never above {top:.1f} cmH2O",
            allowed=f"a circle filled to {LEAST_PRESSURE_CMH2O:g} or more",
        )
    stuck, moves = _stuck_at(values, top)
    if stuck >= _FEWEST and moves:
        raise _refuse(
            given=f"{stuck} points in a row at exactly {top:.4g} cmH2O, the highest, while it moves "
            "from point to point below: the gauge is at its end",
            allowed="a pressure the gauge can show",
        )


def _stuck_at(values: Sequence[float], top: float) -> tuple[int, bool]:
    """Return the longest row of points at the top, and whether pressure moves with most points elsewhere."""
    longest = row = 0
    for value in values:
        row = row + 1 if value == top else 0
        longest = max(longest, row)
    below = [value for value in values if value < top]
    moved = sum(first != later for first, later in pairwise(below))
    return longest, moved > len(below) / 2


def top_of_s(trace: Trace) -> float:
    """Return when pressure was last near its highest: there the flow was shut."""
    top = max(trace.pressure_cmh2o)
    near = top - max(trace.step_cmh2o, _LEAST_LEFT)
    highest = max(zip(trace.pressure_cmh2o, trace.time_s, strict=True))[1]
    later = [at for at, value in zip(trace.time_s, trace.pressure_cmh2o, strict=True) if value >= near]
    return min(max(later), highest + trace.usual_interval_s * _FEWEST)


def points_between(trace: Trace, from_s: float, to_s: float) -> list[tuple[float, float]]:
    """Return the points of a part of a trace, both ends included."""
    points = zip(trace.time_s, trace.pressure_cmh2o, strict=True)
    return [(at, value) for at, value in points if from_s <= at <= to_s]


def _lasts_s(trace: Trace, top_s: float) -> float:
    """Return how long pressure stays near its top."""
    after = points_between(trace, top_s, trace.time_s[-1])
    top = max(trace.pressure_cmh2o)
    return next((at - top_s for at, value in after if value < _NEAR_SHARE * top), math.inf)


def _until_it_falls_away(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the points until pressure is well below its first."""
    if not points:
        return points
    first = fmean(value for _, value in points[:3])
    for place, (_, value) in enumerate(points):
        if value < _LEAST_SHARE * first:
            return points[:place]
    return points


def _without_outliers(points: list[tuple[float, float]]) -> Line:
    """Return the line through a fall, a valve opened at its end and single spikes left out."""
    line = _line(points)
    for _ in range(_FEWEST):
        scatter = _scatter(points, line)
        kept = [
            point
            for point in points
            if abs(point[1] - _on(line, point[0])) <= _OUTLIER * scatter + _LEAST_LEFT
        ]
        if len(kept) == len(points) or len(kept) < _FEWEST:
            break
        points, line = kept, _line(kept)
    scatter = _scatter(points, line)
    if scatter > _JUMPS_CMH2O:
        raise _refuse(
            given=f"a pressure that jumps about by {scatter:.1f} cmH2O", allowed="a circle left alone"
        )
    return line


def _on(line: Line, at_s: float) -> float:
    """Return the pressure of a line at a time."""
    first, last = (_straight(value) for value in (line.from_cmh2o, line.to_cmh2o))
    place = (at_s - line.from_s) / line.seconds_s
    return float(max(first + (last - first) * place, 0.0) ** (1.0 / _STRAIGHTENS))


def _straight(pressure_cmh2o: float, power: float = _STRAIGHTENS) -> float:
    return float(max(pressure_cmh2o, _LEAST_LEFT) ** power)


def _scatter(points: Sequence[tuple[float, float]], line: Line) -> float:
    return math.sqrt(fmean((value - _on(line, at)) ** 2 for at, value in points))


def _line(points: Sequence[tuple[float, float]], power: float = _STRAIGHTENS) -> Line:
    """Return the line of least squares, pressure raised to a power so that it falls evenly."""
    times = [at for at, _ in points]
    values = [_straight(value, power) for _, value in points]
    middle_s, middle = fmean(times), fmean(values)
    weight = sum((at - middle_s) ** 2 for at in times)
    slope = sum((at - middle_s) * (value - middle) for at, value in zip(times, values, strict=True)) / weight
    ends = [max(middle + slope * (at - middle_s), _LEAST_LEFT) for at in (times[0], times[-1])]
    off = [value - middle - slope * (at - middle_s) for at, value in zip(times, values, strict=True)]
    first, last = (end ** (1.0 / power) for end in ends)
    bend = (fmean((first, last)) ** (1.0 - power)) / power  # cmH2O for each unit of the straightened pressure
    spread = math.sqrt(sum(item * item for item in off) / max(len(off) - 2, 1)) * bend
    length_s = times[-1] - times[0]
    return Line(
        from_s=times[0],
        to_s=times[-1],
        from_cmh2o=first,
        to_cmh2o=last,
        # two such errors make the error of the slope, allowing for points that are off together
        error_cmh2o=spread * length_s / math.sqrt(2.0 * weight) * math.sqrt(_together(off)),
        points_number=len(points),
    )


def _together(off: Sequence[float]) -> float:
    """Return by how much errors that last from point to point raise the variance of a mean (lag one)."""
    total = sum(item * item for item in off)
    if total <= 0.0:
        return 1.0
    alike = sum(first * later for first, later in pairwise(off)) / total
    alike = min(max(alike, 0.0), 0.98)
    return (1.0 + alike) / (1.0 - alike)


def _refuse(*, given: str, allowed: str) -> InputError:
    return InputError(
        where="trace",
        given=given,
        allowed=allowed,
        do="Look at the trace, name the part to use, or test again.",
    )

"""Pressures of one breath: peak, plateau, end of expiration, and what the animal draws."""

import math
from typing import TYPE_CHECKING

import numpy as np

from lungeline.compare.smooth import line_at, smoothed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from lungeline.compare.wave_breath import Begun

LEAST_PAUSE_S = 0.25
_SMOOTHED_S = 0.12
_EDGE_S = 0.25  # before flow ends: the line to the peak
_UNSURE_S = 0.04  # by which that end may be taken too late
_REST_S = 0.3  # before the next breath: its end-expiratory pressure
_PLATEAU_S = 0.3
_EFFORT_CMH2O = 0.6  # least that is no wandering of the baseline
_EFFORT_SDS = 4.0
_WOBBLES = 4.0  # standard deviations of the baseline
_ONSET_S = 0.3  # in which an effort may come before its flow
_FEWEST = 5


def peak_cmh2o(pressure: "NDArray[np.float64]", flow_end: int, rate_hz: float) -> float | None:
    """Return the highest pressure of a breath, noise taken off.

    flow_end: sample at which flow in ends. A rise up to there is followed to its end by a straight line:
    a mean would cut the corner.
    """
    if not np.isfinite(pressure).any():
        return None
    found = float(np.nanmax(smoothed(pressure, round(_SMOOTHED_S * rate_hz))))
    unsure = round(_UNSURE_S * rate_hz)
    edge = pressure[max(flow_end - unsure - round(_EDGE_S * rate_hz), 0) : max(flow_end - unsure, 0)]
    if len(edge) > 2 and np.isfinite(edge).all():  # noqa: PLR2004  a line needs more than two
        found = max(found, line_at(edge, len(edge) - 1.0 + 0.75 * unsure))
    return found


def plateau_cmh2o(pressure: "NDArray[np.float64]", pause: "tuple[int, int]", rate_hz: float) -> float | None:
    """Return the pressure at the end of a pause between two samples, None where there was no pause."""
    first, last = pause
    if last - first < LEAST_PAUSE_S * rate_hz:
        return None
    return known_mean(pressure[max(last - round(_PLATEAU_S * rate_hz), first + (last - first) // 3) : last])


def end_expiratory_cmh2o(pressure: "NDArray[np.float64]", rate_hz: float) -> float | None:
    """Return the pressure at the end of a stretch that ends with expiration, by a straight line."""
    tail = pressure[-max(round(_REST_S * rate_hz), 2) :]
    if not len(tail) or not np.isfinite(tail).all():
        return known_mean(tail)
    return line_at(tail, len(tail) - 1.0)


def known_mean(values: "NDArray[np.float64]") -> float | None:
    """Return the mean of the samples that are numbers, None where most are not."""
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) and 2 * len(known) >= len(values) else None


def effort(
    before: "NDArray[np.float64]", inward: "NDArray[np.float64]", noise_cmh2o: float, rate_hz: float
) -> "tuple[Begun | None, float | None]":
    """Return who began a breath in, and how far the animal drew pressure down in it.

    before: pressure at the end of the breath before; inward: while gas flows in.
    A machine alone only ever raises it.
    """
    samples = round(_SMOOTHED_S * rate_hz)
    late = round(_ONSET_S * rate_hz)
    calm = smoothed(before, samples)
    resting = calm[: len(calm) - late][np.isfinite(calm[: len(calm) - late])]
    curve = smoothed(np.concatenate([before[len(before) - late :], inward]), samples)
    curve = curve[np.isfinite(curve)]
    if len(resting) < _FEWEST or not len(curve):
        return None, None
    # it may still be falling, and the heart may move it
    baseline = line_at(resting, len(resting) - 1.0 + late / 2.0)
    moved = _WOBBLES * float(np.std(resting - _line_of(resting)))
    tolerated = max(_EFFORT_CMH2O, _EFFORT_SDS * noise_cmh2o / math.sqrt(max(samples, 1)), moved)
    below = min(baseline, float(resting[-1])) - float(curve.min())
    sagged = float(np.max(np.maximum.accumulate(curve) - curve))
    drawn = max(below, sagged)
    if drawn < tolerated:
        return "set", 0.0
    raised = float(curve.mean()) > baseline and float(curve[-1]) > baseline + tolerated
    return ("triggered" if raised else "own"), drawn


def _line_of(values: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return the straight line through samples, at each of them."""
    first, last = line_at(values, 0.0), line_at(values, len(values) - 1.0)
    return np.linspace(first, last, len(values))

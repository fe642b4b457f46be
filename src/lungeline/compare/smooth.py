"""Curves with their noise taken off, without moving their edges more than needed."""

import math
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

_MAD_TO_SD = 1.4826  # of a normal distribution


def smoothed(values: "NDArray[np.float64]", samples: int) -> "NDArray[np.float64]":
    """Return the centred mean over so many samples, fewer at the ends; what is no number is left out."""
    half = max(samples // 2, 0)
    known = np.isfinite(values)
    sums = np.concatenate([[0.0], np.cumsum(np.where(known, values, 0.0))])
    counts = np.concatenate([[0], np.cumsum(known)])
    places = np.arange(len(values))
    low, high = np.maximum(places - half, 0), np.minimum(places + half + 1, len(values))
    number = counts[high] - counts[low]
    return np.where(number > 0, (sums[high] - sums[low]) / np.maximum(number, 1), math.nan)


def filled(values: "NDArray[np.float64]", longest: int) -> "NDArray[np.float64]":
    """Return the curve with holes of up to `longest` samples bridged by straight lines."""
    known = np.isfinite(values)
    if known.all() or not known.any():
        return values
    places = np.arange(len(values))
    bridged = np.interp(places, places[known], values[known], left=math.nan, right=math.nan)
    before = np.maximum.accumulate(np.where(known, places, -1))
    after = np.minimum.accumulate(np.where(known, places, len(values))[::-1])[::-1]
    return np.where(known | (after - before - 1 <= longest), bridged, math.nan)


def scatter(values: "NDArray[np.float64]") -> float:
    """Return the standard deviation of noise from sample to sample, by the median of their differences."""
    known = values[np.isfinite(values)]
    if len(known) < 3:  # noqa: PLR2004  two differences are no scatter
        return 0.0
    return _MAD_TO_SD * float(np.median(np.abs(np.diff(known)))) / math.sqrt(2.0)


def line_at(values: "NDArray[np.float64]", place: float) -> float:
    """Return the straight line through samples, at a place counted in samples; values must be known."""
    places = np.arange(len(values), dtype=np.float64)
    if len(values) == 1:
        return float(values[0])
    centred = places - places.mean()
    slope = float(centred @ values / (centred @ centred))
    return float(values.mean() + slope * (place - places.mean()))

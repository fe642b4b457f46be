"""Rows that came at any times, as evenly sampled stretches: gaps stay gaps, and what was wrong is told."""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from lungeline.listen.told import Flaws

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

_JUMP_S = 1.0  # back by more than this the clock was set; by less a row came late
_LONGEST_GAP_S = 3600.0  # forward by more than this the clock was set
_BRIDGED_INTERVALS = 2.5
_ROUND_RATE = 0.02  # a rate this near to a whole number is that number
_RATES_HZ = (0.001, 2000.0)
_LARGEST_SAMPLES = 20_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Curves between two settings of the clock, evenly sampled: sample i was taken at (i + 1) / rate_hz.

    began_s: on the source's clock, of that time's beginning. rates may differ from curve to curve.
    """

    began_s: float
    curves: "Mapping[str, tuple[float, NDArray[np.float64]]]"

    @property
    def lasts_s(self) -> float:
        """Length of its longest curve."""
        return max((len(values) / rate_hz for rate_hz, values in self.curves.values()), default=0.0)


def even_stretches(
    time_s: "NDArray[np.float64]", values: "Mapping[str, NDArray[np.float64]]"
) -> tuple[list[Stretch], Flaws]:
    """Return the rows evenly sampled, by stretch of a clock that nobody set, and what was found wrong.

    time_s: of each row, may be no number; values: by key, a number or none for each row.
    """
    known = np.isfinite(time_s)
    kept, late, begins = _in_order(time_s[known])
    pieces = np.split(np.flatnonzero(known)[kept], begins)
    stretches = [_even(time_s[rows], {key: each[rows] for key, each in values.items()}) for rows in pieces]
    flaws = Flaws(
        unreadable=int(len(time_s) - known.sum()), repeated=late, jumps=len(begins),
        gaps=sum(count for _, count in stretches),
    )  # fmt: skip
    return [stretch for stretch, _ in stretches if stretch is not None], flaws


def _in_order(times: "NDArray[np.float64]") -> "tuple[NDArray[np.int64], int, NDArray[np.int64]]":
    """Return the rows that go forward, how many came late or twice, and where a clock jumps among those."""
    kept: list[int] = []
    begins: list[int] = []
    last, late = -math.inf, 0
    for row, time in enumerate(times.tolist()):
        if time <= last and time >= last - _JUMP_S:
            late += 1
            continue
        if kept and not 0.0 < time - last <= _LONGEST_GAP_S:
            begins.append(len(kept))
        kept.append(row)
        last = time
    return np.array(kept, dtype=np.int64), late, np.array(begins, dtype=np.int64)


def _even(
    times: "NDArray[np.float64]", values: "Mapping[str, NDArray[np.float64]]"
) -> tuple[Stretch | None, int]:
    """Return one stretch on a grid, and how many gaps it has; none for rows too few or too strange."""
    if len(times) < 2:  # noqa: PLR2004  one row has no rate
        return None, 0
    usual_s = float(np.median(np.diff(times)))
    low, high = _RATES_HZ
    if not low <= 1.0 / usual_s <= high or (times[-1] - times[0]) / usual_s > _LARGEST_SAMPLES:
        return None, 0
    rate_hz = 1.0 / usual_s
    if abs(rate_hz - round(rate_hz)) <= _ROUND_RATE * rate_hz:
        rate_hz = float(round(rate_hz))
    began_s = float(times[0]) - 1.0 / rate_hz
    count = math.floor((float(times[-1]) - began_s) * rate_hz + 0.5)
    grid = began_s + (np.arange(count) + 1.0) / rate_hz
    longest_s = _BRIDGED_INTERVALS / rate_hz
    curves = {key: (rate_hz, _on_grid(grid, times, each, longest_s)) for key, each in values.items()}
    return Stretch(began_s=began_s, curves=curves), int(np.count_nonzero(np.diff(times) > longest_s))


def _on_grid(
    grid: "NDArray[Any]", times: "NDArray[np.float64]", values: "NDArray[np.float64]", longest_s: float
) -> "NDArray[np.float64]":
    """Return a curve on straight lines between its samples, no number where they are too far apart."""
    known = np.isfinite(values)
    if not known.any():
        return np.full(len(grid), math.nan)
    at, value = times[known], values[known]
    after = np.clip(np.searchsorted(at, grid), 0, len(at) - 1)
    before = np.maximum(after - 1, 0)
    near = np.minimum(np.abs(grid - at[after]), np.abs(grid - at[before])) <= longest_s / _BRIDGED_INTERVALS
    bridged = np.where(at[after] - at[before] <= longest_s, True, near)  # noqa: FBT003  numpy's, by position
    inside = (grid >= at[0] - longest_s) & (grid <= at[-1] + longest_s)
    return np.where(bridged & inside, np.interp(grid, at, value), math.nan)

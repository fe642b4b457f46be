"""The last stretch of all curves, kept as long as a breath may still need it."""

import math
from typing import TYPE_CHECKING

import numpy as np

from lungeline.compare.grid import CHANNELS

if TYPE_CHECKING:
    from numpy.typing import NDArray


class Tape:
    """Samples of all curves, one row a channel, by their place in the epoch."""

    def __init__(self, start: int) -> None:
        """Begin without samples at a place."""
        self.start = start
        self._rows = np.full((len(CHANNELS), 1024), math.nan)
        self._held = 0

    @property
    def end(self) -> int:
        """Place after the last sample."""
        return self.start + self._held

    def add(self, curves: "NDArray[np.float64]") -> None:
        """Keep another stretch."""
        needed = self._held + curves.shape[1]
        if needed > self._rows.shape[1]:
            wider = np.full((len(CHANNELS), 2 * needed), math.nan)
            wider[:, : self._held] = self._rows[:, : self._held]
            self._rows = wider
        self._rows[:, self._held : needed] = curves
        self._held = needed

    def forget(self, before: int) -> None:
        """Let go of what lies before a place, not at every call."""
        gone = min(before - self.start, self._held)
        if gone > self._held // 2:
            self._rows[:, : self._held - gone] = self._rows[:, gone : self._held].copy()
            self._held -= gone
            self.start += gone

    def curve(self, channel: str, first: int, last: int) -> "NDArray[np.float64]":
        """Return a copy of one curve from place to place, as far as it is kept; last is left out."""
        low, high = max(first, self.start), min(last, self.end)
        return self._rows[CHANNELS.index(channel), low - self.start : max(high, low) - self.start].copy()

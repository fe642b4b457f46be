"""Blocks of several curves on one grid of time: gaps are not numbers, what came twice is left out."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from lungeline.case import Block

if TYPE_CHECKING:
    from numpy.typing import NDArray

CHANNELS = ("pressure_cmh2o", "flow_l_s", "co2_mmhg")
# beyond these no sensor shows anything: what says so is a mark of the source for "none"
_POSSIBLE = {"pressure_cmh2o": 500.0, "flow_l_s": 100.0, "co2_mmhg": 800.0}
_LATE_S = 5.0  # a curve this much behind the others is not waited for
_FRAME_S = 20.0  # longest stretch handed on at once
_RATES_HZ = (5.0, 1000.0)  # slower shows no breath, faster is no such curve


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """A stretch of the grid. curves: one row a channel, in the order of CHANNELS.

    begins: whether it does not follow on what was handed on before it.
    """

    epoch: str
    rate_hz: float
    start_index: int
    curves: "NDArray[np.float64]"
    begins: bool


@dataclass(slots=True)
class _Curve:
    """One curve's samples that are still needed, with their place in the epoch."""

    rate_hz: float
    end: int = 0
    parts: "list[tuple[int, NDArray[np.float64]]]" = field(default_factory=list)

    def add(self, start: int, values: "NDArray[np.float64]") -> None:
        """Keep what is new of a stretch."""
        known = max(self.end - start, 0) if self.parts or self.end else 0
        if known < len(values):
            self.parts.append((start + known, values[known:]))
            self.end = start + len(values)

    def between(self, first: int, last: int) -> "NDArray[np.float64]":
        """Return samples `first` to `last`, that one left out."""
        found = np.full(last - first, math.nan)
        for start, values in self.parts:
            low, high = max(first, start), min(last, start + len(values))
            if low < high:
                found[low - first : high - first] = values[low - start : high - start]
        return found

    def forget(self, before: int) -> None:
        """Let go of samples before a place."""
        self.parts = [(start, values) for start, values in self.parts if start + len(values) > before]

    def first(self) -> int:
        """Return the place of the first sample kept."""
        return self.parts[0][0] if self.parts else self.end


class Grid:
    """Takes blocks in any cut, hands on frames of all curves at the rate of the fastest."""

    def __init__(self) -> None:
        """Begin without a past."""
        self._epoch = ""
        self._clear()

    def _clear(self) -> None:
        self._curves: dict[str, _Curve] = {}
        self._rate_hz = 0.0
        self._next = 0
        self._begins = True

    def take(self, blocks: Iterable[Block]) -> Iterator[Frame]:
        """Yield what is complete after these blocks."""
        for block in blocks:
            low, high = _RATES_HZ
            if block.channel not in CHANNELS or not low <= block.rate_hz <= high:
                continue
            if block.epoch != self._epoch:
                yield from self.finish()
                self._epoch = block.epoch
            known = self._curves.get(block.channel)
            if known is not None and known.rate_hz != block.rate_hz:
                yield from self.finish()  # samples are counted anew
                known = None
            if known is None:
                known = self._curves[block.channel] = _Curve(rate_hz=block.rate_hz)
            values = np.asarray(block.values, dtype=np.float64)
            known.add(
                block.start_index, np.where(np.abs(values) <= _POSSIBLE[block.channel], values, math.nan)
            )
        yield from self._hand_on(_LATE_S)

    def finish(self) -> Iterator[Frame]:
        """Yield all that is left, and begin anew."""
        yield from self._hand_on(0.0)
        self._clear()

    def _hand_on(self, wait_s: float) -> Iterator[Frame]:
        """Yield what all curves have, or what the one furthest on has had for some time."""
        if not self._curves:
            return
        if not self._rate_hz:
            self._rate_hz = max(curve.rate_hz for curve in self._curves.values())
            self._next = min(self._place(curve, curve.first()) for curve in self._curves.values())
        ends = [self._place(curve, curve.end) for curve in self._curves.values()]
        wait = wait_s * self._rate_hz
        until = max(ends) if wait_s == 0.0 else max(min(ends), math.floor(max(ends) - wait))
        while self._next < until:
            yield from self._frame(until)

    def _frame(self, until: int) -> Iterator[Frame]:
        """Yield the next frame, or step over a hole in all curves."""
        there = [self._place(curve, curve.first()) for curve in self._curves.values() if curve.parts]
        start = max(self._next, min([*there, until]))
        if start - self._next > _FRAME_S * self._rate_hz:
            self._next, self._begins = start, True
        stop = min(until, self._next + int(_FRAME_S * self._rate_hz))
        if self._next >= stop:
            return
        curves = np.stack([self._resampled(channel, self._next, stop) for channel in CHANNELS])
        yield Frame(
            epoch=self._epoch, rate_hz=self._rate_hz, start_index=self._next, curves=curves,
            begins=self._begins,
        )  # fmt: skip
        self._next, self._begins = stop, False
        for curve in self._curves.values():
            # a slower curve needs the sample before the next place
            curve.forget(math.floor(stop * curve.rate_hz / self._rate_hz) - 2)

    def _place(self, curve: _Curve, index: int) -> int:
        """Return the place on the grid of a curve's sample."""
        return index if curve.rate_hz == self._rate_hz else math.floor(index * self._rate_hz / curve.rate_hz)

    def _resampled(self, channel: str, first: int, last: int) -> "NDArray[np.float64]":
        curve = self._curves.get(channel)
        if curve is None:
            return np.full(last - first, math.nan)
        if curve.rate_hz == self._rate_hz:
            found = curve.between(first, last)
        else:
            found = _between_samples(curve, first, last, curve.rate_hz / self._rate_hz)
        return found


def _between_samples(curve: _Curve, first: int, last: int, ratio: float) -> "NDArray[np.float64]":
    """Return a slower curve on the grid, on straight lines between its samples; sample i is at (i+1)/rate."""
    at = (np.arange(first, last) + 1.0) * ratio - 1.0
    low = math.floor(at[0])
    known = curve.between(low, math.ceil(at[-1]) + 2)
    whole = np.floor(at).astype(int) - low
    share = at - np.floor(at)
    found: NDArray[np.float64] = np.where(
        share == 0.0, known[whole], (1.0 - share) * known[whole] + share * known[whole + 1]
    )
    return found

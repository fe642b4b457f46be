"""What a page is told of a feed, piece by piece: samples of curves, newest numbers, two hours of trends."""

import json
import math
from collections import deque
from collections.abc import Iterable
from typing import Any

from lungeline.case.reading import Reading
from lungeline.listen.feed import Feed

CHANNELS = ("pressure_cmh2o", "flow_l_s", "co2_mmhg", "oxygen_fraction")
SHOWN_S = 20.0  # of curves on a page
_TREND_EVERY_S, _TREND_MOST = 15.0, 480  # of numbers, for a page that comes late: two hours
_DIGITS = 4


class Shown:
    """Where the telling of one feed stands. Times that pages hear are seconds of the calendar."""

    def __init__(self, feed: Feed) -> None:
        """Begin at the feed's beginning."""
        self._feed = feed
        self._epoch, self._index, self._since_s = "", 0, -math.inf
        self._trends: dict[str, deque[tuple[float, float]]] = {}
        self.latest: dict[str, tuple[float, float]] = {}

    def step(
        self, readings: Iterable[Reading], offset_s: float, channels: Iterable[str] = CHANNELS
    ) -> dict[str, Any]:
        """Return what is new: curves, and the newest of each number as [when, value].

        readings: those since the last step (`since_s`); offset_s: of the feed's time to that of the calendar.
        """
        feed = self._feed
        if feed.epoch != self._epoch:
            self._trends.clear()
            self.latest.clear()
        told = curves(feed, self._epoch, self._index, channels)
        numbers = self._numbers(readings, offset_s)
        self._epoch, self._index, self._since_s = feed.epoch, told["from"] + told["count"], feed.now_s
        return {"epoch": feed.epoch, **told, "numbers": numbers}

    def since_s(self) -> float:
        """Up to when the feed has been told [s]; from its beginning where it has begun anew."""
        return self._since_s if self._feed.epoch == self._epoch else -math.inf

    def before(self, rate_hz: float, channels: Iterable[str] = CHANNELS) -> dict[str, Any]:
        """Return what a page must know that comes now: the curves it would show, and two hours of numbers."""
        first = max(self._index - round(SHOWN_S * rate_hz), 0)
        return {
            "epoch": self._feed.epoch,
            **curves(self._feed, self._feed.epoch, first, channels),
            "numbers": {key: [at, value] for key, (at, value) in self.latest.items()},
            "trends": {key: list(line) for key, line in self._trends.items()},
        }

    @property
    def trends(self) -> dict[str, list[tuple[float, float]]]:
        """Two hours of each number."""
        return {key: list(line) for key, line in dict(self._trends).items()}

    def _numbers(self, readings: Iterable[Reading], offset_s: float) -> dict[str, list[float]]:
        newest: dict[str, list[float]] = {}
        for reading in readings:
            if reading.value is None:
                newest.pop(reading.key, None)
                continue
            at = round(reading.time_s + offset_s, 1)
            newest[reading.key] = [at, reading.value]
            self.latest[reading.key] = (at, reading.value)
            line = self._trends.setdefault(reading.key, deque(maxlen=_TREND_MOST))
            if not line or at - line[-1][0] >= _TREND_EVERY_S:
                line.append((at, reading.value))
        return newest


def curves(feed: Feed, epoch: str, index: int, channels: Iterable[str] = CHANNELS) -> dict[str, Any]:
    """Return curves from a sample on: its place, how many, how many a second, and the samples by channel."""
    blocks = [block for block in feed.blocks(epoch, index) if block.channel in channels]
    if not blocks:
        return {"from": index, "count": 0, "curves": {}}
    first = blocks[0]
    told = {"from": first.start_index, "count": len(first.values), "rate_hz": first.rate_hz}
    return {**told, "curves": {block.channel: [_short(value) for value in block.values] for block in blocks}}


def packed(message: dict[str, Any]) -> str:
    """Return a message as text."""
    return json.dumps(message, separators=(",", ":"))


def _short(value: float) -> float:
    return float(f"{value:.{_DIGITS}g}")

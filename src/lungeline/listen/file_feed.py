"""A feed that plays what a file holds: at any pace, one epoch for each stretch of its clock."""

import math
from collections.abc import Iterable, Sequence
from uuid import uuid4

from lungeline.case import Block, Finding, Reading
from lungeline.listen.stretches import Stretch
from lungeline.units import unit_of


class FileFeed:
    """Curves and readings of a file, see `Feed`. findings: what was wrong in it.

    Time is the source's own, and goes on by `advance`; an epoch ends where the source's clock was set.
    """

    def __init__(
        self,
        source: str,
        *,
        stretches: Sequence[Stretch],
        readings: Iterable[Reading] = (),
        findings: Iterable[Finding] = (),
    ) -> None:
        """Stand at the beginning of the first stretch."""
        self._source = source
        self._stretches = list(stretches)
        self._all = sorted(readings, key=lambda reading: reading.time_s)
        self.findings = tuple(findings)
        if not self._stretches:
            first, last = (self._all[place].time_s if self._all else 0.0 for place in (0, -1))
            self._stretches = [Stretch(began_s=first - 1.0, curves={})]
            self._last_s = last
        else:
            self._last_s = -math.inf
        self._place = -1
        self._next()

    def _next(self) -> None:
        self._place += 1
        self._epoch = uuid4().hex
        self._now_s = self._stretches[self._place].began_s

    @property
    def source(self) -> str:
        """Name of the file."""
        return self._source

    @property
    def epoch(self) -> str:
        """Id of the present stretch."""
        return self._epoch

    @property
    def epoch_began_s(self) -> float:
        """Time of the present stretch's beginning, on the source's clock [s]."""
        return self._stretches[self._place].began_s

    @property
    def now_s(self) -> float:
        """Time up to which the file has been played [s]."""
        return self._now_s

    @property
    def ends_s(self) -> float:
        """Time at which the present stretch ends [s]."""
        stretch = self._stretches[self._place]
        return max(stretch.began_s + stretch.lasts_s, self._last_s)

    @property
    def ended(self) -> bool:
        """Whether all has been played."""
        return self._place == len(self._stretches) - 1 and self._now_s >= self.ends_s

    def advance(self, span_s: float) -> None:
        """Play on by `span_s` seconds, not beyond the present stretch; the next begins at the next call."""
        if self._now_s >= self.ends_s and not self.ended:
            self._next()
        self._now_s = min(self._now_s + max(span_s, 0.0), self.ends_s)

    def readings(self, since_s: float = -math.inf) -> list[Reading]:
        """Return the present stretch's readings later than `since_s` up to now."""
        began_s = self.epoch_began_s
        return [it for it in self._all if it.time_s > since_s and began_s <= it.time_s <= self._now_s]

    def blocks(self, epoch: str = "", from_index: int = 0) -> list[Block]:
        """Return each curve from a sample on; see `Feed`. Where curves differ in rate, of the slowest."""
        stretch = self._stretches[self._place]
        first = max(from_index, 0) if epoch == self._epoch else 0
        slowest = min((rate_hz for rate_hz, _ in stretch.curves.values()), default=1.0)
        found = []
        for channel, (rate_hz, values) in stretch.curves.items():
            start = math.floor(first * rate_hz / slowest)
            played = math.floor((self._now_s - stretch.began_s) * rate_hz + 0.5)
            shown = values[start:played]
            unit = unit_of(channel)
            if len(shown):
                found.append(
                    Block(
                        epoch=self._epoch, channel=channel, unit=unit.suffix if unit else "", rate_hz=rate_hz,
                        start_index=start, values=shown.tolist(),
                    )
                )  # fmt: skip
        return found

"""Where breathing turns: breaths in and out, found on line, one sample after the other.

From flow the volume is followed that is moved by more than noise; without flow the pressure, or the carbon
dioxide upside down. A turn is certain once the level has gone back by a share of the usual breath.
"""

import math
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from statistics import median
from typing import Literal

Drive = Literal["flow_l_s", "pressure_cmh2o", "co2_mmhg"]
IN, OUT, LOST = 1, -1, 0
# what goes back by less of a breath is no turn; gas that stands at the port may flicker
_SHARE_OF_BREATH: dict[Drive, float] = {"flow_l_s": 0.2, "pressure_cmh2o": 0.2, "co2_mmhg": 0.5}
_SHARE_OF_PEAK = 0.04  # of the usual peak flow: less is rest
_NOISE_SDS = 3.0
_SMOOTHED_S: dict[Drive, float] = {"flow_l_s": 0.1, "pressure_cmh2o": 0.1, "co2_mmhg": 0.4}
_REMEMBERED = 9  # breaths that tell what is usual
_SILENCE_S = 20.0  # without a turn smaller breaths are looked for, and smaller ones again
_LOST_S = 1.0  # without samples nothing is known of the breath any more


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """What is usual before any breath is known: a breath's size, peak flow, scatter of the samples.

    All in the unit of the curve that is followed, size in its integral over seconds where it is flow.
    least: anything smaller is no breath.
    """

    drive: Drive
    size: float
    peak: float
    scatter: float
    least: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A turn that has become certain, to a breath in or out; or the curve was lost.

    first, last: from the one sample to the other the level stood at its extreme.
    certain: the sample that made sure. quiet: flow below this is rest.
    """

    into: int
    first: int
    last: int
    certain: int
    quiet: float


@dataclass(slots=True)
class Turning:
    """Follows one curve. zero: what its sensor shows at rest; it may be set between samples."""

    scale: Scale
    rate_hz: float
    zero: float = 0.0
    quiet: float = 0.0
    _into: int = OUT
    _started: bool = False
    _level: float = 0.0
    _extreme: float = 0.0
    _other: float = 0.0
    _first: int = 0
    _last: int = 0
    _needed: float = 0.0
    _peak: float = 0.0
    _silent_since: int = 0
    _unknown: int = 0
    _sum: float = 0.0
    _recent: "deque[float]" = field(default_factory=deque)
    _sizes: "deque[float]" = field(default_factory=lambda: deque(maxlen=_REMEMBERED))
    _peaks: "deque[float]" = field(default_factory=lambda: deque(maxlen=_REMEMBERED))

    def __post_init__(self) -> None:
        """Take the scale."""
        self._peaks.append(self.scale.peak)
        self._sizes.append(self.scale.size)
        self._expect()

    def _expect(self) -> None:
        """Say anew what is a turn, and what is rest."""
        self._needed = max(_SHARE_OF_BREATH[self.scale.drive] * median(self._sizes), self.scale.least)
        noise = (
            _NOISE_SDS
            * self.scale.scatter
            / math.sqrt(max(_SMOOTHED_S[self.scale.drive] * self.rate_hz, 1.0))
        )
        self.quiet = max(_SHARE_OF_PEAK * median(self._peaks), noise)

    def follow(self, samples: "list[float]", index: int) -> Iterator[Turn]:
        """Yield the turns that these samples make sure of; `index` is the place of the first of them."""
        integrates = self.scale.drive == "flow_l_s"
        sign = -1.0 if self.scale.drive == "co2_mmhg" else 1.0
        for place, sample in enumerate(samples, start=index):
            if math.isnan(sample):
                self._unknown += 1
                if self._started and self._unknown > _LOST_S * self.rate_hz:
                    yield self._lose(place)
                continue
            self._unknown = 0
            value = sign * self._smoothed(sample)
            if integrates:
                value -= self.zero
                self._peak = max(self._peak, value)
                moved = value if abs(value) > self.quiet else 0.0
                self._level += moved / self.rate_hz
            else:
                self._level = value
            turn = self._judge(place)
            if turn is not None:
                yield turn

    def _smoothed(self, sample: float) -> float:
        """Return the mean of the last samples."""
        self._recent.append(sample)
        self._sum += sample
        if len(self._recent) > max(1, round(_SMOOTHED_S[self.scale.drive] * self.rate_hz)):
            self._sum -= self._recent.popleft()
        return self._sum / len(self._recent)

    def _judge(self, place: int) -> Turn | None:
        """Move the extreme on, or say that the level has turned."""
        if not self._started:
            self._started, self._extreme, self._other = True, self._level, self._level
            self._first = self._last = self._silent_since = place
        beyond = (self._level - self._extreme) * self._into
        if beyond >= 0.0:
            self._first = place if beyond > 0.0 else self._first
            self._extreme, self._last = self._level, place
        elif -beyond >= self._needed:
            return self._turn(place)
        if place - self._silent_since > _SILENCE_S * self.rate_hz:
            self._listen_closer(place)
        return None

    def _turn(self, place: int) -> Turn:
        """Remember how large the breath was, and follow the other way."""
        turn = Turn(into=-self._into, first=self._first, last=self._last, certain=place, quiet=self.quiet)
        if self._into == IN:
            self._sizes.append(abs(self._extreme - self._other))
            self._peaks.append(self._peak)
            self._expect()
        self._peak = 0.0
        self._into = -self._into
        self._other, self._extreme = self._extreme, self._level
        self._first = self._last = self._silent_since = place
        return turn

    def _listen_closer(self, place: int) -> None:
        """Look for smaller breaths in a silence: what was usual may be so no more."""
        sizes, peaks = median(self._sizes), median(self._peaks)
        self._sizes.clear()
        self._peaks.clear()
        self._sizes.append(sizes / 2.0)
        self._peaks.append(peaks / 2.0)
        self._silent_since = place
        self._expect()

    def _lose(self, place: int) -> Turn:
        """Forget where in a breath we are, not what is usual."""
        self._started, self._into, self._level, self._peak, self._sum = False, OUT, 0.0, 0.0, 0.0
        self._recent.clear()
        return Turn(into=LOST, first=place, last=place, certain=place, quiet=self.quiet)

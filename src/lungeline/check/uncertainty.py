"""How sure a measured number is: many tests as this one could have been, by the spread of each reading.

The method is that of JCGM 101:2008 (from memory): what is not known of each input is drawn many times, and
the middle 95 per cent of what comes out is the interval. Draws are spread evenly over each input (a Latin
hypercube) and are always the same, so that the same readings give the same answer.
"""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from zlib import crc32

DRAWS = 2000
SOME = 100
LOW_SHARE, HIGH_SHARE = 0.025, 0.975  # the middle 95 per cent
SURE_SHARE = 0.95  # how often a leak of the size of the detection limit would have been seen


@cache
def even(name: str) -> tuple[float, ...]:
    """Return draws between 0 and 1, spread evenly and shuffled; each name has its own."""
    shuffle = random.Random(crc32(name.encode()))  # noqa: S311  readings are scattered, nothing is kept secret
    places = [(place + shuffle.random()) / DRAWS for place in range(DRAWS)]
    shuffle.shuffle(places)
    return tuple(places)


@cache
def normal(name: str) -> tuple[float, ...]:
    """Return draws of mean 0 and standard deviation 1; each name has its own."""
    bell = NormalDist()
    return tuple(bell.inv_cdf(place) for place in even(name))


def between(name: str, draw: int, low: float, high: float) -> float:
    """Return one draw of what lies anywhere between two ends."""
    return low + (high - low) * even(name)[draw]


def quantile(ordered: Sequence[float], share: float) -> float:
    """Return the value below which a share of the ordered values lies.

    >>> quantile([1.0, 2.0, 3.0], 0.25)
    1.5
    """
    place = share * (len(ordered) - 1)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (ordered[above] - ordered[below]) * (place - below)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A number with the interval it lies in 95 times of 100; all in the number's own unit."""

    value: float
    low: float
    high: float

    def times(self, factor: float) -> "Spread":
        """Return it in another unit; factor above 0."""
        return Spread(value=self.value * factor, low=self.low * factor, high=self.high * factor)


def spread_of(value: float, drawn: Sequence[float], least: float | None = None) -> Spread:
    """Return the interval of what was drawn, with the value in it; nothing below `least`.

    >>> spread_of(2.0, [float(n) for n in range(-20, 181)], least=0.0)
    Spread(value=2.0, low=0.0, high=175.0)
    """
    ordered = sorted(drawn)
    ends = (quantile(ordered, LOW_SHARE), value, quantile(ordered, HIGH_SHARE))
    floor = min(ends) if least is None else least
    low, middle, high = (max(end, floor) for end in (min(ends), value, max(ends)))
    return Spread(value=middle, low=low, high=high)


def some_draws() -> range:
    """Return a few of the draws, spread over all of them: enough for a mean."""
    return range(0, DRAWS, DRAWS // SOME)


def each_draw(function: Callable[[int], float]) -> list[float]:
    """Return what a function makes of every draw."""
    return [function(draw) for draw in range(DRAWS)]


def detection_limit(of_nothing: Sequence[float]) -> float:
    """Return the smallest true value that shows in 95 of 100 tests, from what tests of nothing show.

    A value shows when its interval is clear of nothing. Source: Currie 1968 (from memory), two limits added:
    what must be found for that, and what may be missing from the value.
    """
    ordered = sorted(of_nothing)
    return max(quantile(ordered, SURE_SHARE) - quantile(ordered, LOW_SHARE), 0.0)

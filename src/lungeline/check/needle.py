"""Whether a needle has moved at all: one at the edge of a mark is read now on this side, now on that.

Two readings are rounded to marks alike, so their errors are not independent while the needle moves by less
than a mark. What a standing needle shows is therefore reckoned forward, from where it may stand.
"""

import math
from collections.abc import Sequence
from itertools import count
from statistics import NormalDist

from lungeline.check.readings import Instruments
from lungeline.check.uncertainty import LOW_SHARE, SURE_SHARE

_BELL = NormalDist()
_HALVINGS = 40
_LEAST = 1e-9


def chance_of_fall(read_cmh2o: float, true_cmh2o: float, told: Instruments) -> float:
    """Return how often a fall is read as at least so much, where it truly is `true_cmh2o`.

    Source: each reading rounded to the nearest mark, the needle anywhere between two marks (closed form).

    >>> told = Instruments(needle_step_cmh2o=1.0, needle_noise_cmh2o=0.2)
    >>> round(chance_of_fall(1.0, 0.0, told), 3), round(chance_of_fall(2.0, 0.0, told), 3)
    (0.113, 0.0)
    """
    step, noise = told.needle_step_cmh2o, math.sqrt(2.0) * told.needle_noise_cmh2o
    if step <= 0.0:
        return _above(true_cmh2o - read_cmh2o, noise)
    marks = 1.0 + (true_cmh2o - read_cmh2o) / step
    return _mean_above(marks, noise / step) - _mean_above(marks - 1.0, noise / step)


def shows(read_cmh2o: float, tight_cmh2o: float, told: Instruments) -> bool:
    """Whether a fall is more than a tight circle is read to show but 2.5 times in 100.

    tight_cmh2o: how far the needle truly moves on a tight circle, by cooling and sample flow.
    """
    return chance_of_fall(read_cmh2o, tight_cmh2o, told) <= LOW_SHARE


def least_to_show(of_a_step: Sequence[float], tight_cmh2o: float, told: Instruments) -> float:
    """Return the smallest leak whose fall shows in 95 of 100 tests, by the needle alone; 0 for a fine one.

    of_a_step: leak behind a fall of one mark, in each of some draws.
    """
    step = told.needle_step_cmh2o
    if step <= 0.0:
        return 0.0
    sizes = [max(size, _LEAST) for size in of_a_step]
    first = math.floor(tight_cmh2o / step)
    marks = next(mark for mark in count(first) if shows(mark * step, tight_cmh2o, told))

    def share_seen(leak: float) -> float:
        falls = (tight_cmh2o + step * leak / size for size in sizes)
        return sum(chance_of_fall(marks * step, fall, told) for fall in falls) / len(sizes)

    low, high = 0.0, max(sizes)
    while share_seen(high) < SURE_SHARE:
        low, high = high, 2.0 * high
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (low, middle) if share_seen(middle) >= SURE_SHARE else (middle, high)
    return high


def _above(mean: float, deviation: float) -> float:
    """Return how often a number of this mean is above 0."""
    if deviation <= 0.0:
        return 1.0 if mean >= 0.0 else 0.0
    return _BELL.cdf(mean / deviation)


def _mean_above(mean: float, deviation: float) -> float:
    """Return the mean of a number where it is above 0, and of 0 where it is not (normal; closed form)."""
    if deviation <= 0.0:
        return max(mean, 0.0)
    place = mean / deviation
    return mean * _BELL.cdf(place) + deviation * _BELL.pdf(place)

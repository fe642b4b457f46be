"""Is a machine getting worse? A rank test over all its past checks, and a comparison with one of them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from statistics import NormalDist, median
from typing import Any, Literal

from lungeline.case import Finding
from lungeline.errors import OutOfRangeError

FEWEST = 5  # with four checks in order even the clearest rise is chance one time in 24: too often to act upon
SURE_FRACTION = 0.05
_SAME_WITHIN = 1.96  # standard errors of a difference, 95 of 100
Course = Literal["getting worse", "getting better", "no trend shown", "too few checks"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trend:
    """The course of a number over checks.

    checks_number: how many; chance_fraction: how often checks without a trend would look so or more so.
    slope_per_day: middle of all slopes between two checks, in the number's unit for each day.
    """

    course: Course
    checks_number: int
    chance_fraction: float
    slope_per_day: float

    def as_json(self) -> dict[str, Any]:
        """Return the trend as a plain object."""
        return {
            "course": self.course,
            "checks_number": self.checks_number,
            "chance_fraction": self.chance_fraction,
            "slope_per_day": self.slope_per_day,
        }


def trend(days: Sequence[float], values: Sequence[float], *, worse_up: bool = True) -> Trend:
    """Return the trend of values over days; worse_up where a greater value is worse.

    Source: Mann 1945, Kendall 1975 (from memory): ranks, one-sided, exact for few checks without ties.

    >>> trend([0, 7, 14, 21, 28], [150, 180, 210, 260, 300]).course
    'getting worse'
    >>> trend([0, 7], [150, 400]).course
    'too few checks'
    """
    if len(days) != len(values):
        raise OutOfRangeError(
            where="trend", given=f"{len(days)} days, {len(values)} values", allowed="as many", do="Pair them."
        )
    ordered = sorted(zip(days, values, strict=True))
    score = sum(
        _sign(later[1] - first[1]) for first, later in combinations(ordered, 2) if later[0] > first[0]
    )
    slopes = [
        (later[1] - first[1]) / (later[0] - first[0])
        for first, later in combinations(ordered, 2)
        if later[0] > first[0]
    ]
    slope = median(slopes) if slopes else 0.0
    chance = _chance(abs(score), [value for _, value in ordered])
    return Trend(
        course=_course(len(ordered), score, chance, worse_up=worse_up),
        checks_number=len(ordered),
        chance_fraction=chance,
        slope_per_day=slope,
    )


def _course(count: int, score: int, chance: float, *, worse_up: bool) -> Course:
    if count < FEWEST:
        return "too few checks"
    if chance > SURE_FRACTION:
        return "no trend shown"
    return "getting worse" if (score > 0) is worse_up else "getting better"


def _chance(score: int, values: Sequence[float]) -> float:
    """Return how often a score at least so great comes of chance alone."""
    count, most_exact = len(values), 10
    if len(set(values)) == count <= most_exact:
        counts = _scores(count)
        return sum(times for found, times in counts.items() if found >= score) / math.factorial(count)
    return _chance_by_bell(score, values)


def _scores(count: int) -> dict[int, int]:
    """Return how many orders of so many values have each score, by putting one value in after another."""
    found = {0: 1}
    for size in range(2, count + 1):
        longer: dict[int, int] = {}
        for score, times in found.items():
            for behind in range(size):
                place = score + size - 1 - 2 * behind
                longer[place] = longer.get(place, 0) + times
        found = longer
    return found


def _chance_by_bell(score: int, values: Sequence[float]) -> float:
    count = len(values)
    ties = [list(values).count(value) for value in set(values)]
    variance = (_part(count) - sum(_part(size) for size in ties)) / 18.0
    if variance <= 0.0:
        return 1.0
    return 1.0 - NormalDist().cdf((max(score - 1, 0)) / math.sqrt(variance))


def _part(count: int) -> float:
    return count * (count - 1) * (2 * count + 5)


def _sign(difference: float) -> int:
    return (difference > 0) - (difference < 0)


def worse_finding(found: Trend, about: str, machine: str) -> list[Finding]:
    """Return the finding that a machine is getting worse, none where no trend is shown."""
    if found.course != "getting worse":
        return []
    return [
        Finding(
            code="machine_getting_worse",
            severity="caution",
            about=about,
            figures={
                "machine": machine,
                "checks_number": float(found.checks_number),
                "slope_per_day_number": found.slope_per_day,
                "chance_fraction": found.chance_fraction,
            },
        )
    ]


def as_before(
    now: tuple[float, float, float], before: tuple[float, float, float]
) -> Literal["as before", "more", "less"]:
    """Return whether a value with its interval is as it was then; both as value, low, high.

    >>> as_before((320.0, 270.0, 370.0), (300.0, 250.0, 350.0))
    'as before'
    """
    errors = [(high - low) / (2.0 * _SAME_WITHIN) for _, low, high in (now, before)]
    difference = now[0] - before[0]
    if abs(difference) <= _SAME_WITHIN * math.hypot(*errors):
        return "as before"
    return "more" if difference > 0 else "less"

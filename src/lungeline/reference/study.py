"""A published study the program is compared with, and when a number of ours agrees with one of its."""

import math
from dataclasses import dataclass

from lungeline.errors import UnknownNameError
from lungeline.figure import Seen

MEAN_ONLY_TOLERANCE_FRACTION = 0.15  # project rule where a paper prints a mean and no spread
SEM_WITHOUT_COUNT_NUMBER = 2.0  # project rule where a paper prints a SEM and no number of animals


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedValue:
    """One number of a paper, with the spread it was printed with.

    name: what was measured, ending in its unit; arm: in which group or condition, empty where there is one.
    published: mean or median in `unit`; where only a range was printed, its middle (statistic "range").
    """

    name: str
    published: float
    unit: str
    as_printed: str
    arm: str = ""
    statistic: str = "mean"
    sd: float | None = None
    sem: float | None = None
    low: float | None = None
    high: float | None = None
    animals: int | None = None

    @property
    def limits(self) -> tuple[float, float]:
        """The two ends of what agrees with the paper, by the rule that `rule` tells."""
        if self.low is not None and self.high is not None:
            return self.low, self.high
        half = self._half_width()
        return self.published - half, self.published + half

    @property
    def rule(self) -> str:
        """How `limits` was found, for a person."""
        if self.low is not None and self.high is not None:
            return "inside the printed range"
        if self.sd is not None:
            return "within the printed SD"
        if self.sem is not None and self.animals:
            return f"within one SD, from the printed SEM of {self.animals} animals (SD = SEM times root n)"
        if self.sem is not None:
            return "within twice the printed SEM (number of animals not printed)"
        return f"within {MEAN_ONLY_TOLERANCE_FRACTION:.0%} of a mean printed without spread"

    def accepts(self, ours: float) -> bool:
        """Whether our number, in `unit`, agrees with the paper."""
        low, high = self.limits
        return low <= ours <= high

    def _half_width(self) -> float:
        if self.sd is not None:
            return self.sd
        if self.sem is not None:
            return self.sem * (math.sqrt(self.animals) if self.animals else SEM_WITHOUT_COUNT_NUMBER)
        return abs(self.published) * MEAN_ONLY_TOLERANCE_FRACTION


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """A published study: who, on which animals, how set up, and what came out.

    findings: what was printed without a number, or with one that is no measurement of ours.
    """

    key: str
    title: str
    citation: str
    seen: Seen
    set_up: str
    animals: int | None
    values: tuple[PublishedValue, ...]
    findings: str = ""

    def value(self, name: str, arm: str = "") -> PublishedValue:
        """Return one number of the study by its name and arm."""
        for item in self.values:
            if (item.name, item.arm) == (name, arm):
                return item
        valid = [f"{item.name} ({item.arm})" if item.arm else item.name for item in self.values]
        given = f"{name} ({arm})" if arm else name
        raise UnknownNameError.nearest(where=f"studies.{self.key}", given=given, valid=valid)

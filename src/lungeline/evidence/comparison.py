"""A comparison of the simulated animal with one published number, and what came of it."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from lungeline.errors import LungelineError, UnitError
from lungeline.evidence.reasons import REASONS
from lungeline.evidence.shared_runs import SharedRuns
from lungeline.reference import PublishedValue, Study, studies
from lungeline.units import UNITS, unit_of

TOLD = "told in words"  # the statistic of a PublishedValue whose number is ours for the paper's words


@dataclass(frozen=True, slots=True, kw_only=True)
class Direction:
    """What a paper tells without a number: a rise, a fall, a threshold. Stands where a PublishedValue would.

    name: what is compared, ending in its unit; as_printed: what the paper tells, in short;
    low, high: what agrees with it.
    """

    name: str
    as_printed: str
    low: float = -math.inf
    high: float = math.inf

    @property
    def unit(self) -> str:
        """Suffix of the unit the name ends in."""
        found = unit_of(self.name)
        if found is None:
            raise UnitError(
                where="evidence", given=self.name, allowed="a unit at its end", do="Add its unit."
            )
        return found.suffix

    @property
    def limits(self) -> tuple[float, float]:
        """The two ends of what agrees with the paper."""
        return self.low, self.high

    @property
    def rule(self) -> str:
        """How `limits` was found, for a person."""
        return "in the direction told"

    def accepts(self, ours: float) -> bool:
        """Whether our number, in `unit`, agrees with the paper."""
        return self.low <= ours <= self.high


def told(name: str, words: str, value: float, spread: float | None = None) -> PublishedValue:
    """Return a paper's words as a number: a value with what agrees on both sides of it, or the usual 15 %."""
    low, high = (None, None) if spread is None else (value - spread, value + spread)
    unit = unit_of(name)
    if unit is None:
        raise UnitError(where="evidence", given=name, allowed="a unit at its end", do="Add its unit.")
    return PublishedValue(
        name=name,
        published=value,
        unit=unit.suffix,
        as_printed=words,
        statistic=TOLD,
        low=low,
        high=high,
    )


def printed(study: str, name: str, arm: str = "") -> PublishedValue:
    """Return a number as a study printed it."""
    return studies()[study].value(name, arm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """One published number and the simulated experiment that is set beside it.

    key: short name; study: its key in the studies; quantity, set_up: in words, what is compared and how the
    simulated experiment was set up; target_of_fit: whether the model's parameters were fitted to it, so that
    agreement proves little; run: the experiment, giving our number in the published unit.
    """

    key: str
    study: str
    quantity: str
    set_up: str
    published: PublishedValue | Direction
    run: Callable[[SharedRuns], float]
    target_of_fit: bool = False

    @property
    def source(self) -> Study:
        """The study itself."""
        return studies()[self.study]

    @property
    def reason_if_outside(self) -> str:
        """Why ours disagrees, as far as known."""
        return REASONS.get(self.key, "")

    def result(self, runs: SharedRuns) -> "Result":
        """Do the experiment; where the model cannot go on our number is missing, which counts as outside."""
        try:
            ours = float(self.run(runs))
        except LungelineError:
            ours = math.nan
        return Result(comparison=self, ours=ours, inside=self.published.accepts(ours))


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """What came of a comparison: our number in the published unit, and whether it agrees with the paper."""

    comparison: Comparison
    ours: float
    inside: bool

    @property
    def deviation_ratio(self) -> float | None:
        """Distance from the middle of what agrees, 1 at its ends; None where an end is open."""
        low, high = self.comparison.published.limits
        half = 0.5 * (high - low)
        if not math.isfinite(half) or half <= 0.0 or math.isnan(self.ours):
            return None
        return (self.ours - 0.5 * (low + high)) / half

    def as_json(self) -> dict[str, object]:
        """Return everything as a plain object; what is missing or open is null."""
        item = self.comparison
        low, high = item.published.limits
        return {
            "key": item.key,
            "study": item.study,
            "title": item.source.title,
            "seen": item.source.seen,
            "quantity": item.quantity,
            "set_up": item.set_up,
            "as_printed": item.published.as_printed,
            "low": _finite(low),
            "high": _finite(high),
            "unit": UNITS[item.published.unit].label,
            "rule": item.published.rule,
            "ours": _finite(self.ours),
            "inside": self.inside,
            "target_of_fit": item.target_of_fit,
            "reason_if_outside": item.reason_if_outside,
        }


def _finite(value: float) -> float | None:
    return float(f"{value:.6g}") if math.isfinite(value) else None

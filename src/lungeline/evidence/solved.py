"""Settings found by trial, as an experimenter would: turn one knob until a number is where a paper had it."""

from collections.abc import Callable
from dataclasses import dataclass

from lungeline.evidence.measures import Measure
from lungeline.evidence.shared_runs import Course, SharedRuns

TRIALS = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob:
    """A setting, and a measure about in proportion to it or, where it does not rise with it, against it.

    course_at: the course for a value of the knob; first: the value to start from.
    """

    course_at: Callable[[float], Course]
    measure: Measure
    first: float
    rises: bool

    def solved(self, runs: SharedRuns, wanted: float) -> float:
        """Return the value at which the measure is as wanted."""
        knob = self.first
        for _ in range(TRIALS):
            ratio = wanted / self.measure(runs.shown(self.course_at(knob)))
            knob *= ratio if self.rises else 1.0 / ratio
        return knob

"""Settings found by trial, as an experimenter would: turn one knob until a number is where the paper had it."""

from collections.abc import Callable

from lungeline.evidence.measures import Measure
from lungeline.evidence.shared_runs import Course, SharedRuns

TRIALS = 5


def solved(
    runs: SharedRuns,
    course_at: Callable[[float], Course],
    measure: Measure,
    *,
    wanted: float,
    first: float,
    rises: bool,
) -> float:
    """Return the knob's value at which a measure, about in proportion to it or against it, is as wanted.

    course_at: the course for a value of the knob; first: value to start from; rises: whether the measure
    rises with the knob.
    """
    knob = first
    for _ in range(TRIALS):
        ratio = wanted / measure(runs.shown(course_at(knob)))
        knob *= ratio if rises else 1.0 / ratio
    return knob

"""Simulated experiments that several comparisons look at, each run once."""

from concurrent.futures import Future
from dataclasses import dataclass
from statistics import fmean
from threading import Lock
from typing import Any

from lungeline.case import BREATH_KEYS, Breath, Case
from lungeline.errors import MissingError
from lungeline.simulate.run import Run, simulate

STEP_S = 0.02  # differs from half of it by less than any spread here
SETTLED_MIN = 40.0  # open lung and shunt need 30 to 40 min, all else far less
WINDOW_MIN = 2.0  # numbers are means over the last two minutes, as a person would read a monitor


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """An experiment: a case with its changes, how long it runs, how this animal differs from the usual one.

    multipliers: parameters of the animal by name, with the factor on each.
    """

    case: Case
    minutes: float = SETTLED_MIN
    multipliers: tuple[tuple[str, float], ...] = ()
    trace_rate_hz: float = 0.0


class SharedRuns:
    """Runs each course once, whoever asks first; safe to share between threads."""

    def __init__(self, step_s: float = STEP_S) -> None:
        """Start with nothing run; step_s: base step of every run [s]."""
        self.step_s = step_s
        self._lock = Lock()
        self._kept: dict[Course, Future[Run]] = {}

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel to another process empty: runs hold compiled records, and are soon made again."""
        return SharedRuns, (self.step_s,)

    def run(self, course: Course) -> Run:
        """Return the run of a course."""
        with self._lock:
            known = course in self._kept
            kept = self._kept.setdefault(course, Future())
        if not known:
            try:
                kept.set_result(self._simulated(course))
            except BaseException as error:  # whoever waits must hear of it too
                kept.set_exception(error)
                raise
        return kept.result()

    def _simulated(self, course: Course) -> Run:
        return simulate(
            course.case,
            course.minutes,
            dt_s=self.step_s,
            trace_rate_hz=course.trace_rate_hz,
            multipliers=dict(course.multipliers),
        )

    def shown(self, course: Course, at_min: float | None = None, window_min: float = WINDOW_MIN) -> Breath:
        """Return the mean of the breaths just before a time of a course, or before its end."""
        until_s = 60.0 * (course.minutes if at_min is None else at_min)
        since_s = until_s - 60.0 * window_min
        found = [breath for breath in self.run(course).breaths if since_s <= breath.time_s < until_s]
        if not found:
            raise MissingError(
                where="evidence",
                given=f"no breath between {since_s:g} and {until_s:g} s",
                allowed="a time within the course",
                do="Ask for a later time, or a wider window.",
            )
        return _mean(found)


def _mean(breaths: list[Breath]) -> Breath:
    values = {}
    for key in BREATH_KEYS:
        present = [value for breath in breaths if (value := getattr(breath, key)) is not None]
        values[key] = fmean(present) if present else None
    return Breath.from_values(values)

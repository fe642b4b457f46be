"""Curves of a leak test: what its leak alone would do to the pressure, and how it grows with pressure.

They are drawn beside the readings, so that a reading that does not fit is seen.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from lungeline.check.leak_found import LeakTest
from lungeline.check.leak_law import MIDDLE_NUMBER, REFERENCE_PRESSURE_CMH2O, leak_at
from lungeline.check.limits import LeakLimits
from lungeline.check.readings import ML_PER_L
from lungeline.check.trend import Trend
from lungeline.errors import MissingError
from lungeline.physics.constants import SECONDS_PER_MINUTE
from lungeline.physics.leak_decay import decay_pressure_cmh2o
from lungeline.physics.leaks import leak_ml_min

_POINTS = 48
_BEYOND = 1.25  # of the pressure of the test: a little more than was tested is drawn
_LEAST_TOP_CMH2O = 35.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Pressure over time by the leak alone, with its interval. at_s: from the first reading."""

    at_s: tuple[float, ...]
    pressure_cmh2o: tuple[float, ...]
    low_cmh2o: tuple[float, ...]
    high_cmh2o: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """A leak over pressure with its interval, and by the same law the limits it is judged by."""

    at_cmh2o: tuple[float, ...]
    leak_ml_min: tuple[float, ...]
    low_ml_min: tuple[float, ...]
    high_ml_min: tuple[float, ...]
    pass_ml_min: tuple[float, ...]
    fail_ml_min: tuple[float, ...]


def growth(test: LeakTest, limits: LeakLimits) -> Growth:
    """Return how the leak grows with pressure, from nothing to a little more than was tested."""
    top = max(_BEYOND * test.at_pressure_cmh2o, _LEAST_TOP_CMH2O)
    at = tuple(top * place / _POINTS for place in range(_POINTS + 1))
    found = [leak_at(test.spread, test.at_pressure_cmh2o, pressure, test.laws) for pressure in at]

    def limit(at_30: float) -> tuple[float, ...]:
        return tuple(
            float(leak_ml_min(pressure, at_30, REFERENCE_PRESSURE_CMH2O, MIDDLE_NUMBER)) for pressure in at
        )

    return Growth(
        at_cmh2o=at,
        leak_ml_min=tuple(each.value for each in found),
        low_ml_min=tuple(each.low for each in found),
        high_ml_min=tuple(each.high for each in found),
        pass_ml_min=limit(limits.pass_ml_min),
        fail_ml_min=limit(limits.fail_ml_min),
    )


def fall(test: LeakTest, start_cmh2o: float, seconds_s: float) -> Course:
    """Return the fall with all flow off. Raises MissingError where nothing tells how much is stored."""
    at, store, law = _times(seconds_s), _store(test), test.laws[1]

    def pressures(leak: float) -> tuple[float, ...]:
        return tuple(
            float(decay_pressure_cmh2o(start_cmh2o, after, store, leak, test.at_pressure_cmh2o, law))
            for after in at
        )

    spread = test.spread
    return Course(
        at_s=at,
        pressure_cmh2o=pressures(spread.value),
        low_cmh2o=pressures(spread.high),
        high_cmh2o=pressures(spread.low),
    )


def rise(test: LeakTest, flow_l_min: float, start_cmh2o: float, seconds_s: float) -> Course:
    """Return the rise with a steady flow: what flows in less what leaks, over what is stored."""
    at, store, law = _times(seconds_s), _store(test), test.laws[1]
    step_min = seconds_s / SECONDS_PER_MINUTE / _POINTS

    def speed(pressure: float, leak: float) -> float:
        lost = float(leak_ml_min(pressure, leak, test.at_pressure_cmh2o, law))
        return (flow_l_min * ML_PER_L - lost) / store

    def pressures(leak: float) -> tuple[float, ...]:
        found = [start_cmh2o]
        for _ in range(_POINTS):
            now = found[-1]
            first = speed(now, leak)
            later = speed(max(now + first * step_min, 0.0), leak)
            found.append(max(now + (first + later) / 2.0 * step_min, 0.0))
        return tuple(found)

    spread = test.spread
    return Course(
        at_s=at,
        pressure_cmh2o=pressures(spread.value),
        low_cmh2o=pressures(spread.high),
        high_cmh2o=pressures(spread.low),
    )


def trend_line(found: Trend, days: Sequence[float], values: Sequence[float]) -> tuple[float, ...]:
    """Return the line of a trend at each day; its slope is the middle of all, its height too.

    Source: Theil 1950, Sen 1968 (from memory).
    """
    if not days:
        return ()
    height = median(value - found.slope_per_day * day for day, value in zip(days, values, strict=True))
    return tuple(height + found.slope_per_day * day for day in days)


def _times(seconds_s: float) -> tuple[float, ...]:
    return tuple(seconds_s * place / _POINTS for place in range(_POINTS + 1))


def _store(test: LeakTest) -> float:
    if test.compliance is None or not test.compliance.value:
        raise MissingError(
            where="leak curve", given="no compliance", allowed="a test that knows or measures it",
            do="Give the litres under test, or test by rise and fall.",
        )  # fmt: skip
    return test.compliance.value

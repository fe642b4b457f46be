"""What perfect instruments would show of simulated breaths: of rows as the kernel writes them, quickly."""

import math
from collections.abc import Callable, Mapping
from functools import cache

import numpy as np
import numpy.typing as npt

from lungeline.explain.channel import HOLD_KEY, PLATEAU_KEY, channels
from lungeline.simulate.kernel.state import BREATH_KEYS
from lungeline.simulate.sensors import NO_ERRORS, diluted
from lungeline.units import unit_of

Array = npt.NDArray[np.float64]
Shown = dict[str, float]
LOOK_S = 45.0  # breaths of this long are averaged
MEAN_OF = 5  # breaths, as of readings
_MAY_BE_BELOW_ZERO = ("map_mmhg",)
_PLACE = {name: i for i, name in enumerate(BREATH_KEYS)}
_TIME, _RATE = _PLACE["time_s"], _PLACE["respiratory_rate_per_min"]


@cache
def _names() -> tuple[str, ...]:
    return tuple(name for name in channels() if name != HOLD_KEY)


@cache
def _limits() -> tuple[npt.NDArray[np.intp], Array, Array, Array]:
    """Return, for each reading, the column it is read from, its constant error, least and largest number."""
    columns, biases, least, largest = [], [], [], []
    for name in _names():
        it = channels()[name]
        unit = unit_of(it.key)
        suffix = "" if unit is None else unit.suffix
        from_stroke = it.place == "reservoir" and it.key == "tidal_volume_inspired_l"
        columns.append(_PLACE["set_tidal_volume_l" if from_stroke else it.key])
        biases.append(it.bias)
        least.append(-math.inf if suffix == "cmh2o" or it.key in _MAY_BE_BELOW_ZERO else 0.0)
        largest.append(1.0 if suffix == "fraction" else math.inf)
    return np.array(columns, dtype=np.intp), np.array(biases), np.array(least), np.array(largest)


def _errors(errors: Mapping[str, float]) -> tuple[Array, Array]:
    """Return by what instruments multiply the truth, and what they add to it."""
    known = {**NO_ERRORS, **errors}
    times, plus = np.ones(len(_names())), np.zeros(len(_names()))
    for i, name in enumerate(_names()):
        it = channels()[name]
        if it.place == "sample line":
            plus[i] = diluted(0.0, it.key, known["sample_air_fraction"])
            times[i] = diluted(1.0, it.key, known["sample_air_fraction"]) - plus[i]
        elif it.key == "tidal_volume_expired_l":
            times[i] = known["expired_volume_factor"]
        elif it.key == "map_mmhg":
            plus[i] = known["arterial_pressure_offset_mmhg"]
    return times, plus


def looker(rows: Array, errors: Mapping[str, float]) -> Callable[[float], Shown]:
    """Return what tells, for a time [s], what the instruments show of the breaths that ended just before.

    rows: breaths as the kernel writes them; errors: what faults do to instruments.
    """
    (times, plus), (columns, bias, least, largest) = _errors(errors), _limits()
    stroke = columns == _PLACE["set_tidal_volume_l"]
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = rows[:, _TIME] + np.where(rows[:, _RATE] > 0.0, 60.0 / rows[:, _RATE], 0.0)

    def look(at_s: float) -> Shown:
        late = rows[(ends > at_s - LOOK_S) & (ends <= at_s)][-MEAN_OF:]
        if not len(late):
            return {}
        there = np.isfinite(late)
        counts = there.sum(axis=0)
        means = np.where(counts > 0, np.where(there, late, 0.0).sum(axis=0) / np.maximum(counts, 1), np.nan)
        values = means[columns]
        values[stroke] = np.where(
            np.isfinite(values[stroke]), values[stroke], means[_PLACE["tidal_volume_inspired_l"]]
        )
        values = np.clip(values * times + plus + bias, least, largest).tolist()
        found = {name: value for name, value in zip(_names(), values, strict=True) if math.isfinite(value)}
        held = _held_cmh2o(means)
        return found if held is None else {PLATEAU_KEY: held + _stretch_cmh2o(means), **found, HOLD_KEY: held}

    return look


def _stretch_cmh2o(means: Array) -> float:
    """Return what a breath held in adds to that: the pressure without flow that holds its volume."""
    volume, compliance = (means[_PLACE[name]] for name in ("tidal_volume_inspired_l", "compliance_l_cmh2o"))
    return float(volume / compliance)


def _held_cmh2o(means: Array) -> float | None:
    """Return what an expiratory hold would show: the baseline, and the pressure of trapped gas."""
    baseline, trapped, compliance = (
        float(means[_PLACE[name]])
        for name in ("end_expiratory_pressure_cmh2o", "trapped_volume_l", "compliance_l_cmh2o")
    )
    if not (math.isfinite(baseline) and math.isfinite(compliance) and compliance > 0.0):
        return None
    return baseline + (trapped if math.isfinite(trapped) else 0.0) / compliance


__all__ = ["Shown", "looker"]

"""Rows of a chart as a person would type them: what usual instruments show of the simulated animal."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from lungeline.case import Breath
from lungeline.simulate.instruments import blood_gas_instruments, usual_instruments
from lungeline.simulate.sensors import Instrument, measure

Row = tuple[float, str, dict[str, Any]]
_EVERY_MIN = 5.0
_SECONDS_PER_MINUTE = 60.0
_NOT_TYPED = frozenset({"mac_multiple"})  # reckoned from the agent, not read off
_PRESSURES_ABOVE, _PRESSURES_BELOW = 1.28, 0.8  # of the mean, for a chart that looks like one; assumption


def reading_rows(breaths: Sequence[Breath], seed: int) -> Iterator[Row]:
    """Yield a row of vital signs every five minutes."""
    draws = np.random.default_rng(seed)
    instruments = tuple(usual_instruments())
    at_min = 2.0
    while breaths and at_min * _SECONDS_PER_MINUTE < breaths[-1].time_s:
        body = _measured(_breath_at(breaths, at_min), instruments, draws)
        mean = body.get("map_mmhg")
        if mean is not None:
            body["systolic_pressure_mmhg"] = float(round(mean * _PRESSURES_ABOVE))
            body["diastolic_pressure_mmhg"] = float(round(mean * _PRESSURES_BELOW))
        yield at_min, "reading", body
        at_min += _EVERY_MIN


def gases_rows(breaths: Sequence[Breath], at_minutes: Sequence[float], seed: int) -> Iterator[Row]:
    """Yield the blood gases that were drawn."""
    draws = np.random.default_rng(seed + 1)
    for at_min in at_minutes:
        if at_min * _SECONDS_PER_MINUTE < breaths[-1].time_s:
            body = _measured(_breath_at(breaths, at_min), tuple(blood_gas_instruments()), draws)
            yield at_min, "gases", {"sample": "arterial", **body}


def _breath_at(breaths: Sequence[Breath], at_min: float) -> Breath:
    time_s = at_min * _SECONDS_PER_MINUTE
    return min(breaths, key=lambda breath: abs(breath.time_s - time_s))


def _measured(
    breath: Breath, instruments: Sequence[Instrument], draws: np.random.Generator
) -> dict[str, Any]:
    shown = measure(breath, instruments, {}, draws)
    return {
        reading.key: reading.value
        for reading in shown
        if reading.value is not None and reading.key not in _NOT_TYPED
    }

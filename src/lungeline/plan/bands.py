"""How far apart animals would go in the planned course: bands to draw behind the lanes of a screen."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from lungeline.plan.model import STEP_S
from lungeline.plan.planning import Plan
from lungeline.reference import species_status
from lungeline.simulate.herd import simulate_herd

BAND_ANIMALS = 24  # enough for a band that is looked at; numbers to rely on come from the plan's own herd
LONGEST_BAND_MIN = 120.0
BAND_KEYS = (
    "peak_pressure_cmh2o",
    "etco2_mmhg",
    "paco2_mmhg",
    "pao2_mmhg",
    "spo2_fraction",
    "fio2_fraction",
    "end_tidal_agent_fraction",
    "mac_multiple",
    "map_mmhg",
    "heart_rate_per_min",
)
_SHARES = (10.0, 50.0, 90.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bands:
    """By key of a breath, 10 %, middle and 90 % of the animals, minute by minute. None where none had it."""

    at_min: tuple[float, ...]
    animals: int
    values: dict[str, dict[str, tuple[float | None, ...]]]

    def as_json(self) -> dict[str, Any]:
        """Return the bands as a plain object."""
        values = {key: {end: list(line) for end, line in band.items()} for key, band in self.values.items()}
        return {"at_min": list(self.at_min), "animals": self.animals, "values": values}


def bands(
    plan: Plan,
    *,
    animals: int = BAND_ANIMALS,
    seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> Bands:
    """Return the bands of a plan's course, its later changes included.

    animals: drawn, 1 to 5000; seed: of the draw; progress: called with (done, animals).
    """
    minutes = min(plan.case.procedure.expected_min, LONGEST_BAND_MIN)
    herd = simulate_herd(
        plan.planned, animals, seed, minutes, dt_s=STEP_S, progress=progress,
        validated=species_status(plan.case.animal.species).validated,
    )  # fmt: skip
    values = {}
    for key in BAND_KEYS:
        low, middle, high = (_line(line) for line in herd.percentiles(key, _SHARES).values())
        values[key] = {"low": low, "middle": middle, "high": high}
    return Bands(at_min=tuple((herd.times_s / 60.0).tolist()), animals=herd.n, values=values)


def _line(values: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> tuple[float | None, ...]:
    return tuple(None if np.isnan(each) else float(each) for each in values)

"""The usual animals and settings of the simulated experiments; a paper's own numbers go on top of these."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from lungeline.case import Animal, Case, Change, Settings, Start

HORSE_KG = 500.0  # where a paper prints no weight
HORSE = Animal(species="horse", weight_kg=HORSE_KG)
LATERAL_HORSE = Animal(species="horse", weight_kg=HORSE_KG, position="left lateral")
VOLUME_ML_KG = 13.0  # where a paper prints no tidal volume: the middle of 10 to 15
RATE_PER_MIN = 6.0
DIAL_PERCENT = 2.2  # isoflurane; about 1.1 MAC after 40 min
HIGH_LIMIT_CMH2O = 90.0  # out of the way, for steps that need high pressures
USUAL = "500 kg, 13 mL/kg at 6/min, PEEP 0, isoflurane about 1.1 MAC in oxygen"
USUAL_BREATHING = "500 kg, breathing for itself, isoflurane about 1.1 MAC in oxygen"


def ventilated(
    animal: Animal = HORSE,
    *,
    changes: tuple[Change, ...] = (),
    **settings: Any,  # noqa: ANN401  any setting, by its name
) -> Case:
    """Return a case under volume control on no PEEP; `settings` go on top."""
    usual: dict[str, Any] = {
        "tidal_volume_l": VOLUME_ML_KG * animal.weight_kg / 1000.0,
        "respiratory_rate_per_min": RATE_PER_MIN,
        "peep_cmh2o": 0.0,
        "pressure_limit_cmh2o": HIGH_LIMIT_CMH2O,
        "vaporiser_percent": DIAL_PERCENT,
    }
    return Case(animal=animal, settings=Settings(**{**usual, **settings}), changes=changes)


def from_induction(animal: Animal = HORSE, **settings: Any) -> Case:  # noqa: ANN401  any setting, by its name
    """Return a ventilated case from the moment it is connected, its lung still open."""
    return replace(ventilated(animal, **settings), start=Start(state="induced"))


def breathing(
    animal: Animal = HORSE,
    *,
    changes: tuple[Change, ...] = (),
    **settings: Any,  # noqa: ANN401  any setting, by its name
) -> Case:
    """Return a case that breathes for itself; `settings` go on top."""
    usual: dict[str, Any] = {"mode": "spontaneous", "peep_cmh2o": 0.0, "vaporiser_percent": DIAL_PERCENT}
    return Case(animal=animal, settings=Settings(**{**usual, **settings}), changes=changes)


def peep_steps(pressures_cmh2o: Sequence[float], *, from_min: float, step_min: float) -> tuple[Change, ...]:
    """Return changes that set PEEP to one pressure after another."""
    return tuple(
        Change(at_min=from_min + i * step_min, settings={"peep_cmh2o": float(pressure)})
        for i, pressure in enumerate(pressures_cmh2o)
    )

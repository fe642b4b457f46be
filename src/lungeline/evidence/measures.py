"""What is read off a breath, in the units papers print; not a number where the breath has no such value."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from lungeline.case import Breath
from lungeline.errors import UnitError
from lungeline.evidence.shared_runs import Course, SharedRuns
from lungeline.physiology.alveolar_gas import alveolar_po2_mmhg
from lungeline.physiology.dead_space import alveolar_dead_space_fraction
from lungeline.physiology.shunt import f_shunt_from_pressures_fraction
from lungeline.reference import figure
from lungeline.units import convert, unit_of

SEA_LEVEL_MMHG = 760.0
WATER_VAPOUR_MMHG = 47.0  # saturated at 37 °C
EXCHANGE_RATIO = 0.8  # customary in the papers' own equation
Measure = Callable[[Breath], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A measure read off a course at a time, or at its end."""

    course: Course
    measure: Measure
    at_min: float | None = None

    def __call__(self, runs: SharedRuns) -> float:
        """Run the course where nobody has yet, and read."""
        return self.measure(runs.shown(self.course, self.at_min))


def value(breath: Breath, key: str) -> float:
    """Return a number of a breath."""
    found: float | None = getattr(breath, key)
    return math.nan if found is None else found


def as_unit(key: str, suffix: str) -> Measure:
    """Return the measure that reads this number in another unit."""
    return partial(_converted, key=key, suffix=suffix)


def plain(key: str) -> Measure:
    """Return the measure that reads this number as it is."""
    return partial(value, key=key)


def _converted(breath: Breath, key: str, suffix: str) -> float:
    unit = unit_of(key)
    if unit is None:
        raise UnitError(where="evidence", given=key, allowed="a number with a unit", do="Take another key.")
    return convert(value(breath, key), unit.suffix, suffix)


def pao2_fio2_mmhg(breath: Breath) -> float:
    """Arterial oxygen pressure over inspired fraction."""
    return value(breath, "pao2_mmhg") / value(breath, "fio2_fraction")


def pao2_fio2_kpa(breath: Breath) -> float:
    """Arterial oxygen pressure over inspired fraction."""
    return convert(pao2_fio2_mmhg(breath), "mmhg", "kpa")


def dynamic_compliance_ml_cmh2o(breath: Breath) -> float:
    """Expired volume over peak pressure above that at the end of expiration."""
    rise = value(breath, "peak_pressure_cmh2o") - value(breath, "end_expiratory_pressure_cmh2o")
    return convert(value(breath, "tidal_volume_expired_l"), "l", "ml") / rise


def dynamic_compliance_ml_cmh2o_kg(breath: Breath, weight_kg: float) -> float:
    """Dynamic compliance for each kilogram."""
    return dynamic_compliance_ml_cmh2o(breath) / weight_kg


def gap_kpa(breath: Breath) -> float:
    """Arterial less end-tidal carbon dioxide."""
    return convert(value(breath, "paco2_mmhg") - value(breath, "etco2_mmhg"), "mmhg", "kpa")


def gap_fraction(breath: Breath) -> float:
    """Arterial less end-tidal carbon dioxide, over arterial."""
    return float(alveolar_dead_space_fraction(value(breath, "paco2_mmhg"), value(breath, "etco2_mmhg")))


def gap_percent(breath: Breath) -> float:
    """The same as a percentage: alveolar dead space of alveolar tidal volume."""
    return convert(gap_fraction(breath), "fraction", "percent")


def _alveolar_mmhg(breath: Breath) -> float:
    inspired, arterial = value(breath, "fio2_fraction"), value(breath, "paco2_mmhg")
    return float(alveolar_po2_mmhg(inspired, SEA_LEVEL_MMHG, WATER_VAPOUR_MMHG, arterial, EXCHANGE_RATIO))


def alveolar_arterial_mmhg(breath: Breath) -> float:
    """Alveolar less arterial oxygen pressure, alveolar by the full gas equation."""
    return _alveolar_mmhg(breath) - value(breath, "pao2_mmhg")


def f_shunt_percent(breath: Breath) -> float:
    """Shunt without venous blood, from oxygen pressures, as the papers calculate it."""
    fraction = f_shunt_from_pressures_fraction(
        _alveolar_mmhg(breath),
        value(breath, "pao2_mmhg"),
        value(breath, "arterial_ph"),
        figure("animal.horse.p50_mmhg").value,
        figure("animal.horse.haemoglobin_g_dl").value,
    )
    return convert(float(fraction), "fraction", "percent")


def output_ml_kg_min(breath: Breath, weight_kg: float) -> float:
    """Cardiac output for each kilogram."""
    return convert(value(breath, "cardiac_output_l_min"), "l_min", "ml_min") / weight_kg

"""What is read off a breath, in the units papers print; not a number where the breath has no such value."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial

from lungeline.case import Breath
from lungeline.errors import UnitError
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
class Quantity:
    """What papers print, in words, and how it is read off a breath; per_kg: divided by body weight."""

    words: str
    measure: Measure
    per_kg: bool = False


def value(breath: Breath, key: str) -> float:
    """Return a number of a breath."""
    found: float | None = getattr(breath, key)
    return math.nan if found is None else found


def plain(key: str) -> Measure:
    """Return the measure that reads this number as it is."""
    return partial(value, key=key)


def as_unit(key: str, suffix: str) -> Measure:
    """Return the measure that reads this number in another unit."""
    return partial(_converted, key=key, suffix=suffix)


def _converted(breath: Breath, key: str, suffix: str) -> float:
    unit = unit_of(key)
    if unit is None:
        raise UnitError(where="evidence", given=key, allowed="a number with a unit", do="Take another key.")
    return convert(value(breath, key), unit.suffix, suffix)


def pao2_fio2_mmhg(breath: Breath) -> float:
    """Return arterial oxygen pressure over inspired fraction."""
    return value(breath, "pao2_mmhg") / value(breath, "fio2_fraction")


def pao2_fio2_kpa(breath: Breath) -> float:
    """Return arterial oxygen pressure over inspired fraction."""
    return convert(pao2_fio2_mmhg(breath), "mmhg", "kpa")


def dynamic_compliance_ml_cmh2o(breath: Breath) -> float:
    """Return expired volume over peak pressure above that at the end of expiration."""
    rise = value(breath, "peak_pressure_cmh2o") - value(breath, "end_expiratory_pressure_cmh2o")
    return convert(value(breath, "tidal_volume_expired_l"), "l", "ml") / rise


def gap_kpa(breath: Breath) -> float:
    """Return arterial less end-tidal carbon dioxide."""
    return convert(value(breath, "paco2_mmhg") - value(breath, "etco2_mmhg"), "mmhg", "kpa")


def gap_fraction(breath: Breath) -> float:
    """Return arterial less end-tidal carbon dioxide, over arterial."""
    return float(alveolar_dead_space_fraction(value(breath, "paco2_mmhg"), value(breath, "etco2_mmhg")))


def gap_percent(breath: Breath) -> float:
    """Return the same as a percentage: alveolar dead space of alveolar tidal volume."""
    return convert(gap_fraction(breath), "fraction", "percent")


def _alveolar_mmhg(breath: Breath) -> float:
    inspired, arterial = value(breath, "fio2_fraction"), value(breath, "paco2_mmhg")
    return float(alveolar_po2_mmhg(inspired, SEA_LEVEL_MMHG, WATER_VAPOUR_MMHG, arterial, EXCHANGE_RATIO))


def alveolar_arterial_mmhg(breath: Breath) -> float:
    """Return alveolar less arterial oxygen pressure, alveolar by the full gas equation."""
    return _alveolar_mmhg(breath) - value(breath, "pao2_mmhg")


def f_shunt_percent(breath: Breath) -> float:
    """Return shunt without venous blood, from oxygen pressures, as papers calculate it."""
    fraction = f_shunt_from_pressures_fraction(
        _alveolar_mmhg(breath),
        value(breath, "pao2_mmhg"),
        value(breath, "arterial_ph"),
        figure("animal.horse.p50_mmhg").value,
        figure("animal.horse.haemoglobin_g_dl").value,
    )
    return convert(float(fraction), "fraction", "percent")


# By the name a study gives the number.
QUANTITIES = {
    "pao2_mmhg": Quantity(words="PaO2", measure=plain("pao2_mmhg")),
    "pao2_kpa": Quantity(words="PaO2", measure=as_unit("pao2_mmhg", "kpa")),
    "pao2_fio2_mmhg": Quantity(words="PaO2/FiO2", measure=pao2_fio2_mmhg),
    "pao2_fio2_kpa": Quantity(words="PaO2/FiO2", measure=pao2_fio2_kpa),
    "alveolar_arterial_oxygen_mmhg": Quantity(words="P(A-a)O2", measure=alveolar_arterial_mmhg),
    "shunt_percent": Quantity(words="shunt", measure=as_unit("shunt_fraction", "percent")),
    "f_shunt_percent": Quantity(words="F-shunt", measure=f_shunt_percent),
    "paco2_mmhg": Quantity(words="PaCO2", measure=plain("paco2_mmhg")),
    "gap_kpa": Quantity(words="PaCO2 - EtCO2", measure=gap_kpa),
    "gap_fraction": Quantity(words="(PaCO2 - EtCO2)/PaCO2", measure=gap_fraction),
    "alveolar_dead_space_percent": Quantity(words="alveolar dead space", measure=gap_percent),
    "dynamic_compliance_ml_cmh2o": Quantity(words="dynamic compliance", measure=dynamic_compliance_ml_cmh2o),
    "dynamic_compliance_ml_cmh2o_kg": Quantity(
        words="dynamic compliance", measure=dynamic_compliance_ml_cmh2o, per_kg=True
    ),
    "static_compliance_ml_cmh2o": Quantity(
        words="static compliance", measure=as_unit("compliance_l_cmh2o", "ml_cmh2o")
    ),
    "mean_airway_pressure_cmh2o": Quantity(
        words="mean airway pressure", measure=plain("mean_airway_pressure_cmh2o")
    ),
    "tidal_volume_l": Quantity(words="tidal volume", measure=plain("tidal_volume_expired_l")),
    "respiratory_rate_per_min": Quantity(words="respiratory rate", measure=plain("respiratory_rate_per_min")),
    "cardiac_output_l_min": Quantity(words="cardiac output", measure=plain("cardiac_output_l_min")),
    "cardiac_output_ml_kg_min": Quantity(
        words="cardiac output", measure=as_unit("cardiac_output_l_min", "ml_min"), per_kg=True
    ),
    "map_mmhg": Quantity(words="mean arterial pressure", measure=plain("map_mmhg")),
}

"""A blood gas that cannot well be what it is called: asked about before it is kept, and never refused."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from lungeline.physics.water import saturated_water_vapour_mmhg
from lungeline.physiology.alveolar_gas import alveolar_po2_mmhg
from lungeline.physiology.blood_gases import oxygen_saturation_fraction
from lungeline.reference import figure

_BODY_C, _SEA_LEVEL_MMHG, _EXCHANGE_RATIO = 37.0, 760.0, 0.8
_KPA_PACO2_MMHG = 15.0  # a living large animal has more in mmHg, and usually less in kPa; assumption
_MOST_MMHG_AS_KPA = 15.0  # of carbon dioxide in kPa, 112 mmHg
_SURE_SHARE = 1.05  # above what the alveoli can have: instruments err by some per cent; assumption
_BELOW_END_TIDAL_MMHG = 5.0  # arterial below end-tidal by more than instruments err; assumption
_SATURATION_APART_FRACTION = 0.1  # between oximeter and what the oxygen pressure means; assumption
_VENOUS_PAO2_MMHG = 60.0  # assumption
_PH_APART = 0.08  # between what was typed and Henderson-Hasselbalch; assumption
_P50 = "animal.horse.p50_mmhg"  # of other species too: some mmHg more or less change nothing here
_USUAL_PH = 7.4
_PK, _SOLUBILITY_MMOL_L_MMHG = 6.1, 0.0307  # Henderson-Hasselbalch as taught; from memory


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """One thing that does not fit. code: what; figures: the numbers that do not fit each other."""

    code: str
    figures: Mapping[str, float]


def doubts(
    gas: Mapping[str, float],
    readings: Mapping[str, float],
    *,
    barometric_pressure_mmhg: float | None = None,
) -> tuple[Doubt, ...]:
    """Return what about an arterial gas does not fit.

    gas: as typed, in stored units; readings: the monitor's of that time, as far as there are any.

    >>> [it.code for it in doubts({"paco2_mmhg": 6.9, "pao2_mmhg": 40.0}, {})]
    ['kpa']
    >>> [it.code for it in doubts({"paco2_mmhg": 55.0, "pao2_mmhg": 42.0}, {"spo2_fraction": 0.97})]
    ['venous']
    >>> doubts({"paco2_mmhg": 50.0, "pao2_mmhg": 300.0}, {"fio2_fraction": 0.9, "etco2_mmhg": 42.0})
    ()
    """
    in_kpa = _in_kpa(gas)
    found = in_kpa or (
        *_more_than_alveolar(gas, readings, barometric_pressure_mmhg or _SEA_LEVEL_MMHG),
        *_venous(gas, readings),
        *_bubble(gas, readings),
    )
    return (*found, *(() if in_kpa else _ph(gas)))


def _in_kpa(gas: Mapping[str, float]) -> tuple[Doubt, ...]:
    carbon_dioxide = gas.get("paco2_mmhg")
    if carbon_dioxide is None or carbon_dioxide >= _KPA_PACO2_MMHG:
        return ()
    return (Doubt(code="kpa", figures={key: gas[key] for key in ("paco2_mmhg", "pao2_mmhg") if key in gas}),)


def _more_than_alveolar(
    gas: Mapping[str, float], readings: Mapping[str, float], barometric_pressure_mmhg: float
) -> tuple[Doubt, ...]:
    inspired = gas.get("fio2_fraction", readings.get("fio2_fraction"))
    if inspired is None or "pao2_mmhg" not in gas or "paco2_mmhg" not in gas:
        return ()
    vapour = saturated_water_vapour_mmhg(gas.get("temperature_c", _BODY_C))
    most = alveolar_po2_mmhg(inspired, barometric_pressure_mmhg, vapour, gas["paco2_mmhg"], _EXCHANGE_RATIO)
    if gas["pao2_mmhg"] <= _SURE_SHARE * most:
        return ()
    figures = {"pao2_mmhg": gas["pao2_mmhg"], "fio2_fraction": inspired, "alveolar_po2_mmhg": most}
    return (Doubt(code="inspired", figures=figures),)


def _venous(gas: Mapping[str, float], readings: Mapping[str, float]) -> tuple[Doubt, ...]:
    shown, oxygen = readings.get("spo2_fraction"), gas.get("pao2_mmhg")
    if shown is None or oxygen is None or oxygen >= _VENOUS_PAO2_MMHG:
        return ()
    means = oxygen_saturation_fraction(oxygen, gas.get("arterial_ph", _USUAL_PH), figure(_P50).value)
    if shown - means < _SATURATION_APART_FRACTION:
        return ()
    return (Doubt(code="venous", figures={"pao2_mmhg": oxygen, "spo2_fraction": shown}),)


def _bubble(gas: Mapping[str, float], readings: Mapping[str, float]) -> tuple[Doubt, ...]:
    arterial, end_tidal = gas.get("paco2_mmhg"), readings.get("etco2_mmhg")
    if arterial is None or end_tidal is None or arterial >= end_tidal - _BELOW_END_TIDAL_MMHG:
        return ()
    return (Doubt(code="bubble", figures={"paco2_mmhg": arterial, "etco2_mmhg": end_tidal}),)


def _ph(gas: Mapping[str, float]) -> tuple[Doubt, ...]:
    """Return whether pH, carbon dioxide and bicarbonate cannot be of one sample."""
    if not all(gas.get(key) for key in ("arterial_ph", "paco2_mmhg", "bicarbonate_mmol_l")):
        return ()
    dissolved = _SOLUBILITY_MMOL_L_MMHG * gas["paco2_mmhg"]
    means = _PK + math.log10(gas["bicarbonate_mmol_l"] / dissolved)
    if abs(means - gas["arterial_ph"]) <= _PH_APART:
        return ()
    keys = ("arterial_ph", "paco2_mmhg", "bicarbonate_mmol_l")
    return (Doubt(code="ph", figures={key: gas[key] for key in keys}),)

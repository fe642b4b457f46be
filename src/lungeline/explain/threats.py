"""Life threats first: what must be acted on at once, told before any cause is weighed. Nothing mutes them."""

from collections.abc import Mapping
from dataclasses import dataclass

from lungeline.case import Finding, Settings
from lungeline.explain.measured import Measured, Observed

# Lines beyond which one acts first and thinks later. Assumed: common practice, no source.
NO_CO2_MMHG = 8.0
NEAR_ZERO_ABOVE_PEEP_CMH2O = 3.0
CLIMBED_CMH2O = 5.0  # of the baseline, against what it was or what is set
HALF_OF_SET_SHARE = 0.5
LOW_SATURATION_FRACTION = 0.88  # as shown: oximeters read low in horses
FALLING_SATURATION_FRACTION = 0.04
LOW_PAO2_MMHG = 60.0
LOW_INSPIRED_OXYGEN_FRACTION = 0.3
FALLEN_INSPIRED_OXYGEN_FRACTION = 0.2
NO_FLOW_MAP_MMHG = 40.0
SAFE_SATURATION_FRACTION = 0.92
SAFE_PAO2_MMHG = 80.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Threats:
    """What threatens life now, gravest first, and whether breathing may be interrupted for a test.

    findings: each with its first safe action; oxygenation_safe: judged from a saturation or a blood gas
    that is there, above the line, and not falling; never from their absence.
    """

    findings: tuple[Finding, ...]
    oxygenation_safe: bool


def threats(measured: Measured, settings: Settings) -> Threats:
    """Return life threats in what was measured. A missing reading is no threat, and shows nothing safe."""
    seen = measured.observed
    found = (
        _no_carbon_dioxide(seen),
        _no_pressure(seen, settings),
        _climbing(seen, settings),
        _half_volume(seen, settings),
        _oxygen(seen),
        _inspired_oxygen(seen),
        _no_flow(seen),
    )
    findings = tuple(each for each in found if each is not None)
    return Threats(findings=findings, oxygenation_safe=not findings and _oxygenation_safe(seen))


def _no_carbon_dioxide(seen: Mapping[str, Observed]) -> Finding | None:
    it = seen.get("etco2_mmhg")
    if it is None or it.now >= NO_CO2_MMHG:
        return None
    return Finding(
        code="threat_no_carbon_dioxide", severity="stop", about="etco2_mmhg", figures={"etco2_mmhg": it.now}
    )


def _no_pressure(seen: Mapping[str, Observed], settings: Settings) -> Finding | None:
    it = seen.get("peak_pressure_cmh2o")
    ventilated = settings.ventilator_on and settings.mode != "spontaneous"
    if it is None or not ventilated or it.now >= (settings.peep_cmh2o or 0.0) + NEAR_ZERO_ABOVE_PEEP_CMH2O:
        return None
    return Finding(
        code="threat_no_pressure", severity="stop", about=it.key, figures={"peak_pressure_cmh2o": it.now}
    )


def _climbing(seen: Mapping[str, Observed], settings: Settings) -> Finding | None:
    it = seen.get("end_expiratory_pressure_cmh2o")
    if it is None:
        return None
    was = settings.peep_cmh2o or 0.0 if it.before is None else it.before
    if it.now - was < CLIMBED_CMH2O:
        return None
    return Finding(
        code="threat_pressure_climbs", severity="stop", about=it.key,
        figures={"end_expiratory_pressure_cmh2o": it.now, "was_cmh2o": was},
    )  # fmt: skip


def _half_volume(seen: Mapping[str, Observed], settings: Settings) -> Finding | None:
    it, wanted = seen.get("tidal_volume_expired_l"), settings.tidal_volume_l
    if it is None or not wanted or not settings.ventilator_on or settings.mode == "spontaneous":
        return None
    if it.now >= HALF_OF_SET_SHARE * wanted:
        return None
    return Finding(
        code="threat_half_volume", severity="stop", about=it.key,
        figures={"tidal_volume_expired_l": it.now, "set_l": wanted},
    )  # fmt: skip


def _oxygen(seen: Mapping[str, Observed]) -> Finding | None:
    gas, it = seen.get("pao2_mmhg"), seen.get("spo2_fraction")
    if gas is not None and gas.now < LOW_PAO2_MMHG:
        return Finding(
            code="threat_arterial_oxygen", severity="stop", about=gas.key, figures={"pao2_mmhg": gas.now}
        )
    if it is None or not (it.now < LOW_SATURATION_FRACTION or _fell(it)):
        return None
    return Finding(code="threat_saturation", severity="stop", about=it.key, figures={"spo2_fraction": it.now})


def _fell(it: Observed) -> bool:
    before = max((was for was in (it.before, it.earlier) if was is not None), default=it.now)
    return before - it.now >= FALLING_SATURATION_FRACTION


def _inspired_oxygen(seen: Mapping[str, Observed]) -> Finding | None:
    it = seen.get("fio2_fraction")
    if it is None:
        return None
    fallen = it.before is not None and it.before - it.now >= FALLEN_INSPIRED_OXYGEN_FRACTION
    if it.now >= LOW_INSPIRED_OXYGEN_FRACTION and not fallen:
        return None
    return Finding(
        code="threat_inspired_oxygen", severity="stop", about=it.key, figures={"fio2_fraction": it.now}
    )


def _no_flow(seen: Mapping[str, Observed]) -> Finding | None:
    it = seen.get("map_mmhg")
    if it is None or it.now >= NO_FLOW_MAP_MMHG:
        return None
    return Finding(code="threat_no_flow", severity="stop", about=it.key, figures={"map_mmhg": it.now})


def _oxygenation_safe(seen: Mapping[str, Observed]) -> bool:
    gas, it = seen.get("pao2_mmhg"), seen.get("spo2_fraction")
    known = [
        *([gas.now >= SAFE_PAO2_MMHG] if gas else []),
        *([it.now >= SAFE_SATURATION_FRACTION and not _fell(it)] if it else []),
    ]
    return bool(known) and all(known)

"""Rules of thumb: what is set where nothing was said, by species and weight, each a figure with its source.

Two follow from other settings: the spare volume from the tidal volume and what the reservoir holds, and the
inspiratory time from the rate where the usual one would leave too little time to breathe out.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from lungeline.case.animal import Animal
from lungeline.case.equipment import Equipment
from lungeline.case.settings import Settings
from lungeline.case.start import Start
from lungeline.figure import Figure
from lungeline.reference import figure
from lungeline.units import convert

_SECONDS_PER_MINUTE = 60.0
_LONGEST_PART_OF_CYCLE = 1 / 3  # inspiration to expiration 1:2, the shorter end of common practice
_PROJECT = "project-assumption"


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What the rules of thumb look at beside the settings themselves."""

    animal: Animal
    equipment: Equipment
    start: Start


def _published(given: Circumstances, name: str) -> Figure:
    return figure(f"defaults.{given.animal.species}.{name}")


def _as_setting(rule: Figure, name: str, unit: str, factor: float, note: str = "") -> Figure:
    """Return a rule as the setting it leads to, its value and range multiplied."""
    return replace(
        rule,
        name=f"settings.{name}",
        value=rule.value * factor,
        low=rule.low * factor,
        high=rule.high * factor,
        unit=unit,
        note=note or rule.note,
    )


def _plain(name: str, unit: str) -> "Rule":
    def rule(_settings: Settings, given: Circumstances) -> Figure:
        return _as_setting(_published(given, name), name, unit, 1.0)

    return rule


def _tidal_volume(_settings: Settings, given: Circumstances) -> Figure:
    rule = _published(given, "tidal_volume_ml_kg")
    litres_per_rule = convert(given.animal.weight_kg, "ml", "l")
    return _as_setting(
        rule, "tidal_volume_l", "l", litres_per_rule, f"{rule.value:g} mL/kg. {rule.note}".strip()
    )


def _fresh_gas_flow(_settings: Settings, given: Circumstances) -> Figure:
    rule = _published(given, "fresh_gas_flow_ml_kg_min")
    litres_per_rule = convert(given.animal.weight_kg, "ml_min", "l_min")
    by_weight = _as_setting(
        rule,
        "fresh_gas_flow_l_min",
        "l_min",
        litres_per_rule,
        f"{rule.value:g} mL/kg/min. {rule.note}".strip(),
    )
    least = _published(given, "fresh_gas_flow_least_l_min")
    return (
        by_weight
        if by_weight.value >= least.value
        else _as_setting(least, "fresh_gas_flow_l_min", "l_min", 1.0)
    )


def _inspiratory_time(settings: Settings, given: Circumstances) -> Figure:
    usual = _as_setting(_published(given, "inspiratory_time_s"), "inspiratory_time_s", "s", 1.0)
    longest_s = _LONGEST_PART_OF_CYCLE * _SECONDS_PER_MINUTE / settings.respiratory_rate_per_min
    if usual.value <= longest_s:
        return usual
    note = "Shortened to a third of the breath."
    return replace(usual, value=longest_s, low=min(usual.low, longest_s), note=note)


def _spare_volume(settings: Settings, given: Circumstances) -> Figure:
    induced = given.start.state == "induced"
    rule = _published(given, "spare_volume_induction_multiple" if induced else "spare_volume_multiple")
    note = f"{rule.value:g} tidal volumes. {rule.note}".strip()
    wished = _as_setting(rule, "spare_volume_l", "l", settings.tidal_volume_l, note)
    room_l = max(0.0, given.equipment.reservoir_capacity_l - settings.tidal_volume_l)
    if wished.value <= room_l:
        return wished
    return replace(wished, value=room_l, low=min(wished.low, room_l), note="All the reservoir has room for.")


def _vaporiser(settings: Settings, given: Circumstances) -> Figure:
    rule = _published(given, f"vaporiser_{settings.agent}_percent")
    return _as_setting(rule, "vaporiser_percent", "percent", 1.0)


def _injectable(_settings: Settings, _given: Circumstances) -> Figure:
    return Figure(
        name="settings.injectable_mac_multiple",
        value=0.0,
        low=0.0,
        high=0.0,
        unit="multiple",
        basis="assumption",
        source=_PROJECT,
        seen="not applicable",
        note="No infusion; the dose of the start wanes by itself.",
    )


Rule = Callable[[Settings, Circumstances], Figure]
# In this order: a rule may look at settings above it.
_RULES: dict[str, Rule] = {
    "tidal_volume_l": _tidal_volume,
    "inspiratory_pressure_cmh2o": _plain("inspiratory_pressure_cmh2o", "cmh2o"),
    "respiratory_rate_per_min": _plain("respiratory_rate_per_min", "per_min"),
    "inspiratory_time_s": _inspiratory_time,
    "pause_s": _plain("pause_s", "s"),
    "pressure_limit_cmh2o": _plain("pressure_limit_cmh2o", "cmh2o"),
    "peep_cmh2o": _plain("peep_cmh2o", "cmh2o"),
    "trigger_flow_l_min": _plain("trigger_flow_l_min", "l_min"),
    "apnoea_backup_s": _plain("apnoea_backup_s", "s"),
    "spare_volume_l": _spare_volume,
    "fresh_gas_flow_l_min": _fresh_gas_flow,
    "fresh_gas_oxygen_fraction": _plain("fresh_gas_oxygen_fraction", "fraction"),
    "vaporiser_percent": _vaporiser,
    "injectable_mac_multiple": _injectable,
}
RULED_SETTINGS = tuple(_RULES)
# A setting that follows from another, and is thought over when that one changes.
FOLLOWS: Mapping[str, str] = {
    "inspiratory_time_s": "respiratory_rate_per_min",
    "spare_volume_l": "tidal_volume_l",
}


def rule_of_thumb(name: str, settings: Settings, given: Circumstances) -> Figure:
    """Return the rule of thumb for a setting of these settings and circumstances, in the setting's unit."""
    return _RULES[name](settings, given)


def not_said(settings: Settings) -> tuple[str, ...]:
    """Return the settings that are left to the rules of thumb."""
    return tuple(name for name in RULED_SETTINGS if getattr(settings, name) is None)


def filled(settings: Settings, names: Iterable[str], given: Circumstances) -> Settings:
    """Return the settings with these, and no others, set by rule of thumb."""
    wanted = set(names)
    for name in RULED_SETTINGS:
        if name in wanted:
            value: Any = rule_of_thumb(name, settings, given).value
            settings = replace(settings, **{name: value})
    return settings

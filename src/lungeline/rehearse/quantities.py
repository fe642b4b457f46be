"""What a learner calls the numbers of a rehearsal: of the animal, of instruments, of harm."""

from collections.abc import Mapping, Sequence
from typing import Any

from lungeline.case.fields import described
from lungeline.case.settings import Settings
from lungeline.rehearse.acting import deed_named
from lungeline.units import unit_of
from lungeline.words import number_text

NOT_THERE = "\N{EN DASH}"
# of a breath, in the trade's words
_LABELS: Mapping[str, str] = {
    "set_tidal_volume_l": "tidal volume, set",
    "tidal_volume_inspired_l": "tidal volume in",
    "tidal_volume_expired_l": "tidal volume out",
    "respiratory_rate_per_min": "respiratory rate",
    "own_breaths_per_min": "own breaths",
    "end_expiratory_pressure_cmh2o": "end-expiratory pressure",
    "trapped_volume_l": "gas trapped",
    "etco2_mmhg": "EtCO2",
    "fico2_mmhg": "inspired CO2",
    "fio2_fraction": "FiO2",
    "end_tidal_agent_fraction": "end-tidal agent",
    "mac_multiple": "depth, multiple of MAC",
    "spare_volume_l": "spare gas",
    "paco2_mmhg": "PaCO2",
    "pao2_mmhg": "PaO2",
    "arterial_ph": "arterial pH",
    "spo2_fraction": "SpO2",
    "shunt_fraction": "shunt",
    "map_mmhg": "mean arterial pressure",
    "room_air_entrained_l": "room air drawn in",
}
# of harm, each with its unit: sums over time have none in the table of units
HARM: Mapping[str, tuple[str, str]] = {
    "hypoxaemia_minutes": ("arterial oxygen below 60 mmHg", "min"),
    "hypoxaemia_mmhg_min": ("how far below, over time", "mmHg·min"),
    "hypotension_minutes": ("mean arterial pressure below 70 mmHg", "min"),
    "low_oxygen_minutes": ("inspired oxygen more than 5 % below what is set", "min"),
    "room_air_l": ("room air drawn in", "L"),
    "pressure_cmh2o_min": ("peak pressure above 40 cmH2O, over time", "cmH2O·min"),
}


def label(key: str) -> str:
    """Return what a person calls a quantity of a breath, without its unit.

    >>> label("pao2_mmhg"), label("heart_rate_per_min")
    ('PaO2', 'heart rate')
    """
    unit = unit_of(key)
    plain = (key.removesuffix(f"_{unit.suffix}") if unit else key).replace("_", " ")
    return _LABELS.get(key, plain)


def told(key: str, value: float | None) -> str:
    """Return a value of a quantity of a breath as a person reads it.

    >>> told("shunt_fraction", 0.1234), told("pao2_mmhg", None)
    ('12.3 %', '–')
    """
    return NOT_THERE if value is None else number_text(key, value)


def harm_told(key: str, value: float) -> str:
    """Return a sum of harm as a person reads it.

    >>> harm_told("room_air_l", 52.04)
    '52.0 L'
    """
    return f"{value:.1f} {HARM[key][1]}"


def setting_told(key: str, value: Any) -> str:  # noqa: ANN401  number, word or switch
    """Return a setting as a person reads it.

    >>> setting_told("peep_cmh2o", 5.0)
    'PEEP 5 cmH2O'
    """
    return f"{setting_label(key)} {value_told(key, value)}".strip()


def setting_label(key: str) -> str:
    """Return what a person calls a setting, or what is given with a deed.

    >>> setting_label("peep_cmh2o"), setting_label("hold_s")
    ('PEEP', 'hold')
    """
    docs = described(Settings)
    return docs[key].label if key in docs else label(key)


def deed_told(code: str, given: Mapping[str, Any]) -> str:
    """Return a deed with what is given with it, as a person reads it.

    >>> deed_told("set", {"respiratory_rate_per_min": 7.0})
    'set on the ventilator: respiratory rate 7 /min'
    """
    name = deed_named(code).label
    told_with = ", ".join(setting_told(key, value) for key, value in given.items() if value is not None)
    return f"{name}: {told_with}" if told_with else name


def value_told(key: str, value: Any) -> str:  # noqa: ANN401  number, word, switch or list
    """Return a value of a setting, or of what is given with a deed, as a person reads it.

    >>> value_told("ventilator_on", False), value_told("fresh_gas_oxygen_fraction", 0.95)
    ('off', '95 %')
    """
    if isinstance(value, bool):
        return "on" if value else "off"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return ", ".join(value_told(key, each) for each in value)
    if isinstance(value, int | float) and unit_of(key):
        return number_text(key, float(value))
    return str(value).replace("_", " ")

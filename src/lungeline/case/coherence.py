"""What cannot be set together, though each value alone is possible."""

from collections.abc import Collection

from lungeline.case.defaults import Circumstances
from lungeline.case.equipment import Equipment
from lungeline.case.settings import Settings
from lungeline.errors import InputError
from lungeline.units import convert

_SECONDS_PER_MINUTE = 60.0
_TIDAL_VOLUME_ML_KG = (1.0, 40.0)  # against slips: breaths no animal of the weight is given; assumption
_ROUNDING_L = 1e-9  # a spare volume that just fills the reservoir may exceed it by the last digit
# Last mark of the vaporiser's dial [%], as usually built (from memory).
_DIAL_END_PERCENT: dict[str, float] = {
    "isoflurane": 6.0,
    "sevoflurane": 8.0,
    "desflurane": 18.0,
    "halothane": 6.0,
}


def check_settings(
    settings: Settings, given: Circumstances, assumed: Collection[str] = (), where: str = "settings"
) -> None:
    """Refuse settings that contradict each other, the animal or the equipment; names `assumed` ones so."""
    told = _Told(settings, assumed)
    if settings.mode != "spontaneous":
        _check_time(settings, told, where)
        _check_pressure(settings, told, where)
    _check_trigger(settings, told, where)
    _check_size(settings, given, told, where)
    _check_reservoir(settings, given.equipment, told, where)
    _check_dial(settings, told, where)


class _Told:
    """Names settings with their values, and says which nobody chose."""

    def __init__(self, settings: Settings, assumed: Collection[str]) -> None:
        self._settings, self._assumed = settings, assumed

    def __call__(self, *names: str) -> str:
        return ", ".join(f"{name} = {getattr(self._settings, name):.4g}{self._rule(name)}" for name in names)

    def _rule(self, name: str) -> str:
        return " (rule of thumb)" if name in self._assumed else ""


def _check_time(settings: Settings, told: _Told, where: str) -> None:
    cycle_s = _SECONDS_PER_MINUTE / settings.respiratory_rate_per_min
    if settings.inspiratory_time_s + settings.pause_s >= cycle_s:
        raise InputError(
            where=f"{where}.inspiratory_time_s",
            given=told("inspiratory_time_s", "pause_s", "respiratory_rate_per_min"),
            allowed=f"inspiratory time and pause together shorter than one breath of {cycle_s:.3g} s",
            do="Shorten the inspiratory time or the pause, or lower the rate.",
        )


def _check_pressure(settings: Settings, told: _Told, where: str) -> None:
    if settings.pressure_limit_cmh2o <= settings.peep_cmh2o:
        raise InputError(
            where=f"{where}.pressure_limit_cmh2o",
            given=told("pressure_limit_cmh2o", "peep_cmh2o"),
            allowed="a limit above PEEP",
            do="Raise the pressure limit or lower PEEP.",
        )
    highest_cmh2o = settings.peep_cmh2o + settings.inspiratory_pressure_cmh2o
    if settings.mode == "pressure" and highest_cmh2o > settings.pressure_limit_cmh2o:
        raise InputError(
            where=f"{where}.inspiratory_pressure_cmh2o",
            given=told("inspiratory_pressure_cmh2o", "peep_cmh2o", "pressure_limit_cmh2o"),
            allowed="PEEP and inspiratory pressure together not above the limit",
            do=f"Raise the pressure limit to {highest_cmh2o:g} or more, or lower one of the others.",
        )


def _check_trigger(settings: Settings, told: _Told, where: str) -> None:
    if settings.mode == "assisted" and settings.trigger_flow_l_min <= 0:
        raise InputError(
            where=f"{where}.trigger_flow_l_min",
            given=told("trigger_flow_l_min"),
            allowed="above 0 L/min in mode assisted",
            do='Set a trigger flow, or write mode = "volume".',
        )


def _check_reservoir(settings: Settings, equipment: Equipment, told: _Told, where: str) -> None:
    capacity_l = equipment.reservoir_capacity_l
    room_l = capacity_l - settings.tidal_volume_l
    if settings.spare_volume_l <= room_l + _ROUNDING_L:
        return
    fits = room_l >= 0
    raise InputError(
        where=f"{where}.{'spare_volume_l' if fits else 'tidal_volume_l'}",
        given=told("tidal_volume_l", "spare_volume_l"),
        allowed=f"together not above the {capacity_l:g} L of equipment.reservoir_capacity_l",
        do=f"Write spare_volume_l = {room_l:.4g} or less." if fits else "Use a larger reservoir.",
    )


def _check_size(settings: Settings, given: Circumstances, told: _Told, where: str) -> None:
    weight_kg = given.animal.weight_kg
    low_l, high_l = (convert(weight_kg * bound, "ml", "l") for bound in _TIDAL_VOLUME_ML_KG)
    if given.equipment.patient_port == "animal" and not low_l <= settings.tidal_volume_l <= high_l:
        raise InputError(
            where=f"{where}.tidal_volume_l",
            given=told("tidal_volume_l"),
            allowed=f"{low_l:.3g} to {high_l:.3g} L for an animal of {weight_kg:g} kg",
            do=_volume_advice(settings),
        )


def _volume_advice(settings: Settings) -> str:
    """Name the slip a volume far too large looks like: a minute volume."""
    one_l = settings.tidal_volume_l / settings.respiratory_rate_per_min
    told = f"At {settings.respiratory_rate_per_min:.3g} /min it is {one_l:.3g} L a breath."
    return f"Correct the tidal volume or the weight. Did you write the minute volume? {told}"


def _check_dial(settings: Settings, told: _Told, where: str) -> None:
    end_percent = _DIAL_END_PERCENT[settings.agent]
    if settings.vaporiser_percent > end_percent:
        raise InputError(
            where=f"{where}.vaporiser_percent",
            given=told("vaporiser_percent"),
            allowed=f"0 to {end_percent:g} %, the usual dial for {settings.agent}",
            do="Correct the dial or the agent.",
        )

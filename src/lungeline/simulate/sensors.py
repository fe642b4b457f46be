"""What an instrument makes of the truth: its place, then its fault, bias, noise and the step of its display.

Where volume is measured decides what it can show:

- inspired at the Y: what passed the Y, a leak at the cuff included;
- inspired at the reservoir: the stroke the machine made. It sees neither a leak, nor a cuff, nor a hose that
  is off. A stroke that the pressure limit cut short is shown as what passed the Y, since what the circle
  compressed meanwhile is not kept with a breath;
- expired at the Y, and in the expiratory limb: what came back past the Y.

So a leak at the cuff is the difference of both volumes at the Y. A leak of the circle is the stroke less what
was inspired at the Y, beside what the circle compresses where the machine does not make up for it.

An adapter at the Y stays with the tube when the circle comes off; the expiratory limb then gets nothing.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from lungeline.case.breath import Breath
from lungeline.case.reading import Reading
from lungeline.errors import InputError, OutOfRangeError, UnknownNameError
from lungeline.reference import figure
from lungeline.units import unit_of

if TYPE_CHECKING:
    from numpy.random import Generator

InstrumentPlace = Literal["y", "machine", "reservoir", "expiratory limb", "sample line", "animal", "syringe"]
NO_ERRORS: Mapping[str, float] = {
    "sample_air_fraction": 0.0,
    "expired_volume_factor": 1.0,
    "arterial_pressure_offset_mmhg": 0.0,
}
_AIRWAY: tuple[InstrumentPlace, ...] = ("y", "machine")
_GAS: tuple[InstrumentPlace, ...] = ("sample line", "y")
MEASURABLE: Mapping[str, tuple[InstrumentPlace, ...]] = {
    "tidal_volume_inspired_l": ("y", "reservoir"),
    "tidal_volume_expired_l": ("y", "expiratory limb"),
    "respiratory_rate_per_min": _AIRWAY,
    "own_breaths_per_min": ("animal",),
    "peak_pressure_cmh2o": _AIRWAY,
    "plateau_pressure_cmh2o": _AIRWAY,
    "mean_airway_pressure_cmh2o": _AIRWAY,
    "end_expiratory_pressure_cmh2o": _AIRWAY,
    "etco2_mmhg": _GAS,
    "fico2_mmhg": _GAS,
    "fio2_fraction": _GAS,
    "inspired_agent_fraction": _GAS,
    "end_tidal_agent_fraction": _GAS,
    "mac_multiple": _GAS,
    "spare_volume_l": ("reservoir",),
    "spo2_fraction": ("animal",),
    "map_mmhg": ("animal",),
    "heart_rate_per_min": ("animal",),
    "paco2_mmhg": ("syringe",),
    "pao2_mmhg": ("syringe",),
    "arterial_ph": ("syringe",),
}
_OXYGEN_KEYS = ("fio2_fraction", "oxygen_fraction")  # of a breath, and of a curve
_MAY_BE_BELOW_ZERO = ("map_mmhg",)  # a transducer too high shows what it shows
_ROUNDING_DIGITS = 9  # takes the dust of binary fractions off a rounded number


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """One instrument that shows one quantity.

    key: the quantity, a key of a breath; bias, display_step and noise_sd are in its unit.
    source: what a reading names as its origin.
    place: where it measures.
    delay_s: from the end of a breath to its number.
    noise_sd: standard deviation of the scatter that does not depend on the reading.
    noise_fraction: standard deviation of the scatter in proportion to the reading.
    bias: what it always shows too much.
    display_step: distance of two numbers it can show, 0 for as fine as it is.
    missing: off, or not connected; its readings are there, without a value.
    """

    key: str
    source: str
    place: InstrumentPlace
    delay_s: float = 0.0
    noise_sd: float = 0.0
    noise_fraction: float = 0.0
    bias: float = 0.0
    display_step: float = 0.0
    missing: bool = False

    def __post_init__(self) -> None:
        """Refuse an instrument that does not exist."""
        if self.key not in MEASURABLE:
            raise UnknownNameError.nearest(where="instrument.key", given=self.key, valid=MEASURABLE)
        if self.place not in MEASURABLE[self.key]:
            raise InputError(
                where=f"instrument.{self.key}.place",
                given=self.place,
                allowed=", ".join(MEASURABLE[self.key]),
                do="Measure it where it can be measured.",
            )
        for name in ("delay_s", "noise_sd", "noise_fraction", "display_step", "bias"):
            least = -math.inf if name == "bias" else 0.0
            given = getattr(self, name)
            if not (math.isfinite(given) and given >= least):
                where, allowed = f"instrument.{self.key}.{name}", "finite, and 0 or more but for a bias"
                raise OutOfRangeError(where=where, given=given, allowed=allowed, do="Correct it.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Limbs:
    """What lies between the Y and the machine's own instruments, and flows there.

    attached: whether the circle is on the tube.
    strokes: whether the machine goes on where it is not.
    inspiratory_resistance_cmh2o_s_l: hose and valve in.
    inspiratory_flow_l_s: flow at the end of a volume stroke; 0 where it has ceased by then.
    pressure_limit_cmh2o: pressure that cuts a stroke short.
    """

    attached: bool = True
    strokes: bool = True
    inspiratory_resistance_cmh2o_s_l: float = 0.0
    inspiratory_flow_l_s: float = 0.0
    pressure_limit_cmh2o: float = math.inf


_PLAIN_LIMBS = Limbs()


def measure(  # noqa: PLR0913  the last two are for those who know more than the breath
    breath: Breath,
    instruments: Iterable[Instrument],
    errors: Mapping[str, float],
    generator: "Generator",
    *,
    limbs: Limbs = _PLAIN_LIMBS,
    ended_s: float | None = None,
) -> list[Reading]:
    """Return what the instruments show of a breath, in their order.

    errors: what faults do to instruments, as `LiveCase.sensor_errors`; generator: of the noise;
    limbs: for instruments in the machine; ended_s: end of the breath, by its rate where not given [s].
    Raises UnknownNameError for an error that no instrument knows.
    """
    known = known_errors(errors)
    end_s = _end_s(breath) if ended_s is None else ended_s
    # one draw for each, missing or not, so that switching one off changes no other
    return [
        _reading(breath, instrument, known, float(generator.standard_normal()), limbs, end_s)
        for instrument in instruments
    ]


def known_errors(errors: Mapping[str, float]) -> dict[str, float]:
    """Return every error an instrument may have, those not given at none.

    Raises UnknownNameError for one that no instrument knows: it would pass unseen.
    """
    for name in errors:
        if name not in NO_ERRORS:
            raise UnknownNameError.nearest(where="sensor error", given=name, valid=NO_ERRORS)
    return {**NO_ERRORS, **errors}


def _end_s(breath: Breath) -> float:
    rate_per_min = breath.respiratory_rate_per_min
    return breath.time_s + 60.0 / rate_per_min if rate_per_min else breath.time_s


def _reading(  # noqa: PLR0913, PLR0917  one line of `measure`, which hands on all it knows
    breath: Breath, it: Instrument, errors: Mapping[str, float], noise: float, limbs: Limbs, end_s: float
) -> Reading:
    true = None if it.missing else _at_place(breath, it, limbs)
    time_s = end_s + it.delay_s
    if true is None:
        return Reading(time_s=time_s, key=it.key, value=None, source=it.source, quality="missing")
    found = _with_error(true, it, errors)
    found += it.bias + noise * math.hypot(it.noise_sd, it.noise_fraction * found)
    return Reading(time_s=time_s, key=it.key, value=_displayed(found, it), source=it.source)


def _at_place(breath: Breath, it: Instrument, limbs: Limbs) -> float | None:
    """Return the true value where the instrument sits."""
    true: float | None = getattr(breath, it.key)
    if it.place == "reservoir" and it.key == "tidal_volume_inspired_l":
        return _stroke_l(breath, limbs)
    if it.place == "expiratory limb" and not limbs.attached:
        return 0.0
    if it.place == "machine" and it.key == "peak_pressure_cmh2o" and true is not None:
        return true + limbs.inspiratory_resistance_cmh2o_s_l * limbs.inspiratory_flow_l_s
    return true


def _stroke_l(breath: Breath, limbs: Limbs) -> float | None:
    if not limbs.strokes:
        return 0.0
    peak_cmh2o = breath.peak_pressure_cmh2o
    cut_short = peak_cmh2o is not None and peak_cmh2o > limbs.pressure_limit_cmh2o
    if breath.set_tidal_volume_l is None or cut_short:
        return breath.tidal_volume_inspired_l
    return breath.set_tidal_volume_l


def _with_error(true: float, it: Instrument, errors: Mapping[str, float]) -> float:
    """Return the value as a fault of the instrument leaves it."""
    if it.place == "sample line":
        return diluted(true, it.key, errors["sample_air_fraction"])
    if it.key == "tidal_volume_expired_l":
        return true * errors["expired_volume_factor"]
    if it.key == "map_mmhg":
        return true + errors["arterial_pressure_offset_mmhg"]
    return true


def diluted(true: float, key: str, air_fraction: float) -> float:
    """Return a gas value of a sample into which room air leaks.

    air_fraction: share of air in the sample [1], 0 to 1. Air's own carbon dioxide, 0.3 mmHg, is left out.

    >>> diluted(40.0, "etco2_mmhg", 0.25)
    30.0
    """
    in_air = figure("atmosphere.oxygen_fraction").value if key in _OXYGEN_KEYS else 0.0
    return true + air_fraction * (in_air - true)


def _displayed(found: float, it: Instrument) -> float:
    """Return the number on the display: possible, and in its steps."""
    unit = unit_of(it.key)
    pressure = unit is not None and unit.suffix == "cmh2o"
    if not pressure and it.key not in _MAY_BE_BELOW_ZERO:
        found = max(found, 0.0)
    if unit is not None and unit.suffix == "fraction":
        found = min(found, 1.0)
    if it.display_step > 0.0:
        found = math.floor(found / it.display_step + 0.5) * it.display_step
    return round(found, _ROUNDING_DIGITS) + 0.0  # no "-0"

"""What was measured against what was set and what was to be expected; rounding is no deviation."""

import math
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from statistics import median
from typing import TYPE_CHECKING, Any

import numpy as np

from lungeline.case import Settings

if TYPE_CHECKING:
    from lungeline.compare.wave_breath import WaveBreath
    from lungeline.simulate.herd import HerdRun

LATE_BREATHS = 7
_SET_VOLUME = ("volume", "assisted")
_SET_RATE = ("volume", "pressure")
_LOW, _HIGH = 10.0, 90.0
_DUST = 1e-9  # of binary fractions
_GROUPS = {
    "tidal_volume_inspired_l": "volume_quality",
    "tidal_volume_expired_l": "volume_quality",
    "compliance_l_cmh2o": "mechanics_quality",
    "trapped_volume_l": "mechanics_quality",
}
# by which a breath out of curves may be off, of its value and beside it; measured by bench_breaths.py
_WAVE_ERRORS: Mapping[str, tuple[float, float]] = {
    "tidal_volume_inspired_l": (0.02, 0.0),
    "tidal_volume_expired_l": (0.03, 0.0),
    "respiratory_rate_per_min": (0.02, 0.0),
    "peak_pressure_cmh2o": (0.0, 0.5),
    "plateau_pressure_cmh2o": (0.0, 0.5),
    "mean_airway_pressure_cmh2o": (0.0, 0.2),
    "end_expiratory_pressure_cmh2o": (0.0, 0.5),
    "trapped_volume_l": (0.0, 0.05),
    "compliance_l_cmh2o": (0.05, 0.0),
    "etco2_mmhg": (0.0, 1.0),
    "fico2_mmhg": (0.0, 1.0),
}
_LEAST_WIDTH = 0.02  # of what was expected: a narrower band says how little the model varies


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A number as it was read. step: it is rounded to; error: by which the instrument may be off."""

    value: float
    step: float = 0.0
    error: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """What to expect: from low to high."""

    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """One quantity that is not as it should be, in its own unit.

    key: of a breath; set_value: what was set, None where it cannot be; low, high: what was to be expected,
    both the set value where nothing else is known. size_bands: how far outside, in widths of that band (but
    not of one narrower than the doubt), what rounding and the instrument account for taken off; below zero
    where too low.
    """

    key: str
    set_value: float | None
    low: float
    high: float
    measured: float
    size_bands: float

    def as_json(self) -> dict[str, Any]:
        """Return the deviation as a plain object."""
        return asdict(self)


def deviations(
    measured: Mapping[str, Shown], expected: Mapping[str, Band], set_values: Mapping[str, float]
) -> list[Deviation]:
    """Return what lies outside of what was expected or, where nothing is, of what was set; largest first.

    A number that is missing is no deviation. A set value is as coarse as the reading it is compared with.

    >>> deviations({"peak_pressure_cmh2o": Shown(value=7.9, step=0.1)}, {}, {"peak_pressure_cmh2o": 8.0})
    []
    """
    found = []
    for key, shown in measured.items():
        band, set_value = expected.get(key), set_values.get(key)
        slack = shown.error + shown.step / 2.0
        if band is None and set_value is not None:
            band, slack = Band(low=set_value, high=set_value), shown.error + shown.step
        if band is None or not math.isfinite(shown.value):
            continue
        size = _size_bands(shown.value, band, slack)
        if size:
            found.append(
                Deviation(
                    key=key, set_value=set_value, low=band.low, high=band.high, measured=shown.value,
                    size_bands=size,
                )
            )  # fmt: skip
    return sorted(found, key=lambda each: (-abs(each.size_bands), each.key))


def _size_bands(value: float, band: Band, slack: float) -> float:
    """Return how far a value lies outside, 0 inside."""
    above, below = value - band.high - slack, band.low - slack - value
    outside = max(above, below)
    if outside <= _DUST * max(abs(value), 1.0):
        return 0.0
    width = max(band.high - band.low, _LEAST_WIDTH * abs(band.high), 2.0 * slack, _DUST)
    return math.copysign(outside / width, 1.0 if above > below else -1.0)


def set_values(settings: Settings) -> dict[str, float]:
    """Return what was set, by the key of a breath it should show in."""
    if not settings.ventilator_on or settings.mode == "spontaneous":
        return {"end_expiratory_pressure_cmh2o": settings.peep_cmh2o}
    found = {"end_expiratory_pressure_cmh2o": settings.peep_cmh2o}
    if settings.mode in _SET_VOLUME:
        found["tidal_volume_inspired_l"] = settings.tidal_volume_l
    else:
        found["peak_pressure_cmh2o"] = settings.peep_cmh2o + settings.inspiratory_pressure_cmh2o
    if settings.mode in _SET_RATE:
        found["respiratory_rate_per_min"] = settings.respiratory_rate_per_min
    return found


def expected_bands(herd: "HerdRun", from_s: float = 0.0) -> dict[str, Band]:
    """Return what 10 to 90 % of drawn animals show from a time on, by key of a breath."""
    late = np.asarray(herd.times_s) >= min(from_s, float(herd.times_s[-1]))
    found = {}
    for key, values in herd.values.items():
        columns = np.asarray(values)[:, late]
        columns = columns[:, np.isfinite(columns).any(axis=0)]
        if columns.size:
            low, high = np.nanpercentile(columns, (_LOW, _HIGH), axis=0)
            found[key] = Band(low=float(low.min()), high=float(high.max()))
    return found


def shown_by_breaths(breaths: Iterable["WaveBreath"]) -> dict[str, Shown]:
    """Return the middle of the last breaths, of numbers that are sure, with what their sensors may be off."""
    late = list(breaths)[-LATE_BREATHS:]
    found = {}
    for key, (fraction, beside) in _WAVE_ERRORS.items():
        values = [
            getattr(breath, key)
            for breath in late
            if getattr(breath, key) is not None and getattr(breath, _GROUPS.get(key, ""), "good") == "good"
        ]
        if values:
            middle = float(median(values))
            found[key] = Shown(value=middle, error=fraction * abs(middle) + beside)
    return found

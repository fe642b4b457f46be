"""What to expect of the planned settings: the middle of a drawn herd, with its 10 to 90 % range."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from lungeline.case import Case, Profile, Reasoned, Settings
from lungeline.plan.derive import Reason, derived
from lungeline.simulate.herd import HerdRun

# What a plan promises, as a breath has it.
KEYS = (
    "peak_pressure_cmh2o",
    "plateau_pressure_cmh2o",
    "mean_airway_pressure_cmh2o",
    "end_expiratory_pressure_cmh2o",
    "compliance_l_cmh2o",
    "tidal_volume_expired_l",
    "etco2_mmhg",
    "paco2_mmhg",
    "pao2_mmhg",
    "arterial_ph",
    "spo2_fraction",
    "fio2_fraction",
    "inspired_agent_fraction",
    "end_tidal_agent_fraction",
    "mac_multiple",
    "shunt_fraction",
    "cardiac_output_l_min",
    "map_mmhg",
    "heart_rate_per_min",
)
CLIPPED_SHARE = 0.05  # of the herd, above which a limit is told to clip
_LOW, _MIDDLE, _HIGH = 10.0, 50.0, 90.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What is expected once all has settled.

    numbers: by key of a breath; peaks_cmh2o: settled peak pressure of each animal, no limit in its way.
    """

    numbers: dict[str, Reasoned]
    peaks_cmh2o: tuple[float, ...]

    def as_json(self) -> dict[str, Any]:
        """Return what is expected as {value, low, high} by key."""
        return {key: number.as_json() for key, number in self.numbers.items()}


def outlook(case: Case, herd: HerdRun) -> Outlook:
    """Return what the herd shows at its end."""
    numbers = {}
    for key in KEYS:
        values = herd.values[key][:, -1]
        values = values[~np.isnan(values)]
        if not len(values):
            continue
        low, middle, high = (float(np.percentile(values, share)) for share in (_LOW, _MIDDLE, _HIGH))
        numbers[key] = _expected(case, key, herd, (low, middle, high))
    peaks = herd.values["peak_pressure_cmh2o"][:, -1]
    return Outlook(numbers=numbers, peaks_cmh2o=tuple(float(peak) for peak in peaks if peak == peak))  # noqa: PLR0124  not a number differs from itself


def _expected(case: Case, key: str, herd: HerdRun, band: tuple[float, float, float]) -> Reasoned:
    low, middle, high = band
    reason = Reason(
        formula=f"the simulated animal, median and 10 to 90 % of {herd.n} that differ as animals do",
        given={
            "species": case.animal.species,
            "weight_kg": case.animal.weight_kg,
            "position": case.animal.position,
            "after_min": float(herd.times_s[-1]) / 60.0,
        },
        sources=("project-fit",),
    )
    return derived(f"expected.{key}", middle, reason, low=low, high=high)


def pressure_limit(expected: Outlook, settings: Settings, profile: Profile) -> tuple[Reasoned, float]:
    """Return the limit to set, and the share of the herd whose breaths it would cut short.

    The upper (90th percentile) peak, PEEP included, plus the clinic's margin, never above its cap.
    """
    peak = expected.numbers["peak_pressure_cmh2o"]
    upper = peak.high or 0.0
    wanted = min(upper + profile.pressure_limit_margin_cmh2o, profile.pressure_limit_cap_cmh2o)
    limit = max(float(round(wanted)), settings.peep_cmh2o + 1.0)
    reason = Reason(
        formula="90th percentile of the herd's peak + margin, not above the cap",
        parts=(peak,),
        given={
            "upper_peak_cmh2o": upper,
            "margin_cmh2o": profile.pressure_limit_margin_cmh2o,
            "cap_cmh2o": profile.pressure_limit_cap_cmh2o,
        },
        sources=("profile",),
    )
    share = sum(peak > limit for peak in expected.peaks_cmh2o) / max(len(expected.peaks_cmh2o), 1)
    return derived("settings.pressure_limit_cmh2o", limit, reason), share

"""How much gas the reservoir must hold beyond one breath: at connection, once settled, for each manoeuvre.

The need at connection is a sum anybody can check; that it is enough is checked with the simulated animal.
"""

import math
from dataclasses import dataclass
from typing import Any

from lungeline.case import (
    Case,
    Finding,
    Profile,
    Reasoned,
    Settings,
)
from lungeline.physics.circle import circle_time_constant_min, effective_volume_l
from lungeline.plan.derive import Reason, derived, number
from lungeline.plan.gas.first_breath import first_breath_parts
from lungeline.plan.gas.gas_demand import leak_in_use, oxygen_use
from lungeline.plan.gas.manoeuvres import ManoeuvreNeed, manoeuvre_findings, manoeuvre_needs
from lungeline.plan.model import Model
from lungeline.reference import figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """Spare gas: the need at connection, what to fill to, when to lower it, and what each manoeuvre takes."""

    numbers: dict[str, Reasoned]
    parts: dict[str, Reasoned]
    manoeuvres: tuple[ManoeuvreNeed, ...]
    findings: tuple[Finding, ...]

    def value(self, name: str) -> float:
        """Return one of the numbers."""
        return number(self.numbers[name])

    def as_json(self) -> dict[str, Any]:
        """Return spare gas as it stands in a plan."""
        return {
            **{name: each.as_json() for name, each in self.numbers.items()},
            "parts": {name: each.as_json() for name, each in self.parts.items()},
            "manoeuvres": [each.as_json() for each in self.manoeuvres],
        }


def spare(model: Model, settings: Settings, profile: Profile) -> Spare:
    """Return how much gas to hold beyond a tidal volume for these settings."""
    case = model.with_settings(settings)
    parts = first_breath_parts(case, settings, profile, model.steady(settings))
    needed_l = max(sum(number(part) for part in parts.values()) - settings.tidal_volume_l, 0.0)
    numbers = _numbers(case, settings, profile, parts, needed_l)
    findings = _findings(case, settings, numbers)
    manoeuvres = manoeuvre_needs(model, settings, number(numbers["to_begin_l"]))
    return Spare(
        numbers=numbers,
        parts=parts,
        manoeuvres=manoeuvres,
        findings=(*findings, *manoeuvre_findings(manoeuvres)),
    )


def _numbers(
    case: Case, settings: Settings, profile: Profile, parts: dict[str, Reasoned], needed_l: float
) -> dict[str, Reasoned]:
    tidal_l, capacity_l = settings.tidal_volume_l, case.equipment.reservoir_capacity_l
    room_l = max(capacity_l - tidal_l, 0.0)
    usual_l = profile.spare_to_begin_multiple * tidal_l
    begin_l = min(_settable_above(max(usual_l, needed_l)), room_l)
    settled_l = min(_settable_above(profile.spare_settled_multiple * tidal_l), begin_l)
    begin_tau, settled_tau = (
        _time_constant_min(case, settings, profile, content_l)
        for content_l in (tidal_l + begin_l, tidal_l + settled_l)
    )
    given: dict[str, float | str | None] = {"tidal_volume_l": tidal_l, "reservoir_capacity_l": capacity_l}
    practice = ("common-practice", "profile")
    rows: list[tuple[str, float, Reason]] = [
        (
            "needed_l",
            needed_l,
            Reason(
                formula="sum of the parts, less one tidal volume", parts=tuple(parts.values()), given=given
            ),
        ),
        (
            "rule_of_thumb_l",
            usual_l,
            Reason(
                formula="tidal volumes to begin with × tidal volume; common practice, no source",
                given={**given, "multiple": profile.spare_to_begin_multiple},
                sources=practice,
            ),
        ),
        (
            "to_begin_l",
            begin_l,
            Reason(
                formula="the larger of need and rule of thumb, as far as the reservoir reaches",
                given={**given, "needed_l": needed_l, "rule_of_thumb_l": usual_l},
                sources=practice,
            ),
        ),
        (
            "ceiling_l",
            tidal_l + begin_l,
            Reason(formula="tidal volume + spare to begin with", given=given, sources=practice),
        ),
        (
            "settled_l",
            settled_l,
            Reason(
                formula="tidal volumes once settled × tidal volume; common practice, no source",
                given={**given, "multiple": profile.spare_settled_multiple},
                sources=practice,
            ),
        ),
        (
            "settled_ceiling_l",
            tidal_l + settled_l,
            Reason(formula="tidal volume + spare once settled", given=given, sources=practice),
        ),
        (
            "lower_at_min",
            profile.settled_after_min,
            Reason(formula="the clinic's choice", sources=("profile",), given={}),
        ),
        ("time_constant_to_begin_min", begin_tau[0], begin_tau[1]),
        ("time_constant_settled_min", settled_tau[0], settled_tau[1]),
        (
            "agent_held_less_ml",
            (begin_l - settled_l) * _vapour_ml_per_l(settings),
            Reason(
                formula="litres of reservoir less × dialled fraction ÷ vapour of a millilitre of liquid",
                given={"vaporiser_percent": settings.vaporiser_percent},
                sources=("case",),
            ),
        ),
        _to_empty(case, profile, settled_l),
    ]
    return {name: derived(f"spare.{name}", value, reason) for name, value, reason in rows}


def _settable_above(volume_l: float) -> float:
    """Return the volume rounded up to what can be set: tenths of a litre, or hundredths of a small one."""
    digits = 1 if volume_l >= 1.0 else 2
    return float(math.ceil(round(volume_l * 10**digits, 6)) / 10**digits)


def _vapour_ml_per_l(settings: Settings) -> float:
    per_ml = figure(f"agents.{settings.agent}.vapour_yield_ml_ml").value
    return settings.vaporiser_percent / 100.0 * 1000.0 / per_ml


def _time_constant_min(
    case: Case, settings: Settings, profile: Profile, content_l: float
) -> tuple[float, Reason]:
    volume_l = case.equipment.circle_volume_l + content_l
    effective = float(effective_volume_l(volume_l, profile.mixing_number, 0.0))
    flow = max(settings.fresh_gas_flow_l_min, 1e-3)
    given: dict[str, float | str | None] = {
        "volume_l": volume_l,
        "mixing_number": profile.mixing_number,
        "fresh_gas_flow_l_min": flow,
    }
    reason = Reason(formula="volume × mixing ÷ fresh gas flow", given=given, sources=("profile", "case"))
    return float(circle_time_constant_min(effective, flow)), reason


def _to_empty(case: Case, profile: Profile, settled_l: float) -> tuple[str, float, Reason]:
    """Return how long the spare lasts should fresh gas stop."""
    used, leak = oxygen_use(case), leak_in_use(case, profile)
    lost = number(used) + number(leak) + case.equipment.sample_flow_l_min
    reason = Reason(
        formula="spare once settled ÷ (oxygen used + leak + sample), fresh gas stopped",
        parts=(used, leak),
        given={"spare_volume_l": settled_l, "sample_flow_l_min": case.equipment.sample_flow_l_min},
        sources=("case",),
    )
    return "to_empty_minutes", settled_l / max(lost, 1e-6), reason


def _findings(case: Case, settings: Settings, numbers: dict[str, Reasoned]) -> tuple[Finding, ...]:
    needed_l, begin_l = number(numbers["needed_l"]), number(numbers["to_begin_l"])
    usual_l, capacity_l = number(numbers["rule_of_thumb_l"]), case.equipment.reservoir_capacity_l
    found = []
    if settings.tidal_volume_l > capacity_l:
        figures = {"tidal_volume_l": settings.tidal_volume_l, "reservoir_capacity_l": capacity_l}
        found.append(
            Finding(code="reservoir_below_breath", severity="stop", about="spare.ceiling_l", figures=figures)
        )
    if needed_l > begin_l + 1e-9:
        figures = {"needed_l": needed_l, "there_l": begin_l, "reservoir_capacity_l": capacity_l}
        found.append(
            Finding(code="spare_below_need", severity="stop", about="spare.needed_l", figures=figures)
        )
    elif needed_l > usual_l:
        figures = {"needed_l": needed_l, "rule_of_thumb_l": usual_l}
        found.append(
            Finding(code="spare_rule_too_small", severity="caution", about="spare.needed_l", figures=figures)
        )
    return tuple(found)

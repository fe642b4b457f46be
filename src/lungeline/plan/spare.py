"""How much gas the reservoir must hold beyond one breath: at connection, once settled, for each manoeuvre.

The need at connection is a sum anybody can check; that it is enough is checked with the simulated animal.
"""

import math
from dataclasses import dataclass, replace
from typing import Any

from lungeline.case import (
    Breath,
    Case,
    DeepBreath,
    Finding,
    Manoeuvre,
    Profile,
    Reasoned,
    Recruitment,
    Settings,
)
from lungeline.physics.circle import circle_time_constant_min, effective_volume_l, mixed_fraction
from lungeline.plan.derive import Reason, derived, number
from lungeline.plan.gas_demand import leak_in_use, oxygen_use
from lungeline.plan.model import STEP_S, Model
from lungeline.reference import figure
from lungeline.simulate.live import LiveCase
from lungeline.simulate.setup import circuit_values

_WIDE_RESERVOIR_L = 80.0  # so that a manoeuvre shows all it would take
_AIR_OXYGEN_FRACTION = 0.2093
_DEEP_BREATH_MULTIPLE = 2.0
_PEEP_STEP_CMH2O = 5.0
_PEEP_TIME_S = 60.0
_MINUTES_BEFORE = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class ManoeuvreNeed:
    """What one manoeuvre takes out of the reservoir at its fullest."""

    name: str
    needed_l: float
    there_l: float
    one_delivery: bool
    oxygen_after_fraction: float
    agent_after_share_fraction: float

    @property
    def short_l(self) -> float:
        """Gas that is not there: drawn in as room air, or a breath cut short."""
        return max(self.needed_l - self.there_l, 0.0)

    def as_json(self) -> dict[str, Any]:
        """Return the need as a plain object."""
        names = ("name", "needed_l", "there_l", "short_l", "one_delivery", "oxygen_after_fraction")
        return {name: getattr(self, name) for name in (*names, "agent_after_share_fraction")}


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
    parts = _parts(case, settings, profile, model.steady(settings))
    needed_l = max(sum(number(part) for part in parts.values()) - settings.tidal_volume_l, 0.0)
    numbers = _numbers(case, settings, profile, parts, needed_l)
    findings = _findings(case, settings, numbers)
    manoeuvres = _manoeuvres(model, settings, number(numbers["to_begin_l"]))
    return Spare(
        numbers=numbers,
        parts=parts,
        manoeuvres=manoeuvres,
        findings=(*findings, *_manoeuvre_findings(manoeuvres)),
    )


def _parts(case: Case, settings: Settings, profile: Profile, breath: Breath) -> dict[str, Reasoned]:
    """Return what leaves the reservoir with the first deep breath, part by part."""
    circuit = circuit_values(case, settings)["compliance_l_cmh2o"]
    first_l = profile.first_breath_multiple * settings.tidal_volume_l
    compliance = breath.compliance_l_cmh2o or 0.0
    tube_ml_kg = figure("circle.tube_and_hose_ml_kg")
    leak = leak_in_use(case, profile)
    used = oxygen_use(case)
    sample = case.equipment.sample_flow_l_min
    pressure = min(profile.accepted_peak_cmh2o, settings.peep_cmh2o + first_l / max(compliance, 1e-6))
    return {
        "first_breath_l": derived(
            "spare.first_breath_l",
            first_l,
            Reason(
                formula="tidal volume × what a first deep breath may be of it",
                given={
                    "tidal_volume_l": settings.tidal_volume_l,
                    "first_breath_multiple": profile.first_breath_multiple,
                },
                sources=("profile", "common-practice"),
            ),
        ),
        "compressed_l": derived(
            "spare.compressed_l",
            circuit * pressure,
            Reason(
                formula="compliance of the circuit × pressure of that breath, not above the accepted peak",
                given={"circuit_compliance_l_cmh2o": circuit, "pressure_cmh2o": pressure},
                sources=("case",),
            ),
        ),
        "peep_l": derived(
            "spare.peep_l",
            (compliance + circuit) * settings.peep_cmh2o,
            Reason(
                formula="(compliance of lung and circuit) × PEEP",
                given={"compliance_l_cmh2o": compliance, "peep_cmh2o": settings.peep_cmh2o},
                sources=("project-fit",),
            ),
        ),
        "tube_and_hose_l": derived(
            "spare.tube_and_hose_l",
            tube_ml_kg.value * case.animal.weight_kg / 1000.0,
            Reason(
                formula="gas of tube and Y still to be filled, per kilogram × weight",
                parts=(tube_ml_kg,),
                given={"weight_kg": case.animal.weight_kg},
                sources=("case",),
            ),
        ),
        "first_minute_l": derived(
            "spare.first_minute_l",
            number(used) + number(leak) + sample,
            Reason(
                formula="oxygen used + leak + sample in one minute, fresh gas not counted on",
                parts=(used, leak),
                given={"sample_flow_l_min": sample},
                sources=("case",),
            ),
        ),
    }


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


def _manoeuvres(model: Model, settings: Settings, spare_l: float) -> tuple[ManoeuvreNeed, ...]:
    """Return what each usual manoeuvre would take, from a reservoir wide enough to show it."""
    tidal_l = settings.tidal_volume_l
    wide = replace(
        model.case.equipment,
        reservoir_capacity_l=max(_WIDE_RESERVOIR_L, model.case.equipment.reservoir_capacity_l),
    )
    case = replace(
        model.case,
        equipment=wide,
        settings=replace(
            settings, spare_volume_l=wide.reservoir_capacity_l - tidal_l, pressure_limit_cmh2o=100.0
        ),
        assumed_settings=(),
    )
    live = LiveCase(case, dt_s=STEP_S)
    live.advance(60.0 * _MINUTES_BEFORE)
    kept, full_l = live.state(), wide.reservoir_capacity_l
    pressures = tuple(
        figure(f"limits.recruitment.{name}_pressure_cmh2o").value for name in ("first", "second", "first")
    )
    hold_s = figure("limits.recruitment.hold_s").value
    asked: list[tuple[str, Manoeuvre | None]] = [
        (
            f"one deep breath of {_DEEP_BREATH_MULTIPLE:g} tidal volumes",
            DeepBreath(volume_l=_DEEP_BREATH_MULTIPLE * tidal_l),
        ),
        (
            f"recruitment {'-'.join(f'{each:g}' for each in pressures)} cmH2O",
            Recruitment(pressures_cmh2o=pressures, hold_s=hold_s),
        ),
        (f"PEEP {settings.peep_cmh2o + _PEEP_STEP_CMH2O:g} cmH2O", None),
    ]
    found = []
    for name, manoeuvre in asked:
        live.restore(kept)
        live.settle(case.settings)
        del live.breaths[:]
        full_l = live.reservoir_l()
        if manoeuvre is None:
            live.settle(replace(case.settings, peep_cmh2o=settings.peep_cmh2o + _PEEP_STEP_CMH2O))
            live.advance(_PEEP_TIME_S)
        else:
            live.manoeuvre(manoeuvre)
            live.advance(2.0 * 60.0 / settings.respiratory_rate_per_min)
        lowest_l = min(
            (b.spare_volume_l for b in live.breaths if b.spare_volume_l is not None), default=full_l
        )
        found.append(_need(model.case, settings, name, full_l - lowest_l - tidal_l, spare_l))
    return tuple(found)


def _need(case: Case, settings: Settings, name: str, needed_l: float, spare_l: float) -> ManoeuvreNeed:
    """Return a manoeuvre's need beyond a tidal volume, and what room air in its place would do."""
    needed_l = max(needed_l, 0.0)
    short_l = max(needed_l - spare_l, 0.0)
    circle_l = case.equipment.circle_volume_l
    oxygen = settings.fresh_gas_oxygen_fraction
    after = float(mixed_fraction(circle_l, oxygen, short_l, _AIR_OXYGEN_FRACTION))
    return ManoeuvreNeed(
        name=name,
        needed_l=needed_l,
        there_l=spare_l,
        one_delivery=needed_l + settings.tidal_volume_l <= case.equipment.reservoir_capacity_l,
        oxygen_after_fraction=after,
        agent_after_share_fraction=circle_l / (circle_l + short_l),
    )


def _manoeuvre_findings(needs: tuple[ManoeuvreNeed, ...]) -> tuple[Finding, ...]:
    found = []
    for need in needs:
        if need.short_l <= 0.0:
            continue
        code = "manoeuvre_needs_more_gas" if need.one_delivery else "manoeuvre_beyond_reservoir"
        figures: dict[str, float | str | None] = {
            "name": need.name,
            "needed_l": need.needed_l,
            "there_l": need.there_l,
            "oxygen_after_fraction": need.oxygen_after_fraction,
        }
        found.append(Finding(code=code, severity="caution", about="spare.manoeuvres", figures=figures))
    return tuple(found)

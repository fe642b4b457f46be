"""Fresh gas and dial over the case: induction first, then maintenance, each with its reason."""

from dataclasses import dataclass
from typing import Any, Literal

from lungeline.case import Case, Finding, Profile, Reasoned, Stretch
from lungeline.plan.derive import Reason, by_last_name, derived, number
from lungeline.plan.gas.gas_demand import least_flow, oxygen_use
from lungeline.plan.gas.vaporiser import HIGHEST_DIAL_PERCENT, Vaporiser, body_uptake_ml, wanted_percent
from lungeline.reference import figure
from lungeline.units import convert

PhaseName = Literal["induction", "maintenance"]
_LEAST_CARRIER_L_MIN = 1e-3  # without fresh gas no dial gives anything


@dataclass(frozen=True, slots=True, kw_only=True)
class GasPhase:
    """A part of the case with one flow and one dial. from_min: when it begins, counted from connection."""

    phase: PhaseName
    from_min: float
    lasts_minutes: Reasoned
    fresh_gas_flow_l_min: Reasoned
    fresh_gas_oxygen_fraction: Reasoned
    vaporiser_percent: Reasoned
    rule_vaporiser_percent: Reasoned

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it."""
        return (
            self.lasts_minutes,
            self.fresh_gas_flow_l_min,
            self.fresh_gas_oxygen_fraction,
            self.vaporiser_percent,
            self.rule_vaporiser_percent,
        )

    def as_json(self) -> dict[str, Any]:
        """Return the phase as it stands in a plan."""
        return {"phase": self.phase, "from_min": self.from_min, **by_last_name(self.numbers)}


@dataclass(frozen=True, slots=True, kw_only=True)
class GasSchedule:
    """The phases in order; wanted_percent: the agent wanted in alveolar gas."""

    wanted_percent: Reasoned
    phases: tuple[GasPhase, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number."""
        return (self.wanted_percent, *(each for phase in self.phases for each in phase.numbers))

    def as_json(self) -> dict[str, Any]:
        """Return the schedule as it stands in a plan."""
        return {**by_last_name((self.wanted_percent,)), "phases": [phase.as_json() for phase in self.phases]}

    def changes(self) -> list[dict[str, float]]:
        """Return the schedule in the form of a case's [[changes]]."""
        return [
            {
                "at_min": phase.from_min,
                "fresh_gas_flow_l_min": number(phase.fresh_gas_flow_l_min),
                "vaporiser_percent": number(phase.vaporiser_percent),
            }
            for phase in self.phases
        ]


def gas_schedule(case: Case, profile: Profile) -> GasSchedule:
    """Return flow and dial for induction and maintenance.

    What a person chose in the case stands: from the start in an induced animal, else for maintenance. What
    nobody chose follows the rule for flow, and for the dial the balance of uptake and spill.
    """
    expected_min = case.procedure.expected_min
    first_min = min(profile.settled_after_min, expected_min)
    wanted = wanted_percent(case, profile)
    induction = _phase(case, profile, wanted, "induction", (0.0, first_min))
    maintenance = _phase(case, profile, wanted, "maintenance", (first_min, expected_min))
    findings = [*_flow_findings(case, profile, maintenance)]
    for phase in (induction, maintenance):
        findings += _dial_findings(case, phase)
    return GasSchedule(wanted_percent=wanted, phases=(induction, maintenance), findings=tuple(findings))


def _phase(
    case: Case, profile: Profile, wanted: Reasoned, phase: PhaseName, span_min: tuple[float, float]
) -> GasPhase:
    from_min, to_min = span_min
    place = f"schedule.{phase}"
    stretch = _stretch(case, phase)
    flow = _flow(case, phase, stretch)
    rule = figure(f"defaults.{case.animal.species}.vaporiser_{case.settings.agent}_percent")
    limits = ("settled_after_min", profile.settled_after_min), ("expected_min", case.procedure.expected_min)
    lasts = Reason(formula="from profile and procedure", given=dict(limits), sources=("profile", "case"))
    return GasPhase(
        phase=phase,
        from_min=from_min,
        lasts_minutes=derived(f"{place}.lasts_minutes", to_min - from_min, lasts),
        fresh_gas_flow_l_min=flow,
        fresh_gas_oxygen_fraction=_oxygen(case, place, stretch),
        vaporiser_percent=_dial(case, wanted, flow, stretch, (place, from_min, to_min)),
        rule_vaporiser_percent=derived(
            f"{place}.rule_vaporiser_percent",
            rule.value,
            Reason(formula="rule of thumb", parts=(rule,), note=rule.note),
            low=rule.low,
            high=rule.high,
        ),
    )


def _stretch(case: Case, phase: PhaseName) -> Stretch | None:
    """Return what a person has set for a phase, None where the case says nothing about it."""
    if phase == "induction":
        return case.timeline()[0] if case.start.state == "induced" else None
    due = [part for part in case.timeline() if part.from_min <= case.procedure.expected_min]
    return due[-1]


def _chosen(stretch: Stretch | None, name: str) -> float | None:
    if stretch is None or name in stretch.assumed_settings:
        return None
    value: float = getattr(stretch.settings, name)
    return value


def _flow(case: Case, phase: PhaseName, stretch: Stretch | None) -> Reasoned:
    name = f"schedule.{phase}.fresh_gas_flow_l_min"
    chosen = _chosen(stretch, "fresh_gas_flow_l_min")
    if chosen is not None:
        return derived(name, chosen, Reason(formula="as set", sources=("case",)))
    animal = case.animal
    which = "fresh_gas_flow_induction_ml_kg_min" if phase == "induction" else "fresh_gas_flow_ml_kg_min"
    rule = figure(f"defaults.{animal.species}.{which}")
    least = figure(f"defaults.{animal.species}.fresh_gas_flow_least_l_min")
    litres = convert(animal.weight_kg, "ml_min", "l_min")
    reason = Reason(
        formula="rule for each kilogram × weight, and not below the least",
        parts=(rule, least),
        given={"weight_kg": animal.weight_kg},
        note=rule.note,
    )
    low, value, high = (max(each * litres, least.value) for each in (rule.low, rule.value, rule.high))
    return derived(name, value, reason, low=low, high=high)


def _oxygen(case: Case, place: str, stretch: Stretch | None) -> Reasoned:
    """Return the oxygen of the fresh gas; never more than a concentrator gives."""
    settings = case.settings if stretch is None else stretch.settings
    value, given = settings.fresh_gas_oxygen_fraction, {"set_fraction": settings.fresh_gas_oxygen_fraction}
    if case.supply.oxygen == "concentrator":
        given["concentrator_oxygen_fraction"] = case.supply.concentrator_oxygen_fraction
        value = min(value, case.supply.concentrator_oxygen_fraction)
    reason = Reason(formula="as set, not above what the source gives", given={**given}, sources=("case",))
    return derived(f"{place}.fresh_gas_oxygen_fraction", value, reason)


def _dial(
    case: Case, wanted: Reasoned, flow: Reasoned, stretch: Stretch | None, span: tuple[str, float, float]
) -> Reasoned:
    """Return the dial at which fresh gas brings what the animal takes up and what spills, over the phase."""
    place, from_min, to_min = span
    name = f"{place}.vaporiser_percent"
    chosen = _chosen(stretch, "vaporiser_percent")
    if chosen is not None:
        return derived(name, chosen, Reason(formula="as set", sources=("case",)))
    flow_l_min, vaporiser, used = number(flow), Vaporiser.of(case), oxygen_use(case)
    uptake_l_min = _mean_uptake_l_min(case, wanted, from_min, to_min)
    circle_fraction = convert(number(wanted), "percent", "fraction")
    spill_l_min = max(flow_l_min - number(used), 0.0)
    vapour_l_min = uptake_l_min + circle_fraction / (1.0 - circle_fraction) * spill_l_min
    carrier_l_min = max(flow_l_min, _LEAST_CARRIER_L_MIN)
    wished = vaporiser.dial_percent(vapour_l_min / (carrier_l_min + vapour_l_min))
    reason = Reason(
        formula="vapour ÷ (fresh gas + vapour); vapour = mean uptake by √time + w ÷ (1 - w) × (fresh gas - "
        "oxygen used), w the wanted fraction; at this altitude, to the highest mark of the dial",
        parts=(wanted, flow, used),
        given={"uptake_l_min": uptake_l_min, "wished_percent": wished},
        sources=("memory",),
        note="Uptake after Lowe & Ernst. A dial to start from: watch the end-tidal concentration.",
    )
    return derived(name, min(wished, HIGHEST_DIAL_PERCENT[case.settings.agent]), reason)


def _mean_uptake_l_min(case: Case, wanted: Reasoned, from_min: float, to_min: float) -> float:
    if to_min <= from_min:
        return 0.0
    taken_ml = body_uptake_ml(case, wanted, to_min) - body_uptake_ml(case, wanted, from_min)
    at_room_ml = Vaporiser.of(case).body_to_room(taken_ml)
    return convert(at_room_ml / (to_min - from_min), "ml_min", "l_min")


def _flow_findings(case: Case, profile: Profile, phase: GasPhase) -> list[Finding]:
    least, flow = least_flow(case, profile), number(phase.fresh_gas_flow_l_min)
    if flow >= number(least):
        return []
    told: dict[str, float | str | None] = {
        "fresh_gas_flow_l_min": flow, "least_flow_l_min": least.value
    }  # fmt: skip
    return [
        Finding(code="fresh_gas_below_need", severity="caution", about=phase.fresh_gas_flow_l_min.name,
                figures=told)
    ]  # fmt: skip


def _dial_findings(case: Case, phase: GasPhase) -> list[Finding]:
    wished = phase.vaporiser_percent.inputs.get("wished_percent")
    highest = HIGHEST_DIAL_PERCENT[case.settings.agent]
    if not isinstance(wished, float) or wished <= highest:
        return []
    told: dict[str, float | str | None] = {
        "phase": phase.phase, "wished_percent": wished, "highest_percent": highest,
        "fresh_gas_flow_l_min": phase.fresh_gas_flow_l_min.value,
    }  # fmt: skip
    return [
        Finding(code="dial_beyond_vaporiser", severity="caution", about=phase.vaporiser_percent.name,
                figures=told)
    ]  # fmt: skip

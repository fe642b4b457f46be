"""Liquid agent: what the job takes, how long it lasts, and what it does to the climate."""

from dataclasses import dataclass
from typing import Any

from lungeline.case import Case, Finding, Profile, Reasoned
from lungeline.physics.agent_use import carbon_dioxide_equivalent_kg
from lungeline.physics.cylinders import endurance_whole_min
from lungeline.plan.derive import Reason, by_last_name, derived, number
from lungeline.plan.gas.gas_schedule import GasPhase
from lungeline.plan.gas.gas_use import GasUse
from lungeline.plan.gas.vaporiser import Vaporiser, body_uptake_ml
from lungeline.reference import figure
from lungeline.units import convert

GWP_SET = "GWP100, IPCC AR6 (2021)"
GWP20_SET = "GWP20, IPCC AR6 (2021)"
_MINUTES_PER_HOUR = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AgentSupply:
    """What is used of the agent. uptake_bound_ml: least that any technique must deliver."""

    agent: str
    agent_liquid_ml: Reasoned
    induction_ml_h: Reasoned
    maintenance_ml_h: Reasoned
    uptake_bound_ml: Reasoned
    agent_minutes: Reasoned
    co2_equivalent_kg: Reasoned
    co2_equivalent_20_years_kg: Reasoned
    findings: tuple[Finding, ...] = ()

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it."""
        return (
            self.agent_liquid_ml,
            self.induction_ml_h,
            self.maintenance_ml_h,
            self.uptake_bound_ml,
            self.agent_minutes,
            self.co2_equivalent_kg,
            self.co2_equivalent_20_years_kg,
        )

    def as_json(self) -> dict[str, Any]:
        """Return the agent as it stands in a plan."""
        return {**by_last_name(self.numbers), "agent": self.agent, "gwp_set": GWP_SET}


def agent_supply(case: Case, profile: Profile, use: GasUse) -> AgentSupply:
    """Return the liquid agent the schedule uses: fresh gas × dial, from priming to the end."""
    induction, maintenance = (_rate(case, phase) for phase in use.schedule.phases)
    total = _total(use, induction, maintenance)
    bound = _bound(case, use)
    lasts = _lasts(case, use, induction, maintenance)
    return AgentSupply(
        agent=case.settings.agent,
        agent_liquid_ml=total,
        induction_ml_h=induction,
        maintenance_ml_h=maintenance,
        uptake_bound_ml=bound,
        agent_minutes=lasts,
        co2_equivalent_kg=_warming(case, total, "supplies.co2_equivalent_kg", "gwp100_ar6_ratio", GWP_SET),
        co2_equivalent_20_years_kg=_warming(
            case, total, "supplies.co2_equivalent_20_years_kg", "gwp20_ar6_ratio", GWP20_SET
        ),
        findings=(*_short(case, total, lasts), *_below_uptake(profile, total, bound)),
    )


def _rate(case: Case, phase: GasPhase) -> Reasoned:
    """Return the liquid used each hour; its range is the error a vaporiser is allowed."""
    vaporiser, error = Vaporiser.of(case), figure("limits.preuse.vaporiser_error_fraction")
    dial = number(phase.vaporiser_percent)
    value = vaporiser.liquid_ml_h(number(phase.fresh_gas_flow_l_min), dial)
    reason = Reason(
        formula="vapour in the fresh gas at this altitude ÷ vapour of a millilitre of liquid at 20 °C; "
        "range: error of a vaporiser",
        parts=(
            phase.fresh_gas_flow_l_min,
            phase.vaporiser_percent,
            vaporiser.published("density_g_ml"),
            vaporiser.published("molar_mass_g_mol"),
            error,
        ),
        given={
            "delivered_fraction": vaporiser.delivered_fraction(dial),
            "vapour_yield_ml_ml": vaporiser.vapour_yield_ml_ml,
            "barometric_pressure_mmhg": vaporiser.barometric_mmhg,
        },
    )
    return derived(
        f"supplies.agent_{phase.phase}_ml_h",
        value,
        reason,
        low=value * (1.0 - error.value),
        high=value * (1.0 + error.value),
    )


def _hours(use: GasUse) -> list[float]:
    return [number(phase.lasts_minutes) / _MINUTES_PER_HOUR for phase in use.schedule.phases]


def _total(use: GasUse, induction: Reasoned, maintenance: Reasoned) -> Reasoned:
    primed_ml = use.priming.agent_liquid_ml.value or 0.0
    lasts = tuple(phase.lasts_minutes for phase in use.schedule.phases)
    first_h, rest_h = _hours(use)
    low, value, high = (
        primed_ml + getattr(induction, part) * first_h + getattr(maintenance, part) * rest_h
        for part in ("low", "value", "high")
    )
    reason = Reason(
        formula="priming + liquid each hour × hours of induction and maintenance",
        parts=(use.priming.agent_liquid_ml, induction, maintenance, *lasts),
    )
    return derived("supplies.agent_liquid_ml", value, reason, low=low, high=high)


def _bound(case: Case, use: GasUse) -> Reasoned:
    """Return what blood, tissues, circle and lung hold at the end: nothing spilled."""
    vaporiser, wanted = Vaporiser.of(case), use.schedule.wanted_percent
    minutes = sum(number(phase.lasts_minutes) for phase in use.schedule.phases)
    body_ml = vaporiser.liquid_of_body_vapour_ml(body_uptake_ml(case, wanted, minutes))
    circle_l = case.equipment.circle_volume_l * convert(number(wanted), "percent", "fraction")
    circle_ml = convert(circle_l, "l", "ml") / vaporiser.vapour_yield_ml_ml
    reason = Reason(
        formula="uptake by √time after Lowe & Ernst + agent in the circle at the wanted fraction",
        parts=(wanted,),
        given={"minutes": minutes, "body_ml": body_ml, "circle_ml": circle_ml},
        sources=("memory", "case"),
        note="A closed circle would use about this; all above it is spilled.",
    )
    return derived("supplies.agent_uptake_bound_ml", body_ml + circle_ml, reason)


def _lasts(case: Case, use: GasUse, induction: Reasoned, maintenance: Reasoned) -> Reasoned:
    """Return the whole minutes on the circle that the liquid at hand lasts."""
    name, there_ml = "supplies.agent_minutes", case.supply.agent_liquid_ml
    if there_ml is None:
        reason = Reason(formula="liquid at hand is not stated", sources=("case",))
        return derived(name, None, reason)
    first_min = number(use.schedule.phases[0].lasts_minutes)
    primed_ml = use.priming.agent_liquid_ml.value or 0.0
    reason = Reason(
        formula="(liquid at hand - priming) ÷ liquid each hour, induction first; rounded down",
        parts=(induction, maintenance, use.priming.agent_liquid_ml),
        given={"agent_liquid_ml": there_ml, "induction_min": first_min},
        sources=("case",),
    )
    low, value, high = (
        _minutes(there_ml - primed_ml, first_min, getattr(induction, part), getattr(maintenance, part))
        for part in ("high", "value", "low")
    )
    return derived(name, value, reason, low=low, high=high)


def _minutes(left_ml: float, first_min: float, first_ml_h: float, rest_ml_h: float) -> float | None:
    first_ml = first_ml_h * first_min / _MINUTES_PER_HOUR
    if left_ml <= first_ml and first_ml_h > 0.0:
        return float(endurance_whole_min(max(left_ml, 0.0), 0.0, first_ml_h / _MINUTES_PER_HOUR))
    if rest_ml_h <= 0.0:
        return None
    rest_min = (left_ml - first_ml) / rest_ml_h * _MINUTES_PER_HOUR
    return float(endurance_whole_min(first_min + rest_min, 0.0, 1.0))


def _warming(case: Case, total: Reasoned, name: str, potential: str, told: str) -> Reasoned:
    vaporiser = Vaporiser.of(case)
    density, ratio = vaporiser.published("density_g_ml"), vaporiser.published(potential)
    low, value, high = (
        float(carbon_dioxide_equivalent_kg(getattr(total, part), density.value, ratio.value))
        for part in ("low", "value", "high")
    )
    reason = Reason(
        formula="liquid × density × warming potential",
        parts=(total, density, ratio),
        given={"gwp_set": told},
        note=f"{told}. Nearly all agent used reaches the air.",
    )
    return derived(name, value, reason, low=low, high=high)


def _short(case: Case, total: Reasoned, lasts: Reasoned) -> list[Finding]:
    there_ml = case.supply.agent_liquid_ml
    if there_ml is None or total.high is None or there_ml >= total.high:
        return []
    told: dict[str, float | str | None] = {
        "agent": case.settings.agent,
        "there_ml": there_ml,
        "needed_ml": total.value,
        "needed_high_ml": total.high,
        "agent_minutes": lasts.value,
    }
    return [Finding(code="agent_short", severity="caution", about=lasts.name, figures=told)]


def _below_uptake(profile: Profile, total: Reasoned, bound: Reasoned) -> list[Finding]:
    if number(total) >= number(bound):
        return []
    told: dict[str, float | str | None] = {
        "delivered_ml": total.value,
        "uptake_ml": bound.value,
        "mac_multiple": profile.mac_multiple,
    }
    return [Finding(code="agent_below_uptake", severity="caution", about=total.name, figures=told)]

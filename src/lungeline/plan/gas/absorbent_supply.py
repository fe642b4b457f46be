"""Absorbent: how many hours it takes the animal's carbon dioxide."""

from dataclasses import dataclass

from lungeline.case import Case, Finding, Reasoned
from lungeline.physics.absorbent import absorbent_capacity_l, absorbent_life_min
from lungeline.plan.derive import Reason, derived, number
from lungeline.plan.gas.gas_demand import carbon_dioxide_output
from lungeline.reference import figure
from lungeline.units import convert


@dataclass(frozen=True, slots=True, kw_only=True)
class AbsorbentSupply:
    """Hours left in the canister, and the kilograms the job uses."""

    absorbent_hours: Reasoned
    absorbent_used_kg: Reasoned
    carbon_dioxide_l_min: Reasoned
    findings: tuple[Finding, ...] = ()

    @property
    def numbers(self) -> tuple[Reasoned, ...]:
        """Every number of it."""
        return (self.absorbent_hours, self.absorbent_used_kg, self.carbon_dioxide_l_min)


def absorbent_supply(case: Case) -> AbsorbentSupply:
    """Return how long the absorbent lasts, all carbon dioxide taken to reach it."""
    hours = _hours(case)
    return AbsorbentSupply(
        absorbent_hours=hours,
        absorbent_used_kg=_used(case),
        carbon_dioxide_l_min=carbon_dioxide_output(case),
        findings=tuple(_findings(case, hours)),
    )


def _life_h(case: Case, capacity_l_100g: float, carbon_dioxide_l_min: float) -> float:
    e = case.equipment
    left_l = absorbent_capacity_l(e.absorbent_kg, capacity_l_100g, e.absorbent_used_fraction)
    return convert(float(absorbent_life_min(float(left_l), carbon_dioxide_l_min, 0.0)), "min", "h")


def _hours(case: Case) -> Reasoned:
    capacity, output = figure("absorbents.capacity_l_100g"), carbon_dioxide_output(case)
    e = case.equipment
    reason = Reason(
        formula="mass × capacity × (1 - used) ÷ carbon dioxide given off; range: both spreads together",
        parts=(capacity, output),
        given={"absorbent_kg": e.absorbent_kg, "absorbent_used_fraction": e.absorbent_used_fraction},
        sources=("case",),
        note="Fresh gas that spills carries some away, so it lasts longer at high flow. The true end is "
        "inspired carbon dioxide; colour comes back at rest.",
    )
    return derived(
        "supplies.absorbent_hours",
        _life_h(case, capacity.value, number(output)),
        reason,
        low=_life_h(case, capacity.low, output.high or number(output)),
        high=_life_h(case, capacity.high, output.low or number(output)),
    )


def _used(case: Case) -> Reasoned:
    """Return the absorbent that the job uses up."""
    capacity, output = figure("absorbents.capacity_l_100g"), carbon_dioxide_output(case)
    minutes = case.procedure.expected_min
    one_kg_l = float(absorbent_capacity_l(1.0, capacity.value, 0.0))
    reason = Reason(
        formula="carbon dioxide given off × minutes ÷ capacity of a kilogram",
        parts=(capacity, output),
        given={"expected_min": minutes},
        sources=("case",),
    )
    return derived("supplies.absorbent_used_kg", number(output) * minutes / one_kg_l, reason)


def _findings(case: Case, hours: Reasoned) -> list[Finding]:
    expected_h = convert(case.procedure.expected_min, "min", "h")
    told: dict[str, float | str | None] = {
        "absorbent_hours": hours.value,
        "low_hours": hours.low,
        "expected_hours": expected_h,
    }
    if number(hours) < expected_h:
        return [Finding(code="absorbent_short", severity="caution", about=hours.name, figures=told)]
    if hours.low is not None and hours.low < expected_h:
        return [Finding(code="absorbent_may_run_out", severity="advice", about=hours.name, figures=told)]
    return []

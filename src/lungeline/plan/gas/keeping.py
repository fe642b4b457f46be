"""How long a primed circle keeps, fresh gas turned off: port plugged, or left open."""

from dataclasses import dataclass

from lungeline.case import Case, Finding, Profile, Reasoned
from lungeline.physics.leaks import leak_ml_min
from lungeline.plan.derive import Reason, derived, number
from lungeline.plan.gas.gas_demand import LEAK_TEST_CMH2O
from lungeline.units import convert

# Pressure of a filled bag or bellows at rest: some, from memory; none in a piston.
REST_CMH2O = 2.0
_SECONDS_PER_MINUTE = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeping:
    """How long enough for the first breath stays in the reservoir, and the flow that keeps it full."""

    holding_flow_l_min: Reasoned
    keeps_plugged_minutes: Reasoned
    keeps_open_minutes: Reasoned
    findings: tuple[Finding, ...]


def loss_at_rest_l_min(case: Case) -> float:
    """Return what leaks and is sampled out of a circle at rest [L/min]."""
    e = case.equipment
    leak = leak_ml_min(REST_CMH2O, e.leak_at_30_cmh2o_ml_min, LEAK_TEST_CMH2O, e.leak_exponent_number)
    return e.sample_flow_l_min + convert(float(leak), "ml_min", "l_min")


def keeping(case: Case, profile: Profile, ceiling: Reasoned) -> Keeping:
    """Return how long a circle filled to a ceiling keeps what the first breath may take."""
    first_l = profile.first_breath_multiple * case.settings.tidal_volume_l
    to_spare_l = max(number(ceiling) - first_l, 0.0)
    holding = _holding(case)
    return Keeping(
        holding_flow_l_min=holding,
        keeps_plugged_minutes=_plugged(ceiling, holding, first_l, to_spare_l),
        keeps_open_minutes=_open(case, ceiling, first_l, to_spare_l),
        findings=tuple(_findings(case, ceiling, first_l)),
    )


def _holding(case: Case) -> Reasoned:
    e = case.equipment
    reason = Reason(
        formula="sample + leak at the pressure of the reservoir at rest",
        given={
            "sample_flow_l_min": e.sample_flow_l_min,
            "leak_at_30_cmh2o_ml_min": e.leak_at_30_cmh2o_ml_min,
            "leak_exponent_number": e.leak_exponent_number,
            "rest_pressure_cmh2o": REST_CMH2O,
        },
        sources=("case", "memory"),
        note="This fresh gas keeps the circle full. A sampler turned off saves its share.",
    )
    return derived("priming.holding_flow_l_min", loss_at_rest_l_min(case), reason)


def _plugged(ceiling: Reasoned, holding: Reasoned, first_l: float, to_spare_l: float) -> Reasoned:
    loss_l_min = number(holding)
    reason = Reason(
        formula="(full reservoir - first breath) ÷ what is lost",
        parts=(ceiling, holding),
        given={"first_breath_l": first_l},
        sources=("profile",),
        note="" if loss_l_min > 0.0 else "Nothing is lost: no end.",
    )
    lasts = to_spare_l / loss_l_min if loss_l_min > 0.0 else None
    return derived("priming.keeps_plugged_minutes", lasts, reason)


def _open(case: Case, ceiling: Reasoned, first_l: float, to_spare_l: float) -> Reasoned:
    """Return the time a reservoir that presses on its gas takes to lose it through the open port."""
    resistance = case.equipment.inspiratory_resistance_cmh2o_s_l
    outflow_l_min = REST_CMH2O / resistance * _SECONDS_PER_MINUTE + loss_at_rest_l_min(case)
    reason = Reason(
        formula="(full reservoir - first breath) ÷ (pressure at rest ÷ inspiratory resistance + losses)",
        parts=(ceiling,),
        given={
            "first_breath_l": first_l,
            "rest_pressure_cmh2o": REST_CMH2O,
            "inspiratory_resistance_cmh2o_s_l": resistance,
        },
        sources=("case", "memory"),
        note="For a bag or bellows that presses on its gas. A piston that rests keeps it longer, but air "
        "mixes in at the port: keep it plugged.",
    )
    return derived("priming.keeps_open_minutes", to_spare_l / outflow_l_min, reason)


def _findings(case: Case, ceiling: Reasoned, first_l: float) -> list[Finding]:
    told: dict[str, float | str | None] = {
        "ceiling_l": ceiling.value,
        "first_breath_l": first_l,
        "reservoir_capacity_l": case.equipment.reservoir_capacity_l,
    }
    if number(ceiling) < first_l:
        return [
            Finding(code="priming_below_first_breath", severity="caution", about=ceiling.name, figures=told)
        ]
    return []

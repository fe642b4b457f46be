"""How far each number of a plan can sensibly be moved by hand, and in which steps: for sliders."""

import math
from dataclasses import dataclass

from lungeline.case import Case
from lungeline.plan.gas.vaporiser import HIGHEST_DIAL_PERCENT
from lungeline.plan.planning import Plan
from lungeline.plan.solving import settable_step
from lungeline.reference import figure
from lungeline.units import convert

# Around the lowest and highest usual value of the species; assumption, wide enough to see what too much does.
_LEAST_SHARE, _MOST_SHARE = 0.5, 1.5
_LONGEST_INSPIRATION_SHARE = 0.5  # of a breath
_LIMIT_CMH2O, _PEEP_CMH2O = (10.0, 60.0), (0.0, 20.0)
_MOST_FLOW_MULTIPLE = 2.0  # of the flow for induction
_LEAST_INSPIRATION_S = 0.4
# What a hand sets at a time; a tidal volume by its size. Assumption.
_STEPS = {
    "respiratory_rate_per_min": 0.1,
    "inspiratory_time_s": 0.05,
    "pressure_limit_cmh2o": 1.0,
    "peep_cmh2o": 0.5,
    "fresh_gas_flow_l_min": 0.1,
    "vaporiser_percent": 0.1,
    "spare_volume_l": 0.1,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """From where to where a setting can be moved, and the step of a hand."""

    low: float
    high: float
    step: float


def spans(plan: Plan) -> dict[str, Span]:
    """Return the span of every setting that is moved by hand, the planned value always within."""
    case, settings = plan.case, plan.settings
    cycle_s = 60.0 / settings.respiratory_rate_per_min
    reservoir_l = case.equipment.reservoir_capacity_l
    litres = convert(case.animal.weight_kg, "ml", "l")
    minute_litres = convert(case.animal.weight_kg, "ml_min", "l_min")
    most_flow = _MOST_FLOW_MULTIPLE * _usual(case, "fresh_gas_flow_induction_ml_kg_min")[1] * minute_litres
    low_ml_kg, high_ml_kg = _usual(case, "tidal_volume_ml_kg")
    low_rate, high_rate = _usual(case, "respiratory_rate_per_min")
    found = {
        "tidal_volume_l": (
            _LEAST_SHARE * low_ml_kg * litres,
            min(_MOST_SHARE * high_ml_kg * litres, reservoir_l),
        ),
        "respiratory_rate_per_min": (max(_LEAST_SHARE * low_rate, 1.0), _MOST_SHARE * high_rate),
        "inspiratory_time_s": (_LEAST_INSPIRATION_S, _LONGEST_INSPIRATION_SHARE * cycle_s),
        "pressure_limit_cmh2o": _LIMIT_CMH2O,
        "peep_cmh2o": _PEEP_CMH2O,
        "fresh_gas_flow_l_min": (0.0, most_flow),
        "vaporiser_percent": (0.0, HIGHEST_DIAL_PERCENT[settings.agent]),
        "spare_volume_l": (0.0, max(reservoir_l - settings.tidal_volume_l, 0.1)),
    }
    return {name: _span(name, getattr(settings, name), low, high) for name, (low, high) in found.items()}


def _usual(case: Case, name: str) -> tuple[float, float]:
    rule = figure(f"defaults.{case.animal.species}.{name}")
    return rule.low, rule.high


def _span(name: str, value: float, low: float, high: float) -> Span:
    step = _STEPS.get(name) or settable_step(high)
    marks_low, marks_high = (
        math.floor(min(low, value) / step + 1e-9),
        math.ceil(max(high, value) / step - 1e-9),
    )
    return Span(low=round(marks_low * step, 4), high=round(marks_high * step, 4), step=step)

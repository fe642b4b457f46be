"""The circle without an animal, and what a clinic uses of an agent."""

import math
from functools import partial

from lungeline.case import Animal, Case, Change, Equipment, Settings, Start
from lungeline.evidence.comparison import Comparison, printed
from lungeline.evidence.measures import value
from lungeline.evidence.set_ups import HORSE, HORSE_KG
from lungeline.evidence.shared_runs import Course, SharedRuns
from lungeline.reference import figure

_WASH_IN, _VOLUME, _CLINIC = "bukoski2012", "solano2005", "elzahaby2024"

# --- wash-in: a hardly moving test lung, so that gas passes the Y without adding to what is washed ----

_RESERVOIR_L, _HOSE_L = 10.0, 0.1
_STROKE_L, _STROKES_PER_MIN = 0.3, 30.0
_FROM_MIN, _TO_MIN = 3.0, 13.0
_AIR_FRACTION = 0.21
_SMALLEST = Animal(species="foal", weight_kg=10.0)  # for its short tube; nobody breathes
_START = Start(
    circle_oxygen_fraction=_AIR_FRACTION, lung_oxygen_fraction=_AIR_FRACTION, circle_agent_percent=0.0
)


def _washed(fresh_gas_flow_l_min: float) -> Course:
    measured_l = printed(_VOLUME, "circle_volume_l", "40 L bag").published
    equipment = Equipment(
        circle_volume_l=figure("circle.mixing_number").value * measured_l - _RESERVOIR_L,
        reservoir_capacity_l=_RESERVOIR_L,
        hose_volume_l=_HOSE_L,
        sample_flow_l_min=0.0,
        patient_port="test lung",
        test_lung_compliance_l_cmh2o=0.02,
    )
    settings = Settings(
        tidal_volume_l=_STROKE_L,
        respiratory_rate_per_min=_STROKES_PER_MIN,
        inspiratory_time_s=0.7,
        peep_cmh2o=0.0,
        spare_volume_l=_RESERVOIR_L - _STROKE_L,
        fresh_gas_flow_l_min=fresh_gas_flow_l_min,
        fresh_gas_oxygen_fraction=1.0,
        vaporiser_percent=0.0,
    )
    case = Case(animal=_SMALLEST, start=_START, equipment=equipment, settings=settings)
    return Course(case=case, minutes=_TO_MIN)


def wash_in_time_constant_min(runs: SharedRuns, fresh_gas_flow_l_min: float) -> float:
    """Return the time constant of oxygen washing air out of the circle [min]."""
    course = _washed(fresh_gas_flow_l_min)
    left = [1.0 - value(runs.shown(course, at_min, 0.2), "fio2_fraction") for at_min in (_FROM_MIN, _TO_MIN)]
    return (_TO_MIN - _FROM_MIN) / math.log(left[0] / left[1])


def _wash_in(flow_l_min: float) -> Comparison:
    return Comparison(
        key=f"wash-in-{flow_l_min:g}",
        study=_WASH_IN,
        quantity="time constant of oxygen in the circle",
        set_up=f"no animal, circle of 49.26 L times its mixing factor, oxygen at {flow_l_min:g} L/min",
        published=printed(_WASH_IN, "time_constant_min", f"measured, {flow_l_min:g} L/min"),
        target_of_fit=True,
        run=partial(wash_in_time_constant_min, fresh_gas_flow_l_min=flow_l_min),
    )


# --- agent: 20 mL/kg/min at twice the dial for a quarter of an hour, then 10 mL/kg/min ----------------

_MEAN_CASE_MIN = 1489.0 / 409.0 * 60.0  # hours over animals of the audit
_LATER = Change(at_min=15.0, settings={"fresh_gas_flow_l_min": 5.0, "vaporiser_percent": 2.0})


def agent_used_ml_h(runs: SharedRuns) -> float:
    """Return the liquid isoflurane an hour of a horse on usual flows [mL/h]."""
    settings = Settings(
        tidal_volume_l=0.012 * HORSE_KG,
        respiratory_rate_per_min=7.0,
        fresh_gas_flow_l_min=0.020 * HORSE_KG,
        vaporiser_percent=4.0,
    )
    case = Case(animal=HORSE, start=Start(state="induced"), settings=settings, changes=(_LATER,))
    run = runs.run(Course(case=case, minutes=_MEAN_CASE_MIN))
    return value(run.at_end, "agent_liquid_used_ml") / (_MEAN_CASE_MIN / 60.0)


COMPARISONS = (
    *(_wash_in(flow) for flow in (3.0, 6.0, 10.0)),
    Comparison(
        key="agent-use",
        study=_CLINIC,
        quantity="liquid agent used",
        set_up="500 kg; 10 L/min at 4 % for 15 min, then 5 L/min at 2 %; 3.6 h, the audit's mean time",
        published=printed(_CLINIC, "agent_used_ml_h", "equine"),
        run=agent_used_ml_h,
    ),
)

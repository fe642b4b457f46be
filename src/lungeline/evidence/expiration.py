"""Conventional against slowed expiration, and the pressure at which lung closes."""

from functools import partial
from itertools import pairwise

from lungeline.case import Change
from lungeline.evidence.comparison import Comparison, printed
from lungeline.evidence.experiment import Experiment
from lungeline.evidence.measures import dynamic_compliance_ml_cmh2o
from lungeline.evidence.set_ups import LATERAL_HORSE, USUAL, from_induction, peep_steps, ventilated
from lungeline.evidence.shared_runs import SETTLED_MIN, Course, SharedRuns
from lungeline.reference import PublishedValue
from lungeline.simulate.herd import simulate_herd

_CLINICAL, _CROSSOVER, _CLOSING = "flow-controlled-expiration", "vanderbroek", "brandly2023"
_HERD_ANIMALS, _HERD_SEED = 100, 1

# --- clinical horses, conventional or slowed from the start; the middle one of three samples ----------

_SAMPLED_MIN = 75.0
_ARMS = {
    "dorsal, conventional": from_induction(),
    "dorsal, slowed": from_induction(slowed_expiration=True),
    "lateral, conventional": from_induction(LATERAL_HORSE),
    "lateral, slowed": from_induction(LATERAL_HORSE, slowed_expiration=True),
}


def _clinical(arm: str) -> Experiment:
    return Experiment(
        study=_CLINICAL,
        arm=arm,
        set_up=f"{arm}: {USUAL}; from induction, read at {_SAMPLED_MIN:g} min",
        course=Course(case=_ARMS[arm], minutes=_SAMPLED_MIN),
        target_of_fit=True,
    )


def herd_spread_mmhg(runs: SharedRuns) -> float:
    """Return the standard deviation of PaO2/FiO2 among simulated animals, dorsal and conventional [mmHg]."""
    herd = simulate_herd(ventilated(), _HERD_ANIMALS, _HERD_SEED, SETTLED_MIN, dt_s=runs.step_s)
    ratio = herd.values["pao2_mmhg"][:, -1] / herd.values["fio2_fraction"][:, -1]
    return float(ratio.std(ddof=1))


def _spread() -> Comparison:
    arm = printed(_CLINICAL, "pao2_fio2_mmhg", "dorsal, conventional")
    return Comparison(
        key="clinical-dorsal-spread",
        study=_CLINICAL,
        quantity="standard deviation of PaO2/FiO2 between animals",
        set_up=f"dorsal, conventional: {USUAL}; {_HERD_ANIMALS} animals that differ as animals do",
        published=PublishedValue(
            name="pao2_fio2_sd_mmhg",
            published=arm.sd or 0.0,
            unit="mmhg",
            statistic="standard deviation",
            as_printed=arm.as_printed,
        ),
        target_of_fit=True,
        run=herd_spread_mmhg,
    )


# --- crossover: conventional, then slowed -------------------------------------------------------------

_TURNED_MIN, _CROSSED_MIN = 90.0, 180.0
_TURN = Change(at_min=_TURNED_MIN, settings={"slowed_expiration": True})


def _crossover(arm: str) -> Experiment:
    return Experiment(
        study=_CROSSOVER,
        arm=arm,
        set_up=f"dorsal, {arm}: {USUAL}; conventional for 90 min, then slowed for 90 min",
        course=Course(case=ventilated(changes=(_TURN,)), minutes=_CROSSED_MIN),
        at_min=_TURNED_MIN if arm == "conventional" else None,
    )


# --- closing pressure ---------------------------------------------------------------------------------

_STEP_MIN = 5.0
_UP_CMH2O = (5.0, 10.0, 15.0, 20.0, 25.0)
_DOWN_CMH2O = tuple(float(pressure) for pressure in range(24, -1, -1))
_DOWN_FROM_MIN = 30.0 + _STEP_MIN * len(_UP_CMH2O)
_KEPT_FRACTION = 0.98  # of the highest compliance on the way down: less is a fall, and none of rounding


def closing_pressure_cmh2o(runs: SharedRuns, *, slowed: bool) -> float:
    """Return the PEEP at which compliance, on the way down, has fallen 2 % below its highest [cmH2O]."""
    steps = peep_steps((*_UP_CMH2O, *_DOWN_CMH2O), from_min=30.0, step_min=_STEP_MIN)
    minutes = _DOWN_FROM_MIN + _STEP_MIN * len(_DOWN_CMH2O)
    course = Course(case=ventilated(slowed_expiration=slowed, changes=steps), minutes=minutes)
    ends_min = [_DOWN_FROM_MIN + _STEP_MIN * (i + 1) for i in range(len(_DOWN_CMH2O))]
    seen = [dynamic_compliance_ml_cmh2o(runs.shown(course, at_min, 1.0)) for at_min in ends_min]
    highest = seen[0]
    for (above, here), (pressure, _) in zip(pairwise(seen), pairwise(_DOWN_CMH2O), strict=True):
        highest = max(highest, above)
        least = _KEPT_FRACTION * highest
        if here < least:
            return pressure - (above - least) / (above - here)
    return 0.0


def _closing(arm: str) -> Comparison:
    return Comparison(
        key=f"closing-{arm}",
        study=_CLOSING,
        quantity="closing pressure",
        set_up=f"dorsal, {arm}: {USUAL}; PEEP up to 25 after 30 min, then down by 1 every 5 min; "
        "PEEP at which compliance has fallen 2 % from its highest",
        published=printed(_CLOSING, "closing_pressure_cmh2o", arm),
        target_of_fit=True,
        run=partial(closing_pressure_cmh2o, slowed=arm == "slowed"),
    )


_DORSAL, _SLOWED = _clinical("dorsal, conventional"), _clinical("dorsal, slowed")
_LATERAL, _LATERAL_SLOWED = _clinical("lateral, conventional"), _clinical("lateral, slowed")
_BEFORE, _AFTER = _crossover("conventional"), _crossover("slowed")
_PER_KG, _MEAN = "dynamic_compliance_ml_cmh2o_kg", "mean_airway_pressure_cmh2o"

COMPARISONS = (
    _DORSAL.compare("clinical-dorsal-pf", "pao2_fio2_mmhg"),
    _DORSAL.compare("clinical-dorsal-compliance", _PER_KG),
    _DORSAL.compare("clinical-dorsal-gap", "gap_fraction"),
    _SLOWED.compare("clinical-slowed-pf", "pao2_fio2_mmhg"),
    _SLOWED.compare("clinical-slowed-compliance", _PER_KG),
    _SLOWED.compare("clinical-slowed-gap", "gap_fraction"),
    _LATERAL.compare("clinical-lateral-pf", "pao2_fio2_mmhg"),
    _LATERAL_SLOWED.compare("clinical-lateral-slowed-pf", "pao2_fio2_mmhg"),
    _spread(),
    _BEFORE.compare("crossover-conventional-pao2", "pao2_mmhg"),
    _BEFORE.compare("crossover-conventional-compliance", "dynamic_compliance_ml_cmh2o"),
    _BEFORE.compare("crossover-conventional-mean-pressure", _MEAN),
    _AFTER.compare("crossover-slowed-pao2", "pao2_mmhg"),
    _AFTER.compare("crossover-slowed-compliance", "dynamic_compliance_ml_cmh2o"),
    _AFTER.compare("crossover-slowed-mean-pressure", _MEAN),
    _closing("conventional"),
    _closing("slowed"),
)

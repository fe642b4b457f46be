"""Conventional against slowed expiration, and the pressure at which lung closes."""

from functools import partial
from itertools import pairwise

from lungeline.case import Change
from lungeline.evidence.comparison import Comparison, printed
from lungeline.evidence.measures import (
    Measure,
    Reading,
    dynamic_compliance_ml_cmh2o,
    dynamic_compliance_ml_cmh2o_kg,
    gap_fraction,
    pao2_fio2_mmhg,
    plain,
)
from lungeline.evidence.set_ups import (
    HORSE_KG,
    LATERAL_HORSE,
    USUAL,
    from_induction,
    peep_steps,
    ventilated,
)
from lungeline.evidence.shared_runs import SETTLED_MIN, Course, SharedRuns
from lungeline.reference import PublishedValue
from lungeline.simulate.herd import simulate_herd

_CLINICAL, _CROSSOVER, _CLOSING = "flow-controlled-expiration", "vanderbroek", "brandly2023"
_SAMPLED_MIN = 75.0  # the middle one of its three samples
_TURNED_MIN, _CROSSED_MIN = 90.0, 180.0
_STEP_MIN = 5.0
_UP_CMH2O = (5.0, 10.0, 15.0, 20.0, 25.0)
_DOWN_CMH2O = tuple(float(pressure) for pressure in range(24, -1, -1))
_DOWN_FROM_MIN = 30.0 + _STEP_MIN * len(_UP_CMH2O)
_HERD_ANIMALS, _HERD_SEED = 100, 1
_FALLEN_FRACTION = 0.98  # of the highest compliance of the way down: a fall that is none of rounding

_ARMS = {
    "dorsal, conventional": from_induction(),
    "dorsal, slowed": from_induction(slowed_expiration=True),
    "lateral, conventional": from_induction(LATERAL_HORSE),
    "lateral, slowed": from_induction(LATERAL_HORSE, slowed_expiration=True),
}
_PER_KG = partial(dynamic_compliance_ml_cmh2o_kg, weight_kg=HORSE_KG)


def _clinical(key: str, arm: str, quantity: str, name: str, measure: Measure, reason: str = "") -> Comparison:
    return Comparison(
        key=key,
        study=_CLINICAL,
        quantity=quantity,
        set_up=f"{arm}: {USUAL}; from induction, read at {_SAMPLED_MIN:g} min",
        published=printed(_CLINICAL, name, arm),
        target_of_fit=True,
        reason_if_outside=reason,
        run=Reading(course=Course(case=_ARMS[arm], minutes=_SAMPLED_MIN), measure=measure),
    )


def _crossover(
    key: str, arm: str, quantity: str, name: str, measure: Measure, reason: str = ""
) -> Comparison:
    turn = Change(at_min=_TURNED_MIN, settings={"slowed_expiration": True})
    course = Course(case=ventilated(changes=(turn,)), minutes=_CROSSED_MIN)
    return Comparison(
        key=key,
        study=_CROSSOVER,
        quantity=quantity,
        set_up=f"dorsal, {arm}: {USUAL}; conventional for 90 min, then slowed for 90 min",
        published=printed(_CROSSOVER, name, arm),
        reason_if_outside=reason,
        run=Reading(course=course, measure=measure, at_min=_TURNED_MIN if arm == "conventional" else None),
    )


def closing_pressure_cmh2o(runs: SharedRuns, *, slowed: bool) -> float:
    """PEEP at which compliance, on the way down, has fallen 2 % below its highest [cmH2O]."""
    steps = peep_steps((*_UP_CMH2O, *_DOWN_CMH2O), from_min=30.0, step_min=_STEP_MIN)
    minutes = _DOWN_FROM_MIN + _STEP_MIN * len(_DOWN_CMH2O)
    course = Course(case=ventilated(slowed_expiration=slowed, changes=steps), minutes=minutes)
    ends_min = [_DOWN_FROM_MIN + _STEP_MIN * (i + 1) for i in range(len(_DOWN_CMH2O))]
    seen = [dynamic_compliance_ml_cmh2o(runs.shown(course, at_min, 1.0)) for at_min in ends_min]
    highest = seen[0]
    for (above, here), (pressure, _) in zip(pairwise(seen), pairwise(_DOWN_CMH2O), strict=True):
        highest = max(highest, above)
        least = _FALLEN_FRACTION * highest
        if here < least:
            return pressure - (above - least) / (above - here)
    return 0.0


def herd_spread_mmhg(runs: SharedRuns) -> float:
    """Standard deviation of PaO2/FiO2 among simulated animals, dorsal and conventional [mmHg]."""
    herd = simulate_herd(ventilated(), _HERD_ANIMALS, _HERD_SEED, SETTLED_MIN, dt_s=runs.step_s)
    ratio = herd.values["pao2_mmhg"][:, -1] / herd.values["fio2_fraction"][:, -1]
    return float(ratio.std(ddof=1))


def _spread(reason: str = "") -> Comparison:
    arm = printed(_CLINICAL, "pao2_fio2_mmhg", "dorsal, conventional")
    return Comparison(
        key="clinical-dorsal-spread",
        study=_CLINICAL,
        quantity="standard deviation of PaO2/FiO2 between animals",
        set_up=f"dorsal, conventional: {USUAL}; 100 animals that differ as animals do",
        published=PublishedValue(
            name="pao2_fio2_sd_mmhg",
            published=arm.sd or 0.0,
            unit="mmhg",
            statistic="standard deviation",
            as_printed=arm.as_printed,
        ),
        target_of_fit=True,
        reason_if_outside=reason,
        run=herd_spread_mmhg,
    )


def _closing(arm: str, reason: str = "") -> Comparison:
    return Comparison(
        key=f"closing-{arm}",
        study=_CLOSING,
        quantity="closing pressure",
        set_up=f"dorsal, {arm}: {USUAL}; PEEP up to 25 after 30 min, then down by 1 every 5 min; "
        "PEEP at which compliance has fallen 2 % from its highest",
        published=printed(_CLOSING, "closing_pressure_cmh2o", arm),
        target_of_fit=True,
        reason_if_outside=reason,
        run=partial(closing_pressure_cmh2o, slowed=arm == "slowed"),
    )


_PAO2_PF, _C_KG, _GAP = "pao2_fio2_mmhg", "dynamic_compliance_ml_cmh2o_kg", "gap_fraction"
_PAO2, _C, _MEAN = "pao2_mmhg", "dynamic_compliance_ml_cmh2o", "mean_airway_pressure_cmh2o"
_DC, _DS = "dorsal, conventional", "dorsal, slowed"

COMPARISONS = (
    _clinical("clinical-dorsal-pf", _DC, "PaO2/FiO2", _PAO2_PF, pao2_fio2_mmhg),
    _clinical("clinical-dorsal-compliance", _DC, "dynamic compliance", _C_KG, _PER_KG),
    _clinical("clinical-dorsal-gap", _DC, "(PaCO2 - EtCO2)/PaCO2", _GAP, gap_fraction),
    _clinical("clinical-slowed-pf", _DS, "PaO2/FiO2", _PAO2_PF, pao2_fio2_mmhg),
    _clinical("clinical-slowed-compliance", _DS, "dynamic compliance", _C_KG, _PER_KG),
    _clinical("clinical-slowed-gap", _DS, "(PaCO2 - EtCO2)/PaCO2", _GAP, gap_fraction),
    _clinical("clinical-lateral-pf", "lateral, conventional", "PaO2/FiO2", _PAO2_PF, pao2_fio2_mmhg),
    _clinical("clinical-lateral-slowed-pf", "lateral, slowed", "PaO2/FiO2", _PAO2_PF, pao2_fio2_mmhg),
    _spread(),
    _crossover("crossover-conventional-pao2", "conventional", "PaO2", _PAO2, plain("pao2_mmhg")),
    _crossover("crossover-conventional-compliance", "conventional", "dynamic compliance", _C,
               dynamic_compliance_ml_cmh2o),
    _crossover("crossover-conventional-mean-pressure", "conventional", "mean airway pressure", _MEAN,
               plain("mean_airway_pressure_cmh2o")),
    _crossover("crossover-slowed-pao2", "slowed", "PaO2", _PAO2, plain("pao2_mmhg")),
    _crossover("crossover-slowed-compliance", "slowed", "dynamic compliance", _C, dynamic_compliance_ml_cmh2o),
    _crossover("crossover-slowed-mean-pressure", "slowed", "mean airway pressure", _MEAN,
               plain("mean_airway_pressure_cmh2o")),
    _closing("conventional"),
    _closing("slowed"),
)  # fmt: skip

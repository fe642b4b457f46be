"""Dobutamine: output and pressure with and without."""

from dataclasses import replace

from lungeline.evidence.experiment import Experiment
from lungeline.evidence.set_ups import LATERAL_HORSE, USUAL, ventilated
from lungeline.evidence.shared_runs import Course

_LATERAL, _DORSAL = "gorenberg2025", "dobutamine-sequential"


def _lateral(arm: str, dose_ug_kg_min: float) -> Experiment:
    return Experiment(
        study=_LATERAL,
        arm=arm,
        set_up=f"left lateral: {USUAL}, dobutamine {dose_ug_kg_min:g} µg/kg/min",
        course=Course(case=ventilated(LATERAL_HORSE, dobutamine_ug_kg_min=dose_ug_kg_min)),
    )


_WITHOUT = _lateral("anaesthetised", 0.0)
_WITH = _lateral("anaesthetised, dobutamine 2", 2.0)
_ON_BACK = Experiment(
    study=_DORSAL,
    set_up=f"dorsal: {USUAL}, dobutamine 0.86 µg/kg/min",
    course=Course(case=ventilated(dobutamine_ug_kg_min=0.86)),
)

# Vascular resistance was set by hand to the three pressures: targets.
COMPARISONS = (
    _WITHOUT.compare("dobutamine-0-output", "cardiac_output_l_min"),
    replace(_WITHOUT, target_of_fit=True).compare("dobutamine-0-pressure", "map_mmhg"),
    _WITH.compare("dobutamine-2-output", "cardiac_output_l_min"),
    replace(_WITH, target_of_fit=True).compare("dobutamine-2-pressure", "map_mmhg"),
    _ON_BACK.compare("dobutamine-dorsal-output", "cardiac_output_ml_kg_min"),
    replace(_ON_BACK, target_of_fit=True).compare("dobutamine-dorsal-pressure", "map_mmhg"),
)

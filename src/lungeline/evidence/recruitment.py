"""PEEP in steps, and pressures that open closed lung, in healthy horses and in colic."""

from dataclasses import replace
from functools import partial
from statistics import fmean
from typing import Any

from lungeline.case import Animal, Case, Change, Equipment, Recruitment, Settings
from lungeline.evidence.comparison import Comparison, Direction, printed
from lungeline.evidence.experiment import Experiment
from lungeline.evidence.measures import QUANTITIES, Measure, dynamic_compliance_ml_cmh2o, value
from lungeline.evidence.set_ups import (
    DIAL_PERCENT,
    HIGH_LIMIT_CMH2O,
    USUAL,
    breathing,
    peep_steps,
    ventilated,
)
from lungeline.evidence.shared_runs import Course, SharedRuns

_TITRATION, _COLIC, _REGIONAL = "ambrosio2013", "hopster2011", "ambrisko2017"
_STEPS, _NITROGEN = "hopster2018", "varner2019"

# --- titration: an hour of breathing, an hour at PEEP 5, then steps of a quarter of an hour -----------

_VENTILATED_MIN, _TITRATED_MIN, _QUARTER_MIN = 60.0, 120.0, 15.0
_AT_20_MIN = _TITRATED_MIN + 3 * _QUARTER_MIN
_ON: dict[str, Any] = {
    "mode": "volume",
    "tidal_volume_l": 7.5,
    "respiratory_rate_per_min": 5.0,
    "inspiratory_time_s": 4.0,
    "peep_cmh2o": 5.0,
    "pressure_limit_cmh2o": HIGH_LIMIT_CMH2O,
}
_TITRATED = Course(
    case=breathing(
        changes=(
            Change(at_min=_VENTILATED_MIN, settings=_ON),
            *peep_steps((10, 15, 20, 15, 10, 5), from_min=_TITRATED_MIN, step_min=_QUARTER_MIN),
        )
    ),
    minutes=_TITRATED_MIN + 6 * _QUARTER_MIN,
)
_TITRATION_WORDS = "dorsal, 500 kg: 60 min breathing, then 15 mL/kg at 5/min, I:E 1:2, PEEP 5 for 60 min"


def _titration(arm: str, words: str, at_min: float | None) -> Experiment:
    return Experiment(
        study=_TITRATION,
        arm=arm,
        set_up=_TITRATION_WORDS + words,
        course=_TITRATED,
        at_min=at_min,
        target_of_fit=True,
    )


_UP = "; then steps of 5 every 15 min, at PEEP 20"
_AT_5 = _titration("PEEP 5", "", _TITRATED_MIN)
_AT_20, _AT_20_OUTPUT = _titration("titration", _UP, _AT_20_MIN), _titration("PEEP 20", _UP, _AT_20_MIN)
_BACK = _titration("titration", "; then steps of 5 every 15 min up to 20 and back, at PEEP 5 again", None)

# --- colic: ventilated to a peak of 40; the reservoir must hold what 80 cmH2O drive in ----------------

_COLIC_HORSE = Animal(species="horse", weight_kg=548.0, condition="colic")
_LARGE = Equipment(reservoir_capacity_l=60.0)
_PEAK: dict[str, Any] = {
    "mode": "pressure",
    "inspiratory_pressure_cmh2o": 40.0,
    "respiratory_rate_per_min": 4.0,
    "inspiratory_time_s": 3.0,
    "peep_cmh2o": 0.0,
    "pressure_limit_cmh2o": HIGH_LIMIT_CMH2O,
    "vaporiser_percent": DIAL_PERCENT,
    "tidal_volume_l": 10.0,
    "spare_volume_l": 40.0,
}
_OPENING = (
    Change(at_min=40.0, settings={"peep_cmh2o": 10.0, "inspiratory_pressure_cmh2o": 30.0}),
    Change(at_min=40.0, manoeuvre=Recruitment(pressures_cmh2o=(60.0, 80.0, 60.0), hold_s=12.0)),
)


def _colic(arm: str, changes: tuple[Change, ...]) -> Experiment:
    case = Case(animal=_COLIC_HORSE, equipment=_LARGE, settings=Settings(**_PEAK), changes=changes)
    after = "; then PEEP 10 and 60, 80, 60 cmH2O for 12 s each, read 30 min later" if changes else ""
    return Experiment(
        study=_COLIC,
        arm=arm,
        set_up=f"dorsal, colic, 548 kg, peak pressure 40 cmH2O at 4/min, PEEP 0{after}",
        course=Course(case=case, minutes=72.0 if changes else 60.0),
        target_of_fit=True,
    )


# --- steps of 5 to PEEP 30 after an hour, 5 min each --------------------------------------------------

_TO_30 = (5.0, 10.0, 15.0, 20.0, 25.0, 30.0)
_LADDER = Course(
    case=ventilated(changes=peep_steps(_TO_30, from_min=60.0, step_min=5.0)), minutes=60.0 + 5.0 * len(_TO_30)
)


def _mean_of_steps(runs: SharedRuns, measure: Measure) -> float:
    return fmean(measure(runs.shown(_LADDER, 65.0 + 5.0 * i, 1.0)) for i in range(len(_TO_30)))


def _ladder(key: str, name: str) -> Comparison:
    return Comparison(
        key=key,
        study=_STEPS,
        quantity=QUANTITIES[name].words,
        set_up=f"dorsal: {USUAL} for 60 min; then PEEP 5 to 30 in steps of 5, 5 min each; mean of the steps",
        published=printed(_STEPS, name, "oxygen"),
        run=partial(_mean_of_steps, measure=QUANTITIES[name].measure),
    )


# --- best PEEP on 30 % oxygen: after opening, the step down with the highest compliance ---------------

_BEST_FROM = (30.0, 25.0, 20.0, 15.0, 10.0, 5.0, 0.0)
_THIN: dict[str, Any] = {"fresh_gas_flow_l_min": 10.0, "fresh_gas_oxygen_fraction": 0.38}


def best_peep_cmh2o(runs: SharedRuns) -> float:
    """Return the PEEP of the highest compliance on the way down from 30, on 30 % oxygen [cmH2O]."""
    steps = peep_steps((10.0, 20.0, *_BEST_FROM), from_min=60.0, step_min=5.0)
    course = Course(case=ventilated(changes=steps, **_THIN), minutes=60.0 + 5.0 * (2 + len(_BEST_FROM)))
    seen = {
        pressure: dynamic_compliance_ml_cmh2o(runs.shown(course, 75.0 + 5.0 * i, 1.0))
        for i, pressure in enumerate(_BEST_FROM)
    }
    return max(seen, key=seen.__getitem__)


_BEST = Comparison(
    key="best-peep",
    study=_NITROGEN,
    quantity="best PEEP",
    set_up="dorsal: as usual, inspired oxygen 0.30; PEEP to 30 after 60 min, then down by 5 every 5 min; "
    "the step of highest compliance",
    published=printed(_NITROGEN, "best_peep_cmh2o", "nitrogen"),
    run=best_peep_cmh2o,
)

# --- driving pressure of 20 on rising PEEP ------------------------------------------------------------


def _gain_at_30_mmhg(runs: SharedRuns) -> float:
    """Return the change of PaO2 from PEEP 0 to PEEP 30, driving pressure 20 throughout [mmHg]."""
    steps = peep_steps(_TO_30, from_min=40.0, step_min=10.0)
    case = ventilated(mode="pressure", inspiratory_pressure_cmh2o=20.0, changes=steps)
    course = Course(case=case, minutes=40.0 + 10.0 * len(_TO_30))
    before, after = (value(runs.shown(course, at_min), "pao2_mmhg") for at_min in (40.0, None))
    return after - before


_RISING = Comparison(
    key="steps-pao2-direction",
    study=_REGIONAL,
    quantity="change of PaO2 from PEEP 0 to 30",
    set_up="dorsal, 500 kg, driving pressure 20, PEEP in steps of 5, 10 min each",
    published=Direction(name="pao2_change_mmhg", as_printed="PaO2 rises as dependent lung opens", low=0.0),
    run=_gain_at_30_mmhg,
)

COMPARISONS = (
    _AT_5.compare("peep-5-shunt", "shunt_percent"),
    replace(_AT_5, target_of_fit=False).compare("peep-5-compliance", "static_compliance_ml_cmh2o"),
    _AT_5.compare("peep-5-oxygen-difference", "alveolar_arterial_oxygen_mmhg"),
    _AT_5.compare("peep-5-output", "cardiac_output_l_min"),
    _AT_20.compare("titration-20-shunt", "shunt_percent"),
    _AT_20.compare("titration-20-compliance", "static_compliance_ml_cmh2o"),
    _AT_20.compare("titration-20-oxygen-difference", "alveolar_arterial_oxygen_mmhg"),
    _AT_20_OUTPUT.compare("titration-20-output", "cardiac_output_l_min"),
    _BACK.compare("titration-back-shunt", "shunt_percent"),
    _BACK.compare("titration-back-compliance", "static_compliance_ml_cmh2o"),
    _colic("control", ()).compare("colic-control-pao2", "pao2_mmhg"),
    _colic("recruitment and PEEP 10", _OPENING).compare("colic-recruited-pao2", "pao2_mmhg"),
    _ladder("steps-compliance", "dynamic_compliance_ml_cmh2o"),
    _ladder("steps-pf", "pao2_fio2_mmhg"),
    _ladder("steps-oxygen-difference", "alveolar_arterial_oxygen_mmhg"),
    _BEST,
    _RISING,
)

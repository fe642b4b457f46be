"""PEEP in steps, and pressures that open closed lung: horses and ponies, healthy and with colic."""

from functools import partial
from statistics import fmean

from lungeline.case import Animal, Case, Change, Equipment, Recruitment, Settings
from lungeline.evidence.comparison import Comparison, Direction, printed
from lungeline.evidence.measures import (
    Measure,
    Reading,
    alveolar_arterial_mmhg,
    as_unit,
    dynamic_compliance_ml_cmh2o,
    pao2_fio2_mmhg,
    plain,
    value,
)
from lungeline.evidence.set_ups import HIGH_LIMIT_CMH2O, USUAL, breathing, peep_steps, ventilated
from lungeline.evidence.shared_runs import Course, SharedRuns

_TITRATION, _COLIC, _STEPS, _NITROGEN, _REGIONAL = (
    "ambrosio2013", "hopster2011", "hopster2018", "varner2019", "ambrisko2017",
)  # fmt: skip

# Titration: an hour of breathing, an hour at PEEP 5, then steps of a quarter of an hour.
_VENTILATED_MIN, _TITRATED_MIN, _QUARTER_MIN = 60.0, 120.0, 15.0
_ON = {"mode": "volume", "tidal_volume_l": 7.5, "respiratory_rate_per_min": 5.0, "inspiratory_time_s": 4.0,
       "peep_cmh2o": 5.0, "pressure_limit_cmh2o": HIGH_LIMIT_CMH2O}  # fmt: skip
_TITRATED = Course(
    case=breathing(
        changes=(
            Change(at_min=_VENTILATED_MIN, settings=_ON),
            *peep_steps((10, 15, 20, 15, 10, 5), from_min=_TITRATED_MIN, step_min=_QUARTER_MIN),
        )
    ),
    minutes=_TITRATED_MIN + 6 * _QUARTER_MIN,
)
_AT_20_MIN = _TITRATED_MIN + 3 * _QUARTER_MIN
_TITRATION_WORDS = "dorsal, 500 kg: 60 min breathing, then 15 mL/kg at 5/min, I:E 1:2, PEEP 5 for 60 min"
_SHUNT, _STATIC = as_unit("shunt_fraction", "percent"), as_unit("compliance_l_cmh2o", "ml_cmh2o")


def _titration(
    key: str, quantity: str, name: str, arm: str, measure: Measure, *, at_min: float | None, reason: str = ""
) -> Comparison:
    when = {_TITRATED_MIN: "", _AT_20_MIN: "; then steps of 5 every 15 min, at PEEP 20"}
    return Comparison(
        key=key,
        study=_TITRATION,
        quantity=quantity,
        set_up=_TITRATION_WORDS + when.get(at_min or 0.0, "; then up to 20 and back, at PEEP 5 again"),
        published=printed(_TITRATION, name, arm),
        target_of_fit=True,
        reason_if_outside=reason,
        run=Reading(course=_TITRATED, measure=measure, at_min=at_min),
    )


# Colic: ventilated by pressure to a peak of 40; the reservoir must hold what 80 cmH2O drive in.
_COLIC_HORSE = Animal(species="horse", weight_kg=548.0, condition="colic")
_LARGE = Equipment(reservoir_capacity_l=60.0)
_PEAK = {"mode": "pressure", "inspiratory_pressure_cmh2o": 40.0, "respiratory_rate_per_min": 4.0,
         "inspiratory_time_s": 3.0, "peep_cmh2o": 0.0, "pressure_limit_cmh2o": HIGH_LIMIT_CMH2O,
         "vaporiser_percent": 2.2, "tidal_volume_l": 10.0, "spare_volume_l": 40.0}  # fmt: skip
_OPENING = (
    Change(at_min=40.0, settings={"peep_cmh2o": 10.0, "inspiratory_pressure_cmh2o": 30.0}),
    Change(at_min=40.0, manoeuvre=Recruitment(pressures_cmh2o=(60.0, 80.0, 60.0), hold_s=12.0)),
)


def _colic(arm: str, changes: tuple[Change, ...], minutes: float, reason: str = "") -> Comparison:
    case = Case(animal=_COLIC_HORSE, equipment=_LARGE, settings=Settings(**_PEAK), changes=changes)
    after = "; then PEEP 10 and 60, 80, 60 cmH2O for 12 s each, read 30 min later" if changes else ""
    return Comparison(
        key="colic-recruited-pao2" if changes else "colic-control-pao2",
        study=_COLIC,
        quantity="PaO2",
        set_up=f"dorsal, colic, 548 kg, peak pressure 40 cmH2O at 4/min, PEEP 0{after}",
        published=printed(_COLIC, "pao2_mmhg", arm),
        target_of_fit=True,
        reason_if_outside=reason,
        run=Reading(course=Course(case=case, minutes=minutes), measure=plain("pao2_mmhg")),
    )


# Steps of 5 to PEEP 30 and back, 5 min each, after an hour.
_TO_30 = tuple(float(pressure) for pressure in (5, 10, 15, 20, 25, 30))
_LADDER = Course(
    case=ventilated(changes=peep_steps(_TO_30, from_min=60.0, step_min=5.0)), minutes=60.0 + 5.0 * len(_TO_30)
)


def _mean_of_steps(runs: SharedRuns, measure: Measure) -> float:
    return fmean(measure(runs.shown(_LADDER, 65.0 + 5.0 * i, 1.0)) for i in range(len(_TO_30)))


def _ladder(key: str, quantity: str, name: str, measure: Measure, reason: str = "") -> Comparison:
    return Comparison(
        key=key,
        study=_STEPS,
        quantity=quantity,
        set_up=f"dorsal: {USUAL} for 60 min; then PEEP 5 to 30 in steps of 5, 5 min each; mean of the steps",
        published=printed(_STEPS, name, "oxygen"),
        reason_if_outside=reason,
        run=partial(_mean_of_steps, measure=measure),
    )


# Best PEEP on 30 % oxygen: after opening, the step down with the highest compliance.
_BEST_FROM = (30.0, 25.0, 20.0, 15.0, 10.0, 5.0, 0.0)


def best_peep_cmh2o(runs: SharedRuns) -> float:
    """PEEP of the highest compliance on the way down from 30, on 30 % oxygen [cmH2O]."""
    steps = peep_steps((10.0, 20.0, *_BEST_FROM), from_min=60.0, step_min=5.0)
    thin = {"fresh_gas_flow_l_min": 10.0, "fresh_gas_oxygen_fraction": 0.38}
    course = Course(case=ventilated(changes=steps, **thin), minutes=60.0 + 5.0 * (2 + len(_BEST_FROM)))
    seen = {
        pressure: dynamic_compliance_ml_cmh2o(runs.shown(course, 75.0 + 5.0 * i, 1.0))
        for i, pressure in enumerate(_BEST_FROM)
    }
    return max(seen, key=seen.__getitem__)


def _gain_at_30_mmhg(runs: SharedRuns) -> float:
    """Change of PaO2 from PEEP 0 to PEEP 30, driving pressure 20 throughout [mmHg]."""
    steps = peep_steps(_TO_30, from_min=40.0, step_min=10.0)
    case = ventilated(mode="pressure", inspiratory_pressure_cmh2o=20.0, changes=steps)
    course = Course(case=case, minutes=40.0 + 10.0 * len(_TO_30))
    before, after = (value(runs.shown(course, at_min), "pao2_mmhg") for at_min in (40.0, None))
    return after - before


COMPARISONS = (
    _titration("peep-5-shunt", "shunt", "shunt_percent", "PEEP 5", _SHUNT, at_min=_TITRATED_MIN),
    _titration("peep-5-compliance", "static compliance", "static_compliance_ml_cmh2o", "PEEP 5", _STATIC,
               at_min=_TITRATED_MIN),
    _titration("peep-5-oxygen-difference", "P(A-a)O2", "alveolar_arterial_oxygen_mmhg", "PEEP 5",
               alveolar_arterial_mmhg, at_min=_TITRATED_MIN),
    _titration("peep-5-output", "cardiac output", "cardiac_output_l_min", "PEEP 5",
               plain("cardiac_output_l_min"), at_min=_TITRATED_MIN),
    _titration("titration-20-shunt", "shunt", "shunt_percent", "titration", _SHUNT, at_min=_AT_20_MIN),
    _titration("titration-20-compliance", "static compliance", "static_compliance_ml_cmh2o", "titration",
               _STATIC, at_min=_AT_20_MIN),
    _titration("titration-20-oxygen-difference", "P(A-a)O2", "alveolar_arterial_oxygen_mmhg", "titration",
               alveolar_arterial_mmhg, at_min=_AT_20_MIN),
    _titration("titration-20-output", "cardiac output", "cardiac_output_l_min", "PEEP 20",
               plain("cardiac_output_l_min"), at_min=_AT_20_MIN),
    _titration("titration-back-shunt", "shunt", "shunt_percent", "titration", _SHUNT, at_min=None),
    _titration("titration-back-compliance", "static compliance", "static_compliance_ml_cmh2o", "titration",
               _STATIC, at_min=None),
    _colic("control", (), 60.0),
    _colic("recruitment and PEEP 10", _OPENING, 72.0),
    _ladder("steps-compliance", "dynamic compliance", "dynamic_compliance_ml_cmh2o",
            dynamic_compliance_ml_cmh2o),
    _ladder("steps-pf", "PaO2/FiO2", "pao2_fio2_mmhg", pao2_fio2_mmhg),
    _ladder("steps-oxygen-difference", "P(A-a)O2", "alveolar_arterial_oxygen_mmhg", alveolar_arterial_mmhg),
    Comparison(
        key="best-peep",
        study=_NITROGEN,
        quantity="best PEEP on 30 % oxygen",
        set_up="dorsal: usual, inspired oxygen 0.30; PEEP to 30 after 60 min, then down by 5 every 5 min; "
        "the step of highest compliance",
        published=printed(_NITROGEN, "best_peep_cmh2o", "nitrogen"),
        run=best_peep_cmh2o,
    ),
    Comparison(
        key="steps-pao2-direction",
        study=_REGIONAL,
        quantity="change of PaO2 from PEEP 0 to 30, driving pressure 20",
        set_up="dorsal, 500 kg, PEEP in steps of 5, 10 min each",
        published=Direction(
            name="pao2_change_mmhg", as_printed="PaO2 rises as dependent lung opens (r² 0.71)", low=0.0
        ),
        run=_gain_at_30_mmhg,
    ),
)  # fmt: skip

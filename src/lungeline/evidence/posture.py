"""Posture: horizontal and head-up, dorsal and lateral, ventilated and breathing."""

from functools import partial

from lungeline.case import Animal
from lungeline.evidence.comparison import Comparison, Direction, printed
from lungeline.evidence.measures import (
    Measure,
    Reading,
    as_unit,
    f_shunt_percent,
    pao2_fio2_kpa,
    plain,
    value,
)
from lungeline.evidence.set_ups import HORSE, HORSE_KG, LATERAL_HORSE, USUAL, breathing, ventilated
from lungeline.evidence.shared_runs import SETTLED_MIN, Course, SharedRuns
from lungeline.reference import PublishedValue
from lungeline.simulate.herd import simulate_herd

_TILT, _NYMAN, _LATERAL, _SWANSON = "tucker2022", "nyman1987", "briganti", "swanson1986"
_NYMAN_KG = 486.0
_HEALTHY = (("superimposed_pressure_cmh2o", 0.7),)
_HERD_ANIMALS, _HERD_SEED = 100, 1
# 15 mL/kg and inspired oxygen of 0.96, as PaO2 over PaO2/FiO2 of that paper gives
_TILT_SETTINGS = {"tidal_volume_l": 7.5, "fresh_gas_oxygen_fraction": 0.97}
_HEAD_UP = Animal(species="horse", weight_kg=HORSE_KG, head_up_deg=15)
_TILT_WORDS = "dorsal, 500 kg, 15 mL/kg at 6/min, inspired oxygen 0.96"
_DIFFERENT_HORSES = (
    "Six healthy horses with twice the PaO2 of the 406 clinical ones the usual animal is fitted to. The two "
    "cannot be one animal; a lung that weighs less is another horse."
)


def _tilt(
    key: str, quantity: str, arm: str, measure: Measure, *, healthy: bool, reason: str = ""
) -> Comparison:
    up = arm != "horizontal"
    case = ventilated(_HEAD_UP if up else HORSE, **_TILT_SETTINGS)
    name = "pao2_mmhg" if quantity == "PaO2" else "f_shunt_percent"
    animal = "a healthy animal (0.7 of the usual superimposed pressure)" if healthy else "the usual animal"
    return Comparison(
        key=key,
        study=_TILT,
        quantity=quantity,
        set_up=f"{_TILT_WORDS}, {arm}; {animal}",
        published=printed(_TILT, name, arm),
        reason_if_outside=reason,
        run=Reading(course=Course(case=case, multipliers=_HEALTHY if healthy else ()), measure=measure),
    )


def published_rank_percent(runs: SharedRuns) -> float:
    """Share of a herd's animals whose PaO2 lies below the published median [%]."""
    case = ventilated(**_TILT_SETTINGS)
    herd = simulate_herd(case, _HERD_ANIMALS, _HERD_SEED, SETTLED_MIN, dt_s=runs.step_s)
    below = herd.values["pao2_mmhg"][:, -1] < printed(_TILT, "pao2_mmhg", "horizontal").published
    return 100.0 * float(below.mean())


def _nyman(key: str, arm: str, animal: Animal, *, alone: bool, target: bool, reason: str = "") -> Comparison:
    return Comparison(
        key=key,
        study=_NYMAN,
        quantity="PaO2",
        set_up=f"{arm}: {_NYMAN_KG:g} kg, isoflurane about 1.1 MAC in oxygen"
        + ("" if alone else ", 13 mL/kg at 6/min, PEEP 0"),
        published=printed(_NYMAN, "pao2_kpa", arm),
        target_of_fit=target,
        reason_if_outside=reason,
        run=Reading(
            course=Course(case=(breathing if alone else ventilated)(animal)),
            measure=as_unit("pao2_mmhg", "kpa"),
        ),
    )


def _peep_10_gain_percent(runs: SharedRuns) -> float:
    """Change of PaO2 by PEEP 10 alone [%]."""
    before, after = (
        value(runs.shown(Course(case=ventilated(peep_cmh2o=peep))), "pao2_mmhg") for peep in (0.0, 10.0)
    )
    return 100.0 * (after / before - 1.0)


def _lateral(key: str, quantity: str, name: str, measure: Measure) -> Comparison:
    return Comparison(
        key=key,
        study=_LATERAL,
        quantity=quantity,
        set_up=f"left lateral: {USUAL}",
        published=printed(_LATERAL, name),
        run=Reading(course=Course(case=ventilated(LATERAL_HORSE)), measure=measure),
    )


def _posture_ratio(runs: SharedRuns, key: str) -> float:
    dorsal, lateral = (
        value(runs.shown(Course(case=ventilated(animal))), key) for animal in (HORSE, LATERAL_HORSE)
    )
    return dorsal / lateral


_486, _486_LATERAL = (
    Animal(species="horse", weight_kg=_NYMAN_KG, position=position) for position in ("dorsal", "left lateral")
)

COMPARISONS = (
    _tilt("tilt-horizontal-pao2", "PaO2", "horizontal", plain("pao2_mmhg"), healthy=False,
          reason=_DIFFERENT_HORSES),
    _tilt("tilt-horizontal-shunt", "F-shunt", "horizontal", f_shunt_percent, healthy=False,
          reason=_DIFFERENT_HORSES),
    _tilt("tilt-horizontal-healthy-pao2", "PaO2", "horizontal", plain("pao2_mmhg"), healthy=True),
    _tilt("tilt-horizontal-healthy-shunt", "F-shunt", "horizontal", f_shunt_percent, healthy=True),
    _tilt("tilt-head-up-pao2", "PaO2", "head-up 15 degrees", plain("pao2_mmhg"), healthy=False,
          reason=_DIFFERENT_HORSES),
    _tilt("tilt-head-up-healthy-pao2", "PaO2", "head-up 15 degrees", plain("pao2_mmhg"), healthy=True),
    _tilt("tilt-head-up-healthy-shunt", "F-shunt", "head-up 15 degrees", f_shunt_percent, healthy=True),
    Comparison(
        key="tilt-herd-rank",
        study=_TILT,
        quantity="rank of the published median PaO2 among 100 simulated animals",
        set_up=f"{_TILT_WORDS}, horizontal; animals that differ as animals do",
        published=PublishedValue(
            name="rank_percent", published=50.0, unit="percent", low=10.0, high=90.0,
            as_printed="437 mmHg, to lie among the middle 80 % of animals",
        ),
        run=published_rank_percent,
    ),
    _nyman("posture-lateral-breathing-pao2", "lateral, spontaneous", _486_LATERAL, alone=True, target=True),
    _nyman("posture-dorsal-breathing-pao2", "dorsal, spontaneous", _486, alone=True, target=True),
    _nyman("posture-dorsal-ventilated-pao2", "dorsal, ventilated", _486, alone=False, target=False),
    Comparison(
        key="posture-peep-10-gain",
        study=_NYMAN,
        quantity="change of PaO2 by PEEP 10 alone",
        set_up=f"dorsal: {USUAL}, against PEEP 10",
        published=PublishedValue(
            name="pao2_change_percent", published=0.0, unit="percent", low=-15.0, high=15.0,
            as_printed="general PEEP did not help (companion paper, 1989)",
        ),
        run=_peep_10_gain_percent,
    ),
    _lateral("lateral-shunt", "shunt", "shunt_percent", as_unit("shunt_fraction", "percent")),
    _lateral("lateral-f-shunt", "F-shunt", "f_shunt_percent", f_shunt_percent),
    _lateral("lateral-pf", "PaO2/FiO2", "pao2_fio2_kpa", pao2_fio2_kpa),
    Comparison(
        key="posture-shunt-direction",
        study=_SWANSON,
        quantity="shunt dorsal over lateral",
        set_up=f"dorsal and left lateral: {USUAL}",
        published=Direction(name="shunt_ratio", as_printed="shunt greater dorsal", low=1.0),
        run=partial(_posture_ratio, key="shunt_fraction"),
    ),
    Comparison(
        key="posture-output",
        study=_SWANSON,
        quantity="cardiac output dorsal over lateral",
        set_up=f"dorsal and left lateral: {USUAL}",
        published=PublishedValue(
            name="output_ratio", published=1.0, unit="ratio", as_printed="the same in all positions"
        ),
        run=partial(_posture_ratio, key="cardiac_output_l_min"),
    ),
)  # fmt: skip

"""Posture: horizontal and head-up, dorsal and lateral, ventilated and breathing."""

from functools import partial
from typing import Any

from lungeline.case import Animal
from lungeline.evidence.comparison import Comparison, Direction, printed, told
from lungeline.evidence.experiment import Experiment
from lungeline.evidence.measures import value
from lungeline.evidence.set_ups import HORSE, HORSE_KG, LATERAL_HORSE, USUAL, breathing, ventilated
from lungeline.evidence.shared_runs import SETTLED_MIN, Course, SharedRuns
from lungeline.reference import PublishedValue
from lungeline.simulate.herd import simulate_herd

_TILT, _NYMAN, _LATERAL, _SWANSON = "tucker2022", "nyman1987", "briganti", "swanson1986"

# --- horizontal and head-up ---------------------------------------------------------------------------

_HERD_ANIMALS, _HERD_SEED = 100, 1
_HEALTHY = (("superimposed_pressure_cmh2o", 0.7),)
# 15 mL/kg as printed; inspired oxygen of 0.96, as PaO2 over PaO2/FiO2 of the paper gives
_TILT_SETTINGS: dict[str, Any] = {"tidal_volume_l": 7.5, "fresh_gas_oxygen_fraction": 0.97}
_TILT_WORDS = "dorsal, 500 kg, 15 mL/kg at 6/min, inspired oxygen 0.96"
_HEAD_UP = Animal(species="horse", weight_kg=HORSE_KG, head_up_deg=15)


def _tilt(animal: Animal, *, healthy: bool = False) -> Experiment:
    arm = "head-up 15 degrees" if animal.head_up_deg else "horizontal"
    who = "a healthy animal (0.7 of the usual superimposed pressure)" if healthy else "the usual animal"
    case = ventilated(animal, **_TILT_SETTINGS)
    return Experiment(
        study=_TILT,
        arm=arm,
        set_up=f"{_TILT_WORDS}, {arm}; {who}",
        course=Course(case=case, multipliers=_HEALTHY if healthy else ()),
    )


def published_rank_percent(runs: SharedRuns) -> float:
    """Return the share of a herd whose PaO2 lies below the published median [%]."""
    herd = simulate_herd(
        ventilated(**_TILT_SETTINGS), _HERD_ANIMALS, _HERD_SEED, SETTLED_MIN, dt_s=runs.step_s
    )
    below = herd.values["pao2_mmhg"][:, -1] < printed(_TILT, "pao2_mmhg", "horizontal").published
    return 100.0 * float(below.mean())


_RANK = Comparison(
    key="tilt-herd-rank",
    study=_TILT,
    quantity="rank of the published median PaO2 among simulated animals",
    set_up=f"{_TILT_WORDS}, horizontal; {_HERD_ANIMALS} animals that differ as animals do",
    published=told("rank_percent", "437 mmHg, to lie among the middle 80 %", 50.0, 40.0),
    run=published_rank_percent,
)

# --- dorsal and lateral -------------------------------------------------------------------------------

_NYMAN_KG = 486.0
_NYMAN_WORDS = f"{_NYMAN_KG:g} kg, isoflurane about 1.1 MAC in oxygen"
_ON_BACK = Animal(species="horse", weight_kg=_NYMAN_KG)
_ON_SIDE = Animal(species="horse", weight_kg=_NYMAN_KG, position="left lateral")


def _alone(arm: str, animal: Animal) -> Experiment:
    return Experiment(
        study=_NYMAN,
        arm=arm,
        set_up=f"{arm}: {_NYMAN_WORDS}",
        course=Course(case=breathing(animal)),
        target_of_fit=True,
    )


_ON_MACHINE = Experiment(
    study=_NYMAN,
    arm="dorsal, ventilated",
    set_up=f"dorsal, ventilated: {_NYMAN_WORDS}, 13 mL/kg at 6/min, PEEP 0",
    course=Course(case=ventilated(_ON_BACK)),
)


def _peep_10_gain_percent(runs: SharedRuns) -> float:
    """Return the change of PaO2 by PEEP 10 alone [%]."""
    before, after = (
        value(runs.shown(Course(case=ventilated(peep_cmh2o=peep))), "pao2_mmhg") for peep in (0.0, 10.0)
    )
    return 100.0 * (after / before - 1.0)


_PEEP_10 = Comparison(
    key="posture-peep-10-gain",
    study=_NYMAN,
    quantity="change of PaO2 by PEEP 10 alone",
    set_up=f"dorsal: {USUAL}, against PEEP 10",
    published=told(
        "pao2_change_percent", "general PEEP did not help (1989), taken as within 15 %", 0.0, 15.0
    ),
    run=_peep_10_gain_percent,
)

_LEFT = Experiment(
    study=_LATERAL, set_up=f"left lateral: {USUAL}", course=Course(case=ventilated(LATERAL_HORSE))
)


def _dorsal_over_lateral(runs: SharedRuns, key: str) -> float:
    dorsal, lateral = (
        value(runs.shown(Course(case=ventilated(animal))), key) for animal in (HORSE, LATERAL_HORSE)
    )
    return dorsal / lateral


def _both(key: str, quantity: str, breath_key: str, published: PublishedValue | Direction) -> Comparison:
    return Comparison(
        key=key,
        study=_SWANSON,
        quantity=f"{quantity} dorsal over lateral",
        set_up=f"dorsal and left lateral: {USUAL}",
        published=published,
        run=partial(_dorsal_over_lateral, key=breath_key),
    )


_HIGHER = Direction(name="shunt_ratio", as_printed="shunt greater dorsal", low=1.0)
_SAME = told("output_ratio", "the same in all positions", 1.0)

COMPARISONS = (
    _tilt(HORSE).compare("tilt-horizontal-pao2", "pao2_mmhg"),
    _tilt(HORSE).compare("tilt-horizontal-shunt", "f_shunt_percent"),
    _tilt(HORSE, healthy=True).compare("tilt-horizontal-healthy-pao2", "pao2_mmhg"),
    _tilt(HORSE, healthy=True).compare("tilt-horizontal-healthy-shunt", "f_shunt_percent"),
    _RANK,
    _tilt(_HEAD_UP).compare("tilt-head-up-pao2", "pao2_mmhg"),
    _tilt(_HEAD_UP, healthy=True).compare("tilt-head-up-healthy-pao2", "pao2_mmhg"),
    _tilt(_HEAD_UP, healthy=True).compare("tilt-head-up-healthy-shunt", "f_shunt_percent"),
    _alone("lateral, spontaneous", _ON_SIDE).compare("posture-lateral-breathing-pao2", "pao2_kpa"),
    _alone("dorsal, spontaneous", _ON_BACK).compare("posture-dorsal-breathing-pao2", "pao2_kpa"),
    _ON_MACHINE.compare("posture-dorsal-ventilated-pao2", "pao2_kpa"),
    _PEEP_10,
    _LEFT.compare("lateral-shunt", "shunt_percent"),
    _LEFT.compare("lateral-f-shunt", "f_shunt_percent"),
    _LEFT.compare("lateral-pf", "pao2_fio2_kpa"),
    _both("posture-shunt-direction", "shunt", "shunt_fraction", _HIGHER),
    _both("posture-output", "cardiac output", "cardiac_output_l_min", _SAME),
)

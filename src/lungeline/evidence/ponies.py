"""Ponies: PEEP 0 to 30, the only series of lung volume, and recruitment under drugs by needle."""

from functools import partial
from typing import Any

from lungeline.case import Animal, Case, Change, Settings, Start
from lungeline.evidence.comparison import Comparison, printed
from lungeline.evidence.experiment import Experiment
from lungeline.evidence.measures import QUANTITIES, Measure
from lungeline.evidence.set_ups import HIGH_LIMIT_CMH2O, peep_steps
from lungeline.evidence.shared_runs import Course, SharedRuns
from lungeline.reference import figure

_PEEP, _RECRUITED = "wilson1990", "wettstein2006"
_BY_NEEDLE: dict[str, Any] = {
    "vaporiser_percent": 0.0,
    "injectable_mac_multiple": 1.0,
    "pressure_limit_cmh2o": HIGH_LIMIT_CMH2O,
    "respiratory_rate_per_min": 8.0,
    "peep_cmh2o": 0.0,
}
_NO_AGENT = Start(circle_agent_percent=0.0)

# --- PEEP 0 to 30 -------------------------------------------------------------------------------------

_PONY = Animal(species="pony", weight_kg=200.0)
_STEPS = (0.0, 10.0, 20.0, 30.0)
_STEP_MIN = 20.0
_TRACE_HZ = 5.0
_SERIES = Course(
    case=Case(
        animal=_PONY,
        start=_NO_AGENT,
        settings=Settings(tidal_volume_l=2.6, **_BY_NEEDLE),
        changes=peep_steps(_STEPS[1:], from_min=40.0, step_min=_STEP_MIN),
    ),
    minutes=40.0 + 3 * _STEP_MIN,
    trace_rate_hz=_TRACE_HZ,
)
_SERIES_WORDS = "dorsal, 200 kg, 13 mL/kg at 8/min, no volatile agent, oxygen, 20 min at each PEEP"


def _end_min(peep_cmh2o: float) -> float:
    return 40.0 + _STEP_MIN * _STEPS.index(peep_cmh2o)


def _at(peep_cmh2o: float, *, target_of_fit: bool) -> Experiment:
    return Experiment(
        study=_PEEP,
        arm=f"PEEP {peep_cmh2o:g}",
        set_up=f"{_SERIES_WORDS}; PEEP {peep_cmh2o:g}",
        course=_SERIES,
        at_min=_end_min(peep_cmh2o),
        target_of_fit=target_of_fit,
    )


def functional_residual_capacity_l(runs: SharedRuns, peep_cmh2o: float) -> float:
    """Return the gas in lung and airways at the end of expiration, without the tube [L]."""
    a_minute = int(60.0 * _TRACE_HZ)
    last = int(a_minute * _end_min(peep_cmh2o))
    lung_l = runs.run(_SERIES).traces["volume_l"][last - a_minute : last]
    airways_ml_kg = figure("animal.horse.airway_dead_space_ml_kg").value
    return float(lung_l.min()) + airways_ml_kg * _PONY.weight_kg / 1000.0


def _volume(peep_cmh2o: float) -> Comparison:
    return Comparison(
        key=f"pony-volume-peep-{peep_cmh2o:g}",
        study=_PEEP,
        quantity="functional residual capacity",
        set_up=f"{_SERIES_WORDS}; PEEP {peep_cmh2o:g}",
        published=printed(_PEEP, "functional_residual_capacity_l", f"PEEP {peep_cmh2o:g}"),
        target_of_fit=peep_cmh2o == 0.0,
        run=partial(functional_residual_capacity_l, peep_cmh2o=peep_cmh2o),
    )


# --- recruitment: PEEP to 20, driving 25, 30, 35, then 20 on PEEP 10 ----------------------------------

_SHETLAND = Animal(species="pony", weight_kg=150.0)
_DRIVEN: dict[str, Any] = {"mode": "pressure", "inspiratory_pressure_cmh2o": 20.0, "tidal_volume_l": 2.0}
_OPENING = (
    *peep_steps((5.0, 10.0, 15.0, 20.0), from_min=40.0, step_min=5.0),
    *(
        Change(at_min=60.0 + i, settings={"inspiratory_pressure_cmh2o": driving})
        for i, driving in enumerate((25.0, 30.0, 35.0))
    ),
    Change(at_min=63.0, settings={"inspiratory_pressure_cmh2o": 20.0, "peep_cmh2o": 10.0}),
)
_OPENED = Course(
    case=Case(
        animal=_SHETLAND, start=_NO_AGENT, settings=Settings(**{**_BY_NEEDLE, **_DRIVEN}), changes=_OPENING
    ),
    minutes=78.0,
)


def _change_percent(runs: SharedRuns, measure: Measure) -> float:
    before, after = (measure(runs.shown(_OPENED, at_min)) for at_min in (40.0, None))
    return 100.0 * (after / before - 1.0)


def _opened(key: str, change: str, name: str) -> Comparison:
    return Comparison(
        key=key,
        study=_RECRUITED,
        quantity=f"change of {QUANTITIES[name].words}",
        set_up="dorsal, 150 kg, no volatile agent, oxygen, driving pressure 20 for 40 min; PEEP to 20, "
        "driving 25, 30, 35; then 20 on PEEP 10, read 15 min later",
        published=printed(_RECRUITED, change, "after recruitment"),
        run=partial(_change_percent, measure=QUANTITIES[name].measure),
    )


COMPARISONS = (
    *(
        _at(peep, target_of_fit=True).compare(f"pony-shunt-peep-{peep:g}", "shunt_percent")
        for peep in (0.0, 20.0, 30.0)
    ),
    *(
        _at(peep, target_of_fit=False).compare(f"pony-output-peep-{peep:g}", "cardiac_output_l_min")
        for peep in _STEPS
    ),
    *(_volume(peep) for peep in _STEPS),
    _opened("pony-recruited-pao2", "pao2_change_percent", "pao2_mmhg"),
    _opened("pony-recruited-compliance", "dynamic_compliance_change_percent", "dynamic_compliance_ml_cmh2o"),
    _opened("pony-recruited-shunt", "shunt_change_percent", "shunt_percent"),
)

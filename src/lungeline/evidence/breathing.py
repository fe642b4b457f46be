"""Animals that breathe for themselves: gases, rate, and what little pressure does."""

from functools import partial
from statistics import fmean

from lungeline.case import Animal
from lungeline.evidence.comparison import Comparison, Direction, printed, told
from lungeline.evidence.experiment import Experiment
from lungeline.evidence.measures import plain, value
from lungeline.evidence.set_ups import HORSE_KG, USUAL_BREATHING, breathing
from lungeline.evidence.shared_runs import Course, SharedRuns
from lungeline.evidence.solved import Knob
from lungeline.reference import PublishedValue, figure

_BASELINE, _CPAP, _DESFLURANE = "pulsed-no2012", "mosing-cpap", "steffey2005des"
_CALVES, _MARES = "hannover-calves", "pregnant-mares"

_DORSAL = Experiment(
    study=_BASELINE,
    arm="baseline",
    set_up=f"dorsal: {USUAL_BREATHING}",
    course=Course(case=breathing()),
    target_of_fit=True,
)
_PREGNANT = Experiment(
    study=_MARES,
    arm="isoflurane",
    set_up=f"dorsal, pregnant: {USUAL_BREATHING}",
    course=Course(case=breathing(Animal(species="horse", weight_kg=HORSE_KG, condition="pregnant"))),
)
_CALF = Experiment(
    study=_CALVES,
    arm="isoflurane",
    set_up="calf of 66.2 kg, dorsal, breathing, isoflurane in oxygen",
    course=Course(case=breathing(Animal(species="calf", weight_kg=66.2), vaporiser_percent=2.0)),
)

# --- desflurane at three depths -----------------------------------------------------------------------

_DEPTHS_MAC = (1.0, 1.5, 1.75)


def _desflurane(dial_percent: float) -> Course:
    return Course(case=breathing(agent="desflurane", vaporiser_percent=dial_percent))


def desflurane_paco2_mmhg(runs: SharedRuns) -> float:
    """Return the mean arterial CO2 over 1.0, 1.5 and 1.75 MAC of desflurane, breathing [mmHg]."""
    mac_percent = figure("agents.desflurane.mac_horse_percent").value
    found = []
    for depth in _DEPTHS_MAC:
        dial = Knob(
            course_at=_desflurane, measure=plain("mac_multiple"), first=depth * mac_percent, rises=True
        )
        found.append(value(runs.shown(_desflurane(dial.solved(runs, depth))), "paco2_mmhg"))
    return fmean(found)


# --- a little pressure --------------------------------------------------------------------------------

_CPAP_CMH2O = 8.0


def _cpap_ratio(runs: SharedRuns, key: str) -> float:
    without, with_it = (
        value(runs.shown(Course(case=breathing(peep_cmh2o=pressure))), key) for pressure in (0.0, _CPAP_CMH2O)
    )
    return with_it / without


def _cpap(key: str, breath_key: str, published: PublishedValue | Direction) -> Comparison:
    return Comparison(
        key=key,
        study=_CPAP,
        quantity=f"{'PaO2' if breath_key == 'pao2_mmhg' else 'PaCO2'} with CPAP 8 over without",
        set_up=f"dorsal: {USUAL_BREATHING}",
        published=published,
        run=partial(_cpap_ratio, key=breath_key),
    )


_RAISED = Direction(name="pao2_ratio", as_printed="CPAP raised PaO2", low=1.0)
_SAME = told("paco2_ratio", "ventilation did not differ", 1.0)

COMPARISONS = (
    _DORSAL.compare("breathing-pao2", "pao2_mmhg"),
    _DORSAL.compare("breathing-paco2", "paco2_mmhg"),
    _DORSAL.compare("breathing-shunt", "shunt_percent"),
    Comparison(
        key="breathing-desflurane-paco2",
        study=_DESFLURANE,
        quantity="PaCO2, mean of 1.0, 1.5 and 1.75 MAC",
        set_up="dorsal, 500 kg, breathing, desflurane in oxygen, dial set to reach each depth",
        published=printed(_DESFLURANE, "paco2_mmhg", "spontaneous, mean of 1.0 to 1.75 MAC"),
        run=desflurane_paco2_mmhg,
    ),
    _PREGNANT.compare("breathing-mares-rate", "respiratory_rate_per_min"),
    _PREGNANT.compare("breathing-mares-pressure", "map_mmhg"),
    _cpap("cpap-pao2-direction", "pao2_mmhg", _RAISED),
    _cpap("cpap-paco2", "paco2_mmhg", _SAME),
    _CALF.compare("calf-tidal-volume", "tidal_volume_l"),
)

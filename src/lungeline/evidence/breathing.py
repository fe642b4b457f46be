"""Animals that breathe for themselves: gases, rate, and what little pressure does."""

from functools import partial
from statistics import fmean

from lungeline.case import Animal
from lungeline.evidence.comparison import Comparison, Direction, printed
from lungeline.evidence.measures import Measure, Reading, as_unit, plain, value
from lungeline.evidence.set_ups import HORSE_KG, USUAL_BREATHING, breathing
from lungeline.evidence.shared_runs import Course, SharedRuns
from lungeline.evidence.solved import solved
from lungeline.reference import PublishedValue, figure

_BASELINE, _CPAP, _DESFLURANE, _CALVES, _MARES = (
    "pulsed-no2012", "mosing-cpap", "steffey2005des", "hannover-calves", "pregnant-mares",
)  # fmt: skip
_DEPTHS_MAC = (1.0, 1.5, 1.75)
_CALF = Animal(species="calf", weight_kg=66.2)
_MARE = Animal(species="horse", weight_kg=HORSE_KG, condition="pregnant")
_CPAP_CMH2O = 8.0


def _baseline(key: str, quantity: str, name: str, measure: Measure, reason: str = "") -> Comparison:
    return Comparison(
        key=key,
        study=_BASELINE,
        quantity=quantity,
        set_up=f"dorsal: {USUAL_BREATHING}",
        published=printed(_BASELINE, name, "baseline"),
        target_of_fit=True,
        reason_if_outside=reason,
        run=Reading(course=Course(case=breathing()), measure=measure),
    )


def _desflurane_course(dial_percent: float) -> Course:
    return Course(case=breathing(agent="desflurane", vaporiser_percent=dial_percent))


def desflurane_paco2_mmhg(runs: SharedRuns) -> float:
    """Mean arterial CO2 over 1.0, 1.5 and 1.75 MAC of desflurane, breathing [mmHg]."""
    mac_percent = figure("agents.desflurane.mac_horse_percent").value
    found = []
    for depth in _DEPTHS_MAC:
        dial = solved(
            runs,
            _desflurane_course,
            plain("mac_multiple"),
            wanted=depth,
            first=depth * mac_percent,
            rises=True,
        )
        found.append(value(runs.shown(_desflurane_course(dial)), "paco2_mmhg"))
    return fmean(found)


def _cpap_ratio(runs: SharedRuns, key: str) -> float:
    without, with_it = (
        value(runs.shown(Course(case=breathing(peep_cmh2o=pressure))), key) for pressure in (0.0, _CPAP_CMH2O)
    )
    return with_it / without


COMPARISONS = (
    _baseline("breathing-pao2", "PaO2", "pao2_mmhg", plain("pao2_mmhg")),
    _baseline("breathing-paco2", "PaCO2", "paco2_mmhg", plain("paco2_mmhg")),
    _baseline("breathing-shunt", "shunt", "shunt_percent", as_unit("shunt_fraction", "percent")),
    Comparison(
        key="breathing-desflurane-paco2",
        study=_DESFLURANE,
        quantity="PaCO2, mean of 1.0, 1.5 and 1.75 MAC",
        set_up="dorsal, 500 kg, breathing, desflurane in oxygen, dial set to reach each depth",
        published=printed(_DESFLURANE, "paco2_mmhg", "spontaneous, mean of 1.0 to 1.75 MAC"),
        run=desflurane_paco2_mmhg,
    ),
    Comparison(
        key="breathing-mares-rate",
        study=_MARES,
        quantity="respiratory rate",
        set_up=f"dorsal, pregnant: {USUAL_BREATHING}",
        published=printed(_MARES, "respiratory_rate_per_min", "isoflurane"),
        run=Reading(course=Course(case=breathing(_MARE)), measure=plain("respiratory_rate_per_min")),
    ),
    Comparison(
        key="breathing-mares-map",
        study=_MARES,
        quantity="mean arterial pressure",
        set_up=f"dorsal, pregnant: {USUAL_BREATHING}",
        published=printed(_MARES, "map_mmhg", "isoflurane"),
        run=Reading(course=Course(case=breathing(_MARE)), measure=plain("map_mmhg")),
    ),
    Comparison(
        key="cpap-pao2-direction",
        study=_CPAP,
        quantity="PaO2 with CPAP 8 over without",
        set_up=f"dorsal: {USUAL_BREATHING}",
        published=Direction(name="pao2_ratio", as_printed="CPAP raised PaO2", low=1.0),
        run=partial(_cpap_ratio, key="pao2_mmhg"),
    ),
    Comparison(
        key="cpap-paco2",
        study=_CPAP,
        quantity="PaCO2 with CPAP 8 over without",
        set_up=f"dorsal: {USUAL_BREATHING}",
        published=PublishedValue(
            name="paco2_ratio", published=1.0, unit="ratio", as_printed="ventilation did not differ"
        ),
        run=partial(_cpap_ratio, key="paco2_mmhg"),
    ),
    Comparison(
        key="calf-tidal-volume",
        study=_CALVES,
        quantity="tidal volume",
        set_up="calf of 66.2 kg, dorsal, breathing, isoflurane in oxygen",
        published=printed(_CALVES, "tidal_volume_l", "isoflurane"),
        run=Reading(
            course=Course(case=breathing(_CALF, vaporiser_percent=2.0)), measure=plain("tidal_volume_expired_l")
        ),
    ),
)  # fmt: skip

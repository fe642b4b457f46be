"""Carbon dioxide: the gap to end-tidal, the level at which breaths return, apnoea, and what it does to output."""

from functools import partial

from lungeline.case import Change
from lungeline.evidence.comparison import Comparison, Direction, printed
from lungeline.evidence.measures import Reading, gap_kpa, gap_percent, plain, value
from lungeline.evidence.set_ups import USUAL, ventilated
from lungeline.evidence.shared_runs import Course, SharedRuns
from lungeline.evidence.solved import solved
from lungeline.reference import PublishedValue

_GAP, _LEVELS, _APNOEA, _HYPERCAPNIA = "moens1989", "ippv-paco2-target", "blaze1987", "khanna1995"
_PARALYSED = ("breathes", 0.0)
_PACO2 = plain("paco2_mmhg")

# --- three levels of PaCO2 ----------------------------------------------------------------------------


def _at_rate(rate_per_min: float, *, paralysed: bool) -> Course:
    case = ventilated(respiratory_rate_per_min=rate_per_min)
    return Course(case=case, multipliers=(_PARALYSED,) if paralysed else ())


def at_level(runs: SharedRuns, wanted_mmhg: float) -> Course:
    """Return the course at the rate that gives this PaCO2 as long as the animal adds no breaths."""
    rate = solved(runs, partial(_at_rate, paralysed=True), _PACO2, wanted=wanted_mmhg, first=6.0, rises=False)
    return _at_rate(rate, paralysed=False)


def _level(runs: SharedRuns, wanted_mmhg: float, key: str) -> float:
    return value(runs.shown(at_level(runs, wanted_mmhg), window_min=5.0), key)


def _gap_ratio(runs: SharedRuns) -> float:
    """Gap at 60 over gap at 40, the animal held still so that both are machine breaths."""
    gaps = []
    for wanted in (60.0, 40.0):
        rate = at_level(runs, wanted).case.settings.respiratory_rate_per_min
        gaps.append(gap_kpa(runs.shown(_at_rate(rate, paralysed=True))))
    return gaps[0] / gaps[1]


# --- apnoea -------------------------------------------------------------------------------------------

_APNOEIC_MIN = 10.0
_OFF = Change(at_min=40.0, settings={"mode": "spontaneous"})
_APNOEIC = Course(
    case=ventilated(agent="halothane", vaporiser_percent=1.2, changes=(_OFF,)),
    minutes=40.0 + _APNOEIC_MIN,
    multipliers=(_PARALYSED,),
)
_APNOEA_WORDS = (
    "dorsal, paralysed, 500 kg, halothane in oxygen, 13 mL/kg at 6/min for 40 min, then none for 10"
)
_BEGAN_S = 40.0 * 60.0
_ROW_S = 15.0  # without a breath the monitor writes a row this often


def _per_minute(runs: SharedRuns, key: str) -> float:
    before, last = runs.shown(_APNOEIC, 40.0), runs.run(_APNOEIC).at_end
    middle_of_last_s = last.time_s + 0.5 * _ROW_S
    return (value(last, key) - value(before, key)) / ((middle_of_last_s - _BEGAN_S) / 60.0)


def _apnoeic_pao2_mmhg(runs: SharedRuns) -> float:
    return value(runs.run(_APNOEIC).at_end, "pao2_mmhg")


# --- hypercapnia --------------------------------------------------------------------------------------


def _made(factor: float) -> Course:
    """Paralysed, at a fixed ventilation, with more CO2 to breathe out: as if it were added to inspired gas."""
    return Course(case=ventilated(), multipliers=(_PARALYSED, ("carbon_dioxide_output_l_min", factor)))


def _change_percent(runs: SharedRuns, key: str, from_arm: str, to_arm: str) -> float:
    seen = []
    for arm in (from_arm, to_arm):
        wanted = printed(_HYPERCAPNIA, "paco2_mmhg", arm).published
        factor = solved(runs, _made, _PACO2, wanted=wanted, first=1.0, rises=True)
        seen.append(value(runs.shown(_made(factor)), key))
    return 100.0 * (seen[1] / seen[0] - 1.0)


def _hypercapnia(
    slug: str, quantity: str, key: str, arms: tuple[str, str], words: str, reason: str = ""
) -> Comparison:
    falls = "fall" in words
    return Comparison(
        key=f"hypercapnia-{slug}",
        study=_HYPERCAPNIA,
        quantity=f"change of {quantity}, {arms[0]} to {arms[1]}",
        set_up="dorsal, paralysed, 500 kg, 13 mL/kg at 6/min; CO2 raised to the printed means",
        published=Direction(
            name=f"{slug.replace('-', '_')}_percent",
            as_printed=words,
            low=-100.0 if falls else 0.0,
            high=0.0 if falls else 1000.0,
        ),
        reason_if_outside=reason,
        run=partial(_change_percent, key=key, from_arm=arms[0], to_arm=arms[1]),
    )


_OUTPUT, _PRESSURE = "cardiac_output_l_min", "map_mmhg"

COMPARISONS = (
    Comparison(
        key="gap",
        study=_GAP,
        quantity="PaCO2 - EtCO2",
        set_up=f"dorsal: {USUAL}",
        published=printed(_GAP, "gap_kpa"),
        run=Reading(course=Course(case=ventilated()), measure=gap_kpa),
    ),
    Comparison(
        key="alveolar-dead-space",
        study=_GAP,
        quantity="alveolar dead space of alveolar tidal volume",
        set_up=f"dorsal: {USUAL}",
        published=printed(_GAP, "alveolar_dead_space_percent"),
        run=Reading(course=Course(case=ventilated()), measure=gap_percent),
    ),
    Comparison(
        key="levels-breaths-at-50",
        study=_LEVELS,
        quantity="own breaths at PaCO2 50",
        set_up=f"dorsal: {USUAL}, rate set for PaCO2 50",
        published=Direction(name="own_breaths_per_min", as_printed="none at 50", high=0.0),
        run=partial(_level, wanted_mmhg=50.0, key="own_breaths_per_min"),
    ),
    Comparison(
        key="levels-breaths-at-60",
        study=_LEVELS,
        quantity="own breaths at PaCO2 60",
        set_up=f"dorsal: {USUAL}, rate set for PaCO2 60",
        published=Direction(name="own_breaths_per_min", as_printed="breaths of their own at 60", low=0.1),
        run=partial(_level, wanted_mmhg=60.0, key="own_breaths_per_min"),
    ),
    Comparison(
        key="levels-pao2-at-60",
        study=_LEVELS,
        quantity="PaO2 at PaCO2 60",
        set_up=f"dorsal: {USUAL}, rate set for PaCO2 60",
        published=Direction(name="pao2_mmhg", as_printed="stayed above 200", low=200.0),
        run=partial(_level, wanted_mmhg=60.0, key="pao2_mmhg"),
    ),
    Comparison(
        key="levels-gap",
        study=_LEVELS,
        quantity="PaCO2 - EtCO2 at 60 over that at 40",
        set_up=f"dorsal, paralysed: {USUAL}, rate set for PaCO2 40 and 60",
        published=PublishedValue(
            name="gap_ratio", published=1.0, unit="ratio", as_printed="the same in all three groups"
        ),
        run=_gap_ratio,
    ),
    Comparison(
        key="apnoea-paco2",
        study=_APNOEA,
        quantity="rise of PaCO2",
        set_up=_APNOEA_WORDS,
        published=printed(_APNOEA, "paco2_rise_mmhg_min"),
        target_of_fit=True,
        run=partial(_per_minute, key="paco2_mmhg"),
    ),
    Comparison(
        key="apnoea-ph",
        study=_APNOEA,
        quantity="change of pH a minute",
        set_up=_APNOEA_WORDS,
        published=printed(_APNOEA, "ph_change_per_minute_number"),
        run=partial(_per_minute, key="arterial_ph"),
    ),
    Comparison(
        key="apnoea-pao2",
        study=_APNOEA,
        quantity="PaO2 after 10 min",
        set_up=_APNOEA_WORDS,
        published=Direction(name="pao2_mmhg", as_printed="mean above 100 at 10 min", low=100.0),
        run=_apnoeic_pao2_mmhg,
    ),
    _hypercapnia("output-mild", "cardiac output", _OUTPUT, ("normal", "mild"), "falls"),
    _hypercapnia("output-moderate", "cardiac output", _OUTPUT, ("mild", "moderate"), "rises"),
    _hypercapnia("output-severe", "cardiac output", _OUTPUT, ("moderate", "severe"), "rises"),
    _hypercapnia("pressure-mild", "mean arterial pressure", _PRESSURE, ("normal", "mild"), "rises"),
)

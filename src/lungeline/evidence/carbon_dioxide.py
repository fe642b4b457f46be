"""Carbon dioxide: the gap to end-tidal, where breaths return, apnoea, and what it does to output."""

from functools import partial

from lungeline.case import Change
from lungeline.evidence.comparison import Comparison, Direction, printed, told
from lungeline.evidence.experiment import Experiment
from lungeline.evidence.measures import gap_kpa, plain, value
from lungeline.evidence.set_ups import USUAL, ventilated
from lungeline.evidence.shared_runs import Course, SharedRuns
from lungeline.evidence.solved import Knob

_GAP, _LEVELS, _APNOEA, _HYPERCAPNIA = "moens1989", "ippv-paco2-target", "blaze1987", "khanna1995"
_PARALYSED = ("breathes", 0.0)
_PACO2 = plain("paco2_mmhg")
_USUAL = Experiment(study=_GAP, set_up=f"dorsal: {USUAL}", course=Course(case=ventilated()))

# --- three levels of PaCO2 ----------------------------------------------------------------------------


def _at_rate(rate_per_min: float, *, paralysed: bool) -> Course:
    case = ventilated(respiratory_rate_per_min=rate_per_min)
    return Course(case=case, multipliers=(_PARALYSED,) if paralysed else ())


_RATE = Knob(course_at=partial(_at_rate, paralysed=True), measure=_PACO2, first=6.0, rises=False)


def _level(runs: SharedRuns, wanted_mmhg: float, key: str) -> float:
    """Return a number at the rate that gives this PaCO2 as long as the animal adds no breaths."""
    course = _at_rate(_RATE.solved(runs, wanted_mmhg), paralysed=False)
    return value(runs.shown(course, window_min=5.0), key)


def _gap_ratio(runs: SharedRuns) -> float:
    """Return the gap at 60 over the gap at 40, the animal held still so that both are machine breaths."""
    high, low = (
        gap_kpa(runs.shown(_at_rate(_RATE.solved(runs, wanted), paralysed=True))) for wanted in (60.0, 40.0)
    )
    return high / low


def _at_level(key: str, wanted_mmhg: float, breath_key: str, published: Direction) -> Comparison:
    return Comparison(
        key=key,
        study=_LEVELS,
        quantity=f"{'PaO2' if breath_key == 'pao2_mmhg' else 'own breaths'} at PaCO2 {wanted_mmhg:g}",
        set_up=f"dorsal: {USUAL}, rate set for PaCO2 {wanted_mmhg:g}",
        published=published,
        run=partial(_level, wanted_mmhg=wanted_mmhg, key=breath_key),
    )


_NONE = Direction(name="own_breaths_per_min", as_printed="none at 50", high=0.0)
_SOME = Direction(name="own_breaths_per_min", as_printed="breaths of their own at 60", low=0.1)
_ABOVE_200 = Direction(name="pao2_mmhg", as_printed="stayed above 200 mmHg", low=200.0)

# --- apnoea -------------------------------------------------------------------------------------------

_BEGAN_MIN = 40.0
_ROW_MIN = 0.25  # without a breath a row is written this often
_OFF = Change(at_min=_BEGAN_MIN, settings={"mode": "spontaneous"})
_APNOEIC = Course(
    case=ventilated(agent="halothane", vaporiser_percent=1.2, changes=(_OFF,)),
    minutes=_BEGAN_MIN + 10.0,
    multipliers=(_PARALYSED,),
)


def _per_minute(runs: SharedRuns, key: str) -> float:
    before, last = runs.shown(_APNOEIC, _BEGAN_MIN), runs.run(_APNOEIC).at_end
    middle_min = last.time_s / 60.0 + 0.5 * _ROW_MIN
    return (value(last, key) - value(before, key)) / (middle_min - _BEGAN_MIN)


def _apnoeic_pao2_mmhg(runs: SharedRuns) -> float:
    return value(runs.run(_APNOEIC).at_end, "pao2_mmhg")


_APNOEA_WORDS = (
    "dorsal, paralysed, 500 kg, halothane in oxygen, 13 mL/kg at 6/min for 40 min, then no breath for 10 min"
)

# --- hypercapnia --------------------------------------------------------------------------------------


def _made(factor: float) -> Course:
    """Return a paralysed animal with more CO2 to breathe out: as if it were added to inspired gas."""
    return Course(case=ventilated(), multipliers=(_PARALYSED, ("carbon_dioxide_output_l_min", factor)))


_ADDED = Knob(course_at=_made, measure=_PACO2, first=1.0, rises=True)


def _change_percent(runs: SharedRuns, key: str, arms: tuple[str, str]) -> float:
    before, after = (
        value(
            runs.shown(_made(_ADDED.solved(runs, printed(_HYPERCAPNIA, "paco2_mmhg", arm).published))),
            key,
        )
        for arm in arms
    )
    return 100.0 * (after / before - 1.0)


def _hypercapnia(breath_key: str, arms: tuple[str, str], *, rises: bool) -> Comparison:
    words = "cardiac output" if breath_key == "cardiac_output_l_min" else "mean arterial pressure"
    ends = {"low": 0.0} if rises else {"high": 0.0}
    return Comparison(
        key=f"hypercapnia-{words.rpartition(' ')[2]}-{arms[1]}",
        study=_HYPERCAPNIA,
        quantity=f"change of {words}, {arms[0]} to {arms[1]}",
        set_up="dorsal, paralysed, 500 kg, 13 mL/kg at 6/min; CO2 raised to the printed means",
        published=Direction(name="change_percent", as_printed="rises" if rises else "falls", **ends),
        run=partial(_change_percent, key=breath_key, arms=arms),
    )


COMPARISONS = (
    _USUAL.compare("gap", "gap_kpa"),
    _USUAL.compare("alveolar-dead-space", "alveolar_dead_space_percent"),
    _at_level("levels-breaths-at-50", 50.0, "own_breaths_per_min", _NONE),
    _at_level("levels-breaths-at-60", 60.0, "own_breaths_per_min", _SOME),
    _at_level("levels-pao2-at-60", 60.0, "pao2_mmhg", _ABOVE_200),
    Comparison(
        key="levels-gap",
        study=_LEVELS,
        quantity="PaCO2 - EtCO2 at 60 over that at 40",
        set_up=f"dorsal, paralysed: {USUAL}, rate set for PaCO2 40 and 60",
        published=told("gap_ratio", "the same in all groups", 1.0),
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
        target_of_fit=True,  # the fast store of carbon dioxide was set to this and to the rise above
        run=partial(_per_minute, key="arterial_ph"),
    ),
    Comparison(
        key="apnoea-pao2",
        study=_APNOEA,
        quantity="PaO2 after 10 min",
        set_up=_APNOEA_WORDS,
        published=Direction(name="pao2_mmhg", as_printed="mean above 100 mmHg at 10 min", low=100.0),
        run=_apnoeic_pao2_mmhg,
    ),
    _hypercapnia("cardiac_output_l_min", ("normal", "mild"), rises=False),
    _hypercapnia("cardiac_output_l_min", ("mild", "moderate"), rises=True),
    _hypercapnia("cardiac_output_l_min", ("moderate", "severe"), rises=True),
    _hypercapnia("map_mmhg", ("normal", "mild"), rises=True),
)

"""The whole answer: life threats, then causes with what speaks for and against them, then one test."""

from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from os import cpu_count

from lungeline.case import Case, Reading, Settings
from lungeline.errors import InputError, UnknownNameError
from lungeline.explain.animals import stands
from lungeline.explain.answer import Explanation, told_causes
from lungeline.explain.assumed import NO_FAULT, NONE_OF_THESE, Assumed, assumed
from lungeline.explain.bank import Bank, bank
from lungeline.explain.channel import HOLD_KEY, channels
from lungeline.explain.excluding import Seen, impossible
from lungeline.explain.measured import Measured, measured
from lungeline.explain.next_test import entropy_bits, most_helpful, proposals
from lungeline.explain.particles import Particles, particles
from lungeline.explain.ranking import Ranking, rank
from lungeline.explain.threats import threats

SEED = 1
LEAST_READINGS = 3
LARGEST_UNKNOWN_SHARE = 0.75  # of what was not known before any reading
LARGEST_MISFIT = 2.6  # squares of standard deviations, on average
_FED_CATTLE = ("cattle", "calf")
_OF_THE_VENTILATOR = (
    "ventilator_stopped",
    "hypoventilation_set",
    "auto_peep",
    "deep_breath_left_set",
    "inspiratory_valve_shut",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """Every cause as it would show in this animal, simulated while all is well: ranking then takes no time.

    settings: those it is good for; table, spread, dropped: what was simulated.
    """

    settings: Settings
    table: Bank
    spread: Mapping[str, float]
    dropped: Mapping[str, int]


def prepare(
    case: Case,
    readings: Iterable[Reading],
    *,
    at_min: float = 0.0,
    assuming: Assumed | None = None,
    seed: int = SEED,
) -> Prepared:
    """Simulate every cause in the animal of a running case, from readings while all is well.

    To be done again whenever settings change. Arguments as of `explain`.
    """
    assuming = assuming or assumed()
    settings = case.settings_at(at_min)
    known = list(readings)
    newest_s = max((it.time_s for it in known), default=0.0)
    well = [replace(it, time_s=newest_s + 1.0) for it in known]  # now is then: nothing has happened
    found = measured([*known, *well], assuming, newest_s)
    return _prepared(case, settings, found, possible(case, settings, assuming), seed)


def _prepared(case: Case, settings: Settings, found: Measured, causes: Iterable[str], seed: int) -> Prepared:
    simulated, spread = simulated_causes(case, settings, found, causes, seed)
    return Prepared(
        settings=settings, table=bank(simulated.kept), spread=spread, dropped=dict(simulated.dropped)
    )


def explain(  # noqa: PLR0913  what a person may know beside the readings
    case: Case,
    readings: Iterable[Reading],
    *,
    changed_s: float | None = None,
    at_min: float = 0.0,
    answers: Mapping[str, str] | None = None,
    assuming: Assumed | None = None,
    seed: int = SEED,
    prepared: Prepared | None = None,
) -> Explanation:
    """Return why measured differs from expected, as far as it can be told.

    case: with the settings in force; its own faults are left out. readings: now and, best, before anything
    happened, of the same settings. changed_s: until when all was well, on the readings' clock; None where
    none is from then: then levels are compared, which tells much less. at_min: where in the case's timeline.
    answers: what tests found, by test. assuming: other assumptions than the project's. seed: of the draw.
    prepared: what `prepare` simulated of this case. Raises InputError for readings or answers that cannot
    be used, and for what was prepared for other settings.
    """
    assuming = assuming or assumed()
    answers = dict(answers or {})
    places = _places(answers, assuming)
    settings = case.settings_at(at_min)
    found = measured(readings, assuming, changed_s)
    urgent = threats(found, settings)
    seen = Seen(measured=found, settings=settings, answers=answers)
    weights = {
        code: weight
        for code, weight in possible(case, settings, assuming).items()
        if not impossible(assuming.causes[code], seen, assuming)
    }
    prepared = prepared or _prepared(case, settings, found, weights, seed)
    if prepared.settings != settings:
        raise InputError(
            where="prepared", given="what was simulated for other settings",
            allowed="the settings in force", do="Prepare again after each change.",
        )  # fmt: skip
    ranking = rank(found, prepared.table, assuming, weights=weights, spread=prepared.spread, answers=places)
    done = {**answers, **found.observed}
    enough = _enough(found, ranking, weights)
    tests = proposals(ranking, assuming, oxygenation_safe=urgent.oxygenation_safe, done=done)
    return Explanation(
        threats=urgent,
        causes=told_causes(ranking, seen, assuming, enough=enough),
        tests=tuple(tests),
        helpful=tuple(most_helpful(ranking, assuming, _missing(found))),
        enough=enough,
        fits=ranking.misfit <= LARGEST_MISFIT,
        compared_with_before=found.has_before,
        dropped=prepared.dropped,
        not_judged=tuple(code for code in weights if code not in ranking.chances),
    )


def simulated_causes(
    case: Case, settings: Settings, found: Measured, causes: Iterable[str], seed: int
) -> tuple[Particles, Mapping[str, float]]:
    """Return every cause as simulated, and how far animals lie apart."""
    steady = replace(case, settings=settings, changes=(), faults=(), assumed_settings=())
    with ThreadPoolExecutor(max_workers=cpu_count()) as pool:
        herd = stands(steady, found, seed=seed, pool=pool)
        return particles(herd.stands, causes, pool), herd.spread


def possible(case: Case, settings: Settings, assuming: Assumed) -> dict[str, float]:
    """Return the causes that can be in this animal on this machine, and how common they are."""
    left_out: Sequence[str] = () if case.animal.species in _FED_CATTLE else ("regurgitation_bloat",)
    if not settings.ventilator_on or settings.mode == "spontaneous":
        left_out = (*left_out, *_OF_THE_VENTILATOR)
    return {code: cause.weight for code, cause in assuming.causes.items() if code not in left_out}


def _places(answers: Mapping[str, str], assuming: Assumed) -> dict[str, int]:
    places = {}
    for code, answer in answers.items():
        looks = {name: test for name, test in assuming.tests.items() if test.answers}
        if code not in looks:
            raise UnknownNameError.nearest(where="answer", given=code, valid=looks)
        if answer not in looks[code].answers:
            raise UnknownNameError.nearest(where=f"answer.{code}", given=answer, valid=looks[code].answers)
        places[code] = looks[code].answers.index(answer)
    return places


def _missing(found: Measured) -> tuple[str, ...]:
    return tuple(name for name in channels() if name not in found.observed and name != HOLD_KEY)


def _enough(found: Measured, ranking: Ranking, weights: Mapping[str, float]) -> bool:
    """Tell whether the readings say anything: enough of them, and less unknown than before."""
    import numpy as np

    at_first = np.array([weights[code] for code in ranking.chances])
    left = entropy_bits(np.array(list(ranking.chances.values())))
    known = len(found.observed) >= LEAST_READINGS
    return known and left <= LARGEST_UNKNOWN_SHARE * entropy_bits(at_first / at_first.sum())


__all__ = ["NONE_OF_THESE", "NO_FAULT", "Prepared", "explain", "possible", "prepare", "simulated_causes"]

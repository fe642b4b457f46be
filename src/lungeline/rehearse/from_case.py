"""A case that was, as a scenario: its animal fitted to what was read, what was done as the answer to replay.

Nothing in it tells whose case it was; whoever hands a case in here has left names out already.
"""

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, fields, replace

from lungeline.case import Breath, Case, Change, Reading
from lungeline.errors import InputError
from lungeline.explain import Fitted, fit
from lungeline.rehearse.free_practice import LONGEST_MIN, stays_oxygenated
from lungeline.rehearse.quantities import label, value_told
from lungeline.rehearse.scenario import Happening, Replayed, Scenario, Step, Teaching, Wanted, Wrong
from lungeline.rehearse.script import play

NUMBER = 900  # beyond those the program brings
_FITTED_MIN = 45.0  # of the beginning: the fit runs no longer, and begins where the animal was connected
_SECONDS_PER_MINUTE = 60.0
_TEST = (
    "This is a case that was, no test: what was done stands as the answer, and nobody says it was the best."
)
_FIRST_ONLY = (
    f"The animal is fitted to the first {_FITTED_MIN:g} minutes; what changed in it later is not in it."
)
_REST = "Surgery, drugs but for the agent, dobutamine and phenylephrine, and what went wrong are not in it."
_NO_PLAN = "No plan was kept: what is not told of machine and circle is as usual for such an animal."
_TWICE = "Twice what a quantity lies off its readings (root mean square, below) holds nearly all of them."
_SIMULATED = "The case it was made of was itself simulated."


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseAsItWent:
    """A case without names, on its own clock from when the animal was connected.

    case: as it was set, with its changes. readings: what was read, blood gases too. minutes: how long it
    went on. said: what else was done, by minute, to be told when it is replayed. planned: whether a plan was
    kept of it; simulated: whether it was no real animal.
    """

    case: Case
    readings: Sequence[Reading]
    minutes: float
    said: Sequence[tuple[float, str]] = ()
    planned: bool = True
    simulated: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseScenario:
    """The scenario made of a case, and how its animal was fitted."""

    scenario: Scenario
    fitted: Fitted = field(repr=False)

    def table(self) -> list[str]:
        """Return how far the animal is from what was read, by quantity, as lines of a table."""
        head = f"  {'quantity':28}{'off (rms)':>16}{'usual animal':>16}{'readings':>10}"
        return [head, *(_row(it) for it in self.scenario.replayed)]


def scenario_of_case(went: CaseAsItWent, name: str = "own_case") -> CaseScenario:
    """Return a scenario that replays a case, and can be left at any minute.

    Raises InputError where nothing was read that tells of the animal.
    """
    minutes = min(went.minutes, LONGEST_MIN)
    fitted = fit(went.case, _first(went.readings))
    own = {it.name: it.value / it.usual for it in fitted.numbers}
    bare = _scenario(went, name, minutes)
    scenario = bare.model_copy(update={"own_animal": own})
    replayed = tuple(_replayed(went.readings, _breaths(scenario), _breaths(bare)))
    if not replayed:
        raise InputError(
            where="case", given="no reading the animal could be held against",
            allowed="readings while it was ventilated", do="Take a case with readings.",
        )  # fmt: skip
    told = (*bare.simplified, *(_band(it) for it in replayed))
    return CaseScenario(
        scenario=scenario.model_copy(update={"replayed": replayed, "simplified": told}), fitted=fitted
    )


def _first(readings: Sequence[Reading]) -> list[Reading]:
    """Return what was read at the beginning; all of it where nothing was."""
    first = [it for it in readings if it.time_s <= _FITTED_MIN * _SECONDS_PER_MINUTE]
    return first or list(readings)


def _scenario(went: CaseAsItWent, name: str, minutes: float) -> Scenario:
    animal, source = went.case.animal, "a simulated case" if went.simulated else "a case of the clinic"
    steps = tuple(_steps(went.case.changes, minutes))
    return Scenario(
        name=name,
        title=f"As it went: {animal.species}, {animal.weight_kg:.0f} kg, {minutes:.0f} min",
        objective="Do it again, leave it at any minute, and see what would have come of something else",
        number=NUMBER,
        minutes=minutes,
        settle_min=0.0,
        story=f"A {animal.species} of {animal.weight_kg:.0f} kg, {animal.position}, just connected to the "
        f"circle. It is set as in {source}; what was done then comes only when it is replayed.",
        case=replace(went.case, changes=(), faults=(), title=""),
        happenings=tuple(_happenings(went.said, minutes)),
        critical=(stays_oxygenated(),),
        treats=(Wanted(deed="set"),),
        teaching=(Teaching(says="Set what you did beside what was done.", source=source),),
        model_answer=steps or (Step.model_validate({"at_s": 0.0, "deed": "look at capnogram"}),),
        wrong=(Wrong(why="Nothing is changed after the beginning.", script=()),),
        simplified=tuple(_simplified(went)),
    )


def _simplified(went: CaseAsItWent) -> Iterator[str]:
    yield _TEST
    yield _REST
    yield _TWICE
    if went.simulated:
        yield _SIMULATED
    if not went.planned:
        yield _NO_PLAN
    if went.minutes > _FITTED_MIN:
        yield _FIRST_ONLY
    if went.minutes > LONGEST_MIN:
        yield f"What came after {LONGEST_MIN:g} minutes is left out."


def _steps(changes: Sequence[Change], minutes: float) -> Iterator[Step]:
    for change in changes:
        if change.at_min < minutes:
            deed, given = "set", dict(change.settings)
            if change.manoeuvre is not None:
                done = change.manoeuvre
                deed, given = done.kind, {it.name: getattr(done, it.name) for it in fields(done)}
            yield Step.model_validate(
                {"at_s": change.at_min * _SECONDS_PER_MINUTE, "deed": deed, "with": given}
            )


def _happenings(said: Sequence[tuple[float, str]], minutes: float) -> Iterator[Happening]:
    for number, (at_min, text) in enumerate(said, start=1):
        if 0.0 <= at_min < minutes:
            yield Happening(name=f"said_{number}", at_min=at_min, say=text)


# -- how far off it is -------------------------------------------------------------------------------------


def _breaths(scenario: Scenario) -> tuple[Breath, ...]:
    return play(scenario, scenario.model_answer)[1].breaths


def _replayed(
    readings: Sequence[Reading], ours: Sequence[Breath], usual: Sequence[Breath]
) -> Iterator[Replayed]:
    """Yield by quantity how far readings are from the animal as fitted, and from the usual one."""
    by_key: dict[str, list[Reading]] = {}
    for it in readings:
        if it.value is not None and it.quality == "good" and it.key in Breath.__dataclass_fields__:
            by_key.setdefault(it.key, []).append(it)
    for key, told in sorted(by_key.items()):
        off, usual_off = _off(told, ours), _off(told, usual)
        if off and usual_off:
            yield Replayed(key=key, rms=_rms(off), usual_rms=_rms(usual_off), readings=len(off))


def _off(readings: Sequence[Reading], breaths: Sequence[Breath]) -> list[float]:
    begun_s = [breath.time_s for breath in breaths]
    found = []
    for it in readings:
        place = bisect_right(begun_s, it.time_s) - 1
        value = getattr(breaths[place], it.key) if place >= 0 else None
        if value is not None and it.value is not None:
            found.append(it.value - value)
    return found


def _rms(off: Sequence[float]) -> float:
    return math.sqrt(math.fsum(each * each for each in off) / len(off))


def _band(it: Replayed) -> str:
    off, usual = value_told(it.key, it.rms), value_told(it.key, it.usual_rms)
    read = "the one reading there was" if it.readings == 1 else f"the {it.readings} readings there were"
    return (
        f"{label(it.key)} of this animal lies {off} (root mean square) off {read}; "
        f"the usual animal lies {usual} off."
    )


def _row(it: Replayed) -> str:
    off, usual = value_told(it.key, it.rms), value_told(it.key, it.usual_rms)
    return f"  {label(it.key):28}{off:>16}{usual:>16}{it.readings:>10}"

"""What each cause would do to this animal: simulated from its state, mild to severe, as it goes on."""

from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field

from lungeline.errors import SimulationError
from lungeline.explain.animals import Stand
from lungeline.explain.assumed import NO_FAULT
from lungeline.explain.shown import Shown, looker
from lungeline.explain.trial import TWISTS, Twist
from lungeline.simulate.faults import FAULTS

SEVERITIES = (0.1, 0.3, 0.5, 0.7, 0.9)
STEP_S = 30.0
TIMES_S = tuple(STEP_S * (i + 1) for i in range(16))  # after the beginning, at which a run is looked at
_EITHER_OR = "any severity"


@dataclass(frozen=True, slots=True, kw_only=True)
class Particle:
    """One cause, at one severity, in one drawn animal, from its beginning on.

    way: by which of its laws it comes about; animal: its place; weight: its weight.
    before: what instruments would show before it began; course: what at each of TIMES_S; unchanged: what
    then, had nothing happened.
    """

    cause: str
    severity_fraction: float
    way: int
    animal: int
    weight: float
    before: Shown
    course: Sequence[Shown]
    unchanged: Sequence[Shown]


@dataclass(slots=True, kw_only=True)
class Particles:
    """All of them, and how many of each cause the model could not run: those are dropped, and said to be."""

    kept: list[Particle] = field(default_factory=list)
    dropped: dict[str, int] = field(default_factory=dict)

    def of(self, cause: str) -> list[Particle]:
        """Return the particles of one cause."""
        return [it for it in self.kept if it.cause == cause]


def severities(cause: str) -> tuple[float, ...]:
    """Return the severities to try: one only where the cause is there or not."""
    return (1.0,) if FAULTS[cause].severity_law.startswith(_EITHER_OR) else SEVERITIES


def particles(stands: Sequence[Stand], causes: Iterable[str], pool: Executor) -> Particles:
    """Simulate every cause in every animal. Runs that are no numbers are dropped openly."""
    wanted = [cause for cause in causes if cause in FAULTS]
    found = Particles()
    for each in pool.map(lambda stand: _of_animal(stand, wanted), stands):
        found.kept.extend(each.kept)
        for cause, count in each.dropped.items():
            found.dropped[cause] = found.dropped.get(cause, 0) + count
    return found


def _of_animal(stand: Stand, causes: Iterable[str]) -> Particles:
    found = Particles()
    still = _course(stand, "", 0.0, None)

    def add(cause: str, severity: float, way: int, course: Sequence[Shown]) -> None:
        found.kept.append(
            Particle(
                cause=cause, severity_fraction=severity, way=way, animal=stand.place, weight=stand.weight,
                before=stand.before, course=course, unchanged=still,
            )
        )  # fmt: skip

    add(NO_FAULT, 0.0, 0, still)
    for cause in causes:
        for way, twist in enumerate(TWISTS.get(cause, (None,))):
            for severity in severities(cause):
                try:
                    add(cause, severity, way, _course(stand, cause, severity, twist))
                except SimulationError:
                    found.dropped[cause] = found.dropped.get(cause, 0) + 1
    return found


def _course(stand: Stand, cause: str, severity: float, twist: Twist | None) -> Sequence[Shown]:
    """Run on with a cause; return what is shown at each of TIMES_S.

    Raises SimulationError where the run is no longer made of numbers.
    """
    live = stand.live
    live.restore(stand.kept)
    live.try_cause(cause, severity, twist)
    begin_s = live.time_s
    seen = looker(live.rows(TIMES_S[-1]), live.sensor_errors)
    return [seen(begin_s + after_s) for after_s in TIMES_S]

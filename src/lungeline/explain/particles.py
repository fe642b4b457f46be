"""What each cause would do to this animal: simulated from its state, mild to severe, early to late."""

from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field

from lungeline.errors import SimulationError
from lungeline.explain.animals import Stand
from lungeline.explain.assumed import NO_FAULT
from lungeline.explain.measured import TREND_S
from lungeline.explain.shown import Shown, looker
from lungeline.explain.trial import TWISTS, Twist
from lungeline.simulate.faults import FAULTS

SEVERITIES = (0.1, 0.3, 0.5, 0.7, 0.9)
ONSETS_S = tuple(60.0 * minutes for minutes in range(2, 9))  # how long ago it began: one run shows them all
_EITHER_OR = "any severity"
Look = tuple[Shown, Shown]  # now, and two minutes ago


@dataclass(frozen=True, slots=True, kw_only=True)
class Particle:
    """One cause, at one severity, begun so long ago, in one drawn animal.

    way: by which of its laws it comes about.
    before, now, earlier: what instruments would show before it began, now, and two minutes ago;
    unchanged: what they would show now had nothing happened; animal: its place; weight: its weight.
    """

    cause: str
    severity_fraction: float
    way: int
    began_s: float
    animal: int
    weight: float
    before: Shown
    earlier: Shown
    now: Shown
    unchanged: Shown
    unchanged_earlier: Shown


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
    still = _looks(stand, "", 0.0, None)
    found.kept += _line(stand, (NO_FAULT, 0.0, 0), still, still)
    for cause in causes:
        for way, twist in enumerate(TWISTS.get(cause, (None,))):
            for severity in severities(cause):
                try:
                    looks = _looks(stand, cause, severity, twist)
                except SimulationError:
                    found.dropped[cause] = found.dropped.get(cause, 0) + 1
                    continue
                found.kept += _line(stand, (cause, severity, way), looks, still)
    return found


def _line(
    stand: Stand, what: tuple[str, float, int], looks: Sequence[Look], still: Sequence[Look]
) -> list[Particle]:
    """Return the particles of one run, one for each onset."""
    cause, severity, way = what
    return [
        Particle(
            cause=cause, severity_fraction=severity, way=way, began_s=began_s, animal=stand.place,
            weight=stand.weight, before=stand.before, now=now, earlier=earlier, unchanged=same,
            unchanged_earlier=same_earlier,
        )
        for began_s, (now, earlier), (same, same_earlier) in zip(ONSETS_S, looks, still, strict=True)
    ]  # fmt: skip


def _looks(stand: Stand, cause: str, severity: float, twist: Twist | None) -> list[Look]:
    """Run on with a cause; return what is shown at each onset time, and two minutes before that.

    Raises SimulationError where the run is no longer made of numbers.
    """
    live = stand.live
    live.restore(stand.kept)
    live.try_cause(cause, severity, twist)
    begin_s = live.time_s
    seen = looker(live.rows(max(ONSETS_S)), live.sensor_errors)

    def look(after_s: float) -> Shown:
        return seen(begin_s + after_s) if after_s > 0.0 else stand.before

    return [(look(after_s), look(after_s - TREND_S)) for after_s in ONSETS_S]

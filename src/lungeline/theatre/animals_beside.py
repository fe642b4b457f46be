"""Animals that run beside a case: kept as they were every ten minutes, and run on from before a change."""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

from lungeline.case import Breath, Case, Change
from lungeline.case.manoeuvre import Manoeuvre
from lungeline.case.timeline import Stretch, stretches
from lungeline.errors import SimulationError
from lungeline.simulate.live import LiveCase

Act: TypeAlias = tuple[float, Stretch | Manoeuvre]
_STEP_S, _KEPT_EVERY_MIN, _SECONDS_PER_MINUTE = 0.02, 10, 60.0


class AnimalBeside:
    """One animal like that of the case. What was run once with the same settings is not run again."""

    def __init__(self, case: Case, multipliers: dict[str, float]) -> None:
        """Take the case as it began; its changes are told with each question."""
        self._case = replace(case, changes=(), faults=())
        self._live = LiveCase(self._case, dt_s=_STEP_S, multipliers=multipliers)
        self._changes: tuple[Change, ...] = ()
        self._kept: dict[int, bytes] = {0: self._live.state()}
        self._last: Breath | None = None
        self.minutes: list[Breath | None] = []
        self.failed = False

    def run(self, changes: Sequence[Change], minutes: int, wanted: Callable[[], bool]) -> bool:
        """Run to a minute with what was set and when; returns whether it got there.

        minutes: holds the last breath that was over at each minute, None before the first one.
        wanted: is asked every minute whether somebody still waits.
        """
        self._go_back(tuple(changes))
        parts = list(stretches(self._first(), self._changes, self._case.circumstances))
        acts = acts_of(parts, self._changes)
        while len(self.minutes) < minutes and not self.failed:
            if not wanted():
                return False
            try:
                self._minute(parts, acts)
            except SimulationError:  # the model could not go on with this animal: it is left out, and counted
                self.failed = True
        return not self.failed

    def _go_back(self, changes: tuple[Change, ...]) -> None:
        """Go back to before what is told differently now."""
        at_min = _first_difference(self._changes, changes)
        self._changes = changes
        if at_min >= len(self.minutes) and not (self.failed and at_min < math.inf):
            return
        self.failed = False  # told differently, the model may go on
        place = max(kept for kept in self._kept if kept <= min(at_min, len(self.minutes)))
        self._live.restore(self._kept[place])
        self._kept = {kept: state for kept, state in self._kept.items() if kept <= place}
        del self.minutes[place:]
        self._last = self.minutes[-1] if self.minutes else None

    def _minute(self, parts: Sequence[Stretch], acts: Sequence[Act]) -> None:
        """Run a minute on; what is done by hand may last beyond it; nothing else begins before its end."""
        began = len(self.minutes)
        self._settle([part for part in parts if part.from_min < began or part is parts[0]][-1])
        for at_min, act in acts:
            if began <= at_min < began + 1:
                self._advance_to(at_min)
                if isinstance(act, Stretch):
                    self._settle(act)
                else:
                    self._live.manoeuvre(act)
        self._advance_to(began + 1)
        if self._live.breaths:
            self._last = self._live.breaths[-1]
        del self._live.breaths[:]
        self.minutes.append(self._last)
        if len(self.minutes) % _KEPT_EVERY_MIN == 0:
            self._kept[len(self.minutes)] = self._live.state()

    def _advance_to(self, at_min: float) -> None:
        self._live.advance(at_min * _SECONDS_PER_MINUTE - self._live.time_s)

    def _settle(self, part: Stretch) -> None:
        if part.settings != self._live.settings:
            self._live.settle(part.settings, part.assumed_settings)

    def _first(self) -> Stretch:
        case = self._case
        return Stretch(from_min=0.0, settings=case.settings, assumed_settings=case.assumed_settings)


def acts_of(parts: Sequence[Stretch], changes: Sequence[Change]) -> list[Act]:
    """Return what is set and done after the beginning, by time; of things at one time settings come first."""
    done = [(change.at_min, change.manoeuvre) for change in changes if change.manoeuvre is not None]
    return sorted([*((part.from_min, part) for part in parts[1:]), *done], key=lambda act: act[0])


def _first_difference(before: Sequence[Change], after: Sequence[Change]) -> float:
    """Return from which minute on two tellings differ; infinity where they are the same."""
    for place in range(max(len(before), len(after))):
        pair = (before[place : place + 1], after[place : place + 1])
        if pair[0] != pair[1]:
            return min(change.at_min for told in pair for change in told)
    return math.inf

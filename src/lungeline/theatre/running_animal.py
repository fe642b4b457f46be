"""The simulated animal of a rehearsal or demonstration as it lies there now: set as the record says."""

import logging
from dataclasses import replace
from datetime import datetime

import numpy as np

from lungeline.case import Settings
from lungeline.case.manoeuvre import Manoeuvre
from lungeline.case.timeline import Stretch
from lungeline.errors import LungelineError
from lungeline.listen.feed import SimulatedFeed
from lungeline.record import CaseState
from lungeline.simulate.live import TICK_S, LiveCase
from lungeline.theatre.animals_beside import acts_of
from lungeline.theatre.case_beside import settings_now
from lungeline.theatre.expected import LONGEST_MIN, Beside
from lungeline.theatre.set_back import off_circle_since

_log = logging.getLogger(__name__)
RATE_HZ = 50.0  # of the curves
_STEP_S, _SECONDS_PER_MINUTE = 0.01, 60.0
_MEASURED_S = 60.0  # of the past that is measured at once, so that a page that opens has numbers
_BEHIND_S = 2.0  # more than this is let go: a computer that slept does not hurry after
_KEPT_S = 90.0  # of curves and numbers
_OFF = "disconnection"


class RunningAnimal:
    """An animal run to now, and then on, as the clock on the wall goes. Used by one thread."""

    def __init__(self, beside: Beside, now: datetime, seed: int = 1) -> None:
        """Run the animal from the beginning of its case to now, with what was set and when."""
        self._began = beside.began
        self._refused: Settings | None = None
        self._live = LiveCase(beside.case, dt_s=_STEP_S, trace_rate_hz=RATE_HZ)
        elapsed_s = min(max((now - beside.began).total_seconds(), 0.0), LONGEST_MIN * _SECONDS_PER_MINUTE)
        self._skipped_s = (now - beside.began).total_seconds() - elapsed_s
        for at_min, act in acts_of(beside.case.timeline(), beside.case.changes):
            if at_min * _SECONDS_PER_MINUTE <= elapsed_s:
                self._pass_by(at_min * _SECONDS_PER_MINUTE)
                self._do(act)
        self._pass_by(elapsed_s - _MEASURED_S)
        self.feed = SimulatedFeed(self._live, np.random.default_rng(seed))
        self.feed.advance(elapsed_s - self._live.time_s)

    def _do(self, act: Stretch | Manoeuvre) -> None:
        if isinstance(act, Stretch):
            self._live.settle(act.settings, act.assumed_settings)
        else:
            self._live.manoeuvre(act)

    def _pass_by(self, to_s: float) -> None:
        """Run to a time and keep nothing of it."""
        while to_s - self._live.time_s >= TICK_S:
            self._live.advance(min(to_s - self._live.time_s, _SECONDS_PER_MINUTE))
            del self._live.traces[:], self._live.breaths[:]

    def at_s(self, moment: datetime) -> float:
        """Return a moment as time of the case, as this animal counts it [s]."""
        return (moment - self._began).total_seconds() - self._skipped_s

    def run_to(self, moment: datetime) -> None:
        """Run on to a moment, and let go of what is long past."""
        behind_s = self.at_s(moment) - self.feed.now_s
        if behind_s > _BEHIND_S:
            self._skipped_s += behind_s - _BEHIND_S
            behind_s = _BEHIND_S
        if behind_s > 0.0:
            self.feed.advance(behind_s)
        self.feed.forget(self.feed.now_s - _KEPT_S)

    def set_as(self, state: CaseState) -> None:
        """Set what the record says is set, off the circle where it is; what cannot be set changes nothing."""
        off = off_circle_since(state) is not None
        if off != (_OFF in self._live.active_faults):
            self._live.fault(_OFF, float(off))
        told = settings_now(state)
        wanted = replace(self._live.settings, **{key: value for key, value in told.items() if key != "agent"})
        if wanted not in {self._live.settings, self._refused}:
            self._settle(wanted)

    def _settle(self, wanted: Settings) -> None:
        before = self._live.settings
        try:
            self._live.settle(wanted)
        except LungelineError as error:
            self._live.settle(before)
            self._refused = wanted
            _log.warning("the simulated animal cannot be set so: %s", error)

"""One interface to everything that is measured, and the simulated animal behind it.

A feed hands out readings and curves. Whoever follows one keeps three things: the time up to which it asked,
the index of its next sample, and the epoch both belong to. When the epoch is another one, time or index may
have begun anew, and what was kept of the old epoch is the past: ask again from the beginning.
"""

import math
from bisect import bisect_right, insort
from collections.abc import Iterable
from dataclasses import replace
from operator import attrgetter
from typing import TYPE_CHECKING, Any, Protocol
from uuid import uuid4

import numpy as np

from lungeline.case.breath import Breath
from lungeline.case.manoeuvre import DemandValve, Disconnect, Manoeuvre
from lungeline.case.reading import Block, Reading
from lungeline.errors import MissingError
from lungeline.simulate.curves import SEEN_CHANNELS, MeasuredCurves
from lungeline.simulate.instruments import blood_gas_instruments, usual_instruments
from lungeline.simulate.sensors import Instrument, Limbs, measure

if TYPE_CHECKING:
    from numpy.random import Generator

    from lungeline.simulate.live import LiveCase

_TIME = attrgetter("time_s")
_SAME_TIME_S = 1e-6  # far below a tick, far above what summing steps leaves
_SET_FLOW_MODES = ("volume", "assisted")


class Feed(Protocol):
    """A source of what is measured: a machine, a file, a person, or the simulated animal."""

    @property
    def source(self) -> str:
        """Name of the source, for a person."""

    @property
    def epoch(self) -> str:
        """Id that changes whenever time or samples begin anew; no two epochs share one."""

    @property
    def epoch_began_s(self) -> float:
        """Time of the epoch's beginning; its sample i was taken about (i + 1) / rate_hz later [s]."""

    @property
    def now_s(self) -> float:
        """Time up to which the source has told all there is [s]."""

    def readings(self, since_s: float = -math.inf) -> list[Reading]:
        """Return this epoch's readings later than `since_s` up to now, in the order of their times."""

    def blocks(self, epoch: str = "", from_index: int = 0) -> list[Block]:
        """Return each curve from a sample on, one block a channel, none where there is nothing new.

        epoch: the one `from_index` belongs to; where it is not the present one, all of the present is given.
        """


class SimulatedFeed:
    """The simulated animal as its instruments show it.

    Time moves through the feed (`advance`, `manoeuvre`, `restore`); settings and faults go straight to the
    case. Should time have moved behind its back, the feed drops that stretch and begins a new epoch.
    What a fault does to an instrument holds for every breath that ends after it began.
    """

    source = "simulation"

    def __init__(
        self, live: "LiveCase", generator: "Generator", instruments: Iterable[Instrument] | None = None
    ) -> None:
        """Listen to a running case from now on.

        generator: of the instruments' noise; instruments: the usual ones where not given.
        """
        self.live = live
        self.instruments = tuple(usual_instruments() if instruments is None else instruments)
        self._generator = generator
        # an advance of nothing tells names, units and rate of the curves
        curves = live.advance(0.0)
        self._columns = [i for i, curve in enumerate(curves) if curve.channel in SEEN_CHANNELS]
        self._seen = [curves[column] for column in self._columns]
        self._begin_epoch()

    # -- the interface of a feed ---------------------------------------------------------------------------

    @property
    def epoch(self) -> str:
        """Id that changes with every restored state."""
        return self._epoch

    @property
    def epoch_began_s(self) -> float:
        """Time of the case at which this epoch began [s]."""
        return self._began_s

    @property
    def now_s(self) -> float:
        """Time of the case [s]."""
        return self._now_s

    def readings(self, since_s: float = -math.inf) -> list[Reading]:
        """Return this epoch's readings later than `since_s` that have reached their display by now."""
        first = bisect_right(self._readings, since_s, key=_TIME)
        last = bisect_right(self._readings, self._now_s, key=_TIME)
        return self._readings[first:last]

    def blocks(self, epoch: str = "", from_index: int = 0) -> list[Block]:
        """Return each curve from a sample on, one block a channel; see `Feed`."""
        first = max(from_index, 0) if epoch == self._epoch else 0
        if first >= self._samples:
            return []
        first = max(first, self._starts[0])
        chunk = bisect_right(self._starts, first) - 1
        table = np.concatenate(self._chunks[chunk:])[first - self._starts[chunk] :]
        return [
            replace(curve, epoch=self._epoch, start_index=first, values=table[:, i].tolist())
            for i, curve in enumerate(self._seen)
        ]

    # -- moving on -----------------------------------------------------------------------------------------

    def advance(self, span_s: float) -> None:
        """Let the animal run on by `span_s` seconds, and measure."""
        self._follow()
        self.live.advance(span_s)
        self._collect(self._limbs())

    def manoeuvre(self, done: Manoeuvre) -> None:
        """Do something by hand, and measure what it shows."""
        self._follow()
        self.live.manoeuvre(done)
        limbs = self._limbs()
        off = isinstance(done, Disconnect | DemandValve)
        self._collect(replace(limbs, attached=False, strokes=False) if off else limbs)

    def restore(self, kept: bytes) -> None:
        """Go back to a kept state of the case: a new epoch begins, without readings still on their way."""
        self.live.restore(kept)
        self._begin_epoch()

    def forget(self, before_s: float) -> None:
        """Let go of readings and whole stretches of curves from before a time, so that hours fit in memory.

        An index asked for that is forgotten is answered from the first sample still kept.
        """
        del self._readings[: bisect_right(self._readings, before_s, key=_TIME)]
        rate_hz = self._seen[0].rate_hz if self._seen else 0.0
        first = round((before_s - self._began_s) * rate_hz)
        gone = max(bisect_right(self._starts, first) - 1, 0)
        del self._chunks[:gone], self._starts[:gone]
        del self.live.breaths[:], self.live.traces[:]
        self._breaths_taken, self._traces_taken = 0, 0

    def draw_blood(self) -> None:
        """Take an arterial sample now; its readings come when the analyser has done with it.

        Raises MissingError before the epoch's first breath has ended.
        """
        self._follow()
        if self._last_breath is None:
            raise MissingError(
                where="arterial sample",
                given="no breath yet",
                allowed="a breath that has ended",
                do="Advance first.",
            )
        self._keep(self._last_breath, blood_gas_instruments(), self._limbs(), self._now_s)

    # -- within --------------------------------------------------------------------------------------------

    def _begin_epoch(self) -> None:
        self._epoch = uuid4().hex
        self._began_s = self._now_s = self.live.time_s
        self._breaths_taken, self._traces_taken = len(self.live.breaths), len(self.live.traces)
        self._last_breath: Breath | None = None
        self._readings: list[Reading] = []
        self._chunks: list[Any] = []
        self._starts: list[int] = []
        self._samples = 0
        channels = [curve.channel for curve in self._seen]
        self._curves = MeasuredCurves(channels, self._sample_delay())

    def _sample_delay(self) -> int:
        """Return by how many samples the gas analyser lags."""
        delays_s = [it.delay_s for it in self.instruments if it.place == "sample line"]
        return round(delays_s[0] * self._seen[0].rate_hz) if delays_s and self._seen else 0

    def _follow(self) -> None:
        """Begin a new epoch where the case has moved without us."""
        if abs(self.live.time_s - self._now_s) > _SAME_TIME_S:
            self._begin_epoch()

    def _collect(self, limbs: Limbs) -> None:
        """Measure what the case did since the last time."""
        # a breath that ended where the last advance did was noticed in the step after it
        earliest_s, self._now_s = self._now_s + self.live.dt_s, self.live.time_s
        new = self.live.breaths[self._breaths_taken :]
        # each breath ends where the next begins, the last one by its rate, or in silence now
        ends_s = [breath.time_s for breath in new[1:]] + [_end_s(breath, self._now_s) for breath in new[-1:]]
        for breath, end_s in zip(new, ends_s, strict=True):
            self._keep(breath, self.instruments, limbs, max(end_s, earliest_s))
            self._last_breath = breath
        self._breaths_taken += len(new)
        for true in self.live.traces[self._traces_taken :]:
            shown = self._curves.measured(true[:, self._columns], self.live.sensor_errors)
            if len(shown):
                self._starts.append(self._samples)
                self._chunks.append(shown)
                self._samples += len(shown)
        self._traces_taken = len(self.live.traces)

    def _keep(self, breath: Breath, instruments: Iterable[Instrument], limbs: Limbs, ended_s: float) -> None:
        errors = self.live.sensor_errors
        for reading in measure(breath, instruments, errors, self._generator, limbs=limbs, ended_s=ended_s):
            insort(self._readings, reading, key=_TIME)

    def _limbs(self) -> Limbs:
        """Return what lies between the Y and the machine as it is set now."""
        settings, equipment = self.live.settings, self.live.case.equipment
        # a port that is open from the start has no machine at work; a hose that slips off has
        strokes = equipment.patient_port != "open"
        flows = strokes and settings.ventilator_on and settings.mode in _SET_FLOW_MODES
        return Limbs(
            attached=strokes and "disconnection" not in self.live.active_faults,
            strokes=strokes,
            inspiratory_resistance_cmh2o_s_l=equipment.inspiratory_resistance_cmh2o_s_l,
            inspiratory_flow_l_s=settings.tidal_volume_l / settings.inspiratory_time_s if flows else 0.0,
            pressure_limit_cmh2o=settings.pressure_limit_cmh2o,
        )


def _end_s(breath: Breath, now_s: float) -> float:
    rate_per_min = breath.respiratory_rate_per_min
    return min(breath.time_s + 60.0 / rate_per_min, now_s) if rate_per_min else now_s

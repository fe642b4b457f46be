"""Breaths out of curves, on line: blocks in, one record for each breath, memory bounded."""

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from lungeline.case import Block
from lungeline.compare.gas_curve import needed_s
from lungeline.compare.grid import Frame, Grid
from lungeline.compare.lag import Lag
from lungeline.compare.marks import Marks, end, onset, surely_begun
from lungeline.compare.measuring import Sensors, View, measure
from lungeline.compare.smooth import scatter, smoothed
from lungeline.compare.tape import Tape
from lungeline.compare.turning import LOST, OUT, Drive, Scale, Turn, Turning
from lungeline.compare.wave_breath import WaveBreath

LEARN_S = 12.0
LEAST_VOLUME_ML_KG = 1.0  # of weight: what moves less gas is no breath
_HOP_S = 0.25  # turns, then breaths that are due: in this order whatever cut the blocks come in
_LONGEST_BREATH_S = 60.0
_KEPT_BEFORE_S = 2.0
_CUT_S = 0.3  # a breath that begins so soon may have begun before
KEPT_S = 22.0
_QUIET_SHARE = 0.05
# least swing of a curve that tells
_USABLE: dict[Drive, float] = {"flow_l_s": 0.1, "pressure_cmh2o": 2.0, "co2_mmhg": 5.0}
_USUAL_PERCENT = 95.0
_LEAST_KNOWN = 0.5
_SMOOTHED_S = 0.1
_NOISE_SDS = 8.0


class Breaths:
    """Finds and measures breaths in what it is given, of any instrument that is there."""

    def __init__(
        self,
        *,
        least_volume_l: float = 0.05,
        pressure_limit_cmh2o: float | None = None,
        sample_delay_s: float | None = None,
    ) -> None:
        """Begin without a past.

        least_volume_l: what moves less gas is no breath; pressure_limit_cmh2o: as set, None where not known;
        sample_delay_s: by which the gas curve lags, where somebody measured it.
        """
        self._grid = Grid()
        self._run: _Run | None = None
        self._least_l = least_volume_l
        self.sensors = Sensors(lag=Lag(given_s=sample_delay_s), pressure_limit_cmh2o=pressure_limit_cmh2o)

    def take(self, blocks: Iterable[Block]) -> list[WaveBreath]:
        """Return the breaths that these blocks complete."""
        return [breath for frame in self._grid.take(blocks) for breath in self._add(frame)]

    def finish(self) -> list[WaveBreath]:
        """Return the breaths still waiting; the one going on is none yet."""
        found = [breath for frame in self._grid.finish() for breath in self._add(frame)]
        return [*found, *self._end_run()]

    def _add(self, frame: Frame) -> list[WaveBreath]:
        found = self._end_run() if frame.begins else []
        if self._run is None:
            self._run = _Run(frame.epoch, frame.rate_hz, frame.start_index, self._least_l, self.sensors)
        return [*found, *self._run.add(frame)]

    def _end_run(self) -> list[WaveBreath]:
        run, self._run = self._run, None
        return run.finish() if run is not None else []


@dataclass(slots=True)
class _Due:
    """A breath whose edges are known, to be measured once its gas has arrived."""

    marks: Marks
    at: int


class _Run:
    """One stretch of curves without a long hole."""

    def __init__(self, epoch: str, rate_hz: float, start: int, least_l: float, sensors: Sensors) -> None:
        self._epoch, self._rate_hz, self._least_l, self._sensors = epoch, rate_hz, least_l, sensors
        self._tape = Tape(start)
        self._due: deque[_Due] = deque()
        self._begin(start)

    def _begin(self, place: int) -> None:
        """Learn anew what is usual, from a place on."""
        self._turning: Turning | None = None
        self._followed = self._begun = self._looked = place
        self._onset: int | None = None
        self._end: tuple[int, int] | None = None

    def add(self, frame: Frame) -> list[WaveBreath]:
        self._tape.add(frame.curves)
        return self._go_on(ended=False)

    def finish(self) -> list[WaveBreath]:
        return [*self._go_on(ended=True), *(self._measured(due.marks) for due in self._due)]

    def _go_on(self, *, ended: bool) -> list[WaveBreath]:
        """Follow what has come, in whole hops unless all has ended."""
        found: list[WaveBreath] = []
        learn, hop = round(LEARN_S * self._rate_hz), max(round(_HOP_S * self._rate_hz), 1)
        while self._followed < self._tape.end:
            stop = self._followed + (learn if self._turning is None else hop)
            if stop > self._tape.end and not ended:
                break
            stop = min(stop, self._tape.end)
            if self._turning is None:
                self._learn(stop)
                continue
            if self._better_curve(stop, learn):
                self._begin(self._followed)
                continue
            self._follow(self._turning, stop)
            while self._due and self._due[0].at <= self._followed:
                found.append(self._measured(self._due.popleft().marks))
            self._tape.forget(self._needed_from())
        return found

    def _better_curve(self, stop: int, learn: int) -> bool:
        """Whether, looked at once in a while, a curve that tells more has come back."""
        if self._drive == next(iter(_USABLE)) or stop - self._looked < learn:
            return False
        self._looked = stop
        scale = usual_scale(self._tape, stop - learn, stop, self._rate_hz, self._least_l)
        order = list(_USABLE)
        return scale is not None and order.index(scale.drive) < order.index(self._drive)

    def _learn(self, stop: int) -> None:
        """Choose the curve that tells breaths, and see what is usual; try the next stretch if none does."""
        scale = usual_scale(self._tape, self._begun, stop, self._rate_hz, self._least_l)
        if scale is None:
            self._begin(stop)
            self._tape.forget(self._needed_from())
            return
        self._sensors.pressure_noise_cmh2o = scatter(self._tape.curve("pressure_cmh2o", self._begun, stop))
        self._drive: Drive = scale.drive
        zero = self._sensors.zero.told.zero_l_s
        self._turning = Turning(scale=scale, rate_hz=self._rate_hz, zero=zero)

    def _follow(self, turning: Turning, stop: int) -> None:
        samples = self._tape.curve(turning.scale.drive, self._followed, stop).tolist()
        for turn in turning.follow(samples, self._followed):
            if turn.into == LOST:
                self._begin(turn.certain + 1)
                return
            self._take(turn, turning)
        self._followed = stop
        if self._onset is not None and stop - self._onset > _LONGEST_BREATH_S * self._rate_hz:
            # a whole breath is closed; one still going in may be drift, and begin now
            whole = self._end is not None
            self._close(stop, stop)
            self._onset, self._end = (None if whole else stop), None

    def _take(self, turn: Turn, turning: Turning) -> None:
        """Keep the edges at a turn; one to a breath in completes the breath before."""
        drive, zero = turning.scale.drive, turning.zero
        if turn.into == OUT:
            self._end = end(self._tape, turn, drive, zero, self._rate_hz)
            self._correct_onset(turning)
            return
        rest, begins = onset(self._tape, turn, drive, zero, self._rate_hz)
        self._close(rest, begins)
        cut = begins <= self._begun + _CUT_S * self._rate_hz
        self._onset, self._end = (None if cut else begins), None

    def _correct_onset(self, turning: Turning) -> None:
        """Move the open breath's onset on, where it was only drift."""
        if self._onset is None or self._end is None or turning.scale.drive != "flow_l_s":
            return
        sure = surely_begun(self._tape, self._onset, self._end[0], turning.zero, self._rate_hz)
        if self._due and self._due[-1].marks.next_onset == self._onset:
            self._due[-1].marks = replace(self._due[-1].marks, next_onset=sure)
        self._onset = sure

    def _close(self, rest: int, next_onset: int) -> None:
        """Put the open breath, if there is a whole one, on the list of those to be measured."""
        if self._onset is None or self._end is None:
            return
        flow_end, out = (max(place, self._onset + 1) for place in self._end)
        if next_onset <= out:
            return
        marks = Marks(
            onset=self._onset, flow_end=flow_end, out=out, rest=min(max(rest, out), next_onset),
            next_onset=next_onset, drive=self._drive,
        )  # fmt: skip
        wait = round(needed_s(self._sensors.lag) * self._rate_hz)
        self._due.append(_Due(marks=marks, at=next_onset + wait))

    def _measured(self, marks: Marks) -> WaveBreath:
        view = View(tape=self._tape, marks=marks, epoch=self._epoch, rate_hz=self._rate_hz)
        breath = measure(view, self._sensors)
        if self._turning is not None:
            self._turning.zero = self._sensors.zero.told.zero_l_s
        return breath

    def _needed_from(self) -> int:
        """Return the place before which nothing is needed any more."""
        kept = self._followed - round(KEPT_S * self._rate_hz)
        waiting = [due.marks.onset for due in self._due] + ([self._onset] if self._onset is not None else [])
        return min([kept, *waiting]) - round(_KEPT_BEFORE_S * self._rate_hz)


def usual_scale(tape: Tape, first: int, last: int, rate_hz: float, least_l: float) -> Scale | None:
    """Return the curve to follow and what is usual in it, None where no curve tells breaths."""
    for drive, swing in _USABLE.items():
        curve = tape.curve(drive, first, last)
        known = curve[np.isfinite(curve)]
        if len(known) < max(_LEAST_KNOWN * (last - first), 2):
            continue
        noise = scatter(curve)
        calm = smoothed(known, round(_SMOOTHED_S * rate_hz))
        least = max(swing, _NOISE_SDS * noise / max(_SMOOTHED_S * rate_hz, 1.0) ** 0.5)
        if np.ptp(calm) < least:
            continue
        if drive != "flow_l_s":
            return Scale(drive=drive, size=float(np.ptp(calm)), peak=0.0, scatter=noise, least=swing / 2.0)
        peak = float(np.percentile(np.abs(calm), _USUAL_PERCENT))
        moved = np.cumsum(np.where(np.abs(calm) > _QUIET_SHARE * peak, calm, 0.0)) / rate_hz
        return Scale(drive=drive, size=float(np.ptp(moved)), peak=peak, scatter=noise, least=least_l)
    return None

"""One breath to look at: pressure, flow and carbon dioxide at the airway, once all has settled."""

from dataclasses import dataclass

import numpy as np

from lungeline.case import Settings
from lungeline.plan.model import STEP_S, Model
from lungeline.simulate.live import LiveCase

RATE_HZ = 50.0
_CHANNELS = ("pressure_cmh2o", "flow_l_s", "co2_mmhg")
_BEFORE_S = 0.4  # shown before the breath begins, so that its start is seen
_BEGUN_SHARE = 0.05  # of the largest flow, above which gas flows in
_BREATHS_RUN = 2.5  # a whole one lies in there, whenever the run began


@dataclass(frozen=True, slots=True, kw_only=True)
class BreathCurves:
    """Curves of one breath. time_s: 0 where inspiration begins; flow into the animal is positive."""

    time_s: tuple[float, ...]
    pressure_cmh2o: tuple[float, ...]
    flow_l_s: tuple[float, ...]
    co2_mmhg: tuple[float, ...]

    def as_json(self) -> dict[str, list[float]]:
        """Return the curves as lists, in as many digits as a screen shows."""
        return {name: [round(each, 3) for each in getattr(self, name)] for name in self.__slots__}


def breath_curves(model: Model, settings: Settings) -> BreathCurves:
    """Return the curves of the breath that `steady` tells the numbers of."""
    live = LiveCase(model.with_settings(settings), dt_s=STEP_S, trace_rate_hz=RATE_HZ)
    live.restore(model.settled(settings))
    cycle_s = 60.0 / settings.respiratory_rate_per_min
    blocks = {block.channel: np.array(block.values) for block in live.advance(_BREATHS_RUN * cycle_s)}
    first, last = _one_breath(blocks["flow_l_s"], cycle_s)
    time_s = np.arange(last - first) / RATE_HZ - _BEFORE_S
    told = {name: tuple(blocks[name][first:last].tolist()) for name in _CHANNELS}
    return BreathCurves(time_s=tuple(time_s.tolist()), **told)


def _one_breath(flow_l_s: "np.ndarray[tuple[int], np.dtype[np.float64]]", cycle_s: float) -> tuple[int, int]:
    """Return from which sample to which a breath lasts: from a little before its inspiration."""
    before = round(_BEFORE_S * RATE_HZ)
    inspired = flow_l_s > _BEGUN_SHARE * np.max(flow_l_s)
    begins = np.flatnonzero(inspired[1:] & ~inspired[:-1]) + 1
    fitting = begins[begins >= before]
    first = int(fitting[0]) - before if len(fitting) else 0
    return first, min(first + before + round(cycle_s * RATE_HZ), len(flow_l_s))

"""Where a breath begins, where its flow ends, where it goes out: the edges, once a turn is certain."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from lungeline.compare.smooth import smoothed
from lungeline.compare.tape import Tape
from lungeline.compare.turning import Drive, Turn

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SMOOTHED_S = 0.05
_FOOT_S, _FOOT_SHARE = 0.2, 0.25  # below what is surely flow it is followed no further, and no lower
_REACH_S = 3.0  # before the extreme of the volume, which noise may have moved
_TURNS_WITHIN_S = 0.06  # of where smoothed flow says so
_LONGEST_BACK_S = 20.0
_SURE_SHARE = 0.08  # of the highest flow: more than noise
_DRIFT_S, _DRIFT_SHARE = 0.6, 0.05  # of the highest flow: what comes in so slowly before it is drift


@dataclass(frozen=True, slots=True, kw_only=True)
class Marks:
    """Places of one breath, in this order.

    onset: of the breath in; flow_end: flow in ends; out: flow out begins; rest: flow out ends;
    next_onset: of the next breath. drive: the curve they were found in.
    """

    onset: int
    flow_end: int
    out: int
    rest: int
    next_onset: int
    drive: Drive


def onset(tape: Tape, turn: Turn, drive: Drive, zero_l_s: float, rate_hz: float) -> tuple[int, int]:
    """Return where flow out came to rest, and where the breath in begins."""
    if drive != "flow_l_s":
        return turn.first, turn.last
    start, flow = _before(tape, turn, zero_l_s, rate_hz)
    begins = _edge(flow, turn.quiet, rate_hz)
    out = np.flatnonzero(flow[:begins] <= -turn.quiet)
    rest = int(out[-1]) + 1 if len(out) else 0
    begins = _turning_sample(tape, turn, start + begins, zero_l_s, rate_hz)
    return min(start + rest, begins), begins


def end(tape: Tape, turn: Turn, drive: Drive, zero_l_s: float, rate_hz: float) -> tuple[int, int]:
    """Return where flow in ends, and where flow out begins; one place where there is no pause."""
    if drive != "flow_l_s":
        return turn.first, turn.last
    start, flow = _before(tape, turn, zero_l_s, rate_hz)
    out = _edge(-flow, turn.quiet, rate_hz)
    still_in = np.flatnonzero(flow[:out] >= _least(flow, turn.quiet))
    flow_end = int(still_in[-1]) + 1 if len(still_in) else out
    if out - flow_end > _TURNS_WITHIN_S * rate_hz:
        return start + flow_end, start + out
    out = _turning_sample(tape, turn, start + out, zero_l_s, rate_hz)
    return out, out


def surely_begun(tape: Tape, begins: int, flow_end: int, zero_l_s: float, rate_hz: float) -> int:
    """Return where a breath in begins, now that its size is known: drift before it was none of it."""
    flow = np.nan_to_num(tape.curve("flow_l_s", begins, flow_end) - zero_l_s)
    if len(flow) < _DRIFT_S * rate_hz:
        return begins
    calm = smoothed(flow, max(round(_SMOOTHED_S * rate_hz), 1))
    highest = int(calm.argmax())
    sure = _edge(calm[: highest + 1], 0.0, rate_hz)
    slow = sure > 0 and float(flow[:sure].mean()) <= _DRIFT_SHARE * float(calm.max())
    return begins + sure if slow else begins


def _turning_sample(tape: Tape, turn: Turn, near: int, zero_l_s: float, rate_hz: float) -> int:
    """Return the first sample of the new direction: where the volume itself turns, about a place."""
    reach = max(round(_TURNS_WITHIN_S * rate_hz), 1)
    first, last = max(near - reach, tape.start), min(near + reach, turn.certain)
    flow = np.nan_to_num(tape.curve("flow_l_s", first, last) - zero_l_s)
    if not len(flow):
        return near
    volume = np.cumsum(flow) * -turn.into
    return first + int(volume.argmax()) + 1 if volume.max() > 0.0 else first


def _before(tape: Tape, turn: Turn, zero_l_s: float, rate_hz: float) -> "tuple[int, NDArray[np.float64]]":
    """Return the smoothed flow from a little before the extreme of the volume until a turn is sure."""
    reach = round(_REACH_S * rate_hz)
    first = max(turn.first - reach, turn.certain - round(_LONGEST_BACK_S * rate_hz), tape.start)
    flow = tape.curve("flow_l_s", first, turn.certain + 1) - zero_l_s
    return first, np.nan_to_num(smoothed(flow, max(round(_SMOOTHED_S * rate_hz), 1)))


def _least(flow: "NDArray[np.float64]", quiet: float) -> float:
    """Return the flow that is surely some."""
    return max(quiet, _SURE_SHARE * float(flow.max()))


def _edge(flow: "NDArray[np.float64]", quiet: float, rate_hz: float) -> int:
    """Return where the flow that lasts to the end began."""
    sure = _least(flow, quiet)
    below = np.flatnonzero(flow < sure)
    at = int(below[-1]) + 1 if len(below) else 0
    least = max(at - round(_FOOT_S * rate_hz), 0)
    while at > least and flow[at - 1] > _FOOT_SHARE * sure:
        at -= 1
    return at

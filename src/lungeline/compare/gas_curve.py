"""Carbon dioxide of one breath on the tape: end-tidal, inspired, and over the volume breathed out."""

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from lungeline.compare.airway_pressure import known_mean
from lungeline.compare.capnogram import volume_capnogram
from lungeline.compare.lag import LONGEST_S, Lag, fall_of_co2
from lungeline.compare.marks import Marks
from lungeline.compare.tape import Tape
from lungeline.compare.wave_breath import WaveBreath

if TYPE_CHECKING:
    from numpy.typing import NDArray

_END_TIDAL_S = 0.3
_BEFORE_FALL_S = 0.15
_FALL_S = 0.4  # after which an analyser has followed a step down
_AROUND_LAG_S = 1.0
_LEAST_SWING_MMHG = 5.0
WAIT_S = LONGEST_S + 1.0


def needed_s(lag: Lag) -> float:
    """Return how long after a breath its gas may still come down the sample line."""
    lag_s, _ = lag.told_s()
    return WAIT_S if lag_s is None else lag_s + _AROUND_LAG_S + _END_TIDAL_S


def add_gas(  # noqa: PLR0913  a breath, where it lies, and how its gas lags
    breath: WaveBreath, *, tape: Tape, marks: Marks, flow: "NDArray[np.float64]", rate_hz: float, lag: Lag
) -> WaveBreath:
    """Return the breath with its gas, None where the curve does not tell. flow: its zero put right."""
    around = tape.curve("co2_mmhg", marks.onset, marks.next_onset + round(WAIT_S * rate_hz))
    if not np.isfinite(around).any():
        return breath
    fall = _fall(tape, marks, rate_hz, lag)
    if fall is not None and lag.given_s is None:
        lag.note((fall - marks.next_onset) / rate_hz, (marks.next_onset - marks.rest) / rate_hz)
    lag_s, sure = lag.told_s()
    breath = replace(breath, co2_delay_s=lag_s, co2_quality="good" if sure else "doubtful")
    if fall is None:
        flat = _flat(around)
        return replace(breath, etco2_mmhg=flat, fico2_mmhg=flat)
    before, gap = round(_BEFORE_FALL_S * rate_hz), round(_FALL_S * rate_hz)
    last = tape.curve("co2_mmhg", fall - before - round(_END_TIDAL_S * rate_hz), fall - before)
    breath = replace(breath, etco2_mmhg=known_mean(last))
    if lag_s is None:
        return breath
    shift = round(lag_s * rate_hz)
    breath = replace(breath, fico2_mmhg=_inspired(tape, marks, flow, shift, gap))
    return _with_dead_space(breath, tape, marks, flow, shift) if sure else breath


def _flat(around: "NDArray[np.float64]") -> float | None:
    """Return the level of a curve that does not move with the breath, None where it moves."""
    known = around[np.isfinite(around)]
    return float(np.median(known)) if np.ptp(known) < _LEAST_SWING_MMHG else None


def _fall(tape: Tape, marks: Marks, rate_hz: float, lag: Lag) -> int | None:
    """Return the place of the fall that belongs to the next breath in."""
    lag_s, _ = lag.told_s()
    first, last = marks.rest, marks.next_onset + round(LONGEST_S * rate_hz)
    if lag_s is not None:
        first += round(max(lag_s - _AROUND_LAG_S, 0.0) * rate_hz)
        last = marks.next_onset + round((lag_s + _AROUND_LAG_S) * rate_hz)
    first = max(first, tape.start)
    whole = tape.curve("co2_mmhg", marks.onset, last)
    found = fall_of_co2(tape.curve("co2_mmhg", first, last), whole, rate_hz)
    return None if found is None else first + found


def _inspired(tape: Tape, marks: Marks, flow: "NDArray[np.float64]", shift: int, gap: int) -> float | None:
    """Return the mean inspired carbon dioxide, by volume where flow is known."""
    gas = tape.curve("co2_mmhg", marks.onset + shift + gap, marks.flow_end + shift)
    weights = flow[gap : gap + len(gas)]
    known = np.isfinite(gas)
    if not known.any():
        return None
    if len(weights) != len(gas) or not np.isfinite(weights).all():
        return float(np.median(gas[known]))
    weights = np.where(known, np.maximum(weights, 0.0), 0.0)
    total = float(weights.sum())
    return float(weights @ np.nan_to_num(gas)) / total if total > 0.0 else None


def _with_dead_space(
    breath: WaveBreath, tape: Tape, marks: Marks, flow: "NDArray[np.float64]", shift: int
) -> WaveBreath:
    gas = tape.curve("co2_mmhg", marks.out + shift, marks.next_onset + shift)
    out = flow[marks.out - marks.onset :]
    if not np.isfinite(out).all() or len(gas) != len(out) or not np.isfinite(gas).all():
        return breath
    volume = -np.cumsum(out) * (breath.expiratory_time_s or 0.0) / len(out)
    furthest = int(volume.argmax()) + 1
    found = volume_capnogram(volume[:furthest], gas[:furthest], breath.fico2_mmhg or 0.0)
    if found is None:
        return breath
    return replace(
        breath,
        mixed_expired_co2_mmhg=found.mixed_expired_co2_mmhg,
        alveolar_co2_mmhg=found.alveolar_co2_mmhg,
        airway_dead_space_l=found.airway_dead_space_l,
        dead_space_fraction=found.dead_space_fraction,
    )

"""All that can be told of one breath, once its edges are known."""

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from lungeline.compare.airway_pressure import (
    effort,
    end_expiratory_cmh2o,
    known_mean,
    peak_cmh2o,
    plateau_cmh2o,
)
from lungeline.compare.gas_curve import add_gas
from lungeline.compare.lag import Lag
from lungeline.compare.marks import Marks
from lungeline.compare.motion import Motion, fit_motion
from lungeline.compare.smooth import filled, line_at
from lungeline.compare.tape import Tape
from lungeline.compare.wave_breath import WaveBreath
from lungeline.compare.zero import Rest, Zero, leak_drive, resting_flow_l_s

if TYPE_CHECKING:
    from numpy.typing import NDArray

_BRIDGED_S = 0.25  # longest hole in a curve that is bridged
_BEFORE_S = 1.5  # of pressure before a breath: its baseline, and an effort that begins it
_EDGE_S = 0.05  # by which an edge may be taken too late
_END_FLOW_S = 0.2
_LEAST_FLOW_L_S = 1e-6
_LIMIT_MARGIN_CMH2O = 1.0
_GOOD_FIT = 0.95
_LARGEST_LEAK = 0.1  # of the breath, for a compliance that is sure


@dataclass(slots=True)
class Sensors:
    """What is known of the sensors: zero of flow, lag of the gas curve, noise; and the limit that was set."""

    zero: Zero = field(default_factory=Zero)
    lag: Lag = field(default_factory=Lag)
    pressure_limit_cmh2o: float | None = None
    pressure_noise_cmh2o: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One breath on its tape. curves run from its onset to the next."""

    tape: Tape
    marks: Marks
    epoch: str
    rate_hz: float

    def curve(self, channel: str) -> "NDArray[np.float64]":
        """Return one curve of the breath, short holes bridged."""
        held = self.tape.curve(channel, self.marks.onset, self.marks.next_onset)
        return filled(held, round(_BRIDGED_S * self.rate_hz))

    @property
    def out(self) -> int:
        """Where flow out begins, counted from the onset."""
        return self.marks.out - self.marks.onset

    @property
    def flow_end(self) -> int:
        """Where flow in ends, counted from the onset."""
        return self.marks.flow_end - self.marks.onset


def measure(view: View, sensors: Sensors) -> WaveBreath:
    """Return what the curves tell of a breath; what they tell of the sensors is kept for the next ones."""
    marks, rate_hz = view.marks, view.rate_hz
    breath = WaveBreath(
        epoch=view.epoch,
        time_s=marks.onset / rate_hz,
        respiratory_rate_per_min=60.0 * rate_hz / (marks.next_onset - marks.onset),
    )
    if view.marks.drive != "co2_mmhg":  # whose edges come late
        breath = replace(
            breath,
            inspiratory_time_s=view.flow_end / rate_hz,
            pause_s=(view.out - view.flow_end) / rate_hz,
            expiratory_time_s=(marks.next_onset - marks.out) / rate_hz,
        )
    pressure, flow = view.curve("pressure_cmh2o"), view.curve("flow_l_s")
    breath = _with_pressures(breath, view, pressure, sensors)
    if np.isfinite(flow).all():
        breath, flow = _with_volumes(breath, view, pressure, flow, sensors)
        breath = _with_mechanics(breath, view, pressure, flow, sensors)
    return add_gas(breath, tape=view.tape, marks=marks, flow=flow, rate_hz=rate_hz, lag=sensors.lag)


def _with_pressures(
    breath: WaveBreath, view: View, pressure: "NDArray[np.float64]", sensors: Sensors
) -> WaveBreath:
    rate_hz, onset = view.rate_hz, view.marks.onset
    peak = peak_cmh2o(pressure, view.flow_end, rate_hz)
    if peak is None:
        return breath
    before = view.tape.curve("pressure_cmh2o", onset - round(_BEFORE_S * rate_hz), onset)
    begun, drawn = None, None
    if view.marks.drive == "flow_l_s":
        drawing = pressure[: view.flow_end - round(_EDGE_S * rate_hz)]
        begun, drawn = effort(before, drawing, sensors.pressure_noise_cmh2o, rate_hz)
    limit = sensors.pressure_limit_cmh2o
    return replace(
        breath,
        peak_pressure_cmh2o=peak,
        plateau_pressure_cmh2o=plateau_cmh2o(pressure, (view.flow_end, view.out), rate_hz),
        mean_airway_pressure_cmh2o=known_mean(pressure),
        end_expiratory_pressure_cmh2o=end_expiratory_cmh2o(pressure, rate_hz),
        begun=begun,
        effort_cmh2o=drawn,
        cut_by_limit=None if limit is None else peak >= limit - _LIMIT_MARGIN_CMH2O,
    )


def _with_volumes(
    breath: WaveBreath,
    view: View,
    pressure: "NDArray[np.float64]",
    flow: "NDArray[np.float64]",
    sensors: Sensors,
) -> "tuple[WaveBreath, NDArray[np.float64]]":
    """Return the breath with its volumes, and the flow with its zero put right."""
    rate_hz, out = view.rate_hz, view.out
    sensors.zero.note(
        Rest(
            rest_l_s=resting_flow_l_s(flow[out:], float(flow.max()), rate_hz),
            mean_l_s=float(flow.mean()),
            inspired_l_s=max(float(flow[:out].sum()) / len(flow), _LEAST_FLOW_L_S),
            peak_l_s=float(flow.max()),
            drive=float(leak_drive(pressure).mean()),
            rest_drive=float(leak_drive(pressure[-round(_END_FLOW_S * rate_hz) :]).mean()),
        )
    )
    told = sensors.zero.told
    flow = flow - told.zero_l_s
    breath = replace(
        breath,
        tidal_volume_inspired_l=float(flow[:out].sum()) / rate_hz,
        tidal_volume_expired_l=-float(flow[out:].sum()) / rate_hz,
        zero_flow_l_s=told.zero_l_s,
        leak_fraction=told.leak_fraction,
        volume_quality="good" if told.sure else "doubtful",
    )
    return breath, flow


def _with_mechanics(
    breath: WaveBreath,
    view: View,
    pressure: "NDArray[np.float64]",
    flow: "NDArray[np.float64]",
    sensors: Sensors,
) -> WaveBreath:
    if breath.begun != "set":
        return breath
    into_lung = flow - sensors.zero.told.leak * leak_drive(pressure)
    volume = np.cumsum(into_lung) / view.rate_hz
    motion = fit_motion(pressure, into_lung, volume)
    if motion is None or motion.fit_fraction < _GOOD_FIT:
        return replace(breath, fit_fraction=motion.fit_fraction if motion else None)
    most_l, inflow_l_s = float(volume.max()), float(into_lung[: max(view.flow_end, 1)].mean())
    sure = breath.volume_quality == "good" and (breath.leak_fraction or 0.0) <= _LARGEST_LEAK
    return replace(
        breath,
        compliance_l_cmh2o=motion.compliance_l_cmh2o(most_l),
        resistance_cmh2o_s_l=motion.resistance_cmh2o_s_l(inflow_l_s),
        fit_fraction=motion.fit_fraction,
        trapped_volume_l=_trapped_l(motion, most_l, into_lung, view),
        mechanics_quality="good" if sure else "doubtful",
    )


def _trapped_l(motion: Motion, most_l: float, flow: "NDArray[np.float64]", view: View) -> float | None:
    """Return what the pressure that still drives flow out holds in the lung."""
    tail = flow[-max(round(_END_FLOW_S * view.rate_hz), 2) :]
    flowing = -line_at(tail, len(tail) - 1.0)
    compliance = motion.compliance_l_cmh2o(most_l)
    if compliance is None:
        return None
    return max(flowing, 0.0) * motion.resistance_cmh2o_s_l(flowing) * compliance

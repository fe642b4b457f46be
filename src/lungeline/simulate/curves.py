"""What instruments make of the curves: which of them they can see, how late, and with which fault.

Curves carry lag and faults; the noise of an instrument is only on its numbers.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from lungeline.simulate.sensors import diluted, known_errors

if TYPE_CHECKING:
    from numpy.typing import NDArray

# The volume of the lung and its alveolar pressure are known to the model, not to any instrument.
SEEN_CHANNELS = (
    "pressure_cmh2o",
    "flow_l_s",
    "co2_mmhg",
    "oxygen_fraction",
    "agent_fraction",
    "reservoir_l",
)
_SAMPLED = ("co2_mmhg", "oxygen_fraction", "agent_fraction")
_FLOW = "flow_l_s"


class MeasuredCurves:
    """Turns stretches of true curves, given one after the other, into measured ones of the same length."""

    def __init__(self, channels: Sequence[str], sample_delay: int) -> None:
        """Begin without a past.

        channels: what the columns hold; sample_delay: samples by which the gas analyser lags, 0 or more.
        """
        self._channels = tuple(channels)
        self._delay = sample_delay
        self._waiting: NDArray[np.float64] | None = None

    def measured(self, true: "NDArray[np.float64]", errors: Mapping[str, float]) -> "NDArray[np.float64]":
        """Return the next stretch as measured, shape as given: one row a sample, one column a channel.

        Until the first gas has come down the sample line, the analyser shows what it met at the port first.
        """
        if not len(true):
            return true
        known = known_errors(errors)
        shown = self._delayed(true)
        for column, channel in enumerate(self._channels):
            if channel in _SAMPLED:
                air_fraction = known["sample_air_fraction"]
                # a mixture is a straight line between the gas and air
                at_zero, at_one = (diluted(gas, channel, air_fraction) for gas in (0.0, 1.0))
                shown[:, column] = at_zero + (at_one - at_zero) * shown[:, column]
            elif channel == _FLOW:
                expired = shown[:, column] < 0.0
                shown[expired, column] *= known["expired_volume_factor"]
        return shown

    def _delayed(self, true: "NDArray[np.float64]") -> "NDArray[np.float64]":
        if self._waiting is None:
            self._waiting = np.repeat(true[:1], self._delay, axis=0)
        joined = np.concatenate([self._waiting, true])
        self._waiting = joined[len(true) :]
        late = [column for column, channel in enumerate(self._channels) if channel in _SAMPLED]
        shown = true.copy()
        shown[:, late] = joined[: len(true), late]
        return shown

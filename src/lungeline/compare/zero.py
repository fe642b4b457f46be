"""What the flow sensor shows at rest, and what leaks behind it.

What goes in comes out, but for the little that blood takes up: so the mean flow of whole breaths is the zero,
unless something leaks. Flow at the end of an expiration that has come to rest is the zero as well, roughly:
a leak elsewhere may still draw on the lung. Where the two agree the first is taken, which is the surer one;
where the first is the larger, and a zero so large the less likely, gas is lost behind the sensor.
"""

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAK_EXPONENT = 0.7  # of pressure: between one hole and fine gaps
# (1 - R) VO2 over ventilation: R 0.8, 3 mL/kg/min, 80 mL/kg/min; taken up without being given back
UPTAKE_FRACTION = 0.0075
_BALANCED, _RESTED, _FEWEST = 7, 15, 3  # breaths: the balance follows a zero that drifts
_SURELY_NONE, _SURELY_LEAK = 0.02, 0.08  # of what goes in
_REST_S, _REST_SHARE, _LEAST_REST_S = 1.5, 0.2, 0.4  # of expiration
_STEADY_SHARE, _LARGEST_SHARE, _USUAL_SHARE = 0.025, 0.06, 0.01  # of the peak flow; a usual zero


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """One breath seen for its zero. rest_l_s: flow at the end of expiration, None where gas still moved.

    mean_l_s: over the whole breath; inspired_l_s: what went in, over the same time; peak_l_s: flow in.
    drive: mean over the breath of the pressure to the leak's exponent.
    """

    rest_l_s: float | None
    mean_l_s: float
    inspired_l_s: float
    peak_l_s: float
    drive: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """The zero of a flow sensor; the leak behind it, as part of what goes in; whether both are sure.

    leak: flow at a pressure of 1 cmH2O, to go with `leak_drive`.
    """

    zero_l_s: float = 0.0
    leak: float = 0.0
    leak_fraction: float | None = None
    sure: bool = False


@dataclass(slots=True)
class Zero:
    """The zero of a flow sensor and the size of a leak, from the last breaths."""

    told: Told = field(default_factory=Told)
    _breaths: "deque[Rest]" = field(default_factory=lambda: deque(maxlen=_RESTED))

    def note(self, breath: Rest) -> None:
        """Add a breath, and tell anew."""
        self._breaths.append(breath)
        late = list(self._breaths)[-_BALANCED:]
        balance = _middle(each.mean_l_s - UPTAKE_FRACTION * each.inspired_l_s for each in late)
        rests = [each.rest_l_s for each in self._breaths if each.rest_l_s is not None]
        if len(rests) < min(_FEWEST, len(self._breaths)):
            # a zero or a leak, who knows: only a small one is put right
            small = abs(balance) <= _LARGEST_SHARE / 2.0 * _middle(each.peak_l_s for each in late)
            self.told = Told(zero_l_s=balance if small else 0.0)
            return
        rest, inspired = median(rests), _middle(each.inspired_l_s for each in late)
        lost = (balance - rest) / inspired
        leaks = lost > _SURELY_NONE and abs(rest) < abs(balance)
        drive = _middle(each.drive for each in late)
        usual_l_s = _USUAL_SHARE * _middle(each.peak_l_s for each in late)
        self.told = Told(
            zero_l_s=rest if leaks else balance,
            leak=(balance - rest) / drive if leaks and drive > 0.0 else 0.0,
            leak_fraction=lost if leaks else 0.0,
            sure=not _SURELY_NONE < lost < _SURELY_LEAK or (not leaks and abs(balance) <= usual_l_s),
        )


def _middle(values: Iterable[float]) -> float:
    return median(list(values))


def resting_flow_l_s(flow: "NDArray[np.float64]", peak_flow_l_s: float, rate_hz: float) -> float | None:
    """Return the flow at the end of an expiration, None where gas still moves.

    flow: of the expiration, up to the next breath.
    """
    length = round(min(_REST_S * rate_hz, _REST_SHARE * len(flow)))
    if length < _LEAST_REST_S * rate_hz:
        return None
    early, late = np.array_split(flow[-length:], 2)
    level = float(flow[-length:].mean())
    steady = abs(float(late.mean() - early.mean())) <= _STEADY_SHARE * peak_flow_l_s
    return level if steady and abs(level) <= _LARGEST_SHARE * peak_flow_l_s else None


def leak_drive(pressure: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return what drives a leak at each pressure."""
    driven: NDArray[np.float64] = np.maximum(np.nan_to_num(pressure), 0.0) ** LEAK_EXPONENT
    return driven

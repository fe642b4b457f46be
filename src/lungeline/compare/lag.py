"""By how much the gas analyser lags behind flow, from where carbon dioxide falls as a breath in begins.

At the port it falls with the first gas breathed in. Where gas had come to rest before that, as little as the
blood takes up can bring the fall forward: then the lag is only known to lie within that rest.
"""

from collections import deque
from dataclasses import dataclass, field
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from lungeline.compare.smooth import smoothed

if TYPE_CHECKING:
    from numpy.typing import NDArray

LONGEST_S = 5.0
_REMEMBERED = 15
_FEWEST = 3
_SMOOTHED_S = 0.06
_SURE_WITHIN_S = 0.3
_LEAST_SWING_MMHG = 5.0
_STAYS_S = 0.15
_SWING_PERCENT = (5.0, 95.0)


@dataclass(slots=True)
class Lag:
    """The lag of the gas curve. given_s: where somebody measured it; None to find it."""

    given_s: float | None = None
    _seen: "deque[tuple[float, float]]" = field(default_factory=lambda: deque(maxlen=_REMEMBERED))

    def note(self, fall_s: float, rest_s: float) -> None:
        """Add a breath: fall of carbon dioxide after the breath in began, and rest before that."""
        self._seen.append((fall_s, rest_s))

    def told_s(self) -> tuple[float | None, bool]:
        """Return the lag, None where it is not known, and whether it is sure."""
        if self.given_s is not None:
            return self.given_s, True
        if len(self._seen) < _FEWEST:
            return None, False
        # a fall is never late, so of those seen the later ones tell
        falls = sorted(fall for fall, _ in self._seen)
        lag_s = falls[(3 * len(falls)) // 4]
        return lag_s, median(rest for _, rest in self._seen) < _SURE_WITHIN_S


def fall_of_co2(co2: "NDArray[np.float64]", breath: "NDArray[np.float64]", rate_hz: float) -> int | None:
    """Return the sample at which carbon dioxide first falls through half of its swing, to stay below.

    breath: the same curve over a whole breath, which tells the swing.
    """
    known = breath[np.isfinite(breath)]
    if not len(known) or not len(co2):
        return None
    low, high = np.percentile(known, _SWING_PERCENT).tolist()
    if high - low < _LEAST_SWING_MMHG:
        return None
    curve = smoothed(co2, round(_SMOOTHED_S * rate_hz))
    above, below = curve > (high + low) / 2.0, curve <= (high + low) / 2.0
    stays = max(round(_STAYS_S * rate_hz), 1)
    falls = np.flatnonzero(above[:-1] & below[1:]) + 1
    return next((int(at) for at in falls if not above[at : at + stays].any()), None)

"""A circle with its port plugged, filled and washed in: gas by gas, in closed form.

While the reservoir fills nothing spills, and the volume grows; once it is full, fresh gas pushes out as much
as flows in. The circle follows at every moment as if its volume were the mixing number times what it is.
What leaks and is sampled out is counted as fresh gas, the worst case: a leak never speeds priming.
"""

import math
from dataclasses import dataclass

from lungeline.physics.circle import (
    circle_time_constant_min,
    effective_volume_l,
    wash_in_fraction,
    wash_in_time_min,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """Fresh gas into a plugged circle.

    flow_l_min: all that flows in, vapour too; loss_l_min: leak and sample.
    circle_volume_l: gas with the reservoir empty; content_l, ceiling_l: of the reservoir, now and full.
    mixing_number: effective volume over volume; 1 for perfect mixing.
    """

    flow_l_min: float
    loss_l_min: float
    circle_volume_l: float
    content_l: float
    ceiling_l: float
    mixing_number: float

    @property
    def gain_l_min(self) -> float:
        """What stays in the reservoir."""
        return self.flow_l_min - self.loss_l_min

    @property
    def fill_min(self) -> float:
        """Time until the reservoir is full; infinite where more is lost than flows in."""
        missing_l = max(self.ceiling_l - self.content_l, 0.0)
        if missing_l <= 0.0:
            return 0.0
        return missing_l / self.gain_l_min if self.gain_l_min > 0.0 else math.inf

    @property
    def time_constant_min(self) -> float:
        """Of the full circle."""
        volume_l = effective_volume_l(self.circle_volume_l + self.ceiling_l, self.mixing_number, 0.0)
        return float(circle_time_constant_min(float(volume_l), self.gain_l_min))

    def _volume_l(self, elapsed_min: float) -> float:
        return self.circle_volume_l + self.content_l + self.gain_l_min * elapsed_min

    def fraction_after(self, start_fraction: float, fresh_fraction: float, elapsed_min: float) -> float:
        """Return a gas's fraction in the circle some time after the fresh gas was turned on."""
        filling_min = min(elapsed_min, self.fill_min)
        if filling_min > 0.0 and self.gain_l_min > 0.0:
            # mixing × V df = gain × (fresh - f) dt and dV = gain × dt; mixing 1 is the balance of the gas
            grown = self._volume_l(filling_min) / self._volume_l(0.0)
            diluted = math.pow(grown, -1.0 / self.mixing_number)
            start_fraction = fresh_fraction + (start_fraction - fresh_fraction) * diluted
        spilling_min = elapsed_min - filling_min
        return float(wash_in_fraction(start_fraction, fresh_fraction, spilling_min, self.time_constant_min))

    def time_to_min(self, start_fraction: float, fresh_fraction: float, target_fraction: float) -> float:
        """Return the time until a rising gas reaches a fraction; infinite where it never does."""
        if start_fraction >= target_fraction:
            return 0.0
        if fresh_fraction <= target_fraction or math.isinf(self.fill_min):
            return math.inf
        full_fraction = self.fraction_after(start_fraction, fresh_fraction, self.fill_min)
        if full_fraction < target_fraction:
            rest_min = wash_in_time_min(
                full_fraction, fresh_fraction, target_fraction, self.time_constant_min
            )
            return self.fill_min + float(rest_min)
        left = (fresh_fraction - target_fraction) / (fresh_fraction - start_fraction)
        grown = math.pow(left, -self.mixing_number)
        return self._volume_l(0.0) * (grown - 1.0) / self.gain_l_min

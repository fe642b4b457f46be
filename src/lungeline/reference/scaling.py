"""Parameter: a figure of the animal with how it follows body weight and how far animals differ."""

import math
from dataclasses import dataclass

from lungeline.errors import OutOfRangeError
from lungeline.figure import Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter:
    """A figure that may scale with weight and vary between animals.

    weight_exponent: the value goes with (weight / reference_weight_kg) ** weight_exponent.
    spread_log_sd: standard deviation of the natural logarithm between animals, 0 for none.
    """

    figure: Figure
    weight_exponent: float = 0.0
    spread_log_sd: float = 0.0
    reference_weight_kg: float | None = None

    def at_weight(self, weight_kg: float) -> float:
        """Return the value, in the figure's unit, for an animal of this weight."""
        if weight_kg <= 0:
            raise OutOfRangeError(
                where="weight_kg", given=weight_kg, allowed="above 0 kg", do="Give the animal's weight."
            )
        if self.reference_weight_kg is None:
            return self.figure.value
        relative_weight_ratio = weight_kg / self.reference_weight_kg
        return self.figure.value * math.pow(relative_weight_ratio, self.weight_exponent)

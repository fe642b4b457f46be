"""Volatile agents as vapour: pressure over the liquid, and what vaporisers give at altitude.

The coefficients of each agent are figures, not part of the formula: all forms in print are one, by Antoine.
"""

import math

from lungeline.compiled import formula
from lungeline.physics.constants import STANDARD_PRESSURE_MMHG


@formula
def saturated_vapour_pressure_mmhg(
    temperature_c: float, antoine_a_number: float, antoine_b_k: float, antoine_c_k: float
) -> float:
    """Pressure of an agent's vapour over its liquid [mmHg].

    temperature_c: of the liquid [°C], 5 to 45
    antoine_a_number: A, for a pressure in mmHg and the logarithm to base 10 [1], 5 to 10
    antoine_b_k: B [K], 500 to 3000
    antoine_c_k: C, added to the temperature in °C; 273.15 makes log P linear in 1/T [K], 200 to 280

    Source: Antoine 1888 (from memory); below isoflurane by its label, log10 P = 8.056 - 1664.58/(t + 273.16).

    >>> round(saturated_vapour_pressure_mmhg(20.0, 8.056, 1664.58, 273.16), 1)
    238.7
    """
    if temperature_c + antoine_c_k <= 0.0:
        return 0.0
    pressure: float = 10.0 ** (antoine_a_number - antoine_b_k / (temperature_c + antoine_c_k))
    return pressure


@formula
def saturated_vapour_fraction(vapour_pressure_mmhg: float, barometric_pressure_mmhg: float) -> float:
    """Agent in gas that has become saturated over its liquid, the most it can hold [1].

    vapour_pressure_mmhg: over the liquid [mmHg], 0 to 1000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; where not above the vapour, it boils: 1

    Source: Dalton's law.

    >>> round(saturated_vapour_fraction(250.0, 760.0), 3)
    0.329
    """
    if vapour_pressure_mmhg >= barometric_pressure_mmhg:
        return 1.0
    return vapour_pressure_mmhg / barometric_pressure_mmhg


@formula
def bypass_output_fraction(
    dial_fraction: float, vapour_pressure_mmhg: float, barometric_pressure_mmhg: float
) -> float:
    """Agent delivered by a variable-bypass vaporiser that was marked at 760 mmHg [1].

    dial_fraction: set [1], 0 to 0.2
    vapour_pressure_mmhg: over the liquid [mmHg], 0 to 700; no number from 760 on
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; where not above the vapour, it boils: 1

    Source: the dial splits the carrier, and the split stays (closed form). Partial pressure rises a little.

    >>> round(bypass_output_fraction(0.02, 238.0, 674.0), 4)
    0.0239
    """
    if vapour_pressure_mmhg >= STANDARD_PRESSURE_MMHG or dial_fraction >= 1.0:
        return math.nan
    if dial_fraction <= 0.0:
        return 0.0
    if vapour_pressure_mmhg >= barometric_pressure_mmhg:
        return 1.0
    carrier_lost = (STANDARD_PRESSURE_MMHG - vapour_pressure_mmhg) / (
        barometric_pressure_mmhg - vapour_pressure_mmhg
    )
    vapour_over_carrier = dial_fraction / (1.0 - dial_fraction) * carrier_lost
    return vapour_over_carrier / (1.0 + vapour_over_carrier)


@formula
def bypass_output_by_rule_fraction(dial_fraction: float, barometric_pressure_mmhg: float) -> float:
    """Agent delivered by a variable-bypass vaporiser, by the rule that its partial pressure stays [1].

    dial_fraction: set [1], 0 to 0.2
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0

    Source: teaching text for examinations (second-hand); `bypass_output_fraction` is exact, and higher.

    >>> round(bypass_output_by_rule_fraction(0.01, 380.0), 3)
    0.02
    """
    if barometric_pressure_mmhg <= 0.0:
        return math.nan
    return min(dial_fraction * STANDARD_PRESSURE_MMHG / barometric_pressure_mmhg, 1.0)


@formula
def heated_dial_fraction(sea_level_dial_fraction: float, barometric_pressure_mmhg: float) -> float:
    """Dial of a heated, pressurised vaporiser that gives the partial pressure of a dial at 760 mmHg [1].

    sea_level_dial_fraction: dial that would be set at sea level [1], 0 to 0.2
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0

    Source: such a vaporiser gives a constant fraction, so its partial pressure falls with ambient pressure
    (second-hand).

    >>> round(heated_dial_fraction(0.06, 596.0), 4)
    0.0765
    """
    if barometric_pressure_mmhg <= 0.0:
        return math.nan
    return min(sea_level_dial_fraction * STANDARD_PRESSURE_MMHG / barometric_pressure_mmhg, 1.0)

"""Ambient pressure at altitude, and what it does to inspired oxygen and to flowmeters."""

import math

from lungeline.compiled import formula
from lungeline.physics.constants import STANDARD_PRESSURE_MMHG

# US Standard Atmosphere 1976, layer from sea level to 11 km (tables seen; constants as printed there)
SEA_LEVEL_TEMPERATURE_K = 288.15
LAPSE_K_M = 0.0065
EXPONENT_NUMBER = 5.255876  # gravity × molar mass of air / (gas constant × lapse)


@formula
def standard_pressure_mmhg(altitude_m: float) -> float:
    """Ambient pressure of the standard atmosphere; weather adds some 3 per cent either way [mmHg].

    altitude_m: above sea level [m], -400 to 11000

    Source: US Standard Atmosphere 1976.

    >>> round(standard_pressure_mmhg(1524.0), 1)
    632.4
    """
    cooler = max(1.0 - LAPSE_K_M * altitude_m / SEA_LEVEL_TEMPERATURE_K, 0.0)
    pressure: float = STANDARD_PRESSURE_MMHG * cooler**EXPONENT_NUMBER
    return pressure


@formula
def standard_altitude_m(barometric_pressure_mmhg: float) -> float:
    """Altitude at which the standard atmosphere has a pressure [m].

    barometric_pressure_mmhg: not reduced to sea level [mmHg], 170 to 800; no number at or below 0

    Source: US Standard Atmosphere 1976, turned round.

    >>> round(standard_altitude_m(632.4), -1)
    1520.0
    """
    if barometric_pressure_mmhg <= 0.0:
        return math.nan
    cooler: float = (barometric_pressure_mmhg / STANDARD_PRESSURE_MMHG) ** (1.0 / EXPONENT_NUMBER)
    return (1.0 - cooler) * SEA_LEVEL_TEMPERATURE_K / LAPSE_K_M


@formula
def inspired_po2_at_altitude_mmhg(
    altitude_m: float, inspired_oxygen_fraction: float, body_water_mmhg: float
) -> float:
    """Oxygen pressure of inspired gas, moist and warm, at an altitude [mmHg].

    altitude_m: above sea level [m], -400 to 11000
    inspired_oxygen_fraction: of dry gas [1], 0 to 1
    body_water_mmhg: water vapour at body temperature [mmHg], 28 to 62

    Source: Dalton's law on the standard atmosphere.

    >>> round(inspired_po2_at_altitude_mmhg(3000.0, 0.2095, 47.0))
    100
    """
    return inspired_oxygen_fraction * (standard_pressure_mmhg(altitude_m) - body_water_mmhg)


@formula
def flowmeter_true_flow_l_min(indicated_flow_l_min: float, barometric_pressure_mmhg: float) -> float:
    """Flow through a variable-area flowmeter marked at sea level, as volume at ambient pressure [L/min].

    indicated_flow_l_min: read from the tube [L/min], 0 to 100
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0

    Source: flow past a float goes with the root of density (from memory); thin tubes at low flow err less.

    >>> round(flowmeter_true_flow_l_min(5.0, 596.0), 2)
    5.65
    """
    if barometric_pressure_mmhg <= 0.0:
        return math.nan
    return indicated_flow_l_min * math.sqrt(STANDARD_PRESSURE_MMHG / barometric_pressure_mmhg)

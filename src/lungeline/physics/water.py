"""Water vapour over liquid water, and the pressure it leaves for dry gas."""

import math

from lungeline.compiled import formula

# Buck 1981, J Appl Meteorol 20:1527, in the revised coefficients of the maker's manual, 1996 (from memory)
BUCK_SCALE_MMHG = 611.21 / 133.322387  # printed 611.21 Pa; 133.322387 Pa to the conventional mmHg
BUCK_SLOPE_NUMBER = 18.678
BUCK_BEND_C = 234.5
BUCK_OFFSET_C = 257.14


@formula
def saturated_water_vapour_mmhg(temperature_c: float) -> float:
    """Pressure of water vapour in saturated gas [mmHg].

    temperature_c: temperature of gas and water [°C], 0 to 50

    Source: Buck 1981, revised 1996 (coefficients from memory); within 0.04 % of IAPWS-IF97 from 0 to 45 °C.

    >>> round(saturated_water_vapour_mmhg(37.0), 2)
    47.1
    """
    slope = BUCK_SLOPE_NUMBER - temperature_c / BUCK_BEND_C
    return BUCK_SCALE_MMHG * math.exp(slope * temperature_c / (BUCK_OFFSET_C + temperature_c))


@formula
def dry_pressure_mmhg(
    barometric_pressure_mmhg: float, temperature_c: float, saturation_fraction: float
) -> float:
    """Pressure left for all gases but water vapour [mmHg].

    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800
    temperature_c: temperature of the gas [°C], 0 to 50
    saturation_fraction: relative humidity [1], 0 to 1

    Source: Dalton's law.

    >>> round(dry_pressure_mmhg(760.0, 37.0, 1.0), 1)
    712.9
    """
    return barometric_pressure_mmhg - saturation_fraction * saturated_water_vapour_mmhg(temperature_c)

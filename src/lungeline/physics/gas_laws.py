"""Gas in a closed space: what it stores under pressure, and what temperature does to it.

Pressures of a breathing system are counted from ambient.
"""

import math

from lungeline.compiled import formula
from lungeline.physics.constants import (
    CMH2O_PER_MMHG,
    ICE_POINT_K,
    STANDARD_MOLAR_VOLUME_L_MOL,
    STANDARD_PRESSURE_MMHG,
)


@formula
def molar_volume_l_mol(temperature_c: float, barometric_pressure_mmhg: float) -> float:
    """Volume of one mole of an ideal gas [L/mol].

    temperature_c: temperature of the gas [°C], -20 to 60
    barometric_pressure_mmhg: its pressure [mmHg], 300 to 800; no number at or below 0

    Source: ideal gas law with 22.41396954 L/mol at 0 °C and 1 atm (CODATA 2018).

    >>> round(molar_volume_l_mol(20.0, 760.0), 3)
    24.055
    """
    if barometric_pressure_mmhg <= 0.0:
        return math.nan
    warmer = (ICE_POINT_K + temperature_c) / ICE_POINT_K
    return STANDARD_MOLAR_VOLUME_L_MOL * warmer * STANDARD_PRESSURE_MMHG / barometric_pressure_mmhg


@formula
def isothermal_compliance_l_cmh2o(gas_volume_l: float, barometric_pressure_mmhg: float) -> float:
    """Compliance of gas in rigid walls, once it has taken their temperature [L/cmH2O].

    gas_volume_l: gas at ambient pressure [L], 0 to 200
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0

    Source: Boyle's law (closed form).

    >>> round(isothermal_compliance_l_cmh2o(50.0, 760.0), 6)
    0.048392
    """
    if barometric_pressure_mmhg <= 0.0:
        return math.nan
    return gas_volume_l / (barometric_pressure_mmhg * CMH2O_PER_MMHG)


@formula
def adiabatic_compliance_l_cmh2o(
    gas_volume_l: float, barometric_pressure_mmhg: float, heat_capacity_ratio: float
) -> float:
    """Compliance of gas in rigid walls, pressed faster than it can give up its warmth [L/cmH2O].

    gas_volume_l: gas at ambient pressure [L], 0 to 200
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0
    heat_capacity_ratio: at constant pressure over constant volume; oxygen and air 1.4 [ratio], 1 to 1.67

    Source: Poisson's law at small changes (closed form).

    >>> round(adiabatic_compliance_l_cmh2o(50.0, 760.0, 1.4), 6)
    0.034566
    """
    if heat_capacity_ratio <= 0.0:
        return math.nan
    return isothermal_compliance_l_cmh2o(gas_volume_l, barometric_pressure_mmhg) / heat_capacity_ratio


@formula
def compressed_volume_l(gas_volume_l: float, pressure_cmh2o: float, barometric_pressure_mmhg: float) -> float:
    """Gas that goes into rigid walls, and not into the animal, when their pressure rises [L].

    gas_volume_l: gas at ambient pressure [L], 0 to 200
    pressure_cmh2o: rise of pressure [cmH2O], 0 to 100
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0

    Source: Boyle's law (closed form); the volume is that of the gas before it was pressed in.

    >>> round(compressed_volume_l(30.0, 25.0, 760.0), 4)
    0.7259
    """
    return isothermal_compliance_l_cmh2o(gas_volume_l, barometric_pressure_mmhg) * pressure_cmh2o


@formula
def sealed_pressure_cmh2o(
    pressure_cmh2o: float, temperature_c: float, to_temperature_c: float, barometric_pressure_mmhg: float
) -> float:
    """Pressure of a sealed rigid system after its gas has changed temperature [cmH2O].

    pressure_cmh2o: at first [cmH2O], -50 to 120
    temperature_c: of the gas at first [°C], 0 to 60
    to_temperature_c: of the gas later [°C], 0 to 60
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800

    Source: Gay-Lussac's law (closed form).

    >>> round(sealed_pressure_cmh2o(30.0, 20.0, 21.0, 760.0), 2)
    33.63
    """
    ambient_cmh2o = barometric_pressure_mmhg * CMH2O_PER_MMHG
    warmer = (ICE_POINT_K + to_temperature_c) / (ICE_POINT_K + temperature_c)
    return (ambient_cmh2o + pressure_cmh2o) * warmer - ambient_cmh2o


@formula
def adiabatic_temperature_c(
    temperature_c: float, pressure_cmh2o: float, barometric_pressure_mmhg: float, heat_capacity_ratio: float
) -> float:
    """Temperature of gas pressed at once from ambient pressure [°C].

    temperature_c: before [°C], 0 to 50
    pressure_cmh2o: pressed to [cmH2O], 0 to 120
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0
    heat_capacity_ratio: at constant pressure over constant volume; oxygen and air 1.4 [ratio], 1 to 1.67

    Source: Poisson's law (closed form); an upper bound, as walls take warmth at once.

    >>> round(adiabatic_temperature_c(20.0, 30.0, 760.0, 1.4) - 20.0, 2)
    2.41
    """
    if barometric_pressure_mmhg <= 0.0 or heat_capacity_ratio <= 0.0:
        return math.nan
    pressed = 1.0 + pressure_cmh2o / (barometric_pressure_mmhg * CMH2O_PER_MMHG)
    warmer: float = pressed ** ((heat_capacity_ratio - 1.0) / heat_capacity_ratio)
    return (ICE_POINT_K + temperature_c) * warmer - ICE_POINT_K


@formula
def cooled_pressure_cmh2o(
    pressure_cmh2o: float, temperature_c: float, barometric_pressure_mmhg: float, heat_capacity_ratio: float
) -> float:
    """Pressure a tight system sags to when it was filled at once and then cools to the room [cmH2O].

    pressure_cmh2o: filled to [cmH2O], 0 to 120
    temperature_c: of the room [°C], 0 to 50
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0
    heat_capacity_ratio: at constant pressure over constant volume; oxygen and air 1.4 [ratio], 1 to 1.67

    Source: Poisson's law, then Gay-Lussac's (closed form).

    >>> round(cooled_pressure_cmh2o(30.0, 20.0, 760.0, 1.4), 2)
    21.34
    """
    filled_c = adiabatic_temperature_c(
        temperature_c, pressure_cmh2o, barometric_pressure_mmhg, heat_capacity_ratio
    )
    return sealed_pressure_cmh2o(pressure_cmh2o, filled_c, temperature_c, barometric_pressure_mmhg)

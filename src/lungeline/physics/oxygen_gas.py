"""Oxygen under high pressure, where it is no ideal gas. Pressures here are absolute.

Two fits to the equation of state of Schmidt & Wagner 1985, as CoolProp 8.0.0 computes it: compressibility at
15 °C, and the pressure along lines of constant density. Made from 1 to 310 bar and from -20 to 50 °C.
"""

from lungeline.compiled import formula
from lungeline.physics.constants import GAS_CONSTANT_J_MOL_K, ICE_POINT_K

REFERENCE_TEMPERATURE_C = 15.0  # for which cylinder contents and filling pressures are stated
MOLAR_MASS_OXYGEN_KG_MOL = 0.0319988  # IUPAC
PASCAL_PER_BAR = 1e5

# Z at 15 °C, a polynomial of bar absolute; largest error 5e-5 up to 300 bar
COMPRESSIBILITY_0_NUMBER = 0.9999804
COMPRESSIBILITY_1_NUMBER = -7.490196e-4
COMPRESSIBILITY_2_NUMBER = 9.263861e-7
COMPRESSIBILITY_3_NUMBER = 7.974894e-9
COMPRESSIBILITY_4_NUMBER = -1.244487e-11

# Change of pressure at constant density: p (S1 + S2 p + S3 p² + S4 p³) ΔT + p² (C1 + C2 p) ΔT², p in bar at
# 15 °C and ΔT from 15 °C; largest error 4e-4 of the pressure
SLOPE_1_NUMBER = 3.468198e-3
SLOPE_2_NUMBER = 9.757441e-6
SLOPE_3_NUMBER = 8.039703e-9
SLOPE_4_NUMBER = -3.674591e-11
CURVE_1_NUMBER = -6.319302e-9
CURVE_2_NUMBER = 1.214191e-11

FIXED_POINT_ROUNDS = 40  # each gains a digit or more


@formula
def oxygen_compressibility_ratio(pressure_bar: float) -> float:
    """Pressure of oxygen at 15 °C times its volume, over that of an ideal gas [ratio].

    pressure_bar: absolute [bar], 0 to 300

    Source: fit to CoolProp 8.0.0 (Schmidt & Wagner 1985), within 0.00005.

    >>> round(oxygen_compressibility_ratio(138.0), 3)
    0.931
    """
    p = pressure_bar
    upper = COMPRESSIBILITY_2_NUMBER + p * (COMPRESSIBILITY_3_NUMBER + p * COMPRESSIBILITY_4_NUMBER)
    return COMPRESSIBILITY_0_NUMBER + p * (COMPRESSIBILITY_1_NUMBER + p * upper)


@formula
def pressure_at_temperature_bar(pressure_15c_bar: float, temperature_c: float) -> float:
    """Pressure of oxygen in a closed cylinder at another temperature than 15 °C [bar].

    pressure_15c_bar: absolute, at 15 °C [bar], 0 to 300
    temperature_c: of the gas [°C], -20 to 50

    Source: fit to CoolProp 8.0.0 (Schmidt & Wagner 1985), within 0.04 %.

    >>> round(pressure_at_temperature_bar(201.0, 30.0) - 1.0, 1)
    216.4
    """
    p = pressure_15c_bar
    warmer = temperature_c - REFERENCE_TEMPERATURE_C
    slope = SLOPE_1_NUMBER + p * (SLOPE_2_NUMBER + p * (SLOPE_3_NUMBER + p * SLOPE_4_NUMBER))
    curve = p * (CURVE_1_NUMBER + p * CURVE_2_NUMBER)
    return p + p * warmer * (slope + curve * warmer)


@formula
def pressure_at_15c_bar(pressure_bar: float, temperature_c: float) -> float:
    """Pressure that oxygen in a closed cylinder would have at 15 °C [bar].

    pressure_bar: absolute, as it is now [bar], 0 to 330
    temperature_c: of the gas now [°C], -20 to 50

    Source: `pressure_at_temperature_bar`, turned round by iteration.

    >>> round(pressure_at_15c_bar(217.4, 30.0) - 1.0, 1)
    200.0
    """
    at_15c = pressure_bar
    for _ in range(FIXED_POINT_ROUNDS):
        at_15c -= pressure_at_temperature_bar(at_15c, temperature_c) - pressure_bar
    return at_15c


@formula
def oxygen_density_kg_m3(pressure_bar: float, temperature_c: float) -> float:
    """Density of oxygen [kg/m³].

    pressure_bar: absolute [bar], 0 to 300
    temperature_c: of the gas [°C], -20 to 50

    Source: the two fits together; within 0.1 % of CoolProp 8.0.0.

    >>> round(oxygen_density_kg_m3(1.01325, 15.0), 3)
    1.354
    """
    at_15c = pressure_at_15c_bar(pressure_bar, temperature_c)
    kelvin = ICE_POINT_K + REFERENCE_TEMPERATURE_C
    molar_energy = oxygen_compressibility_ratio(at_15c) * GAS_CONSTANT_J_MOL_K * kelvin
    return at_15c * PASCAL_PER_BAR * MOLAR_MASS_OXYGEN_KG_MOL / molar_energy

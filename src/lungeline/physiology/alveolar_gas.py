"""Alveolar gas: oxygen and carbon dioxide between what is breathed in and what blood takes and gives.

All pressures in mmHg; carbon dioxide output STPD, ventilation BTPS.
"""

import math

from lungeline.compiled import formula

STANDARD_PRESSURE_MMHG = 760.0
ICE_POINT_K = 273.15


@formula
def inspired_po2_mmhg(
    inspired_oxygen_fraction: float, barometric_pressure_mmhg: float, water_vapour_mmhg: float
) -> float:
    """Oxygen pressure of inspired gas, warmed and moistened [mmHg].

    inspired_oxygen_fraction: oxygen in dry inspired gas [1], 0 to 1
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800
    water_vapour_mmhg: saturated water vapour at body temperature, 47 at 37 °C [mmHg], 30 to 60

    Source: Dalton's law.

    >>> round(inspired_po2_mmhg(0.2093, 760.0, 47.0), 2)
    149.23
    """
    return inspired_oxygen_fraction * (barometric_pressure_mmhg - water_vapour_mmhg)


@formula
def alveolar_po2_mmhg(
    inspired_oxygen_fraction: float,
    barometric_pressure_mmhg: float,
    water_vapour_mmhg: float,
    paco2_mmhg: float,
    respiratory_exchange_ratio: float,
) -> float:
    """Alveolar oxygen pressure, full alveolar gas equation [mmHg].

    inspired_oxygen_fraction: oxygen in dry inspired gas [1], 0 to 1
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800
    water_vapour_mmhg: saturated water vapour at body temperature, 47 at 37 °C [mmHg], 30 to 60
    paco2_mmhg: arterial for alveolar CO2 pressure [mmHg], 5 to 250
    respiratory_exchange_ratio: CO2 given over oxygen taken [ratio], 0.6 to 1.2

    Source: Fenn, Rahn & Otis 1946; Riley & Cournand 1949 (from memory).

    >>> round(alveolar_po2_mmhg(0.21, 760.0, 47.0, 40.0, 0.8), 2)
    101.83
    """
    if respiratory_exchange_ratio <= 0.0:
        return math.nan
    inspired = inspired_po2_mmhg(inspired_oxygen_fraction, barometric_pressure_mmhg, water_vapour_mmhg)
    taken = inspired_oxygen_fraction + (1.0 - inspired_oxygen_fraction) / respiratory_exchange_ratio
    return inspired - paco2_mmhg * taken


@formula
def alveolar_po2_short_mmhg(
    inspired_oxygen_fraction: float,
    barometric_pressure_mmhg: float,
    water_vapour_mmhg: float,
    paco2_mmhg: float,
    respiratory_exchange_ratio: float,
) -> float:
    """Alveolar oxygen pressure, short equation as taught: about 2 mmHg too low on air [mmHg].

    inspired_oxygen_fraction: oxygen in dry inspired gas [1], 0 to 1; above 0.6 with a ratio of 1
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800
    water_vapour_mmhg: saturated water vapour at body temperature, 47 at 37 °C [mmHg], 30 to 60
    paco2_mmhg: arterial for alveolar CO2 pressure [mmHg], 5 to 250
    respiratory_exchange_ratio: CO2 given over oxygen taken [ratio], 0.6 to 1.2

    Source: textbooks of respiratory care (second-hand), worked values in the tests.

    >>> round(alveolar_po2_short_mmhg(0.21, 760.0, 47.0, 40.0, 0.8), 2)
    99.73
    """
    if respiratory_exchange_ratio <= 0.0:
        return math.nan
    inspired = inspired_po2_mmhg(inspired_oxygen_fraction, barometric_pressure_mmhg, water_vapour_mmhg)
    return inspired - paco2_mmhg / respiratory_exchange_ratio


@formula
def alveolar_arterial_difference_mmhg(alveolar_po2_mmhg: float, pao2_mmhg: float) -> float:
    """Difference of oxygen pressure, alveolar less arterial [mmHg].

    alveolar_po2_mmhg: alveolar oxygen pressure [mmHg], 20 to 760
    pao2_mmhg: arterial oxygen pressure [mmHg], 10 to 760

    Source: definition.

    >>> round(alveolar_arterial_difference_mmhg(99.73, 90.0), 2)
    9.73
    """
    return alveolar_po2_mmhg - pao2_mmhg


@formula
def arterial_alveolar_ratio(pao2_mmhg: float, alveolar_po2_mmhg: float) -> float:
    """Oxygen pressure in arterial blood over alveolar; moves less with FiO2 than the difference [ratio].

    pao2_mmhg: arterial oxygen pressure [mmHg], 10 to 760
    alveolar_po2_mmhg: alveolar oxygen pressure [mmHg], 20 to 760; not a number at or below 0

    Source: definition.

    >>> round(arterial_alveolar_ratio(75.0, 82.2), 2)
    0.91
    """
    if alveolar_po2_mmhg <= 0.0:
        return math.nan
    return pao2_mmhg / alveolar_po2_mmhg


@formula
def pao2_over_fio2_mmhg(pao2_mmhg: float, inspired_oxygen_fraction: float) -> float:
    """Arterial oxygen pressure over inspired oxygen fraction [mmHg].

    pao2_mmhg: arterial oxygen pressure [mmHg], 10 to 760
    inspired_oxygen_fraction: oxygen in dry inspired gas [1], 0.15 to 1; not a number at or below 0

    Source: definition.

    >>> pao2_over_fio2_mmhg(190.0, 0.95)
    200.0
    """
    if inspired_oxygen_fraction <= 0.0:
        return math.nan
    return pao2_mmhg / inspired_oxygen_fraction


@formula
def respiratory_exchange_ratio(carbon_dioxide_output_l_min: float, oxygen_uptake_l_min: float) -> float:
    """Carbon dioxide given off over oxygen taken up [ratio].

    carbon_dioxide_output_l_min: STPD [L/min], 0.05 to 5
    oxygen_uptake_l_min: STPD [L/min], 0.05 to 5; not a number at or below 0

    Source: definition.

    >>> respiratory_exchange_ratio(0.2, 0.25)
    0.8
    """
    if oxygen_uptake_l_min <= 0.0:
        return math.nan
    return carbon_dioxide_output_l_min / oxygen_uptake_l_min


@formula
def ventilation_constant_mmhg(body_temperature_c: float) -> float:
    """Constant of the alveolar ventilation equation, 863 at 37 °C, at any ambient pressure [mmHg].

    body_temperature_c: temperature of the expired gas [°C], 28 to 42

    Output is counted STPD, ventilation BTPS; ambient pressure cancels.
    Source: gas law (closed form); 863 is the usual rounded value.

    >>> round(ventilation_constant_mmhg(37.0), 1)
    862.9
    """
    return STANDARD_PRESSURE_MMHG * (ICE_POINT_K + body_temperature_c) / ICE_POINT_K


@formula
def steady_paco2_mmhg(
    carbon_dioxide_output_l_min: float, alveolar_ventilation_l_min: float, body_temperature_c: float
) -> float:
    """Arterial CO2 pressure once output and ventilation have been constant for long [mmHg].

    carbon_dioxide_output_l_min: STPD [L/min], 0.05 to 5
    alveolar_ventilation_l_min: BTPS [L/min], 0.5 to 100; infinite at or below 0
    body_temperature_c: temperature of the expired gas [°C], 28 to 42

    Source: alveolar ventilation equation, standard (from memory).

    >>> round(steady_paco2_mmhg(1.0, 22.5, 37.0), 1)
    38.4
    """
    if alveolar_ventilation_l_min <= 0.0:
        return math.inf
    constant = ventilation_constant_mmhg(body_temperature_c)
    return constant * carbon_dioxide_output_l_min / alveolar_ventilation_l_min


@formula
def alveolar_ventilation_for_paco2_l_min(
    carbon_dioxide_output_l_min: float, target_paco2_mmhg: float, body_temperature_c: float
) -> float:
    """Alveolar ventilation, BTPS, that holds an arterial CO2 pressure [L/min].

    carbon_dioxide_output_l_min: STPD [L/min], 0.05 to 5
    target_paco2_mmhg: wanted arterial CO2 pressure [mmHg], 20 to 100; not a number at or below 0
    body_temperature_c: temperature of the expired gas [°C], 28 to 42

    Source: alveolar ventilation equation turned round.

    >>> round(alveolar_ventilation_for_paco2_l_min(1.0, 50.0, 37.0), 2)
    17.26
    """
    if target_paco2_mmhg <= 0.0:
        return math.nan
    return ventilation_constant_mmhg(body_temperature_c) * carbon_dioxide_output_l_min / target_paco2_mmhg


@formula
def rate_for_paco2_per_min(
    respiratory_rate_per_min: float, paco2_mmhg: float, target_paco2_mmhg: float
) -> float:
    """Rate that brings arterial CO2 to a target with tidal volume and dead space unchanged [/min].

    respiratory_rate_per_min: rate at which the sample was steady [/min], 1 to 60
    paco2_mmhg: measured arterial CO2 pressure [mmHg], 15 to 150
    target_paco2_mmhg: wanted arterial CO2 pressure [mmHg], 20 to 100; not a number at or below 0

    Source: alveolar ventilation equation, twice.

    >>> rate_for_paco2_per_min(6.0, 60.0, 50.0)
    7.2
    """
    if target_paco2_mmhg <= 0.0:
        return math.nan
    return respiratory_rate_per_min * paco2_mmhg / target_paco2_mmhg

"""Volumes of one amount of gas under the conditions in which people state them.

STPD: 0 °C, 760 mmHg, dry. BTPS: body temperature, ambient pressure, saturated. ATPS: room temperature,
ambient pressure, saturated. ATPD: the same, dry. What holds for a volume holds for a flow.
"""

import math

from lungeline.compiled import formula
from lungeline.physics.constants import ICE_POINT_K, STANDARD_PRESSURE_MMHG
from lungeline.physics.water import saturated_water_vapour_mmhg

STANDARD_TEMPERATURE_C = 0.0


@formula
def converted_volume_l(
    volume_l: float,
    temperature_c: float,
    dry_pressure_mmhg: float,
    to_temperature_c: float,
    to_dry_pressure_mmhg: float,
) -> float:
    """Volume of an amount of dry gas under other conditions [L].

    volume_l: volume as stated [L], 0 to 20000
    temperature_c: temperature it is stated for [°C], -20 to 50
    dry_pressure_mmhg: pressure it is stated for, without water vapour [mmHg], 200 to 800
    to_temperature_c: temperature wanted [°C], -20 to 50
    to_dry_pressure_mmhg: pressure wanted, without water vapour [mmHg], 200 to 800; no number at or below 0

    Source: ideal gas law.

    >>> round(converted_volume_l(1.0, 0.0, 760.0, 20.0, 760.0), 4)
    1.0732
    """
    if to_dry_pressure_mmhg <= 0.0:
        return math.nan
    warmer = (ICE_POINT_K + to_temperature_c) / (ICE_POINT_K + temperature_c)
    return volume_l * warmer * dry_pressure_mmhg / to_dry_pressure_mmhg


@formula
def stpd_from_btps_l(
    volume_l: float, barometric_pressure_mmhg: float, body_temperature_c: float, body_water_mmhg: float
) -> float:
    """Volume STPD of gas measured BTPS [L].

    volume_l: volume BTPS [L], 0 to 1000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800
    body_temperature_c: temperature of the animal [°C], 28 to 42
    body_water_mmhg: water vapour at that temperature [mmHg], 28 to 62

    Source: ideal gas law.

    >>> round(stpd_from_btps_l(1.0, 760.0, 37.0, 47.0), 4)
    0.8262
    """
    dry = barometric_pressure_mmhg - body_water_mmhg
    return converted_volume_l(
        volume_l, body_temperature_c, dry, STANDARD_TEMPERATURE_C, STANDARD_PRESSURE_MMHG
    )


@formula
def btps_from_stpd_l(
    volume_l: float, barometric_pressure_mmhg: float, body_temperature_c: float, body_water_mmhg: float
) -> float:
    """Volume BTPS of gas stated STPD, such as the oxygen an animal uses [L].

    volume_l: volume STPD [L], 0 to 1000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below the water vapour
    body_temperature_c: temperature of the animal [°C], 28 to 42
    body_water_mmhg: water vapour at that temperature [mmHg], 28 to 62

    Source: ideal gas law.

    >>> round(btps_from_stpd_l(1.0, 760.0, 37.0, 47.0), 4)
    1.2103
    """
    dry = barometric_pressure_mmhg - body_water_mmhg
    return converted_volume_l(
        volume_l, STANDARD_TEMPERATURE_C, STANDARD_PRESSURE_MMHG, body_temperature_c, dry
    )


@formula
def stpd_from_atps_l(volume_l: float, barometric_pressure_mmhg: float, room_temperature_c: float) -> float:
    """Volume STPD of gas measured saturated at room temperature [L].

    volume_l: volume ATPS [L], 0 to 1000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800
    room_temperature_c: temperature of the gas [°C], 0 to 45

    Source: ideal gas law.

    >>> round(stpd_from_atps_l(1.0, 760.0, 20.0), 4)
    0.9103
    """
    dry = barometric_pressure_mmhg - saturated_water_vapour_mmhg(room_temperature_c)
    return converted_volume_l(
        volume_l, room_temperature_c, dry, STANDARD_TEMPERATURE_C, STANDARD_PRESSURE_MMHG
    )


@formula
def atps_from_stpd_l(volume_l: float, barometric_pressure_mmhg: float, room_temperature_c: float) -> float:
    """Volume of gas stated STPD once saturated at room temperature [L].

    volume_l: volume STPD [L], 0 to 1000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below the water vapour
    room_temperature_c: temperature of the gas [°C], 0 to 45

    Source: ideal gas law.

    >>> round(atps_from_stpd_l(1.0, 760.0, 20.0), 4)
    1.0986
    """
    dry = barometric_pressure_mmhg - saturated_water_vapour_mmhg(room_temperature_c)
    return converted_volume_l(
        volume_l, STANDARD_TEMPERATURE_C, STANDARD_PRESSURE_MMHG, room_temperature_c, dry
    )


@formula
def stpd_from_atpd_l(volume_l: float, barometric_pressure_mmhg: float, room_temperature_c: float) -> float:
    """Volume STPD of dry gas measured at room temperature [L].

    volume_l: volume ATPD [L], 0 to 20000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800
    room_temperature_c: temperature of the gas [°C], -20 to 45

    Source: ideal gas law.

    >>> round(stpd_from_atpd_l(1.0, 760.0, 20.0), 4)
    0.9318
    """
    return converted_volume_l(
        volume_l,
        room_temperature_c,
        barometric_pressure_mmhg,
        STANDARD_TEMPERATURE_C,
        STANDARD_PRESSURE_MMHG,
    )


@formula
def atpd_from_stpd_l(volume_l: float, barometric_pressure_mmhg: float, room_temperature_c: float) -> float:
    """Volume of gas stated STPD, dry and at room temperature [L].

    volume_l: volume STPD [L], 0 to 20000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0
    room_temperature_c: temperature of the gas [°C], -20 to 45

    Source: ideal gas law.

    >>> round(atpd_from_stpd_l(1.0, 760.0, 20.0), 4)
    1.0732
    """
    return converted_volume_l(
        volume_l,
        STANDARD_TEMPERATURE_C,
        STANDARD_PRESSURE_MMHG,
        room_temperature_c,
        barometric_pressure_mmhg,
    )

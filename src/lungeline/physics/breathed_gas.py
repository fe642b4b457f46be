"""What a volume at room temperature becomes in an animal, and back: gas from flowmeters and spirometers."""

from lungeline.compiled import formula
from lungeline.physics.gas_conditions import converted_volume_l
from lungeline.physics.water import saturated_water_vapour_mmhg


@formula
def btps_from_atps_l(
    volume_l: float,
    barometric_pressure_mmhg: float,
    room_temperature_c: float,
    body_temperature_c: float,
    body_water_mmhg: float,
) -> float:
    """Volume BTPS of gas measured saturated at room temperature [L].

    volume_l: volume ATPS [L], 0 to 1000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below the water vapour
    room_temperature_c: temperature of the measured gas [°C], 0 to 45
    body_temperature_c: temperature of the animal [°C], 28 to 42
    body_water_mmhg: water vapour at that temperature [mmHg], 28 to 62

    Source: ideal gas law; 1.102 at 20 °C is the value of the usual tables (from memory).

    >>> round(btps_from_atps_l(1.0, 760.0, 20.0, 37.0, 47.0), 3)
    1.102
    """
    dry = barometric_pressure_mmhg - saturated_water_vapour_mmhg(room_temperature_c)
    body_dry = barometric_pressure_mmhg - body_water_mmhg
    return converted_volume_l(volume_l, room_temperature_c, dry, body_temperature_c, body_dry)


@formula
def atps_from_btps_l(
    volume_l: float,
    barometric_pressure_mmhg: float,
    room_temperature_c: float,
    body_temperature_c: float,
    body_water_mmhg: float,
) -> float:
    """Volume that gas BTPS has once cooled to the room and still saturated [L].

    volume_l: volume BTPS [L], 0 to 1000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below the water vapour
    room_temperature_c: temperature of the cooled gas [°C], 0 to 45
    body_temperature_c: temperature of the animal [°C], 28 to 42
    body_water_mmhg: water vapour at that temperature [mmHg], 28 to 62

    Source: ideal gas law; the water that condenses is left out.

    >>> round(atps_from_btps_l(1.0, 760.0, 20.0, 37.0, 47.0), 4)
    0.9077
    """
    dry = barometric_pressure_mmhg - saturated_water_vapour_mmhg(room_temperature_c)
    body_dry = barometric_pressure_mmhg - body_water_mmhg
    return converted_volume_l(volume_l, body_temperature_c, body_dry, room_temperature_c, dry)


@formula
def btps_from_atpd_l(
    volume_l: float,
    barometric_pressure_mmhg: float,
    room_temperature_c: float,
    body_temperature_c: float,
    body_water_mmhg: float,
) -> float:
    """Volume BTPS of dry gas measured at room temperature [L].

    volume_l: volume ATPD [L], 0 to 1000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below the water vapour
    room_temperature_c: temperature of the measured gas [°C], -20 to 45
    body_temperature_c: temperature of the animal [°C], 28 to 42
    body_water_mmhg: water vapour at that temperature [mmHg], 28 to 62

    Source: ideal gas law.

    >>> round(btps_from_atpd_l(1.0, 760.0, 20.0, 37.0, 47.0), 3)
    1.128
    """
    body_dry = barometric_pressure_mmhg - body_water_mmhg
    return converted_volume_l(
        volume_l, room_temperature_c, barometric_pressure_mmhg, body_temperature_c, body_dry
    )


@formula
def atpd_from_btps_l(
    volume_l: float,
    barometric_pressure_mmhg: float,
    room_temperature_c: float,
    body_temperature_c: float,
    body_water_mmhg: float,
) -> float:
    """Volume that gas BTPS has dried and at room temperature [L].

    volume_l: volume BTPS [L], 0 to 1000
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0
    room_temperature_c: temperature of the dried gas [°C], -20 to 45
    body_temperature_c: temperature of the animal [°C], 28 to 42
    body_water_mmhg: water vapour at that temperature [mmHg], 28 to 62

    Source: ideal gas law.

    >>> round(atpd_from_btps_l(1.0, 760.0, 20.0, 37.0, 47.0), 4)
    0.8867
    """
    body_dry = barometric_pressure_mmhg - body_water_mmhg
    return converted_volume_l(
        volume_l, body_temperature_c, body_dry, room_temperature_c, barometric_pressure_mmhg
    )


@formula
def fresh_gas_btps_l_min(
    fresh_gas_flow_l_min: float,
    barometric_pressure_mmhg: float,
    flowmeter_temperature_c: float,
    body_temperature_c: float,
    body_water_mmhg: float,
) -> float:
    """Fresh gas as it counts among volumes BTPS once warm and moist [L/min].

    fresh_gas_flow_l_min: dry gas by the flowmeters, at ambient pressure [L/min], 0 to 100
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below the water vapour
    flowmeter_temperature_c: temperature the flowmeters are marked for [°C], 0 to 45
    body_temperature_c: temperature of the animal [°C], 28 to 42
    body_water_mmhg: water vapour at that temperature [mmHg], 28 to 62

    Source: ideal gas law; factor 1.128 at sea level.

    >>> round(fresh_gas_btps_l_min(5.0, 760.0, 20.0, 37.0, 47.0), 2)
    5.64
    """
    return btps_from_atpd_l(
        fresh_gas_flow_l_min,
        barometric_pressure_mmhg,
        flowmeter_temperature_c,
        body_temperature_c,
        body_water_mmhg,
    )

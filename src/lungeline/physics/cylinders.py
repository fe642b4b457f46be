"""Oxygen cylinders: contents from the gauge, and how long they last. Gauges read pressure above ambient."""

import math

from lungeline.compiled import formula
from lungeline.physics.constants import STANDARD_PRESSURE_BAR, STANDARD_PRESSURE_MMHG
from lungeline.physics.oxygen_gas import (
    REFERENCE_TEMPERATURE_C,
    oxygen_density_kg_m3,
    pressure_at_15c_bar,
    pressure_at_temperature_bar,
)

LIQUID_OXYGEN_DENSITY_KG_M3 = 1141.2  # at its boiling point, -183.0 °C; CoolProp 8.0.0
WHOLE_MINUTE_SLACK_MIN = 1e-9  # so that 308 minutes do not become 307 by rounding of a division


@formula
def gauge_at_temperature_bar(gauge_15c_bar: float, temperature_c: float) -> float:
    """Gauge pressure of an oxygen cylinder at another temperature than 15 °C [bar].

    gauge_15c_bar: gauge pressure at 15 °C [bar], 0 to 300
    temperature_c: of the cylinder [°C], -20 to 50

    Source: real gas, see `pressure_at_temperature_bar`.

    >>> round(gauge_at_temperature_bar(137.0, 0.0), 1)
    126.9
    """
    absolute = pressure_at_temperature_bar(gauge_15c_bar + STANDARD_PRESSURE_BAR, temperature_c)
    return absolute - STANDARD_PRESSURE_BAR


@formula
def gauge_at_15c_bar(gauge_bar: float, temperature_c: float) -> float:
    """Gauge pressure an oxygen cylinder would show at 15 °C, for which contents are stated [bar].

    gauge_bar: gauge pressure as read [bar], 0 to 330
    temperature_c: of the cylinder as read [°C], -20 to 50

    Source: real gas, see `pressure_at_15c_bar`.

    >>> round(gauge_at_15c_bar(126.9, 0.0))
    137
    """
    return pressure_at_15c_bar(gauge_bar + STANDARD_PRESSURE_BAR, temperature_c) - STANDARD_PRESSURE_BAR


@formula
def cylinder_content_l(
    water_l: float, gauge_bar: float, temperature_c: float, barometric_pressure_mmhg: float
) -> float:
    """Oxygen that a cylinder can still give, in litres at 15 °C and 1 atm [L].

    water_l: water capacity of the cylinder [L], 0.5 to 100
    gauge_bar: gauge pressure [bar], 0 to 300; where it is not above 0 there is nothing
    temperature_c: of the cylinder [°C], -20 to 50
    barometric_pressure_mmhg: ambient pressure, at which it stops flowing [mmHg], 300 to 800

    Source: density of the real gas (closed form on `oxygen_density_kg_m3`).

    >>> round(cylinder_content_l(1.0, 137.0, 15.0, 760.0), 1)
    145.2
    """
    if gauge_bar <= 0.0:
        return 0.0
    ambient_bar = barometric_pressure_mmhg / STANDARD_PRESSURE_MMHG * STANDARD_PRESSURE_BAR
    full = oxygen_density_kg_m3(gauge_bar + ambient_bar, temperature_c)
    left = oxygen_density_kg_m3(ambient_bar, temperature_c)
    return water_l * (full - left) / oxygen_density_kg_m3(STANDARD_PRESSURE_BAR, REFERENCE_TEMPERATURE_C)


@formula
def content_by_proportion_l(gauge_bar: float, full_gauge_bar: float, full_content_l: float) -> float:
    """Oxygen in a cylinder of known full content, taken in proportion to its gauge [L].

    gauge_bar: gauge pressure [bar], 0 to 300
    full_gauge_bar: when full [bar], 100 to 300; no number at or below 0
    full_content_l: printed on it [L], 100 to 20000

    Source: proportion; within 5 per cent of the real gas down to a quarter full.

    >>> content_by_proportion_l(100.0, 200.0, 2000.0)
    1000.0
    """
    if full_gauge_bar <= 0.0:
        return math.nan
    return full_content_l * gauge_bar / full_gauge_bar


@formula
def content_by_factor_l(gauge_psi: float, residual_psi: float, factor_l_psi: float) -> float:
    """Oxygen to be had from a cylinder by the factor of its size [L].

    gauge_psi: gauge pressure [psi], 0 to 3000
    residual_psi: to be left in the cylinder [psi], 0 to 500
    factor_l_psi: litres for each psi: D 0.16, E 0.28, H 3.14 [L/psi], 0.1 to 4

    Source: United States respiratory-care practice (second-hand).

    >>> round(content_by_factor_l(1200.0, 200.0, 0.28), 6)
    280.0
    """
    return max(gauge_psi - residual_psi, 0.0) * factor_l_psi


@formula
def endurance_min(content_l: float, residual_l: float, use_l_min: float) -> float:
    """Time that a supply lasts [min].

    content_l: to be had from it [L], 0 to 100000
    residual_l: not to be used [L], 0 to 100000
    use_l_min: all that draws on it, drive gas of a ventilator too [L/min], 0 to 500; infinite at or below 0

    Source: volume over flow.

    >>> round(endurance_min(660.0 * 500.0 / 1900.0, 0.0, 6.0), 2)
    28.95
    """
    if use_l_min <= 0.0:
        return math.inf
    return max(content_l - residual_l, 0.0) / use_l_min


@formula
def endurance_whole_min(content_l: float, residual_l: float, use_l_min: float) -> float:
    """Whole minutes that a supply lasts: rounded down, never up [min].

    content_l: to be had from it [L], 0 to 100000
    residual_l: not to be used [L], 0 to 100000
    use_l_min: all that draws on it, drive gas of a ventilator too [L/min], 0 to 500; infinite at or below 0

    Source: volume over flow; rounded down as in Nagelhout (second-hand).

    >>> endurance_whole_min(660.0 * 500.0 / 1900.0, 0.0, 6.0)
    28.0
    """
    lasts = endurance_min(content_l, residual_l, use_l_min)
    if math.isinf(lasts):
        return lasts
    return float(math.floor(lasts + WHOLE_MINUTE_SLACK_MIN))


@formula
def gas_from_liquid_oxygen_l(liquid_l: float) -> float:
    """Gas that liquid oxygen becomes, in litres at 15 °C and 1 atm [L].

    liquid_l: at its boiling point [L], 0 to 10000

    Source: densities by CoolProp 8.0.0; texts say 840 to 860, the latter at 21 °C.

    >>> round(gas_from_liquid_oxygen_l(1.0))
    843
    """
    gas = oxygen_density_kg_m3(STANDARD_PRESSURE_BAR, REFERENCE_TEMPERATURE_C)
    return liquid_l * LIQUID_OXYGEN_DENSITY_KG_M3 / gas

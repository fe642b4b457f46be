"""Ambient pressure at altitude, and water vapour, against printed tables and independent libraries."""

import numpy as np
import pytest
from iapws import IAPWS97

from lungeline.physics import atmosphere
from lungeline.physics.atmosphere import (
    flowmeter_true_flow_l_min,
    inspired_po2_at_altitude_mmhg,
    standard_altitude_m,
    standard_pressure_mmhg,
)
from lungeline.physics.water import dry_pressure_mmhg, saturated_water_vapour_mmhg
from lungeline.reference import figure

PASCAL_PER_MMHG = 101325.0 / 760.0
MMHG_PER_PSI = 6894.757293168 / PASCAL_PER_MMHG
METRES_PER_FOOT = 0.3048


def pressure_pa(altitude_m: float) -> float:
    return standard_pressure_mmhg(altitude_m) * PASCAL_PER_MMHG


# --- standard atmosphere --------------------------------------------------------------------------------


# A3: US Standard Atmosphere 1976, tables seen: 101325 Pa at sea level, 22632.1 Pa at 11 000 m
@pytest.mark.parametrize(("altitude_m", "expected_pa"), [(0.0, 101325.0), (11000.0, 22632.1)])
def test_ends_of_the_layer(altitude_m: float, expected_pa: float) -> None:
    assert pressure_pa(altitude_m) == pytest.approx(expected_pa, rel=1e-4)


# A4: table (engineering tables page, full text) 84322.9 and 69692.2 Pa; the equation gives 84307 and 69682
@pytest.mark.parametrize(
    ("altitude_m", "table_pa", "equation_pa"), [(1524.0, 84322.9, 84307.0), (3048.0, 69692.2, 69682.0)]
)
def test_table_in_metres(altitude_m: float, table_pa: float, equation_pa: float) -> None:
    assert pressure_pa(altitude_m) == pytest.approx(table_pa, rel=1e-3)
    assert pressure_pa(altitude_m) == pytest.approx(equation_pa, abs=1.0)


def test_mile_high_pressure_in_mmhg() -> None:
    # A4: 1524 m has 632.4 mmHg (table, full text)
    assert standard_pressure_mmhg(1524.0) == pytest.approx(632.4, abs=0.1)


# A5: the same page, in feet and psia
@pytest.mark.parametrize(("feet", "psia"), [(1000.0, 14.175), (5000.0, 12.230), (10000.0, 10.108)])
def test_table_in_feet(feet: float, psia: float) -> None:
    assert standard_pressure_mmhg(feet * METRES_PER_FOOT) / MMHG_PER_PSI == pytest.approx(psia, rel=5e-4)


# G11: anchors of the standard atmosphere, computed apart from this code
@pytest.mark.parametrize("altitude_m", [1000, 2000, 3000, 5000])
def test_anchors_kept_as_figures(altitude_m: int) -> None:
    kept_pa = 1000.0 * figure(f"atmosphere.pressure_{altitude_m}m_kpa").value
    assert pressure_pa(float(altitude_m)) == pytest.approx(kept_pa, abs=6.0)


def test_constants_are_the_figures() -> None:
    kept = {name: figure(f"atmosphere.{name}").value for name in ("sea_level_temperature_k", "lapse_k_m")}
    assert kept["sea_level_temperature_k"] == atmosphere.SEA_LEVEL_TEMPERATURE_K
    assert kept["lapse_k_m"] == atmosphere.LAPSE_K_M
    # printed with five decimals
    assert figure("atmosphere.exponent_number").value == pytest.approx(atmosphere.EXPONENT_NUMBER, abs=5e-6)


# Inspired oxygen in moist air, 0.2095 × (PB - 47), computed apart from this code; printed to the unit or half
@pytest.mark.parametrize(
    ("altitude_m", "expected"),
    [(0.0, 149.4), (500.0, 140.0), (1000.0, 131.0), (1500.0, 123.0), (2000.0, 115.0), (2500.0, 107.5)],
)
def test_inspired_oxygen_of_air(altitude_m: float, expected: float) -> None:
    assert inspired_po2_at_altitude_mmhg(altitude_m, 0.2095, 47.0) == pytest.approx(expected, abs=0.55)


def test_altitude_is_found_again() -> None:
    # A4, turned round
    assert standard_altitude_m(69682.0 / PASCAL_PER_MMHG) == pytest.approx(3048.0, abs=1.0)


def test_flowmeter_at_altitude() -> None:
    # arithmetic on the rule of the root of density (from memory): √(760 / 596) = 1.129
    assert flowmeter_true_flow_l_min(1.0, 596.0) == pytest.approx(1.129, abs=5e-4)


# --- water vapour ---------------------------------------------------------------------------------------


# A6: CRC Handbook 62nd edition, quoted by a public table (full text)
@pytest.mark.parametrize(
    ("temperature_c", "expected"), [(20.0, 17.54), (20.0, 17.55), (34.0, 39.95), (35.0, 42.20), (40.0, 55.37)]
)
def test_water_vapour_of_the_handbook(temperature_c: float, expected: float) -> None:
    assert saturated_water_vapour_mmhg(temperature_c) == pytest.approx(expected, rel=0.0015)


# A7: Buck's equation (from memory), computed apart from this code; 47 mmHg at 37 °C is printed everywhere
@pytest.mark.parametrize(
    ("temperature_c", "expected", "relative"),
    [(37.0, 47.10, 2e-4), (38.0, 49.73, 2e-4), (39.0, 52.49, 2e-4), (37.0, 47.0, 0.0025)],
)
def test_water_vapour_of_bodies(temperature_c: float, expected: float, relative: float) -> None:
    assert saturated_water_vapour_mmhg(temperature_c) == pytest.approx(expected, rel=relative)


@pytest.mark.parametrize("temperature_c", np.linspace(0.01, 45.0, 46))
def test_water_vapour_of_the_industrial_formulation(temperature_c: float) -> None:
    # IAPWS-IF97, by the iapws library 1.5.5
    expected_pa = 1e6 * IAPWS97(T=273.15 + temperature_c, x=0.0).P
    assert saturated_water_vapour_mmhg(temperature_c) * PASCAL_PER_MMHG == pytest.approx(
        expected_pa, rel=5e-4
    )


def test_water_vapour_kept_as_figures() -> None:
    assert saturated_water_vapour_mmhg(20.0) == pytest.approx(
        figure("constants.water_vapour_20c_mmhg").value, rel=0.0015
    )
    assert saturated_water_vapour_mmhg(38.0) == pytest.approx(
        figure("constants.water_vapour_38c_mmhg").value, rel=0.0005
    )


def test_room_air_of_half_humidity() -> None:
    # arithmetic on A6: 760 - 0.5 × 17.54 = 751.23
    assert dry_pressure_mmhg(760.0, 20.0, 0.5) == pytest.approx(751.23, abs=0.02)

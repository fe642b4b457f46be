"""Volatile agents against labels, published yields, audits and climate arithmetic.

The coefficients of each agent come from the figures kept with their sources.
"""

import math

import pytest

from lungeline.physics.agent_use import (
    agent_liquid_from_carrier_ml_h,
    agent_liquid_ml_h,
    agent_mass_g,
    carbon_dioxide_equivalent_kg,
    vapour_yield_ml_ml,
)
from lungeline.physics.gas_laws import molar_volume_l_mol
from lungeline.physics.vapour import (
    bypass_output_by_rule_fraction,
    bypass_output_fraction,
    heated_dial_fraction,
    saturated_vapour_fraction,
    saturated_vapour_pressure_mmhg,
)
from lungeline.reference import figure


def agent(name: str) -> float:
    return figure(f"agents.{name}").value


def vapour_pressure_mmhg(name: str, temperature_c: float, form: str = "antoine") -> float:
    a, b, c = (agent(f"{name}.{form}_{part}") for part in ("a_number", "b_k", "c_k"))
    return saturated_vapour_pressure_mmhg(temperature_c, a, b, c)


def liquid_yield(name: str, temperature_c: float) -> float:
    molar_volume = molar_volume_l_mol(temperature_c, 760.0)
    return vapour_yield_ml_ml(agent(f"{name}.density_g_ml"), agent(f"{name}.molar_mass_g_mol"), molar_volume)


# --- vapour pressure ------------------------------------------------------------------------------------


# G10: isoflurane label 238, 295, 367, 450 mmHg (full text), its own equation within 0.8 %; the values of the
# equation computed apart from this code
@pytest.mark.parametrize(
    ("temperature_c", "label", "equation"),
    [(20.0, 238.0, 238.7), (25.0, 295.0, 297.3), (30.0, 367.0, 367.5), (35.0, 450.0, 451.2)],
)
def test_isoflurane_label(temperature_c: float, label: float, equation: float) -> None:
    pressure = vapour_pressure_mmhg("isoflurane", temperature_c)
    assert pressure == pytest.approx(label, rel=0.008)
    assert pressure == pytest.approx(equation, abs=0.06)


@pytest.mark.parametrize("temperature_c", [7.0, 15.0, 20.0, 25.0, 35.0, 45.0, 70.0])
def test_isoflurane_by_a_second_equation(temperature_c: float) -> None:
    # Landolt-Börnstein (second-hand): ln P[Pa] = 21.010767 - 2543.6289 / (T - 54.219), written out as printed
    kelvin = 273.15 + temperature_c
    printed_mmhg = math.exp(21.010767 - 2543.6289 / (kelvin - 54.219)) / 133.322387
    ours = vapour_pressure_mmhg("isoflurane", temperature_c, "antoine_landolt_boernstein")
    assert ours == pytest.approx(printed_mmhg, rel=1e-4)


@pytest.mark.parametrize("temperature_c", [20, 25, 30, 35])
def test_the_second_equation_keeps_to_the_label(temperature_c: int) -> None:
    # two sources that do not know of each other: label pressures (full text) within 1 %
    label = agent(f"isoflurane.saturated_vapour_pressure_{temperature_c}c_mmhg")
    other = vapour_pressure_mmhg("isoflurane", float(temperature_c), "antoine_landolt_boernstein")
    assert other == pytest.approx(label, rel=0.01)


# G10: 157, 197, 317 mmHg (second-hand); coefficients of the label from memory
@pytest.mark.parametrize(("temperature_c", "printed"), [(20.0, 157.0), (25.0, 197.0), (36.0, 317.0)])
def test_sevoflurane(temperature_c: float, printed: float) -> None:
    assert vapour_pressure_mmhg("sevoflurane", temperature_c) == pytest.approx(printed, rel=0.001)


# G10: Antoine of Poling 2001 gives 242.3, 298.2, 364.2 mmHg; elsewhere 243 to 244 at 20 °C (second-hand)
@pytest.mark.parametrize(("temperature_c", "expected"), [(20.0, 242.3), (25.0, 298.2), (30.0, 364.2)])
def test_halothane(temperature_c: float, expected: float) -> None:
    pressure = vapour_pressure_mmhg("halothane", temperature_c)
    kelvin = 273.15 + temperature_c
    assert pressure == pytest.approx(expected, abs=0.06)
    assert pressure == pytest.approx(10 ** (9.20682 - 1199.262 / (kelvin - 37.86)) / 133.322387, rel=1e-4)
    assert vapour_pressure_mmhg("halothane", 20.0) == pytest.approx(243.5, rel=0.006)


# G10: 669 at 20 °C and 760 at 22.8 °C (second-hand). The coefficients are an unverified two-point fit
@pytest.mark.parametrize(("temperature_c", "printed"), [(20.0, 669.0), (22.8, 760.0)])
def test_desflurane(temperature_c: float, printed: float) -> None:
    assert vapour_pressure_mmhg("desflurane", temperature_c) == pytest.approx(printed, rel=0.015)


def test_saturated_isoflurane() -> None:
    # G10: 250 mmHg (a book's rounded pressure at 20 °C) / 760 = 32.9 %
    assert saturated_vapour_fraction(250.0, 760.0) == pytest.approx(0.329, abs=5e-4)


@pytest.mark.parametrize("name", ["isoflurane", "sevoflurane", "halothane", "desflurane"])
def test_an_agent_boils_where_its_pressure_reaches_ambient(name: str) -> None:
    # boiling points (second-hand). Label coefficients are meant for 20 to 35 °C: 3 % at the boiling point
    assert vapour_pressure_mmhg(name, agent(f"{name}.boiling_c")) == pytest.approx(760.0, rel=0.03)


# --- vaporisers at altitude -----------------------------------------------------------------------------


def test_sevoflurane_at_five_thousand_metres_by_the_rule() -> None:
    # G11: dial 1 %, ambient 50.5 kPa: delivered 2.0 %, 1 kPa (examination notes, second-hand)
    ambient_mmhg = 50.5 / 101.325 * 760.0
    delivered = bypass_output_by_rule_fraction(0.01, ambient_mmhg)
    assert delivered == pytest.approx(0.020, abs=5e-4)
    assert delivered * 50.5 == pytest.approx(1.0, rel=0.02)


def test_sevoflurane_at_five_thousand_metres_exactly() -> None:
    # closed form: 0.01/0.99 × (760 - 157) / (378.78 - 157) = 0.027464, of the whole 0.02673: above the rule
    ambient_mmhg = 50.5 / 101.325 * 760.0
    assert bypass_output_fraction(0.01, 157.0, ambient_mmhg) == pytest.approx(0.02673, abs=2e-5)


# Splitter worked by hand: isoflurane 2 % dial, 0.02/0.98 × 522 / (PB - 238), in per cent and mmHg
@pytest.mark.parametrize(
    ("ambient_mmhg", "percent", "delivered_mmhg"),
    [(760.0, 2.00, 15.2), (674.0, 2.39, 16.1), (596.0, 2.89, 17.2)],
)
def test_isoflurane_at_altitude(ambient_mmhg: float, percent: float, delivered_mmhg: float) -> None:
    delivered = bypass_output_fraction(0.02, 238.0, ambient_mmhg)
    assert 100.0 * delivered == pytest.approx(percent, abs=0.006)
    assert delivered * ambient_mmhg == pytest.approx(delivered_mmhg, abs=0.06)


# G11: desflurane dial × 760 / PB (second-hand); factors of the standard atmosphere, to two decimals
@pytest.mark.parametrize(
    ("ambient_mmhg", "factor"), [(760.0, 1.00), (674.0, 1.13), (596.0, 1.28), (526.0, 1.445)]
)
def test_desflurane_dial_at_altitude(ambient_mmhg: float, factor: float) -> None:
    assert heated_dial_fraction(0.06, ambient_mmhg) / 0.06 == pytest.approx(factor, abs=0.006)


# --- liquid and vapour ----------------------------------------------------------------------------------


# G5: published 195, 184, 210, 229 mL vapour (second-hand); ideal gas at 20 °C 195.1, 182.8, 209.7, 227.7
@pytest.mark.parametrize(
    ("name", "published", "ideal"),
    [
        ("isoflurane", 195.0, 195.1),
        ("sevoflurane", 184.0, 182.8),
        ("desflurane", 210.0, 209.7),
        ("halothane", 229.0, 227.7),
    ],
)
def test_vapour_yield(name: str, published: float, ideal: float) -> None:
    assert liquid_yield(name, 20.0) == pytest.approx(published, rel=0.01)
    assert liquid_yield(name, 20.0) == pytest.approx(ideal, abs=0.06)


# the same at 37 °C (arithmetic): 206, 193, 222, 241
@pytest.mark.parametrize(
    ("name", "expected"),
    [("isoflurane", 206.0), ("sevoflurane", 193.0), ("desflurane", 222.0), ("halothane", 241.0)],
)
def test_vapour_yield_of_warm_gas(name: str, expected: float) -> None:
    assert liquid_yield(name, 37.0) == pytest.approx(expected, abs=0.6)


# --- consumption ----------------------------------------------------------------------------------------


def test_handbook_rule_for_isoflurane() -> None:
    # G5: 3 × % × L/min: 36 mL/h (second-hand), 6 mL/h (Dhulkhed 2013, full text); exact 6.15, within 3 %
    exact = agent_liquid_ml_h(1.0, 0.02, liquid_yield("isoflurane", 20.0))
    assert exact == pytest.approx(6.15, abs=0.005)
    assert exact == pytest.approx(6.0, rel=0.03)
    assert agent_liquid_ml_h(6.0, 0.02, liquid_yield("isoflurane", 20.0)) == pytest.approx(36.0, rel=0.03)


def test_handbook_rule_for_sevoflurane() -> None:
    # G5: factor 3.3 (Dhulkhed 2013, full text); exact 6.57 at 2 % of 1 L/min
    exact = agent_liquid_ml_h(1.0, 0.02, liquid_yield("sevoflurane", 20.0))
    assert exact == pytest.approx(6.57, abs=0.01)
    assert exact == pytest.approx(3.3 * 2.0, rel=0.01)


# k in mL/h = k × % × L/min (arithmetic)
@pytest.mark.parametrize("name", ["isoflurane", "sevoflurane", "desflurane", "halothane"])
def test_consumption_factors_kept_as_figures(name: str) -> None:
    one_percent = agent_liquid_ml_h(1.0, 0.01, liquid_yield(name, 20.0))
    assert one_percent == pytest.approx(agent(f"{name}.consumption_factor_number"), abs=0.006)


# arithmetic with the published yields: carrier flow L/min, dial, mL/h
@pytest.mark.parametrize(
    ("name", "carrier_l_min", "dial", "expected"),
    [
        ("isoflurane", 10.0, 0.05, 162.0),
        ("isoflurane", 5.0, 0.025, 39.5),
        ("isoflurane", 3.0, 0.025, 23.7),
        ("sevoflurane", 5.0, 0.04, 67.9),
        ("desflurane", 5.0, 0.09, 141.3),
    ],
)
def test_consumption_from_the_flowmeters(
    name: str, carrier_l_min: float, dial: float, expected: float
) -> None:
    used = agent_liquid_from_carrier_ml_h(carrier_l_min, dial, agent(f"{name}.vapour_yield_ml_ml"))
    assert used == pytest.approx(expected, abs=0.06)


def test_first_hour_of_a_usual_plan() -> None:
    # G2 (arithmetic): 8 L/min 5 % for 10 min, then 3 L/min 2.5 % for 50 min: 41.3 mL
    gives = liquid_yield("isoflurane", 20.0)
    start = agent_liquid_from_carrier_ml_h(8.0, 0.05, gives) * 10.0 / 60.0
    then = agent_liquid_from_carrier_ml_h(3.0, 0.025, gives) * 50.0 / 60.0
    assert start + then == pytest.approx(41.3, abs=0.1)


# --- mass and climate -----------------------------------------------------------------------------------


# G6: Ryan & Nielsen, Anesth Analg 2010;111:92 (abstract): grams CO2e for 1 MAC-h at 2 L/min with GWP20 349,
# 1401, 3714; MAC 2.0, 1.2, 6.0 % and 24 L/mol reproduce it
@pytest.mark.parametrize(
    ("name", "mac", "potential", "published_g"),
    [
        ("sevoflurane", 0.020, 349.0, 6980.0),
        ("isoflurane", 0.012, 1401.0, 15551.0),
        ("desflurane", 0.060, 3714.0, 187186.0),
    ],
)
def test_mass_of_a_mac_hour(name: str, mac: float, potential: float, published_g: float) -> None:
    mass_g = agent_mass_g(2.0, mac, 60.0, agent(f"{name}.molar_mass_g_mol"), 24.0)
    assert mass_g * potential == pytest.approx(published_g, rel=0.003)


def test_mass_of_a_mac_hour_at_twenty_degrees() -> None:
    # G6 (derived): 19.96, 11.04, 50.3 g with 24.055 L/mol
    for name, mac, expected in (
        ("sevoflurane", 0.020, 19.96),
        ("isoflurane", 0.012, 11.04),
        ("desflurane", 0.060, 50.3),
    ):
        mass_g = agent_mass_g(2.0, mac, 60.0, agent(f"{name}.molar_mass_g_mol"), 24.055)
        assert mass_g == pytest.approx(expected, rel=0.001)


def test_carbon_of_an_equine_hospital() -> None:
    # G2: Elzahaby et al., Sci Rep 2024;14:17973 (abstract): 9.36 L isoflurane and 1.27 L sevoflurane are
    # 7.36 t, 41.2 mL/h are 31.3 kg/h. Potentials 510 and 130, densities 1.49 and 1.52 are inferred from these
    older = "gwp100_older_ratio"
    isoflurane = carbon_dioxide_equivalent_kg(9360.0, 1.49, agent(f"isoflurane.{older}"))
    sevoflurane = carbon_dioxide_equivalent_kg(1270.0, 1.52, agent(f"sevoflurane.{older}"))
    hourly = carbon_dioxide_equivalent_kg(41.2, 1.49, agent(f"isoflurane.{older}"))
    assert isoflurane + sevoflurane == pytest.approx(7360.0, rel=0.001)
    assert hourly == pytest.approx(31.3, abs=0.05)


def test_carbon_of_the_same_hospital_by_the_latest_report() -> None:
    # G2 (derived): potentials 539 and 195 of IPCC AR6 give 7.92 t
    latest = "gwp100_ar6_ratio"
    isoflurane = carbon_dioxide_equivalent_kg(9360.0, 1.496, agent(f"isoflurane.{latest}"))
    sevoflurane = carbon_dioxide_equivalent_kg(1270.0, 1.52, agent(f"sevoflurane.{latest}"))
    assert isoflurane + sevoflurane == pytest.approx(7920.0, rel=0.001)
    hourly = carbon_dioxide_equivalent_kg(41.2, 1.496, agent(f"isoflurane.{latest}"))
    assert hourly == pytest.approx(33.2, abs=0.05)


@pytest.mark.parametrize("name", ["isoflurane", "sevoflurane", "desflurane", "halothane"])
def test_carbon_of_a_millilitre_kept_as_a_figure(name: str) -> None:
    one_ml = carbon_dioxide_equivalent_kg(
        1.0, agent(f"{name}.density_g_ml"), agent(f"{name}.gwp100_ar6_ratio")
    )
    assert one_ml == pytest.approx(agent(f"{name}.carbon_dioxide_equivalent_kg_ml"), rel=0.005)

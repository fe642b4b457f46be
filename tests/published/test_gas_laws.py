"""Units of pressure, volumes under stated conditions, and gas in a closed space."""

import pytest

from lungeline.physics.breathed_gas import btps_from_atps_l, fresh_gas_btps_l_min
from lungeline.physics.constants import CMH2O_PER_MMHG, PASCAL_PER_CMH2O, STANDARD_PRESSURE_CMH2O
from lungeline.physics.gas_conditions import btps_from_stpd_l
from lungeline.physics.gas_laws import (
    adiabatic_compliance_l_cmh2o,
    adiabatic_temperature_c,
    compressed_volume_l,
    cooled_pressure_cmh2o,
    isothermal_compliance_l_cmh2o,
    molar_volume_l_mol,
    sealed_pressure_cmh2o,
)
from lungeline.physics.water import saturated_water_vapour_mmhg
from lungeline.reference import figure
from lungeline.units import convert

# --- pressure -------------------------------------------------------------------------------------------


def test_units_of_pressure_are_those_of_ucum() -> None:
    # A1: 1 m[H2O] = 9.80665 kPa, 1 m[Hg] = 133.3220 kPa; ucum-essence.xml, 2024 (full text)
    assert 100.0 * convert(1.0, "cmh2o", "kpa") == pytest.approx(9.80665, rel=1e-12)
    assert 1000.0 * convert(1.0, "mmhg", "kpa") == pytest.approx(133.3220, rel=1e-12)
    assert pytest.approx(98.0665, rel=1e-12) == PASCAL_PER_CMH2O


# A2, from A1 (arithmetic); 1 cmH2O = 0.735 mmHg is used in an equine blood pressure study (full text)
@pytest.mark.parametrize(
    ("value", "given", "wanted", "expected"),
    [
        (1.0, "mmhg", "cmh2o", 1.35951),
        (1.0, "cmh2o", "mmhg", 0.73556),
        (30.0, "cmh2o", "kpa", 2.942),
        (3.0, "kpa", "cmh2o", 30.59),
        (101.325, "kpa", "cmh2o", 1033.23),
    ],
)
def test_pressure_from_one_unit_to_another(value: float, given: str, wanted: str, expected: float) -> None:
    assert convert(value, given, wanted) == pytest.approx(expected, rel=1e-4)


def test_formulas_and_units_mean_the_same_atmosphere() -> None:
    # 1 atm = 101.325 kPa = 760 mmHg; UCUM rounds the mmHg to 133.322 Pa, which is 3 in a million
    assert convert(101.325, "kpa", "cmh2o") == pytest.approx(STANDARD_PRESSURE_CMH2O, rel=1e-9)
    assert convert(1.0, "mmhg", "cmh2o") == pytest.approx(CMH2O_PER_MMHG, rel=5e-6)


# --- conditions -----------------------------------------------------------------------------------------


# A8: 1.102 is the value of the usual table (from memory), 1.074 from the vapour pressures of A6 and A7
@pytest.mark.parametrize(("room_c", "expected"), [(20.0, 1.102), (25.0, 1.074)])
def test_spirometer_to_lung(room_c: float, expected: float) -> None:
    body_water_mmhg = saturated_water_vapour_mmhg(37.0)
    factor = btps_from_atps_l(1.0, 760.0, room_c, 37.0, body_water_mmhg)
    assert factor == pytest.approx(expected, abs=0.002)


def test_flowmeter_to_lung() -> None:
    # arithmetic: 310.15 / 293.15 × 760 / 713 = 1.12773
    assert fresh_gas_btps_l_min(1.0, 760.0, 20.0, 37.0, 47.0) == pytest.approx(1.12773, abs=1e-5)
    kept = figure("constants.room_to_body_gas_ratio").value
    assert fresh_gas_btps_l_min(1.0, 760.0, 20.0, 37.0, 47.0) == pytest.approx(kept, abs=5e-4)


def test_metabolic_gas_to_lung() -> None:
    # arithmetic: 310.15 / 273.15 × 760 / 713 = 1.21030; with the customary 863 mmHg it is 863 / 713 = 1.2104
    assert btps_from_stpd_l(1.0, 760.0, 37.0, 47.0) == pytest.approx(1.21030, abs=1e-5)
    kept = figure("constants.standard_to_body_gas_ratio").value
    assert btps_from_stpd_l(1.0, 760.0, 37.0, 47.0) == pytest.approx(kept, rel=1e-4)


# CODATA 2018: R T / p with R 8.314462618 J/mol/K; 24.055 is the figure of vapour arithmetic
@pytest.mark.parametrize(("temperature_c", "expected"), [(0.0, 22.41397), (20.0, 24.0551), (37.0, 25.4500)])
def test_molar_volume(temperature_c: float, expected: float) -> None:
    assert molar_volume_l_mol(temperature_c, 760.0) == pytest.approx(expected, rel=1e-5)
    by_constant = 8.314462618 * (273.15 + temperature_c) / 101.325
    assert molar_volume_l_mol(temperature_c, 760.0) == pytest.approx(by_constant, rel=1e-8)


# --- gas that is pressed --------------------------------------------------------------------------------


def test_compliance_of_a_ventilator_bears_out_boyle() -> None:
    # B2: 3790 mL, 5.15 mL/mmHg (Anesth Analg 1980;59:488, abstract). The site pressure is not printed:
    # 735.9 mmHg is inferred from the two, so this only shows that it is a pressure a hospital can have
    inferred_mmhg = 3790.0 / 5.15
    at_sea_level_ml_mmhg = 1000.0 * isothermal_compliance_l_cmh2o(3.790, 760.0) * CMH2O_PER_MMHG
    at_site_ml_mmhg = 1000.0 * isothermal_compliance_l_cmh2o(3.790, inferred_mmhg) * CMH2O_PER_MMHG
    assert inferred_mmhg == pytest.approx(735.9, abs=0.05)
    assert at_sea_level_ml_mmhg == pytest.approx(4.987, rel=0.001)
    assert at_site_ml_mmhg == pytest.approx(5.15, rel=0.005)


# B3: Boyle (closed form); 1524 m has 859.7 cmH2O
@pytest.mark.parametrize(
    ("volume_l", "ambient_mmhg", "expected_ml_cmh2o"),
    [(30.0, 760.0, 29.035), (50.0, 760.0, 48.392), (50.0, 859.7 / CMH2O_PER_MMHG, 58.16)],
)
def test_compliance_of_gas(volume_l: float, ambient_mmhg: float, expected_ml_cmh2o: float) -> None:
    compliance = 1000.0 * isothermal_compliance_l_cmh2o(volume_l, ambient_mmhg)
    assert compliance == pytest.approx(expected_ml_cmh2o, rel=0.001)


def test_gas_pressed_fast_is_stiffer() -> None:
    # B3: 50 L, adiabatic, 34.566 mL/cmH2O (closed form, heat capacities 1.4)
    assert 1000.0 * adiabatic_compliance_l_cmh2o(50.0, 760.0, 1.4) == pytest.approx(34.566, rel=0.001)


def test_compressed_volume() -> None:
    # C10: 30 L, 25 cmH2O -> 725.9 mL (closed form)
    assert 1000.0 * compressed_volume_l(30.0, 25.0, 760.0) == pytest.approx(725.9, rel=0.001)


# --- temperature ----------------------------------------------------------------------------------------


def test_a_tight_circle_filled_fast_sags_as_it_cools() -> None:
    # B15: filled to 30 cmH2O without loss of warmth it is up to 2.4 K warmer, and ends at 21.34 (closed form)
    assert cooled_pressure_cmh2o(30.0, 20.0, 760.0, 1.4) == pytest.approx(21.34, rel=0.001)
    assert adiabatic_temperature_c(20.0, 30.0, 760.0, 1.4) - 20.0 == pytest.approx(2.41, abs=0.005)


def test_one_kelvin_moves_the_pressure_of_a_leak_test() -> None:
    # B15: 1 K at 30 cmH2O and 293.15 K is 3.63 cmH2O (closed form)
    assert sealed_pressure_cmh2o(30.0, 20.0, 21.0, 760.0) - 30.0 == pytest.approx(3.63, abs=0.005)

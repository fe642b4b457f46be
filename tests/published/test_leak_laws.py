"""Leak tests against closed forms, a regulation's worked example and the methods of standards."""

import math

import pytest
from scipy.integrate import quad, solve_ivp

from lungeline.physics.gas_laws import isothermal_compliance_l_cmh2o
from lungeline.physics.leak_decay import (
    decay_leak_ml_min,
    decay_pressure_cmh2o,
    empty_time_min,
    leak_time_constant_min,
    mean_decay_leak_ml_min,
)
from lungeline.physics.leaks import (
    held_leak_ml_min,
    leak_exponent_number,
    leak_ml_min,
    rise_and_fall_compliance_ml_cmh2o,
    rise_and_fall_leak_ml_min,
)
from lungeline.physics.leaks_in_use import (
    inspiratory_loss_ml,
    ramp_breath_leak_ml_min,
    ramp_leak_ml_min,
    square_breath_leak_ml_min,
)
from lungeline.physics.ventilation_timing import square_mean_pressure_cmh2o
from lungeline.reference import figure
from lungeline.units import convert

LAMINAR, ORIFICE = 1.0, 0.5
FIFTY_LITRES_ML_CMH2O = 48.392  # B3: 50 L at sea level (Boyle, closed form)


# --- the law --------------------------------------------------------------------------------------------


# B7 (closed form): 300 at 30 and 245 at 20 cmH2O is one hole; 300 and 200 is laminar
@pytest.mark.parametrize(("second_ml_min", "expected"), [(245.0, 0.4995), (200.0, 1.000)])
def test_exponent_from_two_pressures(second_ml_min: float, expected: float) -> None:
    assert leak_exponent_number(300.0, 30.0, second_ml_min, 20.0) == pytest.approx(expected, abs=1e-4)


# --- the flow that holds the pressure -------------------------------------------------------------------


@pytest.mark.parametrize("compliance_ml_cmh2o", [10.0, 50.0, 300.0])
def test_a_held_pressure_shows_the_leak_whatever_the_compliance(compliance_ml_cmh2o: float) -> None:
    # B5: method of ASTM F1205 clause 7.2 (full text): steady, the flowmeter reads the leak
    assert held_leak_ml_min(300.0, compliance_ml_cmh2o, 0.0) == 300.0


def test_a_drift_that_is_left_counts() -> None:
    # closed form: 48 mL/cmH2O that still rise 1 cmH2O/min take 48 mL/min of the flow
    assert held_leak_ml_min(300.0, 48.0, 1.0) == pytest.approx(252.0, rel=1e-12)


# B13, B14: limits as printed, each with the method of holding a pressure; small animals and tubes only
@pytest.mark.parametrize(
    ("limit", "accepted_ml_min", "refused_ml_min"),
    [
        ("limits.leak.small_animal_illinois_ml_min", 250.0, 251.0),  # University of Illinois, at 20 cmH2O
        ("limits.leak.small_animal_coleman_ml_min", 300.0, 301.0),  # Coleman 2016, at 30 cmH2O
        ("limits.leak.tubes_astm_f1205_ml_min", 75.0, 76.0),  # ASTM F1205-88, at 3 kPa
    ],
)
def test_printed_limits_divide_as_printed(limit: str, accepted_ml_min: float, refused_ml_min: float) -> None:
    allowed_ml_min = figure(limit).value
    assert held_leak_ml_min(accepted_ml_min, FIFTY_LITRES_ML_CMH2O, 0.0) <= allowed_ml_min
    assert held_leak_ml_min(refused_ml_min, FIFTY_LITRES_ML_CMH2O, 0.0) > allowed_ml_min


# --- rise and fall --------------------------------------------------------------------------------------


def test_rise_and_fall_give_leak_and_compliance() -> None:
    # B6 (closed form): 2000 mL/min, +20 and -4 cmH2O/min -> 333.33 mL/min and 83.33 mL/cmH2O
    assert rise_and_fall_leak_ml_min(2000.0, 20.0, 4.0) == pytest.approx(1000.0 / 3.0, rel=1e-9)
    assert rise_and_fall_compliance_ml_cmh2o(2000.0, 20.0, 4.0) == pytest.approx(250.0 / 3.0, rel=1e-9)


# --- decay ----------------------------------------------------------------------------------------------


def test_vacuum_decay_of_a_regulation() -> None:
    # B1: US 40 CFR 1065.644: 2.000 L, 293.15 K, 25.3 -> 50.6 kPa in 70 s (inputs full text);
    # 2.9657e-4 mol/s (its printed 0.00030 from memory) = 428.0 mL/min at 293.15 K and 1 atm
    compliance_ml_cmh2o = 1000.0 * isothermal_compliance_l_cmh2o(2.000, 760.0)
    first, last = (convert(kpa - 101.325, "kpa", "cmh2o") for kpa in (25.3, 50.6))
    drawn_in_ml_min = -mean_decay_leak_ml_min(compliance_ml_cmh2o, first, last, 70.0)
    mol_s = drawn_in_ml_min / 60.0 * 1e-6 * 101325.0 / (8.314462618 * 293.15)
    assert drawn_in_ml_min == pytest.approx(428.0, rel=0.001)
    assert mol_s == pytest.approx(2.9657e-4, rel=0.001)
    assert round(mol_s, 5) == 0.00030


def test_decay_of_fifty_litres_read_three_ways() -> None:
    # B4 (closed forms): 30 -> 27 cmH2O in 30 s: mean 290.35; at 30: laminar 305.92, one hole 298.00 mL/min
    mean = mean_decay_leak_ml_min(FIFTY_LITRES_ML_CMH2O, 30.0, 27.0, 30.0)
    laminar = decay_leak_ml_min(30.0, 30.0, 27.0, 30.0, FIFTY_LITRES_ML_CMH2O, LAMINAR)
    orifice = decay_leak_ml_min(30.0, 30.0, 27.0, 30.0, FIFTY_LITRES_ML_CMH2O, ORIFICE)
    assert mean == pytest.approx(290.35, rel=1e-4)
    assert laminar == pytest.approx(305.92, rel=1e-4)
    assert orifice == pytest.approx(298.00, rel=1e-4)


# B11 (closed form): fall in 10 s from 30 cmH2O; and the table of compliances and leaks it is part of
@pytest.mark.parametrize(
    ("compliance_ml_cmh2o", "leak", "expected", "digits"),
    [
        (48.4, 300.0, 1.015, 3),
        (10.0, 300.0, 4.606, 3),
        (300.0, 1000.0, 0.550, 3),
        (10.0, 150.0, 2.4, 1),
        (10.0, 1000.0, 12.8, 1),
        (29.0, 150.0, 0.85, 2),
        (29.0, 300.0, 1.7, 1),
        (29.0, 1000.0, 5.2, 1),
        (FIFTY_LITRES_ML_CMH2O, 150.0, 0.51, 2),
        (FIFTY_LITRES_ML_CMH2O, 1000.0, 3.3, 1),
        (300.0, 150.0, 0.08, 2),
        (300.0, 300.0, 0.17, 2),
    ],
)
def test_fall_in_ten_seconds(compliance_ml_cmh2o: float, leak: float, expected: float, digits: int) -> None:
    fall = 30.0 - decay_pressure_cmh2o(30.0, 10.0, compliance_ml_cmh2o, leak, 30.0, LAMINAR)
    assert round(fall, digits) == pytest.approx(expected, rel=1e-9)


# leak that gives a just readable 1 cmH2O in 10 s (closed form): 6 × compliance
@pytest.mark.parametrize(("compliance", "expected"), [(10.0, 60.0), (29.0, 174.0), (300.0, 1800.0)])
def test_the_leak_a_ten_second_look_can_see(compliance: float, expected: float) -> None:
    assert mean_decay_leak_ml_min(compliance, 30.0, 29.0, 10.0) == pytest.approx(expected, rel=1e-9)


def test_time_to_empty() -> None:
    # B12 (closed forms): one hole empties in 9.678 min; laminar has a time constant of 4.839 min, and no end
    assert empty_time_min(30.0, FIFTY_LITRES_ML_CMH2O, 300.0, 30.0, ORIFICE) == pytest.approx(9.678, rel=1e-3)
    assert empty_time_min(30.0, FIFTY_LITRES_ML_CMH2O, 300.0, 30.0, LAMINAR) == math.inf
    constant_min = leak_time_constant_min(FIFTY_LITRES_ML_CMH2O, 300.0, 30.0)
    assert constant_min == pytest.approx(4.839, rel=1e-3)
    after_one = decay_pressure_cmh2o(30.0, 60.0 * constant_min, FIFTY_LITRES_ML_CMH2O, 300.0, 30.0, LAMINAR)
    assert after_one == pytest.approx(30.0 / math.e, rel=1e-9)


@pytest.mark.parametrize("exponent", [0.5, 0.6, 0.7, 0.85, 1.0])
def test_decay_is_the_solution_of_its_equation(exponent: float) -> None:
    # C dP/dt = -L(P), integrated by an independent solver
    def slope(_: float, pressure: list[float]) -> list[float]:
        return [-300.0 * (pressure[0] / 30.0) ** exponent / FIFTY_LITRES_ML_CMH2O / 60.0]

    solved = solve_ivp(slope, (0.0, 200.0), [30.0], rtol=1e-10, atol=1e-10)
    ours = decay_pressure_cmh2o(30.0, 200.0, FIFTY_LITRES_ML_CMH2O, 300.0, 30.0, exponent)
    assert ours == pytest.approx(solved.y[0][-1], rel=1e-6)


# --- in use ---------------------------------------------------------------------------------------------


# B8 (integrals): 250 mL/min at 30; square 25 and 0 cmH2O, 8 breaths/min, 2.5 s
@pytest.mark.parametrize(
    ("exponent", "mean_ml_min", "lost_ml"), [(LAMINAR, 69.44, 8.681), (ORIFICE, 76.07, 9.509)]
)
def test_square_breaths(exponent: float, mean_ml_min: float, lost_ml: float) -> None:
    mean = square_breath_leak_ml_min(0.0, 25.0, 2.5, 7.5, 250.0, 30.0, exponent)
    lost = inspiratory_loss_ml(leak_ml_min(25.0, 250.0, 30.0, exponent), 2.5)
    assert mean == pytest.approx(mean_ml_min, rel=1e-3)
    assert lost == pytest.approx(lost_ml, rel=1e-3)


# B9 (integrals): as B8 with an even rise from 0 to 25 cmH2O
@pytest.mark.parametrize(("exponent", "mean_ml_min"), [(LAMINAR, 34.72), (ORIFICE, 50.72)])
def test_rising_breaths(exponent: float, mean_ml_min: float) -> None:
    mean = ramp_breath_leak_ml_min(0.0, 25.0, 2.5, 7.5, 250.0, 30.0, exponent)
    assert mean == pytest.approx(mean_ml_min, rel=1e-3)


# B10 (integrals): 300 mL/min at 30; square 25 and 5 cmH2O, 2.5 of 7.5 s
@pytest.mark.parametrize(("exponent", "mean_ml_min"), [(LAMINAR, 116.67), (ORIFICE, 172.94)])
def test_square_breaths_above_peep(exponent: float, mean_ml_min: float) -> None:
    mean = square_breath_leak_ml_min(5.0, 25.0, 2.5, 7.5, 300.0, 30.0, exponent)
    assert mean == pytest.approx(mean_ml_min, rel=1e-3)
    assert square_mean_pressure_cmh2o(5.0, 25.0, 2.5, 7.5) == pytest.approx(11.667, rel=1e-3)


def test_a_larger_leak_in_use() -> None:
    # 1000 mL/min at 30, breaths of B8 (integrals): 278 and 304 mL/min; 34.7 and 38.0 mL of each breath
    for exponent, mean_ml_min, lost_ml in ((LAMINAR, 278.0, 34.7), (ORIFICE, 304.0, 38.0)):
        mean = square_breath_leak_ml_min(0.0, 25.0, 2.5, 7.5, 1000.0, 30.0, exponent)
        assert mean == pytest.approx(mean_ml_min, abs=0.5)
        lost = inspiratory_loss_ml(leak_ml_min(25.0, 1000.0, 30.0, exponent), 2.5)
        assert lost == pytest.approx(lost_ml, abs=0.05)


@pytest.mark.parametrize("exponent", [0.5, 0.7, 1.0])
def test_a_rise_from_peep_is_its_integral(exponent: float) -> None:
    # numerical integral of the power law, by an independent library
    area, _ = quad(lambda pressure: 250.0 * (pressure / 30.0) ** exponent, 5.0, 25.0)
    assert ramp_leak_ml_min(5.0, 25.0, 250.0, 30.0, exponent) == pytest.approx(area / 20.0, rel=1e-9)

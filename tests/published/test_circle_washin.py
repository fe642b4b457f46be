"""How fast a large circle follows its fresh gas, against published time constants and mass balances."""

import math

import pytest
from scipy.integrate import solve_ivp

from lungeline.physics.circle import (
    circle_time_constant_min,
    closed_flow_l_min,
    denitrogenation_time_min,
    effective_volume_l,
    half_time_min,
    mixed_fraction,
    nitrogen_fraction,
    steady_oxygen_fraction,
    wash_in_fraction,
    wash_in_time_min,
)
from lungeline.reference import figure

# Solano et al., Am J Vet Res 2005;66:1675 (abstract): circle volume by carbon dioxide dilution
BAG_40_L, BAG_20_L = 49.26, 32.97


# --- time constants -------------------------------------------------------------------------------------


# G1: theoretical and experimental time constants, 40 L bag (Bukoski, Vet Anaesth Analg 2012;39:185, abstract)
@pytest.mark.parametrize(
    ("flow_l_min", "theoretical", "experimental"), [(3.0, 16.4, 18.1), (6.0, 8.2, 9.2), (10.0, 4.9, 5.4)]
)
def test_time_constant_of_a_large_circle(flow_l_min: float, theoretical: float, experimental: float) -> None:
    mixed = circle_time_constant_min(effective_volume_l(BAG_40_L, 1.0, 0.0), flow_l_min)
    as_measured = circle_time_constant_min(
        effective_volume_l(BAG_40_L, figure("circle.mixing_number").value, 0.0), flow_l_min
    )
    assert mixed == pytest.approx(theoretical, rel=0.01)
    assert as_measured == pytest.approx(experimental, rel=0.02)


# G1 a (arithmetic): V/F to two decimals; 20 L bag derived
@pytest.mark.parametrize(
    ("volume_l", "flow_l_min", "expected"),
    [(BAG_40_L, 3.0, 16.42), (BAG_40_L, 6.0, 8.21), (BAG_40_L, 10.0, 4.93), (BAG_20_L, 6.0, 5.50)],
)
def test_time_constant_is_volume_over_flow(volume_l: float, flow_l_min: float, expected: float) -> None:
    assert circle_time_constant_min(volume_l, flow_l_min) == pytest.approx(expected, abs=0.006)


# E7: constants and half-times as printed in 2005. They are too short (the 2012 paper), but belong together
@pytest.mark.parametrize(("constant", "half"), [(11.97, 8.29), (6.10, 4.22), (3.60, 2.49)])
def test_half_time(constant: float, half: float) -> None:
    assert half_time_min(constant) == pytest.approx(half, abs=0.02)


# E8: volume the 2005 constants would mean, 35.9, 36.6, 36.0 L; volume over flow is some 37 % above them
@pytest.mark.parametrize(
    ("flow", "constant", "volume"), [(3.0, 11.97, 35.9), (6.0, 6.10, 36.6), (10.0, 3.60, 36.0)]
)
def test_constants_of_2005_are_shorter_than_mixing_allows(
    flow: float, constant: float, volume: float
) -> None:
    assert circle_time_constant_min(volume, flow) == pytest.approx(constant, rel=0.02)
    assert circle_time_constant_min(BAG_40_L, flow) / constant == pytest.approx(1.37, abs=0.03)


# --- wash-in --------------------------------------------------------------------------------------------


# G1 (derived): 40 L bag, 10 L/min, time constant 4.93 min, from 0.21
@pytest.mark.parametrize(("elapsed", "expected"), [(5.0, 0.713), (10.0, 0.896), (15.0, 0.962)])
def test_oxygen_in_an_empty_circle(elapsed: float, expected: float) -> None:
    assert wash_in_fraction(0.21, 1.0, elapsed, 4.93) == pytest.approx(expected, abs=5.1e-4)


# closed form: 63, 86, 95, 98 % after one to four time constants
@pytest.mark.parametrize(("constants", "percent"), [(1.0, 63.0), (2.0, 86.0), (3.0, 95.0), (4.0, 98.0)])
def test_share_reached(constants: float, percent: float) -> None:
    assert 100.0 * wash_in_fraction(0.0, 1.0, constants, 1.0) == pytest.approx(percent, abs=0.5)


# minutes from air to 0.90, mixing factor 1.10 (computed once apart from this code, printed rounded)
@pytest.mark.parametrize(
    ("volume_l", "flow", "expected"),
    [
        (33.0, 3.0, 25.0),
        (33.0, 5.0, 15.0),
        (33.0, 10.0, 7.5),
        (33.0, 15.0, 5.0),
        (49.0, 3.0, 37.0),
        (49.0, 5.0, 22.0),
        (49.0, 10.0, 11.0),
        (49.0, 15.0, 7.5),
    ],
)
def test_priming(volume_l: float, flow: float, expected: float) -> None:
    constant = circle_time_constant_min(effective_volume_l(volume_l, 1.10, 0.0), flow)
    assert wash_in_time_min(0.21, 1.0, 0.90, constant) == pytest.approx(expected, abs=0.51)


# minutes to nitrogen of 10 and of 5 %, lung of 15 L with 0.79 (air) or 0.75 nitrogen; whole fresh gas spills
@pytest.mark.parametrize(
    ("volume_l", "flow", "from_air", "from_oxygen"),
    [
        (33.0, 5.0, (21.0, 28.0), (8.0, 15.0)),
        (33.0, 10.0, (11.0, 14.0), (4.0, 8.0)),
        (49.0, 5.0, (29.0, 38.0), (7.0, 16.0)),
        (49.0, 10.0, (14.0, 19.0), (3.0, 8.0)),
        (49.0, 15.0, (9.5, 13.0), (2.0, 5.0)),
    ],
)
def test_denitrogenation(
    volume_l: float, flow: float, from_air: tuple[float, float], from_oxygen: tuple[float, float]
) -> None:
    whole_l = effective_volume_l(volume_l, 1.10, 15.0)
    primed = mixed_fraction(1.10 * volume_l, 0.0, 15.0, 0.75)
    for target, air_min, oxygen_min in zip((0.10, 0.05), from_air, from_oxygen, strict=True):
        assert denitrogenation_time_min(0.79, target, whole_l, flow, 0.0) == pytest.approx(air_min, abs=0.6)
        assert denitrogenation_time_min(primed, target, whole_l, flow, 0.0) == pytest.approx(
            oxygen_min, abs=0.6
        )


def test_nitrogen_leaves_with_what_spills() -> None:
    # V dF/dt = -(fresh - used) F, integrated by an independent solver
    solved = solve_ivp(lambda _, n: -(5.0 - 1.25) * n / 51.3, (0.0, 30.0), [0.5], rtol=1e-10, atol=1e-12)
    assert nitrogen_fraction(0.5, 30.0, 51.3, 5.0, 1.25) == pytest.approx(solved.y[0][-1], rel=1e-7)
    reached = denitrogenation_time_min(0.5, float(solved.y[0][-1]), 51.3, 5.0, 1.25)
    assert reached == pytest.approx(30.0, rel=1e-7)


# --- where it ends --------------------------------------------------------------------------------------


# mass balance, 500 kg using 1.25 L/min (computed once apart from this code): source, then 2, 3, 5, 10 L/min
@pytest.mark.parametrize(
    ("source", "expected"),
    [
        (0.90, (0.73, 0.83, 0.87, 0.89)),
        (0.93, (0.81, 0.88, 0.91, 0.92)),
        (0.96, (0.89, 0.93, 0.95, 0.95)),
        (1.00, (1.00, 1.00, 1.00, 1.00)),
    ],
)
def test_oxygen_from_a_concentrator(source: float, expected: tuple[float, ...]) -> None:
    for flow, fraction in zip((2.0, 3.0, 5.0, 10.0), expected, strict=True):
        assert steady_oxygen_fraction(flow, source, 1.25) == pytest.approx(fraction, abs=0.0051)


def test_least_flow_of_a_closed_circle() -> None:
    # arithmetic: 500 kg at 2.5 mL/kg/min, a mean leak of 69.4 mL/min (B8), 200 mL/min to the analyser
    assert closed_flow_l_min(0.0025 * 500.0, 0.0694, 0.2) == pytest.approx(1.5194, rel=1e-9)


def test_no_end_is_reached() -> None:
    assert wash_in_time_min(0.21, 0.93, 0.95, 5.0) == math.inf
    assert wash_in_time_min(0.21, 1.0, 1.0, 5.0) == math.inf
    assert wash_in_time_min(0.95, 1.0, 0.90, 5.0) == 0.0

"""Tracheal tubes against a table worked once apart from this code, and against the fit it names.

Oxygen of 1.28 kg/m³ and 2.03e-5 Pa·s, 1.5 dynamic heads. No tube of these sizes was found measured.
"""

import numpy as np
import pytest

from lungeline.physics.tube_terms import (
    FITTED_LAMINAR_NUMBER,
    FITTED_TURBULENT_NUMBER,
    tube_laminar_term_cmh2o_s_l,
    tube_turbulent_term_cmh2o_s2_l2,
    two_term_drop_cmh2o,
    two_term_flow_l_s,
)
from lungeline.physics.tubes import (
    dynamic_head_cmh2o,
    friction_blasius1913_cmh2o,
    friction_poiseuille1840_cmh2o,
    reynolds_number,
    tube_drop_cmh2o,
    tube_volume_ml,
)
from lungeline.reference import figure

DENSITY, VISCOSITY, HEADS = 1.28, 2.03e-5, 1.5

# internal diameter mm, length cm, volume mL, K1, K2, {flow: (friction, heads)}
TABLE = [
    (10.0, 40.0, 31.0, 0.926, 2.345, {1.0: (1.41, 1.59), 2.0: (4.76, 6.35)}),
    (12.0, 45.0, 51.0, 0.438, 1.124, {1.0: (0.67, 0.77), 2.0: (2.25, 3.06)}),
    (14.0, 50.0, 77.0, 0.234, 0.605, {1.0: (0.36, 0.41), 2.0: (1.20, 1.65), 4.0: (4.05, 6.61)}),
    (16.0, 55.0, 111.0, 0.137, 0.354, {1.0: (0.21, 0.24), 2.0: (0.70, 0.97), 4.0: (2.36, 3.87)}),
    (18.0, 60.0, 153.0, 0.085, 0.221, {2.0: (0.44, 0.60), 4.0: (1.47, 2.42), 6.0: (2.99, 5.44)}),
    (20.0, 70.0, 220.0, 0.060, 0.149, {2.0: (0.31, 0.40), 4.0: (1.04, 1.59), 6.0: (2.12, 3.57)}),
    (22.0, 80.0, 304.0, 0.044, 0.104, {2.0: (0.22, 0.27), 4.0: (0.76, 1.08), 6.0: (1.54, 2.44)}),
    (24.0, 90.0, 407.0, 0.033, 0.075, {2.0: (0.17, 0.19), 4.0: (0.56, 0.77), 6.0: (1.14, 1.72)}),
    (26.0, 100.0, 531.0, 0.025, 0.055, {2.0: (0.13, 0.14), 4.0: (0.43, 0.56), 6.0: (0.87, 1.25)}),
    (30.0, 100.0, 707.0, 0.012, 0.030, {2.0: (0.06, 0.08), 4.0: (0.22, 0.31), 6.0: (0.44, 0.71)}),
]
POINTS = [(d, length, flow, *parts) for d, length, _, _, _, row in TABLE for flow, parts in row.items()]
SIZES = [(d, length, volume, k1, k2) for d, length, volume, k1, k2, _ in TABLE]


@pytest.mark.parametrize(("diameter", "length", "flow", "friction", "heads"), POINTS)
def test_drop_of_the_table(
    diameter: float, length: float, flow: float, friction: float, heads: float
) -> None:
    wall = friction_blasius1913_cmh2o(flow, diameter, length, DENSITY, VISCOSITY)
    speed = HEADS * dynamic_head_cmh2o(flow, diameter, DENSITY)
    assert wall == pytest.approx(friction, abs=0.0051)
    assert speed == pytest.approx(heads, abs=0.0051)
    assert tube_drop_cmh2o(flow, diameter, length, DENSITY, VISCOSITY, HEADS) == pytest.approx(wall + speed)


@pytest.mark.parametrize(("diameter", "length", "volume", "k1", "k2"), SIZES)
def test_volume_and_terms_of_the_table(
    diameter: float, length: float, volume: float, k1: float, k2: float
) -> None:
    laminar = tube_laminar_term_cmh2o_s_l(diameter, length, DENSITY, VISCOSITY, 6.0)
    turbulent = tube_turbulent_term_cmh2o_s2_l2(diameter, length, DENSITY, VISCOSITY, HEADS, 6.0)
    assert tube_volume_ml(diameter, length) == pytest.approx(volume, abs=0.51)
    # within one unit of the last printed digit: density and viscosity are printed rounded
    assert laminar == pytest.approx(k1, abs=0.001)
    assert turbulent == pytest.approx(k2, abs=0.001)


@pytest.mark.parametrize(("diameter", "length", "volume", "k1", "k2"), SIZES)
def test_the_figures_kept_are_those_of_the_table(
    diameter: float, length: float, volume: float, k1: float, k2: float
) -> None:
    size = f"tubes.size.id_{diameter:.0f}mm"
    names = ("length_cm", "volume_ml", "k1_cmh2o_s_l", "k2_cmh2o_s2_l2")
    assert [figure(f"{size}.{name}").value for name in names] == [length, volume, k1, k2]


@pytest.mark.parametrize("highest_flow_l_s", [2.0, 6.0, 10.0])
def test_terms_are_the_least_squares_they_say(highest_flow_l_s: float) -> None:
    # 25 flows, evenly from 1/24 of the highest flow up to it; least squares by an independent library
    flows = np.linspace(highest_flow_l_s / 24.0, highest_flow_l_s, 25)
    drops = [tube_drop_cmh2o(flow, 22.0, 80.0, DENSITY, VISCOSITY, HEADS) for flow in flows]
    fitted = np.linalg.lstsq(np.column_stack([flows, flows**2]), np.array(drops), rcond=None)[0]
    laminar = tube_laminar_term_cmh2o_s_l(22.0, 80.0, DENSITY, VISCOSITY, highest_flow_l_s)
    turbulent = tube_turbulent_term_cmh2o_s2_l2(22.0, 80.0, DENSITY, VISCOSITY, HEADS, highest_flow_l_s)
    assert laminar == pytest.approx(fitted[0], rel=1e-5)
    assert turbulent == pytest.approx(fitted[1], rel=1e-5)


def test_fitted_constants() -> None:
    flows = np.linspace(1.0 / 24.0, 1.0, 25)
    fitted = np.linalg.lstsq(np.column_stack([flows, flows**2]), flows**1.75, rcond=None)[0]
    assert pytest.approx(fitted[0], rel=3e-6) == FITTED_LAMINAR_NUMBER
    assert pytest.approx(fitted[1], rel=3e-6) == FITTED_TURBULENT_NUMBER


@pytest.mark.parametrize("flow", [0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0])
def test_two_terms_stand_for_a_tube(flow: float) -> None:
    # at every flow within 1 % of the drop at the highest
    laminar = tube_laminar_term_cmh2o_s_l(26.0, 100.0, DENSITY, VISCOSITY, 6.0)
    turbulent = tube_turbulent_term_cmh2o_s2_l2(26.0, 100.0, DENSITY, VISCOSITY, HEADS, 6.0)
    whole, highest = (tube_drop_cmh2o(q, 26.0, 100.0, DENSITY, VISCOSITY, HEADS) for q in (flow, 6.0))
    drop = two_term_drop_cmh2o(flow, laminar, turbulent)
    assert drop == pytest.approx(whole, abs=0.01 * highest)
    assert two_term_flow_l_s(drop, laminar, turbulent) == pytest.approx(flow, rel=1e-12)


def test_terms_for_a_foal_fit_foal_flows() -> None:
    # a 10 mm tube at 1 L/s (table: 1.41 + 1.59): fitted to 2 L/s within 3 %, to 6 L/s only within 10 %
    small = [tube_laminar_term_cmh2o_s_l(10.0, 40.0, DENSITY, VISCOSITY, top) for top in (2.0, 6.0)]
    square = [
        tube_turbulent_term_cmh2o_s2_l2(10.0, 40.0, DENSITY, VISCOSITY, HEADS, top) for top in (2.0, 6.0)
    ]
    to_2, to_6 = (two_term_drop_cmh2o(1.0, k1, k2) for k1, k2 in zip(small, square, strict=True))
    assert to_2 == pytest.approx(3.00, rel=0.03)
    assert to_6 == pytest.approx(3.00, rel=0.10)
    assert to_6 > 1.05 * to_2


def test_constants_of_friction_are_the_figures() -> None:
    reynolds = reynolds_number(4.0, 26.0, DENSITY, VISCOSITY)
    factor = figure("tubes.method.blasius_coefficient_number").value * reynolds ** (
        figure("tubes.method.blasius_exponent_number").value
    )
    expected = factor * 1000.0 / 26.0 * dynamic_head_cmh2o(4.0, 26.0, DENSITY)
    assert friction_blasius1913_cmh2o(4.0, 26.0, 100.0, DENSITY, VISCOSITY) == pytest.approx(expected)


def test_laminar_and_turbulent_friction_meet_near_the_change() -> None:
    # 64/Re = 0.3164 Re^-0.25 at Re = (64 / 0.3164)^(4/3) = 1187 (closed form)
    flow = (64.0 / 0.3164) ** (4.0 / 3.0) / reynolds_number(1.0, 26.0, DENSITY, VISCOSITY)
    turbulent = friction_blasius1913_cmh2o(flow, 26.0, 100.0, DENSITY, VISCOSITY)
    assert friction_poiseuille1840_cmh2o(flow, 26.0, 100.0, VISCOSITY) == pytest.approx(turbulent, rel=1e-9)

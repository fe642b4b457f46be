"""The lung of one resistance and one compliance, against independent solutions of its equations."""

import math

import pytest
from scipy.integrate import solve_ivp

from lungeline.physics.rc_lung import (
    constant_flow_drop_cmh2o,
    constant_flow_pressure_cmh2o,
    held_pressure_cmh2o,
    passive_flow_l_s,
    passive_volume_l,
    pressure_step_volume_l,
    rc_share_left_fraction,
)

RESISTANCE, COMPLIANCE, CIRCUIT = 1.5, 0.32, 0.04


# C8 (algebra): VT 5 L, C 0.5, settled breaths trap 2.2611 L with R 6 and 3.5 s, 6.37 mL with R 1.5 and 5 s:
# a breath on top of that, breathed out passively, leaves just as much
@pytest.mark.parametrize(
    ("resistance", "expiration_s", "trapped_l"), [(6.0, 3.5, 2.2611), (1.5, 5.0, 0.00637)]
)
def test_settled_breaths_leave_what_they_found(
    resistance: float, expiration_s: float, trapped_l: float
) -> None:
    left = passive_volume_l(5.0 + trapped_l, expiration_s, resistance, 0.5)
    assert left == pytest.approx(trapped_l, rel=0.001)


def test_passive_expiration_solves_its_equation() -> None:
    solved = solve_ivp(
        lambda _, v: [-v[0] / (RESISTANCE * COMPLIANCE)], (0.0, 0.8), [6.5], rtol=1e-11, atol=1e-12
    )
    left = float(solved.y[0][-1])
    assert passive_volume_l(6.5, 0.8, RESISTANCE, COMPLIANCE) == pytest.approx(left, rel=1e-8)
    assert passive_flow_l_s(6.5, 0.8, RESISTANCE, COMPLIANCE) == pytest.approx(
        left / (RESISTANCE * COMPLIANCE), rel=1e-8
    )


def test_a_pressure_step_fills_by_63_per_cent_in_a_time_constant() -> None:
    # closed form: 1 - 1/e
    filled = pressure_step_volume_l(20.0, RESISTANCE * COMPLIANCE, RESISTANCE, COMPLIANCE)
    assert filled == pytest.approx(20.0 * COMPLIANCE * (1.0 - math.exp(-1.0)), rel=1e-12)


@pytest.mark.parametrize("elapsed_s", [0.05, 0.3, 1.0, 2.5])
def test_constant_flow_into_circuit_and_lung_solves_its_equations(elapsed_s: float) -> None:
    # Cc dP/dt = Q - (P - Palv)/R, C dPalv/dt = (P - Palv)/R
    def slope(_: float, p: list[float]) -> list[float]:
        flow = (p[0] - p[1]) / RESISTANCE
        return [(2.6 - flow) / CIRCUIT, flow / COMPLIANCE]

    solved = solve_ivp(slope, (0.0, elapsed_s), [5.0, 5.0], method="Radau", rtol=1e-10, atol=1e-10)
    port, alveoli = (float(p[-1]) for p in solved.y)
    pressure = constant_flow_pressure_cmh2o(2.6, elapsed_s, RESISTANCE, COMPLIANCE, CIRCUIT, 5.0)
    drop = constant_flow_drop_cmh2o(2.6, elapsed_s, RESISTANCE, COMPLIANCE, CIRCUIT)
    assert pressure == pytest.approx(port, rel=1e-6)
    assert drop == pytest.approx(port - alveoli, rel=1e-6)


def test_a_stiff_circuit_gives_the_ramp_of_the_textbook() -> None:
    # closed form: PEEP + R q + q t / C = 5 + 1.5 × 2.6 + 2.6 × 2.5 / 0.32
    pressure = constant_flow_pressure_cmh2o(2.6, 2.5, RESISTANCE, COMPLIANCE, 0.0, 5.0)
    assert pressure == pytest.approx(5.0 + 3.9 + 20.3125, rel=1e-12)


def test_the_plateau_holds_what_flowed() -> None:
    # closed form: 6.5 L in 0.32 + 0.04 L/cmH2O
    plateau = held_pressure_cmh2o(6.5, COMPLIANCE, CIRCUIT, 5.0)
    assert plateau == pytest.approx(5.0 + 6.5 / 0.36, rel=1e-12)
    at_end = constant_flow_pressure_cmh2o(2.6, 2.5, RESISTANCE, COMPLIANCE, CIRCUIT, 5.0)
    drop = constant_flow_drop_cmh2o(2.6, 2.5, RESISTANCE, COMPLIANCE, CIRCUIT)
    # what the drop holds back goes over from circuit to lung during the pause
    assert at_end - drop * COMPLIANCE / (COMPLIANCE + CIRCUIT) == pytest.approx(plateau, rel=1e-12)


def test_limits() -> None:
    assert rc_share_left_fraction(0.0, 0.0, 0.5) == 1.0
    assert rc_share_left_fraction(0.1, 0.0, 0.5) == 0.0
    assert math.isnan(passive_flow_l_s(1.0, 1.0, 0.0, 0.5))
    assert math.isnan(constant_flow_drop_cmh2o(1.0, 1.0, 1.0, 0.0, 0.1))
    assert math.isnan(constant_flow_pressure_cmh2o(1.0, 1.0, 1.0, 0.0, 0.1, 0.0))
    assert math.isnan(held_pressure_cmh2o(1.0, 0.0, 0.0, 0.0))

"""Times, flows and volumes of a breath against worked examples."""

import math

import pytest

from lungeline.physics.ventilation_timing import (
    breath_cycle_s,
    delivered_volume_l,
    expiratory_time_s,
    inspiratory_expiratory_ratio,
    inspiratory_time_for_flow_s,
    mean_inspiratory_flow_l_s,
    minute_volume_l_min,
    square_mean_pressure_cmh2o,
)


# C1: 12/min, 1.0 s -> cycle 5.0, expiration 4.0 s, 1:4 (worked example on a public page). C5: horse, 6/min,
# 2.5 s -> 7.5 s, 1:3 (arithmetic)
@pytest.mark.parametrize(
    ("rate", "inspiration", "cycle", "expiration", "one_to"),
    [(12.0, 1.0, 5.0, 4.0, 4.0), (6.0, 2.5, 10.0, 7.5, 3.0)],
)
def test_times_of_a_breath(
    rate: float, inspiration: float, cycle: float, expiration: float, one_to: float
) -> None:
    assert breath_cycle_s(rate) == cycle
    assert expiratory_time_s(rate, inspiration, 0.0) == expiration
    assert 1.0 / inspiratory_expiratory_ratio(inspiration, expiration) == pytest.approx(one_to, rel=1e-12)


def test_volume_flow_and_time() -> None:
    # C3: 2 s at 0.5 L/s -> 1.0 L; 1.0 L at 2 L/s -> 0.5 s (respiratory text, full text)
    assert delivered_volume_l(0.5, 2.0) == 1.0
    assert inspiratory_time_for_flow_s(1.0, 2.0) == 0.5
    assert mean_inspiratory_flow_l_s(1.0, 2.0) == 0.5


def test_ratio() -> None:
    # C4: 2 s and 4 s are 0.5, written 1:2 (worked example on a public page)
    assert inspiratory_expiratory_ratio(2.0, 4.0) == 0.5


def test_a_pause_is_taken_from_expiration() -> None:
    # arithmetic: of 10 s, 2.5 s flow in and 0.5 s are held
    assert expiratory_time_s(6.0, 2.5, 0.5) == 7.0


def test_minute_volume() -> None:
    # arithmetic: 6.5 litres six times a minute
    assert minute_volume_l_min(6.5, 6.0) == 39.0


def test_mean_pressure_of_square_breaths() -> None:
    # B8: 25 over 0, a third of the time: 8.333; B10: 25 over 5: 11.667 (integrals)
    assert square_mean_pressure_cmh2o(0.0, 25.0, 2.5, 7.5) == pytest.approx(25.0 / 3.0, rel=1e-12)
    assert square_mean_pressure_cmh2o(5.0, 25.0, 2.5, 7.5) == pytest.approx(35.0 / 3.0, rel=1e-12)


def test_no_breath_and_no_time_for_one() -> None:
    assert breath_cycle_s(0.0) == math.inf
    assert expiratory_time_s(30.0, 2.5, 0.5) == 0.0
    assert inspiratory_expiratory_ratio(2.5, 0.0) == math.inf
    assert inspiratory_time_for_flow_s(1.0, 0.0) == math.inf
    assert math.isnan(mean_inspiratory_flow_l_s(1.0, 0.0))
    assert math.isnan(square_mean_pressure_cmh2o(0.0, 25.0, 2.5, 0.0))

"""Curves beside a leak test: they meet the readings they were made of, and the laws of a leak."""

import math

import pytest

from lungeline.check import (
    Circuit,
    DecayLook,
    HeldFlow,
    LeakLimits,
    RiseAndFall,
    compensating_flow,
    leak_curve,
    pressure_decay,
    rise_and_fall,
    standard_checklist,
    trend,
)
from lungeline.errors import MissingError


def test_the_fall_meets_both_readings() -> None:
    look = DecayLook(circuit=Circuit(volume_l=50), start_cmh2o=30, end_cmh2o=27, seconds_s=60)
    course = leak_curve.fall(pressure_decay(look), 30.0, 60.0)
    # no warmth is taken off where no wait was told: the leak was found by this very fall (closed form)
    assert course.pressure_cmh2o[0] == pytest.approx(30.0)
    assert course.pressure_cmh2o[-1] == pytest.approx(27.0, abs=0.05)
    assert course.low_cmh2o[-1] < course.pressure_cmh2o[-1] < course.high_cmh2o[-1]
    assert course.at_s[-1] == 60.0


def test_the_rise_and_the_fall_meet_their_readings() -> None:
    read = RiseAndFall(
        flow_l_min=2.0, rise_from_cmh2o=25, rise_to_cmh2o=35, rise_s=30, fall_from_cmh2o=31, fall_to_cmh2o=29,
        fall_s=60, leak_exponent_number=0.5,
    )  # fmt: skip
    test = rise_and_fall(read)
    up, down = leak_curve.rise(test, 2.0, 25.0, 30.0), leak_curve.fall(test, 31.0, 60.0)
    # leak and compliance were found by these four readings; warmth of the rise takes a part (0.4 cmH2O here)
    assert up.pressure_cmh2o[-1] == pytest.approx(35.0, abs=0.5)
    assert down.pressure_cmh2o[-1] == pytest.approx(29.0, abs=0.5)


def test_a_rise_without_a_leak_is_a_straight_line() -> None:
    flow = HeldFlow(pressure_cmh2o=30, flow_l_min=0, circuit=Circuit(compliance_ml_cmh2o=50.0))
    up = leak_curve.rise(compensating_flow(flow), 1.0, 10.0, 30.0)
    # 1 L/min for half a minute is 500 mL; 500 mL / 50 mL/cmH2O = 10 cmH2O (arithmetic)
    assert up.pressure_cmh2o[-1] == pytest.approx(20.0)


def test_a_leak_grows_by_its_law_between_two_bounds() -> None:
    test = compensating_flow(HeldFlow(pressure_cmh2o=20, flow_l_min=0.3, leak_exponent_number=0.5))
    grown = leak_curve.growth(test, LeakLimits(pass_ml_min=300.0, fail_ml_min=1000.0))
    assert (grown.at_cmh2o[0], grown.leak_ml_min[0]) == (0.0, 0.0)
    assert grown.at_cmh2o[-1] == 35.0
    # 300 mL/min at 20 cmH2O; the law is not measured, so its middle of 0.75: 300 (35/20)^0.75 (closed form)
    assert grown.leak_ml_min[-1] == pytest.approx(300.0 * (35.0 / 20.0) ** 0.75)
    for low, value, high in zip(grown.low_ml_min, grown.leak_ml_min, grown.high_ml_min, strict=True):
        assert low <= value <= high
    assert grown.pass_ml_min[-1] == pytest.approx(300.0 * (35.0 / 30.0) ** 0.75)
    assert grown.fail_ml_min[-1] == pytest.approx(1000.0 * (35.0 / 30.0) ** 0.75)


def test_nothing_known_of_the_store_draws_no_course() -> None:
    test = compensating_flow(HeldFlow(pressure_cmh2o=30, flow_l_min=0.3))
    with pytest.raises(MissingError, match="compliance"):
        leak_curve.fall(test, 30.0, 60.0)


def test_the_line_of_a_trend_is_that_of_its_points() -> None:
    days, values = [0.0, 10.0, 20.0, 30.0, 40.0], [100.0, 120.0, 140.0, 160.0, 900.0]
    line = leak_curve.trend_line(trend(days, values), days, values)
    # one wild value moves neither the middle slope (2 a day) nor the middle height (arithmetic)
    assert line[:4] == pytest.approx([100.0, 120.0, 140.0, 160.0])
    assert leak_curve.trend_line(trend([], []), [], []) == ()
    assert not math.isnan(line[-1])


def test_the_german_list_is_the_same_list() -> None:
    english, german = standard_checklist(), standard_checklist("de")
    same = ("key", "kind", "fails", "forms", "numbers", "least", "most", "species")
    for first, second in zip(english.steps, german.steps, strict=True):
        assert [getattr(first, name) for name in same] == [getattr(second, name) for name in same]
        assert first.title != second.title
        assert [each.key for each in first.outcomes] == [each.key for each in second.outcomes]
    assert [(it.key, it.normal_from, it.normal_until) for it in english.notices] == [
        (it.key, it.normal_from, it.normal_until) for it in german.notices
    ]
    assert english.stamp != german.stamp
    assert standard_checklist("xx") == english

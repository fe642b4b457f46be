"""Leak tests on a plugged circle, against closed forms."""

import math

import pytest

from lungeline.case import Animal, Case, Equipment
from lungeline.errors import OutOfRangeError
from lungeline.simulate.plugged import HOSE_COMPLIANCE_L_CMH2O, Fill, simulate_plugged

AMBIENT_CMH2O = 760 * 1.35951


def circle(**equipment: float | str | bool) -> Case:
    known = {"circle_volume_l": 50.0, "patient_port": "plugged", **equipment}
    return Case(animal=Animal(species="horse", weight_kg=500), equipment=Equipment(**known))  # type: ignore[arg-type]  # checked


def test_a_tight_circle_holds_its_pressure() -> None:
    run = simulate_plugged(circle(), [Fill(flow_l_min=6, seconds_s=15)], 5, cooling=False)
    # closed form: 1.5 L into 50 L of gas and its walls, isothermal
    compliance = 50 / AMBIENT_CMH2O + HOSE_COMPLIANCE_L_CMH2O
    assert run.pressure_cmh2o[-1] == pytest.approx(1.5 / compliance, rel=0.02)
    assert run.pressure_cmh2o[-1] == pytest.approx(run.pressure_cmh2o[302], abs=1e-9)
    assert run.leaked_l == 0.0


def test_a_laminar_leak_falls_exponentially() -> None:
    case = circle(leak_at_30_cmh2o_ml_min=600.0, leak_exponent_number=1.0)
    run = simulate_plugged(case, [Fill(flow_l_min=30, seconds_s=3)], 4, cooling=False)
    start, end = run.pressure_cmh2o[100], run.pressure_cmh2o[100 + 20 * 120]
    # closed form: P = P0 exp(-g t / C), g = 0.6 L/min at 30 cmH2O
    expected = start * math.exp(-(0.6 / 30 / 60) * 120 / run.compliance_l_cmh2o)
    assert end == pytest.approx(expected, rel=0.02)


def test_a_fast_fill_sags_as_it_cools() -> None:
    run = simulate_plugged(circle(), [Fill(flow_l_min=100, seconds_s=0.65)], 3)
    peak = max(run.pressure_cmh2o)
    # closed form, gamma 1.4: compliance of gas that keeps its heat over that of gas that has lost it, with
    # the walls in both; a rigid circle filled to 30 cmH2O so sags to 21.34. The fill is short.
    kept = 50 / 1.4 / AMBIENT_CMH2O + HOSE_COMPLIANCE_L_CMH2O
    lost = 50 / AMBIENT_CMH2O + HOSE_COMPLIANCE_L_CMH2O
    assert run.pressure_cmh2o[-1] / peak == pytest.approx(kept / lost, abs=0.02)
    assert run.temperature_k[-1] == pytest.approx(293.15, abs=0.01)


def test_an_attached_bag_hides_a_leak() -> None:
    fill = [Fill(flow_l_min=60, seconds_s=10)]
    leak = {"leak_at_30_cmh2o_ml_min": 300.0}
    bare = simulate_plugged(circle(**leak), [Fill(flow_l_min=60, seconds_s=1.6)], 1)
    bag = simulate_plugged(circle(bag_attached=True, **leak), fill, 1)

    def fall(pressure: list[float], at: int) -> float:
        return pressure[at] - pressure[at + 200]

    assert fall(bag.pressure_cmh2o, 900) < 0.4 * fall(bare.pressure_cmh2o, 900)


def test_a_test_of_no_length_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="above 0 to 60"):
        simulate_plugged(circle(), [], 0)


def test_the_compliance_told_is_that_of_its_own_gas() -> None:
    """A little more gas, of which the circle itself tells the pressure it makes, gives the same number."""
    case = Case(animal=Animal(species="horse", weight_kg=500.0))
    run, more = (
        simulate_plugged(case, [Fill(flow_l_min=6.0, seconds_s=seconds_s)], 1.0, cooling=False)
        for seconds_s in (12.0, 12.5)
    )
    rise = more.pressure_cmh2o[-1] - run.pressure_cmh2o[-1]
    between = (run.compliance_l_cmh2o + more.compliance_l_cmh2o) / 2.0
    assert 0.05 / rise == pytest.approx(between, rel=1e-4)

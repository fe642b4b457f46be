"""Leak tests on a plugged circle, against closed forms."""

import math

import pytest

from lungeline.case import Animal, Case, Equipment
from lungeline.check import Circuit, DecayLook, Filling, pressure_decay
from lungeline.errors import OutOfRangeError
from lungeline.simulate.plugged import Fill, Walls, simulate_plugged

AMBIENT_CMH2O = 760 * 1.35951
HOSES_L_CMH2O = Walls().hose_compliance_l_cmh2o


def circle(**equipment: float | str | bool) -> Case:
    known = {"circle_volume_l": 50.0, "patient_port": "plugged", **equipment}
    return Case(animal=Animal(species="horse", weight_kg=500), equipment=Equipment(**known))  # type: ignore[arg-type]  # checked


def test_a_tight_circle_holds_its_pressure() -> None:
    run = simulate_plugged(circle(), [Fill(flow_l_min=6, seconds_s=15)], 5, cooling=False)
    # closed form: 1.5 L into 50 L of gas and its walls, isothermal
    compliance = 50 / AMBIENT_CMH2O + HOSES_L_CMH2O
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
    kept = 50 / 1.4 / AMBIENT_CMH2O + HOSES_L_CMH2O
    lost = 50 / AMBIENT_CMH2O + HOSES_L_CMH2O
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


def test_a_compliance_that_is_known_is_the_circles_own() -> None:
    known = circle(circuit_compliance_l_cmh2o=0.06)
    run = simulate_plugged(known, [Fill(flow_l_min=6, seconds_s=3)], 1, cooling=False)
    # closed form: 0.3 L raise the pressure by about 0.3 / 0.06; walls take a little more once stretched
    hoses = 0.06 - 50 / AMBIENT_CMH2O
    pressure = run.pressure_cmh2o[-1]
    gas = (50 + hoses * pressure) * (AMBIENT_CMH2O + pressure) / AMBIENT_CMH2O
    assert gas - 50 == pytest.approx(0.3, rel=1e-6)
    assert pressure == pytest.approx(5.0, rel=0.02)


def test_a_compliance_below_that_of_the_gas_is_refused() -> None:
    with pytest.raises(OutOfRangeError, match="50 L of gas alone"):
        simulate_plugged(circle(circuit_compliance_l_cmh2o=0.04), [], 1)


def test_a_monitor_that_draws_gas_empties_a_tight_circle_below_ambient() -> None:
    case = circle(sample_flow_l_min=0.2)
    plugged = simulate_plugged(case, [Fill(flow_l_min=6, seconds_s=15)], 10, cooling=False)
    drawn = simulate_plugged(case, [Fill(flow_l_min=6, seconds_s=15)], 10, sampling=True, cooling=False)
    # arithmetic: 1.5 L let in, 0.2 L/min drawn for 10 min
    pressure = drawn.pressure_cmh2o[-1]
    gas = (50 + HOSES_L_CMH2O * pressure) * (AMBIENT_CMH2O + pressure) / AMBIENT_CMH2O
    assert gas == pytest.approx(50 + 1.5 - 2.0, rel=1e-9)
    assert pressure < 0 < plugged.pressure_cmh2o[-1]
    assert drawn.leaked_l == 0.0


def test_a_leak_draws_in_air_where_a_monitor_sucks_the_circle_below_ambient() -> None:
    case = circle(sample_flow_l_min=0.2, leak_at_30_cmh2o_ml_min=6000.0, leak_exponent_number=1.0)
    run = simulate_plugged(case, [], 20, sampling=True, cooling=False)
    # closed form: it stands where as much leaks in as is drawn off, 0.2 L/min at 6 L/min for 30 cmH2O
    assert run.pressure_cmh2o[-1] == pytest.approx(-1.0, rel=1e-3)


def test_a_leak_is_found_beside_the_sample_flow() -> None:
    case = circle(sample_flow_l_min=0.2, leak_at_30_cmh2o_ml_min=800.0)
    run = simulate_plugged(case, [Fill(flow_l_min=60, seconds_s=1.8)], 4, sampling=True)
    start, end = (run.pressure_cmh2o[round(at_s * 20)] for at_s in (91.8, 151.8))
    circuit = Circuit(volume_l=50, sample_flow_l_min=0.2)
    filling = Filling(fill_s=1.8, waited_s=90)
    told, untold = (
        pressure_decay(
            DecayLook(
                circuit=each, start_cmh2o=start, end_cmh2o=end, seconds_s=60, at_pressure_cmh2o=30,
                filling=filling,
            )
        )
        for each in (circuit, Circuit(volume_l=50))
    )  # fmt: skip
    assert told.spread.low <= 800 <= told.spread.high
    assert untold.spread.value - told.spread.value > 150  # not told of, it counts as leak

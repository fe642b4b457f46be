"""No gas appears or disappears, whatever is set, done or broken.

The law is conservation of mass; the tolerance of 1e-6 L is a thousandth of a millilitre against the
hundreds of litres that pass in a case.
"""

from dataclasses import replace

import numpy as np
import pytest

from lungeline.case import (
    Animal,
    Case,
    DeepBreath,
    DemandValve,
    Disconnect,
    Equipment,
    ExpiratoryHold,
    Flush,
    HandVentilation,
    InspiratoryHold,
    Manoeuvre,
    Recruitment,
    Settings,
)
from lungeline.simulate.faults import FAULTS
from lungeline.simulate.kernel import state as s
from lungeline.simulate.live import LiveCase

LARGEST_RESIDUAL_L = 1e-6
HORSE = Animal(species="horse", weight_kg=500)
WAYS: dict[str, Settings] = {
    "volume": Settings(),
    "pressure": Settings(mode="pressure"),
    "assisted": Settings(mode="assisted"),
    "spontaneous": Settings(mode="spontaneous"),
    "switched off": Settings(ventilator_on=False),
    "slowed": Settings(slowed_expiration=True),
}
MANOEUVRES: tuple[Manoeuvre, ...] = (
    DeepBreath(volume_l=12),
    Recruitment(pressures_cmh2o=(60, 80, 60)),
    InspiratoryHold(hold_s=3),
    InspiratoryHold(hold_s=20),
    ExpiratoryHold(hold_s=5),
    ExpiratoryHold(hold_s=60),
    HandVentilation(minutes=2, volume_l=5, rate_per_min=6),
    DemandValve(minutes=2),
    Disconnect(minutes=2),
    Flush(seconds_s=10),
)


def residual_l(live: LiveCase) -> float:
    return max(abs(value) for value in live.balance().values())


def check_state(live: LiveCase) -> None:
    """Nothing is missing, and every gas fraction is one."""
    assert residual_l(live) < LARGEST_RESIDUAL_L
    cells = live._y[s.GAS :].reshape(s.CELLS, s.SPECIES)  # noqa: SLF001 - the books are inside
    assert cells.min() >= -1e-9
    np.testing.assert_allclose(cells.sum(axis=1), 1.0, atol=1e-6)


def begun_and_cleared(way: str, code: str, severity_fraction: float, spans_s: tuple[float, ...]) -> None:
    """Run, break, run on, mend, run on; the books close before and after each."""
    live = LiveCase(Case(animal=HORSE, settings=WAYS[way]))
    before_s, broken_s, after_s = spans_s
    live.advance(before_s)
    live.fault(code, severity_fraction)
    live.advance(broken_s)
    check_state(live)
    live.fault(code, 0.0)
    live.advance(after_s)
    check_state(live)


@pytest.mark.parametrize("severity_fraction", [0.3, 1.0])
@pytest.mark.parametrize("code", FAULTS)
def test_balance_through_a_fault(code: str, severity_fraction: float) -> None:
    begun_and_cleared("volume", code, severity_fraction, (60.0, 300.0, 240.0))


@pytest.mark.parametrize("way", [way for way in WAYS if way != "volume"])
@pytest.mark.parametrize("code", FAULTS)
def test_balance_through_a_fault_in_every_mode(way: str, code: str) -> None:
    begun_and_cleared(way, code, 1.0, (30.0, 150.0, 60.0))


@pytest.mark.slow
@pytest.mark.parametrize("severity_fraction", [0.3, 1.0])
def test_balance_over_two_hours_with_each_fault(severity_fraction: float) -> None:
    for code in FAULTS:
        live = LiveCase(Case(animal=HORSE))
        live.advance(1200.0)
        live.fault(code, severity_fraction)
        live.advance(1200.0)
        live.set(tidal_volume_l=6.5, peep_cmh2o=10.0, fresh_gas_flow_l_min=3.0)
        live.advance(1200.0)
        live.fault(code, 0.0)
        live.set(mode="spontaneous")
        live.advance(1200.0)
        live.set(mode="pressure", vaporiser_percent=0.0, fresh_gas_oxygen_fraction=0.5)
        live.advance(2400.0)
        check_state(live)


def test_balance_with_all_faults_one_after_another() -> None:
    live = LiveCase(Case(animal=HORSE))
    for number, code in enumerate(FAULTS):
        live.fault(code, 1.0 if number % 2 else 0.3)
        live.advance(60.0)
        if number >= 3:  # at most three at a time
            live.fault(list(FAULTS)[number - 3], 0.0)
    check_state(live)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("done", MANOEUVRES, ids=lambda done: f"{done.kind}")
def test_balance_through_a_manoeuvre(way: str, done: Manoeuvre) -> None:
    live = LiveCase(Case(animal=HORSE, settings=WAYS[way]))
    live.advance(61.3)
    live.manoeuvre(done)
    check_state(live)
    live.advance(120.0)
    check_state(live)


@pytest.mark.parametrize(
    "equipment",
    [
        Equipment(leak_at_30_cmh2o_ml_min=9000),
        Equipment(leak_at_30_cmh2o_ml_min=9000, leak_place="cuff"),
        Equipment(makeup_flow_l_min=20, makeup_through_vaporiser=True),
        Equipment(fresh_gas_coupled=True, holds_baseline=True),
        Equipment(agent_absorbing_material="rubber"),
        Equipment(patient_port="test lung"),
        Equipment(patient_port="plugged"),
        Equipment(patient_port="open"),
        Equipment(reservoir_capacity_l=6, circle_volume_l=8, hose_volume_l=1),
    ],
    ids=["leak", "cuff", "make-up", "coupled", "rubber", "test lung", "plugged", "open", "small"],
)
def test_balance_on_every_equipment(equipment: Equipment) -> None:
    live = LiveCase(Case(animal=HORSE, equipment=equipment, settings=Settings(fresh_gas_flow_l_min=1.0)))
    live.advance(900.0)
    check_state(live)


def test_the_books_notice_a_missing_millilitre() -> None:
    live = LiveCase(Case(animal=HORSE))
    live.advance(60.0)
    circle_l = live._y[s.CIRCLE_VOLUME]  # noqa: SLF001 - a thief needs a way in
    live._y[s.GAS + s.CIRCLE * s.SPECIES + s.O2] -= 1e-3 / circle_l  # noqa: SLF001 - the state is inside
    assert live.balance()["oxygen"] == pytest.approx(-1e-3, abs=1e-6)
    assert live.balance()["nitrogen"] == pytest.approx(0.0, abs=1e-6)


def test_two_steps_of_different_length_use_the_same_gas() -> None:
    case = Case(animal=HORSE, settings=replace(Settings(), fresh_gas_flow_l_min=5.0))
    used = []
    for dt_s in (0.01, 0.02):
        live = LiveCase(case, dt_s=dt_s)
        live.advance(600.0)
        used.append(live.breaths[-1].oxygen_used_l)
    # flow times time, whatever the step (arithmetic)
    assert used[0] == pytest.approx(used[1], rel=1e-9)

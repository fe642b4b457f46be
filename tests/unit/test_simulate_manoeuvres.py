"""What is done once by hand or button: it happens, it ends, and the former settings are back."""

import pytest

from lungeline.case import (
    Animal,
    Breath,
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
from lungeline.simulate.live import LiveCase

HORSE = Animal(species="horse", weight_kg=500)
DONE: tuple[Manoeuvre, ...] = (
    DeepBreath(volume_l=9.0),
    Recruitment(pressures_cmh2o=(40, 50), hold_s=10),
    InspiratoryHold(hold_s=5),
    ExpiratoryHold(hold_s=5),
    HandVentilation(minutes=1, volume_l=6.0, rate_per_min=6),
    DemandValve(minutes=1),
    Disconnect(minutes=1),
    Flush(seconds_s=10),
)


def settled(minutes: float = 20.0, **settings: object) -> LiveCase:
    case = Case(animal=HORSE, settings=Settings(**settings))  # type: ignore[arg-type]  # the record checks it
    live = LiveCase(case, multipliers={"breathes": 0.0})
    live.advance(60.0 * minutes)
    return live


def after(live: LiveCase, done: Manoeuvre, minutes: float = 1.0) -> list[Breath]:
    """Do it, run on, and return the breaths that began since."""
    begun_s = live.time_s
    live.manoeuvre(done)
    live.advance(60.0 * minutes)
    return [breath for breath in live.breaths if breath.time_s >= begun_s - 1e-6]


def known(value: float | None) -> float:
    assert value is not None
    return value


@pytest.mark.parametrize("done", DONE, ids=lambda done: f"{done.kind}")
def test_the_former_settings_are_back(done: Manoeuvre) -> None:
    live = settled(5.0)
    settings = live.settings
    later = after(live, done, minutes=6.0)
    assert live.settings == settings
    for breath in later[-3:]:
        assert breath.set_tidal_volume_l == 5.0
        assert breath.respiratory_rate_per_min == pytest.approx(8.0, rel=1e-9)
        assert breath.tidal_volume_inspired_l == pytest.approx(5.0, rel=0.01)
        assert breath.end_expiratory_pressure_cmh2o == pytest.approx(5.0, abs=0.2)


@pytest.mark.parametrize("mode", ["volume", "pressure", "spontaneous"])
def test_a_deep_breath_is_one_deep_breath_in_any_mode(mode: str) -> None:
    # pressure control gives 12 cmH2O here, so that no other breath is as deep
    live = settled(5.0, mode=mode, inspiratory_pressure_cmh2o=12.0)
    later = after(live, DeepBreath(volume_l=9.0))
    deep = [breath for breath in later if known(breath.tidal_volume_inspired_l) > 7.0]
    assert len(deep) == 1
    assert 7.0 < known(deep[0].tidal_volume_inspired_l) < 9.1


def test_a_deep_breath_is_let_out_before_the_next() -> None:
    later = after(
        settled(), DeepBreath(volume_l=9.0, inspiratory_time_s=10.0)
    )  # longer than a cycle of 7.5 s
    deep = next(breath for breath in later if breath.set_tidal_volume_l == 9.0)
    assert deep.tidal_volume_expired_l == pytest.approx(9.0, rel=0.02)
    assert deep.end_expiratory_pressure_cmh2o == pytest.approx(5.0, abs=0.3)
    assert max(known(breath.peak_pressure_cmh2o) for breath in later[later.index(deep) + 1 :]) < 21.0


def test_a_held_breath_shows_its_plateau_and_is_let_out() -> None:
    live = settled()
    usual = live.breaths[-1]
    later = after(live, InspiratoryHold(hold_s=20.0))
    held = min(later, key=lambda breath: known(breath.respiratory_rate_per_min))
    # a breath of about 2 s in, 20 s held and as long a way out as ever (arithmetic)
    assert held.respiratory_rate_per_min == pytest.approx(60.0 / 27.5, rel=0.05)
    # the plateau without flow is a little below the end of inspiration: closed lung opens meanwhile
    assert known(usual.plateau_pressure_cmh2o) - 2.5 < known(held.plateau_pressure_cmh2o)
    assert known(held.plateau_pressure_cmh2o) < known(usual.plateau_pressure_cmh2o)
    assert held.end_expiratory_pressure_cmh2o == pytest.approx(5.0, abs=0.3)
    assert max(known(breath.peak_pressure_cmh2o) for breath in later) < 20.5


def test_a_held_expiration_shows_trapped_gas() -> None:
    live = settled(10.0, respiratory_rate_per_min=20.0, tidal_volume_l=6.0, pressure_limit_cmh2o=60.0)
    live.fault("expiratory_obstruction", 0.5)
    live.advance(120.0)
    trapped = known(live.breaths[-1].trapped_volume_l)
    measured = known(live.breaths[-1].end_expiratory_pressure_cmh2o)
    assert trapped > 0.2
    begun_s = live.time_s
    live.manoeuvre(ExpiratoryHold(hold_s=4.0))
    live.advance(6.0)
    held = max(live.breaths[-4:], key=lambda b: 60.0 / known(b.respiratory_rate_per_min))
    assert held.time_s <= begun_s + 3.0
    # with no flow the port shows the pressure of the lung itself
    assert known(held.end_expiratory_pressure_cmh2o) > measured + 0.2


def test_recruitment_opens_lung_and_each_hold_is_a_row() -> None:
    live = settled(30.0)
    before = live.breaths[-1]
    later = after(live, Recruitment(pressures_cmh2o=(50, 60, 50), hold_s=12), minutes=3.0)
    held = [breath for breath in later if known(breath.peak_pressure_cmh2o) > 45.0]
    assert [round(known(breath.peak_pressure_cmh2o)) for breath in held] == [50, 60, 50]
    assert all(known(breath.end_expiratory_pressure_cmh2o) < 8.0 for breath in held)  # let out between
    assert known(later[-1].shunt_fraction) < known(before.shunt_fraction)
    assert known(later[-1].peak_pressure_cmh2o) < known(before.peak_pressure_cmh2o)


def test_hand_ventilation_gives_what_the_hand_gives() -> None:
    later = after(settled(), HandVentilation(minutes=2, volume_l=6.0, rate_per_min=5))
    by_hand = [breath for breath in later if breath.set_tidal_volume_l == 6.0]
    assert len(by_hand) in {9, 10}
    for breath in by_hand[1:-1]:
        assert breath.respiratory_rate_per_min == pytest.approx(5.0, rel=1e-6)
        # the hand does not make up for what the circuit takes
        assert 5.0 < known(breath.tidal_volume_inspired_l) < 5.9


def test_demand_valve_gives_pure_oxygen_and_no_agent() -> None:
    live = settled()
    live.manoeuvre(DemandValve(minutes=3.0, rate_per_min=6))
    breath = live.breaths[-1]
    assert breath.fio2_fraction == pytest.approx(1.0, abs=1e-6)
    assert breath.inspired_agent_fraction == pytest.approx(0.0, abs=1e-9)
    assert breath.respiratory_rate_per_min == pytest.approx(6.0, rel=1e-6)
    assert known(breath.tidal_volume_inspired_l) > 4.0
    assert known(breath.end_tidal_agent_fraction) < 0.008


def test_disconnected_the_animal_breathes_air_and_loses_oxygen() -> None:
    live = LiveCase(Case(animal=HORSE))
    live.advance(1200.0)
    before = live.breaths[-1]
    live.manoeuvre(Disconnect(minutes=5.0))
    off = live.breaths[-1]
    assert off.fio2_fraction == pytest.approx(0.2093, abs=1e-6)
    assert known(off.pao2_mmhg) < 0.4 * known(before.pao2_mmhg)
    assert known(off.peak_pressure_cmh2o) < 1.0
    assert known(off.own_breaths_per_min) > 0.0
    live.advance(600.0)
    assert known(live.breaths[-1].pao2_mmhg) > 3.0 * known(off.pao2_mmhg)


def test_flush_fills_the_reservoir_with_oxygen_and_thins_the_agent() -> None:
    live = settled(20.0, spare_volume_l=10.0, fresh_gas_flow_l_min=3.0)
    live.fault("fresh_gas_lost")
    live.advance(240.0)
    live.fault("fresh_gas_lost", 0.0)
    live.advance(10.0)
    low = live.breaths[-1]
    live.manoeuvre(Flush(seconds_s=5.0))
    live.advance(15.0)
    full = live.breaths[-1]
    # 60 L/min for 5 s (arithmetic)
    assert known(full.spare_volume_l) - known(low.spare_volume_l) == pytest.approx(5.0, abs=1.2)
    assert known(full.inspired_agent_fraction) < 0.95 * known(low.inspired_agent_fraction)
    assert known(full.fio2_fraction) > known(low.fio2_fraction)


def test_a_hold_waits_for_no_machine_that_is_off() -> None:
    live = settled(5.0, mode="spontaneous")
    live.manoeuvre(InspiratoryHold(hold_s=5.0))
    live.advance(60.0)
    held = max(live.breaths, key=lambda breath: known(breath.peak_pressure_cmh2o))
    assert known(held.peak_pressure_cmh2o) > 12.0
    live.set(mode="volume")
    live.advance(60.0)
    rates = [breath.respiratory_rate_per_min for breath in live.breaths[-5:]]
    assert rates == pytest.approx([8.0] * 5, rel=1e-9)  # nothing was left over for the machine


def test_the_machine_goes_on_while_disconnected_only_on_paper() -> None:
    case = Case(animal=HORSE, equipment=Equipment(leak_at_30_cmh2o_ml_min=0))
    live = LiveCase(case, multipliers={"breathes": 0.0})
    live.advance(300.0)
    live.manoeuvre(Disconnect(minutes=1.0))
    assert known(live.breaths[-1].tidal_volume_inspired_l) < 0.5  # apnoeic oxygenation, by air

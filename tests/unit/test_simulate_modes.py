"""What each way of breathing does, and what the machine's limits do to it."""

from itertools import pairwise

import pytest

from lungeline.case import Animal, Breath, Case, Equipment, Settings, Start
from lungeline.simulate.kernel import state as s
from lungeline.simulate.live import LiveCase
from lungeline.simulate.models.breathing import restart_drive
from lungeline.simulate.run import simulate

HORSE = Animal(species="horse", weight_kg=500)
PASSIVE = {"breathes": 0.0}


def end(minutes: float = 10.0, multipliers: dict[str, float] | None = None, **settings: object) -> Breath:
    """The last breath of a settled horse under these settings."""
    case = Case(animal=HORSE, settings=Settings(**settings))  # type: ignore[arg-type]  # the record checks it
    return simulate(case, minutes, multipliers=multipliers).at_end


def known(value: float | None) -> float:
    assert value is not None
    return value


# -- machine ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("limit_cmh2o", [12.0, 15.0])
def test_the_pressure_limit_ends_inflation_and_keeps_the_rate(limit_cmh2o: float) -> None:
    breath = end(multipliers=PASSIVE, pressure_limit_cmh2o=limit_cmh2o)
    assert known(breath.peak_pressure_cmh2o) == pytest.approx(limit_cmh2o, abs=0.15)
    assert known(breath.tidal_volume_inspired_l) < 4.5
    assert breath.respiratory_rate_per_min == pytest.approx(8.0, rel=1e-9)


def test_no_stroke_begins_above_the_limit() -> None:
    live = LiveCase(Case(animal=HORSE), multipliers=PASSIVE)
    live.advance(60.0)
    live.fault("expiratory_valve_shut")
    live.advance(300.0)
    # the limit of 35 cmH2O, not a stroke's first moment more with each breath
    assert known(live.breaths[-1].peak_pressure_cmh2o) < 37.0


def test_a_machine_too_slow_for_its_stroke_keeps_the_rate() -> None:
    case = Case(animal=HORSE, equipment=Equipment(flow_ceiling_l_s=0.5))
    breath = simulate(case, 10.0, multipliers=PASSIVE).at_end
    assert breath.respiratory_rate_per_min == pytest.approx(8.0, rel=1e-9)
    # 0.5 L/s for at most half of 7.5 s (arithmetic); less what the circuit keeps
    assert 1.0 < known(breath.tidal_volume_inspired_l) < 1.9
    assert breath.trapped_volume_l == pytest.approx(0.0, abs=0.05)


def test_pressure_control_reaches_its_pressure_and_no_more() -> None:
    breath = end(multipliers=PASSIVE, mode="pressure", inspiratory_pressure_cmh2o=15.0, peep_cmh2o=5.0)
    # PEEP and pressure above it (arithmetic)
    assert breath.peak_pressure_cmh2o == pytest.approx(20.0, abs=0.2)
    assert breath.set_tidal_volume_l is None
    assert breath.respiratory_rate_per_min == pytest.approx(8.0, rel=1e-9)


@pytest.mark.parametrize("peep_cmh2o", [0.0, 5.0])
def test_slowed_expiration_raises_mean_pressure_and_still_empties(peep_cmh2o: float) -> None:
    fast = end(20.0, PASSIVE, peep_cmh2o=peep_cmh2o)
    slowed = end(20.0, PASSIVE, peep_cmh2o=peep_cmh2o, slowed_expiration=True)
    # 3.2 to 7.8 and 4.8 to 9.2 cmH2O in horses without PEEP (studies of slowed expiration: direction)
    gained = known(slowed.mean_airway_pressure_cmh2o) - known(fast.mean_airway_pressure_cmh2o)
    assert 2.0 < gained < 6.0
    assert known(slowed.end_expiratory_pressure_cmh2o) < peep_cmh2o + 1.5
    assert known(slowed.peak_pressure_cmh2o) < known(fast.peak_pressure_cmh2o) + 2.0
    assert known(slowed.pao2_mmhg) > known(fast.pao2_mmhg)


def test_slowed_expiration_lets_go_what_a_deep_breath_left() -> None:
    live = LiveCase(Case(animal=HORSE, settings=Settings(slowed_expiration=True)), multipliers=PASSIVE)
    live.advance(600.0)
    before = known(live.breaths[-1].end_expiratory_pressure_cmh2o)
    live.set(tidal_volume_l=9.0, pressure_limit_cmh2o=25.0)  # cut short by the limit
    live.advance(300.0)
    live.set(tidal_volume_l=5.0, pressure_limit_cmh2o=35.0)
    live.advance(600.0)
    assert known(live.breaths[-1].end_expiratory_pressure_cmh2o) == pytest.approx(before, abs=0.5)


def test_switched_off_nothing_but_oxygen_flows() -> None:
    breath = end(multipliers=PASSIVE, ventilator_on=False)
    assert breath.respiratory_rate_per_min == 0.0
    assert breath.own_breaths_per_min == 0.0
    assert breath.set_tidal_volume_l is None
    assert known(breath.paco2_mmhg) > 80.0


def test_switched_off_the_animal_breathes_for_itself() -> None:
    breath = end(ventilator_on=False)
    assert known(breath.own_breaths_per_min) > 4.0
    assert known(breath.tidal_volume_inspired_l) > 2.0


# -- the animal's own -----------------------------------------------------------------------------------


def test_own_breathing_keeps_more_co2_than_the_machine() -> None:
    own, machine = end(30.0, mode="spontaneous"), end(30.0)
    assert known(own.paco2_mmhg) > known(machine.paco2_mmhg) + 10.0
    assert known(own.tidal_volume_inspired_l) < 0.9 * known(machine.tidal_volume_inspired_l)


def test_deeper_animals_breathe_less() -> None:
    light, deep = (
        end(60.0, mode="spontaneous", vaporiser_percent=1.5),
        end(60.0, mode="spontaneous", vaporiser_percent=3.0),
    )
    assert known(deep.paco2_mmhg) > known(light.paco2_mmhg) + 5.0


def test_slow_breathing_is_counted_as_slow() -> None:
    deep = simulate(
        Case(animal=HORSE, settings=Settings(mode="spontaneous", vaporiser_percent=4.0)), 60.0
    ).breaths[-8:]
    rates = [known(breath.respiratory_rate_per_min) for breath in deep]
    # no breath of a slow breather is cut into a faster one and a pause
    assert max(rates) - min(rates) < 0.2
    assert 1.5 < rates[-1] < 6.0


def test_silence_is_no_breath() -> None:
    live = LiveCase(Case(animal=HORSE), multipliers=PASSIVE)
    live.advance(300.0)
    live.set(ventilator_on=False, peep_cmh2o=0.0)
    live.advance(300.0)
    assert {breath.respiratory_rate_per_min for breath in live.breaths if breath.time_s > 310.0} == {0.0}


def test_cpap_becomes_peep_when_control_starts_and_stays_after_it() -> None:
    case = Case(
        animal=HORSE,
        settings=Settings(mode="spontaneous", peep_cmh2o=8.0),
        equipment=Equipment(holds_baseline=True),
    )
    live = LiveCase(case)
    live.advance(600.0)
    assert live.breaths[-1].end_expiratory_pressure_cmh2o == pytest.approx(8.0, abs=0.3)
    live.set(mode="volume")
    live.advance(300.0)
    assert live.breaths[-1].end_expiratory_pressure_cmh2o == pytest.approx(8.0, abs=0.3)
    live.set(mode="spontaneous")
    live.advance(900.0)
    assert live.breaths[-1].own_breaths_per_min
    assert live.breaths[-1].end_expiratory_pressure_cmh2o == pytest.approx(8.0, abs=0.3)
    live.set(peep_cmh2o=0.0)
    live.advance(300.0)
    assert live.breaths[-1].end_expiratory_pressure_cmh2o == pytest.approx(0.0, abs=0.3)


def test_the_first_breath_after_induction_is_a_large_one_and_comes_from_the_drive() -> None:
    live = LiveCase(Case(animal=HORSE, start=Start(state="induced"), settings=Settings(mode="spontaneous")))
    while not any(breath.own_breaths_per_min for breath in live.breaths):
        live.advance(1.0)
        assert live.time_s < 600.0
    first = next(breath for breath in live.breaths if breath.own_breaths_per_min)
    assert first.time_s > 60.0  # apnoea came before
    drive = live._y[s.EFFORT_SIZE] / live._animal.effort_cmh2o  # noqa: SLF001 - the drive is inside
    needed = restart_drive(live._animal.restart_drive_multiple, 0.8)  # noqa: SLF001 - the state is inside
    assert drive > 0.9 * needed > 1.5  # wanes a little while the animal waits
    live.advance(3600.0)
    later = live.breaths[-1]
    assert later.own_breaths_per_min
    # about twice the usual breath (common practice, no source)
    assert known(first.tidal_volume_inspired_l) > 1.5 * known(later.tidal_volume_inspired_l)


def test_less_injected_drug_means_an_earlier_first_breath() -> None:
    firsts = []
    for injected in (0.3, 0.8):
        start = Start(state="induced", injectable_mac_multiple=injected)
        run = simulate(Case(animal=HORSE, start=start, settings=Settings(mode="spontaneous")), 15.0)
        firsts.append(next(b.time_s for b in run.breaths if b.own_breaths_per_min))
    assert firsts[0] < firsts[1]


# -- assisted -----------------------------------------------------------------------------------------


def test_assisted_breaths_begin_with_the_animals_own() -> None:
    breath = end(30.0, mode="assisted")
    assert breath.own_breaths_per_min == pytest.approx(known(breath.respiratory_rate_per_min), rel=0.01)
    assert breath.tidal_volume_inspired_l == pytest.approx(5.0, rel=0.05)
    assert known(breath.paco2_mmhg) < known(end(30.0, mode="spontaneous").paco2_mmhg)


@pytest.mark.parametrize(("backup_s", "expected_s"), [(20.0, 20.0), (12.0, 12.0), (0.0, 7.5)])
def test_the_backup_breathes_where_the_animal_does_not(backup_s: float, expected_s: float) -> None:
    case = Case(animal=HORSE, settings=Settings(mode="assisted", apnoea_backup_s=backup_s))
    live = LiveCase(case, multipliers=PASSIVE)
    live.advance(300.0)
    given = [breath.time_s for breath in live.breaths if known(breath.tidal_volume_inspired_l) > 1.0]
    gaps = [later - earlier for earlier, later in pairwise(given)]
    # after the set silence, or at the set rate of 8 a minute where that comes later (arithmetic)
    assert gaps[1:] == pytest.approx([expected_s] * len(gaps[1:]), abs=0.02)


def test_a_dull_trigger_leaves_more_to_the_animal() -> None:
    keen = end(30.0, mode="assisted", trigger_flow_l_min=5.0, apnoea_backup_s=60.0)
    dull = end(30.0, mode="assisted", trigger_flow_l_min=120.0, apnoea_backup_s=60.0)
    # it has breathed in more itself before the machine joins in
    assert known(dull.tidal_volume_inspired_l) > known(keen.tidal_volume_inspired_l) + 0.1

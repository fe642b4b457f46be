"""A whole case: what happens when, what a run tells at its end, and what it refuses."""

from dataclasses import fields

import numpy as np
import pytest

from lungeline.case import Animal, Breath, Case, Change, DeepBreath, FaultEvent, HandVentilation, Settings
from lungeline.errors import OutOfRangeError, UnknownNameError
from lungeline.simulate.run import simulate

HORSE = Animal(species="horse", weight_kg=500)


@pytest.mark.parametrize("minutes", [0.0, -1.0, 1441.0, float("nan")])
def test_impossible_lengths_are_refused(minutes: float) -> None:
    with pytest.raises(OutOfRangeError, match="minutes"):
        simulate(Case(animal=HORSE), minutes)


@pytest.mark.parametrize("dt_s", [0.0, 0.003, 0.1, -0.01])
def test_impossible_steps_are_refused(dt_s: float) -> None:
    with pytest.raises(OutOfRangeError, match="dt_s"):
        simulate(Case(animal=HORSE), 1.0, dt_s=dt_s)


@pytest.mark.parametrize("trace_rate_hz", [-1.0, 101.0])
def test_impossible_rates_are_refused(trace_rate_hz: float) -> None:
    with pytest.raises(OutOfRangeError, match="trace_rate_hz"):
        simulate(Case(animal=HORSE), 1.0, trace_rate_hz=trace_rate_hz)


def test_an_unknown_fault_is_refused_before_anything_runs() -> None:
    case = Case(animal=HORSE, faults=(FaultEvent(code="cuff_lek", at_min=50),))
    with pytest.raises(UnknownNameError, match="cuff_leak"):
        simulate(case, 60.0)


def test_the_same_case_gives_the_same_run() -> None:
    first, second = (simulate(Case(animal=HORSE), 10.0) for _ in range(2))
    assert first.breaths == second.breaths


def test_every_breath_has_its_numbers() -> None:
    for breath in simulate(Case(animal=HORSE), 10.0).breaths[1:]:
        for field in fields(Breath):
            assert getattr(breath, field.name) is not None, field.name


def test_every_machine_breath_has_the_set_rate_from_the_first() -> None:
    rates = [breath.respiratory_rate_per_min for breath in simulate(Case(animal=HORSE), 5.0).breaths]
    # 8 a minute, the rule of thumb for a horse of this weight
    assert rates == pytest.approx([8.0] * len(rates), rel=1e-9)
    assert len(rates) == 39  # 40 begin in 5 min, the last one is not over (arithmetic)


def test_times_of_breaths_follow_the_rate() -> None:
    times = [breath.time_s for breath in simulate(Case(animal=HORSE), 5.0).breaths]
    assert times == pytest.approx([7.5 * i for i in range(len(times))], abs=1e-6)


def test_changes_faults_and_manoeuvres_come_at_their_time() -> None:
    changes = (
        Change(at_min=1, settings={"tidal_volume_l": 6.0}),
        Change(at_min=2, manoeuvre=DeepBreath(volume_l=8.0)),
    )
    faults = (FaultEvent(code="vaporiser_empty", at_min=3, until_min=4),)
    run = simulate(Case(animal=HORSE, changes=changes, faults=faults), 5.0)
    volumes = {breath.time_s: breath.set_tidal_volume_l for breath in run.breaths}
    assert [volume for when, volume in volumes.items() if when < 59.0] == [5.0] * 8
    assert [volume for when, volume in volumes.items() if 59.0 < when < 119.0] == [6.0] * 8
    assert sorted(set(volumes.values())) == [5.0, 6.0, 8.0]  # type: ignore[type-var]  # the record checks it
    assert list(volumes.values()).count(8.0) == 1
    assert run.live.active_faults == {}


def test_what_comes_after_the_end_does_not_happen() -> None:
    case = Case(animal=HORSE, changes=(Change(at_min=5, settings={"tidal_volume_l": 6.0}),))
    assert {breath.set_tidal_volume_l for breath in simulate(case, 4.0).breaths} == {5.0}


def test_a_long_manoeuvre_ends_with_the_run() -> None:
    by_hand = HandVentilation(minutes=60, volume_l=6.0, rate_per_min=6)
    case = Case(animal=HORSE, changes=(Change(at_min=1, manoeuvre=by_hand),))
    run = simulate(case, 3.0)
    assert run.live.time_s == pytest.approx(180.0)
    run.live.advance(60.0)  # and it may go on from there, under the settings of the case
    assert run.live.breaths[-1].set_tidal_volume_l == 5.0


def test_a_run_may_be_shorter_than_a_breath() -> None:
    run = simulate(Case(animal=HORSE), 0.05)
    assert run.ended
    assert run.live.time_s == pytest.approx(3.0)


def test_curves_have_a_time_for_every_sample() -> None:
    run = simulate(Case(animal=HORSE), 1.0, trace_rate_hz=50.0)
    assert len(run.traces["time_s"]) == 3000
    assert run.traces["time_s"][[0, -1]] == pytest.approx([0.02, 60.0])
    assert all(len(values) == 3000 for values in run.traces.values())
    assert np.isfinite(run.traces["pressure_cmh2o"]).all()


def test_the_end_names_a_starving_animal() -> None:
    case = Case(animal=HORSE, faults=(FaultEvent(code="pneumothorax", at_min=2),))
    run = simulate(case, 30.0)
    assert run.at_end.pao2_mmhg is not None
    assert run.at_end.pao2_mmhg < 60.0
    worse = simulate(Case(animal=HORSE, faults=(FaultEvent(code="disconnection", at_min=2),)), 4.0)
    assert worse.ended.startswith("time was up")
    assert worse.advice


def test_the_end_names_room_air() -> None:
    case = Case(animal=HORSE, settings=Settings(fresh_gas_flow_l_min=0.0))
    run = simulate(case, 30.0)
    assert "room air" in run.ended
    assert "fresh_gas_flow_l_min" in run.advice

"""Many animals: the same draw each time, honest about those that failed, and quick to stop."""

import threading
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context

import numpy as np
import pytest

from lungeline.case import Animal, Case, FaultEvent
from lungeline.errors import InputError, OutOfRangeError, SimulationError
from lungeline.simulate import herd
from lungeline.simulate.herd import KEYS, UNVALIDATED_WIDENING, draw_multipliers, simulate_herd
from lungeline.simulate.run import Run, simulate

HORSE = Case(animal=Animal(species="horse", weight_kg=500))


def test_the_same_seed_gives_the_same_herd() -> None:
    first, second = (simulate_herd(HORSE, 8, 7, 4.0) for _ in range(2))
    other = simulate_herd(HORSE, 8, 8, 4.0)
    for key in KEYS:
        np.testing.assert_array_equal(first.values[key], second.values[key])
    assert not np.array_equal(first.values["pao2_mmhg"], other.values["pao2_mmhg"])


def test_a_larger_herd_begins_with_the_smaller_one() -> None:
    assert draw_multipliers("horse", 20, 3)[:5] == draw_multipliers("horse", 5, 3)


def test_percentiles_are_in_order_and_within_the_herd() -> None:
    run = simulate_herd(HORSE, 20, 1, 5.0)
    lines = run.percentiles("pao2_mmhg", (10.0, 25.0, 50.0, 75.0, 90.0))
    assert list(lines) == ["p10", "p25", "p50", "p75", "p90"]
    table = np.array(list(lines.values()))
    assert (np.diff(table, axis=0) >= 0.0).all()
    assert (table[0] >= run.values["pao2_mmhg"].min(axis=0)).all()
    assert (table[-1] <= run.values["pao2_mmhg"].max(axis=0)).all()
    assert table[-1][-1] > table[0][-1] + 20.0  # animals differ


def test_values_are_those_of_each_animal_alone() -> None:
    run = simulate_herd(HORSE, 3, 5, 4.0)
    assert run.times_s.tolist() == [60.0, 120.0, 180.0, 240.0]
    alone = simulate(HORSE, 4.0, dt_s=0.02, multipliers=draw_multipliers("horse", 3, 5)[1])
    last = [breath for breath in alone.breaths if breath.time_s <= 240.0][-1]
    assert run.values["paco2_mmhg"][1, -1] == last.paco2_mmhg


def test_missing_values_stay_missing() -> None:
    off = Case(animal=HORSE.animal, faults=(FaultEvent(code="ventilator_stopped", at_min=0),))
    run = simulate_herd(off, 4, 1, 3.0)
    assert np.isnan(run.percentiles("set_tidal_volume_l")["p50"]).all()
    assert np.isfinite(run.percentiles("paco2_mmhg")["p50"]).all()


@pytest.mark.parametrize("minutes", [0.05, 0.5, 1.0])
def test_a_short_herd_has_one_time(minutes: float) -> None:
    run = simulate_herd(HORSE, 3, 1, minutes)
    assert run.times_s.tolist() == [60.0 * minutes]
    assert run.n == 3


@pytest.mark.parametrize("n", [0, -1, 5001])
def test_impossible_numbers_of_animals_are_refused(n: int) -> None:
    with pytest.raises(OutOfRangeError, match="herd"):
        simulate_herd(HORSE, n)


def test_an_impossible_case_is_refused_not_counted() -> None:
    wrong = Case(animal=HORSE.animal, faults=(FaultEvent(code="no such fault", at_min=1),))
    with pytest.raises(InputError):
        simulate_herd(wrong, 4, 1, 3.0)


def test_drawn_animals_are_about_the_usual_one() -> None:
    drawn = draw_multipliers("horse", 400, 2)
    for name in drawn[0]:
        logs = np.log([animal[name] for animal in drawn])
        sd = np.std(logs)
        # mean 0 within 4 standard errors, all within 2.5 standard deviations of the log (the draw's law)
        assert abs(np.mean(logs)) < 4.0 * sd / 20.0
        assert np.abs(logs).max() < 3.2 * sd


def test_a_species_nobody_compared_is_drawn_wider() -> None:
    usual, wide = draw_multipliers("horse", 10, 1), draw_multipliers("horse", 10, 1, validated=False)
    for name in usual[0]:
        expected = UNVALIDATED_WIDENING * np.log(usual[3][name])
        assert np.log(wide[3][name]) == pytest.approx(expected, rel=1e-9)


def test_animals_that_cannot_go_on_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    animals = draw_multipliers("horse", 6, 1)

    def fails(case: Case, minutes: float, *, dt_s: float, multipliers: dict[str, float], stop: object) -> Run:
        assert stop is not None  # its own threads can be stopped
        if multipliers in animals[:2]:
            raise SimulationError(where="simulation", given="an animal", allowed="another", do="Nothing.")
        return simulate(case, minutes, dt_s=dt_s, multipliers=multipliers)

    monkeypatch.setattr(herd, "simulate", fails)
    run = simulate_herd(HORSE, 6, 1, 3.0)
    assert (run.n, run.failed) == (4, 2)
    assert run.values["pao2_mmhg"].shape == (4, 3)


def test_progress_counts_to_the_end() -> None:
    seen: list[tuple[int, int]] = []
    simulate_herd(HORSE, 5, 1, 1.0, progress=lambda done, n: seen.append((done, n)))
    assert seen == [(1, 5), (2, 5), (3, 5), (4, 5), (5, 5)]


def test_an_interrupted_herd_stops_at_once() -> None:
    simulate_herd(HORSE, 1, 1, 1.0)  # compiled before the clock runs
    before = set(threading.enumerate())

    def interrupt(_done: int, _n: int) -> None:
        raise KeyboardInterrupt

    begun = time.monotonic()
    with pytest.raises(KeyboardInterrupt):
        simulate_herd(HORSE, 500, 1, 60.0, progress=interrupt)
    assert time.monotonic() - begun < 1.0 + longest_animal_s()
    for thread in set(threading.enumerate()) - before:
        thread.join(1.0)
        assert not thread.is_alive()


def longest_animal_s() -> float:
    """Time one animal takes on this machine now: the interruption comes with the first that is done."""
    begun = time.monotonic()
    simulate(HORSE, 60.0, dt_s=0.02)
    return 4.0 * (time.monotonic() - begun)


def on_threads() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(2)


def on_processes() -> ProcessPoolExecutor:
    return ProcessPoolExecutor(2, mp_context=get_context("spawn"))


@pytest.mark.parametrize("make", [on_threads, pytest.param(on_processes, marks=pytest.mark.slow)])
def test_another_executor_gives_the_same_herd(make: Callable[[], ThreadPoolExecutor]) -> None:
    ours = simulate_herd(HORSE, 6, 1, 4.0)
    with make() as executor:
        theirs = simulate_herd(HORSE, 6, 1, 4.0, executor=executor)
    for key in KEYS:
        np.testing.assert_array_equal(ours.values[key], theirs.values[key])


@pytest.mark.slow
def test_a_cluster_gives_the_same_herd() -> None:
    distributed = pytest.importorskip("distributed")
    ours = simulate_herd(HORSE, 6, 1, 4.0)
    with distributed.Client(n_workers=2, threads_per_worker=1, dashboard_address=None) as client:
        theirs = simulate_herd(HORSE, 6, 1, 4.0, executor=client.get_executor())
    np.testing.assert_array_equal(ours.values["pao2_mmhg"], theirs.values["pao2_mmhg"])

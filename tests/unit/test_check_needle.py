"""Whether a needle has moved: closed forms against readings made one by one."""

import math
import random
from dataclasses import replace

import pytest

from lungeline.check import Circuit, DecayLook, Filling, Instruments, pressure_decay
from lungeline.check.needle import chance_of_fall, least_to_show, shows

COARSE = Instruments(needle_step_cmh2o=1.0, needle_noise_cmh2o=0.2)
READINGS = 20_000


def read_apart(true_cmh2o: float, told: Instruments, seed: int) -> list[float]:
    """Falls as they are read: the needle anywhere, each reading trembling, rounded to the nearest mark."""
    rng = random.Random(seed)  # noqa: S311  readings are scattered, nothing is kept secret
    step, noise = told.needle_step_cmh2o, told.needle_noise_cmh2o

    def read(pressure: float) -> float:
        return round((pressure + rng.gauss(0, noise)) / step) * step

    starts = [rng.uniform(20, 30) for _ in range(READINGS)]
    return [read(start) - read(start - true_cmh2o) for start in starts]


@pytest.mark.parametrize("true_cmh2o", [0.0, 0.4, 1.7])
@pytest.mark.parametrize("told", [COARSE, replace(COARSE, needle_step_cmh2o=0.5, needle_noise_cmh2o=0.4)])
def test_the_chance_is_that_of_readings_made_one_by_one(true_cmh2o: float, told: Instruments) -> None:
    falls = read_apart(true_cmh2o, told, seed=7)
    for marks in (1, 2, 3):
        least = marks * told.needle_step_cmh2o
        counted = sum(fall >= least - 1e-9 for fall in falls) / READINGS
        chance = chance_of_fall(least, true_cmh2o, told)
        # four standard errors of a share counted so often (binomial, closed form)
        error = 4 * math.sqrt(max(chance * (1 - chance), 1e-4) / READINGS)
        assert counted == pytest.approx(chance, abs=error)


def test_one_mark_shows_nothing_on_a_coarse_gauge_and_two_do() -> None:
    assert not shows(1.0, 0.0, COARSE)
    assert shows(2.0, 0.0, COARSE)
    assert not shows(2.0, 1.0, COARSE)  # cooling alone lowers it by one
    # a needle that does not tremble is read the same twice, wherever it stands
    assert shows(1.0, 0.0, replace(COARSE, needle_noise_cmh2o=0.0))


@pytest.mark.parametrize(("noise_cmh2o", "least"), [(0.0, 1.0), (0.1, 0.1 * 1.96 * math.sqrt(2.0))])
def test_a_gauge_without_marks_goes_by_its_noise(noise_cmh2o: float, least: float) -> None:
    told = Instruments(needle_step_cmh2o=0.0, needle_noise_cmh2o=noise_cmh2o)
    assert not shows(0.0, 0.0, told)
    # normal distribution: a difference of two readings lies above 1.96 deviations 2.5 times in 100
    assert shows(1.01 * least, 0.0, told)
    assert noise_cmh2o == 0.0 or not shows(0.99 * least, 0.0, told)
    assert least_to_show([300.0], 0.0, told) == 0.0


def test_the_least_leak_to_show_is_read_far_enough_apart_in_95_of_100() -> None:
    least = least_to_show([100.0], 0.0, COARSE)  # 100 mL/min for a mark
    falls = read_apart(least / 100.0, COARSE, seed=11)
    counted = sum(fall >= 2.0 for fall in falls) / READINGS
    assert counted == pytest.approx(0.95, abs=4 * math.sqrt(0.05 * 0.95 / READINGS))
    # twice the gas for a mark, twice the leak (proportion)
    assert least_to_show([200.0], 0.0, COARSE) == pytest.approx(2 * least, rel=1e-6)


def test_a_fall_of_one_mark_is_not_told_as_a_leak() -> None:
    look = DecayLook(
        circuit=Circuit(volume_l=50), start_cmh2o=30, end_cmh2o=29, seconds_s=60,
        filling=Filling(fill_s=5, waited_s=120, held=True),
    )  # fmt: skip
    one = pressure_decay(look)
    assert (one.seen, one.spread.low) == (False, 0.0)
    assert one.leak.value is not None
    assert one.leak.value > 0.0
    assert pressure_decay(replace(look, end_cmh2o=28)).seen
    fine = replace(look, instruments=Instruments(needle_step_cmh2o=0.1, needle_noise_cmh2o=0.05))
    assert pressure_decay(fine).seen

"""The scheme converges as fast as it should: the steps of pressure and volume, and whole breaths.

Expected orders: 2 for the two-stage Rosenbrock step (Hairer & Wanner, Solving ODEs II, from memory), at
least 1 for everything coupled, where the slow exchange holds its flows over a tick.
"""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from lungeline.case import Animal, Case, Settings
from lungeline.simulate.kernel.mechanics import one_volume_step, two_volume_step
from lungeline.simulate.live import LiveCase

REFERENCE_STEP_S = 1e-4
STEPS_S = (0.04, 0.02, 0.01)
LEAST_ORDER = 1.8
LEAST_COUPLED_ORDER = 0.9
# A horse's lung, chest wall and tube, in the order the step takes them.
ONE_LUNG = (0.325, 0.055, 27.0, 32.0, 34.6, 0.0, 1.0 / 1.29, -12.3 / 1.29, 0.0)
TWO_LUNGS = (0.025, 0.055, 2.4, 0.35, 27.0, 32.0, 34.6, 0.0, 0.3, 1.0 / 1.29, -12.3 / 1.29, 0.0, 0.0)
Step = Callable[[tuple[float, ...], float], tuple[float, ...]]


def machine(phase: float, stroke_flow: float, *, slowed: float = 0.0, leak: float = 0.0) -> tuple[float, ...]:
    """Volume control at PEEP 5 on a circuit of 0.04 L/cmH2O; the leak is circuit and cuff alike."""
    return (
        phase,
        1.0,
        stroke_flow,
        20.0,
        0.3,
        10.0,
        5.0,
        0.0,
        1.0,
        2.0,
        slowed,
        leak,
        0.7,
        leak,
        100.0,
        -20.0,
        0.04,
    )


def one_lung(phase: tuple[float, ...]) -> Step:
    return lambda y, h: one_volume_step(*y, h, *phase, *ONE_LUNG)[:2]  # type: ignore[call-arg]  # mypy cannot count


def two_lungs(phase: tuple[float, ...]) -> Step:
    return lambda y, h: two_volume_step(*y, h, *phase, *TWO_LUNGS)[:3]  # type: ignore[call-arg]  # mypy cannot count


def after(step: Step, start: tuple[float, ...], span_s: float, h_s: float) -> tuple[float, ...]:
    y = start
    for _ in range(round(span_s / h_s)):
        y = step(y, h_s)
    return y


PHASES: dict[str, tuple[Step, tuple[float, ...]]] = {
    "inspiration": (one_lung(machine(1.0, 2.5)), (5.0, 8.0)),
    "inspiration with leaks": (one_lung(machine(1.0, 2.5, leak=0.01)), (5.0, 8.0)),
    "expiration": (one_lung(machine(0.0, 0.0)), (19.0, 13.0)),
    "slowed expiration": (one_lung(machine(0.0, 0.0, slowed=1.2)), (19.0, 13.0)),
    "inspiration of two": (two_lungs(machine(1.0, 2.5)), (5.0, 5.6, 2.4)),
    "expiration of two": (two_lungs(machine(0.0, 0.0)), (19.0, 9.1, 3.9)),
}


@pytest.mark.parametrize("name", PHASES)
def test_pressure_and_volume_are_of_second_order(name: str) -> None:
    step, start = PHASES[name]
    span_s = 0.8
    reference = after(step, start, span_s, REFERENCE_STEP_S)
    errors = np.array([np.abs(np.subtract(after(step, start, span_s, h), reference)) for h in STEPS_S])
    orders = np.log2(errors[:-1] / errors[1:])
    assert orders.min() >= LEAST_ORDER


@pytest.mark.parametrize("name", PHASES)
def test_the_default_step_is_exact_to_a_thousandth(name: str) -> None:
    step, start = PHASES[name]
    reference = after(step, start, 0.8, REFERENCE_STEP_S)
    # 1e-3 cmH2O and 1e-3 L: a hundredth of what a screen shows
    np.testing.assert_allclose(after(step, start, 0.8, 0.01), reference, atol=1e-3)


def breaths_with(dt_s: float, tick_s: float) -> Any:  # noqa: ANN401 - an array
    """Volumes, pressures and gases of the first breaths, step and tick scaled together."""
    case = Case(
        animal=Animal(species="horse", weight_kg=500), settings=Settings(respiratory_rate_per_min=7.5)
    )
    still = {"opening_rate_per_s_cmh2o": 0.0, "closing_rate_per_s_cmh2o": 0.0, "breathes": 0.0}
    live = LiveCase(case, dt_s=dt_s, multipliers=still)
    live._steps_per_tick = round(tick_s / dt_s)  # noqa: SLF001 - the tick is fixed everywhere else
    _advance(live, 80.0, tick_s)
    keys = ("peak_pressure_cmh2o", "tidal_volume_expired_l", "etco2_mmhg", "paco2_mmhg", "fio2_fraction")
    rows = [[getattr(breath, key) for key in keys] for breath in live.breaths[2:9]]
    scale = np.array([10.0, 5.0, 40.0, 40.0, 1.0])
    return np.array(rows) / scale


def _advance(live: LiveCase, span_s: float, tick_s: float) -> None:
    """Advance counts ticks of 0.1 s; here a tick has another length."""
    live.advance(span_s * 0.1 / tick_s)


def test_whole_breaths_converge_with_step_and_tick() -> None:
    reference = breaths_with(0.001, 0.01)
    runs = (breaths_with(0.02, 0.2), breaths_with(0.01, 0.1), breaths_with(0.005, 0.05))
    errors = [float(np.abs(found - reference).max()) for found in runs]
    # over two halvings: where in a tick a breath begins makes single ones uneven
    assert math.log2(errors[0] / errors[2]) / 2.0 >= LEAST_COUPLED_ORDER
    assert errors[0] > errors[1] > errors[2]
    assert errors[1] < 5e-3

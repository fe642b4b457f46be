"""Whatever comes as curves: no crash, the same breaths however it was cut, and whenever it began."""

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lungeline.case import Animal, Block, Case, Settings
from lungeline.compare import Breaths, WaveBreath
from lungeline.simulate import simulate

RATE_HZ = 50.0
UNITS = {"pressure_cmh2o": "cmh2o", "flow_l_s": "l_s", "co2_mmhg": "mmhg"}


@pytest.fixture(scope="module", name="curves")
def _curves() -> dict[str, Any]:
    """Two minutes of a horse, with noise."""
    case = Case(
        animal=Animal(species="horse", weight_kg=500.0), settings=Settings(respiratory_rate_per_min=10.0)
    )
    traces = simulate(case, 2.0, trace_rate_hz=RATE_HZ).traces
    random = np.random.default_rng(3)
    return {channel: traces[channel] + random.normal(0.0, 0.1, len(traces[channel])) for channel in UNITS}


def block(channel: str, values: Any, start: int = 0, *, epoch: str = "a", rate_hz: float = RATE_HZ) -> Block:  # noqa: ANN401  an array or a list
    return Block(
        epoch=epoch, channel=channel, unit=UNITS.get(channel, ""), rate_hz=rate_hz, start_index=start,
        values=list(map(float, values)),
    )  # fmt: skip


def breaths_of(curves: dict[str, Any], cuts: list[int], start: int = 0) -> list[WaveBreath]:
    """Breaths out of curves that come in pieces."""
    breaths, found = Breaths(), []
    edges = [0, *sorted(cuts), len(curves["flow_l_s"])]
    for first, last in pairwise(edges):
        found += breaths.take(block(name, each[first:last], start + first) for name, each in curves.items())
    return [*found, *breaths.finish()]


def test_there_are_breaths_to_be_invariant(curves: dict[str, Any]) -> None:
    assert (
        len(breaths_of(curves, [])) == 18
    )  # arithmetic: 20 in two minutes, less the cut first and the open last


@settings(max_examples=20, deadline=None)
@given(cuts=st.lists(st.integers(0, 6000), max_size=40))
def test_how_blocks_are_cut_changes_nothing(curves: dict[str, Any], cuts: list[int]) -> None:
    assert breaths_of(curves, cuts) == breaths_of(curves, [])


@settings(max_examples=10, deadline=None)
@given(shift=st.integers(0, 10_000_000))
def test_when_it_began_changes_nothing_but_the_times(curves: dict[str, Any], shift: int) -> None:
    moved = breaths_of(curves, [700, 3100], start=shift)
    still = breaths_of(curves, [])
    assert [each.time_s - shift / RATE_HZ for each in moved] == pytest.approx([each.time_s for each in still])
    assert [replace(each, time_s=0.0) for each in moved] == [replace(each, time_s=0.0) for each in still]


def test_what_comes_twice_changes_nothing(curves: dict[str, Any]) -> None:
    breaths, found = Breaths(), []
    for first in range(0, 6000, 500):
        # each piece begins within the one before, and one curve is ahead of the others
        found += breaths.take(
            block(name, each[max(first - 300, 0) : first + 500 + ahead], max(first - 300, 0))
            for ahead, (name, each) in enumerate(curves.items())
        )
    assert [*found, *breaths.finish()] == breaths_of(curves, [])


def test_a_breath_is_measured_the_same_in_other_units_of_size(curves: dict[str, Any]) -> None:
    # linearity: all flows doubled is volumes doubled, compliance doubled, all else the same
    doubled = breaths_of({**curves, "flow_l_s": 2.0 * curves["flow_l_s"]}, [])
    for twice, once in zip(doubled, breaths_of(curves, []), strict=True):
        assert twice.time_s == once.time_s
        assert twice.tidal_volume_inspired_l == pytest.approx(
            2.0 * (once.tidal_volume_inspired_l or math.nan)
        )
        assert twice.compliance_l_cmh2o == pytest.approx(2.0 * (once.compliance_l_cmh2o or math.nan))
        assert twice.peak_pressure_cmh2o == once.peak_pressure_cmh2o


samples = st.one_of(
    st.floats(-20.0, 60.0),
    st.sampled_from([math.nan, math.inf, -math.inf, 0.0, -0.0, 1e308, -1e308, 5e-324, 32767.0]),
)
pieces = st.builds(
    lambda channel, values, times, start, epoch, rate_hz: block(
        channel, values * times, start, epoch=epoch, rate_hz=rate_hz
    ),
    channel=st.sampled_from([*UNITS, "volume_l"]),
    values=st.lists(samples, max_size=30),
    times=st.integers(0, 40),
    start=st.one_of(st.integers(0, 3000), st.just(10**12)),
    epoch=st.sampled_from("ab"),
    rate_hz=st.sampled_from([0.01, 5.0, 25.0, 50.0, 100.0, 999.0, 1e6]),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.lists(pieces, max_size=5), max_size=6))
def test_any_stream_is_survived_and_tells_only_numbers(calls: list[list[Block]]) -> None:
    breaths = Breaths()
    found = [breath for blocks in calls for breath in breaths.take(blocks)] + breaths.finish()
    for breath in found:
        for name, value in breath.as_json().items():
            assert not isinstance(value, float) or math.isfinite(value), name


@settings(max_examples=20, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    holes=st.lists(st.tuples(st.integers(0, 5900), st.integers(1, 400)), max_size=8),
)
def test_holes_lose_breaths_and_make_none_up(
    curves: dict[str, Any], seed: int, holes: list[tuple[int, int]]
) -> None:
    broken = {name: each.copy() for name, each in curves.items()}
    random = np.random.default_rng(seed)
    for first, length in holes:
        for name in random.choice(list(broken), size=random.integers(1, 4), replace=False):
            broken[name][first : first + length] = random.choice([math.nan, math.inf])
    assert len(breaths_of(broken, [])) <= len(breaths_of(curves, [])) + len(holes)

"""Breaths found and measured: against the simulated animal's truth, with few instruments, in trouble."""

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lungeline.case import Animal, Block, Case, InspiratoryHold, Settings
from lungeline.compare import Breaths, WaveBreath, follow
from lungeline.listen.feed import SimulatedFeed
from lungeline.simulate import start

BENCHMARKS = Path(__file__).resolve().parents[2] / "benchmarks"
RATE_HZ = 50.0


def bench() -> Any:  # noqa: ANN401  a module
    """The set-ups of the benchmark, which this is the short form of."""
    if "breath_set_ups" not in sys.modules:
        spec = importlib.util.spec_from_file_location("breath_set_ups", BENCHMARKS / "breath_set_ups.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules["breath_set_ups"] = module
        spec.loader.exec_module(module)
    return sys.modules["breath_set_ups"]


# The project's own targets: nine volumes of ten within 2 %, peak 0.5 cmH2O and compliance 5 % in 95 of 100,
# nothing missed or made up. What comes out is worse, as docs/watch.md says, where the circle leaks a little,
# which looks like a zero of the flow sensor, and where an animal breathes little, and takes up more of it.
@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "expired_percent"),
    [
        ("volume", 2.0), ("pressure", 2.0), ("slowed expiration", 2.0), ("fast, gas trapped", 2.0),
        ("spontaneous", 3.0), ("assisted", 2.0), ("cuff leaks", 2.0), ("circuit leaks", 2.5), ("pony", 2.0),
        ("foal", 2.0),
    ],
)  # fmt: skip
def test_breaths_agree_with_the_truth(name: str, expired_percent: float) -> None:
    ups = bench()
    set_up = next(each for each in ups.SET_UPS if each.name == name)
    run = ups.simulated(set_up, 6.0)
    breaths = Breaths(least_volume_l=set_up.least_volume_l)
    found = [*breaths.take(ups.noisy(run, set_up, seed=11)), *breaths.finish()]
    score = ups.scored(run, found, 6.0)
    assert score.breaths > 12
    assert score.missed == score.invented == 0
    assert score.error("inspired_percent", percent=90.0) <= 2.0
    assert score.error("expired_percent", percent=90.0) <= expired_percent
    assert score.error("peak_cmh2o") <= 0.5
    assert not score.told("compliance_percent") or score.error("compliance_percent") <= 5.0


def case_of(**settings: Any) -> Case:  # noqa: ANN401  any setting
    """A horse of 500 kg, ten breaths a minute."""
    chosen = {"tidal_volume_l": 5.0, "respiratory_rate_per_min": 10.0, **settings}
    return Case(animal=Animal(species="horse", weight_kg=500.0), settings=Settings(**chosen))


def watched(case: Case, minutes: float = 3.0, sample_delay_s: float | None = None) -> list[WaveBreath]:
    """Breaths of the simulator's own feed, its instruments included."""
    feed = SimulatedFeed(start(case, trace_rate_hz=RATE_HZ), np.random.default_rng(5))
    limit = case.settings.pressure_limit_cmh2o
    breaths = Breaths(pressure_limit_cmh2o=limit, sample_delay_s=sample_delay_s)
    follower, found = follow(feed, breaths), []
    for _ in range(round(minutes * 6.0)):
        feed.advance(10.0)
        found += follower.new()
    return [*found, *breaths.finish()]


def test_the_simulator_is_a_feed_too() -> None:
    found = watched(case_of())
    assert len(found) == 28  # arithmetic: 30, less the one cut at the start and the one still open
    last = found[-1]
    assert last.begun == "set"
    assert last.tidal_volume_inspired_l == pytest.approx(5.0, rel=0.02)
    assert last.respiratory_rate_per_min == pytest.approx(10.0, rel=0.02)
    assert last.end_expiratory_pressure_cmh2o == pytest.approx(5.0, abs=0.5)


def test_who_began_a_breath() -> None:
    alone = watched(case_of(mode="spontaneous"), 6.0)
    # of the first one after a silence the pressure before it is not known
    assert {breath.begun for breath in alone[1:]} == {"own"}
    assert all((breath.effort_cmh2o or 0.0) > 1.0 for breath in alone[1:])
    helped = [breath.begun for breath in watched(case_of(mode="assisted"), 7.0)]
    assert "triggered" in helped
    assert {breath.begun for breath in watched(case_of())} == {"set"}


def test_an_effort_makes_compliance_unknown() -> None:
    for breath in watched(case_of(mode="spontaneous"), 6.0):
        assert breath.compliance_l_cmh2o is None
        assert breath.mechanics_quality == "none"


def test_the_pressure_limit_cuts_a_breath_short() -> None:
    assert all(breath.cut_by_limit for breath in watched(case_of(pressure_limit_cmh2o=12.0)))
    assert not any(breath.cut_by_limit for breath in watched(case_of(pressure_limit_cmh2o=40.0)))


def test_a_hold_shows_the_plateau() -> None:
    feed = SimulatedFeed(start(case_of(), trace_rate_hz=RATE_HZ), np.random.default_rng(5))
    breaths = Breaths()
    follower = follow(feed, breaths)
    feed.advance(60.0)
    feed.manoeuvre(InspiratoryHold(hold_s=3.0))
    feed.advance(30.0)
    held = [breath for breath in [*follower.new(), *breaths.finish()] if (breath.pause_s or 0.0) > 2.0]
    assert len(held) == 1
    true = next(row for row in feed.live.breaths if row.time_s == pytest.approx(held[0].time_s, abs=0.1))
    # both compartments share the gas during the hold, so that it ends a little below its beginning
    assert held[0].plateau_pressure_cmh2o == pytest.approx(true.plateau_pressure_cmh2o, abs=0.5)


def test_dead_space_needs_a_known_delay() -> None:
    unknown, known = watched(case_of())[-1], watched(case_of(), sample_delay_s=3.0)[-1]
    assert unknown.airway_dead_space_l is None
    assert unknown.co2_quality == "doubtful"
    assert known.co2_quality == "good"
    assert known.airway_dead_space_l is not None
    # the model's airway is 2.5 mL/kg, and dispersion leaves its mark within a tenth of a breath
    assert known.airway_dead_space_l == pytest.approx(1.25, abs=0.8)
    assert known.dead_space_fraction is not None
    assert 0.2 < known.dead_space_fraction < 0.6
    assert unknown.etco2_mmhg == pytest.approx(known.etco2_mmhg, abs=0.5)


@pytest.mark.parametrize("kept", ["flow_l_s", "pressure_cmh2o", "co2_mmhg"])
def test_one_instrument_alone_still_counts_breaths(kept: str) -> None:
    live = start(case_of(), trace_rate_hz=RATE_HZ)
    breaths = Breaths()
    found = [*breaths.take(it for it in live.advance(180.0) if it.channel == kept), *breaths.finish()]
    assert len(found) == pytest.approx(28, abs=1)
    rates = [breath.respiratory_rate_per_min or 0.0 for breath in found]
    assert float(np.median(rates)) == pytest.approx(10.0, rel=0.02)
    told = {name for breath in found for name, value in breath.as_json().items() if value is not None}
    assert ("tidal_volume_inspired_l" in told) == (kept == "flow_l_s")
    assert ("peak_pressure_cmh2o" in told) == (kept == "pressure_cmh2o")
    assert ("etco2_mmhg" in told) == (kept == "co2_mmhg")


def test_a_curve_that_comes_back_is_used_again() -> None:
    live = start(case_of(), trace_rate_hz=RATE_HZ)
    blocks = live.advance(120.0)
    silent = [
        replace(it, values=[float("nan")] * 2000 + list(it.values[2000:])) if it.channel == "flow_l_s" else it
        for it in blocks
    ]
    breaths = Breaths()
    found = [*breaths.take(silent), *breaths.finish()]
    assert found[0].tidal_volume_inspired_l is None
    assert found[0].peak_pressure_cmh2o is not None
    assert found[-1].tidal_volume_inspired_l == pytest.approx(5.0, rel=0.02)


def test_memory_stays_bounded() -> None:
    live = start(case_of(), trace_rate_hz=RATE_HZ)
    minute = live.advance(60.0)
    breaths, sizes = Breaths(), []
    for turn in range(60):
        breaths.take(replace(it, start_index=3000 * turn) for it in minute)
        assert breaths._run is not None  # noqa: SLF001  what is kept is the point of this test
        sizes.append(breaths._run._tape._rows.size)  # noqa: SLF001  the same
    assert sizes[-1] == sizes[5]


def test_silence_and_rubbish_are_no_breaths() -> None:
    random = np.random.default_rng(1)
    for values in (np.zeros(9000), random.normal(0.0, 0.05, 9000), np.full(9000, 7.3)):
        breaths = Breaths()
        blocks = [
            Block(epoch="e", channel=channel, unit="", rate_hz=RATE_HZ, start_index=0, values=values.tolist())
            for channel in ("flow_l_s", "pressure_cmh2o", "co2_mmhg")
        ]
        assert [*breaths.take(blocks), *breaths.finish()] == []

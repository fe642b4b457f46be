"""A running case: set, broken, kept, gone back to; the same as one run from its file."""

import gc
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import astuple

import numpy as np
import pytest

from lungeline.case import Animal, Case, Change, FaultEvent, Settings
from lungeline.errors import InputError, LungelineError, OutOfRangeError, UnknownNameError
from lungeline.simulate.kernel import state as s
from lungeline.simulate.live import LiveCase, start
from lungeline.simulate.run import simulate

HORSE = Animal(species="horse", weight_kg=500)


def live_horse(**settings: float | str | bool) -> LiveCase:
    return LiveCase(Case(animal=HORSE, settings=Settings(**settings)))  # type: ignore[arg-type]  # the record checks it


def test_a_kept_state_goes_on_bit_for_bit() -> None:
    straight = live_horse()
    straight.advance(600.0)
    first = live_horse()
    first.advance(300.0)
    second = live_horse()
    second.restore(first.state())
    second.advance(300.0)
    assert second.state() == straight.state()
    later = [b for b in straight.breaths if b.time_s >= 300.0]
    assert [astuple(b) for b in second.breaths if b.time_s >= 300.0] == [astuple(b) for b in later]


def test_going_back_undoes_what_happened_since() -> None:
    live = live_horse()
    live.advance(300.0)
    kept = live.state()
    live.fault("disconnection")
    live.advance(120.0)
    live.fault("disconnection", 0.0)
    live.restore(kept)
    assert live.state() == kept
    assert live.time_s == pytest.approx(300.0)


def _take_a_while(_phase: str, _info: dict[str, int]) -> None:
    sum(range(20))


def test_many_animals_go_back_at_once_in_threads() -> None:
    """What parsed a header here was seen to fail, now and then, in threads: as often as possible, then."""
    herd = [live_horse() for _ in range(4)]
    kept = herd[0].state()
    interval_s, threshold = sys.getswitchinterval(), gc.get_threshold()
    sys.setswitchinterval(1e-6)
    gc.set_threshold(5)
    gc.callbacks.append(_take_a_while)
    try:
        with ThreadPoolExecutor(len(herd)) as pool:
            list(pool.map(lambda live: [live.restore(kept) for _ in range(1500)], herd))
    finally:
        sys.setswitchinterval(interval_s)
        gc.set_threshold(*threshold)
        gc.callbacks.remove(_take_a_while)
    assert all(live.state() == kept for live in herd)


def test_a_state_goes_on_whatever_the_length_of_a_call() -> None:
    whole, pieces = live_horse(), live_horse()
    whole.advance(90.0)
    for _ in range(900):
        pieces.advance(0.1)
    assert pieces.state() == whole.state()


@pytest.mark.parametrize("spoilt", [b"", b"another", "cut", "other model"])
def test_states_that_are_not_ours_are_refused(spoilt: bytes | str) -> None:
    live = live_horse()
    kept = live.state()
    bad = {"cut": kept[:-20], "other model": b"x" + kept[1:]}.get(spoilt, spoilt)  # type: ignore[arg-type]  # the record checks it
    with pytest.raises(InputError, match="state"):
        live.restore(bad)
    assert live.state() == kept


def test_set_by_set_is_what_a_file_with_changes_gives() -> None:
    changes = (
        Change(at_min=2, settings={"tidal_volume_l": 6.5}),
        Change(at_min=4, settings={"respiratory_rate_per_min": 14.0}),
        Change(at_min=6, settings={"mode": "spontaneous", "peep_cmh2o": 8.0}),
    )
    faults = (FaultEvent(code="circuit_leak", at_min=3, severity_fraction=0.5, until_min=7),)
    run = simulate(Case(animal=HORSE, changes=changes, faults=faults), 9.0)
    live = live_horse()
    live.advance(120.0)
    live.set(tidal_volume_l=6.5)
    live.advance(60.0)
    live.fault("circuit_leak", 0.5)
    live.advance(60.0)
    live.set(respiratory_rate_per_min=14.0)
    live.advance(120.0)
    live.set(mode="spontaneous", peep_cmh2o=8.0)
    live.advance(60.0)
    live.fault("circuit_leak", 0.0)
    live.advance(120.0)
    assert live.settings == run.live.settings
    assert live.state() == run.live.state()
    assert [astuple(b) for b in live.breaths] == [astuple(b) for b in run.breaths]


def test_settings_nobody_chose_follow_those_that_are_set() -> None:
    live = live_horse()
    live.set(respiratory_rate_per_min=15.0)
    # a third of a breath of 4 s (the rule of thumb, arithmetic)
    assert live.settings.inspiratory_time_s == pytest.approx(4.0 / 3.0)
    live.set(inspiratory_time_s=1.0)
    live.set(respiratory_rate_per_min=8.0)
    assert live.settings.inspiratory_time_s == 1.0


@pytest.mark.parametrize(
    "settings",
    [
        {"tidal_volume_l": 500.0},
        {"peep_cmh2o": 45.0},
        {"inspiratory_time_s": 8.0},
        {"agent": "sevoflurane"},
        {"tidal_volume": 5.0},
        {"mode": "automatic"},
    ],
)
def test_a_setting_that_cannot_be_changes_nothing(settings: dict[str, float | str]) -> None:
    live = live_horse()
    before = live.settings
    with pytest.raises(InputError):
        live.set(**settings)
    assert live.settings == before
    live.advance(10.0)


@pytest.mark.parametrize("severity_fraction", [-0.1, 1.1, float("nan")])
def test_a_severity_that_cannot_be_changes_nothing(severity_fraction: float) -> None:
    live = live_horse()
    with pytest.raises(OutOfRangeError, match="severity"):
        live.fault("cuff_leak", severity_fraction)
    assert live.active_faults == {}
    live.set(peep_cmh2o=6.0)


def test_an_unknown_fault_names_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="cuff_leak"):
        live_horse().fault("cuf_leak")


def test_faults_begin_grow_and_end() -> None:
    live = live_horse()
    live.fault("cuff_leak", 0.5)
    live.fault("circuit_leak")
    live.fault("cuff_leak", 0.8)
    assert live.active_faults == {"circuit_leak": 1.0, "cuff_leak": 0.8}
    live.fault("circuit_leak", 0.0)
    assert live.active_faults == {"cuff_leak": 0.8}


def test_a_fault_ended_leaves_no_trace_in_the_numbers() -> None:
    live, untouched = live_horse(), live_horse()
    for code in ("tube_obstruction", "low_cardiac_output", "absorber_bypassed", "sample_line_leak"):
        live.fault(code, 0.7)
    for code in ("absorber_bypassed", "tube_obstruction", "sample_line_leak", "low_cardiac_output"):
        live.fault(code, 0.0)
    live.advance(60.0)
    untouched.advance(60.0)
    assert live.state() == untouched.state()


def test_lost_lung_comes_back_with_its_gas() -> None:
    live = live_horse()
    live.advance(300.0)
    lung_l = live._y[s.VOLUME_FAST] + live._y[s.VOLUME_SLOW]  # noqa: SLF001 - the lung is inside
    live.fault("bronchial_intubation")
    kept_l = live._y[s.VOLUME_FAST] + live._y[s.VOLUME_SLOW]  # noqa: SLF001 - the state is inside
    assert kept_l == pytest.approx(0.5 * lung_l, rel=1e-9)  # half of the lung (the fault's law)
    live.fault("bronchial_intubation", 0.0)
    back_l = live._y[s.VOLUME_FAST] + live._y[s.VOLUME_SLOW]  # noqa: SLF001 - the state is inside
    assert back_l == pytest.approx(lung_l, rel=1e-9)
    assert live._y[s.TRAPPED_VOLUME] == pytest.approx(0.0, abs=1e-9)  # noqa: SLF001 - the state is inside


def test_curves_come_in_blocks_that_follow_each_other() -> None:
    live = start(Case(animal=HORSE), trace_rate_hz=50.0)
    first, second = live.advance(2.0), live.advance(1.0)
    assert [block.channel for block in first] == list(s.TRACE_CHANNELS)
    assert {block.rate_hz for block in first} == {50.0}
    assert [len(block.values) for block in first] == [100] * len(first)
    assert {block.start_index for block in second} == {100}
    volume = next(block for block in first if block.channel == "volume_l")
    assert np.isfinite(volume.values).all()


def test_curves_are_the_same_whatever_the_length_of_a_call() -> None:
    whole, pieces = (start(Case(animal=HORSE), trace_rate_hz=50.0) for _ in range(2))
    whole.advance(30.0)
    for _ in range(150):
        pieces.advance(0.2)
    assert np.array_equal(np.concatenate(whole.traces), np.concatenate(pieces.traces))


def test_no_curves_unless_asked_for() -> None:
    assert live_horse().advance(1.0) == []


def test_an_animal_the_model_cannot_hold_says_so() -> None:
    live = live_horse()
    live._y[s.PRESSURE] = float("nan")  # noqa: SLF001 - no case leads there
    with pytest.raises(LungelineError, match="min into the case"):
        live.advance(1.0)

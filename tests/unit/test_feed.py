"""The simulated animal as a feed: every reading once, curves without a gap, an epoch for each beginning."""

from collections.abc import Sequence

import numpy as np
import pytest

from lungeline.case import (
    Animal,
    Block,
    Case,
    DeepBreath,
    DemandValve,
    Disconnect,
    Equipment,
    Reading,
    Settings,
)
from lungeline.errors import MissingError
from lungeline.listen.feed import Feed, SimulatedFeed
from lungeline.reference import figure
from lungeline.simulate import LiveCase, start
from lungeline.simulate.sensors import Instrument

# eight a minute: breaths end at 7.5, 15, 22.5 s, and so on
CASE = Case(
    animal=Animal(species="horse", weight_kg=500.0),
    settings=Settings(tidal_volume_l=6.0, respiratory_rate_per_min=8.0, inspiratory_time_s=2.0),
)
RATE_HZ = 50.0
EXACT = (
    Instrument(key="tidal_volume_inspired_l", source="ventilator", place="reservoir"),
    Instrument(key="tidal_volume_expired_l", source="limb", place="expiratory limb"),
    Instrument(key="tidal_volume_expired_l", source="adapter", place="y"),
    Instrument(key="etco2_mmhg", source="analyser", place="sample line", delay_s=3.0),
)


def feed_of(
    case: Case = CASE,
    instruments: Sequence[Instrument] | None = EXACT,
    trace_rate_hz: float = RATE_HZ,
    seed: int = 1,
) -> SimulatedFeed:
    return SimulatedFeed(start(case, trace_rate_hz=trace_rate_hz), np.random.default_rng(seed), instruments)


def values(readings: Sequence[Reading], source: str) -> list[float | None]:
    return [reading.value for reading in readings if reading.source == source]


def samples(blocks: Sequence[Block], channel: str) -> Sequence[float]:
    (found,) = (block for block in blocks if block.channel == channel)
    return found.values


# --- readings -------------------------------------------------------------------------------------------


def test_it_is_a_feed() -> None:
    feed: Feed = feed_of()
    assert (feed.now_s, feed.epoch_began_s) == (0.0, 0.0)
    assert feed.readings() == []
    assert feed.blocks() == []


@pytest.mark.parametrize("spans_s", [[60.0], [7.5] * 8, [0.1] * 600, [7.4, 0.1, 0.3, 22.2, 30.0]])
def test_whoever_asks_from_the_last_time_gets_each_reading_once(spans_s: list[float]) -> None:
    feed = feed_of(instruments=None)
    taken: list[Reading] = []
    asked_s = -1.0
    for span_s in spans_s:
        feed.advance(span_s)
        taken += feed.readings(asked_s)
        asked_s = feed.now_s
    assert taken == feed.readings()
    # eight breaths have begun by 60 s, and each of the first seven has ended as the next began
    ended = len(feed.live.breaths)
    assert ended == 7
    assert len(values(taken, "ventilator")) == ended
    assert [reading.time_s for reading in taken] == sorted(reading.time_s for reading in taken)


def test_a_breath_that_ends_with_the_advance_is_not_lost() -> None:
    feed = feed_of()
    feed.advance(7.5)
    before = feed.readings()
    feed.advance(0.1)
    assert len(values(before, "ventilator")) + len(values(feed.readings(7.5), "ventilator")) == 1


def test_a_late_number_waits_for_its_time() -> None:
    feed = feed_of()
    feed.advance(10.0)
    assert values(feed.readings(), "analyser") == []  # ended at 7.5 s, 3 s in the line
    feed.advance(0.6)
    assert values(feed.readings(), "analyser") == [pytest.approx(feed.live.breaths[0].etco2_mmhg, abs=1e-8)]


def test_silence_is_told_of_as_well() -> None:
    feed = feed_of(Case(animal=CASE.animal, equipment=Equipment(patient_port="plugged")))
    found: list[Reading] = []
    asked_s = -1.0
    for _ in range(400):
        feed.advance(0.1)
        found += feed.readings(asked_s)
        asked_s = feed.now_s
    told = [reading for reading in found if reading.source == "analyser"]
    assert told
    assert {reading.quality for reading in told} == {"missing"}
    assert found == feed.readings()


def test_the_same_seed_gives_the_same_noise() -> None:
    feeds = [feed_of(instruments=None, seed=seed) for seed in (5, 5, 6)]
    for feed in feeds:
        feed.advance(40.0)
    first, again, other = (feed.readings() for feed in feeds)
    assert first == again
    assert first != other


# --- curves ---------------------------------------------------------------------------------------------


def test_curves_go_on_by_sample_without_a_gap() -> None:
    feed = feed_of()
    parts: list[float] = []
    for span_s in (0.3, 2.0, 0.1, 9.6):
        feed.advance(span_s)
        new = feed.blocks(feed.epoch, len(parts))
        assert {block.start_index for block in new} == {len(parts)}
        parts += samples(new, "flow_l_s")
    assert len(parts) == round(12.0 * RATE_HZ)
    assert parts == samples(feed.blocks(), "flow_l_s")
    assert feed.blocks(feed.epoch, len(parts)) == []
    assert {block.rate_hz for block in feed.blocks()} == {RATE_HZ}


def test_the_pressure_curve_is_the_one_of_the_case_and_gas_comes_later() -> None:
    feed = feed_of()
    feed.advance(20.0)
    true = np.concatenate(feed.live.traces)
    assert samples(feed.blocks(), "pressure_cmh2o") == true[:, 0].tolist()
    late = round(3.0 * RATE_HZ)
    assert samples(feed.blocks(), "co2_mmhg")[late:] == true[:-late, 3].tolist()


def test_what_no_instrument_sees_is_not_handed_out() -> None:
    feed = feed_of()
    feed.advance(1.0)
    channels = {block.channel for block in feed.blocks()}
    assert "pressure_cmh2o" in channels
    assert not {"alveolar_pressure_cmh2o", "volume_l"} & channels


def test_a_case_without_curves_has_readings_all_the_same() -> None:
    feed = feed_of(trace_rate_hz=0.0)
    feed.advance(20.0)
    assert feed.blocks() == []
    assert feed.readings()


def test_a_manoeuvre_leaves_no_gap_in_the_curves() -> None:
    feed = feed_of()
    feed.advance(10.0)
    feed.manoeuvre(Disconnect(minutes=0.5))
    feed.advance(5.0)
    assert len(samples(feed.blocks(), "flow_l_s")) == round(feed.now_s * RATE_HZ)


# --- epochs ---------------------------------------------------------------------------------------------


def test_going_back_begins_an_epoch() -> None:
    feed = feed_of()
    feed.advance(20.0)
    kept, first = feed.live.state(), feed.epoch
    feed.advance(20.0)
    old = samples(feed.blocks(), "pressure_cmh2o")
    feed.restore(kept)
    assert feed.epoch != first
    assert (feed.now_s, feed.epoch_began_s) == (20.0, 20.0)
    assert (feed.readings(), feed.blocks()) == ([], [])
    feed.advance(20.0)
    # asked with the old epoch's index: all of the new one, from its beginning, and what it was before
    again = feed.blocks(first, 1500)
    assert {(block.epoch, block.start_index) for block in again} == {(feed.epoch, 0)}
    assert samples(again, "pressure_cmh2o") == old[1000:]
    assert all(reading.time_s > 20.0 for reading in feed.readings())


def test_no_two_epochs_share_an_id() -> None:
    feed = feed_of()
    kept = feed.live.state()
    ids = {feed.epoch, feed_of().epoch}
    for _ in range(3):
        feed.restore(kept)
        ids.add(feed.epoch)
    assert len(ids) == 5


@pytest.mark.parametrize("move", ["back", "on"])
def test_time_that_moves_behind_its_back_begins_an_epoch(move: str) -> None:
    feed = feed_of()
    kept = feed.live.state()
    feed.advance(20.0)
    first = feed.epoch
    if move == "back":
        feed.live.restore(kept)
    else:
        feed.live.advance(10.0)
    at_s = feed.live.time_s
    feed.advance(5.0)
    assert feed.epoch != first
    assert feed.epoch_began_s == at_s
    assert len(samples(feed.blocks(), "pressure_cmh2o")) == round(5.0 * RATE_HZ)


# --- faults, manoeuvres, blood --------------------------------------------------------------------------


def etco2(feed: SimulatedFeed) -> float:
    value = values(feed.readings(), "analyser")[-1]
    assert value is not None
    return value


def test_a_leak_in_the_sample_line_changes_what_is_shown_and_not_the_animal() -> None:
    sound, leaking = feed_of(), feed_of()
    leaking.live.fault("sample_line_leak", 0.6)
    for feed in (sound, leaking):
        feed.advance(40.0)
    # severity 1 mixes half air into the sample: 0.6 leaves 1 - 0.3
    assert etco2(leaking) == pytest.approx(0.7 * etco2(sound), rel=1e-9)
    assert max(samples(leaking.blocks(), "co2_mmhg")) == pytest.approx(
        0.7 * max(samples(sound.blocks(), "co2_mmhg")), rel=1e-9
    )
    assert leaking.live.breaths == sound.live.breaths


def test_a_hose_that_slips_off_gives_nothing_back_while_the_machine_goes_on() -> None:
    feed = feed_of()
    feed.live.fault("disconnection")
    feed.advance(30.0)
    assert values(feed.readings(), "limb")[-1] == 0.0
    assert values(feed.readings(), "ventilator")[-1] == 6.0


@pytest.mark.parametrize("done", [Disconnect(minutes=0.5), DemandValve(minutes=0.5)])
def test_off_the_circle_by_hand_the_machine_rests(done: Disconnect | DemandValve) -> None:
    feed = feed_of()
    feed.advance(30.0)
    feed.manoeuvre(done)
    shown = feed.readings(31.0)
    assert set(values(shown, "ventilator")) == set(values(shown, "limb")) == {0.0}
    feed.advance(30.0)
    assert values(feed.readings(), "ventilator")[-1] == 6.0


def test_a_port_that_is_open_has_no_machine_at_work() -> None:
    feed = feed_of(Case(animal=CASE.animal, equipment=Equipment(patient_port="open")))
    feed.advance(40.0)
    assert set(values(feed.readings(), "ventilator")) == {0.0}


def test_a_deep_breath_shows_as_one() -> None:
    feed = feed_of()
    feed.advance(10.0)
    feed.manoeuvre(DeepBreath(volume_l=9.0))
    feed.advance(20.0)
    assert values(feed.readings(), "ventilator") == [6.0, 6.0, 9.0]


def test_arterial_values_come_by_the_syringe_only_and_after_the_analyser() -> None:
    feed = feed_of(instruments=None)
    with pytest.raises(MissingError, match="Advance first"):
        feed.draw_blood()
    feed.advance(60.0)
    truth = feed.live.breaths[-1]
    feed.draw_blood()
    delay_s = figure("instruments.blood_gas_analyser.delay_s").value
    feed.advance(delay_s - 1.0)
    assert not [reading for reading in feed.readings() if reading.key == "pao2_mmhg"]
    feed.advance(2.0)
    found = {r.key: r.value for r in feed.readings() if r.source == "blood-gas analyser"}
    assert found.keys() == {"paco2_mmhg", "pao2_mmhg", "arterial_ph"}
    noise_mmhg = figure("instruments.blood_gas_analyser.co2_noise_mmhg").value
    assert truth.paco2_mmhg is not None
    assert found["paco2_mmhg"] == pytest.approx(truth.paco2_mmhg, abs=5 * noise_mmhg)


def test_the_live_case_is_at_hand_for_settings() -> None:
    feed = feed_of()
    assert isinstance(feed.live, LiveCase)
    feed.live.set(tidal_volume_l=5.0)
    feed.advance(30.0)
    assert values(feed.readings(), "ventilator")[-1] == 5.0


def test_what_is_forgotten_leaves_what_is_kept_as_it_was() -> None:
    kept, forgetful = feed_of(), feed_of()
    for _ in range(60):
        for feed in (kept, forgetful):
            feed.advance(1.0)
        forgetful.forget(forgetful.now_s - 10.0)
    assert forgetful.readings(50.0) == kept.readings(50.0)
    assert forgetful.readings() == kept.readings(50.0)
    late = [(block.channel, block.values) for block in kept.blocks(kept.epoch, 2900)]
    assert [(block.channel, block.values) for block in forgetful.blocks(forgetful.epoch, 2900)] == late
    # asked from the beginning, it tells from the first sample there is, and says which
    first = forgetful.blocks()[0]
    assert (
        2400 <= first.start_index <= 2500
    )  # ten seconds at 50 Hz of 3000 samples, whole stretches: arithmetic
    assert first.start_index + len(first.values) == 3000
    assert len(forgetful.live.breaths) + len(forgetful.live.traces) == 0

"""Readings as they are typed, filed and averaged for explanation."""

import math
from dataclasses import replace
from pathlib import Path
from statistics import stdev

import numpy as np
import pytest

from lungeline.case import Animal, Case, Reading, Settings
from lungeline.errors import InputError, MissingError, UnknownNameError
from lungeline.explain.assumed import assumed
from lungeline.explain.channel import channels, noise_sd
from lungeline.explain.measured import measured, typed
from lungeline.explain.readings_file import readings_from_csv, readings_from_file, readings_from_words
from lungeline.explain.shown import looker
from lungeline.explain.trial import Trial


def test_typed_words_become_readings_and_a_dash_is_missing() -> None:
    found = readings_from_words(["etco2_mmhg=41", "map_mmhg=-"])
    assert [(r.key, r.value) for r in found] == [("etco2_mmhg", 41.0)]


def test_another_unit_of_the_same_quantity_is_converted() -> None:
    (found,) = readings_from_words(["etco2_kpa=5.3"])
    assert found.key == "etco2_mmhg"
    assert found.value == pytest.approx(5.3 / 0.133322)  # UCUM: 1 mm[Hg] = 133.322 Pa


def test_the_machines_own_volume_is_another_reading_than_that_at_the_y() -> None:
    found = measured(
        typed({"tidal_volume_inspired_l": 5.0, "tidal_volume_inspired_l@reservoir": 6.0}), assumed()
    )
    assert {name: it.now for name, it in found.observed.items()} == {
        "tidal_volume_inspired_l": 5.0,
        "tidal_volume_inspired_l@reservoir": 6.0,
    }


@pytest.mark.parametrize("words", [["etco2_mmhg"], ["etco2_mmhg=forty"], ["etco2_mmhg=inf"]])
def test_what_is_no_number_is_refused(words: list[str]) -> None:
    with pytest.raises(InputError):
        readings_from_words(words)


def test_an_unknown_reading_names_the_nearest() -> None:
    with pytest.raises(UnknownNameError, match="etco2_mmhg"):
        readings_from_words(["etc02_mmhg=40"])


def test_a_table_keeps_its_times_and_leaves_empty_cells_out() -> None:
    found = readings_from_csv("time_min,map_mmhg,etco2_mmhg\n0,70,40\n5,,44\n")
    assert [(r.time_s, r.key, r.value) for r in found] == [
        (0.0, "map_mmhg", 70.0),
        (0.0, "etco2_mmhg", 40.0),
        (300.0, "etco2_mmhg", 44.0),
    ]


@pytest.mark.parametrize("text", ["map_mmhg\n70\n", "time_min,map_mmhg\n0\n", "time_min,map_mmhg\n0,70,80\n"])
def test_a_table_without_time_or_with_wrong_rows_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        readings_from_csv(text)


def test_a_file_that_is_not_there_is_missing(tmp_path: Path) -> None:
    with pytest.raises(MissingError):
        readings_from_file(tmp_path / "none.csv")


def row(time_s: float, value: float | None, key: str = "map_mmhg") -> Reading:
    return Reading(
        time_s=time_s, key=key, value=value, source="typed", quality="missing" if value is None else "good"
    )


def test_now_and_before_are_means_and_missing_readings_are_left_out() -> None:
    found = measured([row(0, 70), row(10, 72), row(500, 60), row(520, None), row(540, 62)], assumed(), 20.0)
    it = found.observed["map_mmhg"]
    assert (it.before, it.now) == (71.0, 61.0)


def test_readings_of_before_alone_are_no_reading_of_now() -> None:
    found = measured([row(0, 70), row(500, 40, "etco2_mmhg")], assumed(), 20.0)
    assert set(found.observed) == {"etco2_mmhg"}


def test_what_was_read_two_minutes_ago_is_kept_for_the_trend() -> None:
    found = measured([row(0, 70), row(300, 66), row(420, 60)], assumed(), 20.0)
    assert found.observed["map_mmhg"].earlier == 66.0


def test_no_reading_at_all_is_refused() -> None:
    with pytest.raises(InputError):
        measured([row(0, None)], assumed())


@pytest.mark.parametrize(("channel", "least", "most"), [
    ("etco2_mmhg", 0.98, 1.02), ("peak_pressure_cmh2o", 0.98, 1.2), ("map_mmhg", 0.98, 1.02),
])  # fmt: skip
def test_averaging_takes_noise_away_and_what_it_shakes_off_a_step(
    channel: str, least: float, most: float
) -> None:
    """Against drawn readings, each rounded: never too sure, and at most a fifth too careful."""
    tool, g = channels()[channel], np.random.default_rng(1)
    true = g.uniform(40.0, 50.0, size=(40_000, 1))
    read = true + tool.noise_sd * g.standard_normal((len(true), 4))
    read = np.round(read / tool.display_step) * tool.display_step
    off = float(np.std(read.mean(axis=1) - true[:, 0]))
    assert least <= noise_sd(channel, 40.0, 4) / off <= most


def test_averaging_leaves_the_step_of_a_display_that_nothing_shakes() -> None:
    step = channels()["respiratory_rate_per_min"].display_step / math.sqrt(12.0)  # closed form
    assert noise_sd("respiratory_rate_per_min", 8.0, 4) == pytest.approx(step)


def test_mac_is_not_counted_beside_the_agent_it_is_worked_out_from() -> None:
    found = measured(typed({"mac_multiple": 1.0, "end_tidal_agent_fraction": 0.013}), assumed())
    assert set(found.observed) == {"end_tidal_agent_fraction"}


def test_what_was_is_the_mean_of_the_last_minutes_the_newest_weighing_most() -> None:
    before = [*typed({"map_mmhg": 64.0}, -240.0), *typed({"map_mmhg": 70.0}, 0.0)]
    it = measured([*before, *typed({"map_mmhg": 70.0}, 60.0)], assumed(), 0.0).observed["map_mmhg"]
    assert it.before is not None
    assert 67.0 < it.before < 70.0
    alone = measured([*before[1:], *typed({"map_mmhg": 70.0}, 60.0)], assumed(), 0.0).observed["map_mmhg"]
    assert it.before_sd < alone.before_sd


def test_readings_are_kept_minute_by_minute_and_no_further_than_is_simulated() -> None:
    rows = [it for minute in range(30) for it in typed({"map_mmhg": float(minute)}, 60.0 * minute + 1.0)]
    looks = measured(rows, assumed(), 0.0).observed["map_mmhg"].looks
    assert [(look.back_s, look.value) for look in looks] == [(60.0 * i, 29.0 - i) for i in range(8, -1, -1)]


def test_breaths_that_swing_are_trusted_less() -> None:
    """The mean of five errs by their own scatter over the root of five, however good the instrument is."""
    swinging = (20.0, 30.0, 40.0, 30.0, 20.0)
    rows = [it for i, value in enumerate(swinging) for it in typed({"etco2_mmhg": value}, 10.0 * i)]
    (look,) = measured(rows, assumed()).observed["etco2_mmhg"].looks
    assert look.noise_sd == pytest.approx(stdev(swinging) / math.sqrt(5.0))


def test_what_was_read_long_before_is_better_than_nothing() -> None:
    it = measured([*typed({"map_mmhg": 64.0}, -1500.0), *typed({"map_mmhg": 70.0}, 60.0)], assumed(), 0.0)
    seen = it.observed["map_mmhg"]
    assert seen.before == 64.0
    fresh = measured([*typed({"map_mmhg": 64.0}, 0.0), *typed({"map_mmhg": 70.0}, 60.0)], assumed(), 0.0)
    assert seen.before_sd > 2.0 * fresh.observed["map_mmhg"].before_sd


@pytest.mark.parametrize("fault", ["", "tube_obstruction", "abdominal_distension"])
def test_a_breath_held_in_shows_what_a_long_pause_does(fault: str) -> None:
    """Without a pause nobody reads a plateau; held in, it is what two seconds of pause show."""
    case = Case(animal=Animal(species="horse", weight_kg=520.0), settings=Settings(tidal_volume_l=6.0))

    def plateau_cmh2o(pause_s: float) -> float:
        live = Trial(replace(case, settings=replace(case.settings, pause_s=pause_s)), dt_s=0.05)
        live.try_cause(fault, 0.6, None)
        return looker(live.rows(300.0), live.sensor_errors)(live.time_s)["plateau_pressure_cmh2o"]

    assert plateau_cmh2o(0.0) == pytest.approx(plateau_cmh2o(2.0), abs=1.5)

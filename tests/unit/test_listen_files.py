"""Files of curves: mapped, remembered, resampled; what is wrong with them is told, and stops no reading."""

import math
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from edfio import Edf, EdfAnnotation, EdfSignal
from hypothesis import given, settings
from hypothesis import strategies as st

from lungeline.errors import InputError, LungelineError, MissingError, UnitError, UnknownNameError
from lungeline.listen.columns import Column, Columns, columns_from_toml, columns_to_toml, guessed, remembered
from lungeline.listen.csv_file import feed_from_csv, feed_from_text
from lungeline.listen.edf_file import feed_from_edf
from lungeline.listen.file_feed import FileFeed
from lungeline.words import say

if TYPE_CHECKING:
    from lungeline.listen.feed import Feed

HEAD = "time (s),Paw (mbar),Flow (L/min),etco2_kpa\n"


def whole(feed: FileFeed) -> dict[str, list[float]]:
    """All curves of the feed's present stretch."""
    feed.advance(math.inf)
    return {block.channel: list(block.values) for block in feed.blocks()}


def codes(feed: FileFeed) -> list[str]:
    """What was wrong, each of it with a wording."""
    return [say(finding).code for finding in feed.findings]


def rows(count: int, start: float = 0.0, step: float = 0.02) -> str:
    """Rows of a table with the columns of HEAD."""
    return "".join(f"{start + step * i:.3f},{10 + i},{60 * i},5.0\n" for i in range(count))


def test_columns_are_guessed_converted_and_are_a_feed() -> None:
    feed: FileFeed = feed_from_text(HEAD + rows(50), "monitor.csv")
    same: Feed = feed
    curves = whole(feed)
    assert same.source == "monitor.csv"
    # UCUM: 10 mbar = 1 kPa = 10.197 cmH2O; 60 L/min = 1 L/s; 5 kPa = 37.503 mmHg
    assert curves["pressure_cmh2o"][0] == pytest.approx(10.197, abs=1e-3)
    assert curves["flow_l_s"] == pytest.approx([float(i) for i in range(50)])
    assert feed.blocks()[0].rate_hz == 50.0
    assert {reading.key: reading.value for reading in feed.readings()} == {
        "etco2_mmhg": pytest.approx(37.503, abs=1e-3)
    }
    assert codes(feed) == []


def test_a_feed_plays_at_any_pace() -> None:
    feed = feed_from_text(HEAD + rows(100), "x")
    feed.advance(0.5)
    first = feed.blocks()
    assert len(first[0].values) == 25  # arithmetic: 0.5 s at 50 Hz
    assert not feed.ended
    feed.advance(0.5)
    more = feed.blocks(first[0].epoch, 25)
    assert (more[0].start_index, len(more[0].values)) == (25, 25)
    feed.advance(10.0)
    assert feed.ended
    assert feed.blocks(first[0].epoch, 100) == []


def test_what_columns_mean_is_remembered(tmp_path: Path) -> None:
    file = tmp_path / "theatre two.toml"
    first = remembered(file, ["time (s)", "Paw (mbar)"])
    assert columns_from_toml(file.read_text(encoding="utf-8")) == first
    corrected = file.read_text(encoding="utf-8").replace('"mbar"', '"kpa"')
    file.write_text(corrected, encoding="utf-8")
    feed = feed_from_text("time (s),Paw (mbar)\n0,1\n0.02,2\n", "x", remember=file)
    assert whole(feed)["pressure_cmh2o"] == pytest.approx([10.197, 20.394], abs=1e-3)  # UCUM: 1 kPa


@given(st.text(max_size=20), st.text(min_size=1, max_size=20))
def test_a_columns_file_says_what_was_put_in(time: str, name: str) -> None:
    columns = Columns(time=time, time_unit="ms", columns=(Column(name=name, key="flow_l_s", unit="ml_min"),))
    assert columns_from_toml(columns_to_toml(columns)) == columns


def test_wrong_columns_are_refused() -> None:
    with pytest.raises(UnknownNameError):
        Column(name="x", key="paco2", unit="mmhg")
    with pytest.raises(UnitError):
        Column(name="x", key="flow_l_s", unit="mmhg")
    with pytest.raises(InputError):
        Columns(
            columns=(
                Column(name="a", key="flow_l_s", unit="l_s"),
                Column(name="b", key="flow_l_s", unit="l_s"),
            )
        )
    with pytest.raises(MissingError):
        guessed(["a", "b"])
    with pytest.raises(InputError):
        columns_from_toml('schema = "something/1"')
    other = Columns(time="t", columns=(Column(name="gone", key="flow_l_s", unit="l_s"),))
    with pytest.raises(MissingError):
        feed_from_text("t,flow\n0,1\n", "x", other)


def test_repeated_and_late_rows_are_left_out_and_told() -> None:
    feed = feed_from_text(HEAD + rows(30) + rows(10, start=0.2) + rows(30, start=0.6), "x")
    assert whole(feed)["flow_l_s"] == pytest.approx([*map(float, range(30)), *map(float, range(30))])
    assert codes(feed) == ["rows_repeated"]


def test_a_clock_that_is_set_begins_an_epoch() -> None:
    feed = feed_from_text(HEAD + rows(50, start=1000.0) + rows(50) + rows(50, start=90_000.0), "x")
    epochs, began = [], []
    while not feed.ended:
        feed.advance(100.0)
        epochs.append(feed.epoch)
        began.append(feed.epoch_began_s)
        assert len(feed.blocks()[0].values) == 50
    assert len(set(epochs)) == 3
    assert began == pytest.approx([999.98, -0.02, 89_999.98])
    assert codes(feed) == ["clock_jumped"]


def test_gaps_and_empty_cells_stay_gaps() -> None:
    text = HEAD + rows(20) + "0.400,,nan,\n" + rows(20, start=2.0)
    feed = feed_from_text(text, "x")
    flow = np.array(whole(feed)["flow_l_s"])
    assert len(flow) == 120  # arithmetic: 2.38 s at 50 Hz, both ends counted
    assert np.isnan(flow[25:95]).all()
    assert np.isfinite(flow[:20]).all()
    assert codes(feed) == ["curve_gaps"]


def test_irregular_samples_come_on_an_even_grid() -> None:
    random = np.random.default_rng(2)
    at = np.cumsum(random.uniform(0.015, 0.025, 500))
    text = "t,flow_l_s\n" + "".join(f"{time:.5f},{2.0 * time:.5f}\n" for time in at)
    feed = feed_from_text(text, "x")
    flow = np.array(whole(feed)["flow_l_s"])
    rate_hz = feed.blocks()[0].rate_hz
    grid = feed.epoch_began_s + (np.arange(len(flow)) + 1.0) / rate_hz
    # a straight line stays one
    assert flow[:-1] == pytest.approx(2.0 * grid[:-1], abs=1e-3)


def test_clocks_dates_commas_and_unreadable_rows() -> None:
    text = "clock;Flow (L/s)\n10:00:00,00;0,5\n10:00:00,02;0,6\nrubbish;1\n10:00:00,04;0,7\n"
    feed = feed_from_text(text, "x")
    assert whole(feed)["flow_l_s"] == pytest.approx([0.5, 0.6, 0.7])
    assert codes(feed) == ["rows_unreadable"]
    dated = "time,Flow (L/s)\n2024-05-01T10:00:00,1\n2024-05-01T10:00:01,2\n"
    assert whole(feed_from_text(dated, "x"))["flow_l_s"] == pytest.approx([1.0, 2.0])


def test_files_that_are_none_are_refused(tmp_path: Path) -> None:
    with pytest.raises(MissingError):
        feed_from_csv(tmp_path / "none.csv")
    with pytest.raises(MissingError):
        feed_from_edf(tmp_path / "none.edf")
    bad = tmp_path / "bad.edf"
    bad.write_bytes(b"no edf at all")
    with pytest.raises(InputError):
        feed_from_edf(bad)
    for text in ("", "a,b\n", "nothing", HEAD):
        with pytest.raises(InputError):
            feed_from_text(text, "x")


@settings(max_examples=60, deadline=None)
@given(st.lists(st.text(st.characters(codec="utf-8"), max_size=30), max_size=12))
def test_any_text_is_read_or_refused(lines: list[str]) -> None:
    for head in ("", HEAD):
        try:
            feed = feed_from_text(head + "\n".join(lines), "x")
        except LungelineError:
            continue
        while not feed.ended:
            feed.advance(1e9)
            feed.blocks()
            feed.readings()


def edf_of(tmp_path: Path) -> Path:
    """Four seconds, flow at 100 Hz, carbon dioxide at 25 Hz, in records of a second."""
    path = tmp_path / "case.edf"
    signals = [
        EdfSignal(np.linspace(-2.0, 2.0, 400), 100.0, label="Paw", physical_dimension="mbar"),
        EdfSignal(np.linspace(0.0, 60.0, 400), 100.0, label="Flow", physical_dimension="L/min"),
        EdfSignal(np.linspace(0.0, 5.0, 100), 25.0, label="CO2", physical_dimension="kPa"),
        EdfSignal(np.zeros(400), 100.0, label="ECG", physical_dimension="mV"),
    ]
    Edf(signals, annotations=[EdfAnnotation(1.0, None, "turned")], data_record_duration=1.0).write(path)
    return path


def test_an_edf_file_is_read(tmp_path: Path) -> None:
    feed = feed_from_edf(edf_of(tmp_path))
    curves = whole(feed)
    assert {block.channel: block.rate_hz for block in feed.blocks()} == {
        "pressure_cmh2o": 100.0, "flow_l_s": 100.0, "co2_mmhg": 25.0,
    }  # fmt: skip
    # 16 bits over the range: 60 L/min / 65535 is 2e-5 L/s
    assert curves["flow_l_s"] == pytest.approx(np.linspace(0.0, 1.0, 400).tolist(), abs=1e-4)
    assert curves["co2_mmhg"][-1] == pytest.approx(37.503, abs=2e-3)
    assert codes(feed) == []


def test_a_discontinuous_edf_file_keeps_its_gaps(tmp_path: Path) -> None:
    path = edf_of(tmp_path)
    content = path.read_bytes()
    # the standard's mark, and the third record moved on by 10 s, in the first annotation of that record
    content = content[:192] + b"EDF+D" + content[197:]
    for old, new in (
        (b"+2\x14\x14\x00\x00", b"+12\x14\x14\x00"),
        (b"+3\x14\x14\x00\x00", b"+13\x14\x14\x00"),
    ):
        assert content.count(old) == 1
        content = content.replace(old, new)
    path.write_bytes(content)
    feed = feed_from_edf(path)
    flow = np.array(whole(feed)["flow_l_s"])
    assert len(flow) == 1400
    assert np.isnan(flow[200:1200]).all()
    assert np.isfinite(flow[1200:]).all()
    assert codes(feed) == ["curve_gaps"]
    assert feed.now_s == pytest.approx(14.0)  # arithmetic

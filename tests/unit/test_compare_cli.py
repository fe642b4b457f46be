"""`lungeline watch`: breaths and deviations of a file, as text and as JSON."""

import csv
import json
from pathlib import Path

import pytest

from lungeline.case import Animal, Case, Settings
from lungeline.cli.main import main
from lungeline.simulate import simulate

CASE = """
[animal]
species = "horse"
weight_kg = 500
[settings]
tidal_volume_l = {volume}
respiratory_rate_per_min = 10
peep_cmh2o = 5
"""


@pytest.fixture(scope="module", name="curves")
def _curves(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three minutes of a horse breathing 5 L ten times a minute."""
    settings = Settings(tidal_volume_l=5.0, respiratory_rate_per_min=10.0, peep_cmh2o=5.0)
    case = Case(animal=Animal(species="horse", weight_kg=500.0), settings=settings)
    traces = simulate(case, 3.0, trace_rate_hz=50.0).traces
    path = tmp_path_factory.mktemp("watch") / "curves.csv"
    columns = ("time_s", "pressure_cmh2o", "flow_l_s", "co2_mmhg")
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(columns)
        writer.writerows(zip(*(traces[name].tolist() for name in columns), strict=True))
    return path


def case_file(folder: Path, volume: float) -> str:
    """A case with this tidal volume set."""
    path = folder / f"case{volume:g}.toml"
    path.write_text(CASE.format(volume=volume), encoding="utf-8")
    return str(path)


def test_breaths_are_told(curves: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["watch", str(curves)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "curves.csv: 28 breaths."
    assert len(lines) == 3 + 12


def test_as_set_nothing_deviates(curves: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["watch", str(curves), "--case", case_file(tmp_path, 5.0), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert len(told["breaths"]) == 28
    assert told["deviations"] == []


def test_another_volume_deviates(curves: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["watch", str(curves), "--case", case_file(tmp_path, 7.0)]) == 0
    text = capsys.readouterr().out
    assert "tidal_volume_inspired_l: 5" in text
    assert "set 7 L" in text


def test_columns_are_remembered(curves: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    columns = tmp_path / "columns.toml"
    assert main(["watch", str(curves), "--columns", str(columns)]) == 0
    assert 'key = "flow_l_s"' in columns.read_text(encoding="utf-8")
    columns.write_text("rubbish", encoding="utf-8")
    capsys.readouterr()
    assert main(["watch", str(curves), "--columns", str(columns), "--json"]) == 2
    assert json.loads(capsys.readouterr().out)["error"]["where"] == "columns file"


@pytest.mark.parametrize("words", [["nothing.csv"], ["nothing.edf"], ["x.csv", "--seed", "-1"]])
def test_what_cannot_be_watched_is_refused(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["watch", *words]) == 2
    assert "allowed" in capsys.readouterr().err

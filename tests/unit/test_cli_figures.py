"""`lungeline figures`: lists, one card, JSON, memory, faults and errors."""

import json
import subprocess
import sys

import pytest

from lungeline import reference
from lungeline.cli.main import main
from lungeline.simulate.faults import FAULTS


def call(*words: str) -> int:
    return main(["figures", *words])


def test_a_prefix_lists_its_figures(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("agents.isoflurane.mac_") == 0
    lines = capsys.readouterr().out.splitlines()
    expected = [name for name in reference.figures() if name.startswith("agents.isoflurane.mac_")]
    assert lines[0].split() == ["figure", "value", "range", "basis", "source", "seen"]
    assert [line.split()[0] for line in lines[2:-2]] == expected
    donkey = next(line for line in lines if "donkey" in line)
    assert donkey.split("  ")[0] == "agents.isoflurane.mac_donkey_percent"
    assert "1.44 %" in donkey  # Maney 2022, Am J Vet Res: 1.44 ± 0.13 %
    assert "1.31 to 1.57" in donkey
    assert lines[-1].startswith(f"{len(expected)} figures, ")


def test_no_name_lists_all(capsys: pytest.CaptureFixture[str]) -> None:
    assert call() == 0
    assert capsys.readouterr().out.splitlines()[-1].startswith(f"{len(reference.figures())} figures")


def test_an_exact_name_shows_the_whole_card(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("circle.volume_40l_bag_l") == 0
    text = capsys.readouterr().out
    for part in ("49.26 L", "48.68 to 49.84", "measured", "abstract", "Am J Vet Res 2005;66:1675", "SEM"):
        assert part in text
    assert "Rests on memory" not in text


def test_a_card_from_memory_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("agents.isoflurane.mac_cattle_percent") == 0
    assert "Rests on memory" in capsys.readouterr().out


def test_memory_lists_only_those(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("tubes", "--memory", "--json") == 0
    found = json.loads(capsys.readouterr().out)["figures"]
    expected = [
        name
        for name, item in reference.figures().items()
        if name.startswith("tubes") and item.rests_on_memory
    ]
    assert [item["name"] for item in found] == expected
    assert all(item["rests_on_memory"] for item in found)


def test_memory_where_nothing_rests_on_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("drugs.dobutamine", "--memory") == 0
    assert "No figure" in capsys.readouterr().out


def test_json_holds_figures_and_their_sources(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("defaults.horse", "--json") == 0
    content = json.loads(capsys.readouterr().out)
    assert content["schema"] == "figures/1"
    first = content["figures"][0]
    assert first.pop("rests_on_memory") is False
    assert first == reference.figure("defaults.horse.tidal_volume_ml_kg").as_json()
    assert content["sources"].keys() == {item["source"] for item in content["figures"]}
    assert content["sources"]["common-practice"]["citation"] == "common practice, no source"


def test_an_unknown_name_is_an_error_with_advice(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("defaults.horse.tidal_volum_ml_kgs") == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert 'Did you mean "defaults.horse.tidal_volume_ml_kg"?' in told.err


def test_an_unknown_name_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("defaults.horse.tidal_volum_ml_kgs", "--json") == 2
    error = json.loads(capsys.readouterr().out)["error"]
    assert error["code"] == "unknown_name"
    assert error["given"] == "defaults.horse.tidal_volum_ml_kgs"
    assert set(error) == {"code", "where", "given", "allowed", "do"}


def test_faults_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("--faults", "--json") == 0
    listed = {item["code"]: item for item in json.loads(capsys.readouterr().out)["faults"]}
    assert listed.keys() == FAULTS.keys()
    assert listed["cuff_leak"]["domain"] == "circuit"
    assert listed["cuff_leak"]["signs"] == dict(FAULTS["cuff_leak"].signs)
    assert listed["cuff_leak"]["in_model"] is True


def test_faults_as_a_table(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("--faults", "relief") == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 3
    assert lines[2].startswith("relief_shut")


def test_an_unknown_fault_is_an_error(capsys: pytest.CaptureFixture[str]) -> None:
    assert call("--faults", "cuff_leek") == 2
    assert '"cuff_leak"' in capsys.readouterr().err


def test_listing_figures_loads_no_numerical_library() -> None:
    code = (
        "import argparse, sys; from lungeline.cli import figures;"
        "p = argparse.ArgumentParser(); figures.add_parser(p.add_subparsers());"
        "figures.run(p.parse_args(['figures', 'drugs']));"
        "sys.exit(bool({'numpy', 'numba', 'matplotlib'} & sys.modules.keys()))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode == 0

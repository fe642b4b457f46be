"""Rehearsing by the command line: the list, a script of one's own, a scenario of one's own."""

import json
from pathlib import Path

import pytest

from lungeline.cli.main import main
from lungeline.rehearse.scenario_file import FOLDER

pytestmark = pytest.mark.slow

SCRIPT = """at_s,deed,with
70,look at capnogram,
80,check hoses,
85,reconnect,
90,name the cause,cause=disconnection
95,set,respiratory_rate_per_min=7; tidal_volume_l=6
"""


def _json(capsys: pytest.CaptureFixture[str], *words: str, status: int = 0) -> dict[str, object]:
    assert main([*words, "--json"]) == status
    found: dict[str, object] = json.loads(capsys.readouterr().out)
    return found


def test_the_list_names_every_scenario(capsys: pytest.CaptureFixture[str]) -> None:
    rows = _json(capsys, "rehearse", "--list")["scenarios"]
    assert isinstance(rows, list)
    assert len(rows) == len(list(FOLDER.glob("*.toml"))) >= 27
    assert all({"name", "objective", "title"} <= row.keys() for row in rows)


def test_a_script_is_played_to_its_end(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    script = tmp_path / "mine.csv"
    script.write_text(SCRIPT, encoding="utf-8")
    told = _json(capsys, "rehearse", "disconnection", "--script", str(script))
    assert told["passed"] is True
    assert told["simulated"] is True
    assert isinstance(told["times"], dict)
    assert told["times"]["name_s"] == pytest.approx(30.0, abs=0.2)  # happens at 60 s, named at 90 s
    assert told["times"]["treat_s"] == pytest.approx(25.0, abs=0.2)
    assert isinstance(told["acts"], list)
    assert told["acts"][1]["shown"] == "The Y is off the tube."


def test_the_debrief_says_simulated_and_prompts_in_order(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rehearse", "disconnection", "--answer", "nothing"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("SIMULATED")
    places = [told.index(word) for word in ("Reactions:", "Description:", "Analysis:", "Summary:")]
    assert places == sorted(places)


def test_a_scenario_of_ones_own_is_proven(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (FOLDER / "cuff_leak.toml").read_text(encoding="utf-8")
    good, bad = tmp_path / "good.toml", tmp_path / "too_easy.toml"
    good.write_text(text, encoding="utf-8")
    # a minute to seal it in, and the model answer comes too late
    bad.write_text(text.replace("within_s = 240", "within_s = 10"), encoding="utf-8")
    assert main(["rehearse", str(good), "--prove"]) == 0
    assert main(["rehearse", str(bad), "--prove"]) == 1
    assert "WRONG" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("wrong", "right", "named"),
    [
        ('fault = "cuff_leek"', 'fault = "cuff_leak"', "cuff_leak"),
        ('deed = "inflate cuf"', 'deed = "inflate cuff"', "inflate cuff"),
        ('key = "etco2"', 'key = "etco2_mmhg"', "etco2_mmhg"),
        ('after = "cuff_gave"', 'after = "cuff_gives"', "cuff_gives"),
    ],
)
def test_what_is_misspelt_is_refused_with_the_nearest(
    wrong: str, right: str, named: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (FOLDER / "cuff_leak.toml").read_text(encoding="utf-8")
    assert right in text
    own = tmp_path / "own.toml"
    own.write_text(text.replace(right, wrong), encoding="utf-8")
    assert main(["rehearse", str(own)]) == 2
    assert named in capsys.readouterr().err


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("x,reconnect,", "line 2"),
        ("10,reconect,", "reconnect"),
        ("10,set,peep_cmh2o", "key=value"),
        ("10,set,peep_cmh2o=900", "peep_cmh2o"),
        ("-5,reconnect,", "line 2"),
    ],
)
def test_a_line_that_cannot_be_done_is_refused(
    line: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    script = tmp_path / "mine.csv"
    script.write_text(f"at_s,deed,with\n{line}\n", encoding="utf-8")
    assert main(["rehearse", "disconnection", "--script", str(script)]) == 2
    assert told in capsys.readouterr().err

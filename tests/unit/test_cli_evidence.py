"""`lungeline evidence`: what it prints, as text, as JSON, as a picture. The comparisons are made up here."""

import json
import math
from pathlib import Path

import pytest

from lungeline import evidence
from lungeline.cli.main import main
from lungeline.evidence import COMPARISONS, Result

FIRST = COMPARISONS[0]  # dorsal, conventional: PaO2/FiO2 198 +/- 112 mmHg


@pytest.fixture(autouse=True)
def no_simulation(monkeypatch: pytest.MonkeyPatch) -> None:
    def made_up(_pool: object, *, progress: object) -> list[Result]:
        assert callable(progress)
        return [
            Result(comparison=item, ours=205.0 if item is FIRST else math.nan, inside=item is FIRST)
            for item in COMPARISONS
        ]

    monkeypatch.setattr(evidence, "run_all", made_up)


def test_text_shows_published_ours_and_verdict_on_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["evidence"]) == 0
    lines = capsys.readouterr().out.splitlines()
    (line,) = [line for line in lines if "198 ± 112" in line and "ours 205 mmHg" in line]
    assert line.split()[-2:] == ["inside", "*"]
    assert f"1 of {len(COMPARISONS)} comparisons agree" in "\n".join(lines)
    assert "not a medical device" in lines[-1]


def test_text_names_every_comparison_outside_with_its_reason(capsys: pytest.CaptureFixture[str]) -> None:
    main(["evidence"])
    told = capsys.readouterr().out.partition("Outside, and why")[2]
    assert [item.key for item in COMPARISONS[1:] if item.key not in told] == []
    assert FIRST.key not in told.split()


def test_json_holds_every_comparison_and_null_for_what_is_missing(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["evidence", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["inside"], told["of"]) == (1, len(COMPARISONS))
    first, second, *_ = told["comparisons"]
    assert (first["low"], first["high"], first["ours"]) == (86.0, 310.0, 205.0)  # 198 -/+ 112, arithmetic
    assert second["ours"] is None


def test_a_picture_is_drawn_the_same_each_time(tmp_path: Path) -> None:
    drawn = []
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        assert main(["evidence", "--plot", str(tmp_path / name)]) == 0
        drawn.append((tmp_path / name / "evidence.svg").read_bytes())
    assert b"SIMULATED" in drawn[0]
    assert drawn[0] == drawn[1]


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["evidence", "--plot", str(tmp_path / "nowhere")]) == 2
    assert "Make the folder first" in capsys.readouterr().err

"""Rehearsing on paper and with people, by the command line: what if, PDFs, skills signed off."""

import io
import json
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from lungeline.cli.main import main
from lungeline.theatre.people_file import add_person, set_pin

pytestmark = pytest.mark.slow
MINE = "at_s,deed,with\n75,look at bellows,\n"
OTHER = "at_s,deed,with\n80,check hoses,\n90,reconnect,\n"


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("LUNGELINE_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("LUNGELINE_KEY_FILE", str(tmp_path / "key" / "record.key"))
    return tmp_path / "data"


@pytest.fixture
def scripts(tmp_path: Path) -> tuple[str, str]:
    mine, other = tmp_path / "mine.csv", tmp_path / "other.csv"
    mine.write_text(MINE, encoding="utf-8")
    other.write_text(OTHER, encoding="utf-8")
    return str(mine), str(other)


def _json(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    assert main([*words, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def _text(path: Path) -> str:
    return " ".join(page.extract_text() for page in PdfReader(io.BytesIO(path.read_bytes())).pages)


def test_what_if_tells_both_ways(scripts: tuple[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    mine, other = scripts
    words = ("rehearse", "disconnection", "--script", mine, "--what-if", other, "--from-s", "80")
    told = _json(capsys, *words)
    assert (told["simulated"], told["from_s"]) == (True, 80.0)
    assert (told["was"]["passed"], told["would"]["passed"]) == (False, True)
    assert main(list(words)) == 0
    out = capsys.readouterr().out
    assert out.startswith("SIMULATED")
    assert "it would be" in out


@pytest.mark.parametrize(
    "words",
    [
        ("--what-if", "other", "--from-s", "80"),
        ("--script", "mine", "--what-if", "other"),
        ("--script", "mine", "--from-s", "80"),
        ("--script", "mine", "--what-if", "other", "--from-s", "85"),
        ("--script", "mine", "--what-if", "other", "--from-s", "5000"),
        ("--pdf", "out.pdf"),
        ("--script", "mine", "--pdf", "/nowhere/at/all.pdf"),
    ],
)
def test_half_a_question_is_refused(
    words: tuple[str, ...], scripts: tuple[str, str], capsys: pytest.CaptureFixture[str]
) -> None:
    paths = dict(zip(("mine", "other"), scripts, strict=True))
    assert main(["rehearse", "disconnection", *(paths.get(word, word) for word in words)]) == 2
    assert "allowed" in capsys.readouterr().err


def test_the_debrief_the_handout_and_the_bench_guide_are_written(
    scripts: tuple[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mine, other = scripts
    debrief, handout, bench = (tmp_path / f"{name}.pdf" for name in ("debrief", "handout", "bench"))
    both = ("--what-if", other, "--from-s", "80")
    assert main(["rehearse", "disconnection", "--script", mine, *both, "--pdf", str(debrief)]) == 0
    assert main(["rehearse", "disconnection", "--handout", str(handout), "--bench-guide", str(bench)]) == 0
    assert capsys.readouterr().out.count("written: ") == 3
    assert "What if, from 1:20" in _text(debrief)
    assert "FOR THE LEARNER" in _text(handout)
    assert "Read off and type in" in _text(bench)


def test_a_skill_is_signed_off_and_the_group_stays_without_names(
    data: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    people = data / "people.toml"
    add_person(people, "T. Teacher", "teacher")
    set_pin(people, "T. Teacher", "2580")

    def sign(pin: str) -> int:
        monkeypatch.setattr("sys.stdin", io.StringIO(f"{pin}\n"))
        words = ("--sign-off", "S. Student", "--skill", "act", "--assessor", "T. Teacher", "--note", "calm")
        return main(["rehearse", "disconnection", *words])

    assert sign("1111") == 2
    assert sign("2580") == 0
    capsys.readouterr()
    told = _json(capsys, "rehearse", "--signed-off", "S. Student")
    assert [(it["skill"], it["scenario"], it["passed"]) for it in told["lines"]] == [
        ("act", "disconnection", True)
    ]
    assert main(["rehearse", "--group"]) == 0
    out = capsys.readouterr().out
    assert "fewer than five people" in out
    assert "S. Student" not in out

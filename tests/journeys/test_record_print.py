"""A case printed from the command line, and handed over."""

import json
from pathlib import Path

import pytest

from lungeline.cli.main import main


@pytest.fixture
def case(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> str:
    monkeypatch.setenv("LUNGELINE_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("LUNGELINE_KEY_FILE", str(tmp_path / "key" / "record.key"))
    monkeypatch.setenv("LUNGELINE_AUTHOR", "A. Vet")
    new = ["case", "new", "--purpose", "real", "--name", "Stella", "--species", "horse", "--weight-kg", "520"]
    assert main([*new, "--json"]) == 0
    opened: str = json.loads(capsys.readouterr().out)["case"]
    assert main(["case", "enter", opened, "--map-mmhg", "66", "--etco2-mmhg", "43"]) == 0
    capsys.readouterr()
    return opened


def test_print_writes_a_pdf_where_it_was_asked_to(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "record.pdf"
    assert main(["case", "print", case, "--to", str(target), "--paper", "letter"]) == 0
    assert str(target) in capsys.readouterr().out
    assert target.read_bytes().startswith(b"%PDF")


def test_the_card_is_read_here_or_kept(case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["case", "card", case]) == 0
    told = capsys.readouterr().out
    assert "Stella, horse, 520 kg" in told
    assert "66 mmHg" in told
    assert main(["case", "card", case, "--pdf", str(tmp_path / "card.pdf")]) == 0
    assert (tmp_path / "card.pdf").read_bytes().startswith(b"%PDF")


def test_a_place_that_cannot_be_written_is_told(case: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["case", "print", case, "--to", "/nowhere/at/all.pdf"]) == 2
    assert "/nowhere/at/all.pdf" in capsys.readouterr().err

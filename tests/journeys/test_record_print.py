"""A case printed from the command line, and handed over."""

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

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


def test_a_case_from_opening_to_signature_and_after_is_whole_on_paper(
    case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for words in (
        ["--phase", "induce", "--ago-min", "20"],
        ["--drug", "ketamine", "--amount-mg", "1144", "--route", "IV", "--ago-min", "19"],
        ["--heart-rate-per-min", "36", "--map-mmhg", "172", "--estimated"],
        ["--what", "hoisted to the table", "--ago-min", "15"],
        ["--text", "allergic to penicillin"],
    ):
        assert main(["case", "enter", case, *words]) == 0
    assert main(["case", "correct", case, "5", "--because", "slip of a digit", "--map-mmhg", "72"]) == 0
    assert main(["case", "strike", case, "6", "--because", "that was another horse"]) == 0
    signed = ["--signer", "A. Vet", "--role", "anaesthetist", "--because", "the rest is on paper"]
    assert main(["case", "sign", case, *signed]) == 0
    assert main(["case", "enter", case, "--kind", "addendum", "--text", "walked home"]) == 0
    assert main(["case", "print", case, "--to", str(tmp_path / "whole.pdf")]) == 0
    pages = [" ".join(page.extract_text().split()) for page in PdfReader(tmp_path / "whole.pdf").pages]
    whole = " ".join(pages)
    for told in (
        "mean arterial pressure 172 mmHg mean arterial pressure 72 mmHg slip of a digit",
        "hoisted to the table that was another horse",
        "allergic to penicillin",
        "ketamine 1144 mg (2.2 mg/kg)",
        "A. Vet, anaesthetist",
    ):
        assert told in whole, told
    assert "walked home" in pages[0]
    for number, page in enumerate(pages, start=1):
        assert "Stella, horse, 520 kg" in page
        assert f"{number} / {len(pages)}" in page
    capsys.readouterr()


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

"""Every finding that the code can raise is worded, and nothing is worded that is never raised."""

import re
import tomllib
from pathlib import Path

import pytest

from lungeline.case import Finding
from lungeline.errors import UnknownNameError
from lungeline.record import KINDS
from lungeline.words import (
    LANGUAGES,
    PAGE_LANGUAGES,
    entry_fields,
    entry_text,
    number_text,
    say,
    wordings,
)
from lungeline.words.labels import labels
from lungeline.words.page import findings_page
from lungeline.words.say import placeholders

SOURCE = Path(__file__).resolve().parents[2] / "src" / "lungeline"


def code_text() -> str:
    return "\n".join(path.read_text(encoding="utf-8") for path in SOURCE.rglob("*.py"))


def test_every_code_written_in_a_finding_is_worded() -> None:
    raised = set(re.findall(r"Finding\(\s*code=\"([a-z0-9_]+)\"", code_text()))
    assert len(raised) > 20
    assert raised - wordings().keys() <= {"x"}  # of a worked example


def test_every_wording_is_raised_somewhere() -> None:
    text = code_text()
    unsaid = [code for code in wordings() if f'"{code}"' not in text]
    # some codes are put together, of a part in braces: a wording must fit one of those
    made = [re.sub(r"\{\w+\}", r"\\w+", code) for code in re.findall(r'code=f"([a-z0-9_{}]+)"', text)]
    assert not [code for code in unsaid if not any(re.fullmatch(pattern, code) for pattern in made)]


def test_wordings_are_whole_sentences() -> None:
    for language in LANGUAGES:
        for wording in wordings(language).values():
            assert wording.says.rstrip()[-1] in ".?)}", wording.code
            assert wording.do.rstrip()[-1] in ".?}", wording.code


@pytest.mark.parametrize("language", [language for language in LANGUAGES if language != "en"])
def test_a_translation_is_whole_and_fills_in_the_same_figures(language: str) -> None:
    translated = wordings(language)
    assert translated.keys() == wordings().keys()
    for code, wording in wordings().items():
        for own, other in ((wording.says, translated[code].says), (wording.do, translated[code].do)):
            assert placeholders(own) == placeholders(other), code


def test_the_pages_say_the_same_in_every_language() -> None:
    folder = SOURCE / "words" / "pages"
    topics = {path.name.split(".")[0] for path in folder.glob("*.toml")}
    assert len(topics) > 2
    for topic in topics:
        keys = [
            tomllib.loads((folder / f"{topic}.{language}.toml").read_text(encoding="utf-8")).keys()
            for language in PAGE_LANGUAGES
        ]
        assert all(each == keys[0] for each in keys), topic


def test_numbers_are_said_in_the_readers_language() -> None:
    finding = Finding(
        code="pressure_low_expected", severity="advice", figures={"map_mmhg": 58.25, "least_mmhg": None}
    )
    assert "58,2 mmHg" in say(finding, "de").says
    assert "unbekannt" in say(finding, "de").says
    assert "7.76 kPa" in say(finding, "en", lambda _name, value: f"{value * 0.1333:.2f} kPa").says


def test_an_unknown_code_or_language_is_refused() -> None:
    with pytest.raises(UnknownNameError):
        say(Finding(code="no_such_thing", severity="note"))
    with pytest.raises(UnknownNameError):
        wordings("xx")


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("peak_cmh2o", 22.34, "22.3 cmH2O"),
        ("share_fraction", 0.0512, "5.12 %"),
        ("content_l", 4105.7, "4106 L"),
        ("count_number", 3.0, "3"),
        ("value_mmhg", float("nan"), "unknown mmHg"),
    ],
)
def test_numbers_are_read_with_their_unit(name: str, value: float, text: str) -> None:
    assert number_text(name, value) == text


def test_the_page_tells_every_finding() -> None:
    page = findings_page()
    assert all(f"`{code}`" in page for code in wordings())


def test_every_kind_field_and_choice_of_an_entry_is_called_something_in_every_language() -> None:
    said = {kind.label for kind in KINDS.values()}
    for kind in KINDS.values():
        said |= {doc.label for doc in kind.docs.values()}
        said |= {choice for doc in kind.docs.values() for choice in doc.choices}
    for language in LANGUAGES[1:]:
        assert said <= labels(language).keys(), said - labels(language).keys()


def test_an_entry_is_told_in_the_readers_language_and_units_and_free_text_stays() -> None:
    body = {"weight_kg": 520.0, "species": "horse", "weighed_by": "scales", "name": "scales"}
    assert entry_text("opening", body, "de") == "Name des Tieres scales, Pferd, Gewicht 520 kg, Waage"
    assert entry_fields("outcome", {"after": "24 h", "status": "alive", "cause": "dead"}, "de") == [
        ("24 h oder 7 Tage", "24 h"),
        ("lebt, eingeschläfert oder tot", "lebt"),
        ("Ursache", "dead"),
    ]
    in_pounds = entry_text("opening", {"weight_kg": 520.0}, "en", lambda _name, kg: f"{kg * 2.2046:.0f} lb")
    assert in_pounds == "weight 1146 lb"
    gap = Finding(code="record_recovery_missing", severity="caution", figures={"what": "attempts, score"})
    assert "Aufstehversuche, Note" in say(gap, "de").says

"""Every finding that the code can raise is worded, and nothing is worded that is never raised."""

import re
from pathlib import Path

import pytest

from lungeline.case import Finding
from lungeline.errors import UnknownNameError
from lungeline.words import number_text, say, wordings
from lungeline.words.page import findings_page

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
    for wording in wordings().values():
        assert wording.says.rstrip()[-1] in ".?)}", wording.code
        assert wording.do.rstrip()[-1] in ".?}", wording.code


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

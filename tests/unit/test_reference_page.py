"""The page of figures: all of them, those from memory again, and every source cited."""

import re

from lungeline import reference
from lungeline.reference.page import number_text

PAGE = reference.figures_page()
_HEADING = "## Figures that rest on memory"


def _names(part: str) -> list[str]:
    return re.findall(r"^\| `([a-z0-9_.]+)` \|", part, flags=re.MULTILINE)


def test_every_figure_stands_in_its_group_once() -> None:
    groups = PAGE.partition(_HEADING)[0]
    assert sorted(_names(groups)) == sorted(reference.figures())


def test_those_from_memory_are_listed_apart() -> None:
    apart = PAGE.partition(_HEADING)[2].partition("## Sources")[0]
    expected = [name for name, figure in reference.figures().items() if figure.rests_on_memory]
    assert _names(apart) == expected
    assert f"{len(expected)} figures" in apart


def test_every_link_to_a_source_arrives() -> None:
    targets = set(re.findall(r'<a id="source-([a-z0-9-]+)">', PAGE))
    assert set(re.findall(r"\(#source-([a-z0-9-]+)\)", PAGE)) == targets
    assert targets <= reference.sources().keys()


def test_every_row_has_as_many_cells_as_its_head() -> None:
    rows = [line for line in PAGE.splitlines() if line.startswith("|")]
    assert {len(re.findall(r"(?<!\\)\|", row)) for row in rows} == {8}


def test_no_digit_is_lost() -> None:
    assert number_text(0.000000007974894) == "7.974894e-09"
    assert number_text(1033.23) == "1033.23"
    for figure in reference.figures().values():
        assert float(number_text(figure.value)) == figure.value

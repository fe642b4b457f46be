"""The figures as one page of Markdown: by group, then those from memory, then the sources."""

from collections.abc import Iterable
from itertools import groupby
from pathlib import Path

from lungeline.figure import Figure, Source
from lungeline.reference.folder import FOLDER
from lungeline.reference.loader import figures, sources
from lungeline.units import UNITS

_INTRODUCTION = """\
# Figures

Every number the program takes from outside, with its unit, its range, what it rests on, and whether anybody
here saw it in its source. *Range* is the printed spread or the plausible range; it is left empty where none
is known. *Seen* says how: in the full text, in the abstract, second-hand, computed here, or from memory.
A figure from memory may be wrong and waits for its source.
"""


def figures_page(folder: Path = FOLDER) -> str:
    """Return the page."""
    everything = list(figures(folder).values())
    return "\n".join([_INTRODUCTION, *_groups(everything), *_memory(everything), *_sources(folder)])


def number_text(value: float) -> str:
    """Return a number as a person writes it, no digit lost and none added.

    >>> number_text(1.30), number_text(0.0000203), number_text(12153.0)
    ('1.3', '2.03e-05', '12153')
    """
    return f"{value:.10g}"


def value_text(figure: Figure) -> str:
    """Return value and unit."""
    label = UNITS[figure.unit].label
    return number_text(figure.value) if label == "1" else f"{number_text(figure.value)} {label}"


def range_text(figure: Figure) -> str:
    """Return the range, empty where none is known."""
    if figure.low == figure.high:
        return ""
    return f"{number_text(figure.low)} to {number_text(figure.high)}"


def group_of(figure: Figure) -> str:
    """Return the group a figure belongs to: the first part of its name."""
    return figure.name.partition(".")[0]


def _groups(everything: Iterable[Figure]) -> list[str]:
    lines: list[str] = []
    for group, members in groupby(everything, key=group_of):
        lines += [f"## {_heading(group)}", "", *_table(members), ""]
    return lines


def _memory(everything: Iterable[Figure]) -> list[str]:
    found = [figure for figure in everything if figure.rests_on_memory]
    lead = f"{len(found)} figures that nobody here has seen in a source. Replace them as sources turn up."
    return ["## Figures that rest on memory", "", lead, "", *_table(found), ""]


def _sources(folder: Path) -> list[str]:
    cited = {figure.source for figure in figures(folder).values()}
    lines = [_source_line(source) for key, source in sorted(sources(folder).items()) if key in cited]
    return ["## Sources", "", *lines, ""]


def _table(members: Iterable[Figure]) -> list[str]:
    head = ["| figure | value | range | basis | source | seen | note |", "|---|---|---|---|---|---|---|"]
    return head + [_row(figure) for figure in members]


def _row(figure: Figure) -> str:
    source = f"[{figure.source}](#source-{figure.source})"
    place = f", {figure.place}" if figure.place else ""
    cells = (
        f"`{figure.name}`",
        value_text(figure),
        range_text(figure),
        figure.basis,
        source + _cell(place),
        figure.seen,
        _cell(figure.note),
    )
    return "| " + " | ".join(cells) + " |"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _source_line(source: Source) -> str:
    identifier = f" {source.identifier}." if source.identifier else ""
    citation = source.citation.rstrip(".")
    return f'- <a id="source-{source.key}"></a>**{source.key}**: {citation}.{identifier}'


def _heading(group: str) -> str:
    return group.replace("_", " ").capitalize()

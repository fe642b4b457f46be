"""What the printed record consists of: lanes over time, and tables of words."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

Shape = Literal["dot", "ring", "square", "cross", "diamond", "plus"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A value at a minute of the case. note: a letter beside it, such as e for estimated."""

    at_min: float
    value: float
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Points of one quantity, drawn with one shape."""

    label: str
    shape: Shape
    points: Sequence[Point] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """Quantities of one unit over one axis. steps: what was set, from a minute on; spans: low to high."""

    title: str
    unit: str
    low: float
    high: float
    series: Sequence[Series] = ()
    steps: Sequence[tuple[str, Sequence[Point]]] = ()
    spans: Sequence[tuple[float, float, float]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Something that happened: a number on the chart, told in the list beneath."""

    at_min: float
    number: int
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """Something that went on: an infusion or a part of the anaesthetic; None where it has not ended."""

    label: str
    from_min: float
    to_min: float | None
    notes: Sequence[tuple[float, str]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A table of words. widths: of its columns, as parts; note: a line beneath."""

    title: str
    head: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()
    widths: Sequence[float] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordSheets:
    """The whole record of one case, ready to be drawn.

    began: minute 0 of the lanes; minutes: how long they go on.
    """

    title: str
    animal: str
    mark: str
    facts: Sequence[str]
    began: datetime
    minutes: float
    lanes: Sequence[Lane]
    parts: Sequence[Bar]
    infusions: Sequence[Bar]
    marks: Sequence[Mark]
    first: Sequence[Section] = field(default_factory=tuple)
    sections: Sequence[Section] = field(default_factory=tuple)

"""What the printed record consists of: lanes over time, and tables of words."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

Shape = Literal["dot", "ring", "square", "cross", "diamond", "plus"]
ARTEFACT = "a"  # in the note of a point: kept, but not to be used


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A value at a minute of the case. note: a letter for each thing to know, such as e for estimated."""

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
    """Quantities that belong together. steps: what was set, from a minute on; spans: low to high.

    drawn: over an axis, with a row of numbers for each; else in rows of numbers alone.
    """

    title: str
    unit: str
    low: float
    high: float
    series: Sequence[Series] = ()
    steps: Sequence[tuple[str, Sequence[Point]]] = ()
    spans: Sequence[tuple[float, float, float]] = ()
    drawn: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Something that happened, in few words."""

    at_min: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """What holds of entries at some minutes, such as "entered late"."""

    label: str
    at_min: Sequence[float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """Something that went on: an infusion or a part of the anaesthetic; None where it has not ended.

    idle: from and to where it had been stopped in between.
    """

    label: str
    from_min: float
    to_min: float | None
    notes: Sequence[tuple[float, str]] = ()
    idle: Sequence[tuple[float, float]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A table of words. widths: of its columns, as parts; note: a line beneath.

    turned: names of narrow columns stand upright, so that many fit.
    """

    title: str
    head: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()
    widths: Sequence[float] = ()
    note: str = ""
    turned: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordSheets:
    """The whole record of one case, ready to be drawn.

    began: minute 0 of the lanes; minutes: how long they go on; set_until_min: how long what was set holds.
    first: before the lanes; sections: after them; wide: tables that need the paper across; last: after those.
    """

    title: str
    animal: str
    mark: str
    facts: Sequence[str]
    began: datetime
    minutes: float
    set_until_min: float
    lanes: Sequence[Lane] = ()
    parts: Sequence[Bar] = ()
    infusions: Sequence[Bar] = ()
    marks: Sequence[Mark] = ()
    flags: Sequence[Flag] = ()
    first: Sequence[Section] = field(default_factory=tuple)
    sections: Sequence[Section] = field(default_factory=tuple)
    wide: Sequence[Section] = field(default_factory=tuple)
    last: Sequence[Section] = field(default_factory=tuple)

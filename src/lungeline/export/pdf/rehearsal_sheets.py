"""What a printed rehearsal consists of: words for its pages, and what is drawn over time."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

Style = Literal["dots", "rings", "line", "steps"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """One quantity over time.

    points: seconds and value, None where there was none; in steps, each value holds until the next.
    """

    label: str
    style: Style
    points: Sequence[tuple[float, float | None]] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Pane:
    """Quantities of one unit over one axis.

    hidden: nothing of it was shown to the learner. least_top: the axis goes at least so far; most_top: and
    never farther. rule: a value to draw a line at, such as one that harm is counted from.
    """

    title: str
    unit: str
    curves: Sequence[Curve]
    hidden: bool = False
    least_top: float = 1.0
    most_top: float | None = None
    rule: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Marked:
    """Something at a moment, told in the list beneath. sort: whether it happened, or the learner did it."""

    at_s: float
    text: str
    sort: Literal["happened", "done"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """The whole of a rehearsal over time. happened by letter, done by number."""

    end_s: float
    panes: Sequence[Pane]
    marks: Sequence[Marked] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table of words. widths: of its columns, as parts; note: a line beneath."""

    title: str
    rows: Sequence[Sequence[str]]
    head: Sequence[str] = ()
    widths: Sequence[float] = ()
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of a talk or a sheet: its name, a question with lines to write on, paragraphs, tables.

    new_page: whether it begins one.
    """

    title: str
    asks: str = ""
    lines: int = 0
    says: Sequence[str] = ()
    tables: Sequence[Table] = ()
    new_page: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PartedSheet:
    """One sheet, over as many pages as it takes. for_whom: such as "for the trainer only", in a bar.

    drawn_after: number of parts after which the drawing comes, on a page across; None for none.
    """

    title: str
    name: str
    facts: Sequence[str] = ()
    for_whom: str = ""
    parts: Sequence[Part] = ()
    drawn: Drawn | None = None
    drawn_after: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RehearsalSheets:
    """Sheets about one scenario. animal: at the foot of each; mark: such as SIMULATED, at the head."""

    title: str
    animal: str
    mark: str
    sheets: Sequence[PartedSheet] = field(default_factory=tuple)

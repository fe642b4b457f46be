"""Strokes of the printed lanes as SVG: lines, words, shapes, and where a minute lies across.

Lengths are tenths of a millimetre. Black on white; shapes differ by form, never by colour.
"""

from collections.abc import Sequence
from html import escape

from lungeline.export.pdf.record_sheets import Shape

WIDTH, LEFT, RIGHT = 2730.0, 430.0, 30.0
BODY, SMALL, TINY = 21.0, 19.0, 17.0
_DENSE_PER_MIN = 0.5  # points of a quantity; above it they are drawn smaller, so that they do not touch
_FEW = 2
_LETTER = 0.56  # width of a letter of the condensed face by its height, widely taken
_OPEN, _STROKE = 'fill="#fff" stroke="#000" stroke-width="2"', 'stroke="#000" stroke-width="2.5" fill="none"'


class Axis:
    """Where a minute lies across."""

    def __init__(self, from_min: float, span_min: float, set_until_min: float) -> None:
        """Begin at a minute, and span so many. set_until_min: up to when what was set last holds."""
        self.from_min, self.span_min = from_min, span_min
        self.to_min, self.set_until_min = from_min + span_min, set_until_min

    def x(self, at_min: float) -> float:
        """Return where a minute lies."""
        return LEFT + (WIDTH - LEFT - RIGHT) * (at_min - self.from_min) / self.span_min

    def has(self, at_min: float) -> bool:
        """Whether a minute lies on it."""
        return self.from_min <= at_min < self.to_min

    def clipped(self, begin_min: float, end_min: float) -> tuple[float, float] | None:
        """Return from where to where a stretch of time lies, None where it does not."""
        low, high = max(begin_min, self.from_min), min(end_min, self.to_min)
        return (self.x(low), self.x(high)) if low < high else None


def line(  # noqa: PLR0913, PLR0917  what a line has
    x1: float, y1: float, x2: float, y2: float, width: float, colour: str = "#000", dash: str = ""
) -> str:
    """Return a line."""
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
        f'stroke="{colour}" stroke-width="{width:g}"{dashed}/>'
    )


def words(  # noqa: PLR0913  what a word in a drawing has
    x: float, y: float, told: str, *, size: float = BODY, anchor: str = "start", bold: bool = False,
    colour: str = "#000",
) -> str:  # fmt: skip
    """Return words. anchor: start, middle or end of them lies at x."""
    weight = ' font-weight="bold"' if bold else ""
    fill = "" if colour == "#000" else f' fill="{colour}"'
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"{fill}{weight}>'
        f"{escape(told)}</text>"
    )


def width_of(told: str, size: float) -> float:
    """Return how much room words take, rather too much than too little."""
    return _LETTER * size * len(told)


def radius_of(at_min: Sequence[float]) -> float:
    """Return the size of shapes at some minutes in order."""
    dense = len(at_min) > _FEW and len(at_min) > _DENSE_PER_MIN * (at_min[-1] - at_min[0])
    return 5.0 if dense else 8.0


def shape(kind: Shape, x: float, y: float, r: float, *, artefact: bool = False) -> str:
    """Return a shape. artefact: struck through."""
    drawn = _shape(kind, x, y, r)
    if not artefact:
        return drawn
    reach = r + 6.0
    return drawn + line(x - reach, y + reach, x + reach, y - reach, 2)


def _shape(kind: Shape, x: float, y: float, r: float) -> str:
    match kind:
        case "dot":
            return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:g}"/>'
        case "ring":
            return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:g}" {_OPEN}/>'
        case "square":
            return f'<rect x="{x - r:.1f}" y="{y - r:.1f}" width="{2 * r:g}" height="{2 * r:g}"/>'
        case "diamond":
            d = r + 3.0
            return f'<path d="M{x:.1f} {y - d:.1f}l{d:g} {d:g}l-{d:g} {d:g}l-{d:g}-{d:g}z" {_OPEN}/>'
        case "cross":
            d = 2 * r
            return f'<path d="M{x - r:.1f} {y - r:.1f}l{d:g} {d:g}m0-{d:g}l-{d:g} {d:g}" {_STROKE}/>'
        case "plus":
            return f'<path d="M{x - r:.1f} {y:.1f}h{2 * r:g}m-{r:g}-{r:g}v{2 * r:g}" {_STROKE}/>'

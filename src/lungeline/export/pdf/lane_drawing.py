"""Lanes of a record as a drawing (SVG), black on white: a strip for each unit over one time axis.

Lengths are tenths of a millimetre. Only numbers and the trade's own words are written into it.
"""

from collections.abc import Callable, Iterator, Sequence
from datetime import timedelta
from html import escape

from lungeline.export.pdf.record_sheets import Bar, Lane, Mark, Point, RecordSheets, Shape

WIDTH, LEFT, RIGHT = 2730.0, 430.0, 30.0
_HEAD, _GAP, _BAR, _MARKS, _KEY_ROW = 70.0, 12.0, 34.0, 60.0, 23.0
_R, _SMALL, _TINY = 9.0, 21.0, 17.0
_OPEN, _STROKE = 'fill="#fff" stroke="#000" stroke-width="2.5"', 'stroke="#000" stroke-width="3" fill="none"'
_Height = Callable[[float], float]
_MOST_LABELS = 42  # numbers written beside points of a lane, before they would touch
_CLOCK_EVERY_MIN, _LINE_EVERY_MIN = 15.0, 5.0


def drawing(sheets: RecordSheets, from_min: float, span_min: float, height: float) -> str:
    """Return the lanes of a span of the case as SVG."""
    return "".join(_drawn(sheets, _Axis(from_min, span_min), height))


class _Axis:
    """Where a minute lies across."""

    def __init__(self, from_min: float, span_min: float) -> None:
        self.from_min, self.span_min = from_min, span_min

    def x(self, at_min: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (at_min - self.from_min) / self.span_min

    def has(self, at_min: float) -> bool:
        return self.from_min <= at_min < self.from_min + self.span_min

    def clipped(self, begin_min: float, end_min: float) -> tuple[float, float] | None:
        low = max(begin_min, self.from_min)
        high = min(end_min, self.from_min + self.span_min)
        return (self.x(low), self.x(high)) if low < high else None


def _drawn(sheets: RecordSheets, axis: _Axis, height: float) -> Iterator[str]:
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {height:g}" '
        f'font-family="DejaVu Sans" font-stretch="condensed" font-size="{_SMALL:g}">'
    )
    bars = [
        bar for bar in (*sheets.parts, *sheets.infusions) if axis.clipped(bar.from_min, _end(bar, sheets))
    ]
    room = height - _HEAD - _BAR * len(bars) - _MARKS
    each = room / max(len(sheets.lanes), 1)
    yield from _clock(sheets, axis, height - _MARKS)
    top = _HEAD
    for bar in bars:
        yield from _bar(bar, sheets, axis, top)
        top += _BAR
    for lane in sheets.lanes:
        yield from _lane(lane, axis, top, each - _GAP)
        top += each
    yield from _marks([mark for mark in sheets.marks if axis.has(mark.at_min)], axis, height - _MARKS)
    yield "</svg>"


def _end(bar: Bar, sheets: RecordSheets) -> float:
    return sheets.minutes if bar.to_min is None else bar.to_min


def _clock(sheets: RecordSheets, axis: _Axis, bottom: float) -> Iterator[str]:
    at_min = axis.from_min
    while at_min <= axis.from_min + axis.span_min + 1e-6:
        whole = abs(at_min / _CLOCK_EVERY_MIN - round(at_min / _CLOCK_EVERY_MIN)) < 1e-6
        x = axis.x(at_min)
        yield _line(x, _HEAD - 12, x, bottom, 1.6 if whole else 0.5, "#777" if whole else "#bbb")
        if whole:
            clock = sheets.began + timedelta(minutes=at_min)
            yield _text(x, _HEAD - 18, f"{clock:%H:%M}", size=24, anchor="middle", bold=True)
        at_min += _LINE_EVERY_MIN


def _bar(bar: Bar, sheets: RecordSheets, axis: _Axis, top: float) -> Iterator[str]:
    span = axis.clipped(bar.from_min, _end(bar, sheets))
    if span is None:
        return
    begin, end = span
    middle = top + _BAR / 2
    yield _text(LEFT - 14, middle + 7, bar.label, anchor="end")
    yield _line(begin, middle, end, middle, 5)
    if axis.has(bar.from_min):
        yield _line(begin, middle - 10, begin, middle + 10, 3)
    if bar.to_min is not None and bar.to_min <= axis.from_min + axis.span_min:
        yield _line(end, middle - 10, end, middle + 10, 3)
    for at_min, note in bar.notes:
        if axis.has(at_min):
            yield _text(axis.x(at_min) + 4, middle - 6, note, size=_TINY)


def _lane(lane: Lane, axis: _Axis, top: float, height: float) -> Iterator[str]:
    def y(value: float) -> float:
        part = (min(max(value, lane.low), lane.high) - lane.low) / (lane.high - lane.low)
        return top + height * (1.0 - part)

    yield (
        f'<rect x="{LEFT:g}" y="{top:.1f}" width="{WIDTH - LEFT - RIGHT:g}" height="{height:.1f}" '
        f'fill="none" stroke="#000" stroke-width="1.2"/>'
    )
    yield _text(4, top + 22, lane.title, size=25, bold=True)
    yield _text(LEFT - 60, top + 22, lane.unit, size=_TINY, anchor="end")
    yield from _key(lane, top + 46, top + height)
    for value in (lane.low, (lane.low + lane.high) / 2.0, lane.high):
        yield _text(
            LEFT - 10, min(max(y(value) + 7, top + 14), top + height), f"{value:g}", size=_TINY, anchor="end"
        )
    yield _line(
        LEFT, y((lane.low + lane.high) / 2.0), WIDTH - RIGHT, y((lane.low + lane.high) / 2.0), 0.5, "#bbb"
    )
    for at_min, low, high in lane.spans:
        if axis.has(at_min):
            yield _line(axis.x(at_min), y(low), axis.x(at_min), y(high), 3)
    for _, steps in lane.steps:
        yield from _steps(steps, axis, y)
    for place, series in enumerate(lane.series):
        yield from _points(series.points, series.shape, axis, y, numbered=place == 0, top=top)


def _key(lane: Lane, top: float, bottom: float) -> Iterator[str]:
    """Say which shape is which, at the left, in two columns where one is not enough."""
    signs: list[tuple[str, str]] = []
    if lane.spans:
        signs.append((_line(12, -14, 12, 2, 3), "systolic, diastolic"))
    signs += [(_shape(series.shape, 12, -6), series.label) for series in lane.series]
    signs += [(_line(2, -6, 22, -6, 2, dash="7 4"), f"{label}, set") for label, _ in lane.steps]
    rows = max(1, int((bottom - top) // _KEY_ROW) + 1)
    for place, (sign, label) in enumerate(signs):
        column, row = divmod(place, rows)
        yield f'<g transform="translate({4 + 185 * column:g} {top + _KEY_ROW * row:.1f})">{sign}'
        yield f"{_text(28, 0, label, size=_TINY)}</g>"


def _steps(steps: Sequence[Point], axis: _Axis, y: _Height) -> Iterator[str]:
    ends = [*(step.at_min for step in steps[1:]), axis.from_min + axis.span_min]
    for step, end_min in zip(steps, ends, strict=True):
        span = axis.clipped(step.at_min, end_min)
        if span is not None:
            height = y(step.value)
            yield _line(span[0], height, span[1], height, 2, dash="9 5")
            if axis.has(step.at_min):
                yield _text(span[0] + 4, height - 5, f"{step.value:g}", size=_TINY)


def _points(
    points: Sequence[Point], shape: Shape, axis: _Axis, y: _Height, *, numbered: bool, top: float
) -> Iterator[str]:
    shown = [point for point in points if axis.has(point.at_min)]
    every = max(1, -(-len(shown) // _MOST_LABELS))
    for place, point in enumerate(shown):
        x, height = axis.x(point.at_min), y(point.value)
        yield _shape(shape, x, height)
        if numbered and place % every == 0:
            above = height - 13 if height - 13 > top + 16 else height + 28
            yield _text(x, above, f"{point.value:.3g}", size=_TINY, anchor="middle")
        if point.note:
            yield _text(x + 10, height + 6, point.note, size=_TINY, bold=True)


def _marks(marks: Sequence[Mark], axis: _Axis, top: float) -> Iterator[str]:
    yield _text(4, top + 34, "Events, by number", size=_SMALL, bold=True)
    last_x, row = -1e9, 0
    for mark in marks:
        x = axis.x(mark.at_min)
        row = (row + 1) % 2 if x - last_x < 34 else 0
        last_x = x
        yield _line(x, top - 6, x, top + 6 + 24 * row, 1.5)
        yield _text(x, top + 26 + 24 * row, str(mark.number), size=_SMALL, anchor="middle", bold=True)


def _shape(shape: Shape, x: float, y: float) -> str:
    match shape:
        case "dot":
            return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_R:g}"/>'
        case "ring":
            return (
                f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_R:g}" fill="#fff" stroke="#000" stroke-width="2.5"/>'
            )
        case "square":
            return f'<rect x="{x - 8:.1f}" y="{y - 8:.1f}" width="16" height="16"/>'
        case "diamond":
            return f'<path d="M{x:.1f} {y - 12:.1f}l12 12l-12 12l-12-12z" {_OPEN}/>'
        case "cross":
            return f'<path d="M{x - 8:.1f} {y - 8:.1f}l16 16m0-16l-16 16" {_STROKE}/>'
        case "plus":
            return (
                f'<path d="M{x - 10:.1f} {y:.1f}h20m-10-10v20" stroke="#000" stroke-width="3" fill="none"/>'
            )


def _line(
    x1: float, y1: float, x2: float, y2: float, width: float, colour: str = "#000", dash: str = ""
) -> str:
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
        f'stroke="{colour}" stroke-width="{width:g}"{dashed}/>'
    )


def _text(
    x: float, y: float, words: str, *, size: float = _SMALL, anchor: str = "start", bold: bool = False
) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"{weight}>'
        f"{escape(words)}</text>"
    )

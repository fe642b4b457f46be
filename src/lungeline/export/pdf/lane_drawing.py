"""Lanes of a record as a drawing (SVG), black on white: a strip for each unit over one time axis.

Lengths are tenths of a millimetre. Only numbers and short words are written into it.
"""

from collections.abc import Iterator, Sequence
from datetime import timedelta

from lungeline.export.pdf.record_lane import GAP, ROW, height_of, lane_drawing
from lungeline.export.pdf.record_sheets import Bar, Flag, Mark, RecordSheets
from lungeline.export.pdf.strokes import (
    BODY,
    LEFT,
    RIGHT,
    SMALL,
    TINY,
    WIDTH,
    Axis,
    line,
    width_of,
    words,
)

_HEAD, _BAR, _MARK_ROW, _LAST_ROW = 50.0, 32.0, 22.0, 12.0
_LEAST_PLOT, _MOST_PLOT = 80.0, 240.0
_CLOCK_EVERY_MIN, _LINE_EVERY_MIN = 15.0, 5.0
_Placed = tuple[Mark, int, float, str]  # a mark, its row, where its words begin, and how they lie there


def drawing(sheets: RecordSheets, from_min: float, span_min: float, height: float) -> str:
    """Return the lanes of a span of the case as SVG; higher than asked for where there is very much."""
    return "".join(_drawn(sheets, Axis(from_min, span_min, sheets.set_until_min), height))


def _drawn(sheets: RecordSheets, axis: Axis, height: float) -> Iterator[str]:
    parts = [bar for bar in sheets.parts if _lies(bar, sheets, axis)]
    infusions = [bar for bar in sheets.infusions if _lies(bar, sheets, axis)]
    flags = [flag for flag in sheets.flags if any(map(axis.has, flag.at_min))]
    placed = _placed([mark for mark in sheets.marks if axis.has(mark.at_min)], axis)
    marks_height = _MARK_ROW * (1 + max((row for _, row, _, _ in placed), default=-1))
    fixed = (
        _HEAD + _BAR * (bool(parts) + len(infusions)) + marks_height + GAP
        + sum(map(height_of, sheets.lanes)) + ROW * len(flags) + _LAST_ROW
    )  # fmt: skip
    plots = sum(lane.drawn for lane in sheets.lanes)
    plot = min(max((height - fixed) / max(plots, 1), _LEAST_PLOT), _MOST_PLOT)
    whole = fixed + plot * plots
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {whole:g}" '
        f'font-family="DejaVu Sans" font-stretch="condensed" font-size="{BODY:g}">'
    )
    yield from _clock(sheets, axis, whole - _LAST_ROW)
    top = _HEAD
    if parts:
        yield from _parts(parts, sheets, axis, top)
        top += _BAR
    for bar in infusions:
        yield from _infusion(bar, sheets, axis, top)
        top += _BAR
    yield from _marks(placed, top)
    top += marks_height + GAP
    for lane in sheets.lanes:
        drawn = plot if lane.drawn else 0.0
        yield from lane_drawing(lane, axis, top, drawn)
        top += drawn + height_of(lane)
    for flag in flags:
        yield from _flag(flag, axis, top)
        top += ROW
    yield "</svg>"


def _lies(bar: Bar, sheets: RecordSheets, axis: Axis) -> bool:
    return axis.clipped(bar.from_min, _end(bar, sheets)) is not None


def _end(bar: Bar, sheets: RecordSheets) -> float:
    return sheets.minutes if bar.to_min is None else bar.to_min


def _clock(sheets: RecordSheets, axis: Axis, bottom: float) -> Iterator[str]:
    steps = round(axis.span_min / _LINE_EVERY_MIN)
    each = round(_CLOCK_EVERY_MIN / _LINE_EVERY_MIN)
    for step in range(steps + 1):
        at_min = axis.from_min + step * _LINE_EVERY_MIN
        x = axis.x(at_min)
        yield line(x, _HEAD - 12, x, bottom, *((1.6, "#888") if step % each == 0 else (0.5, "#bbb")))
        if step % each == 0:
            clock = sheets.began + timedelta(minutes=at_min)
            anchor = "end" if step == steps else "middle"
            yield words(x, _HEAD - 18, f"{clock:%H:%M}", size=24, anchor=anchor, bold=True)


def _parts(parts: Sequence[Bar], sheets: RecordSheets, axis: Axis, top: float) -> Iterator[str]:
    """Yield the parts of the anaesthetic one behind the other; of a short one the first letter alone."""
    yield words(4, top + 22, "Part", size=BODY, bold=True)
    for bar in parts:
        begin, end = axis.clipped(bar.from_min, _end(bar, sheets)) or (0.0, 0.0)
        yield (
            f'<rect x="{begin:.1f}" y="{top + 2:.1f}" width="{end - begin:.1f}" height="{_BAR - 6:g}" '
            f'fill="none" stroke="#000" stroke-width="2"/>'
        )
        label = bar.label if begin + 5 + width_of(bar.label, SMALL) <= end else bar.label[:1]
        yield words(begin + 5, top + 21, label, size=SMALL, bold=True)


def _infusion(bar: Bar, sheets: RecordSheets, axis: Axis, top: float) -> Iterator[str]:
    begin, end = axis.clipped(bar.from_min, _end(bar, sheets)) or (0.0, 0.0)
    low = top + _BAR - 7
    yield words(LEFT - 8, low, bar.label, size=SMALL, anchor="end")
    idle = [span for gap in bar.idle if (span := axis.clipped(*gap))]
    edges = [begin, *(x for span in idle for x in span), end]
    for one, other in zip(edges[::2], edges[1::2], strict=True):
        yield line(one, low, other, low, 5)
    for at_min in (bar.from_min, *([] if bar.to_min is None else [bar.to_min])):
        if axis.from_min <= at_min <= axis.to_min:
            yield line(axis.x(at_min), low - 9, axis.x(at_min), low + 5, 3)
    for (at_min, note), until in zip(
        bar.notes, [*(n[0] for n in bar.notes[1:]), _end(bar, sheets)], strict=True
    ):
        span = axis.clipped(at_min, max(until, at_min + 0.1))
        if span is not None:
            anchored = span[0] + width_of(note, TINY) > WIDTH - RIGHT
            x = WIDTH - RIGHT if anchored else span[0] + 5
            yield words(x, low - 7, note, size=TINY, anchor="end" if anchored else "start")


def _placed(marks: Sequence[Mark], axis: Axis) -> list[_Placed]:
    """Give each mark the first row in which its words have room."""
    free: list[float] = []
    found: list[_Placed] = []
    for mark in sorted(marks, key=lambda mark: mark.at_min):
        x, width = axis.x(mark.at_min), width_of(mark.text, TINY) + 14
        turned = x + width > WIDTH - RIGHT  # too near the right edge: its words lie before it
        begin, end = (x - width, x + 4) if turned else (x - 4, x + width)
        row = next((row for row, taken in enumerate(free) if taken <= begin), len(free))
        free[row : row + 1] = [end]
        found.append((mark, row, x, "end" if turned else "start"))
    return found


def _marks(placed: Sequence[_Placed], top: float) -> Iterator[str]:
    if placed:
        yield words(4, top + 18, "Given, done", size=BODY, bold=True)
    for mark, row, x, anchor in placed:
        down = top + _MARK_ROW * row
        yield f'<path d="M{x:.1f} {down + 3:.1f}l5 8l-5 8l-5-8z"/>'
        yield words(x - 8 if anchor == "end" else x + 8, down + 17, mark.text, size=TINY, anchor=anchor)


def _flag(flag: Flag, axis: Axis, top: float) -> Iterator[str]:
    yield words(LEFT - 8, top + 15, flag.label, size=TINY, anchor="end")
    for at_min in flag.at_min:
        if axis.has(at_min):
            yield line(axis.x(at_min), top + 2, axis.x(at_min), top + 17, 3.5)

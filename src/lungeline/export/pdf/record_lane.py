"""One lane of the printed record: points over an axis, and beneath it a row of numbers for each quantity."""

from collections.abc import Callable, Iterator, Sequence

from lungeline.export.pdf.record_sheets import ARTEFACT, Lane, Point
from lungeline.export.pdf.strokes import (
    LEFT,
    RIGHT,
    SMALL,
    TINY,
    WIDTH,
    Axis,
    line,
    radius_of,
    shape,
    width_of,
    words,
)

ROW, GAP = 21.0, 9.0
BENEATH = 9.0  # between what is drawn and its numbers: shapes at its lower edge reach so far
COLUMN_MIN = 5.0  # a number in each: the last one measured in it
_TITLE = 24.0
_Height = Callable[[float], float]
_Number = tuple[float, str, str]  # where it lies across, what it says, how it lies there
_SIGN_X = LEFT - 190.0
_PRESSURES = "systolic/diastolic"


def height_of(lane: Lane) -> float:
    """Return how high a lane is besides what is drawn over the axis."""
    rows = len(lane.series) + len(lane.steps) + bool(lane.spans)
    return GAP + ROW * rows + (BENEATH if lane.drawn else 0.0)


def lane_drawing(lane: Lane, axis: Axis, top: float, height: float) -> Iterator[str]:
    """Yield a lane. height: of what is drawn over the axis, 0 for rows of numbers alone."""
    named = f"{lane.title}, {lane.unit}"
    if lane.drawn:
        yield words(4, top + 22, named, size=_TITLE, bold=True)
        yield from _plot(lane, axis, top, height)
        yield from _rows(lane, axis, top + height + BENEATH)
    else:
        yield words(4, top + 16, named, size=SMALL, bold=True)
        yield from _rows(lane, axis, top)


def _plot(lane: Lane, axis: Axis, top: float, height: float) -> Iterator[str]:
    def y(value: float) -> float:
        part = (min(max(value, lane.low), lane.high) - lane.low) / (lane.high - lane.low)
        return top + height * (1.0 - part)

    middle = (lane.low + lane.high) / 2.0
    right = WIDTH - RIGHT
    yield (
        f'<rect x="{LEFT:g}" y="{top:.1f}" width="{right - LEFT:g}" height="{height:.1f}" '
        f'fill="none" stroke="#000" stroke-width="1.2"/>'
    )
    yield line(LEFT, y(middle), right, y(middle), 0.5, "#999")
    for value in (lane.low, middle, lane.high):
        down = min(max(y(value) + 6, top + 13), top + height)
        yield words(LEFT - 8, down, f"{value:g}", size=TINY, anchor="end")
    for at_min, low, high in lane.spans:
        if axis.has(at_min):
            yield line(axis.x(at_min), y(low), axis.x(at_min), y(high), 2.5)
    for _, steps in lane.steps:
        yield from _steps(steps, axis, y)
    for series in lane.series:
        shown = [point for point in series.points if axis.has(point.at_min)]
        r = radius_of([point.at_min for point in shown])
        for point in shown:
            artefact = ARTEFACT in point.note
            yield shape(series.shape, axis.x(point.at_min), y(point.value), r, artefact=artefact)


def _steps(steps: Sequence[Point], axis: Axis, y: _Height) -> Iterator[str]:
    for step, end_min in _held(steps, axis.set_until_min):
        span = axis.clipped(step.at_min, end_min)
        if span is not None:
            yield line(span[0], y(step.value), span[1], y(step.value), 2, dash="9 5")


def _held(steps: Sequence[Point], until_min: float) -> Iterator[tuple[Point, float]]:
    """Yield what was set with the minute up to which it held."""
    ends = [*(step.at_min for step in steps[1:]), max(until_min, steps[-1].at_min)] if steps else []
    yield from zip(steps, ends, strict=True)


def _rows(lane: Lane, axis: Axis, top: float) -> Iterator[str]:
    down = top + ROW - 5
    for label, sign, numbers in _numbers(lane, axis):
        if lane.drawn:
            yield f'<g transform="translate({_SIGN_X:g} {down - 6:.1f})">{sign}</g>'
        yield words(LEFT - 8, down, label, size=TINY, anchor="end")
        for x, told, anchor in numbers:
            yield words(x, down, told, size=TINY, anchor=anchor)
        down += ROW


def _numbers(lane: Lane, axis: Axis) -> Iterator[tuple[str, str, list[_Number]]]:
    """Yield for each row its name, the sign it is drawn with (at the origin), and its numbers."""
    if lane.spans:
        spans = [(at_min, f"{high:.0f}/{low:.0f}") for at_min, low, high in lane.spans]
        yield _PRESSURES, line(0, -9, 0, 9, 2.5), _by_column(spans, axis)
    for series in lane.series:
        told = [(it.at_min, f"{it.value:.3g}") for it in series.points if ARTEFACT not in it.note]
        yield series.label, shape(series.shape, 0, 0, 7.0), _by_column(told, axis)
    for label, steps in lane.steps:
        yield f"{label}, set", line(-18, 0, 18, 0, 2, dash="9 5"), list(_changes(steps, axis))


def _by_column(told: Sequence[tuple[float, str]], axis: Axis) -> list[_Number]:
    """Return the last number of each column, in the middle of it."""
    last: dict[int, str] = {}
    for at_min, text in told:
        if axis.has(at_min):
            last[int((at_min - axis.from_min) // COLUMN_MIN)] = text
    return [
        (axis.x(axis.from_min + (place + 0.5) * COLUMN_MIN), text, "middle") for place, text in last.items()
    ]


def _changes(steps: Sequence[Point], axis: Axis) -> Iterator[_Number]:
    """Yield what was set where it was set, and at the left edge what had been set before.

    What held too shortly for its number to have room is left to the table of settings.
    """
    for step, end_min in _held(steps, axis.set_until_min):
        span, told = axis.clipped(step.at_min, end_min), f"{step.value:.3g}"
        if span is not None and span[1] - span[0] >= width_of(told, TINY):
            yield span[0] + 3, told, "start"

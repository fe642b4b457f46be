"""The leak of a machine over its tests as a drawing (SVG), black on white: intervals and limits.

Lengths are tenths of a millimetre. Only numbers and the trade's own words are written into it.
"""

import math
from collections.abc import Iterator, Sequence
from datetime import date

from lungeline.check import PastLeakTest

WIDTH, HEIGHT = 1860.0, 560.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 150.0, 80.0, 40.0, 60.0
_R, _CAP, _SMALL = 9.0, 12.0, 24.0
_ROOM = 1.08  # above the highest, so that nothing touches the edge
_STEPS = (1.0, 2.0, 5.0, 10.0)
_MOST_LINES, _MOST_DATES = 6, 8


def leak_drawing(past: Sequence[PastLeakTest], limits_ml_min: tuple[float, float] | None) -> str:
    """Return the leaks of some tests as SVG, the oldest first; nothing where there are none."""
    return "".join(_drawn(past, limits_ml_min)) if past else ""


class _Axes:
    """Where a day lies across, and a leak upwards."""

    def __init__(self, past: Sequence[PastLeakTest], limits_ml_min: tuple[float, float] | None) -> None:
        self.first_day, last_day = past[0].day, past[-1].day
        self.days = max(last_day - self.first_day, 1.0)
        highest = max(test.leak_high_ml_min for test in past)
        passes = limits_ml_min[0] if limits_ml_min else 0.0
        self.most_ml_min = _ROOM * max(highest, passes, 1.0)

    def x(self, day: float) -> float:
        return _LEFT + _CAP + (WIDTH - _LEFT - _RIGHT - _CAP) * (day - self.first_day) / self.days

    def y(self, leak_ml_min: float) -> float:
        return HEIGHT - _BOTTOM - (HEIGHT - _TOP - _BOTTOM) * max(leak_ml_min, 0.0) / self.most_ml_min


def _drawn(past: Sequence[PastLeakTest], limits_ml_min: tuple[float, float] | None) -> Iterator[str]:
    axes = _Axes(past, limits_ml_min)
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" '
        f'font-family="DejaVu Sans" font-stretch="condensed" font-size="{_SMALL:g}">'
    )
    yield _text(0, _TOP - 14, "leak at 30 cmH2O, mL/min, and where it lies in 95 of 100")
    for leak in _marks(axes.most_ml_min):
        yield _line(_LEFT, axes.y(leak), WIDTH - _RIGHT, axes.y(leak), 'stroke="#bbb" stroke-width="1.5"')
        yield _text(_LEFT - 14, axes.y(leak) + 8, f"{leak:g}", anchor="end")
    yield from _limits(axes, limits_ml_min)
    yield from _dates(past, axes)
    for test in past:
        yield from _point(test, axes)
    yield "</svg>"


def _marks(most_ml_min: float) -> Iterator[float]:
    rough = most_ml_min / _MOST_LINES
    size = 10.0 ** math.floor(math.log10(rough))
    step = next(size * each for each in _STEPS if size * each >= rough)
    for place in range(math.floor(most_ml_min / step) + 1):
        yield place * step


def _limits(axes: _Axes, limits_ml_min: tuple[float, float] | None) -> Iterator[str]:
    """Yield the limits of the last test; one far above every leak is told, not drawn."""
    for name, leak in zip(("passes up to", "fails above"), limits_ml_min or (), strict=False):
        if leak <= axes.most_ml_min:
            style = 'stroke="#000" stroke-width="3" stroke-dasharray="18 10"'
            yield _line(_LEFT, axes.y(leak), WIDTH - _RIGHT, axes.y(leak), style)
            yield _text(WIDTH - _RIGHT, axes.y(leak) - 8, f"{name} {leak:g}", anchor="end")


def _dates(past: Sequence[PastLeakTest], axes: _Axes) -> Iterator[str]:
    every = math.ceil(len(past) / _MOST_DATES)
    free_from = 0.0
    for test in past[::every]:
        x = axes.x(test.day)
        if x >= free_from:
            told = date.fromordinal(int(test.day)).isoformat()
            yield _text(x, HEIGHT - _BOTTOM + 34, told, anchor="middle")
            free_from = x + WIDTH / _MOST_DATES * 0.7


def _point(test: PastLeakTest, axes: _Axes) -> Iterator[str]:
    x, low, high = axes.x(test.day), axes.y(test.leak_low_ml_min), axes.y(test.leak_high_ml_min)
    style = 'stroke="#000" stroke-width="2.5"'
    yield _line(x, low, x, high, style)
    for end in (low, high):
        yield _line(x - _CAP, end, x + _CAP, end, style)
    yield f'<circle cx="{x:.1f}" cy="{axes.y(test.leak_ml_min):.1f}" r="{_R:g}"/>'


def _line(x1: float, y1: float, x2: float, y2: float, style: str) -> str:  # two points
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" {style}/>'


def _text(x: float, y: float, words: str, *, anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{words}</text>'

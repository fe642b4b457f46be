"""A rehearsal over time as a drawing (SVG), black on white: what was shown, and on grey what was hidden.

Lengths are tenths of a millimetre. Only numbers and the trade's own words are written into it.
"""

from collections.abc import Iterator, Sequence
from string import ascii_uppercase

from lungeline.export.pdf.rehearsal_sheets import Curve, Drawn, Marked, Pane
from lungeline.export.pdf.strokes import line, words

WIDTH, HEIGHT = 2730.0, 1330.0
_LEFT, _RIGHT, _HEAD, _FOOT, _GAP = 420.0, 40.0, 50.0, 110.0, 14.0
_R, _SMALL, _TINY = 6.0, 23.0, 19.0
_SECONDS_PER_MINUTE, _SHORTEST_S = 60.0, 60.0
_STEPS_MIN = (0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 60.0)
_NICE = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
_POINTED = frozenset({"dots", "rings"})
_DASHES = ("", "18 8", "5 6")
_MOST_LINES = 12
_MOST_LABEL = 42  # of a name in the key, before it would touch the axis
_MOST_DOTS = 240  # of one quantity, before dots touch
_ROOM = 1.02  # above the highest value
_SIGN_ROOM, _SIGN_ROWS = 30.0, 3


def by_sign(marks: Sequence[Marked]) -> list[tuple[str, Marked]]:
    """Return marks in order of time with the sign each bears: a letter if it happened, a number if done."""
    signed, happened, done = [], 0, 0
    for mark in sorted(marks, key=lambda mark: mark.at_s):
        if mark.sort == "happened":
            letters, again = divmod(happened, len(ascii_uppercase))
            signed.append((ascii_uppercase[again] + (str(letters) if letters else ""), mark))
            happened += 1
        else:
            done += 1
            signed.append((str(done), mark))
    return signed


def timeline_drawing(drawn: Drawn) -> str:
    """Return a rehearsal over time as SVG."""
    return "".join(_drawn(drawn))


class _Axis:
    """Where a moment lies across."""

    def __init__(self, end_s: float) -> None:
        self.end_s = max(end_s, _SHORTEST_S)

    def x(self, at_s: float) -> float:
        return _LEFT + (WIDTH - _LEFT - _RIGHT) * min(max(at_s, 0.0), self.end_s) / self.end_s


class _Height:
    """Where a value lies in a pane; from nought to a round number above the highest."""

    def __init__(self, pane: Pane, top: float, height: float) -> None:
        values = [value for curve in pane.curves for _, value in curve.points if value is not None]
        self.most = pane.most_top or _round_up(max([*(it * _ROOM for it in values), pane.least_top]))
        self.least = -_round_up(-min(values)) if values and min(values) < 0.0 else 0.0
        self._top, self._height = top, height

    def __call__(self, value: float) -> float:
        part = (min(max(value, self.least), self.most) - self.least) / (self.most - self.least)
        return self._top + self._height * (1.0 - part)


def _round_up(value: float) -> float:
    """Return the next round number.

    >>> _round_up(1.02), _round_up(47.0), _round_up(100.0)
    (1.5, 50.0, 100.0)
    """
    size = 1.0
    while size * _NICE[-1] < value:
        size *= 10.0
    while size > value:
        size /= 10.0
    return next(size * nice for nice in _NICE if size * nice >= value)


def _drawn(drawn: Drawn) -> Iterator[str]:
    axis = _Axis(drawn.end_s)
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" '
        f'font-family="DejaVu Sans" font-stretch="condensed" font-size="{_SMALL:g}">'
    )
    bottom = HEIGHT - _FOOT
    each = (bottom - _HEAD) / max(len(drawn.panes), 1)
    for place, pane in enumerate(drawn.panes):
        yield from _pane(pane, axis, _HEAD + place * each, each - _GAP)
    yield from _clock(axis, bottom - _GAP)
    yield from _marks(drawn.marks, axis, bottom)
    yield "</svg>"


def _clock(axis: _Axis, bottom: float) -> Iterator[str]:
    minutes = axis.end_s / _SECONDS_PER_MINUTE
    step = next((it for it in _STEPS_MIN if minutes / it <= _MOST_LINES), _STEPS_MIN[-1])
    yield words(0, _HEAD - 16, "minutes since the learner took over", size=_TINY)
    for number in range(int(minutes / step + 1e-9) + 1):
        x = axis.x(number * step * _SECONDS_PER_MINUTE)
        yield line(x, _HEAD - 8, x, bottom, 0.8, "#888")
        yield words(x, _HEAD - 16, f"{number * step:g}", size=_SMALL, anchor="middle", bold=True)


def _pane(pane: Pane, axis: _Axis, top: float, height: float) -> Iterator[str]:
    y = _Height(pane, top, height)
    fill = "#e4e4e4" if pane.hidden else "#fff"
    yield (
        f'<rect x="{_LEFT:g}" y="{top:.1f}" width="{WIDTH - _LEFT - _RIGHT:g}" height="{height:.1f}" '
        f'fill="{fill}" stroke="#000" stroke-width="1.4"/>'
    )
    yield words(0, top + 22, f"{pane.title}, {pane.unit}", size=_SMALL, bold=True)
    if pane.hidden:
        yield words(_LEFT - 68, top + 22, "HIDDEN", size=_TINY, anchor="end")
    if len(pane.curves) > 1 or any(curve.style == "steps" for curve in pane.curves):
        yield from _key(pane.curves, top + 46)
    for value in (y.least, (y.least + y.most) / 2.0, y.most):
        yield words(
            _LEFT - 10,
            min(max(y(value) + 7, top + 16), top + height),
            f"{value:.4g}",
            size=_TINY,
            anchor="end",
        )
    if pane.rule is not None and y.least < pane.rule < y.most:
        yield line(_LEFT, y(pane.rule), WIDTH - _RIGHT, y(pane.rule), 2, "#000", dash="14 8")
        yield words(WIDTH - _RIGHT - 6, y(pane.rule) - 5, f"{pane.rule:g}", size=_TINY, anchor="end")
    for curve, dash in zip(pane.curves, _dashes(pane.curves), strict=True):
        yield from _curve(curve, axis, y, dash)


def _key(curves: Sequence[Curve], top: float) -> Iterator[str]:
    for place, (curve, dash) in enumerate(zip(curves, _dashes(curves), strict=True)):
        down = top + 23 * place
        if curve.style in _POINTED:
            yield _dot(12, down - 6, curve.style)
        else:
            yield line(0, down - 6, 26, down - 6, 4, dash=dash)
        short = curve.label if len(curve.label) <= _MOST_LABEL else f"{curve.label[: _MOST_LABEL - 1]}…"
        yield words(34, down, short, size=_TINY)


def _dashes(curves: Sequence[Curve]) -> list[str]:
    """Return how each line is broken, so that several in one pane can be told apart."""
    lines = [curve for curve in curves if curve.style not in _POINTED]
    return [_DASHES[lines.index(it) % len(_DASHES)] if it in lines else "" for it in curves]


def _curve(curve: Curve, axis: _Axis, y: _Height, dash: str) -> Iterator[str]:
    if curve.style in _POINTED:
        told = [(at_s, value) for at_s, value in curve.points if value is not None]
        for at_s, value in told[:: max(1, -(-len(told) // _MOST_DOTS))]:
            yield _dot(axis.x(at_s), y(value), curve.style)
        return
    for run in _runs(_stepped(curve, axis.end_s) if curve.style == "steps" else curve.points):
        path = "L".join(f"{axis.x(at_s):.1f} {y(value):.1f}" for at_s, value in run)
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        yield f'<path d="M{path}" fill="none" stroke="#000" stroke-width="4.5"{dashed}/>'


def _dot(x: float, y: float, style: str) -> str:
    fill = "#fff" if style == "rings" else "#000"
    return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_R:g}" fill="{fill}" stroke="#000" stroke-width="2"/>'


def _stepped(curve: Curve, end_s: float) -> list[tuple[float, float | None]]:
    """Return a curve whose values hold until the next, as corners."""
    found: list[tuple[float, float | None]] = []
    for (at_s, value), until_s in zip(
        curve.points, [*(it[0] for it in curve.points[1:]), end_s], strict=False
    ):
        found += [(at_s, value), (until_s, value)]
    return found


def _runs(points: Sequence[tuple[float, float | None]]) -> Iterator[list[tuple[float, float]]]:
    """Yield stretches without a gap; a value on its own is drawn as a short dash."""
    run: list[tuple[float, float]] = []
    for at_s, value in [*points, (0.0, None)]:
        if value is not None:
            run.append((at_s, value))
        elif run:
            yield run if len(run) > 1 else [*run, (run[0][0] + 1.0, run[0][1])]
            run = []


def _marks(marks: Sequence[Marked], axis: _Axis, top: float) -> Iterator[str]:
    """Draw the signs; one that has no room beside the last stands a row lower."""
    yield words(0, top + 20, "happened (letter)", size=_TINY)
    yield words(0, top + 44, "done (number)", size=_TINY)
    free = [-1e9] * _SIGN_ROWS
    for sign, mark in by_sign(marks):
        x = axis.x(mark.at_s)
        row = next(
            (row for row, taken in enumerate(free) if x - taken >= _SIGN_ROOM * max(1.0, len(sign) / 2)),
            _SIGN_ROWS - 1,
        )
        free[row] = x
        happened = mark.sort == "happened"
        yield line(x, _HEAD if happened else top - _GAP, x, top + 4 + 30 * row, 2.5 if happened else 1.5)
        if happened:
            yield f'<rect x="{x - 14:.1f}" y="{top + 3 + 30 * row:.1f}" width="28" height="27" fill="#000"/>'
        colour = "#fff" if happened else "#000"
        yield words(x, top + 25 + 30 * row, sign, size=_SMALL, anchor="middle", bold=True, colour=colour)

"""Simulated causes as tables of numbers, filled up between the severities that were run."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lungeline.explain.particles import STEP_S, TIMES_S, Particle
from lungeline.explain.shown import Shown

# Places between a severity and the next lower one, or none at all; and a little beyond the highest that
# was run.
BETWEEN = (1.0 / 3.0, 2.0 / 3.0)
BEYOND = 4.0 / 3.0
ONSETS_S = tuple(STEP_S * i for i in range(3, len(TIMES_S) + 1))  # how long ago it may have begun
Array = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bank:
    """Causes by row, not-a-number where an instrument would show nothing.

    causes, weight, animal: of each row; animal: a place in `unchanged`. before: rows by channels;
    course: what each row changes, rows by times by channels, the first time being that of the beginning;
    unchanged: what changes by itself, animals by times by channels.
    """

    channels: tuple[str, ...]
    causes: npt.NDArray[np.str_]
    weight: Array
    animal: Places
    before: Array
    course: Array
    unchanged: Array

    def of(self, causes: Sequence[str]) -> "Bank":
        """Return the table with some of its causes only."""
        kept = np.isin(self.causes, causes)
        return Bank(
            channels=self.channels, causes=self.causes[kept], weight=self.weight[kept],
            animal=self.animal[kept], before=self.before[kept], course=self.course[kept],
            unchanged=self.unchanged,
        )  # fmt: skip


def bank(kept: Sequence[Particle]) -> Bank:
    """Return particles as a table.

    What a cause changes is taken to grow in a straight line between two severities, from none at all on.
    """
    channels = tuple(sorted({name for it in kept for each in (it.before, *it.course) for name in each}))
    animals = {it.animal: it for it in kept}
    place = {animal: i for i, animal in enumerate(animals)}
    lines: dict[tuple[str, int, int], list[Particle]] = {}
    for it in kept:
        lines.setdefault((it.cause, it.animal, it.way), []).append(it)
    unchanged = {animal: _changed(it.before, it.unchanged, channels) for animal, it in animals.items()}
    rows: list[tuple[Particle, Array]] = []
    for (_, animal, _), line in lines.items():
        lower = unchanged[animal]
        for it in sorted(line, key=lambda each: each.severity_fraction):
            course = _changed(it.before, it.course, channels)
            rows.append((it, course))
            if 0.0 < it.severity_fraction < 1.0:
                shares = (*BETWEEN, BEYOND) if it is max(line, key=_severity) else BETWEEN
                rows += [(it, lower + share * (course - lower)) for share in shares]
            lower = course
    return Bank(
        channels=channels,
        causes=np.array([it.cause for it, _ in rows], dtype=np.str_),
        weight=np.array([it.weight for it, _ in rows]),
        animal=np.array([place[it.animal] for it, _ in rows], dtype=np.intp),
        before=np.array([_as_row(it.before, channels) for it, _ in rows]),
        course=np.array([course for _, course in rows]),
        unchanged=np.array(list(unchanged.values())),
    )


def _severity(it: Particle) -> float:
    return it.severity_fraction


def _as_row(shown: Shown, channels: Sequence[str]) -> list[float]:
    return [shown.get(name, math.nan) for name in channels]


def _changed(before: Shown, course: Sequence[Shown], channels: Sequence[str]) -> Array:
    """Return how a course differs from what was before, times by channels; nothing at its beginning."""
    was = np.array(_as_row(before, channels))
    return np.array([was - was, *(np.array(_as_row(each, channels)) - was for each in course)])


def at_times(course: Array, after_s: Array) -> Array:
    """Return a course (rows by times) at times after the beginning [s], straight between those it has.

    after_s: of any shape; nothing has changed before the beginning. A breath begun just after it shows what
    the first look does. Returns rows by that shape.

    >>> at_times(np.arange(len(TIMES_S) + 1.0)[None], np.array([-10.0, 10.0, 45.0, 9e9])).tolist()
    [[0.0, 1.0, 1.5, 16.0]]
    """
    steps = np.clip(after_s / STEP_S, 0.0, len(TIMES_S))
    steps = np.where(steps > 0.0, np.maximum(steps, 1.0), 0.0)
    lower = np.minimum(steps.astype(int), len(TIMES_S) - 1)
    share = steps - lower
    below, above = course[:, lower], course[:, lower + 1]
    return np.where(share > 0.0, below + share * (above - below), below)

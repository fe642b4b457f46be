"""Simulated causes as one table of numbers, filled up between the severities and onsets that were run."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lungeline.explain.particles import Particle

# Places between a severity and the next lower one, or none at all; and a little beyond the highest that
# was run.
BETWEEN = (1.0 / 3.0, 2.0 / 3.0)
BEYOND = (4.0 / 3.0,)
Array = npt.NDArray[np.float64]
Places = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bank:
    """Particles as a table; not-a-number where one cannot show a reading.

    causes: of each particle; now and the others: particles by channel; lower: the particle of the next lower
    severity, -1 for none; later: that of the next later onset, -1 for none; highest: whether none is more
    severe; graded: whether severity matters at all; weight: of its animal.
    """

    kept: Sequence[Particle]
    channels: tuple[str, ...]
    causes: npt.NDArray[np.str_]
    now: Array
    before: Array
    earlier: Array
    unchanged: Array
    unchanged_earlier: Array
    lower: Places
    later: Places
    highest: npt.NDArray[np.bool_]
    graded: npt.NDArray[np.bool_]
    weight: Array


def bank(kept: Sequence[Particle]) -> Bank:
    """Return particles as a table."""
    channels = tuple(sorted({name for it in kept for name in (*it.now, *it.before)}))

    def table(part: str) -> Array:
        rows = [[getattr(it, part).get(name, math.nan) for name in channels] for it in kept]
        return np.array(rows, dtype=float).reshape(len(kept), len(channels))

    lower, later, highest, graded = _neighbours(kept)
    return Bank(
        kept=kept, channels=channels, causes=np.array([it.cause for it in kept]), now=table("now"),
        before=table("before"), earlier=table("earlier"), unchanged=table("unchanged"),
        unchanged_earlier=table("unchanged_earlier"), lower=lower, later=later, highest=highest,
        graded=graded, weight=np.array([it.weight for it in kept], dtype=float),
    )  # fmt: skip


def _neighbours(
    kept: Sequence[Particle],
) -> tuple[Places, Places, npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Return who is next lower in severity, next later in onset, highest, and whether severity matters."""
    by_line: dict[tuple[str, int, int, float], list[int]] = {}
    by_time: dict[tuple[str, int, int, float], list[int]] = {}
    for i, it in enumerate(kept):
        by_line.setdefault((it.cause, it.animal, it.way, it.began_s), []).append(i)
        by_time.setdefault((it.cause, it.animal, it.way, it.severity_fraction), []).append(i)
    lower, later = np.full(len(kept), -1, dtype=np.intp), np.full(len(kept), -1, dtype=np.intp)
    highest, graded = np.zeros(len(kept), dtype=bool), np.zeros(len(kept), dtype=bool)
    for line in by_line.values():
        line.sort(key=lambda i: kept[i].severity_fraction)
        lower[line[1:]] = line[:-1]
        highest[line[-1]] = True
        graded[line] = kept[line[-1]].severity_fraction < 1.0 and kept[line[0]].severity_fraction > 0.0
    for line in by_time.values():
        line.sort(key=lambda i: kept[i].began_s)
        later[line[:-1]] = line[1:]
    return lower, later, highest, graded


def filled_up(it: Bank, z: Array, p: Array) -> tuple[Array, Array, Places]:
    """Return z and p with rows between those simulated, and which particle each belongs to.

    What a cause changes is taken to grow in a straight line between two severities and two onsets.
    """
    own = np.arange(len(p))
    later = np.where(it.later >= 0, it.later, own)
    z_halfway, p_halfway = (z + z[later]) / 2.0, (p + p[later]) / 2.0
    twice = it.later >= 0
    z_times, p_times = [z, z_halfway[twice]], [p, p_halfway[twice]]
    owner, lower_p = [own, own[twice]], [_lower(it, p), _lower(it, p_halfway)[twice]]
    z_all, p_all = np.concatenate(z_times), np.concatenate(p_times)
    o_all, l_all = np.concatenate(owner), np.concatenate(lower_p)
    rows = [(1.0, np.ones(len(o_all), dtype=bool))]
    rows += [(share, it.graded[o_all]) for share in BETWEEN]
    rows += [(share, (it.graded & it.highest)[o_all]) for share in BEYOND]
    z_out = np.concatenate([z_all[wanted] for _, wanted in rows])
    p_out = np.concatenate([(l_all + share * (p_all - l_all))[wanted] for share, wanted in rows])
    return z_out, p_out, np.concatenate([o_all[wanted] for _, wanted in rows])


def _lower(it: Bank, p: Array) -> Array:
    """Return what the next lower severity changes, nothing where there is none."""
    return np.where((it.lower >= 0)[:, None], p[np.maximum(it.lower, 0)], 0.0)

"""Which cause fits what was measured: Bayes' rule over the simulated causes, heavy-tailed and humble.

For channel c let r be its measured change, E the change the model makes without a fault, M that with the
fault, σ how sure the reading is; z = (r - E)/σ and p = (M - E)/σ. A particle's likelihood is a product of
Student densities with four degrees of freedom about p with the variance s² = 1 + 0.2² + (0.2 p)²: the model
may be off by two tenths of what it predicts. A missing channel is a factor left out.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from lungeline.explain.assumed import NONE_OF_THESE, Assumed
from lungeline.explain.bank import Array, Bank, Places, filled_up
from lungeline.explain.measured import Measured
from lungeline.explain.particles import Particle

DISCREPANCY_SHARE = 0.2
DISCREPANCY_SD = 0.2
DEGREES = 4.0
UNSHOWN_SD = 4.0  # a reading is there that this cause could not show
UNLISTED_CHANCE = 0.05  # that something not listed moves a given reading
LARGEST_SQUARE = 25.0
MISFIT_SHARE = 0.5  # of what a cause predicts; laws of faults differ by as much
LEAST_LEFT = 0.1  # of a trend's variance: the two ends never err quite alike


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One number to compare: a level, its change since all was well, or its trend of two minutes.

    A trend shares the newest reading's error with the level or change; `shared` times that is taken off
    it, so that what is left errs on its own; value and sd are of what is left.
    """

    name: str
    channel: str
    kind: Literal["level", "change", "trend"]
    value: float
    sd: float
    shared: float = 0.0
    since_before: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """What one reading says: it is `z` standard deviations off no change; a cause predicts `p` of them."""

    compared: Compared
    z: float
    p: float
    log: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """Chances of all causes, which add up to 1; the particles with their share.

    terms: for each cause, what each reading says of the row that fits best; best: the particle of that row;
    misfit: how far even the likeliest listed cause is from what was read.
    """

    chances: Mapping[str, float]
    shares: Array
    table: Bank
    terms: Mapping[str, tuple[Term, ...]]
    best: Mapping[str, Particle]
    misfit: float

    def ordered(self) -> list[str]:
        """Return the causes, likeliest first."""
        return sorted(self.chances, key=lambda cause: -self.chances[cause])


def compared(measured: Measured, spread: Mapping[str, float]) -> list[Compared]:
    """Return what can be compared: changes where there is a before, else levels; and trends.

    spread: between animals, by channel; it blurs levels.
    """
    found = []
    for channel, it in measured.observed.items():
        known = it.before is not None
        value = it.now - (it.before or 0.0)
        sd = it.change_sd if known else math.hypot(it.sd, it.bias_sd, spread.get(channel, 0.0))
        kind: Literal["level", "change"] = "change" if known else "level"
        found.append(Compared(name=channel, channel=channel, kind=kind, value=value, sd=sd))
        if it.earlier is not None:
            shared = it.shared / sd**2
            left_sd = math.sqrt(max(it.trend_sd**2 - it.shared * shared, LEAST_LEFT * it.trend_sd**2))
            found.append(
                Compared(
                    name=f"{channel} trend", channel=channel, kind="trend",
                    value=it.now - it.earlier - shared * value, sd=left_sd, shared=shared,
                    since_before=known,
                )
            )  # fmt: skip
    return found


def rank(  # noqa: PLR0913  the last three are for those who know more
    measured: Measured,
    table: Bank,
    assumed: Assumed,
    *,
    weights: Mapping[str, float] | None = None,
    spread: Mapping[str, float] | None = None,
    answers: Mapping[str, int] | None = None,
) -> Ranking:
    """Return the chances of the causes given what was measured and what tests answered.

    weights: how common each cause is, those of the file of assumptions where not given;
    spread: of levels between animals; answers: of tests, as places in their list of answers.
    """
    weights = weights or {code: cause.weight for code, cause in assumed.causes.items()}
    numbers = compared(measured, spread or {})
    z, p, owner = filled_up(table, *_standardised(table, numbers))
    logs = _log_terms(z, p)
    each, animal = logs.sum(axis=1), table.weight[owner]
    cause_of = table.causes[owner]
    totals = {}
    for code, weight in weights.items():
        mine = cause_of == code
        if code == NONE_OF_THESE:
            log = _unlisted(z, numbers, assumed)
        elif mine.any():
            log = _log_mean(each[mine], animal[mine])
        else:
            continue
        totals[code] = log + math.log(weight) + _answered(code, answers or {}, assumed)
    return _ranking(totals, table, numbers, _Found(z=z, p=p, logs=logs, owner=owner))


def _standardised(table: Bank, numbers: list[Compared]) -> tuple[Array, Array]:
    """Return what was measured, and what each particle predicts, in standard deviations off no change."""
    place = {name: j for j, name in enumerate(table.channels)}
    z, p = np.zeros((len(table.kept), len(numbers))), np.full((len(table.kept), len(numbers)), math.nan)
    for j, c in enumerate(numbers):
        if c.channel not in place:
            continue
        i = place[c.channel]
        moved, still = _of_particles(table, i, c)
        still = np.where(np.isfinite(still), still, c.value)
        z[:, j], p[:, j] = (c.value - still) / c.sd, (moved - still) / c.sd
    return z, p


def _of_particles(table: Bank, i: int, c: Compared) -> tuple[Array, Array]:
    """Return the number compared as each particle shows it, and as it would had nothing happened."""
    moved, still = table.now[:, i], table.unchanged[:, i]
    since_before = table.before[:, i] if c.since_before and c.kind != "level" else 0.0
    moved_since, still_since = moved - since_before, still - since_before
    if c.kind != "trend":
        return moved_since, still_since
    moved_trend, still_trend = moved - table.earlier[:, i], still - table.unchanged_earlier[:, i]
    return moved_trend - c.shared * moved_since, still_trend - c.shared * still_since


def _log_terms(z: Array, p: Array) -> Array:
    """Return the logarithm of each reading's likelihood under each particle."""
    unshown = ~np.isfinite(p)
    p = np.where(unshown, 0.0, p)
    variance = 1.0 + DISCREPANCY_SD**2 + (DISCREPANCY_SHARE * p) ** 2
    return student(z - p, np.where(unshown, UNSHOWN_SD**2, variance))


def student(off: Array, variance: Array) -> Array:
    """Return the logarithm of Student's density, less its constant, with four degrees of freedom."""
    return np.asarray(
        -0.5 * np.log(variance) - 0.5 * (DEGREES + 1.0) * np.log1p(off**2 / (DEGREES * variance))
    )


def _unlisted(z: Array, numbers: list[Compared], assumed: Assumed) -> float:
    """Return the logarithm of the likelihood of something not listed: any reading may have moved, or not."""
    if not numbers:
        return 0.0
    size = np.array([assumed.unlisted[c.channel.partition("@")[0]] / c.sd for c in numbers])
    middle = np.median(z, axis=0)
    variance = np.full_like(middle, 1.0 + DISCREPANCY_SD**2)
    same = np.exp(student(middle, variance)) * (1.0 - UNLISTED_CHANCE)
    moved = np.exp(student(middle, variance + size**2)) * UNLISTED_CHANCE
    return float(np.log(same + moved).sum())


def _answered(code: str, answers: Mapping[str, int], assumed: Assumed) -> float:
    return sum(math.log(assumed.tests[test].chances(code)[answer]) for test, answer in answers.items())


def _log_mean(logs: Array, weights: Array) -> float:
    top = float(logs.max())
    return top + math.log(float(np.average(np.exp(logs - top), weights=weights)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """z, p and log-likelihoods of all rows, and the particle each belongs to."""

    z: Array
    p: Array
    logs: Array
    owner: Places


def _ranking(totals: Mapping[str, float], table: Bank, numbers: list[Compared], found: _Found) -> Ranking:
    top = max(totals.values())
    raw = {code: math.exp(log - top) for code, log in totals.items()}
    whole = math.fsum(raw.values())
    chances = {code: value / whole for code, value in raw.items()}
    each, animal, cause_of = found.logs.sum(axis=1), table.weight[found.owner], table.causes[found.owner]
    shares, terms, best = np.zeros(len(table.kept)), {}, {}
    for code, chance in chances.items():
        mine = np.flatnonzero(cause_of == code)
        if not len(mine):
            continue
        mass = np.exp(each[mine] - each[mine].max()) * animal[mine]
        np.add.at(shares, found.owner[mine], chance * mass / mass.sum())
        first = mine[int(np.argmax(mass))]
        best[code] = table.kept[found.owner[first]]
        terms[code] = tuple(
            Term(
                compared=c,
                z=float(found.z[first, j]),
                p=float(found.p[first, j]),
                log=float(found.logs[first, j]),
            )
            for j, c in enumerate(numbers)
        )
    return Ranking(
        chances=chances, shares=shares, table=table, terms=terms, best=best, misfit=_misfit(totals, terms)
    )


def _misfit(totals: Mapping[str, float], terms: Mapping[str, tuple[Term, ...]]) -> float:
    """Return how far the likeliest listed cause is from what was read: mean square, each at most 25."""
    listed = {code: log for code, log in totals.items() if code in terms}
    if not listed:
        return 0.0
    leading = terms[max(listed, key=lambda code: listed[code])]
    squares = [
        min((t.z - t.p) ** 2 / (1.0 + (MISFIT_SHARE * t.p) ** 2), LARGEST_SQUARE)
        for t in leading
        if math.isfinite(t.p)
    ]
    return math.fsum(squares) / max(len(squares), 1)

"""Which cause fits what was measured: Bayes' rule over the simulated causes, heavy-tailed and humble.

For one channel let r be its changes since all was well, minute by minute, E those the model makes without a
fault, M those with it; p = M - E, and f the same in the first minute, nothing later. The likelihood is
Student's density of r about M with four degrees of freedom and the scale matrix
C + 0.2² v + 0.2² p pᵀ + 0.5² f fᵀ: C is how the readings err together (what was read before is in all of
them, noise is in each, wander is a random walk), v the variance of the newest; and the model may be off by
two tenths of what it predicts all along, and by half of that at first. A missing channel is a factor
left out.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from lungeline.explain.assumed import NONE_OF_THESE, Assumed
from lungeline.explain.bank import ONSETS_S, Array, Bank, at_times
from lungeline.explain.measured import Measured, Observed

DISCREPANCY_SHARE = 0.2
DISCREPANCY_SD = 0.2
AT_FIRST_SHARE, AT_FIRST_S = 0.5, 60.0  # of what is predicted in the first minute, much is passing
DEGREES = 4.0
UNSHOWN_SD = 4.0  # a reading is there that this cause could not show
UNLISTED_CHANCES = (0.05, 0.15, 0.3)  # that something not listed moves a given reading: few of them, or many
LEAST_DENSITY = 1e-300
LARGEST_SQUARE = 25.0
MISFIT_SHARE = 0.5  # of what a cause predicts; laws of faults differ by as much


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One quantity to compare: minute by minute its level, or its change since all was well.

    values: oldest first; back_s: how long before the newest reading of all; errors: their scale matrix, the
    misfit of any model included; slowly: something that has grown evenly since all was well, and is now 1.
    """

    channel: str
    kind: Literal["level", "change"]
    values: Array
    back_s: Array
    errors: Array
    slowly: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """What one quantity says of a cause: what it is or did by now, and what the cause would make it.

    predicted: None where it would show nothing; log: of the likelihood; square: of what is off, by look.
    """

    channel: str
    kind: Literal["level", "change"]
    measured: float
    predicted: float | None
    log: float
    square: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranking:
    """Chances of all causes, which add up to 1; shares: those of each row of the table, by onset.

    terms: for each cause, what each quantity says of the row that fits best; misfit: how far even the
    likeliest listed cause is from what was read.
    """

    chances: Mapping[str, float]
    shares: Array
    table: Bank
    terms: Mapping[str, tuple[Term, ...]]
    misfit: float

    def ordered(self) -> list[str]:
        """Return the causes, likeliest first."""
        return sorted(self.chances, key=lambda cause: -self.chances[cause])


def compared(measured: Measured, spread: Mapping[str, float]) -> list[Compared]:
    """Return what can be compared: changes where there is a before, else levels.

    spread: between animals, by channel; it blurs levels.
    """
    return [
        _compared(it, measured.since_s, spread.get(channel, 0.0)) for channel, it in measured.observed.items()
    ]


def _compared(it: Observed, since_s: float, spread: float) -> Compared:
    back_s = np.array([look.back_s for look in it.looks])
    noise = np.array([look.noise_sd for look in it.looks])
    wandering_s = np.maximum(since_s - back_s, 0.0)
    walk = np.minimum.outer(wandering_s, wandering_s) / since_s
    common = it.before_sd**2 if it.before is not None else it.bias_sd**2 + spread**2
    model = DISCREPANCY_SD**2 * (common + noise[-1] ** 2 + it.wander_sd**2)
    return Compared(
        channel=it.channel, kind="level" if it.before is None else "change",
        values=np.array([look.value for look in it.looks]) - (it.before or 0.0), back_s=back_s,
        errors=common + model + np.diag(noise**2) + it.wander_sd**2 * walk,
        slowly=wandering_s / max(wandering_s[-1], 1.0),
    )  # fmt: skip


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
    parts = [_part(table, it) for it in compared(measured, spread or {})]
    logs = sum((each.logs for each in parts), np.zeros((len(table.causes), len(ONSETS_S))))
    totals, best = {}, {}
    for code, weight in weights.items():
        mine = np.flatnonzero(table.causes == code)
        if code == NONE_OF_THESE:
            log = _unlisted(parts, assumed)
        elif len(mine):
            log = _log_mean(logs[mine], table.weight[mine])
            weighed = logs[mine] + np.log(table.weight[mine])[:, None]
            row, onset = np.unravel_index(int(np.argmax(weighed)), weighed.shape)
            best[code] = int(mine[row]), int(onset)
        else:
            continue
        totals[code] = log + math.log(weight) + _answered(code, answers or {}, assumed)
    terms = {code: tuple(each.term(*place) for each in parts) for code, place in best.items()}
    chances = _chances(totals)
    return Ranking(
        chances=chances, shares=_shares(chances, logs, table), table=table, terms=terms,
        misfit=_misfit(totals, terms),
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """One quantity against every row and onset.

    predicted, unchanged: rows by onsets by looks, not-a-number where nothing would be shown;
    logs: rows by onsets.
    """

    compared: Compared
    predicted: Array
    unchanged: Array
    logs: Array

    def term(self, row: int, onset: int) -> Term:
        """Return what it says of one row."""
        it, predicted = self.compared, self.predicted[row, onset]
        off, moved = it.values - predicted, predicted - self.unchanged[row, onset]
        shown = np.isfinite(off).all()
        square = math.nan
        if shown:
            wide = it.errors + MISFIT_SHARE**2 * np.outer(moved, moved)
            square = float(off @ np.linalg.solve(wide, off)) / len(off)
        return Term(
            channel=it.channel, kind=it.kind, measured=float(it.values[-1]),
            predicted=float(predicted[-1]) if math.isfinite(predicted[-1]) else None,
            log=float(self.logs[row, onset]), square=square,
        )  # fmt: skip


def weighed(table: Bank, it: Compared) -> Array:
    """Return what one quantity says of every row and onset: the logarithm of its likelihood."""
    return _part(table, it).logs


def _part(table: Bank, it: Compared) -> _Part:
    after_s = np.array(ONSETS_S)[:, None] - it.back_s
    blind = np.full((len(table.causes), *after_s.shape), math.nan)
    if it.channel not in table.channels:
        return _Part(compared=it, predicted=blind, unchanged=blind, logs=_logs(it, blind, blind))
    i = table.channels.index(it.channel)
    predicted = at_times(table.course[:, :, i], after_s)
    unchanged = at_times(table.unchanged[:, :, i], after_s)[table.animal]
    if it.kind == "level":
        was = table.before[:, i][:, None, None]
        predicted, unchanged = was + predicted, was + unchanged
    return _Part(compared=it, predicted=predicted, unchanged=unchanged, logs=_logs(it, predicted, unchanged))


def _logs(it: Compared, predicted: Array, unchanged: Array) -> Array:
    """Return the logarithm of the likelihood of one quantity under each row and onset; 0 where all fits."""
    unchanged = np.where(np.isfinite(unchanged), unchanged, it.values)
    shown = np.asarray(np.isfinite(predicted).all(axis=-1))
    moved = np.where(shown[..., None], predicted - unchanged, 0.0)
    apart = np.linalg.inv(np.linalg.cholesky(it.errors)).T
    off = (it.values - unchanged - moved) @ apart
    all_along = DISCREPANCY_SHARE * moved @ apart
    after_s = np.array(ONSETS_S)[:, None] - it.back_s
    at_first = (AT_FIRST_SHARE * moved * ((after_s > 0.0) & (after_s <= AT_FIRST_S))) @ apart
    square = np.sum(off**2, axis=-1)
    less, log_loosened = _loosened(off, all_along, at_first)
    told = student(square - less, log_loosened, len(it.values))
    untold = student(square / UNSHOWN_SD**2, 2.0 * len(it.values) * math.log(UNSHOWN_SD), len(it.values))
    return np.where(shown, told, untold)


def _loosened(off: Array, one: Array, other: Array) -> tuple[Array, Array]:
    """Return by how much two ways to be off explain a square, and the logarithm of the wider determinant.

    off: what is off, in units that err by 1 each; one, other: the ways (Woodbury's identity, of rank two).
    """
    aa, bb, ab = (np.sum(x * y, axis=-1) for x, y in ((one, one), (other, other), (one, other)))
    along, across = np.sum(off * one, axis=-1), np.sum(off * other, axis=-1)
    wider = (1.0 + aa) * (1.0 + bb) - ab**2
    less = ((1.0 + bb) * along**2 - 2.0 * ab * along * across + (1.0 + aa) * across**2) / wider
    return less, np.log(wider)


def student(square: Array, log_scale: Array | float, count: int) -> Array:
    """Return the logarithm of Student's density with four degrees of freedom, less what is always the same.

    square: of what is off, by the scale matrix; log_scale: of its determinant; count: of numbers.
    """
    return np.asarray(-0.5 * log_scale - 0.5 * (DEGREES + count) * np.log1p(square / DEGREES))


def _unlisted(parts: Sequence[_Part], assumed: Assumed) -> float:
    """Return the logarithm of the likelihood of something not listed, which moves few readings or many."""
    logs = sum((_left_or_moved(each, assumed) for each in parts), np.zeros(len(UNLISTED_CHANCES)))
    return _log_mean(logs[:, None], np.ones(len(logs)))


def _left_or_moved(it: _Part, assumed: Assumed) -> Array:
    """Return the logarithm of one quantity's likelihood, for each chance that it was moved.

    It is left alone, or moved by some amount: at once at any time, or slowly since all was well.
    """
    c = it.compared
    still = np.where(np.isfinite(it.unchanged), it.unchanged, c.values).mean(axis=(0, 1))
    off = c.values - still
    size = assumed.unlisted[c.channel.partition("@")[0]]

    def density(errors: Array) -> float:
        square = np.asarray(off @ np.linalg.solve(errors, off))
        wider = float(np.linalg.slogdet(errors)[1] - np.linalg.slogdet(c.errors)[1])
        return math.exp(float(student(square, wider, len(off))))

    ways = [*np.triu(np.ones((len(off), len(off)))), c.slowly]
    moved = math.fsum(density(c.errors + size**2 * np.outer(way, way)) for way in ways) / len(ways)
    chances = np.array(UNLISTED_CHANCES)
    told = (1.0 - chances) * density(c.errors) + chances * moved
    return np.asarray(np.log(np.maximum(told, LEAST_DENSITY)))


def _answered(code: str, answers: Mapping[str, int], assumed: Assumed) -> float:
    return sum(math.log(assumed.tests[test].chances(code)[answer]) for test, answer in answers.items())


def _log_mean(logs: Array, weights: Array) -> float:
    """Return the logarithm of the mean likelihood of rows by onsets."""
    top = float(logs.max())
    return top + math.log(float(np.average(np.exp(logs - top).mean(axis=1), weights=weights)))


def _chances(totals: Mapping[str, float]) -> dict[str, float]:
    top = max(totals.values())
    raw = {code: math.exp(log - top) for code, log in totals.items()}
    whole = math.fsum(raw.values())
    return {code: value / whole for code, value in raw.items()}


def _shares(chances: Mapping[str, float], logs: Array, table: Bank) -> Array:
    shares = np.zeros_like(logs)
    for code, chance in chances.items():
        mine = np.flatnonzero(table.causes == code)
        if len(mine):
            mass = np.exp(logs[mine] - logs[mine].max()) * table.weight[mine][:, None]
            shares[mine] = chance * mass / mass.sum()
    return shares


def _misfit(totals: Mapping[str, float], terms: Mapping[str, tuple[Term, ...]]) -> float:
    """Return how far the likeliest listed cause is from what was read: mean square, each at most 25."""
    listed = {code: log for code, log in totals.items() if code in terms}
    if not listed:
        return 0.0
    leading = terms[max(listed, key=lambda code: listed[code])]
    squares = [min(term.square, LARGEST_SQUARE) for term in leading if math.isfinite(term.square)]
    return math.fsum(squares) / max(len(squares), 1)

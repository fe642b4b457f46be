"""The one test that tells: expected information by its cost, and none that harms before oxygenation is safe.

A look with answers a of chance t(a | cause): I = H(P) - Σ q H(P | a). A measured test: each particle says
what it would show; draws from all particles, each blurred as a reading is, are weighed the same way.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lungeline.explain.assumed import NONE_OF_THESE, Assumed, BedsideTest
from lungeline.explain.bank import ONSETS_S, Array, at_times
from lungeline.explain.channel import reading_sd
from lungeline.explain.ranking import DISCREPANCY_SHARE, UNSHOWN_SD, Ranking, student

DRAWS = 80
LEAST_BITS = 0.05  # less is not worth anybody's walk
LEAST_SHARE = 1e-4  # of a particle that is thought of
SEED = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A test worth doing: what it is expected to tell [bits], and that by its cost."""

    test: BedsideTest
    expected_bits: float
    score: float


def proposals(
    ranking: Ranking, assumed: Assumed, *, oxygenation_safe: bool, done: Mapping[str, object] | None = None
) -> list[Proposal]:
    """Return tests worth doing, the best first: bits by one minute more than it takes.

    done: tests already answered, and channels already read, which are not asked for again.
    """
    known = done or {}
    found = []
    for test in assumed.tests.values():
        if test.code in known or (test.interrupts and not oxygenation_safe):
            continue
        if test.reads and all(channel in known for channel in test.reads):
            continue
        bits = _measured_bits(ranking, test, assumed) if test.reads else _look_bits(ranking, test)
        if bits >= LEAST_BITS:
            found.append(Proposal(test=test, expected_bits=bits, score=bits / (1.0 + test.minutes)))
    return sorted(found, key=lambda each: (-each.score, each.test.code))


def entropy_bits(chances: Array) -> float:
    """Return how much is not known [bits].

    >>> entropy_bits(np.array([0.5, 0.5]))
    1.0
    """
    positive = chances[chances > 0.0]
    return float(-(positive * np.log2(positive)).sum()) + 0.0


def _look_bits(ranking: Ranking, test: BedsideTest) -> float:
    chances = np.array(list(ranking.chances.values()))
    table = np.array([test.chances(cause) for cause in ranking.chances])
    return _bits(chances, table.T)


def _bits(chances: Array, table: Array) -> float:
    """Return expected information. table: for each answer, its chance under each cause."""
    left = 0.0
    for row in table:
        joint = chances * row
        whole = float(joint.sum())
        if whole > 0.0:
            left += whole * entropy_bits(joint / whole)
    return max(entropy_bits(chances) - left, 0.0)


def _measured_bits(ranking: Ranking, test: BedsideTest, assumed: Assumed) -> float:
    """Return expected information of a test that measures: draws of what it may show, each then explained."""
    table, causes = ranking.table, list(ranking.chances)
    columns = [table.channels.index(name) for name in test.reads if name in table.channels]
    rows, onsets = np.nonzero(ranking.shares > LEAST_SHARE)
    if not columns or not len(rows):
        return 0.0
    shares = ranking.shares[rows, onsets]
    now_s = np.array(ONSETS_S)
    shown, still = np.empty((len(rows), len(columns))), np.empty((len(rows), len(columns)))
    for j, i in enumerate(columns):
        was = table.before[rows, i]
        shown[:, j] = was + at_times(table.course[:, :, i], now_s)[rows, onsets]
        still[:, j] = was + at_times(table.unchanged[:, :, i], now_s)[table.animal[rows], onsets]
    sd = np.array([_level_sd(table.channels[i], still[:, j], assumed) for j, i in enumerate(columns)])
    generator = np.random.default_rng(SEED)
    drawn = generator.choice(len(rows), size=DRAWS, p=shares / shares.sum())
    spread = np.hypot(1.0, DISCREPANCY_SHARE * (shown - still) / sd)
    told = shown[drawn] + sd * spread[drawn] * generator.standard_normal((DRAWS, len(columns)))
    off = (told[:, None, :] - shown[None, :, :]) / sd
    blind = ~np.isfinite(off)
    variance = np.where(blind, UNSHOWN_SD**2, np.broadcast_to(spread**2, off.shape))
    logs = student(np.where(blind, 0.0, off) ** 2 / variance, np.log(variance), 1).sum(axis=2)
    member = (table.causes[rows][:, None] == np.array(causes)).astype(float)
    joint = (np.exp(logs - logs.max(axis=1, keepdims=True)) * shares) @ member
    prior = np.array([ranking.chances[cause] if cause != NONE_OF_THESE else 0.0 for cause in causes])
    whole = joint.sum(axis=1, keepdims=True)
    after = float(np.mean([entropy_bits(row) for row in joint / whole]))
    return max(entropy_bits(prior / prior.sum()) - after, 0.0)


def _level_sd(channel: str, values: Array, assumed: Assumed) -> float:
    """Return how sure one new reading is: there is none before to compare it with."""
    usual = float(np.nanmedian(values)) if np.isfinite(values).any() else 0.0
    sd, bias_sd = reading_sd(channel, usual, 1, assumed)
    return math.hypot(sd, bias_sd)


def most_helpful(ranking: Ranking, assumed: Assumed, missing: tuple[str, ...]) -> list[Proposal]:
    """Return which number now missing would tell most, as if reading it were a test that costs nothing."""
    found = []
    for channel in missing:
        test = BedsideTest(code=channel, minutes=0.0, interrupts=False, reads=(channel,))
        bits = _measured_bits(ranking, test, assumed)
        if bits >= LEAST_BITS:
            found.append(Proposal(test=test, expected_bits=bits, score=bits))
    return sorted(found, key=lambda each: -each.score)

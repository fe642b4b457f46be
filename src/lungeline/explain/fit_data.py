"""Readings of a case's last minutes, made ready to fit: averaged, each with how far it may be off."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lungeline.case import Reading
from lungeline.explain.assumed import Assumed
from lungeline.explain.channel import noise_sd, wander_sd
from lungeline.explain.shown import Array, Shown

AVERAGED_S = 300.0
LOGGED = ("pao2_mmhg",)  # fitted as a logarithm: errors go with the level


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """One quantity as it was read, oldest first.

    unlike: turns what is off between model and readings into numbers that err by 1 each, on their own.
    """

    channel: str
    times_s: tuple[float, ...]
    values: Array
    unlike: Array

    def off(self, shown: Sequence[Shown]) -> Array:
        """Return how far the readings are from what would be shown at their times; 0 where nothing would."""
        told = np.array([each.get(self.channel, math.nan) for each in shown])
        apart = self.values - scaled(self.channel, told)
        return self.unlike @ np.where(np.isfinite(apart), apart, 0.0)


def scaled(channel: str, values: Array) -> Array:
    """Return values as they are fitted."""
    if channel not in LOGGED:
        return values
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(values > 0.0, np.log(values), np.nan)


def series(readings: Iterable[Reading], assumed: Assumed, from_s: float) -> list[Series]:
    """Return what can be fitted of readings taken since `from_s`; missing and doubtful ones are left out."""
    rows: dict[str, dict[int, list[tuple[float, float]]]] = {}
    for it in readings:
        known = it.key in assumed.misfit and it.source != "ventilator"
        if known and it.value is not None and it.quality == "good" and it.time_s >= from_s:
            spans = rows.setdefault(it.key, {})
            spans.setdefault(int(it.time_s // AVERAGED_S), []).append((it.time_s, it.value))
    return [_series(channel, spans, assumed) for channel, spans in rows.items()]


def _series(channel: str, spans: Mapping[int, list[tuple[float, float]]], assumed: Assumed) -> Series:
    """Return one quantity: noise on its own in each average, the model's error shared by all of them."""
    means = [np.mean(spans[span], axis=0) for span in sorted(spans)]
    times_s, values = (tuple(float(mean[i]) for mean in means) for i in (0, 1))
    counts = [len(spans[span]) for span in sorted(spans)]
    own = [
        math.hypot(noise_sd(channel, value, count), wander_sd(channel, assumed))
        for value, count in zip(values, counts, strict=True)
    ]
    shared = assumed.misfit[channel]
    if channel in LOGGED:
        own = [sd / max(abs(value), 1.0) for sd, value in zip(own, values, strict=True)]
    else:
        shared = math.hypot(shared, assumed.bias.get(channel, 0.0))
    covariance = np.diag(np.square(own)) + shared**2
    return Series(
        channel=channel, times_s=times_s, values=scaled(channel, np.array(values)),
        unlike=np.linalg.inv(np.linalg.cholesky(covariance)),
    )  # fmt: skip

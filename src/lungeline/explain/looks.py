"""Readings minute by minute: what each minute showed, and how far noise, or unrest, may put it off."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import variance

from lungeline.case import Reading
from lungeline.explain.channel import noise_sd

AVERAGED_READINGS = 5
LOOK_S = 60.0  # readings of so long are averaged; older ones than this against the newest are not "now"
USUAL_SINCE_S = 300.0  # in which a quantity wanders as far as is assumed, at random
LEAST_VARIANCE = 1e-12
LEAST_TO_SCATTER = 3
RESTLESS = 1.6  # times the scatter of the instruments, beyond which it is the animal's; assumption


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A minute's readings: how long before the newest of all, their mean, how far noise may put it off."""

    back_s: float
    value: float
    noise_sd: float


def by_minute(readings: Iterable[Reading], until_s: float) -> dict[int, list[Reading]]:
    """Return the last readings of each minute, the earliest minute first, by how many minutes ago it was."""
    found: dict[int, list[Reading]] = {}
    for it in readings:
        found.setdefault(int((until_s - it.time_s) // LOOK_S), []).append(it)
    return {i: found[i][-AVERAGED_READINGS:] for i in sorted(found, reverse=True)}


def _values(readings: Iterable[Reading]) -> list[float]:
    return [it.value for it in readings if it.value is not None]


def scatter_of(minutes: Iterable[Sequence[Reading]]) -> float:
    """Return how far single readings lie from the mean of their minute, 0 where there are too few."""
    many = [values for values in map(_values, minutes) if len(values) > 1]
    free = sum(len(values) - 1 for values in many)
    if free < LEAST_TO_SCATTER - 1:
        return 0.0
    return math.sqrt(math.fsum(variance(values) * (len(values) - 1) for values in many) / free)


def look_of(channel: str, readings: Sequence[Reading], until_s: float, scatter: float) -> Look:
    """Return a minute's readings as one. An animal at unrest scatters by more than its instruments do."""
    values = _values(readings)
    value, noise = math.fsum(values) / len(values), noise_sd(channel, values[-1], len(values))
    if scatter > RESTLESS * noise_sd(channel, value, 1):
        noise = max(noise, scatter / math.sqrt(len(values)))
    return Look(back_s=until_s - readings[-1].time_s, value=value, noise_sd=noise)


def as_it_was(looks: Sequence[Look], unrest: float, wander: float) -> Look | None:
    """Return what was so when all was last well: minutes before it weighed by how far they may be from it."""
    if not looks:
        return None
    off = [look.noise_sd**2 + unrest**2 + wander**2 * look.back_s / USUAL_SINCE_S for look in looks]
    whole = math.fsum(1.0 / max(it, LEAST_VARIANCE) for it in off)
    value = (
        math.fsum(look.value / max(it, LEAST_VARIANCE) for look, it in zip(looks, off, strict=True)) / whole
    )
    return Look(back_s=0.0, value=value, noise_sd=math.sqrt(1.0 / whole))


def unrest_of(looks: Sequence[Look]) -> float:
    """Return by how much more than the instruments' noise neighbouring minutes differ, while all is well."""
    if len(looks) < LEAST_TO_SCATTER:
        return 0.0
    apart = [(b.value - a.value) ** 2 / 2.0 for a, b in pairwise(looks)]
    noise = [look.noise_sd**2 for look in looks]
    differ, expected = math.fsum(apart) / len(apart), math.fsum(noise) / len(noise)
    return math.sqrt(differ - expected) if differ > RESTLESS**2 * expected else 0.0

"""Animals that could be the one on the table: drawn, run to the last moment that was well, and weighed."""

import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

import numpy as np

from lungeline.case import Case
from lungeline.errors import InputError, SimulationError
from lungeline.explain.measured import Measured, Observed
from lungeline.explain.shown import Array, Shown, looker
from lungeline.explain.trial import Trial
from lungeline.simulate.herd import draw_multipliers

STEP_S = 0.05
SETTLED_MIN = 20.0
ROUGH_MIN = 12.0
DRAWN, MOVED, KEPT = 48, 12, 4
LEAST_TO_LEARN = 12
LARGEST_MOVE = 4.0  # standard deviations of what is drawn
MODEL_SHARE = 0.03  # how far a level of the model is off in any animal, besides what differs between them


@dataclass(slots=True, kw_only=True)
class Stand:
    """One drawn animal at the moment of the change.

    live: the running case; kept: its state then; before: what instruments would have shown; place: among
    the animals; weight: how well it fits what was read before, one against another.
    """

    live: Trial
    kept: bytes
    before: Shown
    multipliers: Mapping[str, float]
    place: int = 0
    weight: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Herd:
    """The animals to try causes on; spread: how far the levels of animals lie apart before any is fitted."""

    stands: tuple[Stand, ...]
    spread: Mapping[str, float]


def healthy(case: Case) -> Case:
    """Return the case without what goes wrong in it."""
    return replace(case, faults=())


def stands(case: Case, measured: Measured, *, seed: int, pool: Executor) -> Herd:
    """Return animals that fit what was read while all was well, best first, and how animals differ.

    case: with the settings in force then. Many animals are drawn and run in long steps; how their readings
    hang together with their numbers tells how to move some of them towards what was read. These are run
    again, moved once more by what is still missing, and the few that fit best are kept. Animals the model
    cannot run are left out. Raises InputError where none is left.
    """
    drawn = [{}, *draw_multipliers(case.animal.species, DRAWN - 1, seed)]
    rough = [it for it in pool.map(lambda each: _stand(case, each, ROUGH_MIN), drawn) if it]

    def run(wanted: Sequence[Mapping[str, float]]) -> list[Stand]:
        return [it for it in pool.map(lambda each: _stand(case, each, SETTLED_MIN), wanted) if it]

    towards = _towards(rough, measured)
    if towards is None:
        found = run([it.multipliers for it in rough[:KEPT]])
    else:
        found = run(towards.first(rough[:MOVED], seed))
        found += run([towards.again(it) for it in found])
    if not found:
        raise InputError(
            where="case", given="a case the model cannot run", allowed="one it can", do="Check the settings."
        )
    logs = [_fit(it, measured) for it in found]
    for it, log in zip(found, logs, strict=True):
        it.weight = math.exp(log - max(logs))
    found.sort(key=lambda it: -it.weight)
    kept = found[:KEPT]
    for place, it in enumerate(kept):
        it.place = place
    return Herd(stands=tuple(kept), spread=_spread(rough))


def _spread(rough: Sequence[Stand]) -> dict[str, float]:
    """Return the standard deviation between animals of each level."""
    names = {name for it in rough for name in it.before}
    values = {name: [it.before[name] for it in rough if name in it.before] for name in names}
    return {name: float(np.std(each)) for name, each in values.items()}


def _stand(case: Case, multipliers: Mapping[str, float], minutes: float) -> Stand | None:
    try:
        live = Trial(healthy(case), dt_s=STEP_S, multipliers=dict(multipliers))
        rows = live.rows(minutes * 60.0)
    except SimulationError:
        return None
    before = looker(rows, live.sensor_errors)(live.time_s)
    return Stand(live=live, kept=live.state(), before=before, multipliers=multipliers)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Towards:
    """How to move an animal towards what was read (ensemble Kalman update).

    names: of the numbers moved; spread: their standard deviations; channels, seen, error: what was read, and
    how sure it is; gain: of numbers, on a logarithmic scale, by what is off in `error`.
    """

    names: Sequence[str]
    spread: Array
    channels: Sequence[str]
    seen: Array
    error: Array
    gain: Array

    def first(self, few: Sequence[Stand], seed: int) -> list[Mapping[str, float]]:
        """Return the multipliers of drawn animals once moved, each towards readings that err a little."""
        wished = np.random.default_rng(seed).standard_normal((len(few), len(self.seen)))
        wished[0] = 0.0  # the first goes where the readings say
        return [
            self._by(self._logs(it), (self.seen - self._levels(it)) / self.error + wish)
            for it, wish in zip(few, wished, strict=True)
        ]

    def again(self, it: Stand) -> Mapping[str, float]:
        """Return the multipliers of an animal moved by what is still missing, as nothing is quite linear."""
        off = (self.seen - self._levels(it)) / self.error
        return self._by(self._logs(it), np.where(np.isfinite(off), off, 0.0))

    def _by(self, logs: Array, off: Array) -> Mapping[str, float]:
        largest = LARGEST_MOVE * self.spread
        moved = np.exp(np.clip(logs + off @ self.gain, -largest, largest))
        return dict(zip(self.names, moved.tolist(), strict=True))

    def _logs(self, it: Stand) -> Array:
        return np.array([math.log(it.multipliers.get(name, 1.0)) for name in self.names])

    def _levels(self, it: Stand) -> Array:
        return np.array([it.before.get(channel, math.nan) for channel in self.channels])


def _towards(rough: Sequence[Stand], measured: Measured) -> _Towards | None:
    """Return how to move animals, None where nothing was read before or too few could be run to learn it."""
    seen = {name: it for name, it in measured.observed.items() if it.before is not None}
    channels = [name for name in seen if all(name in each.before for each in rough)]
    if not channels or len(rough) < LEAST_TO_LEARN:
        return None
    names = sorted({name for it in rough for name in it.multipliers})
    logs = np.array([[math.log(it.multipliers.get(name, 1.0)) for name in names] for it in rough])
    levels = np.array([[it.before[channel] for channel in channels] for it in rough])
    error = np.array([level_sd(seen[channel]) for channel in channels])
    from_mean, off = logs - logs.mean(axis=0), (levels - levels.mean(axis=0)) / error
    together = off.T @ off / (len(rough) - 1) + np.eye(len(channels))
    return _Towards(
        names=names, spread=logs.std(axis=0), channels=channels, error=error,
        seen=np.array([seen[channel].before for channel in channels], dtype=float),
        gain=np.linalg.solve(together, off.T @ from_mean / (len(rough) - 1)),
    )  # fmt: skip


def level_sd(it: Observed) -> float:
    """Return how far a level may be off by the instrument, and by the model in any animal."""
    return math.hypot(it.sd, it.bias_sd, MODEL_SHARE * (it.before or 0.0))


def _fit(stand: Stand, measured: Measured) -> float:
    """Return the logarithm of how well this animal's levels fit those read while all was well."""
    total = 0.0
    for channel, it in measured.observed.items():
        expected = stand.before.get(channel)
        if it.before is not None and expected is not None:
            total -= 2.5 * math.log1p(((it.before - expected) / level_sd(it)) ** 2 / 4.0)
    return total

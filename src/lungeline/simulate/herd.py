"""Many virtual animals of one case: how far apart the answers lie."""

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from dataclasses import dataclass, fields
from threading import Event
from typing import Any

import numpy as np
import numpy.typing as npt

from lungeline.case.breath import Breath
from lungeline.case.case import Case
from lungeline.errors import LungelineError, OutOfRangeError, SimulationError
from lungeline.simulate.run import simulate
from lungeline.simulate.setup import species_parameters

GRID_S = 60.0
LARGEST_LOG_SHIFT = 2.5  # standard deviations; keeps drawn animals inside what was ever seen
UNVALIDATED_WIDENING = 1.5
MOST_ANIMALS = 5000
Outcome = tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]
KEYS: tuple[str, ...] = tuple(f.name for f in fields(Breath) if f.name != "time_s")


@dataclass(frozen=True, slots=True, kw_only=True)
class HerdRun:
    """Values of many animals on one time grid.

    times_s: shape (t,); values: key to array (n, t), not-a-number where an animal had no such value;
    failed: animals whose run could not go on, dropped openly.
    """

    times_s: Any
    values: dict[str, Any]
    n: int
    failed: int

    def percentiles(self, key: str, shares: tuple[float, ...] = (10.0, 50.0, 90.0)) -> dict[str, Any]:
        """Percentiles over the animals at each time, as {"p10": array (t,), …}."""
        table = self.values[key]
        present = ~np.all(np.isnan(table), axis=0)
        result = {}
        for share in shares:
            line = np.full(table.shape[1], np.nan)
            line[present] = np.nanpercentile(table[:, present], share, axis=0)
            result[f"p{share:g}"] = line
        return result


def draw_multipliers(species: str, n: int, seed: int, *, validated: bool = True) -> list[dict[str, float]]:
    """Draw the differences between animals: factors on parameters by name, log-normal about 1.

    n: 1 to 5000. A species without a published comparison is drawn from a wider band.
    """
    generator = np.random.default_rng(seed)
    widening = 1.0 if validated else UNVALIDATED_WIDENING
    spreads = {
        name: p.spread_log_sd * widening for name, p in species_parameters(species).items() if p.spread_log_sd
    }
    drawn = []
    for _ in range(n):
        shifts = np.clip(generator.standard_normal(len(spreads)), -LARGEST_LOG_SHIFT, LARGEST_LOG_SHIFT)
        drawn.append(
            {name: float(np.exp(sd * z)) for (name, sd), z in zip(spreads.items(), shifts, strict=True)}
        )
    return drawn


def _one_animal(
    case: Case, minutes: float, dt_s: float, multipliers: dict[str, float], stop: Event | None
) -> Outcome | None:
    """Run one animal; returns (times, table) of its breaths, or None where the model could not go on."""
    try:
        run = simulate(case, minutes, dt_s=dt_s, multipliers=multipliers, stop=stop)
    except SimulationError:
        return None
    table = np.array([[getattr(b, key) for key in KEYS] for b in run.breaths or [run.at_end]], dtype=float)
    return np.array([b.time_s for b in run.breaths or [run.at_end]]), table


@contextmanager
def _pool(executor: Executor | None) -> Iterator[Executor]:
    """Give the executor handed in, or threads on every core that stop at once when the user does."""
    if executor is not None:
        yield executor
        return
    threads = ThreadPoolExecutor(max_workers=os.cpu_count())
    try:
        yield threads
    finally:
        threads.shutdown(wait=False, cancel_futures=True)


def simulate_herd(  # noqa: PLR0913  what a person may want to choose of a herd
    case: Case,
    n: int = 100,
    seed: int = 1,
    minutes: float = 60.0,
    *,
    dt_s: float = 0.02,
    executor: Executor | None = None,
    progress: Callable[[int, int], None] | None = None,
    validated: bool = True,
) -> HerdRun:
    """Simulate many virtual animals of one case.

    n: 1 to 5000 animals; seed: of the draw; minutes: length; executor: anything with `submit`
    (threads on all cores by default; a Dask client's executor spreads it over machines);
    progress: called with (done, n).
    """
    if not 1 <= n <= MOST_ANIMALS:
        raise OutOfRangeError(
            where="herd", given=n, allowed=f"1 to {MOST_ANIMALS}", do="Give a number of animals."
        )
    animals = draw_multipliers(case.animal.species, n, seed, validated=validated)
    outcomes: list[Any] = [None] * n
    stop = Event() if executor is None else None  # other machines are told by cancelling only
    with _pool(executor) as pool:
        waiting: dict[Future[Any], int] = {
            pool.submit(_one_animal, case, minutes, dt_s, animal, stop): i for i, animal in enumerate(animals)
        }
        try:
            for done, future in enumerate(as_completed(waiting), start=1):
                outcomes[waiting[future]] = future.result()
                if progress is not None:
                    progress(done, n)
        except (KeyboardInterrupt, LungelineError):
            if stop is not None:
                stop.set()
            for future in waiting:
                future.cancel()
            raise
    return _gather([o for o in outcomes if o is not None], minutes, n)


def _gather(kept: list[Any], minutes: float, n: int) -> HerdRun:
    """Put every animal's last breath before each minute on one grid."""
    times_s = np.arange(GRID_S, minutes * 60.0 + 1e-6, GRID_S)
    if not len(times_s):
        times_s = np.array([minutes * 60.0])
    values = {key: np.full((len(kept), len(times_s)), np.nan) for key in KEYS}
    for i, (when, table) in enumerate(kept):
        index = np.clip(np.searchsorted(when, times_s, side="right") - 1, 0, len(when) - 1)
        for j, key in enumerate(KEYS):
            values[key][i] = table[index, j]
    return HerdRun(times_s=times_s, values=values, n=len(kept), failed=n - len(kept))

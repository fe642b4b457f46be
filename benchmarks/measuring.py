"""How things are timed here, and how a measured figure is printed beside its target."""

import os
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

REPEATS = 5


def least_s(
    action: Callable[[], object], repeats: int = REPEATS, clock_s: Callable[[], float] = time.perf_counter
) -> float:
    """Return the least time an action took [s], after one call that warms it up.

    The least, because whatever else the machine does can only add to it.
    """
    action()
    best_s = float("inf")
    for _ in range(repeats):
        begin_s = clock_s()
        action()
        best_s = min(best_s, clock_s() - begin_s)
    return best_s


def least_processor_s(action: Callable[[], object], repeats: int = REPEATS) -> float:
    """Return the least time an action kept the processor busy [s].

    For ratios of a short and a long action, of which the long one is the likelier to be interrupted.
    """
    return least_s(action, repeats, time.process_time)


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One measured figure: a time that must not exceed its target, or a ratio that must reach it."""

    item: str
    target: float
    measured: float
    unit: str
    at_least: bool = False

    @property
    def met(self) -> bool:
        """Whether the target is met."""
        return self.measured >= self.target if self.at_least else self.measured <= self.target

    @property
    def cells(self) -> tuple[str, ...]:
        """The row of the printed table."""
        sign = "≥" if self.at_least else "≤"
        verdict = "met" if self.met else "not met"
        return self.item, f"{sign} {self.target:g} {self.unit}", f"{self.measured:.3g} {self.unit}", verdict


def print_results(results: Sequence[Result]) -> None:
    """Print the table of targets, and how busy the machine is with other things."""
    print_table([("item", "target", "measured", ""), *(result.cells for result in results)])
    cores, load = os.cpu_count(), os.getloadavg()[0]
    print(f"On {cores} cores, load average {load:.1f}: what else runs makes times longer, never shorter.\n")


def print_table(rows: Sequence[Sequence[str]]) -> None:
    """Print rows in columns, the first column to the left, the others to the right."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for first, *others in rows:
        cells = (f"{cell:>{width}}" for cell, width in zip(others, widths[1:], strict=True))
        print("  ".join((f"{first:<{widths[0]}}", *cells)).rstrip())
    print()

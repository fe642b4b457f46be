"""Does every comparison, sharing the runs between them."""

from collections.abc import Callable, Iterable
from concurrent.futures import Executor

from lungeline.evidence.catalogue import COMPARISONS
from lungeline.evidence.comparison import Comparison, Result
from lungeline.evidence.shared_runs import SharedRuns


def run_all(
    executor: Executor | None = None,
    *,
    comparisons: Iterable[Comparison] = COMPARISONS,
    progress: Callable[[int, int], None] | None = None,
) -> list[Result]:
    """Return what came of each comparison, in their order.

    executor: anything with `submit`, such as a pool of threads; None for one after another, here.
    progress: called with how many are done, of how many.
    """
    items = list(comparisons)
    runs = SharedRuns()
    waiting = [] if executor is None else [executor.submit(item.result, runs) for item in items]
    results = []
    for done, item in enumerate(items, start=1):
        results.append(waiting[done - 1].result() if waiting else item.result(runs))
        if progress is not None:
            progress(done, len(items))
    return results

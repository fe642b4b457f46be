"""How exact breaths out of noisy curves are, against the simulated animal's truth; and how fast.

`python bench_breaths.py` prints the table; the numbers beside each set-up are 95th percentiles of the error
of single breaths, the first eight left out, in which zero and lag are learnt.
"""

import time
from collections.abc import Iterable

from breath_set_ups import RATE_HZ, SET_UPS, SetUp, noisy, scored, simulated
from measuring import print_table

from lungeline.compare import Breaths

SEEDS = (1, 2, 3)
MINUTES = 8.0
SPEED_TARGET = 100.0


def main() -> None:
    """Measure and print."""
    rows: list[tuple[str, ...]] = [
        (
            "set-up",
            "breaths",
            "missed",
            "invented",
            "VT in %",
            "VT out %",
            "peak",
            "compliance %",
            "× real time",
        )
    ]
    totals = [0, 0, 0]
    slowest = float("inf")
    for set_up in SET_UPS:
        row, counts, speed = _row(set_up, SEEDS)
        rows.append(row)
        totals = [total + count for total, count in zip(totals, counts, strict=True)]
        slowest = min(slowest, speed)
    print_table(rows)
    breaths, missed, invented = totals
    print(f"{breaths} breaths: {100.0 * (1.0 - missed / breaths):.2f} % found, {invented} invented.")
    print(f"Slowest {slowest:.0f} × real time at {RATE_HZ:g} Hz; target ≥ {SPEED_TARGET:g}.\n")


def _row(set_up: SetUp, seeds: Iterable[int]) -> tuple[tuple[str, ...], tuple[int, int, int], float]:
    run = simulated(set_up, MINUTES)
    scores, busy_s = [], 0.0
    for seed in seeds:
        blocks = noisy(run, set_up, seed)
        begin_s = time.process_time()
        breaths = Breaths(least_volume_l=set_up.least_volume_l)
        found = [*breaths.take(blocks), *breaths.finish()]
        busy_s += time.process_time() - begin_s
        scores.append(scored(run, found, MINUTES))
    counts = tuple(
        sum(getattr(score, name) for score in scores) for name in ("breaths", "missed", "invented")
    )
    speed = len(scores) * MINUTES * 60.0 / busy_s
    errors = [
        f"{max(score.error(key) for score in scores):.3g}" if scores[0].told(key) else "–"
        for key in ("inspired_percent", "expired_percent", "peak_cmh2o", "compliance_percent")
    ]
    breaths_count, missed, invented = counts
    cells = (set_up.name, *map(str, counts), *errors, f"{speed:.0f}")
    return cells, (breaths_count, missed, invented), speed


if __name__ == "__main__":
    main()

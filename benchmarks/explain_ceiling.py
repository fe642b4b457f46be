"""How well anybody could do: one who knows the very animal and the laws of its faults, and reads the same.

What this observer cannot tell apart, no ranking can: it is the ceiling of the bench, not a method.
"""

import numpy as np
from explain_faults import LAWS
from explain_world import Subject

from lungeline.explain.assumed import NO_FAULT
from lungeline.explain.bank import Bank, bank
from lungeline.explain.measured import TREND_S
from lungeline.explain.particles import Look, Particle
from lungeline.explain.shown import Array, Shown, looker
from lungeline.simulate.kernel.state import BREATH_KEYS

SEVERITIES = tuple((np.arange(10) + 0.5) / 10.0)
ONSETS_S = tuple(np.arange(105.0, 481.0, 30.0))


def ceiling(it: Subject, causes: tuple[str, ...]) -> Bank:
    """Return every cause by the bench's own laws in the true animal, finely graded."""
    it.live.restore(it.kept)
    before = looker(_rows(it), it.live.sensor_errors)(it.live.time_s)
    still = _looks(it, NO_FAULT, 0.0, before)
    kept = _line(NO_FAULT, 0.0, (still, still), before)
    for cause in causes:
        if cause in LAWS:
            for severity in SEVERITIES:
                kept += _line(cause, severity, (_looks(it, cause, severity, before), still), before)
    return bank(kept)


def _rows(it: Subject) -> Array:
    values = [[getattr(row, key) for key in BREATH_KEYS] for row in it.live.breaths]
    return np.array(values, dtype=float).reshape(len(values), len(BREATH_KEYS))


def _looks(it: Subject, cause: str, severity: float, before: Shown) -> list[Look]:
    live = it.live
    live.mischief = None
    live.restore(it.kept)
    begin_s, first = live.time_s, len(live.breaths)
    live.break_by(cause, severity)
    live.advance(ONSETS_S[-1])
    seen = looker(_rows(it), live.sensor_errors)
    del live.breaths[first:]

    def look(after_s: float) -> Shown:
        return seen(begin_s + after_s) if after_s > 0.0 else before

    return [(look(after_s), look(after_s - TREND_S)) for after_s in ONSETS_S]


def _line(
    cause: str, severity: float, looks: tuple[list[Look], list[Look]], before: Shown
) -> list[Particle]:  # fmt: skip
    return [
        Particle(
            cause=cause, severity_fraction=severity, way=0, began_s=after_s, animal=0, weight=1.0,
            before=before, now=now, earlier=earlier, unchanged=same, unchanged_earlier=same_earlier,
        )
        for after_s, (now, earlier), (same, same_earlier) in zip(ONSETS_S, *looks, strict=True)
    ]  # fmt: skip

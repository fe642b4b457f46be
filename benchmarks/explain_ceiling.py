"""How well anybody could do: one who knows the very animal and the laws of its faults, and reads the same.

What this observer cannot tell apart, no ranking can: it is the ceiling of the bench, not a method.
"""

import numpy as np
from explain_faults import LAWS
from explain_world import Subject

from lungeline.explain.assumed import NO_FAULT
from lungeline.explain.bank import Bank, bank
from lungeline.explain.particles import TIMES_S, Particle
from lungeline.explain.shown import Array, Shown, looker
from lungeline.simulate.kernel.state import BREATH_KEYS

SEVERITIES = tuple((np.arange(10) + 0.5) / 10.0)


def ceiling(it: Subject, causes: tuple[str, ...]) -> Bank:
    """Return every cause by the bench's own laws in the true animal, finely graded."""
    it.live.restore(it.kept)
    before = looker(_rows(it), it.live.sensor_errors)(it.live.time_s)
    still = _course(it, NO_FAULT, 0.0)

    def particle(cause: str, severity: float, course: list[Shown]) -> Particle:
        return Particle(
            cause=cause, severity_fraction=severity, way=0, animal=0, weight=1.0, before=before,
            course=course, unchanged=still,
        )  # fmt: skip

    return bank([
        particle(NO_FAULT, 0.0, still),
        *(particle(it_is, u, _course(it, it_is, u)) for it_is in causes if it_is in LAWS for u in SEVERITIES),
    ])  # fmt: skip


def _rows(it: Subject) -> Array:
    values = [[getattr(row, key) for key in BREATH_KEYS] for row in it.live.breaths]
    return np.array(values, dtype=float).reshape(len(values), len(BREATH_KEYS))


def _course(it: Subject, cause: str, severity: float) -> list[Shown]:
    live = it.live
    live.mischief = None
    live.restore(it.kept)
    begin_s, first = live.time_s, len(live.breaths)
    live.break_by(cause, severity)
    live.advance(TIMES_S[-1])
    seen = looker(_rows(it), live.sensor_errors)
    del live.breaths[first:]
    return [seen(begin_s + after_s) for after_s in TIMES_S]

"""Set against expected against measured: breaths out of curves, and how far they lie from what to expect."""

from lungeline.compare.breaths import Breaths
from lungeline.compare.deviations import (
    Band,
    Deviation,
    Shown,
    deviations,
    expected_bands,
    set_values,
    shown_by_breaths,
)
from lungeline.compare.following import follow
from lungeline.compare.wave_breath import WaveBreath

__all__ = [
    "Band",
    "Breaths",
    "Deviation",
    "Shown",
    "WaveBreath",
    "deviations",
    "expected_bands",
    "follow",
    "set_values",
    "shown_by_breaths",
]

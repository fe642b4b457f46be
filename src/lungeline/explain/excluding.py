"""What may be called unlikely: a lethal cause only once a named observation excludes it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from lungeline.case import Settings
from lungeline.explain.assumed import Assumed, Cause
from lungeline.explain.measured import Measured

Word = Literal["likely", "possible", "unlikely", "not excluded"]
LIKELY, POSSIBLE = 0.5, 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """All that was observed: readings, what is set, and what tests found."""

    measured: Measured
    settings: Settings
    answers: Mapping[str, str]


def word_for(cause: Cause, chance: float, seen: Seen, assumed: Assumed, *, enough: bool = True) -> Word:
    """Return how a cause's chance is told. enough: whether the readings can tell causes apart at all."""
    if chance >= LIKELY and enough:
        return "likely"
    if chance >= POSSIBLE:
        return "possible"
    if cause.lethal and not excluded_by(cause, seen, assumed):
        return "not excluded"
    return "unlikely"


def excluded_by(cause: Cause, seen: Seen, assumed: Assumed) -> str:
    """Return the observation that excludes a cause, empty where none was made."""
    for name in cause.excluded_by:
        test, _, answer = name.partition(":")
        if answer:
            if seen.answers.get(test) == answer:
                return name
        elif _observed(name, seen, assumed):
            return name
    return ""


def impossible(cause: Cause, seen: Seen, assumed: Assumed) -> bool:
    """Tell whether what was read leaves no room for a cause."""
    return any(_observed(name, seen, assumed) for name in cause.impossible_with)


def _observed(name: str, seen: Seen, assumed: Assumed) -> bool:
    """Tell whether every reading an observation asks for is there, on the right side of its line."""
    it = assumed.observations[name]
    numbers = {key: each.now for key, each in seen.measured.observed.items()} | _against_set(seen)
    above = all(key in numbers and numbers[key] >= line for key, line in it.at_least.items())
    return above and all(key in numbers and numbers[key] <= line for key, line in it.at_most.items())


def _against_set(seen: Seen) -> dict[str, float]:
    """Return readings against what is set."""
    found = {}
    volume, baseline = (
        seen.measured.observed.get(key) for key in ("tidal_volume_expired_l", "end_expiratory_pressure_cmh2o")
    )
    if volume is not None and seen.settings.tidal_volume_l:
        found["tidal_volume_expired_share_fraction"] = volume.now / seen.settings.tidal_volume_l
    if baseline is not None:
        found["end_expiratory_above_set_cmh2o"] = baseline.now - (seen.settings.peep_cmh2o or 0.0)
    return found

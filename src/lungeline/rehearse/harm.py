"""What the simulated animal went through, added up over its breaths."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from lungeline.case.breath import Breath

_LEAST_PAO2_MMHG, _LEAST_MAP_MMHG = 60.0, 70.0  # as the field draws these lines; see reference/limits
_LEAST_OF_SET_FRACTION = 0.05  # inspired oxygen below what is set by more than this
_SAFE_PEAK_CMH2O = 40.0  # of a large animal; common practice, no source
_SECONDS_PER_MINUTE = 60.0
# what takes all of the part for harm; assumption, to weigh unlike things on one scale
_WORST = {
    "hypoxaemia_minutes": 10.0,
    "hypotension_minutes": 20.0,
    "low_oxygen_minutes": 20.0,
    "room_air_l": 20.0,
    "pressure_cmh2o_min": 60.0,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Harm:
    """hypoxaemia_minutes: PaO2 below 60 mmHg. hypoxaemia_mmhg_min: how far below, over time.

    hypotension_minutes: mean arterial pressure below 70 mmHg. low_oxygen_minutes: inspired oxygen more than
    5 % below what was set then. room_air_l: drawn in. pressure_cmh2o_min: peak pressure above 40 cmH2O, over
    time.
    """

    hypoxaemia_minutes: float
    hypoxaemia_mmhg_min: float
    hypotension_minutes: float
    low_oxygen_minutes: float
    room_air_l: float
    pressure_cmh2o_min: float

    @property
    def spared_fraction(self) -> float:
        """Share of the part for harm that is left: each harm takes its share of its worst."""
        taken = float(sum(getattr(self, name) / worst for name, worst in _WORST.items()))
        return max(0.0, 1.0 - taken)

    def as_json(self) -> dict[str, Any]:
        """Return every sum."""
        return {name: getattr(self, name) for name in self.__slots__}


def harm_of(breaths: Sequence[Breath], oxygen_set: Sequence[tuple[float, float]], end_s: float) -> Harm:
    """Return the harm of breaths since a moment; each stands for the time until the next.

    oxygen_set: from when [s], and what was set from then on [1], oldest first.
    """
    spans = [
        ((later - breath.time_s) / _SECONDS_PER_MINUTE, breath)
        # without any breath yet, the end alone is left
        for breath, later in zip(breaths, [*(b.time_s for b in breaths[1:]), end_s], strict=False)
    ]
    set_s = [at_s for at_s, _ in oxygen_set]

    def is_low(breath: Breath) -> bool:
        set_fraction = oxygen_set[max(bisect_right(set_s, breath.time_s) - 1, 0)][1]
        told = breath.fio2_fraction
        return told is not None and told < set_fraction - _LEAST_OF_SET_FRACTION

    def minutes_below(name: str, least: float) -> float:
        told = ((span, getattr(b, name)) for span, b in spans)
        return float(sum(span for span, value in told if value is not None and value < least))

    def sum_beyond(name: str, line: float, sign: float) -> float:
        told = ((span, getattr(b, name)) for span, b in spans)
        return float(sum(span * max(0.0, sign * (value - line)) for span, value in told if value is not None))

    entrained = [b.room_air_entrained_l for b in breaths if b.room_air_entrained_l is not None]
    return Harm(
        hypoxaemia_minutes=minutes_below("pao2_mmhg", _LEAST_PAO2_MMHG),
        hypoxaemia_mmhg_min=sum_beyond("pao2_mmhg", _LEAST_PAO2_MMHG, -1.0),
        hypotension_minutes=minutes_below("map_mmhg", _LEAST_MAP_MMHG),
        low_oxygen_minutes=float(sum(span for span, breath in spans if is_low(breath))),
        room_air_l=entrained[-1] - entrained[0] if entrained else 0.0,
        pressure_cmh2o_min=sum_beyond("peak_pressure_cmh2o", _SAFE_PEAK_CMH2O, 1.0),
    )

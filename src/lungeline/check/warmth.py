"""Gas pressed fast is warm, and loses pressure as it cools: looks like a leak. Let out fast, the reverse.

The pressure that warmth lends follows the speed at which gas is pressed in, through a filter of first order.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from lungeline.case.checks import check_record
from lungeline.case.fields import number, switch
from lungeline.check.circuit import Circuit
from lungeline.check.leak_law import Fall, leak_of_fall
from lungeline.check.uncertainty import between
from lungeline.physics.constants import SECONDS_PER_MINUTE
from lungeline.physics.leak_decay import decay_pressure_cmh2o
from lungeline.reference import figure

_HEAT_CAPACITY_RATIO_NUMBER = 1.4  # oxygen and air
_PIECES = 3  # a fall slows down: taken as so many stretches of even speed
_HIGHEST_CMH2O = 120.0
_ADDS = _HEAT_CAPACITY_RATIO_NUMBER - 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """How the pressure was brought about before the first reading. Leave out what nobody noted.

    fill_s: time taken to fill to the pressure of the test.
    waited_s: time from then to the first reading.
    held: whether a flow held the pressure while waiting, shut at the first reading.
    """

    fill_s: float | None = field(default=None, metadata=number(0.1, 3600, "time of filling"))
    waited_s: float | None = field(default=None, metadata=number(0, 3600, "time waited"))
    held: bool = field(default=False, metadata=switch("pressure held while waiting"))

    def __post_init__(self) -> None:
        """Refuse times that cannot be."""
        check_record(self, "filling")

    def times_s(self, draw: int | None) -> tuple[float, float] | None:
        """Return filling and waiting, at their middle or in one draw; None for gas long at rest."""
        if self.waited_s is None and draw is None:
            return None
        waits, fills = figure("leak_test.least_wait_s"), (3.0, 20.0)  # a flush, or a fast flow
        waited_s = self.waited_s
        if waited_s is None:
            waited_s = between("waited", draw or 0, waits.low, waits.high)
        fill_s = self.fill_s
        if fill_s is None:
            fill_s = math.sqrt(fills[0] * fills[1]) if draw is None else between("fill", draw, *fills)
        return fill_s, waited_s


def cooling_time_s(draw: int | None) -> float:
    """Return how long gas takes to cool by all but a third, at its middle or in one draw."""
    known = figure("leak_test.cooling_time_s")
    return known.value if draw is None else between("cooling", draw, known.low, known.high)


def lent_cmh2o(
    circuit: Circuit, courses: Iterable[tuple[float, float]], cooling_s: float, start_cmh2o: float = 0.0
) -> float:
    """Return the pressure that warmth lends after some stretches of even change [cmH2O].

    courses: speed at which stored pressure changes [cmH2O/s] and how long [s], in order.
    cooling_s: time constant of cooling [s]. start_cmh2o: lent before the first.
    Source: T ~ density^(gamma - 1), cooling by Newton's law, small changes (closed form).
    """
    share = circuit.gas_share_fraction()
    slower = 1.0 + _ADDS * (1.0 - share)
    gain, filter_s = _ADDS * share / slower, cooling_s * slower
    lent = start_cmh2o
    for speed, seconds_s in courses:
        left = math.exp(-seconds_s / filter_s)
        lent = lent * left + gain * speed * filter_s * (1.0 - left)
    return lent


def courses_of_fall(fall: Fall, law: float, from_s: float, to_s: float) -> list[tuple[float, float]]:
    """Return a fall as stretches of even speed, from a time before or after its start until another [s].

    Each is speed [cmH2O/s] and time [s]; before the start the same leak is taken to have gone on.
    """
    if to_s <= from_s:
        return []
    speed_min = leak_of_fall(fall, fall.start_cmh2o, 1.0, law)
    if speed_min <= 0.0:
        return [(-speed_min / SECONDS_PER_MINUTE, to_s - from_s)]
    piece_s = (to_s - from_s) / _PIECES
    pressures = [
        min(float(decay_pressure_cmh2o(fall.start_cmh2o, from_s + place * piece_s, 1.0, speed_min,
                                       fall.start_cmh2o, law)), _HIGHEST_CMH2O)
        for place in range(_PIECES + 1)
    ]  # fmt: skip
    return [((later - first) / piece_s, piece_s) for first, later in pairwise(pressures)]

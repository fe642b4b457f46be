"""How a leak grows with pressure: the power law, known or not, and a leak at another pressure."""

from dataclasses import dataclass
from typing import Literal

from lungeline.check.uncertainty import Spread, between
from lungeline.physics.leak_decay import decay_leak_ml_min, mean_decay_leak_ml_min
from lungeline.physics.leaks import leak_ml_min

ORIFICE_NUMBER, LAMINAR_NUMBER = 0.5, 1.0  # one hole; many fine gaps
MIDDLE_NUMBER = (ORIFICE_NUMBER + LAMINAR_NUMBER) / 2.0
REFERENCE_PRESSURE_CMH2O = 30.0
_LEAST_LEFT_CMH2O = 0.05  # an empty circle tells no more
_SMALL_SHARE = 0.01  # of the pressure: a fall whose law makes no difference
Law = Literal["one hole", "many fine gaps", "between one hole and many fine gaps", "not known"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fall:
    """A fall of pressure, and what part of it a leak made; the rest is warmth come or gone.

    start_cmh2o: from where; fall_cmh2o: by how much, as it was; seconds_s: in what time.
    by_leak_cmh2o: by how much had the gas kept its temperature.
    """

    start_cmh2o: float
    fall_cmh2o: float
    seconds_s: float
    by_leak_cmh2o: float


def exponent(known: float | None, draw: int | None = None) -> float:
    """Return the exponent: as known, else anywhere between one hole and fine gaps."""
    if known is not None:
        return known
    return MIDDLE_NUMBER if draw is None else between("law", draw, ORIFICE_NUMBER, LAMINAR_NUMBER)


def exponents(measured: Spread | None) -> tuple[float, float, float]:
    """Return the least, the middle and the greatest exponent a leak may have, by what was measured of it.

    No hole lies outside one hole and fine gaps, unless all of the interval does: then something moves.

    >>> exponents(None)
    (0.5, 0.75, 1.0)
    >>> exponents(Spread(value=0.55, low=0.3, high=0.8))
    (0.5, 0.55, 0.8)
    """
    if measured is None:
        return ORIFICE_NUMBER, MIDDLE_NUMBER, LAMINAR_NUMBER
    ends = (measured.low, measured.value, measured.high)
    if measured.high < ORIFICE_NUMBER or measured.low > LAMINAR_NUMBER:
        return ends
    least, middle, most = (min(max(end, ORIFICE_NUMBER), LAMINAR_NUMBER) for end in ends)
    return least, middle, most


def leak_of_fall(fall: Fall, at_cmh2o: float, compliance_ml_cmh2o: float, law: float) -> float:
    """Return the leak at a pressure by a fall; below 0 where more came in than went out [mL/min]."""
    left = max(fall.start_cmh2o - fall.fall_cmh2o, _LEAST_LEFT_CMH2O)
    if fall.fall_cmh2o > _SMALL_SHARE * fall.start_cmh2o:
        leak = decay_leak_ml_min(at_cmh2o, fall.start_cmh2o, left, fall.seconds_s, compliance_ml_cmh2o, law)
        return float(leak) * fall.by_leak_cmh2o / fall.fall_cmh2o
    # too small a fall, or a rise: the leak is that of its middle
    middle = (fall.start_cmh2o + left) / 2.0
    mean = mean_decay_leak_ml_min(compliance_ml_cmh2o, fall.by_leak_cmh2o, 0.0, fall.seconds_s)
    return float(mean) * float(leak_ml_min(at_cmh2o, 1.0, middle, law))


def law_in_words(spread: Spread | None) -> Law:
    """Return what an exponent means; only what its interval leaves.

    >>> law_in_words(Spread(value=0.52, low=0.44, high=0.6))
    'one hole'
    """
    if spread is None or (spread.low <= ORIFICE_NUMBER and spread.high >= LAMINAR_NUMBER):
        return "not known"
    if spread.high < MIDDLE_NUMBER:
        return "one hole"
    if spread.low > MIDDLE_NUMBER:
        return "many fine gaps"
    return "between one hole and many fine gaps"


def leak_at(leak: Spread, at_cmh2o: float, wanted_cmh2o: float, laws: tuple[float, float, float]) -> Spread:
    """Return a leak at another pressure, by the least, middle and greatest exponent it may have.

    >>> leak_at(Spread(value=200.0, low=200.0, high=200.0), 20.0, 30.0, (1.0, 1.0, 1.0)).value
    300.0
    """
    least, middle, most = laws

    def moved(flow: float, law: float) -> float:
        return float(leak_ml_min(wanted_cmh2o, flow, at_cmh2o, law))

    return Spread(
        value=moved(leak.value, middle),
        low=min(moved(leak.low, least), moved(leak.low, most)),
        high=max(moved(leak.high, least), moved(leak.high, most)),
    )

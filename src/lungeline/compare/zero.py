"""What the flow sensor shows at rest, and what leaks behind it.

What goes in comes out, but for the little that blood takes up: so the mean flow of whole breaths is the zero,
and what leaks behind the sensor beside it. Flow at the end of an expiration that has come to rest is the zero
as well, roughly: a lung that still empties, or a leak elsewhere that draws on it, moves gas there, and where
the machine feeds gas to hold the pressure, the leak shows at rest too. Neither tells a leak from a zero by
itself. So every size of leak is weighed: how likely it is, how likely the zero it leaves, and how well it
agrees with the flow at rest; the mean of all these is taken, unless none is much the likelier. A leak that
may or may not be there is then half believed, and volumes are off by half of it at most.
"""

from collections import deque
from dataclasses import dataclass, field
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

LEAK_EXPONENT = 0.7  # of pressure: between one hole and fine gaps
# (1 - R) VO2 over ventilation: R 0.8, 3 mL/kg/min, 80 mL/kg/min; taken up without being given back
UPTAKE_FRACTION = 0.0075
_BALANCED, _REMEMBERED, _FEWEST = 7, 15, 3  # breaths: the balance follows a zero that drifts
# an open lung at rest takes up its oxygen, 3 over 80 mL/kg/min, and gives off little carbon dioxide meanwhile
_OPEN_UPTAKE_FRACTION = 0.03
_REST_S, _REST_SHARE, _LEAST_REST_S = 1.5, 0.2, 0.4  # of expiration
_STEADY_SHARE, _LARGEST_SHARE = 0.025, 0.06  # of the peak flow
# assumed, as shares: what is usual before anything is seen
_USUAL_ZERO_SHARE = 0.01  # of the peak flow, standard deviation
_LEAK_CHANCE, _USUAL_LEAK_FRACTION = 0.4, 0.12  # that one leaks at all; of what goes in, where one does
# at rest gas moves for other reasons: out of a slow lung or into a leak of the circle, seldom in
_CREEP_OUT_FRACTION, _CREEP_IN_FRACTION = 0.025, 0.015
_LARGEST_LEAK_FRACTION, _LEAK_STEP_FRACTION = 0.8, 0.0025
_NONE_LIKELIER = 0.6  # that likely, no leak is assumed, and what is sound is told exactly
_LEAST_HELD_CMH2O = 1.0  # at rest: less is a lung open to the room
_SURE_WITHIN_FRACTION = 0.012


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """One breath seen for its zero. rest_l_s: flow at the end of expiration, None where gas still moved.

    mean_l_s: over the whole breath; inspired_l_s: what went in, over the same time; peak_l_s: flow in.
    drive: mean over the breath of the pressure to the leak's exponent; rest_drive: the same at its end.
    """

    rest_l_s: float | None
    mean_l_s: float
    inspired_l_s: float
    peak_l_s: float
    drive: float
    rest_drive: float

    @property
    def balance_l_s(self) -> float:
        """Mean flow that no blood takes up: the zero, and what leaks."""
        return self.mean_l_s - UPTAKE_FRACTION * self.inspired_l_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """The zero of a flow sensor; the leak behind it, as part of what goes in; whether both are sure.

    leak: flow at a pressure of 1 cmH2O, to go with `leak_drive`.
    """

    zero_l_s: float = 0.0
    leak: float = 0.0
    leak_fraction: float | None = None
    sure: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RestSeen:
    """What breaths show at rest, as parts of what goes in.

    behind_fraction: flow over the mean of the whole breath, that blood takes up left out.
    held_share: of a leak's mean flow that it has at rest, should the machine hold the pressure.
    """

    behind_fraction: float
    held_share: float
    open_to_room: bool


@dataclass(slots=True)
class Zero:
    """The zero of a flow sensor and the size of a leak, from the last breaths."""

    told: Told = field(default_factory=Told)
    _breaths: "deque[Rest]" = field(default_factory=lambda: deque(maxlen=_REMEMBERED))

    def note(self, breath: Rest) -> None:
        """Add a breath, and tell anew."""
        self._breaths.append(breath)
        seen = list(self._breaths)
        inspired, drive = _middle(seen, "inspired_l_s"), _middle(seen, "drive")
        rest = self._rest_seen(seen, inspired, drive)
        lost, spread = leak_fraction(
            _midmean([each.balance_l_s for each in seen]) / inspired,
            _USUAL_ZERO_SHARE * _middle(seen, "peak_l_s") / inspired,
            rest,
        )
        self.told = Told(
            zero_l_s=_middle(seen[-_BALANCED:], "balance_l_s") - lost * inspired,
            leak=lost * inspired / drive if drive > 0.0 else 0.0,
            leak_fraction=None if rest is None else lost,
            sure=rest is not None and spread <= _SURE_WITHIN_FRACTION,
        )

    @staticmethod
    def _rest_seen(seen: "list[Rest]", inspired_l_s: float, drive: float) -> RestSeen | None:
        rested = [each for each in seen if each.rest_l_s is not None]
        if len(rested) < min(_FEWEST, len(seen)):
            return None
        # each rest beside the balance of its own breath: a zero that drifts is in both
        behind = _midmean([(each.rest_l_s or 0.0) - each.balance_l_s for each in rested])
        at_rest = _middle(rested, "rest_drive")
        return RestSeen(
            behind_fraction=behind / inspired_l_s,
            held_share=min(at_rest / drive, 1.0) if drive > 0.0 else 0.0,
            open_to_room=at_rest < _LEAST_HELD_CMH2O,
        )


def leak_fraction(
    excess_fraction: float, usual_zero_fraction: float, rest: RestSeen | None
) -> tuple[float, float]:
    """Return what is lost behind the sensor, as part of what goes in, and how far that may be off.

    excess_fraction: of what goes in, that does not come back, by a sensor whose zero is usually within
    usual_zero_fraction; rest: None where there was none.
    """
    sizes = np.arange(0.0, _LARGEST_LEAK_FRACTION, _LEAK_STEP_FRACTION)
    chance = _LEAK_CHANCE * _LEAK_STEP_FRACTION / _USUAL_LEAK_FRACTION * np.exp(-sizes / _USUAL_LEAK_FRACTION)
    chance[0] = 1.0 - _LEAK_CHANCE
    fit = np.atleast_2d(-0.5 * ((excess_fraction - sizes) / usual_zero_fraction) ** 2)
    if rest is not None:
        held = rest.held_share * sizes + _OPEN_UPTAKE_FRACTION
        # with a machine that lets the pressure fall, what leaks comes from the lung, past no sensor
        shown = np.stack([held] if rest.open_to_room else [held, np.zeros_like(sizes)])
        creep = rest.behind_fraction + sizes - shown
        fit = fit - np.where(creep < 0.0, -creep / _CREEP_OUT_FRACTION, creep / _CREEP_IN_FRACTION)
    weights = (chance * np.exp(fit - fit.max())).sum(axis=0)
    weights /= weights.sum()
    lost = float(weights @ sizes) if weights[0] < _NONE_LIKELIER else 0.0
    return lost, float(weights @ (sizes - lost) ** 2) ** 0.5


def _midmean(values: "list[float]") -> float:
    """Return the mean of the middle half and a little more: of a heart that beats with the breath, too."""
    left_out = len(values) // 5
    return float(np.mean(sorted(values)[left_out : len(values) - left_out])) if values else 0.0


def _middle(breaths: "list[Rest]", key: str) -> float:
    return float(median(getattr(each, key) for each in breaths))


def resting_flow_l_s(flow: "NDArray[np.float64]", peak_flow_l_s: float, rate_hz: float) -> float | None:
    """Return the flow at the end of an expiration, None where gas still moves.

    flow: of the expiration, up to the next breath.
    """
    length = round(min(_REST_S * rate_hz, _REST_SHARE * len(flow)))
    if length < _LEAST_REST_S * rate_hz:
        return None
    early, late = np.array_split(flow[-length:], 2)
    level = float(flow[-length:].mean())
    steady = abs(float(late.mean() - early.mean())) <= _STEADY_SHARE * peak_flow_l_s
    return level if steady and abs(level) <= _LARGEST_SHARE * peak_flow_l_s else None


def leak_drive(pressure: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return what drives a leak at each pressure."""
    driven: NDArray[np.float64] = np.maximum(np.nan_to_num(pressure), 0.0) ** LEAK_EXPONENT
    return driven

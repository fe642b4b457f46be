"""A running case on which a cause is tried, by the law of the register or by another it may follow."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from lungeline.case import Change
from lungeline.case.manoeuvre import Disconnect
from lungeline.errors import SimulationError
from lungeline.simulate.faults import ABDOMEN_HELD_BACK_FRACTION, ABDOMEN_SHUNT_FRACTION, RunValues
from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.parameters import ANIMAL, CIRCUIT, VENTILATOR, record
from lungeline.simulate.kernel.step import run_steps
from lungeline.simulate.live import ROWS_PER_CALL, TICK_S, LiveCase

TYPICAL_PRESSURE_CMH2O = 20.0
HOLE_EXPONENT, SLIT_EXPONENT = 0.5, 1.0
SLOWEST_MULTIPLE = 0.6  # of the rate wanted
VOLUME_TAKEN = 0.35  # by the law of the register, given back
CAPACITY_BACK = 1e6  # the law of the register takes it
SPENT_FRACTION = 0.75  # assumption
_LEAST_OFF_MIN = 0.05  # that the model takes
Twist = Callable[[RunValues, float], None]


def _as_a_hole(v: RunValues, severity: float) -> None:
    """Let the leak go by the root of pressure, as through a hole, as much at a usual pressure."""
    del severity
    for name in ("leak_coefficient", "cuff_leak_coefficient"):
        v.circuit[name] *= TYPICAL_PRESSURE_CMH2O ** (1.0 - HOLE_EXPONENT)
    v.circuit["leak_exponent"] = HOLE_EXPONENT


def _as_a_slit(v: RunValues, severity: float) -> None:
    """Let the leak go in proportion to pressure, as the register says it does."""
    del severity
    v.circuit["leak_exponent"] = SLIT_EXPONENT


def _too_slow(v: RunValues, severity: float) -> None:
    """Let the ventilator be set too slow, its volume as wanted."""
    v.ventilator["tidal_volume_l"] /= 1.0 - VOLUME_TAKEN * severity
    v.ventilator["cycle_s"] /= 1.0 - (1.0 - SLOWEST_MULTIPLE) * severity


def _partly_used_up(v: RunValues, severity: float) -> None:
    """Let a quarter of the absorbent still take up carbon dioxide, as it long does before none is left."""
    del severity
    v.circuit["absorber_capacity_l"] *= CAPACITY_BACK
    v.circuit["absorber_bypass_fraction"] = SPENT_FRACTION


def _stiff_only(v: RunValues, severity: float) -> None:
    """Let a full abdomen stiffen the chest, and neither close lung nor hold back blood."""
    v.add("animal", "shunt_added_fraction", -ABDOMEN_SHUNT_FRACTION * severity)
    v.animal["volaemia_fraction"] /= 1.0 - ABDOMEN_HELD_BACK_FRACTION * severity


# How else a cause may come about; each is simulated beside the law of the register.
TWISTS: Mapping[str, tuple[Twist | None, ...]] = {
    "circuit_leak": (_as_a_slit, _as_a_hole),
    "cuff_leak": (_as_a_slit, _as_a_hole),
    "absorbent_exhausted": (None, _partly_used_up),
    "abdominal_distension": (None, _stiff_only),
    "hypoventilation_set": (None, _too_slow),
}


class Trial(LiveCase):
    """A running case that can have a cause by another law than the register's."""

    twist: tuple[Twist, float] | None = None

    def try_cause(self, code: str, severity: float, twist: Twist | None) -> None:
        """Begin a cause, and end any other; an empty code ends all."""
        self.twist = None if twist is None else (twist, severity)
        self._faults = {code: severity} if code else {}
        self._build()

    def rows(self, span_s: float) -> npt.NDArray[np.float64]:
        """Run on; return breaths as the kernel writes them, a row each. Neither breaths nor curves are kept.

        Raises SimulationError where the state is no longer made of numbers.
        """
        parts = self._parts_of_step()
        per_tick, ticks = self._steps_per_tick * parts, round(span_s / TICK_S)
        self._y[s.STEP_COUNT] = round(self.time_s / TICK_S) * per_tick
        rows = np.zeros((ROWS_PER_CALL + ticks, len(s.BREATH_KEYS)))
        written, _ = run_steps(
            self._y, self._animal, self._circuit, self._ventilator, ticks * per_tick, self.dt_s / parts,
            per_tick, rows, 0, np.zeros((1, len(s.TRACE_CHANNELS))), 0, 0,
        )  # fmt: skip
        if not np.isfinite(self._y).all():
            raise SimulationError(
                where="simulation", given=f"{self.time_s / 60:.1f} min into the case",
                allowed="finite pressures and fractions", do="Leave this cause out.",
            )  # fmt: skip
        return rows[:written]

    def follow(self, changes: Iterable[Change], until_s: float) -> npt.NDArray[np.float64]:
        """Run on to a time, doing what is done on the way; return the rows of breaths between.

        What comes later than that time is left; what an off-circle spell would last beyond it, too.
        """
        parts = [np.empty((0, len(s.BREATH_KEYS)))]
        for change in changes:
            at_s = change.at_min * 60.0
            if at_s > until_s:
                break
            if at_s > self.time_s:
                parts.append(self.rows(at_s - self.time_s))
            left_min = (until_s - self.time_s) / 60.0
            if change.manoeuvre is None:
                self.set(**change.settings)
            elif not isinstance(change.manoeuvre, Disconnect) or change.manoeuvre.minutes <= left_min:
                self.manoeuvre(change.manoeuvre)
            elif left_min >= _LEAST_OFF_MIN:
                self.manoeuvre(replace(change.manoeuvre, minutes=left_min))
        if until_s > self.time_s:
            parts.append(self.rows(until_s - self.time_s))
        return np.concatenate(parts)

    def number(self, name: str) -> float:
        """Return one number of the animal, by its name."""
        return self._values.animal[name]

    def _build(self) -> None:
        super()._build()
        if self.twist is None:
            return
        law, severity = self.twist
        law(self._values, severity)
        self._animal = record(ANIMAL, self._values.animal)
        self._circuit = record(CIRCUIT, self._values.circuit)
        self._ventilator = record(VENTILATOR, self._values.ventilator)

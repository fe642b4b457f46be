"""A running case on which a cause is tried, by the law of the register or by another it may follow."""

from collections.abc import Callable, Mapping

from lungeline.simulate.faults import RunValues
from lungeline.simulate.kernel.parameters import ANIMAL, CIRCUIT, VENTILATOR, record
from lungeline.simulate.live import LiveCase

TYPICAL_PRESSURE_CMH2O = 20.0
HOLE_EXPONENT, SLIT_EXPONENT = 0.5, 1.0
SLOWEST_MULTIPLE = 0.6  # of the rate wanted
VOLUME_TAKEN = 0.35  # by the law of the register, given back
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


# How else a cause may come about; each is simulated beside the law of the register.
TWISTS: Mapping[str, tuple[Twist | None, ...]] = {
    "circuit_leak": (_as_a_slit, _as_a_hole),
    "cuff_leak": (_as_a_slit, _as_a_hole),
    "hypoventilation_set": (None, _too_slow),
}


class Trial(LiveCase):
    """A running case that can have a cause by another law than the register's."""

    twist: tuple[Twist, float] | None = None

    def try_cause(self, code: str, severity: float, twist: Twist | None) -> None:
        """Begin a cause, and end any other; an empty code ends all."""
        self.twist = None
        for other in self.active_faults:
            if other != code:
                self.fault(other, 0.0)
        self.twist = None if twist is None else (twist, severity)
        if code:
            self.fault(code, severity)

    def _build(self) -> None:
        super()._build()
        if self.twist is None:
            return
        law, severity = self.twist
        law(self._values, severity)
        self._animal = record(ANIMAL, self._values.animal)
        self._circuit = record(CIRCUIT, self._values.circuit)
        self._ventilator = record(VENTILATOR, self._values.ventilator)

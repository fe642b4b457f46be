"""A circle with its patient port plugged: filled, left alone, leaking, cooling. What a leak test sees."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lungeline.case.case import Case
from lungeline.errors import OutOfRangeError
from lungeline.physics.leaks import leak_ml_min
from lungeline.simulate.setup import CMH2O_PER_MMHG, barometric_pressure_mmhg

STEP_S = 0.05
LONGEST_MIN = 60.0
HEAT_CAPACITY_RATIO = 1.4  # oxygen and air
ROOM_TEMPERATURE_K = 293.15
REFERENCE_PRESSURE_CMH2O = 30.0
_LITRES_A_SECOND = 1.0 / 60.0
_ML_PER_L = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """Gas let in for a time. flow_l_min: 0 to 100, by the flowmeter; seconds_s: how long."""

    flow_l_min: float
    seconds_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """What stands around the gas.

    hose_compliance_l_cmh2o: two corrugated hoses, 2 mL/cmH2O each (teaching text); where the equipment's own
    compliance is known, the hoses are what that leaves once its gas is taken off.
    bag_compliance_l_cmh2o: a stretched large bag, about 300 mL/cmH2O with its gas; derived.
    cooling_time_s: gas to wall in a wide circle; assumption.
    """

    hose_compliance_l_cmh2o: float = 0.004
    bag_compliance_l_cmh2o: float = 0.25
    cooling_time_s: float = 15.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PluggedRun:
    """What the manometer showed.

    time_s, pressure_cmh2o, temperature_k: same length, at a step of 0.05 s; compliance_l_cmh2o: of the
    circuit at the last pressure, isothermal, in gas at ambient pressure; leaked_l: gas lost, likewise.
    """

    time_s: list[float]
    pressure_cmh2o: list[float]
    temperature_k: list[float]
    compliance_l_cmh2o: float
    leaked_l: float


@dataclass(slots=True)
class _Circuit:
    """Gas in walls that give a little; amount_l is what it would fill at ambient pressure and room heat."""

    rigid_l: float
    elastic_l_cmh2o: float
    ambient_cmh2o: float
    amount_l: float
    temperature_k: float = ROOM_TEMPERATURE_K

    def pressure_cmh2o(self) -> float:
        """Pressure above ambient, from the gas law and the walls: a quadratic with one sensible root."""
        gas = self.ambient_cmh2o * self.amount_l * self.temperature_k / ROOM_TEMPERATURE_K
        linear = self.rigid_l + self.elastic_l_cmh2o * self.ambient_cmh2o
        constant = self.ambient_cmh2o * self.rigid_l - gas
        root = math.sqrt(linear * linear - 4.0 * self.elastic_l_cmh2o * constant)
        return -2.0 * constant / (linear + root)

    def compliance_l_cmh2o(self, pressure_cmh2o: float) -> float:
        """Gas, as it is at ambient pressure, that a little more pressure takes, at room heat.

        The derivative of (rigid + elastic p) (ambient + p) / ambient (closed form).
        """
        stretched_l = self.rigid_l + 2.0 * self.elastic_l_cmh2o * pressure_cmh2o
        return self.elastic_l_cmh2o + stretched_l / self.ambient_cmh2o

    def density_ratio(self, pressure_cmh2o: float) -> float:
        """How dense the gas is, against ambient."""
        return self.amount_l / (self.rigid_l + self.elastic_l_cmh2o * pressure_cmh2o)


def _circuit(case: Case, walls: Walls) -> _Circuit:
    """Build the circuit, full at ambient pressure."""
    equipment = case.equipment
    ambient = barometric_pressure_mmhg(case) * CMH2O_PER_MMHG
    elastic, rigid_l = _hoses_l_cmh2o(case, walls, ambient), equipment.circle_volume_l
    if equipment.bag_attached:
        elastic += walls.bag_compliance_l_cmh2o
        rigid_l += equipment.reservoir_capacity_l
    return _Circuit(rigid_l, elastic, ambient, rigid_l)


def _hoses_l_cmh2o(case: Case, walls: Walls, ambient_cmh2o: float) -> float:
    """Return what the hoses give: as told of the equipment, where its compliance is, less that of its gas."""
    told = case.equipment.circuit_compliance_l_cmh2o
    if told is None:
        return walls.hose_compliance_l_cmh2o
    gas = case.equipment.circle_volume_l / ambient_cmh2o
    if told < gas:
        raise OutOfRangeError(
            where="equipment.circuit_compliance_l_cmh2o",
            given=told,
            allowed=f"{gas:.4g} or more: what {case.equipment.circle_volume_l:g} L of gas alone take",
            do="Correct the compliance or the volume of the circle.",
        )
    return told - gas


def simulate_plugged(  # noqa: PLR0913  what a leak test consists of, each with its usual way
    case: Case,
    fills: Sequence[Fill],
    minutes: float,
    *,
    walls: Walls | None = None,
    sampling: bool = False,
    cooling: bool = True,
) -> PluggedRun:
    """Simulate a leak test: gas is let in by `fills`, one after the other, then the circuit is left alone.

    minutes: whole length [min], above 0 to 60. walls: around the gas, usual ones where not given.
    sampling: whether the monitor draws off its sample flow, as it does where nobody plugged its port.
    cooling: gas is warmed by fast compression and cools to the walls; without it the circuit stays at room
    temperature. The leak is the equipment's, at its exponent; below ambient it draws in air.
    Raises InputError for a length out of range, or a compliance that is less than that of the gas.
    """
    if not 0.0 < minutes <= LONGEST_MIN:
        raise OutOfRangeError(
            where="minutes",
            given=minutes,
            allowed=f"above 0 to {LONGEST_MIN:g}",
            do="Give the test's length.",
        )
    around = walls or Walls()
    circuit, leaked_l = _circuit(case, around), 0.0
    sampled_l_s = case.equipment.sample_flow_l_min * _LITRES_A_SECOND if sampling else 0.0
    times, pressures, temperatures = [0.0], [0.0], [ROOM_TEMPERATURE_K]
    for step in range(1, round(minutes * 60.0 / STEP_S) + 1):
        before = pressures[-1]
        density = circuit.density_ratio(before)
        leak_l_s = _leak_l_s(case, before)
        circuit.amount_l += (_flow_l_s(fills, (step - 1) * STEP_S) - leak_l_s - sampled_l_s) * STEP_S
        leaked_l += leak_l_s * STEP_S
        now = circuit.pressure_cmh2o()
        if cooling:
            _heat(circuit, circuit.density_ratio(now) / density, around.cooling_time_s)
            now = circuit.pressure_cmh2o()
        times.append(step * STEP_S)
        pressures.append(now)
        temperatures.append(circuit.temperature_k)
    return PluggedRun(
        time_s=times, pressure_cmh2o=pressures, temperature_k=temperatures,
        compliance_l_cmh2o=circuit.compliance_l_cmh2o(pressures[-1]), leaked_l=leaked_l,
    )  # fmt: skip


def _leak_l_s(case: Case, pressure_cmh2o: float) -> float:
    """Leak at a moment; below ambient, air drawn in, negative."""
    equipment = case.equipment
    if equipment.leak_at_30_cmh2o_ml_min <= 0.0:
        return 0.0
    leak = leak_ml_min(
        pressure_cmh2o,
        equipment.leak_at_30_cmh2o_ml_min,
        REFERENCE_PRESSURE_CMH2O,
        equipment.leak_exponent_number,
    )
    return float(leak) / _ML_PER_L * _LITRES_A_SECOND


def _flow_l_s(fills: Sequence[Fill], at_s: float) -> float:
    """Flow let in at a moment."""
    for fill in fills:
        if at_s < fill.seconds_s - STEP_S / 2.0:
            return fill.flow_l_min * _LITRES_A_SECOND
        at_s -= fill.seconds_s
    return 0.0


def _heat(circuit: _Circuit, density_ratio: float, cooling_time_s: float) -> None:
    """Warm the gas by its compression, T with density to the power gamma - 1, and cool it at the walls."""
    warmed = circuit.temperature_k * density_ratio ** (HEAT_CAPACITY_RATIO - 1.0)
    left = math.exp(-STEP_S / cooling_time_s)
    circuit.temperature_k = ROOM_TEMPERATURE_K + (warmed - ROOM_TEMPERATURE_K) * left

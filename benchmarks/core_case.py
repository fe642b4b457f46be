"""The case that kernel and solvers are set to solve, and ten minutes of it by the kernel."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from core_state import CORE, FROM_KERNEL, GAS, GASES, INSPIRED, OPEN, PRESSURE, TISSUE_CO2, Core, Vector

from lungeline.case.animal import Animal
from lungeline.case.case import Case
from lungeline.case.equipment import Equipment
from lungeline.case.settings import Settings
from lungeline.case.start import Start
from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.exchange import WATER_VAPOUR_MMHG
from lungeline.simulate.kernel.parameters import ANIMAL, CIRCUIT, VENTILATOR, record
from lungeline.simulate.kernel.start import fill
from lungeline.simulate.kernel.step import run_steps
from lungeline.simulate.models.lung_mechanics import LAYERS
from lungeline.simulate.setup import animal_values, circuit_values, start_values, ventilator_values

CORE_STRUCTURE = {"slow_fraction": 0.0, "arterial_blood_l": 0.0, "full_circulation": 0.0, "breathes": 0.0}
BREATHS = 75
CYCLE_S = 8.0
INSPIRATION_S = 2.2
SETTLING_S = 300 * CYCLE_S
STEP_S = 0.01
TICK_S = 0.1
COLUMNS = ("Ppeak cmH2O", "VTi mL", "circle FO2", "tissue PCO2", "alveolar PCO2", "open fraction")
ML_PER_L = 1000.0


def columns(end_inspiration: Vector, end_expiration: Vector, dry_mmhg: float) -> tuple[float, ...]:
    """Return what is compared of one breath, from the state at the end of each phase."""
    return (
        end_inspiration[PRESSURE],
        end_expiration[INSPIRED] * ML_PER_L,
        end_expiration[GAS + s.O2],
        end_expiration[TISSUE_CO2],
        end_inspiration[GAS + s.FAST * GASES + s.CO2] * dry_mmhg,
        end_expiration[OPEN : OPEN + LAYERS].mean(),
    )


def as_used() -> Case:
    """Return a horse as it is ventilated every day."""
    title = "stroke made up for what the circuit compresses, reservoir spilling when full"
    return _case(title, Start(), Equipment(), spare_volume_l=6.0, fresh_gas_flow_l_min=5.0)


def nothing_to_find() -> Case:
    """Return the same without events, which suits the solvers."""
    return _case(
        "stroke ends by the clock, reservoir never full or empty",
        Start(reservoir_content_l=12.0),
        Equipment(compliance_compensated=False),
        spare_volume_l=14.0,
        fresh_gas_flow_l_min=1.4,
    )


def _case(
    title: str, start: Start, equipment: Equipment, *, spare_volume_l: float, fresh_gas_flow_l_min: float
) -> Case:
    settings = Settings(
        tidal_volume_l=6.0,
        respiratory_rate_per_min=60.0 / CYCLE_S,
        inspiratory_time_s=INSPIRATION_S,
        pause_s=0.0,
        peep_cmh2o=5.0,
        pressure_limit_cmh2o=60.0,
        spare_volume_l=spare_volume_l,
        fresh_gas_flow_l_min=fresh_gas_flow_l_min,
    )
    animal = Animal(species="horse", weight_kg=500.0)
    return Case(title=title, animal=animal, start=start, equipment=equipment, settings=settings)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kernel:
    """The kernel on a case: its three records, and the state at the first of the breaths compared."""

    animal: Any
    circuit: Any
    ventilator: Any
    begin: Vector

    @classmethod
    def settled(cls, case: Case) -> "Kernel":
        """Run a case up to where the comparison begins."""
        animal = animal_values(case, case.settings, CORE_STRUCTURE)
        circuit = circuit_values(case, case.settings)
        records = (
            record(ANIMAL, animal),
            record(CIRCUIT, circuit),
            record(VENTILATOR, ventilator_values(case, case.settings)),
        )
        state = fill(*records, **start_values(case, animal, circuit))
        kernel = cls(animal=records[0], circuit=records[1], ventilator=records[2], begin=state)
        kernel.run(state, SETTLING_S)
        kernel.run(state, CYCLE_S - state[s.CYCLE_TIME])  # to where the next breath is due
        # So that ticks fall alike for every base step.
        state[s.STEP_COUNT] = 0.0
        return kernel

    @property
    def dry_mmhg(self) -> float:
        """Pressure of the dry gases [mmHg]."""
        return float(self.circuit.barometric_pressure_mmhg - WATER_VAPOUR_MMHG)

    def run(self, state: Vector, span_s: float, step_s: float = STEP_S, tick_s: float = TICK_S) -> None:
        """Advance a state in place."""
        rows = np.zeros((int(span_s / CYCLE_S) + 2, len(s.BREATH_KEYS)))
        run_steps(
            state, self.animal, self.circuit, self.ventilator, round(span_s / step_s), step_s,
            round(tick_s / step_s), rows, 0, np.zeros((1, len(s.TRACE_CHANNELS))), 0, 0,
        )  # fmt: skip

    def breaths(self, step_s: float, tick_s: float) -> Vector:
        """Return the columns of every breath, one row a breath."""
        state = self.begin.copy()
        rows = []
        for _ in range(BREATHS):
            self.run(state, INSPIRATION_S, step_s, tick_s)
            end_inspiration = state[FROM_KERNEL]
            self.run(state, CYCLE_S - INSPIRATION_S, step_s, tick_s)
            end_inspiration[PRESSURE] = state[s.A_PEAK]
            rows.append(columns(end_inspiration, state[FROM_KERNEL], self.dry_mmhg))
        return np.array(rows)

    def whole(self) -> None:
        """Run all breaths at once, as a case is run: this is what is timed."""
        self.run(self.begin.copy(), BREATHS * CYCLE_S)

    def core(self) -> Core:
        """Return the parameters as the continuous equations read them."""
        core = np.zeros(1, CORE)
        for part in (self.animal, self.circuit, self.ventilator):
            for name in part.dtype.names:
                core[name] = part[name]
        a = self.animal
        per_layer = a.superimposed_pressure_cmh2o / LAYERS / a.recoil_pressure_cmh2o
        core["airway_cmh2o_s_l"] = a.tube_laminar_cmh2o_s_l + a.airway_resistance_cmh2o_s_l
        core["weights"] = [math.exp(per_layer * (i + 0.5)) for i in range(LAYERS)]
        return core

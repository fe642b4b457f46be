"""Gas on its way, in continuous form: circle, hoses, airway, alveoli, absorber."""

import numpy as np
from core_state import ABSORBED, ALVEOLAR, CIRCLE_VOLUME, DEAD, GAS, GASES, LUNG, PRESSURE, Vector, compiled

from lungeline.physics.absorbent import absorber_efficiency_fraction
from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.mechanics import outside_flow_l_s
from lungeline.simulate.kernel.transport import AIR_OXYGEN_FRACTION


@compiled
def lost_l_s(y: Vector, p: np.record) -> float:
    """Flow from the circuit to the room."""
    return outside_flow_l_s(
        y[PRESSURE], p.leak_coefficient, p.leak_exponent, 0.0, p.safety_pressure_cmh2o, p.seal_pressure_cmh2o
    )


@compiled
def inspire(y: Vector, dy: Vector, p: np.record, flow: float) -> None:
    """Gas of circle, hose and airway moves on towards the lung."""
    fd = p.alveolar_dead_space_fraction
    hose, airway = 2.0 * flow / p.hose_volume_l, s.AIRWAY_CELLS * flow / p.airway_dead_space_l
    alveoli, dead = GAS + s.FAST * GASES, GAS + DEAD * GASES
    for gas in range(GASES):
        f = y[GAS + gas]
        for i in range(2):
            at = GAS + (s.INSP_HOSE + i) * GASES + gas
            dy[at] = hose * (f - y[at])
            f = y[at]
        for i in range(s.AIRWAY_CELLS):
            at = GAS + (s.AIRWAY + i) * GASES + gas
            dy[at] = airway * (f - y[at])
            f = y[at]
        dy[alveoli + gas] = (1.0 - fd) * flow * (f - y[alveoli + gas]) / y[ALVEOLAR]
        dy[dead + gas] = fd * flow * (f - y[dead + gas]) / (y[LUNG] - y[ALVEOLAR])
    dy[CIRCLE_VOLUME] = -flow


@compiled
def expire(y: Vector, dy: Vector, p: np.record, flow: float) -> None:
    """Gas of lung, airway and hose moves on towards the absorber and the circle."""
    fd = p.alveolar_dead_space_fraction
    hose, airway = 2.0 * flow / p.hose_volume_l, s.AIRWAY_CELLS * flow / p.airway_dead_space_l
    takes = absorber_efficiency_fraction(y[ABSORBED], p.absorber_capacity_l, p.absorber_bypass_fraction)
    absorbed = takes * y[GAS + (s.EXP_HOSE + 1) * GASES + s.CO2] * flow
    for gas in range(GASES):
        f = (1.0 - fd) * y[GAS + s.FAST * GASES + gas] + fd * y[GAS + DEAD * GASES + gas]
        for i in range(s.AIRWAY_CELLS - 1, -1, -1):
            at = GAS + (s.AIRWAY + i) * GASES + gas
            dy[at] = airway * (f - y[at])
            f = y[at]
        for i in range(2):
            at = GAS + (s.EXP_HOSE + i) * GASES + gas
            dy[at] = hose * (f - y[at])
            f = y[at]
        gone = absorbed if gas == s.CO2 else 0.0
        dy[GAS + gas] = (flow * (f - y[GAS + gas]) + absorbed * y[GAS + gas] - gone) / y[CIRCLE_VOLUME]
    dy[CIRCLE_VOLUME] = flow - absorbed
    dy[ABSORBED] = absorbed


@compiled
def exchange(y: Vector, dy: Vector, given: tuple[float, float, float], moved: float) -> None:
    """Give alveolar gas what blood gives, and let it and the dead space share their volume."""
    total = given[0] + given[1] + given[2]
    for gas in range(GASES):
        alveoli, dead = GAS + s.FAST * GASES + gas, GAS + DEAD * GASES + gas
        dy[alveoli] += (given[gas] - total * y[alveoli]) / y[ALVEOLAR]
        if moved > 0.0:
            dy[alveoli] += moved * (y[dead] - y[alveoli]) / y[ALVEOLAR]
        else:
            dy[dead] -= moved * (y[alveoli] - y[dead]) / (y[LUNG] - y[ALVEOLAR])


@compiled
def circle(y: Vector, dy: Vector, p: np.record) -> None:
    """Fresh gas, sample, leaks and relief."""
    fresh, carrier = p.fresh_gas_flow_l_s, 1.0 - p.vapour_fraction
    lost = lost_l_s(y, p)
    drawn = max(-lost, 0.0)
    o2 = fresh * (carrier * p.fresh_oxygen_fraction - y[GAS + s.O2])
    dy[GAS + s.O2] += (o2 + drawn * (AIR_OXYGEN_FRACTION - y[GAS + s.O2])) / y[CIRCLE_VOLUME]
    dy[GAS + s.CO2] -= (fresh + drawn) * y[GAS + s.CO2] / y[CIRCLE_VOLUME]
    agent = fresh * (p.vapour_fraction - y[GAS + s.AGENT])
    dy[GAS + s.AGENT] += (agent - drawn * y[GAS + s.AGENT]) / y[CIRCLE_VOLUME]
    dy[CIRCLE_VOLUME] += fresh - p.sample_flow_l_s - lost
    if p.spills > 0.5:  # noqa: PLR2004  a switch, as in the kernel
        # the reservoir is full and stays so
        dy[CIRCLE_VOLUME] -= max(dy[CIRCLE_VOLUME] - p.compliance_l_cmh2o * dy[PRESSURE], 0.0)

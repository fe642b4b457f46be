"""The equations of the kernel's core structure in continuous form, for solvers that know nothing of it.

One lung volume, controlled volume ventilation, no own breathing, no delay in the blood. Formulas, parameters
and gas cells are the kernel's; in place of its implicit chains stand first-order upwind equations of these
cells, in place of held exchange the exchange of the moment. Nitrogen is left out, being the rest.
"""

import numpy as np
from core_gas import circle, exchange, expire, inspire, lost_l_s
from core_state import (
    ABSORBED,
    ALVEOLAR,
    BRAIN,
    CIRCLE_VOLUME,
    FAT,
    FILTERED,
    GAS,
    GASES,
    INSPIRED,
    LUNG,
    MUSCLE,
    OPEN,
    POOR,
    PRESSURE,
    SIZE,
    SLOW_CO2,
    TISSUE,
    TISSUE_CO2,
    VENOUS_O2,
    Core,
    Vector,
    compiled,
)

from lungeline.physics.tube_terms import two_term_flow_l_s
from lungeline.physiology.blood_gases import blood_ph, oxygen_content_l_l
from lungeline.simulate.kernel import state as s
from lungeline.simulate.kernel.exchange import LUNG_TISSUE_TIME_S, PRESSURE_FILTER_S, WATER_VAPOUR_MMHG
from lungeline.simulate.kernel.transport import EQUALISE_S
from lungeline.simulate.models.circulation import cardiac_output_now_l_min
from lungeline.simulate.models.gas_exchange import (
    LITRES_BTPS_MMHG,
    carbon_dioxide_content_l_l,
    oxygen_use_share,
    shunt_fraction,
)
from lungeline.simulate.models.lung_mechanics import (
    LAYERS,
    LEAST_OPEN_FRACTION,
    open_fraction_rate_per_s,
    transpulmonary_pressure_cmh2o,
)
from lungeline.simulate.models.ventilator import VOLUME, machine_flow_l_s


@compiled
def _pressures(y: Vector, dy: Vector, p: np.record) -> tuple[float, float]:
    """Pressure at the port and the layers of the lung; return mean open fraction and flow into the lung."""
    plain, weighted = 0.0, 0.0
    for i in range(LAYERS):
        plain += y[OPEN + i] / LAYERS
        weighted += y[OPEN + i] * p.weights[i] / LAYERS
    wide, scale = plain * p.lung_capacity_l, weighted * p.lung_capacity_l * p.recoil_fraction
    recoil = transpulmonary_pressure_cmh2o(y[LUNG], wide, scale, p.recoil_pressure_cmh2o, p.recoil_law)
    wall = (y[LUNG] - p.chest_wall_rest_volume_l) / p.chest_wall_compliance_l_cmh2o
    alveolar = recoil + wall + p.added_pleural_pressure_cmh2o
    flow = two_term_flow_l_s(y[PRESSURE] - alveolar, p.airway_cmh2o_s_l, p.tube_turbulent_cmh2o_s2_l2)
    source = machine_flow_l_s(
        p.phase, VOLUME, y[PRESSURE], p.stroke_flow_l_s, 0.0, 1.0, 1.0, p.peep_cmh2o, 0.0,
        1.0 / p.expiratory_resistance_cmh2o_s_l, 1.0 / p.inspiratory_resistance_cmh2o_s_l, 0.0,
    )  # fmt: skip
    dy[PRESSURE] = (source - flow - lost_l_s(y, p)) / p.compliance_l_cmh2o
    dy[FILTERED] = (y[PRESSURE] - y[FILTERED]) / PRESSURE_FILTER_S
    for i in range(LAYERS):
        local = recoil - p.superimposed_pressure_cmh2o * (i + 0.5) / LAYERS
        spread = p.opening_spread_cmh2o if i % 2 == 1 else -p.opening_spread_cmh2o
        rate = open_fraction_rate_per_s(
            local, p.opening_pressure_cmh2o + spread, p.closing_pressure_cmh2o,
            p.opening_rate_per_s_cmh2o, p.closing_rate_per_s_cmh2o, y[OPEN + i], p.recruitment_law,
        )  # fmt: skip
        dy[OPEN + i] = max(rate, 0.0) if y[OPEN + i] <= LEAST_OPEN_FRACTION else rate
    return plain, flow


@compiled
def _blood(y: Vector, dy: Vector, p: np.record, open_mean: float) -> tuple[float, float, float]:
    """Blood and tissues; return the flows of oxygen, carbon dioxide and agent into alveolar gas."""
    dry_mmhg = p.barometric_pressure_mmhg - WATER_VAPOUR_MMHG
    k = LITRES_BTPS_MMHG / dry_mmhg
    capacity = 0.0139 * p.haemoglobin_g_dl
    base = p.base_excess_mmol_l
    shunt = shunt_fraction(
        open_mean, p.shunt_open_fraction, p.shunt_per_closed_fraction, p.shunt_added_fraction, p.shunt_law
    )
    q = cardiac_output_now_l_min(
        p.cardiac_output_l_min, y[FILTERED], p.output_halving_pressure_cmh2o, p.volaemia_fraction,
        p.output_law, 1.0, 40.0, p.inotrope_multiple, 0.0,
    ) / 60.0  # fmt: skip
    ventilated = q * (1.0 - shunt)
    gas = GAS + s.FAST * GASES
    po2, pco2 = y[gas + s.O2] * dry_mmhg, y[gas + s.CO2] * dry_mmhg
    o2 = oxygen_content_l_l(po2, blood_ph(pco2, base), p.p50_mmhg, p.haemoglobin_g_dl)
    saturation = (o2 - 3.1e-5 * po2) / capacity
    co2 = carbon_dioxide_content_l_l(pco2, base, p.haemoglobin_g_dl, saturation, p.co2_law)
    saturation = min(max((y[VENOUS_O2] - 1.2e-3) / capacity, 0.0), 1.0)
    venous_co2 = carbon_dioxide_content_l_l(y[TISSUE_CO2], base, p.haemoglobin_g_dl, saturation, p.co2_law)
    uptake, output = ventilated * (o2 - y[VENOUS_O2]), ventilated * (venous_co2 - co2)
    used = p.oxygen_use_l_min / 60.0 * oxygen_use_share(y[VENOUS_O2])
    made = p.carbon_dioxide_output_l_min / 60.0
    between = p.store_conductance_l_min_mmhg / 60.0 * (y[TISSUE_CO2] - y[SLOW_CO2])
    dy[VENOUS_O2] = (uptake - used) / p.oxygen_store_l
    dy[TISSUE_CO2] = (made - output - between) / p.fast_store_l_mmhg
    dy[SLOW_CO2] = between / p.slow_store_l_mmhg
    buffer = (y[TISSUE] - y[gas + s.CO2]) / LUNG_TISSUE_TIME_S
    dy[TISSUE] = -buffer
    agent = _agent(y, dy, p, q, ventilated)
    return -k * uptake, k * output + buffer * p.lung_tissue_gas_l, -agent


@compiled
def _agent(y: Vector, dy: Vector, p: np.record, q: float, ventilated: float) -> float:
    """Agent in the tissues; return what blood takes of it."""
    brain, muscle, fat = p.brain_flow_fraction, p.muscle_flow_fraction, p.fat_flow_fraction
    poor = 1.0 - brain - muscle - fat
    venous = brain * y[BRAIN] + muscle * y[MUSCLE] + fat * y[FAT] + poor * y[POOR]
    taken: float = ventilated * p.blood_gas_ratio * (y[GAS + s.FAST * GASES + s.AGENT] - venous)
    carried = q * p.blood_gas_ratio
    arterial = venous + taken / carried
    dy[BRAIN] = carried * brain * (arterial - y[BRAIN]) / p.brain_store_l
    dy[MUSCLE] = carried * muscle * (arterial - y[MUSCLE]) / p.muscle_store_l
    dy[FAT] = carried * fat * (arterial - y[FAT]) / p.fat_store_l
    dy[POOR] = carried * poor * (arterial - y[POOR]) / p.poor_store_l
    return taken


@compiled
def derivatives(_time_s: float, y: Vector, dy: Vector, core: Core) -> None:
    """Fill `dy` with the rate of change of every number of the state [per s]."""
    p = core[0]
    open_mean, flow = _pressures(y, dy, p)
    given = _blood(y, dy, p, open_mean)
    total = given[0] + given[1] + given[2]
    fd = p.alveolar_dead_space_fraction
    moved = ((1.0 - fd) * y[LUNG] - y[ALVEOLAR]) / EQUALISE_S
    dy[LUNG] = flow + total
    dy[ALVEOLAR] = (1.0 - fd) * flow + total + moved
    dy[INSPIRED] = max(flow, 0.0)
    dy[ABSORBED] = 0.0
    for i in range(GAS, SIZE):
        dy[i] = 0.0
    if flow > 0.0:
        inspire(y, dy, p, flow)
    else:
        expire(y, dy, p, -flow)
    exchange(y, dy, given, moved)
    circle(y, dy, p)


@compiled
def jacobian(time_s: float, y: Vector, dy: Vector, matrix: Vector, core: Core) -> None:
    """Fill `matrix` with the slopes of `derivatives` by differences, as the solvers do it, but compiled."""
    root_of_rounding, least_size = 1.4901161193847656e-08, 1e-3
    moved, slope = y.copy(), np.empty_like(y)
    for j in range(SIZE):
        step = root_of_rounding * max(abs(y[j]), least_size)
        moved[j] = y[j] + step
        derivatives(time_s, moved, slope, core)
        for i in range(SIZE):
            matrix[i, j] = (slope[i] - dy[i]) / step
        moved[j] = y[j]


@compiled
def stroke_left_l(time_s: float, y: Vector, core: Core) -> float:
    """Volume the machine has still to give in this stroke, with what the circuit compresses [L]."""
    p = core[0]
    compressed = p.compliance_l_cmh2o * max(y[PRESSURE] - p.peep_cmh2o, 0.0)
    return float(p.tidal_volume_l + compressed - p.stroke_flow_l_s * time_s)


@compiled
def room_left_l(_time_s: float, y: Vector, core: Core) -> float:
    """Volume the reservoir takes until the relief valve opens [L]."""
    p = core[0]
    content = y[CIRCLE_VOLUME] - p.fixed_volume_l - p.compliance_l_cmh2o * y[PRESSURE]
    return float(p.ceiling_l - content)

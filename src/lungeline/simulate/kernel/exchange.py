"""The slow tick: blood, tissues, circulation and drive; sets the gas flows held until the next tick."""

import math
from typing import Any

from lungeline.compiled import formula
from lungeline.physics.absorbent import absorber_efficiency_fraction
from lungeline.physiology.blood_gases import (
    blood_ph,
    oxygen_content_l_l,
    oxygen_pressure_mmhg,
    oxygen_saturation_fraction,
)
from lungeline.simulate.kernel import state as s
from lungeline.simulate.models.breathing import breathing_drive
from lungeline.simulate.models.circulation import (
    arterial_pressure_mmhg,
    cardiac_output_now_l_min,
    heart_rate_now_per_min,
)
from lungeline.simulate.models.gas_exchange import (
    LITRES_BTPS_MMHG,
    carbon_dioxide_content_l_l,
    mixing_flow_l_s,
    oxygen_use_share,
    shunt_fraction,
)
from lungeline.simulate.models.lung_mechanics import LAYERS

WATER_VAPOUR_MMHG = 47.0
LUNG_TISSUE_TIME_S = 0.5
PRESSURE_FILTER_S = 10.0
MATERIAL_TIME_S = 3600.0
# Of a gas in the alveoli that leaves, and of all their gas that comes: they may shrink much within a tick.
LARGEST_SHARE_PER_TICK = 0.1
LEAST_CO2_MMHG = 1.0


@formula
def _bounded(value: float, low: float, high: float) -> float:
    return min(max(value, low), high)


@formula
def _compartment(
    y: Any, a: Any, cell: int, volume_l: float, tissue: int, tissue_share: float, held: int,
    blood_l_s: float, venous_co2_l_l: float, k: float, dry_mmhg: float, agent_fraction: float, span_s: float,
) -> tuple[float, float, float]:  # fmt: skip
    """Exchange of one perfused compartment: sets its held flows; returns end-capillary O2, CO2, PCO2."""
    gas = s.GAS + cell * s.SPECIES
    pco2 = max(y[gas + s.CO2] * dry_mmhg, LEAST_CO2_MMHG)
    po2 = y[gas + s.O2] * dry_mmhg
    ph = blood_ph(pco2, a.base_excess_mmol_l)
    oxygen = oxygen_content_l_l(po2, ph, a.p50_mmhg, a.haemoglobin_g_dl)
    saturation = (oxygen - 3.1e-5 * po2) / (0.0139 * a.haemoglobin_g_dl)
    co2 = carbon_dioxide_content_l_l(pco2, a.base_excess_mmol_l, a.haemoglobin_g_dl, saturation, a.co2_law)
    most_l_s = LARGEST_SHARE_PER_TICK * volume_l / span_s
    uptake = _bounded(k * blood_l_s * (oxygen - y[s.VENOUS_O2]), -most_l_s, most_l_s * y[gas + s.O2])
    output = _bounded(k * blood_l_s * (venous_co2_l_l - co2), -most_l_s * y[gas + s.CO2], most_l_s)
    agent_l_s = blood_l_s * a.blood_gas_ratio * (y[gas + s.AGENT] - agent_fraction)
    agent = _bounded(agent_l_s, -most_l_s, most_l_s * y[gas + s.AGENT])
    tissue_l = a.lung_tissue_gas_l * tissue_share
    buffer = mixing_flow_l_s(y[tissue] - y[gas + s.CO2], tissue_l, volume_l, LUNG_TISSUE_TIME_S, span_s)
    buffer = _bounded(buffer, -most_l_s * y[gas + s.CO2], most_l_s)
    y[tissue] -= buffer * span_s / tissue_l
    y[held + s.O2] = -uptake
    y[held + s.CO2] = output + buffer
    y[held + s.AGENT] = -agent
    # What the limits above withheld must not be booked in blood: return the contents that match.
    blood = max(k * blood_l_s, 1e-12)
    return y[s.VENOUS_O2] + uptake / blood, venous_co2_l_l - output / blood, pco2


@formula
def _pass_through(y: Any, first: int, ratio: float, inflow: float) -> float:
    """Move blood through the arterial cells (implicit, conservative); return what leaves."""
    for i in range(first, first + s.ARTERIAL_CELLS):
        y[i] = (y[i] + ratio * inflow) / (1.0 + ratio)
        inflow = y[i]
    return inflow


@formula
def _agent_step(y: Any, a: Any, flow_l_s: float, arterial: float, span_s: float) -> None:
    """Wash the agent into the tissue groups."""
    poor_fraction = 1.0 - a.brain_flow_fraction - a.muscle_flow_fraction - a.fat_flow_fraction
    base = flow_l_s * a.blood_gas_ratio * span_s
    y[s.AGENT_BRAIN] += base * a.brain_flow_fraction * (arterial - y[s.AGENT_BRAIN]) / a.brain_store_l
    y[s.AGENT_MUSCLE] += base * a.muscle_flow_fraction * (arterial - y[s.AGENT_MUSCLE]) / a.muscle_store_l
    y[s.AGENT_FAT] += base * a.fat_flow_fraction * (arterial - y[s.AGENT_FAT]) / a.fat_store_l
    y[s.AGENT_POOR] += base * poor_fraction * (arterial - y[s.AGENT_POOR]) / a.poor_store_l


@formula
def _venous_agent(y: Any, a: Any) -> float:
    """Mixed venous agent fraction."""
    poor_fraction = 1.0 - a.brain_flow_fraction - a.muscle_flow_fraction - a.fat_flow_fraction
    venous: float = (
        a.brain_flow_fraction * y[s.AGENT_BRAIN]
        + a.muscle_flow_fraction * y[s.AGENT_MUSCLE]
        + a.fat_flow_fraction * y[s.AGENT_FAT]
        + poor_fraction * y[s.AGENT_POOR]
    )
    return venous


@formula
def injectable_multiple(y: Any, a: Any) -> float:
    """MAC equivalents of injectable drugs: infusions, and what is left of the dose at the start."""
    multiple: float = a.injectable_mac_multiple + y[s.INJECTED]
    return multiple


@formula
def depth_multiple(y: Any, a: Any) -> float:
    """Depth as MAC multiples: agent in the brain and injectable drugs together."""
    depth: float = y[s.AGENT_BRAIN] / a.mac_fraction + injectable_multiple(y, a)
    return depth


@formula
def exchange_tick(y: Any, a: Any, c: Any, mean_pressure_cmh2o: float, span_s: float) -> None:
    """Advance blood, tissues, circulation and drive by one tick, and hold new gas flows."""
    dry_mmhg = c.barometric_pressure_mmhg - WATER_VAPOUR_MMHG
    k = LITRES_BTPS_MMHG / dry_mmhg
    open_sum = 0.0
    for i in range(LAYERS):
        open_sum += y[s.OPEN + i]
    shunt = shunt_fraction(
        open_sum / LAYERS,
        a.shunt_open_fraction,
        a.shunt_per_closed_fraction,
        a.shunt_added_fraction,
        a.shunt_law,
    )
    y[s.SHUNT] = shunt
    depth = depth_multiple(y, a)
    y[s.PRESSURE_FILTER] += (mean_pressure_cmh2o - y[s.PRESSURE_FILTER]) * span_s / PRESSURE_FILTER_S
    output = cardiac_output_now_l_min(
        a.cardiac_output_l_min, y[s.PRESSURE_FILTER], a.output_halving_pressure_cmh2o, a.volaemia_fraction,
        a.output_law, depth, y[s.ARTERIAL_CO2], a.inotrope_multiple, a.full_circulation,
    )  # fmt: skip
    y[s.OUTPUT] = output
    q = output / 60.0
    pulmonary = q * (1.0 - shunt)

    venous_o2 = y[s.VENOUS_O2]
    hb_capacity = 0.0139 * a.haemoglobin_g_dl
    venous_saturation = min(max((venous_o2 - 1.2e-3) / hb_capacity, 0.0), 1.0)
    venous_co2 = carbon_dioxide_content_l_l(
        y[s.TISSUE_CO2], a.base_excess_mmol_l, a.haemoglobin_g_dl, venous_saturation, a.co2_law
    )
    venous_agent = _venous_agent(y, a)
    slow = a.slow_perfusion_fraction if a.slow_fraction > 0.0 else 0.0
    cap_o2, cap_co2, cap_pco2 = _compartment(
        y, a, s.FAST, y[s.ALVEOLAR_FAST_VOLUME], s.LUNG_TISSUE_FAST, 1.0 - a.slow_fraction, s.HELD_FAST,
        pulmonary * (1.0 - slow), venous_co2, k, dry_mmhg, venous_agent, span_s,
    )  # fmt: skip
    arterial_agent = y[s.GAS + s.FAST * s.SPECIES + s.AGENT]
    if slow > 0.0:
        slow_o2, slow_co2, slow_pco2 = _compartment(
            y, a, s.SLOW, y[s.ALVEOLAR_SLOW_VOLUME], s.LUNG_TISSUE_SLOW, a.slow_fraction, s.HELD_SLOW,
            pulmonary * slow, venous_co2, k, dry_mmhg, venous_agent, span_s,
        )  # fmt: skip
        cap_o2 += slow * (slow_o2 - cap_o2)
        cap_co2 += slow * (slow_co2 - cap_co2)
        cap_pco2 += slow * (slow_pco2 - cap_pco2)
    # What blood took as agent is what tissues get: the arterial fraction follows from the held flows.
    taken = -(y[s.HELD_FAST + s.AGENT] + y[s.HELD_SLOW + s.AGENT])
    arterial_agent = venous_agent + taken / max(q * a.blood_gas_ratio, 1e-12)
    _agent_step(y, a, q, arterial_agent, span_s)

    arterial_o2 = (1.0 - shunt) * cap_o2 + shunt * venous_o2
    arterial_co2 = (1.0 - shunt) * cap_co2 + shunt * venous_co2
    arterial_pco2 = cap_pco2 + shunt * (y[s.TISSUE_CO2] - cap_pco2)
    y[s.ARTERIAL_O2_CONTENT] = arterial_o2
    y[s.ARTERIAL_CO2] = arterial_pco2
    delayed_o2, delayed_co2, delayed_pco2 = arterial_o2, arterial_co2, arterial_pco2
    if a.arterial_blood_l > 0.0:
        ratio = q * span_s * s.ARTERIAL_CELLS / a.arterial_blood_l
        delayed_o2 = _pass_through(y, s.ARTERIAL_O2, ratio, arterial_o2)
        delayed_co2 = _pass_through(y, s.ARTERIAL_CO2_CONTENT, ratio, arterial_co2)
        delayed_pco2 = _pass_through(y, s.ARTERIAL_PCO2, ratio, arterial_pco2)

    used = a.oxygen_use_l_min / 60.0 * oxygen_use_share(venous_o2)
    made = a.carbon_dioxide_output_l_min / 60.0
    between = a.store_conductance_l_min_mmhg / 60.0 * (y[s.TISSUE_CO2] - y[s.SLOW_CO2])
    y[s.VENOUS_O2] += (q * (delayed_o2 - venous_o2) - used) * span_s / a.oxygen_store_l
    y[s.TISSUE_CO2] += (made + q * (delayed_co2 - venous_co2) - between) * span_s / a.fast_store_l_mmhg
    y[s.SLOW_CO2] += between * span_s / a.slow_store_l_mmhg
    y[s.USED_O2] += used * span_s
    y[s.MADE_CO2] += made * span_s

    if a.full_circulation > 0.5:
        y[s.MEAN_ARTERIAL] = arterial_pressure_mmhg(
            output, a.vascular_resistance_mmhg_min_l, depth, arterial_pco2, a.inotrope_multiple,
            a.vasopressor_multiple, a.volaemia_fraction,
        )  # fmt: skip
        y[s.HEART_RATE] = heart_rate_now_per_min(
            a.heart_rate_per_min, output / max(a.cardiac_output_l_min, 1e-9), y[s.MEAN_ARTERIAL]
        )
    if y[s.INJECTED] > 0.0:
        y[s.INJECTED] *= math.exp(-math.log(2.0) * span_s / (60.0 * a.injected_half_life_min))
    y[s.CENTRAL_CO2] += (delayed_pco2 - y[s.CENTRAL_CO2]) * min(span_s / a.central_lag_s, 1.0)
    y[s.DRIVE] = breathing_drive(
        y[s.CENTRAL_CO2],
        depth,
        a.resting_co2_mmhg,
        a.co2_per_mac_mmhg,
        a.threshold_gap_mmhg,
        a.arousal_multiple,
    )
    y[s.ABSORBER_EFFICIENCY] = absorber_efficiency_fraction(
        y[s.ABSORBED], c.absorber_capacity_l, c.absorber_bypass_fraction
    )
    if c.material_volume_l > 0.0:
        circle = s.GAS + s.CIRCLE * s.SPECIES + s.AGENT
        moved = (y[circle] * c.material_gas_ratio - y[s.AGENT_MATERIAL]) * span_s / MATERIAL_TIME_S
        moved = min(moved, 0.5 * y[circle] * y[s.CIRCLE_VOLUME] / c.material_volume_l)
        y[s.AGENT_MATERIAL] += moved
        _take_agent(y, moved * c.material_volume_l)
    y[s.A_ARTERIAL_CO2] += arterial_pco2
    y[s.A_ARTERIAL_O2] += arterial_o2
    y[s.A_TICKS] += 1.0


@formula
def _take_agent(y: Any, amount_l: float) -> None:
    """Take agent vapour out of the circle (or give it back), keeping the amounts of the other gases."""
    first = s.GAS + s.CIRCLE * s.SPECIES
    before = y[s.CIRCLE_VOLUME]
    after = before - amount_l
    for g in range(s.SPECIES):
        y[first + g] *= before / after
    y[first + s.AGENT] -= amount_l / after
    y[s.CIRCLE_VOLUME] = after


@formula
def arterial_oxygen(y: Any, a: Any, content_l_l: float, pco2_mmhg: float) -> tuple[float, float, float]:
    """Arterial PO2, pH and saturation from contents, for a breath's row."""
    ph = blood_ph(max(pco2_mmhg, LEAST_CO2_MMHG), a.base_excess_mmol_l)
    po2 = oxygen_pressure_mmhg(content_l_l, ph, a.p50_mmhg, a.haemoglobin_g_dl)
    at_sensor = y[s.ARTERIAL_O2 + s.ARTERIAL_CELLS - 1] if a.arterial_blood_l > 0.0 else content_l_l
    sensed = oxygen_pressure_mmhg(at_sensor, ph, a.p50_mmhg, a.haemoglobin_g_dl)
    return po2, ph, oxygen_saturation_fraction(sensed, ph, a.p50_mmhg)

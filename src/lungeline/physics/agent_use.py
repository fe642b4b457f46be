"""Liquid agent, the vapour it gives, and what is used of it: volume, mass, climate."""

import math

from lungeline.compiled import formula

MINUTES_PER_HOUR = 60.0
ML_PER_L = 1000.0
G_PER_KG = 1000.0


@formula
def vapour_yield_ml_ml(density_g_ml: float, molar_mass_g_mol: float, molar_volume_l_mol: float) -> float:
    """Vapour from a millilitre of liquid agent [mL/mL].

    density_g_ml: liquid [g/mL], 1 to 2
    molar_mass_g_mol: agent [g/mol], 100 to 250; no number at or below 0
    molar_volume_l_mol: gas, 24.055 at 20 °C and 1 atm [L/mol], 20 to 60

    Source: ideal gas (closed form).

    >>> round(vapour_yield_ml_ml(1.496, 184.49, 24.055), 1)
    195.1
    """
    if molar_mass_g_mol <= 0.0:
        return math.nan
    return ML_PER_L * density_g_ml / molar_mass_g_mol * molar_volume_l_mol


@formula
def agent_liquid_ml_h(total_flow_l_min: float, agent_fraction: float, vapour_yield_ml_ml: float) -> float:
    """Liquid a vaporiser uses, from the flow that leaves it [mL/h].

    total_flow_l_min: fresh gas with its agent [L/min], 0 to 100
    agent_fraction: agent in it [1], 0 to 0.2
    vapour_yield_ml_ml: vapour from a millilitre of liquid [mL/mL], 150 to 260; no number at or below 0

    Source: mass balance (closed form).

    >>> round(agent_liquid_ml_h(1.0, 0.02, 195.1), 2)
    6.15
    """
    if vapour_yield_ml_ml <= 0.0:
        return math.nan
    return total_flow_l_min * agent_fraction * ML_PER_L * MINUTES_PER_HOUR / vapour_yield_ml_ml


@formula
def agent_liquid_from_carrier_ml_h(
    carrier_flow_l_min: float, agent_fraction: float, vapour_yield_ml_ml: float
) -> float:
    """Liquid a vaporiser uses, from the flow that enters it, as flowmeters show [mL/h].

    carrier_flow_l_min: fresh gas before the vaporiser [L/min], 0 to 100
    agent_fraction: agent in what leaves it [1], 0 to 0.2; no number from 1 on
    vapour_yield_ml_ml: vapour from a millilitre of liquid [mL/mL], 150 to 260; no number at or below 0

    Source: mass balance (closed form).

    >>> round(agent_liquid_from_carrier_ml_h(10.0, 0.05, 195.1))
    162
    """
    if agent_fraction >= 1.0:
        return math.nan
    total_l_min = carrier_flow_l_min / (1.0 - agent_fraction)
    return agent_liquid_ml_h(total_l_min, agent_fraction, vapour_yield_ml_ml)


@formula
def agent_mass_g(
    total_flow_l_min: float,
    agent_fraction: float,
    duration_min: float,
    molar_mass_g_mol: float,
    molar_volume_l_mol: float,
) -> float:
    """Agent that leaves a vaporiser in a time [g].

    total_flow_l_min: fresh gas with its agent [L/min], 0 to 100
    agent_fraction: agent in it [1], 0 to 0.2
    duration_min: for how long [min], 0 to 1000
    molar_mass_g_mol: agent [g/mol], 100 to 250
    molar_volume_l_mol: gas, 24.055 at 20 °C and 1 atm [L/mol], 20 to 60; no number at or below 0

    Source: mass balance (closed form).

    >>> round(agent_mass_g(2.0, 0.02, 60.0, 200.05, 24.0), 2)
    20.0
    """
    if molar_volume_l_mol <= 0.0:
        return math.nan
    return total_flow_l_min * agent_fraction * duration_min * molar_mass_g_mol / molar_volume_l_mol


@formula
def carbon_dioxide_equivalent_kg(
    liquid_ml: float, density_g_ml: float, warming_potential_ratio: float
) -> float:
    """Carbon dioxide that would warm as much as the agent used: nearly all of it reaches the air [kg].

    liquid_ml: agent used [mL], 0 to 100000
    density_g_ml: liquid [g/mL], 1 to 2
    warming_potential_ratio: carbon dioxide to agent by mass; say from which report [ratio], 0 to 10000

    Source: definition of the warming potential.

    >>> round(carbon_dioxide_equivalent_kg(41.2, 1.49, 510.0), 1)
    31.3
    """
    return liquid_ml * density_g_ml / G_PER_KG * warming_potential_ratio

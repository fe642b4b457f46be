"""Pressure that a tube costs, from its dimensions: friction on its wall, and speed given to gas and lost."""

import math

from lungeline.compiled import formula
from lungeline.physics.constants import PASCAL_PER_CMH2O

# Blasius 1913, smooth tubes; holds in adult human tubes (Lofaso 1992, quoted by Jarreau 1999, abstract)
BLASIUS_NUMBER = 0.3164
BLASIUS_EXPONENT_NUMBER = -0.25


@formula
def tube_volume_ml(internal_diameter_mm: float, length_cm: float) -> float:
    """Gas in a round tube [mL].

    internal_diameter_mm: inside [mm], 3 to 60
    length_cm: length [cm], 1 to 400

    Source: volume of a cylinder.

    >>> round(tube_volume_ml(26.0, 100.0))
    531
    """
    return math.pi * (internal_diameter_mm / 20.0) ** 2 * length_cm


@formula
def reynolds_number(
    flow_l_s: float, internal_diameter_mm: float, density_kg_m3: float, viscosity_pa_s: float
) -> float:
    """Inertia of the gas over its viscosity: above some 2300 flow is no longer laminar [1].

    flow_l_s: either direction [L/s], -15 to 15
    internal_diameter_mm: inside [mm], 3 to 60; no number at or below 0
    density_kg_m3: gas [kg/m³], 0.2 to 6
    viscosity_pa_s: gas [Pa·s], 0.00001 to 0.00003; no number at or below 0

    Source: definition, for a round tube.

    >>> round(reynolds_number(1.0, 26.0, 1.28, 2.03e-5))
    3088
    """
    if internal_diameter_mm <= 0.0 or viscosity_pa_s <= 0.0:
        return math.nan
    return 4.0 * density_kg_m3 * abs(flow_l_s) / (math.pi * internal_diameter_mm * viscosity_pa_s)


@formula
def dynamic_head_cmh2o(flow_l_s: float, internal_diameter_mm: float, density_kg_m3: float) -> float:
    """Pressure that brings gas to its speed in a tube, lost again at the exit [cmH2O].

    flow_l_s: either direction [L/s], -15 to 15
    internal_diameter_mm: inside [mm], 3 to 60; no number at or below 0
    density_kg_m3: gas [kg/m³], 0.2 to 6

    Source: half density times speed squared.

    >>> round(1.5 * dynamic_head_cmh2o(4.0, 26.0, 1.28), 2)
    0.56
    """
    if internal_diameter_mm <= 0.0:
        return math.nan
    speed_m_s = 4000.0 * flow_l_s / (math.pi * internal_diameter_mm * internal_diameter_mm)
    return 0.5 * density_kg_m3 * speed_m_s * speed_m_s / PASCAL_PER_CMH2O


@formula
def friction_blasius1913_cmh2o(
    flow_l_s: float,
    internal_diameter_mm: float,
    length_cm: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
) -> float:
    """Pressure lost to the wall of a smooth tube in turbulent flow [cmH2O].

    flow_l_s: either direction; the loss is counted positive [L/s], -15 to 15
    internal_diameter_mm: inside [mm], 3 to 60; no number at or below 0
    length_cm: length [cm], 1 to 400
    density_kg_m3: gas [kg/m³], 0.2 to 6
    viscosity_pa_s: gas [Pa·s], 0.00001 to 0.00003; no number at or below 0

    Source: Blasius 1913, friction factor 0.3164 Re^-0.25 (from memory; in tracheal tubes, Jarreau 1999).

    >>> round(friction_blasius1913_cmh2o(4.0, 26.0, 100.0, 1.28, 2.03e-5), 2)
    0.43
    """
    reynolds = reynolds_number(flow_l_s, internal_diameter_mm, density_kg_m3, viscosity_pa_s)
    if math.isnan(reynolds) or reynolds <= 0.0:
        return reynolds
    factor: float = BLASIUS_NUMBER * reynolds**BLASIUS_EXPONENT_NUMBER
    diameters = 10.0 * length_cm / internal_diameter_mm
    return factor * diameters * dynamic_head_cmh2o(flow_l_s, internal_diameter_mm, density_kg_m3)


@formula
def friction_poiseuille1840_cmh2o(
    flow_l_s: float, internal_diameter_mm: float, length_cm: float, viscosity_pa_s: float
) -> float:
    """Pressure lost to the wall of a long tube in laminar flow [cmH2O].

    flow_l_s: either direction; the loss is counted positive [L/s], -15 to 15
    internal_diameter_mm: inside [mm], 0.5 to 60; no number at or below 0
    length_cm: length [cm], 1 to 400
    viscosity_pa_s: gas [Pa·s], 0.00001 to 0.00003

    Source: Poiseuille 1840 (closed form).

    >>> round(friction_poiseuille1840_cmh2o(0.5, 26.0, 100.0, 2.03e-5), 4)
    0.0092
    """
    if internal_diameter_mm <= 0.0:
        return math.nan
    pascal_per_l_s = 128.0 * viscosity_pa_s * length_cm / (math.pi * internal_diameter_mm**4) * 1e7
    return pascal_per_l_s * abs(flow_l_s) / PASCAL_PER_CMH2O


@formula
def tube_drop_cmh2o(
    flow_l_s: float,
    internal_diameter_mm: float,
    length_cm: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    dynamic_heads_number: float,
) -> float:
    """Pressure drop along a tube with its connector, entry and exit [cmH2O].

    flow_l_s: either direction; the drop is counted positive [L/s], -15 to 15
    internal_diameter_mm: inside [mm], 3 to 60; no number at or below 0
    length_cm: length [cm], 1 to 400
    density_kg_m3: gas [kg/m³], 0.2 to 6
    viscosity_pa_s: gas [Pa·s], 0.00001 to 0.00003; no number at or below 0
    dynamic_heads_number: lost in connector, entry and exit; 1.5 usual [1], 0 to 5

    Source: Blasius friction and dynamic heads, as Jarreau et al., J Appl Physiol 1999;87:36 (abstract).

    >>> round(tube_drop_cmh2o(4.0, 26.0, 100.0, 1.28, 2.03e-5, 1.5), 2)
    0.98
    """
    wall = friction_blasius1913_cmh2o(
        flow_l_s, internal_diameter_mm, length_cm, density_kg_m3, viscosity_pa_s
    )
    return wall + dynamic_heads_number * dynamic_head_cmh2o(flow_l_s, internal_diameter_mm, density_kg_m3)

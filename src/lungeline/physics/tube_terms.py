"""A tube as two terms, flow and flow squared: their size from its dimensions, drop, and flow for a drop."""

import math

from lungeline.compiled import formula
from lungeline.physics.tubes import dynamic_head_cmh2o, friction_blasius1913_cmh2o

# Friction goes with flow^1.75. This is its least squares by flow and flow² at 25 flows, evenly from 1/24 of
# the highest flow up to it, for a highest flow of 1 L/s; a test does the fit anew.
FITTED_LAMINAR_NUMBER = 0.170813
FITTED_TURBULENT_NUMBER = 0.838145
FITTED_LAMINAR_EXPONENT_NUMBER = 0.75
FITTED_TURBULENT_EXPONENT_NUMBER = -0.25


@formula
def tube_laminar_term_cmh2o_s_l(
    internal_diameter_mm: float,
    length_cm: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    highest_flow_l_s: float,
) -> float:
    """Coefficient of flow that stands for a tube up to a highest flow [cmH2O·s/L].

    internal_diameter_mm: inside [mm], 3 to 60; no number at or below 0
    length_cm: length [cm], 1 to 400
    density_kg_m3: gas [kg/m³], 0.2 to 6
    viscosity_pa_s: gas [Pa·s], 0.00001 to 0.00003; no number at or below 0
    highest_flow_l_s: fitted up to; adult horse 6, foal 2 [L/s], 0.1 to 15; no number at or below 0

    Source: least squares to `friction_blasius1913_cmh2o`.

    >>> round(tube_laminar_term_cmh2o_s_l(26.0, 100.0, 1.28, 2.03e-5, 6.0), 3)
    0.025
    """
    if highest_flow_l_s <= 0.0:
        return math.nan
    at_1_l_s = friction_blasius1913_cmh2o(1.0, internal_diameter_mm, length_cm, density_kg_m3, viscosity_pa_s)
    share: float = FITTED_LAMINAR_NUMBER * highest_flow_l_s**FITTED_LAMINAR_EXPONENT_NUMBER
    return at_1_l_s * share


@formula
def tube_turbulent_term_cmh2o_s2_l2(
    internal_diameter_mm: float,
    length_cm: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    dynamic_heads_number: float,
    highest_flow_l_s: float,
) -> float:
    """Coefficient of flow squared that stands for a tube up to a highest flow [cmH2O·s²/L²].

    internal_diameter_mm: inside [mm], 3 to 60; no number at or below 0
    length_cm: length [cm], 1 to 400
    density_kg_m3: gas [kg/m³], 0.2 to 6
    viscosity_pa_s: gas [Pa·s], 0.00001 to 0.00003; no number at or below 0
    dynamic_heads_number: lost in connector, entry and exit; 1.5 usual [1], 0 to 5
    highest_flow_l_s: fitted up to; adult horse 6, foal 2 [L/s], 0.1 to 15; no number at or below 0

    Source: least squares to `friction_blasius1913_cmh2o`, and the dynamic heads as they are.

    >>> round(tube_turbulent_term_cmh2o_s2_l2(26.0, 100.0, 1.28, 2.03e-5, 1.5, 6.0), 3)
    0.055
    """
    if highest_flow_l_s <= 0.0:
        return math.nan
    at_1_l_s = friction_blasius1913_cmh2o(1.0, internal_diameter_mm, length_cm, density_kg_m3, viscosity_pa_s)
    share: float = FITTED_TURBULENT_NUMBER * highest_flow_l_s**FITTED_TURBULENT_EXPONENT_NUMBER
    heads = dynamic_heads_number * dynamic_head_cmh2o(1.0, internal_diameter_mm, density_kg_m3)
    return at_1_l_s * share + heads


@formula
def two_term_drop_cmh2o(flow_l_s: float, laminar_cmh2o_s_l: float, turbulent_cmh2o_s2_l2: float) -> float:
    """Pressure drop of a laminar and a turbulent part in series, with the sign of the flow [cmH2O].

    flow_l_s: either direction [L/s], -15 to 15
    laminar_cmh2o_s_l: coefficient of flow [cmH2O·s/L], 0 to 20
    turbulent_cmh2o_s2_l2: coefficient of flow squared [cmH2O·s²/L²], 0 to 10

    Source: Rohrer 1915 (from memory).

    >>> round(two_term_drop_cmh2o(-4.0, 0.025, 0.055), 2)
    -0.98
    """
    return (laminar_cmh2o_s_l + turbulent_cmh2o_s2_l2 * abs(flow_l_s)) * flow_l_s


@formula
def two_term_flow_l_s(
    pressure_drop_cmh2o: float, laminar_cmh2o_s_l: float, turbulent_cmh2o_s2_l2: float
) -> float:
    """Flow that a pressure drop drives through a laminar and a turbulent part in series [L/s].

    pressure_drop_cmh2o: either sign [cmH2O], -150 to 150
    laminar_cmh2o_s_l: coefficient of flow [cmH2O·s/L], 0 to 20; no number where both are 0
    turbulent_cmh2o_s2_l2: coefficient of flow squared [cmH2O·s²/L²], 0 to 10

    Source: root of Rohrer's equation (closed form), written so that nothing cancels.

    >>> round(two_term_flow_l_s(0.98, 0.025, 0.055), 6)
    4.0
    """
    size = abs(pressure_drop_cmh2o)
    root = math.sqrt(laminar_cmh2o_s_l * laminar_cmh2o_s_l + 4.0 * turbulent_cmh2o_s2_l2 * size)
    if laminar_cmh2o_s_l + root <= 0.0:
        return math.nan if size > 0.0 else 0.0
    return 2.0 * pressure_drop_cmh2o / (laminar_cmh2o_s_l + root)

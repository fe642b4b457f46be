"""Lungs of awake mammals from body weight, by Stahl: where to start when nothing was measured.

The paper's formulas exist (abstract seen), the coefficients here are from memory. They describe awake,
upright mammals: an anaesthetised horse on its back has a fifth of the lung volume, and horses have more dead
space than these say (Gallivan et al. 1989, abstract).
"""

import math

from lungeline.compiled import formula


@formula
def functional_residual_capacity_stahl1967_l(weight_kg: float) -> float:
    """Functional residual capacity awake [L].

    weight_kg: body weight [kg], 0.02 to 1200

    Source: Stahl, J Appl Physiol 1967;22:453-460 (coefficients from memory).

    >>> round(functional_residual_capacity_stahl1967_l(500.0), 1)
    27.0
    """
    return 24.1e-3 * math.pow(weight_kg, 1.13)


@formula
def total_lung_capacity_stahl1967_l(weight_kg: float) -> float:
    """Total lung capacity [L].

    weight_kg: body weight [kg], 0.02 to 1200

    Source: Stahl, J Appl Physiol 1967;22:453-460 (coefficients from memory).

    >>> round(total_lung_capacity_stahl1967_l(500.0), 1)
    38.8
    """
    return 53.5e-3 * math.pow(weight_kg, 1.06)


@formula
def tidal_volume_stahl1967_l(weight_kg: float) -> float:
    """Tidal volume awake at rest [L].

    weight_kg: body weight [kg], 0.02 to 1200

    Source: Stahl, J Appl Physiol 1967;22:453-460 (coefficients from memory).

    >>> round(tidal_volume_stahl1967_l(500.0), 1)
    4.9
    """
    return 7.69e-3 * math.pow(weight_kg, 1.04)


@formula
def dead_space_stahl1967_l(weight_kg: float) -> float:
    """Dead space of the airways awake [L].

    weight_kg: body weight [kg], 0.02 to 1200

    Source: Stahl, J Appl Physiol 1967;22:453-460 (coefficients from memory).

    >>> round(dead_space_stahl1967_l(500.0), 2)
    1.08
    """
    return 2.76e-3 * math.pow(weight_kg, 0.96)


@formula
def oxygen_use_stahl1967_ml_min(weight_kg: float) -> float:
    """Oxygen used awake at rest, STPD [mL/min].

    weight_kg: body weight [kg], 0.02 to 1200

    Source: Stahl, J Appl Physiol 1967;22:453-460 (coefficients from memory).

    >>> round(oxygen_use_stahl1967_ml_min(500.0))
    1305
    """
    return 11.6 * math.pow(weight_kg, 0.76)


@formula
def minute_volume_stahl1967_l_min(weight_kg: float) -> float:
    """Minute volume awake at rest [L/min].

    weight_kg: body weight [kg], 0.02 to 1200

    Source: Stahl, J Appl Physiol 1967;22:453-460 (coefficients from memory).

    >>> round(minute_volume_stahl1967_l_min(500.0))
    55
    """
    return 379.0e-3 * math.pow(weight_kg, 0.80)


@formula
def respiratory_rate_stahl1967_per_min(weight_kg: float) -> float:
    """Rate of breathing awake at rest [/min].

    weight_kg: body weight [kg], 0.02 to 1200

    Source: Stahl, J Appl Physiol 1967;22:453-460 (coefficients from memory).

    >>> round(respiratory_rate_stahl1967_per_min(500.0), 1)
    10.6
    """
    return 53.5 * math.pow(weight_kg, -0.26)


@formula
def lung_compliance_stahl1967_l_cmh2o(weight_kg: float) -> float:
    """Compliance of the lung without chest wall, awake [L/cmH2O].

    weight_kg: body weight [kg], 0.02 to 1200

    Source: Stahl, J Appl Physiol 1967;22:453-460 (coefficients from memory).

    >>> round(lung_compliance_stahl1967_l_cmh2o(500.0), 2)
    1.0
    """
    return 1.56e-3 * math.pow(weight_kg, 1.04)


@formula
def resistance_stahl1967_cmh2o_s_l(weight_kg: float) -> float:
    """Total resistance of airways and lung, nose included, awake [cmH2O·s/L].

    weight_kg: body weight [kg], 0.02 to 1200

    Source: Stahl, J Appl Physiol 1967;22:453-460 (coefficients from memory).

    >>> round(resistance_stahl1967_cmh2o_s_l(500.0), 2)
    0.31
    """
    return 24.4 * math.pow(weight_kg, -0.70)

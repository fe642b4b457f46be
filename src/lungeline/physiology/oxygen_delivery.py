"""Oxygen brought to the tissues, and Fick's principle. Contents are gas STPD for each litre of blood."""

import math

from lungeline.compiled import formula


@formula
def oxygen_delivery_l_min(cardiac_output_l_min: float, arterial_content_l_l: float) -> float:
    """Oxygen brought to the tissues [L/min].

    cardiac_output_l_min: cardiac output [L/min], 0 to 80
    arterial_content_l_l: oxygen in arterial blood [L/L], 0 to 0.35

    Source: definition.

    >>> round(oxygen_delivery_l_min(21.0, 0.180), 2)
    3.78
    """
    return cardiac_output_l_min * arterial_content_l_l


@formula
def oxygen_use_fick_l_min(
    cardiac_output_l_min: float, arterial_content_l_l: float, mixed_venous_content_l_l: float
) -> float:
    """Oxygen the tissues use [L/min].

    cardiac_output_l_min: cardiac output [L/min], 0 to 80
    arterial_content_l_l: oxygen in arterial blood [L/L], 0 to 0.35
    mixed_venous_content_l_l: oxygen in mixed venous blood [L/L], 0 to 0.3

    Source: Fick's principle.

    >>> round(oxygen_use_fick_l_min(25.0, 0.175, 0.135), 6)
    1.0
    """
    return cardiac_output_l_min * (arterial_content_l_l - mixed_venous_content_l_l)


@formula
def cardiac_output_fick_l_min(
    oxygen_use_l_min: float, arterial_content_l_l: float, mixed_venous_content_l_l: float
) -> float:
    """Cardiac output from oxygen use [L/min].

    oxygen_use_l_min: oxygen used, STPD [L/min], 0.05 to 5
    arterial_content_l_l: oxygen in arterial blood [L/L], 0.01 to 0.35
    mixed_venous_content_l_l: oxygen in mixed venous blood [L/L], 0 to 0.3; no number from the first on

    Source: Fick's principle.

    >>> round(cardiac_output_fick_l_min(1.0, 0.175, 0.135), 6)
    25.0
    """
    difference = arterial_content_l_l - mixed_venous_content_l_l
    if difference <= 0.0:
        return math.nan
    return oxygen_use_l_min / difference


@formula
def mixed_venous_content_l_l(
    arterial_content_l_l: float, oxygen_use_l_min: float, cardiac_output_l_min: float
) -> float:
    """Oxygen left in mixed venous blood, never below none [L/L].

    arterial_content_l_l: oxygen in arterial blood [L/L], 0 to 0.35
    oxygen_use_l_min: oxygen used, STPD [L/min], 0.05 to 5
    cardiac_output_l_min: cardiac output [L/min], 0.1 to 80; none left at or below 0

    Source: Fick's principle.

    >>> round(mixed_venous_content_l_l(0.175, 1.0, 25.0), 6)
    0.135
    """
    if cardiac_output_l_min <= 0.0:
        return 0.0
    return max(arterial_content_l_l - oxygen_use_l_min / cardiac_output_l_min, 0.0)


@formula
def oxygen_extraction_fraction(oxygen_use_l_min: float, oxygen_delivery_l_min: float) -> float:
    """Share of the oxygen brought that the tissues use [1].

    oxygen_use_l_min: oxygen used, STPD [L/min], 0.05 to 5
    oxygen_delivery_l_min: oxygen brought, STPD [L/min], 0.1 to 20; no number at or below 0

    Source: definition.

    >>> oxygen_extraction_fraction(1.0, 4.0)
    0.25
    """
    if oxygen_delivery_l_min <= 0.0:
        return math.nan
    return oxygen_use_l_min / oxygen_delivery_l_min

"""Carbon dioxide absorbent: what it can take, how long it lasts, and how it gives out."""

import math

from lungeline.compiled import formula

MOLAR_MASS_CALCIUM_HYDROXIDE_G_MOL = 74.093  # IUPAC
MOLAR_MASS_WATER_G_MOL = 18.015  # IUPAC
HUNDRED_GRAMS_PER_KG = 10.0

# Breakthrough, a modelling choice: efficiency is a half when so much of the capacity is used, over this width
BREAKTHROUGH_USED_FRACTION = 0.97
BREAKTHROUGH_WIDTH_FRACTION = 0.03
LARGEST_EXPONENT = 60.0  # beyond, the efficiency is nothing, and the exponential would only grow


@formula
def theoretical_capacity_l_100g(hydroxide_mass_fraction: float, molar_volume_l_mol: float) -> float:
    """Carbon dioxide that absorbent could take if all of its hydroxide were used [L/100 g].

    hydroxide_mass_fraction: calcium hydroxide in it [1], 0.5 to 1
    molar_volume_l_mol: gas, 24.055 at 20 °C and 1 atm [L/mol], 20 to 60

    Source: Ca(OH)2 + CO2 = CaCO3 + H2O (closed form).

    >>> round(theoretical_capacity_l_100g(0.80, 24.055), 1)
    26.0
    """
    return 100.0 * hydroxide_mass_fraction / MOLAR_MASS_CALCIUM_HYDROXIDE_G_MOL * molar_volume_l_mol


@formula
def absorbent_capacity_l(absorbent_kg: float, capacity_l_100g: float, used_fraction: float) -> float:
    """Carbon dioxide that absorbent can still take [L].

    absorbent_kg: fresh mass [kg], 0 to 20
    capacity_l_100g: what it takes in practice, 10 to 15 [L/100 g], 5 to 26
    used_fraction: of its capacity, before now [1], 0 to 1

    Source: proportion.

    >>> absorbent_capacity_l(5.0, 12.0, 0.0)
    600.0
    """
    return absorbent_kg * HUNDRED_GRAMS_PER_KG * capacity_l_100g * (1.0 - used_fraction)


@formula
def absorbent_life_min(capacity_l: float, carbon_dioxide_l_min: float, vented_fraction: float) -> float:
    """Time until absorbent is used up [min].

    capacity_l: carbon dioxide it can still take [L], 0 to 5000
    carbon_dioxide_l_min: given off by the animal, counted as the capacity is [L/min], 0 to 5
    vented_fraction: spilled before it reaches the absorbent [1], 0 to 1; infinite where nothing reaches it

    Source: mass balance (closed form).

    >>> round(absorbent_life_min(72.0, 0.3, 0.0), 9)
    240.0
    """
    reaching_l_min = carbon_dioxide_l_min * (1.0 - vented_fraction)
    if reaching_l_min <= 0.0:
        return math.inf
    return capacity_l / reaching_l_min


@formula
def absorber_efficiency_fraction(absorbed_l: float, capacity_l: float, bypass_fraction: float) -> float:
    """Share of the carbon dioxide passing an absorber that it takes [1].

    absorbed_l: carbon dioxide taken so far [L], 0 to 5000
    capacity_l: carbon dioxide it can take in all [L], above 0 to 5000; nothing is taken at or below 0
    bypass_fraction: share of gas that flows past it [1], 0 to 1

    Source: logistic breakthrough near exhaustion, a modelling choice.

    >>> round(absorber_efficiency_fraction(582.0, 600.0, 0.0), 9)
    0.5
    """
    if capacity_l <= 0.0:
        return 0.0
    used_fraction = absorbed_l / capacity_l
    exponent = (used_fraction - BREAKTHROUGH_USED_FRACTION) / BREAKTHROUGH_WIDTH_FRACTION
    return (1.0 - bypass_fraction) / (1.0 + math.exp(min(exponent, LARGEST_EXPONENT)))


@formula
def absorbent_water_g(carbon_dioxide_l: float, molar_volume_l_mol: float) -> float:
    """Water that absorbing carbon dioxide sets free [g].

    carbon_dioxide_l: taken [L], 0 to 5000
    molar_volume_l_mol: gas, 24.055 at 20 °C and 1 atm [L/mol], 20 to 60; no number at or below 0

    Source: one mole of water to one of carbon dioxide (closed form).

    >>> round(absorbent_water_g(60.0, 24.055), 1)
    44.9
    """
    if molar_volume_l_mol <= 0.0:
        return math.nan
    return carbon_dioxide_l / molar_volume_l_mol * MOLAR_MASS_WATER_G_MOL

"""Weight from a tape, and what of the animal follows from weight.

A tape formula holds only for the animals it was made on: ask its `..._holds` before using it.
"""

import math

from lungeline.compiled import formula

CARROLL_DIVISOR = 11877.0  # cm³/kg
# Bounds of all tape formulas below not marked otherwise are assumptions: wide enough for the animals the
# formula was made on, narrow enough to refuse foals, miniatures and heavy draught horses.
CARROLL_LEAST_AGE_YEARS = 3.0
CARROLL_GIRTH_CM = (140.0, 220.0)
CARROLL_WEIGHT_KG = (200.0, 750.0)

PEARSON_EXPONENT = 2.65
PEARSON_DIVISOR = 2188.0
PEARSON_LEAST_AGE_YEARS = 3.0  # the authors give another formula below three years
PEARSON_WEIGHT_KG = (74.0, 252.0)  # the animals measured (abstract)

RODRIGUEZ_KG_M3 = 90.0
RODRIGUEZ_LARGEST_AGE_YEARS = 0.5
RODRIGUEZ_GIRTH_CM = (60.0, 140.0)

SCHAEFFER_DIVISOR = 300.0  # in³/lb
CENTIMETRES_PER_INCH = 2.54
KILOGRAMS_PER_POUND = 0.45359237

BRODY_ML_MIN = 10.0
BRODY_EXPONENT = 0.75
REFERENCE_TEMPERATURE_C = 37.5
OXYGEN_USE_PER_C = 1.07  # from memory


@formula
def weight_carroll1988_kg(girth_cm: float, length_cm: float) -> float:
    """Weight of an adult riding horse from girth and length [kg].

    girth_cm: girth behind the elbow, breathed out [cm], 140 to 220
    length_cm: point of shoulder to point of buttock [cm], 130 to 220

    Source: Carroll & Huntington 1988 (divisor seen in a later foal study's abstract, the rest from memory).

    >>> round(weight_carroll1988_kg(189.0, 183.0))
    550
    """
    return girth_cm * girth_cm * length_cm / CARROLL_DIVISOR


@formula
def weight_carroll1988_holds(girth_cm: float, length_cm: float, age_years: float, pregnant: bool) -> bool:
    """Whether `weight_carroll1988_kg` may be used at all: an adult, not pregnant, of riding-horse size [1].

    girth_cm: girth behind the elbow [cm], any
    length_cm: point of shoulder to point of buttock [cm], any
    age_years: age [years], any
    pregnant: whether she is in late pregnancy [1], 0 or 1

    Source: not for foals, donkeys, miniatures, draught horses, pregnant mares (foal study 2016, abstract);
    the numbers are an assumption.

    >>> weight_carroll1988_holds(189.0, 183.0, 8.0, False), weight_carroll1988_holds(95.0, 90.0, 0.3, False)
    (True, False)
    """
    if pregnant or age_years < CARROLL_LEAST_AGE_YEARS:
        return False
    if girth_cm < CARROLL_GIRTH_CM[0] or girth_cm > CARROLL_GIRTH_CM[1]:
        return False
    weight_kg = weight_carroll1988_kg(girth_cm, length_cm)
    return CARROLL_WEIGHT_KG[0] <= weight_kg <= CARROLL_WEIGHT_KG[1]


@formula
def weight_pearson1996_kg(girth_cm: float) -> float:
    """Weight of an adult working donkey from girth [kg].

    girth_cm: heart girth [cm], 95 to 140

    Source: Pearson & Ouassat, Vet Rec 1996;138:229 (abstract). Too low for large European breeds
    (Quaresma et al., J Equine Vet Sci 2019, summary).

    >>> round(weight_pearson1996_kg(115.0))
    132
    """
    if girth_cm <= 0.0:
        return 0.0
    return math.pow(girth_cm, PEARSON_EXPONENT) / PEARSON_DIVISOR


@formula
def weight_pearson1996_holds(girth_cm: float, age_years: float) -> bool:
    """Whether `weight_pearson1996_kg` may be used: an adult within the weights it was made on [1].

    girth_cm: heart girth [cm], any
    age_years: age [years], any

    Source: 516 donkeys of Morocco, 74 to 252 kg (abstract).

    >>> weight_pearson1996_holds(115.0, 6.0), weight_pearson1996_holds(170.0, 6.0)
    (True, False)
    """
    weight_kg = weight_pearson1996_kg(girth_cm)
    return age_years >= PEARSON_LEAST_AGE_YEARS and PEARSON_WEIGHT_KG[0] <= weight_kg <= PEARSON_WEIGHT_KG[1]


@formula
def weight_rodriguez2007_kg(girth_cm: float) -> float:
    """Weight of a Thoroughbred foal from girth [kg].

    girth_cm: girth behind the elbow, breathed out [cm], 60 to 140

    Source: researchers in Chile, 90 × girth³ in metres (second-hand; Rodriguez et al. 2007 from memory).

    >>> round(weight_rodriguez2007_kg(82.0))
    50
    """
    return RODRIGUEZ_KG_M3 * (girth_cm / 100.0) ** 3


@formula
def weight_rodriguez2007_holds(girth_cm: float, age_years: float) -> bool:
    """Whether `weight_rodriguez2007_kg` may be used: a foal of up to half a year [1].

    girth_cm: girth behind the elbow [cm], any
    age_years: age [years], any

    Source: assumption.

    >>> weight_rodriguez2007_holds(82.0, 0.01), weight_rodriguez2007_holds(189.0, 8.0)
    (True, False)
    """
    if age_years > RODRIGUEZ_LARGEST_AGE_YEARS:
        return False
    return RODRIGUEZ_GIRTH_CM[0] <= girth_cm <= RODRIGUEZ_GIRTH_CM[1]


@formula
def weight_schaeffer_kg(girth_cm: float, length_cm: float) -> float:
    """Weight of cattle from girth and length [kg].

    girth_cm: heart girth [cm], 70 to 260
    length_cm: point of shoulder to point of rump [cm], 60 to 240

    Source: Schaeffer's formula, girth² × length / 300 in inches and pounds (second-hand, two texts).

    >>> round(weight_schaeffer_kg(152.4, 134.62))
    288
    """
    pounds = girth_cm * girth_cm * length_cm / CENTIMETRES_PER_INCH**3 / SCHAEFFER_DIVISOR
    return pounds * KILOGRAMS_PER_POUND


@formula
def weight_error_fraction(girth_error_fraction: float, length_error_fraction: float) -> float:
    """Error of a weight from girth² × length, the two errors in the same direction [1].

    girth_error_fraction: relative error of girth, either sign [1], -0.2 to 0.2
    length_error_fraction: relative error of length, either sign [1], -0.2 to 0.2

    Source: closed form; about twice the error of girth and once that of length.

    >>> round(weight_error_fraction(0.02, 0.0), 4)
    0.0404
    """
    return (1.0 + girth_error_fraction) ** 2 * (1.0 + length_error_fraction) - 1.0


@formula
def airway_dead_space_l(
    weight_kg: float, dead_space_ml_kg: float, tube_volume_l: float, connector_volume_l: float
) -> float:
    """Dead space from the Y piece to the alveoli of an intubated animal [L].

    weight_kg: body weight [kg], 20 to 1200
    dead_space_ml_kg: airways below the tube, 2.2 by Stahl 1967 at 500 kg (from memory) [mL/kg], 1 to 4
    tube_volume_l: inside the tracheal tube [L], 0.01 to 1
    connector_volume_l: Y piece and what lies between [L], 0 to 0.5

    Source: sum of its parts.

    >>> round(airway_dead_space_l(500.0, 2.2, 0.53, 0.15), 3)
    1.78
    """
    return dead_space_ml_kg * weight_kg / 1000.0 + tube_volume_l + connector_volume_l


@formula
def oxygen_use_brody1945_ml_min(weight_kg: float) -> float:
    """Oxygen used by an anaesthetised mammal of a weight, STPD [mL/min].

    weight_kg: body weight [kg], 20 to 1200

    Source: Brody 1945 and Lowe, 10 × kg^0.75 (from memory).

    >>> round(oxygen_use_brody1945_ml_min(500.0))
    1057
    """
    return BRODY_ML_MIN * math.pow(max(weight_kg, 0.0), BRODY_EXPONENT)


@formula
def oxygen_use_at_temperature_ml_min(oxygen_use_ml_min: float, temperature_c: float) -> float:
    """Oxygen used at a body temperature other than 37.5 °C [mL/min].

    oxygen_use_ml_min: at 37.5 °C [mL/min], 50 to 5000
    temperature_c: body temperature [°C], 28 to 42

    Source: 7 % for each degree (from memory).

    >>> round(oxygen_use_at_temperature_ml_min(1000.0, 35.5))
    873
    """
    steps_c = temperature_c - REFERENCE_TEMPERATURE_C
    return oxygen_use_ml_min * math.exp(steps_c * math.log(OXYGEN_USE_PER_C))

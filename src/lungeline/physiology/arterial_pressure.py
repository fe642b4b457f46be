"""Mean arterial pressure as cardiac output times resistance, and what changes resistance.

Each effect on resistance is a multiple of its own. Numbers not marked otherwise are assumptions.
"""

from lungeline.compiled import formula

CMH2O_PER_MMHG = 1.35951  # 133.322 Pa over 98.0665 Pa, UCUM

REFERENCE_DEPTH_MULTIPLE = 1.2
DEPTH_SLOPE = 0.20
LEAST_DEPTH_MULTIPLE = 0.4

# Khanna et al. 1995 (abstract, directions): resistance rises at 59 mmHg and is low at 110.
CO2_NEUTRAL_MMHG = 45.0
CO2_HIGHEST_MMHG = 59.0
CO2_FALLING_MMHG = 70.0
CO2_HIGH_MMHG = 110.0
CO2_RISE = 0.12
CO2_FALL = 0.25

VOLAEMIA_SLOPE = 0.4  # constriction as volume is lost

# Gorenberg et al. 2025 (abstract): 58 mmHg at 21 L/min, 91 at 38 with 2 µg/kg/min.
DOBUTAMINE_SLOPE = (1.0 - (91.0 / 38.0) / (58.0 / 21.0)) / 2.0
LEAST_DOBUTAMINE_MULTIPLE = 0.8
# Fantoni et al., Vet Anaesth Analg 2013;40:367 (abstract): 2 µg/kg/min until pressure was half as high again,
# by resistance. With output falling to 0.94 as in `circulation` that is 1.5/0.94 = 1.6 times at 2.
PHENYLEPHRINE_SLOPE = 0.3
LARGEST_PHENYLEPHRINE_MULTIPLE = 2.8


@formula
def mean_arterial_pressure_mmhg(cardiac_output_l_min: float, vascular_resistance_mmhg_min_l: float) -> float:
    """Mean arterial pressure, venous pressure counted within the resistance [mmHg].

    cardiac_output_l_min: cardiac output [L/min], 0 to 80
    vascular_resistance_mmhg_min_l: arterial pressure over output [mmHg·min/L], 0.5 to 40

    Source: definition of resistance.

    >>> round(mean_arterial_pressure_mmhg(21.0, 2.762))
    58
    """
    return cardiac_output_l_min * vascular_resistance_mmhg_min_l


@formula
def resistance_depth_multiple(depth_mac_multiple: float) -> float:
    """Vascular resistance at a depth, over that at 1.2 MAC [multiple].

    depth_mac_multiple: depth [multiple], 0 to 3

    Source: volatile agents dilate vessels with dose (from memory); size assumed.

    >>> round(resistance_depth_multiple(1.7), 2)
    0.9
    """
    return max(1.0 - DEPTH_SLOPE * (depth_mac_multiple - REFERENCE_DEPTH_MULTIPLE), LEAST_DEPTH_MULTIPLE)


@formula
def resistance_co2_multiple(paco2_mmhg: float) -> float:
    """Vascular resistance at an arterial CO2 pressure, over that at normal [multiple].

    paco2_mmhg: arterial CO2 pressure [mmHg], 10 to 250

    Source: Khanna et al., Can J Vet Res 1995;59:213 (abstract, directions); sizes are assumptions.

    >>> [round(resistance_co2_multiple(p), 2) for p in (40.0, 59.0, 110.0)]
    [1.0, 1.12, 0.87]
    """
    raised_mmhg = min(max(paco2_mmhg, CO2_NEUTRAL_MMHG), CO2_HIGHEST_MMHG) - CO2_NEUTRAL_MMHG
    fallen_mmhg = min(max(paco2_mmhg, CO2_FALLING_MMHG), CO2_HIGH_MMHG) - CO2_FALLING_MMHG
    rise = CO2_RISE * raised_mmhg / (CO2_HIGHEST_MMHG - CO2_NEUTRAL_MMHG)
    return 1.0 + rise - CO2_FALL * fallen_mmhg / (CO2_HIGH_MMHG - CO2_FALLING_MMHG)


@formula
def resistance_volaemia_multiple(volaemia_fraction: float) -> float:
    """Vascular resistance at a circulating volume, over that at normal [multiple].

    volaemia_fraction: circulating volume over normal [1], 0.4 to 1.1

    Source: assumption: constriction makes good a part of what output loses, never all.

    >>> round(resistance_volaemia_multiple(0.8), 2)
    1.08
    """
    return 1.0 + VOLAEMIA_SLOPE * max(1.0 - volaemia_fraction, 0.0)


@formula
def resistance_dobutamine_multiple(dobutamine_ug_kg_min: float) -> float:
    """Vascular resistance under dobutamine, over that without [multiple].

    dobutamine_ug_kg_min: infusion, settled [µg/kg/min], 0 to 5

    Source: 58/21 to 91/38 mmHg·min/L at 2 µg/kg/min (Gorenberg et al. 2025, abstract); above 3 assumed flat.

    >>> round(resistance_dobutamine_multiple(2.0), 3)
    0.867
    """
    return max(1.0 - DOBUTAMINE_SLOPE * max(dobutamine_ug_kg_min, 0.0), LEAST_DOBUTAMINE_MULTIPLE)


@formula
def resistance_phenylephrine_multiple(phenylephrine_ug_kg_min: float) -> float:
    """Vascular resistance under phenylephrine, over that without [multiple].

    phenylephrine_ug_kg_min: infusion, settled [µg/kg/min], 0 to 6

    Source: Fantoni et al., Vet Anaesth Analg 2013;40:367 (abstract): 2 µg/kg/min until pressure rose by half;
    straight line assumed.

    >>> round(resistance_phenylephrine_multiple(2.0), 2)
    1.6
    """
    risen = 1.0 + PHENYLEPHRINE_SLOPE * max(phenylephrine_ug_kg_min, 0.0)
    return min(risen, LARGEST_PHENYLEPHRINE_MULTIPLE)


@formula
def vascular_resistance_under_mmhg_min_l(
    resting_resistance_mmhg_min_l: float,
    depth_mac_multiple: float,
    paco2_mmhg: float,
    volaemia_fraction: float,
    dobutamine_ug_kg_min: float,
    phenylephrine_ug_kg_min: float,
) -> float:
    """Vascular resistance under all of it together [mmHg·min/L].

    resting_resistance_mmhg_min_l: at 1.2 MAC, normal CO2 and volume, no drugs [mmHg·min/L], 0.5 to 40
    depth_mac_multiple: depth [multiple], 0 to 3
    paco2_mmhg: arterial CO2 pressure [mmHg], 10 to 250
    volaemia_fraction: circulating volume over normal [1], 0.4 to 1.1
    dobutamine_ug_kg_min: infusion, settled [µg/kg/min], 0 to 5
    phenylephrine_ug_kg_min: infusion, settled [µg/kg/min], 0 to 6

    Source: product of the single effects (assumption).

    >>> round(38.0 * vascular_resistance_under_mmhg_min_l(58.0 / 21.0, 1.2, 40.0, 1.0, 2.0, 0.0), 6)
    91.0
    """
    resistance = resting_resistance_mmhg_min_l * resistance_depth_multiple(depth_mac_multiple)
    resistance *= resistance_co2_multiple(paco2_mmhg) * resistance_volaemia_multiple(volaemia_fraction)
    resistance *= resistance_dobutamine_multiple(dobutamine_ug_kg_min)
    return resistance * resistance_phenylephrine_multiple(phenylephrine_ug_kg_min)


@formula
def transducer_height_error_mmhg(transducer_below_heart_cm: float) -> float:
    """Error of a measured pressure when the transducer lies below the heart; negative when above [mmHg].

    transducer_below_heart_cm: height of the heart over the transducer [cm], -50 to 50

    Source: a column of water, 0.735 mmHg/cm (closed form; number seen in an equine study's methods).

    >>> round(transducer_height_error_mmhg(10.0), 1)
    7.4
    """
    return transducer_below_heart_cm / CMH2O_PER_MMHG

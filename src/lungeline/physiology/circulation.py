"""Cardiac output, and what lowers or raises it: each effect is a multiple of its own.

That the multiples are multiplied is an assumption, and so is every number not marked otherwise.
"""

from lungeline.compiled import formula

PRESSURE_WITHOUT_EFFECT_CMH2O = 4.0  # mean airway pressure of ordinary ventilation without PEEP
LEAST_LINEAR_MULTIPLE = 0.15
LEAST_VOLAEMIA_FRACTION = 0.1
LEAST_HALVING_CMH2O = 1.0
EMPTY_OUTPUT_MULTIPLE = 0.3  # left if circulating volume went to nothing

REFERENCE_DEPTH_MULTIPLE = 1.2  # depth at which published outputs were measured
DEPTH_SLOPE = 0.15
LEAST_DEPTH_MULTIPLE = 0.3

# Khanna et al., Can J Vet Res 1995;59:213 (abstract, directions): isoflurane, output falls at 59 mmHg, rises
# at 83 and at 110. Sizes are assumptions.
CO2_NEUTRAL_MMHG = 45.0
CO2_LOWEST_MMHG = 59.0
CO2_BACK_MMHG = 70.0
CO2_HIGH_MMHG = 110.0
CO2_DIP = 0.06
CO2_RISE = 0.30

# Gorenberg et al., Equine Vet J 2025 (abstract): 21 to 38 L/min at 2 µg/kg/min, six isoflurane horses.
DOBUTAMINE_SLOPE = (38.0 / 21.0 - 1.0) / 2.0
LARGEST_DOBUTAMINE_MULTIPLE = 2.2
# Pressor infusions lower output a little: awake horses, direction, Am J Vet Res 1994;55:1570 (abstract).
PHENYLEPHRINE_OUTPUT_SLOPE = 0.03
LEAST_PHENYLEPHRINE_MULTIPLE = 0.7


@formula
def _halving_now_cmh2o(halving_pressure_cmh2o: float, volaemia_fraction: float) -> float:
    """Halving pressure of an animal short of volume: it is hit the harder the less it has [cmH2O]."""
    return max(halving_pressure_cmh2o, LEAST_HALVING_CMH2O) * max(volaemia_fraction, LEAST_VOLAEMIA_FRACTION)


@formula
def output_pressure_square_law_multiple(
    mean_airway_pressure_cmh2o: float, halving_pressure_cmh2o: float, volaemia_fraction: float
) -> float:
    """Cardiac output left under airway pressure, falling with its square at first [multiple].

    mean_airway_pressure_cmh2o: mean over some breaths [cmH2O], -10 to 60
    halving_pressure_cmh2o: pressure above 4 that halves output at normal volume [cmH2O], 15 to 45
    volaemia_fraction: circulating volume over normal [1], 0.4 to 1.1

    Source: shape chosen; 32 cmH2O fitted to ponies at PEEP 0 to 30 (Am J Vet Res 1990;51:734, abstract).

    >>> output_pressure_square_law_multiple(36.0, 32.0, 1.0)
    0.5
    """
    excess = max(0.0, mean_airway_pressure_cmh2o - PRESSURE_WITHOUT_EFFECT_CMH2O)
    ratio = excess / _halving_now_cmh2o(halving_pressure_cmh2o, volaemia_fraction)
    return 1.0 / (1.0 + ratio * ratio)


@formula
def output_pressure_linear_law_multiple(
    mean_airway_pressure_cmh2o: float, halving_pressure_cmh2o: float, volaemia_fraction: float
) -> float:
    """Cardiac output left under airway pressure, falling in proportion: a rival to the square law [multiple].

    mean_airway_pressure_cmh2o: mean over some breaths [cmH2O], -10 to 60
    halving_pressure_cmh2o: pressure above 4 that halves output at normal volume [cmH2O], 15 to 45
    volaemia_fraction: circulating volume over normal [1], 0.4 to 1.1

    Source: venous return falls in proportion to the pressure it flows against (Guyton, from memory).

    >>> output_pressure_linear_law_multiple(20.0, 32.0, 1.0)
    0.75
    """
    excess = max(0.0, mean_airway_pressure_cmh2o - PRESSURE_WITHOUT_EFFECT_CMH2O)
    ratio = excess / _halving_now_cmh2o(halving_pressure_cmh2o, volaemia_fraction)
    return max(1.0 - 0.5 * ratio, LEAST_LINEAR_MULTIPLE)


@formula
def output_volaemia_multiple(volaemia_fraction: float) -> float:
    """Cardiac output left at a circulating volume, without airway pressure [multiple].

    volaemia_fraction: circulating volume over normal [1], 0.4 to 1.1

    Source: assumption: 0.3 + 0.7 × volume, and no more than normal above normal.

    >>> round(output_volaemia_multiple(0.8), 2)
    0.86
    """
    share = EMPTY_OUTPUT_MULTIPLE + (1.0 - EMPTY_OUTPUT_MULTIPLE) * max(volaemia_fraction, 0.0)
    return min(1.0, share)


@formula
def output_depth_multiple(depth_mac_multiple: float) -> float:
    """Cardiac output at a depth, over that at 1.2 MAC [multiple].

    depth_mac_multiple: depth [multiple], 0 to 3

    Source: falls with dose in ponies at 1.1 to 1.8 MAC (Manohar et al. 1987, abstract, direction); the size
    is an assumption.

    >>> round(output_depth_multiple(1.8), 2)
    0.91
    """
    return max(1.0 - DEPTH_SLOPE * (depth_mac_multiple - REFERENCE_DEPTH_MULTIPLE), LEAST_DEPTH_MULTIPLE)


@formula
def output_co2_multiple(paco2_mmhg: float) -> float:
    """Cardiac output at an arterial CO2 pressure, over that at normal [multiple].

    paco2_mmhg: arterial CO2 pressure [mmHg], 10 to 250

    Source: Khanna et al., Can J Vet Res 1995;59:213 (abstract, directions); sizes are assumptions.

    >>> [round(output_co2_multiple(p), 6) for p in (40.0, 59.0, 110.0)]
    [1.0, 0.94, 1.3]
    """
    if paco2_mmhg <= CO2_NEUTRAL_MMHG:
        return 1.0
    if paco2_mmhg <= CO2_LOWEST_MMHG:
        return 1.0 - CO2_DIP * (paco2_mmhg - CO2_NEUTRAL_MMHG) / (CO2_LOWEST_MMHG - CO2_NEUTRAL_MMHG)
    if paco2_mmhg <= CO2_BACK_MMHG:
        return 1.0 - CO2_DIP * (CO2_BACK_MMHG - paco2_mmhg) / (CO2_BACK_MMHG - CO2_LOWEST_MMHG)
    excess_mmhg = min(paco2_mmhg, CO2_HIGH_MMHG) - CO2_BACK_MMHG
    return 1.0 + CO2_RISE * excess_mmhg / (CO2_HIGH_MMHG - CO2_BACK_MMHG)


@formula
def output_dobutamine_multiple(dobutamine_ug_kg_min: float) -> float:
    """Cardiac output under dobutamine, over that without [multiple].

    dobutamine_ug_kg_min: infusion, settled [µg/kg/min], 0 to 5

    Source: 21 to 38 L/min at 2 µg/kg/min (Gorenberg et al. 2025, abstract), and straight between; above 2
    an assumption.

    >>> round(output_dobutamine_multiple(2.0), 2)
    1.81
    """
    return min(1.0 + DOBUTAMINE_SLOPE * max(dobutamine_ug_kg_min, 0.0), LARGEST_DOBUTAMINE_MULTIPLE)


@formula
def output_phenylephrine_multiple(phenylephrine_ug_kg_min: float) -> float:
    """Cardiac output under phenylephrine, over that without [multiple].

    phenylephrine_ug_kg_min: infusion, settled [µg/kg/min], 0 to 6

    Source: falls with dose in awake horses at 1 to 6 µg/kg/min (Am J Vet Res 1994;55:1570, abstract,
    direction); the size is an assumption.

    >>> round(output_phenylephrine_multiple(2.0), 2)
    0.94
    """
    fallen = 1.0 - PHENYLEPHRINE_OUTPUT_SLOPE * max(phenylephrine_ug_kg_min, 0.0)
    return max(fallen, LEAST_PHENYLEPHRINE_MULTIPLE)


@formula
def cardiac_output_under_l_min(
    resting_output_l_min: float,
    mean_airway_pressure_cmh2o: float,
    halving_pressure_cmh2o: float,
    volaemia_fraction: float,
    depth_mac_multiple: float,
    paco2_mmhg: float,
    dobutamine_ug_kg_min: float,
    phenylephrine_ug_kg_min: float,
) -> float:
    """Cardiac output under all of it together, by the square law of pressure [L/min].

    resting_output_l_min: at 1.2 MAC, normal CO2 and volume, no airway pressure [L/min], 1 to 80
    mean_airway_pressure_cmh2o: mean over some breaths [cmH2O], -10 to 60
    halving_pressure_cmh2o: pressure above 4 that halves output at normal volume [cmH2O], 15 to 45
    volaemia_fraction: circulating volume over normal [1], 0.4 to 1.1
    depth_mac_multiple: depth [multiple], 0 to 3
    paco2_mmhg: arterial CO2 pressure [mmHg], 10 to 250
    dobutamine_ug_kg_min: infusion, settled [µg/kg/min], 0 to 5
    phenylephrine_ug_kg_min: infusion, settled [µg/kg/min], 0 to 6

    Source: product of the single effects (assumption).

    >>> round(cardiac_output_under_l_min(21.0, 4.0, 32.0, 1.0, 1.2, 40.0, 2.0, 0.0), 6)
    38.0
    """
    output_l_min = resting_output_l_min * output_pressure_square_law_multiple(
        mean_airway_pressure_cmh2o, halving_pressure_cmh2o, volaemia_fraction
    )
    output_l_min *= output_volaemia_multiple(volaemia_fraction)
    output_l_min *= output_depth_multiple(depth_mac_multiple) * output_co2_multiple(paco2_mmhg)
    output_l_min *= output_dobutamine_multiple(dobutamine_ug_kg_min)
    return output_l_min * output_phenylephrine_multiple(phenylephrine_ug_kg_min)

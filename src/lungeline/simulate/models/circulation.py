"""A simple circulation: cardiac output under pressure, depth and CO2; arterial pressure as output times resistance."""

from lungeline.compiled import formula

PRESSURE_WITHOUT_EFFECT_CMH2O = 4.0
REFERENCE_DEPTH_MAC = 1.2
OUTPUT_PER_MAC = 0.15  # share lost per MAC above the reference depth; assumption
RESISTANCE_PER_MAC = 0.20  # share lost per MAC above the reference depth; assumption
LEAST_OUTPUT_FRACTION = 0.02
# Khanna et al. 1995 (direction): output falls a little at 59 mmHg and rises at 83 and 110.
CO2_NEUTRAL_MMHG = 45.0
CO2_LOWEST_MMHG = 59.0
CO2_BACK_MMHG = 70.0
CO2_HIGH_MMHG = 110.0
CO2_DIP = 0.06
CO2_RISE = 0.30
HEART_RATE_EXPONENT = 0.35
REFERENCE_MAP_MMHG = 72.0


@formula
def output_pressure_factor(
    mean_pressure_cmh2o: float, halving_pressure_cmh2o: float, volaemia_fraction: float, law: float
) -> float:
    """Share of cardiac output left under mean airway pressure [1].

    mean_pressure_cmh2o: filtered mean airway pressure [cmH2O], 0 to 60
    halving_pressure_cmh2o: pressure above 4 that halves output at normal volume [cmH2O], 15 to 45
    volaemia_fraction: circulating volume over normal [1], 0.5 to 1.1
    law: 0 falls with the square, 1 falls in proportion [1], 0 or 1

    Source: shape assumed; halving pressure fitted to ponies at PEEP 0 to 30 (see evidence).

    >>> output_pressure_factor(36.0, 32.0, 1.0, 0.0)
    0.5
    """
    excess = max(0.0, mean_pressure_cmh2o - PRESSURE_WITHOUT_EFFECT_CMH2O)
    ratio = excess / (halving_pressure_cmh2o * max(volaemia_fraction, 0.1))
    if law >= 0.5:
        return max(1.0 - 0.5 * ratio, 0.15)
    return 1.0 / (1.0 + ratio * ratio)


@formula
def output_co2_factor(paco2_mmhg: float) -> float:
    """Effect of arterial CO2 on cardiac output [1].

    paco2_mmhg: arterial CO2 pressure [mmHg], 10 to 250

    Source: Khanna et al., Can J Vet Res 1995;59:213 (abstract, direction); sizes are an assumption.

    >>> output_co2_factor(40.0), output_co2_factor(59.0), output_co2_factor(110.0)
    (1.0, 0.94, 1.3)
    """
    if paco2_mmhg <= CO2_NEUTRAL_MMHG:
        return 1.0
    if paco2_mmhg <= CO2_LOWEST_MMHG:
        return 1.0 - CO2_DIP * (paco2_mmhg - CO2_NEUTRAL_MMHG) / (CO2_LOWEST_MMHG - CO2_NEUTRAL_MMHG)
    if paco2_mmhg <= CO2_BACK_MMHG:
        return 1.0 - CO2_DIP * (CO2_BACK_MMHG - paco2_mmhg) / (CO2_BACK_MMHG - CO2_LOWEST_MMHG)
    return 1.0 + CO2_RISE * (min(paco2_mmhg, CO2_HIGH_MMHG) - CO2_BACK_MMHG) / (CO2_HIGH_MMHG - CO2_BACK_MMHG)


@formula
def cardiac_output_now_l_min(
    resting_output_l_min: float,
    mean_pressure_cmh2o: float,
    halving_pressure_cmh2o: float,
    volaemia_fraction: float,
    law: float,
    depth_mac_multiple: float,
    paco2_mmhg: float,
    inotrope_multiple: float,
    full_circulation: float,
) -> float:
    """Cardiac output at this moment [L/min].

    resting_output_l_min: at the reference depth, without airway pressure [L/min], 1 to 60
    mean_pressure_cmh2o: filtered mean airway pressure [cmH2O], 0 to 60
    halving_pressure_cmh2o: pressure above 4 that halves output [cmH2O], 15 to 45
    volaemia_fraction: circulating volume over normal [1], 0.5 to 1.1
    law: 0 falls with the square, 1 in proportion [1], 0 or 1
    depth_mac_multiple: depth [1], 0 to 3
    paco2_mmhg: arterial CO2 pressure [mmHg], 10 to 250
    inotrope_multiple: effect of an inotrope on output [1], 0.02 to 2.5
    full_circulation: 1 with effects of depth and CO2, 0 without [1], 0 or 1

    Source: product of the single effects, an assumption.

    >>> round(cardiac_output_now_l_min(27.5, 4.0, 32.0, 1.0, 0.0, 1.2, 40.0, 1.0, 1.0), 3)
    27.5
    """
    output = resting_output_l_min * inotrope_multiple
    output *= output_pressure_factor(mean_pressure_cmh2o, halving_pressure_cmh2o, volaemia_fraction, law)
    output *= min(1.0, 0.3 + 0.7 * volaemia_fraction)
    if full_circulation >= 0.5:
        output *= max(1.0 - OUTPUT_PER_MAC * (depth_mac_multiple - REFERENCE_DEPTH_MAC), 0.3)
        output *= output_co2_factor(paco2_mmhg)
    return max(output, LEAST_OUTPUT_FRACTION * resting_output_l_min)


@formula
def arterial_pressure_mmhg(
    output_l_min: float,
    resistance_mmhg_min_l: float,
    depth_mac_multiple: float,
    paco2_mmhg: float,
    inotrope_multiple: float,
    vasopressor_multiple: float,
    volaemia_fraction: float,
) -> float:
    """Mean arterial pressure as output times resistance [mmHg].

    output_l_min: cardiac output [L/min], 0 to 60
    resistance_mmhg_min_l: vascular resistance at the reference depth [mmHg·min/L], 0.5 to 30
    depth_mac_multiple: depth [1], 0 to 3
    paco2_mmhg: arterial CO2 pressure [mmHg], 10 to 250
    inotrope_multiple: effect of an inotrope on output [1], 0.02 to 2.5
    vasopressor_multiple: effect of a vasopressor on resistance [1], 1 to 2.5
    volaemia_fraction: circulating volume over normal; a low one raises resistance [1], 0.5 to 1.1

    Source: MAP 58 at 21 L/min, 91 at 38 with dobutamine (Gorenberg et al. 2025, abstract) give a
    resistance that falls by 13 % as output rises 1.8 times; effects of depth and CO2 are assumptions.

    >>> round(arterial_pressure_mmhg(27.5, 2.6, 1.2, 40.0, 1.0, 1.0, 1.0), 1)
    71.5
    """
    resistance = resistance_mmhg_min_l * max(
        1.0 - RESISTANCE_PER_MAC * (depth_mac_multiple - REFERENCE_DEPTH_MAC), 0.4
    )
    if inotrope_multiple > 1.0:
        resistance *= max(1.0 - 0.166 * (inotrope_multiple - 1.0), 0.6)
    if paco2_mmhg > CO2_NEUTRAL_MMHG:
        rise = 0.12 * (min(paco2_mmhg, CO2_LOWEST_MMHG) - CO2_NEUTRAL_MMHG) / (CO2_LOWEST_MMHG - CO2_NEUTRAL_MMHG)
        fall = 0.25 * max(0.0, min(paco2_mmhg, CO2_HIGH_MMHG) - CO2_BACK_MMHG) / (CO2_HIGH_MMHG - CO2_BACK_MMHG)
        resistance *= 1.0 + rise - fall
    if volaemia_fraction < 1.0:
        resistance *= 1.0 + 0.4 * (1.0 - volaemia_fraction)
    return output_l_min * resistance * vasopressor_multiple


@formula
def heart_rate_now_per_min(
    resting_rate_per_min: float, output_ratio: float, arterial_pressure_mmhg_now: float
) -> float:
    """Heart rate, rising as arterial pressure falls [/min].

    resting_rate_per_min: at the reference state [/min], 25 to 140
    output_ratio: cardiac output over resting output [1], 0.02 to 2.5
    arterial_pressure_mmhg_now: mean arterial pressure [mmHg], 0 to 200

    Source: teaching simplification, no source: a weak baroreflex, and none left when output stops.

    >>> round(heart_rate_now_per_min(38.0, 1.0, 72.0), 1)
    38.0
    """
    if output_ratio < 0.05:
        return 0.0
    ratio = REFERENCE_MAP_MMHG / max(arterial_pressure_mmhg_now, 20.0)
    return resting_rate_per_min * min(max(ratio**HEART_RATE_EXPONENT, 0.75), 1.9)

"""A simple circulation: output under pressure, depth and CO2; arterial pressure follows from resistance."""

import math

from lungeline.compiled import formula
from lungeline.physiology.arterial_pressure import (
    mean_arterial_pressure_mmhg,
    resistance_co2_multiple,
    resistance_depth_multiple,
)
from lungeline.physiology.circulation import (
    output_co2_multiple,
    output_depth_multiple,
    output_pressure_linear_law_multiple,
    output_pressure_square_law_multiple,
    output_volaemia_multiple,
)

LEAST_OUTPUT_FRACTION = 0.02
# Gorenberg et al. 2025: MAP 58 at 21 L/min, 91 at 38 L/min: resistance falls 13 % as output rises 1.81 times.
RESISTANCE_PER_INOTROPE = 0.164
LEAST_RESISTANCE_FRACTION = 0.6
RESISTANCE_PER_LOST_VOLUME = 0.4  # assumption
HEART_RATE_EXPONENT = 0.35
REFERENCE_MAP_MMHG = 72.0
STANDSTILL_OUTPUT_RATIO = 0.05


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
    law: 0 falls with the square of pressure, 1 in proportion [1], 0 or 1
    depth_mac_multiple: depth [multiple], 0 to 3
    paco2_mmhg: arterial CO2 pressure [mmHg], 10 to 250
    inotrope_multiple: effect of an inotrope or of a failing heart on output [multiple], 0.02 to 2.5
    full_circulation: 1 with effects of depth and CO2, 0 without [1], 0 or 1

    Source: product of the single effects, an assumption.

    >>> round(cardiac_output_now_l_min(27.5, 4.0, 32.0, 1.0, 0.0, 1.2, 40.0, 1.0, 0.0), 3)
    27.5
    """
    output = resting_output_l_min * inotrope_multiple * output_volaemia_multiple(volaemia_fraction)
    if law >= 0.5:
        output *= output_pressure_linear_law_multiple(
            mean_pressure_cmh2o, halving_pressure_cmh2o, volaemia_fraction
        )
    else:
        output *= output_pressure_square_law_multiple(
            mean_pressure_cmh2o, halving_pressure_cmh2o, volaemia_fraction
        )
    if full_circulation >= 0.5:
        output *= output_depth_multiple(depth_mac_multiple) * output_co2_multiple(paco2_mmhg)
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
    depth_mac_multiple: depth [multiple], 0 to 3
    paco2_mmhg: arterial CO2 pressure [mmHg], 10 to 250
    inotrope_multiple: effect of an inotrope on output [multiple], 0.02 to 2.5
    vasopressor_multiple: effect of a vasopressor on resistance [multiple], 1 to 2.5
    volaemia_fraction: circulating volume over normal; a low one raises resistance [1], 0.5 to 1.1

    Source: MAP 58 at 21 L/min, 91 at 38 with dobutamine (Gorenberg et al. 2025, abstract).

    >>> round(arterial_pressure_mmhg(27.5, 2.6, 1.2, 40.0, 1.0, 1.0, 1.0), 1)
    71.5
    """
    resistance = resistance_mmhg_min_l * resistance_depth_multiple(depth_mac_multiple)
    resistance *= resistance_co2_multiple(paco2_mmhg) * vasopressor_multiple
    if inotrope_multiple > 1.0:
        resistance *= max(
            1.0 - RESISTANCE_PER_INOTROPE * (inotrope_multiple - 1.0), LEAST_RESISTANCE_FRACTION
        )
    if volaemia_fraction < 1.0:
        resistance *= 1.0 + RESISTANCE_PER_LOST_VOLUME * (1.0 - volaemia_fraction)
    return mean_arterial_pressure_mmhg(output_l_min, resistance)


@formula
def heart_rate_now_per_min(
    resting_rate_per_min: float, output_ratio: float, arterial_pressure_mmhg_now: float
) -> float:
    """Heart rate, rising as arterial pressure falls [/min].

    resting_rate_per_min: at the reference state [/min], 25 to 140
    output_ratio: cardiac output over resting output [ratio], 0.02 to 2.5
    arterial_pressure_mmhg_now: mean arterial pressure [mmHg], 0 to 200

    Source: teaching simplification, no source: a weak baroreflex, and no beat when output stops.

    >>> round(heart_rate_now_per_min(38.0, 1.0, 72.0), 1)
    38.0
    """
    if output_ratio < STANDSTILL_OUTPUT_RATIO:
        return 0.0
    ratio = REFERENCE_MAP_MMHG / max(arterial_pressure_mmhg_now, 20.0)
    return resting_rate_per_min * min(max(math.pow(ratio, HEART_RATE_EXPONENT), 0.75), 1.9)

"""Minimum alveolar concentration: what of an agent an animal needs, and how much of that it has.

MAC is a partial pressure written as a percentage of 760 mmHg. A percentage read from an analyser counts for
less at altitude.
"""

import math

from lungeline.compiled import formula

STANDARD_PRESSURE_MMHG = 760.0
LARGEST_REDUCTION_FRACTION = 0.60  # cap on what drugs together may spare, assumption
LEAST_TEMPERATURE_C = 30.0  # outside 30 to 40 °C the straight line is not continued, assumption
LARGEST_TEMPERATURE_C = 40.0


@formula
def mac_at_temperature_percent(
    mac_percent: float, mac_temperature_c: float, temperature_c: float, fall_per_c: float
) -> float:
    """MAC at a body temperature; below 30 and above 40 °C as at these [%].

    mac_percent: MAC at `mac_temperature_c` [%], 0.5 to 12
    mac_temperature_c: temperature at which it was found, 37.5 by default [°C], 36 to 39
    temperature_c: body temperature now [°C], 28 to 42
    fall_per_c: share lost for each degree of cooling, 0.02 to 0.05 by agent [1/°C], 0 to 0.06

    Source: 2 to 5 % a degree, Miller's Anesthesia 6th ed. ch. 4 (second-hand); clamp is an assumption.

    >>> round(mac_at_temperature_percent(1.30, 37.5, 35.5, 0.05), 2)
    1.17
    """
    bounded_c = min(max(temperature_c, LEAST_TEMPERATURE_C), LARGEST_TEMPERATURE_C)
    return mac_percent * (1.0 - fall_per_c * (mac_temperature_c - bounded_c))


@formula
def combined_reduction_fraction(first_reduction_fraction: float, second_reduction_fraction: float) -> float:
    """Share of MAC spared by two drugs together; fold over more than two in any order [1].

    first_reduction_fraction: spared by one alone [1], 0 to 1
    second_reduction_fraction: spared by the other alone [1], 0 to 1

    Source: assumption: each spares its share of what the other leaves.

    >>> round(combined_reduction_fraction(0.25, 0.20), 6)
    0.4
    """
    return 1.0 - (1.0 - first_reduction_fraction) * (1.0 - second_reduction_fraction)


@formula
def mac_reduced_percent(mac_percent: float, reduction_fraction: float) -> float:
    """MAC left by sparing drugs, at most 60 % spared [%].

    mac_percent: MAC without them [%], 0.5 to 12
    reduction_fraction: share spared, see `combined_reduction_fraction` [1], 0 to 1

    Source: cap of 60 % is an assumption; reductions of single drugs are figures of `reference`.

    >>> round(mac_reduced_percent(1.30, 0.25), 3), round(mac_reduced_percent(1.30, 0.9), 3)
    (0.975, 0.52)
    """
    return mac_percent * (1.0 - min(max(reduction_fraction, 0.0), LARGEST_REDUCTION_FRACTION))


@formula
def nitrous_oxide_reduction_fraction(
    nitrous_oxide_fraction: float, nitrous_oxide_mac_fraction: float
) -> float:
    """Share of MAC spared by nitrous oxide, in proportion to its alveolar fraction [1].

    nitrous_oxide_fraction: alveolar, at 760 mmHg [1], 0 to 0.75
    nitrous_oxide_mac_fraction: its own MAC; horse 2.04, derived [1], 1 to 3; no number at or below 0

    Source: additivity; horses with halothane, 25 % spare 12 %, 50 % spare 25 % (Steffey & Howland 1978,
    abstract).

    >>> round(nitrous_oxide_reduction_fraction(0.50, 2.04), 3)
    0.245
    """
    if nitrous_oxide_mac_fraction <= 0.0:
        return math.nan
    return max(nitrous_oxide_fraction, 0.0) / nitrous_oxide_mac_fraction


@formula
def mac_at_pressure_percent(mac_percent: float, barometric_pressure_mmhg: float) -> float:
    """Percentage an analyser must show at an ambient pressure for one MAC [%].

    mac_percent: MAC at 760 mmHg [%], 0.5 to 12
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800; no number at or below 0

    Source: MAC is a partial pressure (closed form).

    >>> round(mac_at_pressure_percent(1.30, 596.0), 2)
    1.66
    """
    if barometric_pressure_mmhg <= 0.0:
        return math.nan
    return mac_percent * STANDARD_PRESSURE_MMHG / barometric_pressure_mmhg


@formula
def agent_pressure_mmhg(agent_fraction: float, barometric_pressure_mmhg: float) -> float:
    """Partial pressure of an agent, as MAC is counted: fraction of ambient pressure [mmHg].

    agent_fraction: end-tidal, of dry gas [1], 0 to 0.2
    barometric_pressure_mmhg: ambient pressure [mmHg], 300 to 800

    Source: Dalton's law; water vapour is left out on both sides, as in published MACs.

    >>> round(agent_pressure_mmhg(0.013, 760.0), 2)
    9.88
    """
    return agent_fraction * barometric_pressure_mmhg


@formula
def mac_multiple(agent_pressure_mmhg: float, mac_percent: float) -> float:
    """Depth as a multiple of MAC, from the partial pressure of the agent [multiple].

    agent_pressure_mmhg: partial pressure, see the formula of that name [mmHg], 0 to 150
    mac_percent: MAC of this animal now, at 760 mmHg [%], 0.2 to 12; no number at or below 0

    Source: definition; multiples of several agents add up.

    >>> round(mac_multiple(9.88, 1.30), 6)
    1.0
    """
    if mac_percent <= 0.0:
        return math.nan
    return agent_pressure_mmhg / (mac_percent / 100.0 * STANDARD_PRESSURE_MMHG)

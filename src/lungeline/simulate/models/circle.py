"""The circle: what the absorber takes, what the reservoir adds, which gas the port breathes."""

import math

from lungeline.compiled import formula

BREAKTHROUGH_USED_FRACTION = 0.97
BREAKTHROUGH_WIDTH_FRACTION = 0.03


@formula
def absorber_efficiency(absorbed_l: float, capacity_l: float, bypass_fraction: float) -> float:
    """Share of the CO2 passing the absorber that it takes [1].

    absorbed_l: CO2 absorbed so far [L], 0 or more
    capacity_l: CO2 it can take [L], above 0
    bypass_fraction: share of gas that flows past it [1], 0 to 1

    Source: logistic breakthrough near exhaustion, a modelling choice; capacity from the figures.

    >>> round(absorber_efficiency(0.0, 600.0, 0.0), 6)
    1.0
    """
    used = absorbed_l / max(capacity_l, 1e-9)
    exponent = min((used - BREAKTHROUGH_USED_FRACTION) / BREAKTHROUGH_WIDTH_FRACTION, 60.0)
    return (1.0 - bypass_fraction) / (1.0 + math.exp(exponent))


@formula
def reservoir_pressure_cmh2o(content_l: float, capacity_l: float, bag_compliance_l_cmh2o: float) -> float:
    """Pressure of a reservoir filled past its capacity [cmH2O].

    content_l: gas in the reservoir [L]
    capacity_l: what it holds without stretching [L], above 0
    bag_compliance_l_cmh2o: compliance beyond capacity [L/cmH2O], above 0

    Source: linear elastic reservoir, a modelling choice.

    >>> reservoir_pressure_cmh2o(23.0, 20.0, 0.3)
    10.0
    """
    return max(0.0, content_l - capacity_l) / bag_compliance_l_cmh2o

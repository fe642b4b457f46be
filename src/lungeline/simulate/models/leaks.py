"""Flow through leaks, with the slope the time step needs."""

import math

from lungeline.compiled import formula

LINEAR_BELOW_CMH2O = 0.05


@formula
def leak_flow_l_s(pressure_cmh2o: float, coefficient: float, exponent: float) -> float:
    """Flow lost through a leak, coefficient * pressure ** exponent, linear near zero [L/s].

    pressure_cmh2o: pressure inside; below 0 air is drawn in [cmH2O]
    coefficient: flow at 1 cmH2O [L/s], 0 or more
    exponent: 0.5 one hole to 1 many fine gaps [1], 0.5 to 1

    Source: power law of leaks, with its infinite slope at zero removed.

    >>> leak_flow_l_s(25.0, 0.01, 0.5)
    0.05
    """
    if coefficient <= 0.0:
        return 0.0
    size = abs(pressure_cmh2o)
    if size < LINEAR_BELOW_CMH2O:
        return coefficient * math.pow(LINEAR_BELOW_CMH2O, exponent) * pressure_cmh2o / LINEAR_BELOW_CMH2O
    flow = coefficient * math.pow(size, exponent)
    return flow if pressure_cmh2o > 0.0 else -flow


@formula
def leak_slope_l_s_cmh2o(pressure_cmh2o: float, coefficient: float, exponent: float) -> float:
    """Slope of the leak over pressure [L/s/cmH2O].

    pressure_cmh2o: pressure inside [cmH2O]
    coefficient: flow at 1 cmH2O [L/s], 0 or more
    exponent: 0.5 to 1 [1], 0.5 to 1

    Source: derivative of `leak_flow_l_s`.

    >>> round(leak_slope_l_s_cmh2o(25.0, 0.01, 0.5), 6)
    0.001
    """
    if coefficient <= 0.0:
        return 0.0
    size = abs(pressure_cmh2o)
    if size < LINEAR_BELOW_CMH2O:
        return coefficient * math.pow(LINEAR_BELOW_CMH2O, exponent) / LINEAR_BELOW_CMH2O
    return coefficient * exponent * math.pow(size, exponent - 1.0)

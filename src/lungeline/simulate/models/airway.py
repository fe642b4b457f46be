"""Flow through tube and airways, and through leaks."""

import math

from lungeline.compiled import formula

LINEAR_BELOW_CMH2O = 0.05


@formula
def tube_flow_l_s(
    pressure_drop_cmh2o: float, laminar_cmh2o_s_l: float, turbulent_cmh2o_s2_l2: float
) -> float:
    """Flow that a pressure drop drives through a laminar and a turbulent part in series [L/s].

    pressure_drop_cmh2o: either sign [cmH2O]
    laminar_cmh2o_s_l: coefficient of flow [cmH2O·s/L], above 0
    turbulent_cmh2o_s2_l2: coefficient of flow squared [cmH2O·s²/L²], 0 or more

    Source: root of Rohrer's equation (Rohrer 1915, from memory), written so that nothing cancels.

    >>> round(tube_flow_l_s(0.325 + 0.055, 0.325, 0.055), 12)
    1.0
    """
    size = abs(pressure_drop_cmh2o)
    root = math.sqrt(laminar_cmh2o_s_l * laminar_cmh2o_s_l + 4.0 * turbulent_cmh2o_s2_l2 * size)
    return 2.0 * pressure_drop_cmh2o / (laminar_cmh2o_s_l + root)


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

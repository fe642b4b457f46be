"""How a passive lung empties, and the gas it keeps when there is too little time.

Volume is counted from the volume the lung rests at against the end-expiratory pressure that was set.
"""

import math

from lungeline.compiled import formula

LARGEST_EXPONENT = 500.0  # beyond, nothing is left to count
LARGEST_TRAPPED_L = 1e6
BISECTIONS = 60


@formula
def emptying_time_s(
    from_volume_l: float,
    to_volume_l: float,
    compliance_l_cmh2o: float,
    laminar_cmh2o_s_l: float,
    turbulent_cmh2o_s2_l2: float,
) -> float:
    """Time a passive lung needs to empty from one volume to another through a path with both terms [s].

    from_volume_l: above resting volume, at the start [L], 0 to 30
    to_volume_l: above resting volume, at the end [L], 0 to 30; infinite at 0, none unless below the first
    compliance_l_cmh2o: respiratory system [L/cmH2O], 0.01 to 2
    laminar_cmh2o_s_l: coefficient of flow, tube to bag [cmH2O·s/L], above 0 to 20
    turbulent_cmh2o_s2_l2: coefficient of flow squared [cmH2O·s²/L²], 0 to 5

    Source: V/C = K1 q + K2 q², integrated exactly (closed form).

    >>> round(emptying_time_s(2.718281828, 1.0, 0.5, 2.0, 0.0), 6)
    1.0
    """
    if to_volume_l >= from_volume_l:
        return 0.0
    if to_volume_l <= 0.0:
        return math.inf
    if compliance_l_cmh2o <= 0.0:
        return math.nan
    bend = 4.0 * turbulent_cmh2o_s2_l2 / compliance_l_cmh2o
    root_from = math.sqrt(laminar_cmh2o_s_l * laminar_cmh2o_s_l + bend * from_volume_l)
    root_to = math.sqrt(laminar_cmh2o_s_l * laminar_cmh2o_s_l + bend * to_volume_l)
    if root_to + laminar_cmh2o_s_l <= 0.0:
        return 0.0
    steady = math.log(from_volume_l / to_volume_l)
    turned = math.log((root_to + laminar_cmh2o_s_l) / (root_from + laminar_cmh2o_s_l))
    return compliance_l_cmh2o * (root_from - root_to + laminar_cmh2o_s_l * (steady + turned))


@formula
def trapped_volume_l(
    tidal_volume_l: float, resistance_cmh2o_s_l: float, compliance_l_cmh2o: float, expiratory_time_s: float
) -> float:
    """Gas that a breath leaves behind once breaths have settled, through a laminar path [L].

    tidal_volume_l: volume of each breath [L], 0.1 to 20
    resistance_cmh2o_s_l: all of the path the gas leaves by [cmH2O·s/L], 0 to 30
    compliance_l_cmh2o: respiratory system [L/cmH2O], 0.01 to 2
    expiratory_time_s: time to breathe out [s], above 0 to 60; infinite at 0

    Source: V0 exp(-t/RC) in a steady state (closed form).

    >>> round(trapped_volume_l(5.0, 6.0, 0.5, 3.5), 4)
    2.2611
    """
    if expiratory_time_s <= 0.0:
        return math.inf
    constant_s = resistance_cmh2o_s_l * compliance_l_cmh2o
    if expiratory_time_s > LARGEST_EXPONENT * constant_s:
        return 0.0
    return tidal_volume_l / math.expm1(expiratory_time_s / constant_s)


@formula
def trapped_volume_turbulent_l(
    tidal_volume_l: float,
    compliance_l_cmh2o: float,
    laminar_cmh2o_s_l: float,
    turbulent_cmh2o_s2_l2: float,
    expiratory_time_s: float,
) -> float:
    """Gas that a breath leaves behind once breaths have settled, through a path with both terms [L].

    tidal_volume_l: volume of each breath [L], 0.1 to 20
    compliance_l_cmh2o: respiratory system [L/cmH2O], 0.01 to 2
    laminar_cmh2o_s_l: coefficient of flow, tube to bag [cmH2O·s/L], above 0 to 20
    turbulent_cmh2o_s2_l2: coefficient of flow squared [cmH2O·s²/L²], 0 to 5
    expiratory_time_s: time to breathe out [s], above 0 to 60; infinite at 0

    Source: bisection on `emptying_time_s`.

    >>> round(trapped_volume_turbulent_l(5.0, 0.5, 6.0, 0.0, 3.5), 4)
    2.2611
    """
    if expiratory_time_s <= 0.0:
        return math.inf
    low, high = 0.0, 1.0
    while (
        high < LARGEST_TRAPPED_L
        and emptying_time_s(
            high + tidal_volume_l, high, compliance_l_cmh2o, laminar_cmh2o_s_l, turbulent_cmh2o_s2_l2
        )
        > expiratory_time_s
    ):
        high *= 2.0
    for _ in range(BISECTIONS):
        middle = 0.5 * (low + high)
        needed_s = emptying_time_s(
            middle + tidal_volume_l, middle, compliance_l_cmh2o, laminar_cmh2o_s_l, turbulent_cmh2o_s2_l2
        )
        if needed_s > expiratory_time_s:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@formula
def auto_peep_cmh2o(total_peep_cmh2o: float, peep_cmh2o: float) -> float:
    """End-expiratory pressure that nobody set [cmH2O].

    total_peep_cmh2o: from an end-expiratory hold [cmH2O], 0 to 60
    peep_cmh2o: set [cmH2O], 0 to 40

    Source: definition.

    >>> auto_peep_cmh2o(14.0, 10.0)
    4.0
    """
    return total_peep_cmh2o - peep_cmh2o


@formula
def auto_peep_from_volume_cmh2o(trapped_volume_l: float, compliance_l_cmh2o: float) -> float:
    """End-expiratory pressure that trapped gas makes [cmH2O].

    trapped_volume_l: gas left behind [L], 0 to 30
    compliance_l_cmh2o: respiratory system [L/cmH2O], 0.01 to 2; no number at or below 0

    Source: definition of compliance.

    >>> auto_peep_from_volume_cmh2o(2.0, 0.5)
    4.0
    """
    if compliance_l_cmh2o <= 0.0:
        return math.nan
    return trapped_volume_l / compliance_l_cmh2o

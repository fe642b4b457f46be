"""Times, flows and volumes of a machine breath. An inspiratory pause is counted apart from inspiration."""

import math

from lungeline.compiled import formula
from lungeline.physics.constants import SECONDS_PER_MINUTE


@formula
def breath_cycle_s(respiratory_rate_per_min: float) -> float:
    """Time from one breath to the next [s].

    respiratory_rate_per_min: rate [/min], 1 to 60; infinite at or below 0

    Source: definition.

    >>> breath_cycle_s(12.0)
    5.0
    """
    if respiratory_rate_per_min <= 0.0:
        return math.inf
    return SECONDS_PER_MINUTE / respiratory_rate_per_min


@formula
def expiratory_time_s(respiratory_rate_per_min: float, inspiratory_time_s: float, pause_s: float) -> float:
    """Time a breath leaves for expiration [s].

    respiratory_rate_per_min: rate [/min], 1 to 60; infinite at or below 0
    inspiratory_time_s: time of flow into the animal [s], 0.2 to 10
    pause_s: held after it [s], 0 to 10

    Source: definition; 0 where nothing is left.

    >>> expiratory_time_s(6.0, 2.5, 0.0)
    7.5
    """
    return max(breath_cycle_s(respiratory_rate_per_min) - inspiratory_time_s - pause_s, 0.0)


@formula
def inspiratory_expiratory_ratio(inspiratory_time_s: float, expiratory_time_s: float) -> float:
    """Time of inspiration, pause included, over that of expiration: 0.5 is written 1:2 [ratio].

    inspiratory_time_s: pause included [s], 0.2 to 20
    expiratory_time_s: time [s], above 0 to 60; infinite at or below 0

    Source: definition.

    >>> inspiratory_expiratory_ratio(2.0, 4.0)
    0.5
    """
    if expiratory_time_s <= 0.0:
        return math.inf
    return inspiratory_time_s / expiratory_time_s


@formula
def mean_inspiratory_flow_l_s(tidal_volume_l: float, inspiratory_time_s: float) -> float:
    """Flow that gives a volume in a time [L/s].

    tidal_volume_l: volume of the breath [L], 0.1 to 20
    inspiratory_time_s: time of flow into the animal [s], 0.2 to 10; no number at or below 0

    Source: volume over time.

    >>> mean_inspiratory_flow_l_s(6.5, 2.5)
    2.6
    """
    if inspiratory_time_s <= 0.0:
        return math.nan
    return tidal_volume_l / inspiratory_time_s


@formula
def inspiratory_time_for_flow_s(tidal_volume_l: float, flow_l_s: float) -> float:
    """Time a flow needs to give a volume [s].

    tidal_volume_l: volume of the breath [L], 0.1 to 20
    flow_l_s: into the animal [L/s], above 0 to 15; infinite at or below 0

    Source: volume over flow.

    >>> inspiratory_time_for_flow_s(1.0, 2.0)
    0.5
    """
    if flow_l_s <= 0.0:
        return math.inf
    return tidal_volume_l / flow_l_s


@formula
def delivered_volume_l(flow_l_s: float, inspiratory_time_s: float) -> float:
    """Volume that a flow gives in a time [L].

    flow_l_s: into the animal [L/s], 0 to 15
    inspiratory_time_s: time of flow into the animal [s], 0.2 to 10

    Source: flow times time.

    >>> delivered_volume_l(0.5, 2.0)
    1.0
    """
    return flow_l_s * inspiratory_time_s


@formula
def minute_volume_l_min(tidal_volume_l: float, respiratory_rate_per_min: float) -> float:
    """Volume breathed in a minute [L/min].

    tidal_volume_l: volume of the breath [L], 0.1 to 20
    respiratory_rate_per_min: rate [/min], 0 to 60

    Source: definition.

    >>> minute_volume_l_min(6.5, 6.0)
    39.0
    """
    return tidal_volume_l * respiratory_rate_per_min


@formula
def square_mean_pressure_cmh2o(
    low_pressure_cmh2o: float, high_pressure_cmh2o: float, inspiratory_time_s: float, cycle_s: float
) -> float:
    """Mean airway pressure of breaths of square pressure [cmH2O].

    low_pressure_cmh2o: in expiration [cmH2O], 0 to 60
    high_pressure_cmh2o: in inspiration [cmH2O], 0 to 120
    inspiratory_time_s: pause included [s], 0 to 20
    cycle_s: one breath [s], 0.5 to 60; no number at or below 0

    Source: mean over time.

    >>> round(square_mean_pressure_cmh2o(5.0, 25.0, 2.5, 7.5), 3)
    11.667
    """
    if cycle_s <= 0.0:
        return math.nan
    return low_pressure_cmh2o + (high_pressure_cmh2o - low_pressure_cmh2o) * inspiratory_time_s / cycle_s

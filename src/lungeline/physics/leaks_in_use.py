"""What a leak found in a test costs while an animal is ventilated.

A breath is drawn in one of two shapes: square, the high pressure all through inspiration, or ramp, rising
evenly to it. In expiration the low pressure holds. Only what leaks in inspiration is lost from the breath.
"""

import math

from lungeline.compiled import formula
from lungeline.physics.constants import SECONDS_PER_MINUTE
from lungeline.physics.leaks import leak_ml_min

STEADY_WITHIN_FRACTION = (
    1e-5  # a rise this small is taken at its middle, where the difference would lose digits
)


@formula
def ramp_leak_ml_min(
    low_pressure_cmh2o: float,
    high_pressure_cmh2o: float,
    test_leak_ml_min: float,
    test_pressure_cmh2o: float,
    leak_exponent_number: float,
) -> float:
    """Mean leak while pressure rises evenly [mL/min].

    low_pressure_cmh2o: at the start [cmH2O], 0 to 60
    high_pressure_cmh2o: at the end [cmH2O], 0 to 120
    test_leak_ml_min: leak at the test pressure [mL/min], 0 to 20000
    test_pressure_cmh2o: at which it was measured [cmH2O], 1 to 60; no number at or below 0
    leak_exponent_number: 0.5 one hole, 1 many fine gaps [1], 0.5 to 1

    Source: integral of the power law (closed form).

    >>> round(ramp_leak_ml_min(0.0, 25.0, 250.0, 30.0, 1.0), 2)
    104.17
    """
    rise = high_pressure_cmh2o - low_pressure_cmh2o
    if abs(rise) <= STEADY_WITHIN_FRACTION * abs(high_pressure_cmh2o):
        middle = low_pressure_cmh2o + 0.5 * rise
        return leak_ml_min(middle, test_leak_ml_min, test_pressure_cmh2o, leak_exponent_number)
    at_low = leak_ml_min(low_pressure_cmh2o, test_leak_ml_min, test_pressure_cmh2o, leak_exponent_number)
    at_high = leak_ml_min(high_pressure_cmh2o, test_leak_ml_min, test_pressure_cmh2o, leak_exponent_number)
    area = at_high * high_pressure_cmh2o - at_low * low_pressure_cmh2o
    return area / ((leak_exponent_number + 1.0) * rise)


@formula
def breath_leak_ml_min(
    inspiratory_leak_ml_min: float,
    expiratory_leak_ml_min: float,
    inspiratory_time_s: float,
    cycle_s: float,
) -> float:
    """Mean leak over a breath [mL/min].

    inspiratory_leak_ml_min: mean of inspiration, pause included [mL/min], 0 to 50000
    expiratory_leak_ml_min: mean of expiration [mL/min], 0 to 50000
    inspiratory_time_s: pause included [s], 0 to 20
    cycle_s: one breath [s], 0.5 to 60; no number at or below 0

    Source: mean over time.

    >>> breath_leak_ml_min(300.0, 60.0, 2.5, 7.5)
    140.0
    """
    if cycle_s <= 0.0:
        return math.nan
    share = inspiratory_time_s / cycle_s
    return inspiratory_leak_ml_min * share + expiratory_leak_ml_min * (1.0 - share)


@formula
def square_breath_leak_ml_min(
    low_pressure_cmh2o: float,
    high_pressure_cmh2o: float,
    inspiratory_time_s: float,
    cycle_s: float,
    test_leak_ml_min: float,
    test_pressure_cmh2o: float,
    leak_exponent_number: float,
) -> float:
    """Mean leak over breaths of square pressure [mL/min].

    low_pressure_cmh2o: in expiration [cmH2O], 0 to 60
    high_pressure_cmh2o: in inspiration [cmH2O], 0 to 120
    inspiratory_time_s: pause included [s], 0 to 20
    cycle_s: one breath [s], 0.5 to 60; no number at or below 0
    test_leak_ml_min: leak at the test pressure [mL/min], 0 to 20000
    test_pressure_cmh2o: at which it was measured [cmH2O], 1 to 60; no number at or below 0
    leak_exponent_number: 0.5 one hole, 1 many fine gaps [1], 0.5 to 1

    Source: power law, mean over time (closed form).

    >>> round(square_breath_leak_ml_min(0.0, 25.0, 2.5, 7.5, 250.0, 30.0, 1.0), 2)
    69.44
    """
    low = leak_ml_min(low_pressure_cmh2o, test_leak_ml_min, test_pressure_cmh2o, leak_exponent_number)
    high = leak_ml_min(high_pressure_cmh2o, test_leak_ml_min, test_pressure_cmh2o, leak_exponent_number)
    return breath_leak_ml_min(high, low, inspiratory_time_s, cycle_s)


@formula
def ramp_breath_leak_ml_min(
    low_pressure_cmh2o: float,
    high_pressure_cmh2o: float,
    inspiratory_time_s: float,
    cycle_s: float,
    test_leak_ml_min: float,
    test_pressure_cmh2o: float,
    leak_exponent_number: float,
) -> float:
    """Mean leak over breaths whose pressure rises evenly in inspiration [mL/min].

    low_pressure_cmh2o: in expiration [cmH2O], 0 to 60
    high_pressure_cmh2o: at the end of inspiration [cmH2O], 0 to 120
    inspiratory_time_s: without a pause [s], 0 to 20
    cycle_s: one breath [s], 0.5 to 60; no number at or below 0
    test_leak_ml_min: leak at the test pressure [mL/min], 0 to 20000
    test_pressure_cmh2o: at which it was measured [cmH2O], 1 to 60; no number at or below 0
    leak_exponent_number: 0.5 one hole, 1 many fine gaps [1], 0.5 to 1

    Source: power law, mean over time (closed form).

    >>> round(ramp_breath_leak_ml_min(0.0, 25.0, 2.5, 7.5, 250.0, 30.0, 0.5), 2)
    50.72
    """
    low = leak_ml_min(low_pressure_cmh2o, test_leak_ml_min, test_pressure_cmh2o, leak_exponent_number)
    rising = ramp_leak_ml_min(
        low_pressure_cmh2o, high_pressure_cmh2o, test_leak_ml_min, test_pressure_cmh2o, leak_exponent_number
    )
    return breath_leak_ml_min(rising, low, inspiratory_time_s, cycle_s)


@formula
def inspiratory_loss_ml(inspiratory_leak_ml_min: float, inspiratory_time_s: float) -> float:
    """Part of a tidal volume that leaks away [mL].

    inspiratory_leak_ml_min: mean of inspiration, by `leak_ml_min` or `ramp_leak_ml_min` [mL/min], 0 to 50000
    inspiratory_time_s: pause included [s], 0 to 20

    Source: flow times time.

    >>> round(inspiratory_loss_ml(250.0 * 25.0 / 30.0, 2.5), 3)
    8.681
    """
    return inspiratory_leak_ml_min * inspiratory_time_s / SECONDS_PER_MINUTE

"""A sealed system that loses pressure through a leak: the fall to expect, and the leak from a fall."""

import math

from lungeline.compiled import formula
from lungeline.physics.constants import SECONDS_PER_MINUTE
from lungeline.physics.leaks import leak_ml_min

LAMINAR_WITHIN_NUMBER = 1e-9  # an exponent this near to 1 is taken as 1, where the general form divides by 0


@formula
def leak_time_constant_min(
    compliance_ml_cmh2o: float, start_leak_ml_min: float, start_pressure_cmh2o: float
) -> float:
    """Time in which the leak of the start, if it went on, would empty what is stored [min].

    compliance_ml_cmh2o: gas, hoses and bag together [mL/cmH2O], 1 to 1000
    start_leak_ml_min: leak at the pressure of the start [mL/min], 0 to 20000; infinite at or below 0
    start_pressure_cmh2o: pressure of the start [cmH2O], 0 to 60

    Source: stored volume over flow (closed form); the time constant of the fall where the leak is laminar.

    >>> round(leak_time_constant_min(48.392, 300.0, 30.0), 3)
    4.839
    """
    if start_leak_ml_min <= 0.0:
        return math.inf
    return compliance_ml_cmh2o * start_pressure_cmh2o / start_leak_ml_min


@formula
def decay_pressure_cmh2o(
    start_pressure_cmh2o: float,
    elapsed_s: float,
    compliance_ml_cmh2o: float,
    test_leak_ml_min: float,
    test_pressure_cmh2o: float,
    leak_exponent_number: float,
) -> float:
    """Pressure of a sealed system some time after it was closed [cmH2O].

    start_pressure_cmh2o: when it was closed [cmH2O], 0 to 60
    elapsed_s: since then [s], 0 to 3600
    compliance_ml_cmh2o: gas, hoses and bag together [mL/cmH2O], 1 to 1000; no number at or below 0
    test_leak_ml_min: leak at the test pressure [mL/min], 0 to 20000
    test_pressure_cmh2o: at which it was measured [cmH2O], 1 to 60; no number at or below 0
    leak_exponent_number: 0.5 one hole, 1 many fine gaps [1], 0.5 to 1

    Source: C dP/dt = -L(P) for a power law (closed form): exponential where laminar, a parabola for one hole.

    >>> round(30.0 - decay_pressure_cmh2o(30.0, 10.0, 48.4, 300.0, 30.0, 1.0), 3)
    1.015
    """
    if compliance_ml_cmh2o <= 0.0 or test_pressure_cmh2o <= 0.0:
        return math.nan
    if start_pressure_cmh2o <= 0.0:
        return 0.0
    start_leak = leak_ml_min(
        start_pressure_cmh2o, test_leak_ml_min, test_pressure_cmh2o, leak_exponent_number
    )
    constants = elapsed_s * start_leak / (SECONDS_PER_MINUTE * compliance_ml_cmh2o * start_pressure_cmh2o)
    bend = 1.0 - leak_exponent_number
    if abs(bend) < LAMINAR_WITHIN_NUMBER:
        return start_pressure_cmh2o * math.exp(-constants)
    if bend * constants >= 1.0:
        return 0.0
    return start_pressure_cmh2o * math.exp(math.log1p(-bend * constants) / bend)


@formula
def mean_decay_leak_ml_min(
    compliance_ml_cmh2o: float, start_pressure_cmh2o: float, end_pressure_cmh2o: float, elapsed_s: float
) -> float:
    """Mean leak while a sealed system fell from one pressure to another, whatever its law [mL/min].

    compliance_ml_cmh2o: gas, hoses and bag together [mL/cmH2O], 1 to 1000
    start_pressure_cmh2o: at first [cmH2O], -1000 to 60
    end_pressure_cmh2o: at last; above the first, gas came in [cmH2O], -1000 to 60
    elapsed_s: time between [s], above 0 to 3600; no number at or below 0

    Source: mass balance (closed form).

    >>> round(mean_decay_leak_ml_min(48.392, 30.0, 27.0, 30.0), 2)
    290.35
    """
    if elapsed_s <= 0.0:
        return math.nan
    fall_cmh2o_s = (start_pressure_cmh2o - end_pressure_cmh2o) / elapsed_s
    return SECONDS_PER_MINUTE * compliance_ml_cmh2o * fall_cmh2o_s


@formula
def decay_leak_ml_min(
    reference_pressure_cmh2o: float,
    start_pressure_cmh2o: float,
    end_pressure_cmh2o: float,
    elapsed_s: float,
    compliance_ml_cmh2o: float,
    leak_exponent_number: float,
) -> float:
    """Leak at a reference pressure, from the fall of a sealed system [mL/min].

    reference_pressure_cmh2o: for which the leak is wanted [cmH2O], 1 to 60
    start_pressure_cmh2o: at first [cmH2O], above 0 to 60; no number at or below 0
    end_pressure_cmh2o: at last, not yet empty [cmH2O], above 0 to 60; no number at or below 0
    elapsed_s: time between [s], above 0 to 3600; no number at or below 0
    compliance_ml_cmh2o: gas, hoses and bag together [mL/cmH2O], 1 to 1000
    leak_exponent_number: 0.5 one hole, 1 many fine gaps [1], 0.5 to 1

    Source: `decay_pressure_cmh2o`, solved for the leak (closed form).

    >>> round(decay_leak_ml_min(30.0, 30.0, 27.0, 30.0, 48.392, 1.0), 2)
    305.92
    >>> round(decay_leak_ml_min(30.0, 30.0, 27.0, 30.0, 48.392, 0.5), 2)
    298.0
    """
    if elapsed_s <= 0.0 or start_pressure_cmh2o <= 0.0 or end_pressure_cmh2o <= 0.0:
        return math.nan
    bend = 1.0 - leak_exponent_number
    fall = math.log(start_pressure_cmh2o / end_pressure_cmh2o)
    if abs(bend) >= LAMINAR_WITHIN_NUMBER:
        fall = math.expm1(bend * fall) / bend
    falls_per_min = SECONDS_PER_MINUTE * fall / elapsed_s
    end_leak = compliance_ml_cmh2o * end_pressure_cmh2o * falls_per_min
    return leak_ml_min(reference_pressure_cmh2o, end_leak, end_pressure_cmh2o, leak_exponent_number)


@formula
def empty_time_min(
    start_pressure_cmh2o: float,
    compliance_ml_cmh2o: float,
    test_leak_ml_min: float,
    test_pressure_cmh2o: float,
    leak_exponent_number: float,
) -> float:
    """Time in which a sealed system falls to ambient pressure [min].

    start_pressure_cmh2o: when it was closed [cmH2O], 0 to 60
    compliance_ml_cmh2o: gas, hoses and bag together [mL/cmH2O], 1 to 1000
    test_leak_ml_min: leak at the test pressure [mL/min], 0 to 20000; infinite at or below 0
    test_pressure_cmh2o: at which it was measured [cmH2O], 1 to 60; no number at or below 0
    leak_exponent_number: 0.5 one hole, 1 many fine gaps [1], 0.5 to 1; infinite at 1

    Source: zero of `decay_pressure_cmh2o` (closed form).

    >>> round(empty_time_min(30.0, 48.392, 300.0, 30.0, 0.5), 3)
    9.678
    """
    if test_pressure_cmh2o <= 0.0:
        return math.nan
    if start_pressure_cmh2o <= 0.0:
        return 0.0
    bend = 1.0 - leak_exponent_number
    if bend < LAMINAR_WITHIN_NUMBER:
        return math.inf
    start_leak = leak_ml_min(
        start_pressure_cmh2o, test_leak_ml_min, test_pressure_cmh2o, leak_exponent_number
    )
    return leak_time_constant_min(compliance_ml_cmh2o, start_leak, start_pressure_cmh2o) / bend

"""Leaks: the law of one, and how it is found from a test. Flow goes with pressure to a power.

The exponent is 1 for many fine gaps (laminar) and 0.5 for one hole (orifice). A leak is stated by its flow at
a test pressure. Gas leaks out at ambient pressure, so nothing has to be corrected for that.
"""

import math

from lungeline.compiled import formula


@formula
def leak_ml_min(
    pressure_cmh2o: float,
    test_leak_ml_min: float,
    test_pressure_cmh2o: float,
    leak_exponent_number: float,
) -> float:
    """Leak at a pressure; below ambient, air drawn in, negative [mL/min].

    pressure_cmh2o: pressure inside [cmH2O], -50 to 120
    test_leak_ml_min: leak at the test pressure [mL/min], 0 to 20000
    test_pressure_cmh2o: at which it was measured [cmH2O], 1 to 60; no number at or below 0
    leak_exponent_number: 0.5 one hole, 1 many fine gaps [1], 0.5 to 1

    Source: power law of leaks (closed form).

    >>> round(leak_ml_min(20.0, 300.0, 30.0, 0.5), 1)
    244.9
    """
    if test_pressure_cmh2o <= 0.0:
        return math.nan
    size: float = (abs(pressure_cmh2o) / test_pressure_cmh2o) ** leak_exponent_number
    # a leak that was measured as less than none stays so: its sign is the reader's, not ours to mend
    return test_leak_ml_min * math.copysign(size, pressure_cmh2o)


@formula
def leak_exponent_number(
    first_leak_ml_min: float,
    first_pressure_cmh2o: float,
    second_leak_ml_min: float,
    second_pressure_cmh2o: float,
) -> float:
    """Exponent of a leak measured at two pressures [1].

    first_leak_ml_min: leak at the first pressure [mL/min], above 0 to 20000
    first_pressure_cmh2o: first pressure [cmH2O], above 0 to 60
    second_leak_ml_min: leak at the second pressure [mL/min], above 0 to 20000
    second_pressure_cmh2o: second pressure, another than the first [cmH2O], above 0 to 60; else no number

    Source: power law of leaks, solved (closed form).

    >>> round(leak_exponent_number(300.0, 30.0, 245.0, 20.0), 4)
    0.4995
    """
    if min(first_leak_ml_min, second_leak_ml_min, first_pressure_cmh2o, second_pressure_cmh2o) <= 0.0:
        return math.nan
    if first_pressure_cmh2o == second_pressure_cmh2o:
        return math.nan
    return math.log(first_leak_ml_min / second_leak_ml_min) / math.log(
        first_pressure_cmh2o / second_pressure_cmh2o
    )


@formula
def held_leak_ml_min(flow_ml_min: float, compliance_ml_cmh2o: float, drift_cmh2o_min: float) -> float:
    """Leak by the flow that just holds a pressure [mL/min].

    flow_ml_min: by the flowmeter [mL/min], 0 to 20000
    compliance_ml_cmh2o: gas, hoses and bag together [mL/cmH2O], 1 to 1000
    drift_cmh2o_min: rise of the pressure that is left, 0 when it holds [cmH2O/min], -10 to 10

    Source: mass balance (closed form); the method is that of ASTM F1205, clause 7.

    >>> held_leak_ml_min(300.0, 48.4, 0.0)
    300.0
    """
    return flow_ml_min - compliance_ml_cmh2o * drift_cmh2o_min


@formula
def rise_and_fall_leak_ml_min(flow_ml_min: float, rise_cmh2o_min: float, fall_cmh2o_min: float) -> float:
    """Leak by the speeds at which pressure rises with a flow and falls without it, at one pressure [mL/min].

    flow_ml_min: flow while it rises [mL/min], above 0 to 20000
    rise_cmh2o_min: speed of the rise [cmH2O/min], above 0 to 1000
    fall_cmh2o_min: speed of the fall, counted positive [cmH2O/min], 0 to 1000; no number where both are 0

    Source: mass balance, twice (closed form); the compliance need not be known.

    >>> round(rise_and_fall_leak_ml_min(2000.0, 20.0, 4.0), 2)
    333.33
    """
    if rise_cmh2o_min + fall_cmh2o_min <= 0.0:
        return math.nan
    return flow_ml_min * fall_cmh2o_min / (rise_cmh2o_min + fall_cmh2o_min)


@formula
def rise_and_fall_compliance_ml_cmh2o(
    flow_ml_min: float, rise_cmh2o_min: float, fall_cmh2o_min: float
) -> float:
    """Compliance by the speeds at which pressure rises with a flow and falls without it [mL/cmH2O].

    flow_ml_min: flow while it rises [mL/min], above 0 to 20000
    rise_cmh2o_min: speed of the rise [cmH2O/min], above 0 to 1000
    fall_cmh2o_min: speed of the fall, counted positive [cmH2O/min], 0 to 1000; no number where both are 0

    Source: mass balance, twice (closed form).

    >>> round(rise_and_fall_compliance_ml_cmh2o(2000.0, 20.0, 4.0), 2)
    83.33
    """
    if rise_cmh2o_min + fall_cmh2o_min <= 0.0:
        return math.nan
    return flow_ml_min / (rise_cmh2o_min + fall_cmh2o_min)

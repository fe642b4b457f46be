"""A leak test out of a pressure trace."""

from lungeline.check.circuit import Circuit
from lungeline.check.leak_found import LeakTest
from lungeline.check.pressure_decay import DecayLook, pressure_decay
from lungeline.check.readings import Instruments
from lungeline.check.rise_and_fall import RiseAndFall, rise_and_fall
from lungeline.check.trace_file import Trace
from lungeline.check.trace_line import (
    LEAST_PRESSURE_CMH2O,
    WHOLE,
    Part,
    fall_line,
    points_between,
    rise_line,
    top_of_s,
)
from lungeline.check.warmth import Filling


def decay_of_trace(
    trace: Trace, circuit: Circuit, part: Part = WHOLE, of_interest_ml_min: float | None = None
) -> LeakTest:
    """Return the leak by the fall in a trace.

    Raises InputError for a trace that shows no fall of a plugged circle, with what it shows instead.
    """
    line = fall_line(trace, part)
    look = DecayLook(
        circuit=circuit,
        start_cmh2o=line.from_cmh2o,
        end_cmh2o=min(line.to_cmh2o, line.from_cmh2o),
        seconds_s=line.seconds_s,
        at_pressure_cmh2o=part.at_pressure_cmh2o,
        leak_exponent_number=part.leak_exponent_number,
        filling=_filling(trace, top_of_s(trace), line.from_s),
        instruments=_instruments(trace, line.error_cmh2o),
    )
    return pressure_decay(look, of_interest_ml_min)


def rise_and_fall_of_trace(trace: Trace, flow_l_min: float, circuit: Circuit, part: Part = WHOLE) -> LeakTest:
    """Return leak and compliance by the rise with a known flow and the fall after it, both in one trace."""
    top_s = top_of_s(trace)
    fall = fall_line(trace, part)
    rise = rise_line(trace, top_s)
    test = RiseAndFall(
        flow_l_min=flow_l_min,
        rise_from_cmh2o=max(rise.from_cmh2o, 0.0),
        rise_to_cmh2o=rise.to_cmh2o,
        rise_s=rise.seconds_s,
        fall_from_cmh2o=fall.from_cmh2o,
        fall_to_cmh2o=min(fall.to_cmh2o, fall.from_cmh2o),
        fall_s=fall.seconds_s,
        waited_s=max(fall.from_s - top_s, 0.0),
        at_pressure_cmh2o=part.at_pressure_cmh2o,
        leak_exponent_number=part.leak_exponent_number,
        circuit=circuit,
        instruments=_instruments(trace, max(rise.error_cmh2o, fall.error_cmh2o)),
    )
    return rise_and_fall(test)


def _filling(trace: Trace, top_s: float, from_s: float) -> Filling:
    """Return how the circle was filled, as the trace shows it."""
    before = [(at, value) for at, value in points_between(trace, 0.0, top_s) if value > 1.0]
    fill_s = top_s - before[0][0] if before else 0.0
    return Filling(
        fill_s=fill_s if fill_s > trace.usual_interval_s else None, waited_s=max(from_s - top_s, 0.0)
    )


def _instruments(trace: Trace, error_cmh2o: float) -> Instruments:
    # a gauge that shows steps keeps a quarter of one, however many points lie on the line
    return Instruments(
        needle_step_cmh2o=trace.step_cmh2o / 4.0 if error_cmh2o < trace.step_cmh2o else 0.0,
        needle_noise_cmh2o=min(error_cmh2o, LEAST_PRESSURE_CMH2O),
        timing_s=min(trace.usual_interval_s / 2.0, 5.0),
    )

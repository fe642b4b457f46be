"""Leak by the flow that just holds a pressure: steady, the flowmeter reads the leak, whatever is stored."""

import math
from dataclasses import dataclass, field, replace

from lungeline.case import Finding, Reasoned
from lungeline.case.checks import check_record
from lungeline.case.fields import number
from lungeline.check.circuit import Circuit, log_between
from lungeline.check.leak_found import (
    LeakTest,
    about_the_circuit,
    leak_number,
    limit_number,
    look_needed_s,
    not_seen,
)
from lungeline.check.leak_law import exponent
from lungeline.check.limits import leak_of_interest_ml_min
from lungeline.check.readings import ML_PER_L, Instruments
from lungeline.check.uncertainty import DRAWS, each_draw, even, spread_of
from lungeline.check.warmth import Filling, cooling_time_s, lent_cmh2o
from lungeline.errors import InputError
from lungeline.physics.constants import SECONDS_PER_MINUTE
from lungeline.physics.leaks import held_leak_ml_min, leak_ml_min
from lungeline.reference import figure

_LEAST_CMH2O = 0.05
_FEWEST_LEFT = DRAWS // 20  # fewer draws than this that fit a bracket mean that it contradicts the flow
_LONGEST_LOOK_S = 600.0
_SEEN_SHARE = 0.5  # of the needle's width: a movement that is called one


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldFlow:
    """A flow at which the needle stands, and those at which it is seen to rise and to fall.

    pressure_cmh2o: that is held; flow_l_min: by the flowmeter.
    rises_at_l_min, falls_at_l_min: flows at which the needle moved within the look, None if not tried.
    look_s: how long the needle was watched at each flow.
    """

    pressure_cmh2o: float = field(metadata=number(1, 100, "pressure held"))
    flow_l_min: float = field(metadata=number(0, 100, "flow that holds it"))
    rises_at_l_min: float | None = field(default=None, metadata=number(0, 100, "flow at which it rises"))
    falls_at_l_min: float | None = field(default=None, metadata=number(0, 100, "flow at which it falls"))
    look_s: float = field(
        default_factory=lambda: figure("leak_test.look_s").value, metadata=number(1, 3600, "time watched")
    )
    leak_exponent_number: float | None = field(default=None, metadata=number(0.5, 1, "law of the leak"))
    filling: Filling = field(default_factory=Filling)
    circuit: Circuit = field(default_factory=Circuit)
    instruments: Instruments = field(default_factory=Instruments)
    reading: str = "held"

    def __post_init__(self) -> None:
        """Refuse flows that contradict each other."""
        check_record(self, "compensating")
        low, high = self.falls_at_l_min, self.rises_at_l_min
        if (low is not None and low > self.flow_l_min) or (high is not None and high < self.flow_l_min):
            raise InputError(
                where="compensating.flow_l_min",
                given=f"{self.flow_l_min:g}, falls at {low}, rises at {high}",
                allowed="a flow between that at which the needle falls and that at which it rises",
                do="Correct the flow that was misread.",
            )


def compensating_flow(test: HeldFlow, of_interest_ml_min: float | None = None) -> LeakTest:
    """Return the leak by the flow that holds the pressure.

    of_interest_ml_min: leak the test should be able to see; that of the project's limits where None.
    """
    interest = (
        leak_of_interest_ml_min(test.pressure_cmh2o) if of_interest_ml_min is None else of_interest_ml_min
    )
    drawn = held_draws(test)
    fitting = [leak for leak in drawn if not math.isnan(leak)]
    contradicts = len(fitting) < _FEWEST_LEFT
    spread = spread_of(held_leak(test), each_draw(lambda d: _leak(test, d)) if contradicts else fitting, 0.0)
    limit = _limit(test)
    findings = [
        *not_seen(spread, limit, interest, lambda: _needed_s(test, interest)),
        *(item for item in about_the_circuit(test.circuit) if item.code != "leak_test_bag_attached"),
        *_about_the_method(test, contradicts=contradicts),
    ]
    return LeakTest(
        method="compensating flow",
        leak=leak_number(spread, "flow that holds the pressure, less sample flow", _inputs(test)),
        at_pressure_cmh2o=test.pressure_cmh2o,
        detection_limit=limit,
        compliance=test.circuit.compliance(test.pressure_cmh2o),
        findings=tuple(findings),
    )


def held_leak(test: HeldFlow) -> float:
    """Return the leak by the readings as they stand [mL/min]."""
    flow = test.flow_l_min * ML_PER_L - test.circuit.sample_ml_min
    return flow - _cooling_ml_min(test, None)


def held_draws(test: HeldFlow) -> list[float]:
    """Return the leak in every draw, no number where the bracket forbids it [mL/min]."""
    return each_draw(lambda draw: _within_bracket(test, draw))


def _leak(test: HeldFlow, draw: int) -> float:
    """Return the leak at the pressure named, in one draw."""
    told, name = test.instruments, test.reading
    flow = told.flow_ml_min(test.flow_l_min, name, draw)
    leak = (
        flow - test.circuit.sample_ml_min - _drift_ml_min(test, name, 0.0, draw) - _cooling_ml_min(test, draw)
    )
    true_cmh2o = test.pressure_cmh2o - told.pressure_error_cmh2o(f"{name} first", draw)
    law = exponent(test.leak_exponent_number, draw)
    return leak / float(leak_ml_min(max(true_cmh2o, _LEAST_CMH2O), 1.0, test.pressure_cmh2o, law))


def _error(test: HeldFlow, draw: int) -> float:
    """Return what the method would make of a tight circle, in one draw: the error of each reading."""
    rounding = test.instruments.flow_step_l_min * ML_PER_L * (even(f"{test.reading} flow")[draw] - 0.5)
    cooling = _cooling_ml_min(test, draw) - _cooling_ml_min(test, None)
    return rounding - _drift_ml_min(test, test.reading, 0.0, draw) - cooling


def _within_bracket(test: HeldFlow, draw: int) -> float:
    leak, told = _leak(test, draw), test.instruments
    step = _SEEN_SHARE * told.needle_step_cmh2o
    taken = test.circuit.sample_ml_min + _cooling_ml_min(test, draw)
    if test.rises_at_l_min is not None:
        name = f"{test.reading} rising"
        flow = told.flow_ml_min(test.rises_at_l_min, name, draw)
        if leak > flow - taken - _drift_ml_min(test, name, step, draw):
            return math.nan
    if test.falls_at_l_min is not None:
        name = f"{test.reading} falling"
        flow = told.flow_ml_min(test.falls_at_l_min, name, draw)
        if leak < flow - taken - _drift_ml_min(test, name, -step, draw):
            return math.nan
    return leak


def _drift_ml_min(test: HeldFlow, name: str, seen_cmh2o: float, draw: int) -> float:
    """Return what goes into the store while the needle moves by what was seen, in one draw."""
    told = test.instruments
    hidden = told.pressure_error_cmh2o(f"{name} last", draw) - told.pressure_error_cmh2o(
        f"{name} first", draw
    )
    speed = (seen_cmh2o - hidden) / told.time_s(test.look_s, name, draw) * SECONDS_PER_MINUTE
    return -float(held_leak_ml_min(0.0, _store(test, draw), speed))


def _store(test: HeldFlow, draw: int | None) -> float:
    if test.circuit.known:
        return test.circuit.stored_ml_cmh2o(test.pressure_cmh2o, draw)
    guess = log_between("store", figure("leak_test.unknown_compliance_ml_cmh2o"), draw)
    bag = figure("leak_test.bag_compliance_ml_cmh2o")
    return guess + (log_between("bag", bag, draw) if test.circuit.bag_attached else 0.0)


def _cooling_ml_min(test: HeldFlow, draw: int | None) -> float:
    """Return the flow that only makes up for cooling of gas warmed by the filling."""
    times_s = test.filling.times_s(draw)
    if times_s is None:
        return 0.0
    fill_s, waited_s = times_s
    cooling_s = cooling_time_s(draw)
    courses = [(test.pressure_cmh2o / fill_s, fill_s), (0.0, waited_s)]
    first = lent_cmh2o(test.circuit, courses, cooling_s)
    last = lent_cmh2o(test.circuit, [(0.0, test.look_s)], cooling_s, first)
    return _store(test, draw) * (first - last) / test.look_s * SECONDS_PER_MINUTE


def _limit(test: HeldFlow) -> Reasoned:
    """Return the detection limit: by what the same test makes of a tight circle."""
    return limit_number(each_draw(lambda draw: _error(test, draw)))


def _needed_s(test: HeldFlow, interest_ml_min: float) -> float | None:
    """Return how long the needle must be watched, None where only a finer flowmeter would help."""
    return look_needed_s(
        lambda look_s: _limit(replace(test, look_s=min(look_s, _LONGEST_LOOK_S))).value or 0.0,
        test.look_s,
        interest_ml_min,
        _LONGEST_LOOK_S,
    )


def _about_the_method(test: HeldFlow, *, contradicts: bool) -> list[Finding]:
    found = []
    if contradicts:
        found.append(
            Finding(code="leak_test_bracket_contradicts", severity="caution", about="check.leak_ml_min")
        )
    if test.rises_at_l_min is None or test.falls_at_l_min is None:
        found.append(Finding(code="leak_test_not_bracketed", severity="advice", about="check.leak_ml_min"))
    if not test.circuit.known:
        found.append(Finding(code="leak_test_store_not_told", severity="note", about="circuit.volume_l"))
    return found


def _inputs(test: HeldFlow) -> dict[str, float | str | None]:
    names = ("pressure_cmh2o", "flow_l_min", "rises_at_l_min", "falls_at_l_min", "look_s")
    told: dict[str, float | str | None] = {name: getattr(test, name) for name in names}
    told["sample_flow_l_min"] = test.circuit.sample_flow_l_min
    return {**told, **test.instruments.as_inputs()}

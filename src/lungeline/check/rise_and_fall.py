"""Leak and compliance by a rise with a known flow and a fall without: nothing need be known before."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from lungeline.case import Reasoned
from lungeline.case.checks import check_record
from lungeline.case.fields import number, switch
from lungeline.check.circuit import Circuit
from lungeline.check.leak_found import (
    LeakTest,
    about_the_circuit,
    leak_number,
    limit_number,
    look_needed_s,
    not_seen,
    unless_still,
)
from lungeline.check.leak_law import Fall, exponent, leak_of_fall
from lungeline.check.limits import leak_of_interest_ml_min
from lungeline.check.needle import least_to_show, shows
from lungeline.check.pressure_decay import about_waiting
from lungeline.check.readings import ML_PER_L, Instruments
from lungeline.check.uncertainty import DRAWS, Spread, some_draws, spread_of
from lungeline.check.warmth import Filling, cooling_time_s, courses_of_fall, lent_cmh2o
from lungeline.errors import InputError
from lungeline.physics.constants import SECONDS_PER_MINUTE
from lungeline.physics.leaks import (
    leak_ml_min,
    rise_and_fall_compliance_ml_cmh2o,
    rise_and_fall_leak_ml_min,
)

_LEAST_CMH2O = 0.05
_ROUNDS = 3
_HALVINGS = 26  # of the span the compliance must lie in; leaves it to a part in a hundred million
_MOST_FALL_SHARE = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class RiseAndFall:
    """Two readings while pressure rises with one steady flow from nothing, two while it falls without.

    flow_l_min: by the flowmeter, during the rise.
    rise_from_cmh2o, rise_to_cmh2o, rise_s: the rise, as timed.
    fall_from_cmh2o, fall_to_cmh2o, fall_s: the fall, as timed, around the same pressure.
    waited_s: from the end of the rise to the first reading of the fall; None where nobody noted.
    held: whether a flow held the pressure while waiting.
    at_pressure_cmh2o: for which the leak is wanted, that of the first reading of the fall where None.
    """

    flow_l_min: float = field(metadata=number(0.01, 100, "flow"))
    rise_from_cmh2o: float = field(metadata=number(0, 100, "first pressure of the rise"))
    rise_to_cmh2o: float = field(metadata=number(0.1, 100, "last pressure of the rise"))
    rise_s: float = field(metadata=number(0.5, 3600, "time of the rise"))
    fall_from_cmh2o: float = field(metadata=number(0.1, 100, "first pressure of the fall"))
    fall_to_cmh2o: float = field(metadata=number(0, 100, "last pressure of the fall"))
    fall_s: float = field(metadata=number(0.5, 7200, "time of the fall"))
    waited_s: float | None = field(default=None, metadata=number(0, 3600, "time waited"))
    held: bool = field(default=False, metadata=switch("pressure held while waiting"))
    at_pressure_cmh2o: float | None = field(default=None, metadata=number(1, 100, "pressure of the leak"))
    leak_exponent_number: float | None = field(default=None, metadata=number(0.5, 1, "law of the leak"))
    circuit: Circuit = field(default_factory=Circuit)
    instruments: Instruments = field(default_factory=Instruments)

    def __post_init__(self) -> None:
        """Refuse readings nobody can have made."""
        check_record(self, "rise_fall")

    @property
    def at_cmh2o(self) -> float:
        """Pressure for which the leak is wanted."""
        return self.at_pressure_cmh2o if self.at_pressure_cmh2o is not None else self.fall_from_cmh2o

    @property
    def fall_middle_cmh2o(self) -> float:
        """Pressure half way of the fall."""
        return (self.fall_from_cmh2o + self.fall_to_cmh2o) / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """The readings as they stood in one draw."""

    flow_ml_min: float
    rise: tuple[float, float, float]
    fall: tuple[float, float, float]
    law: float
    waited_s: float | None
    cooling_s: float


def rise_and_fall(test: RiseAndFall, of_interest_ml_min: float | None = None) -> LeakTest:
    """Return leak and compliance by rise and fall.

    of_interest_ml_min: leak the test should be able to see; that of the project's limits where None.
    Raises InputError where pressure did not rise with the flow, or rose without.
    """
    interest = leak_of_interest_ml_min(test.at_cmh2o) if of_interest_ml_min is None else of_interest_ml_min
    _refuse_rubbish(test)
    leaks, stores = _drawn(test)
    leak, store = _leak_and_store(test, _read(test, None))
    spread, compliance = spread_of(leak, leaks, least=0.0), spread_of(store, stores, least=0.0)
    tight = test.fall_from_cmh2o - _still(test, store).fall_to_cmh2o
    moved = shows(test.fall_from_cmh2o - test.fall_to_cmh2o, tight, test.instruments)
    spread = unless_still(spread, moved=moved)
    limit = _limit(test, store)
    findings = [
        *not_seen(spread, limit, interest, lambda: _needed_s(test, store, interest)),
        *(item for item in about_the_circuit(test.circuit) if item.code != "leak_test_bag_attached"),
        *about_waiting(Filling(waited_s=test.waited_s)),
    ]
    return LeakTest(
        method="rise and fall",
        leak=leak_number(
            spread, "flow × fall ÷ (rise + fall), each by time and at one pressure", _inputs(test)
        ),
        at_pressure_cmh2o=test.at_cmh2o,
        detection_limit=limit,
        compliance=_compliance(compliance, test),
        others=_by_speeds(test),
        findings=tuple(findings),
    )


def _drawn(test: RiseAndFall) -> tuple[list[float], list[float]]:
    pairs = [_leak_and_store(test, _read(test, draw)) for draw in range(DRAWS)]
    return [leak for leak, _ in pairs], [store for _, store in pairs]


def _read(test: RiseAndFall, draw: int | None) -> _Read:
    """Return the readings as they were, or in one draw."""
    rise = (test.rise_from_cmh2o, test.rise_to_cmh2o, test.rise_s)
    fall = (test.fall_from_cmh2o, test.fall_to_cmh2o, test.fall_s)
    law = exponent(test.leak_exponent_number, draw)
    cooling_s = cooling_time_s(draw)
    if draw is None:
        return _Read(
            flow_ml_min=test.flow_l_min * ML_PER_L,
            rise=rise, fall=fall, law=law, waited_s=test.waited_s, cooling_s=cooling_s,
        )  # fmt: skip
    told = test.instruments
    times_s = Filling(waited_s=test.waited_s).times_s(draw)
    return _Read(
        flow_ml_min=told.flow_ml_min(test.flow_l_min, "rise", draw),
        rise=_off(told, rise, "rise", draw),
        fall=_off(told, fall, "fall", draw),
        law=law,
        waited_s=times_s[1] if times_s else None,
        cooling_s=cooling_s,
    )


def _off(
    told: Instruments, course: tuple[float, float, float], name: str, draw: int
) -> tuple[float, float, float]:
    """Return two pressures and a time as they stood behind the readings."""
    first, last, seconds_s = course
    return (
        max(first - told.pressure_error_cmh2o(f"{name} first", draw), _LEAST_CMH2O),
        max(last - told.pressure_error_cmh2o(f"{name} last", draw), _LEAST_CMH2O),
        told.time_s(seconds_s, name, draw),
    )


def _leak_and_store(test: RiseAndFall, read: _Read) -> tuple[float, float]:
    """Return leak [mL/min] at the pressure wanted and compliance [mL/cmH2O], by both mass balances."""
    (low, high, rise_s), (first, last, fall_s) = read.rise, read.fall
    rise, fall = _without_warmth(test, read)
    sample, at = test.circuit.sample_ml_min, test.at_cmh2o
    # what all that leaves in the fall would be at the pressure wanted, for each mL/cmH2O of the store
    fallen = Fall(start_cmh2o=first, fall_cmh2o=first - last, seconds_s=fall_s, by_leak_cmh2o=fall)
    leaves = leak_of_fall(fallen, at, 1.0, read.law)
    sample_as_leak = sample * float(leak_ml_min(at, 1.0, (first + last) / 2.0, read.law))
    points = [float(leak_ml_min(low + share * (high - low), 1.0, at, read.law)) for share in (0.0, 0.5, 1.0)]
    flow = read.flow_ml_min - sample
    lower, upper = 0.0, flow * rise_s / SECONDS_PER_MINUTE / max(rise, _LEAST_CMH2O)
    for _ in range(_HALVINGS):
        store = (lower + upper) / 2.0
        taken_s = SECONDS_PER_MINUTE * store * rise * _slowness(flow, store * leaves - sample_as_leak, points)
        lower, upper = (store, upper) if taken_s < rise_s else (lower, store)
    return upper * leaves - sample_as_leak, upper


def _slowness(flow_ml_min: float, leak: float, points: list[float]) -> float:
    """Return the time that a mL takes to be stored, mean over a rise by Simpson's rule [min/mL]."""
    left = [flow_ml_min - leak * point for point in points]
    if min(left) <= 0.0:
        return math.inf  # the leak would take all of the flow before the rise is over
    return (1.0 / left[0] + 4.0 / left[1] + 1.0 / left[2]) / 6.0


def _without_warmth(test: RiseAndFall, read: _Read) -> tuple[float, float]:
    """Return rise and fall less what warmth did to them; as read where nobody told how long was waited."""
    (low, high, rise_s), (first, last, fall_s) = read.rise, read.fall
    rise, fall = high - low, first - last
    if read.waited_s is None:
        return rise, fall
    for _ in range(_ROUNDS):
        up = max(rise, _LEAST_CMH2O) / rise_s
        whole = Fall(start_cmh2o=first, fall_cmh2o=first - last, seconds_s=fall_s, by_leak_cmh2o=fall)
        waiting = (
            [(0.0, read.waited_s)] if test.held else courses_of_fall(whole, read.law, -read.waited_s, 0.0)
        )
        lost = -sum(speed * seconds_s for speed, seconds_s in waiting)
        before = lent_cmh2o(test.circuit, [(up, low / up)], read.cooling_s)
        after = lent_cmh2o(test.circuit, [(up, rise_s)], read.cooling_s, before)
        top = max(first + lost, _LEAST_CMH2O)
        shut = lent_cmh2o(test.circuit, [(up, top / up), *waiting], read.cooling_s)
        falling = courses_of_fall(whole, read.law, 0.0, fall_s)
        end = lent_cmh2o(test.circuit, falling, read.cooling_s, shut)
        rise, fall = (high - low) - (after - before), (first - last) - (shut - end)
    return rise, fall


def _still(test: RiseAndFall, store_ml_cmh2o: float) -> RiseAndFall:
    """Return the same test as a tight circle would have shown it: no fall but by sample flow and warmth."""
    tight = replace(test, fall_to_cmh2o=test.fall_from_cmh2o)
    for _ in range(_ROUNDS):
        leak = _leak_and_store(tight, _read(tight, None))[0]
        fall = leak / SECONDS_PER_MINUTE * test.fall_s / store_ml_cmh2o
        tight = replace(tight, fall_to_cmh2o=max(tight.fall_to_cmh2o + fall, 0.0))
    return tight


def _needed_s(test: RiseAndFall, store_ml_cmh2o: float, interest_ml_min: float) -> float | None:
    """Return how long the fall must be timed for a leak of interest to show, None where it would not last."""
    longest_s = (
        _MOST_FALL_SHARE * test.fall_from_cmh2o * store_ml_cmh2o / interest_ml_min * SECONDS_PER_MINUTE
    )
    return look_needed_s(
        lambda fall_s: _limit(replace(test, fall_s=min(fall_s, longest_s)), store_ml_cmh2o).value or 0.0,
        test.fall_s,
        interest_ml_min,
        longest_s,
    )


def _limit(test: RiseAndFall, store_ml_cmh2o: float) -> Reasoned:
    """Return the detection limit: by what the same test makes of a tight circle."""
    still = _still(test, store_ml_cmh2o)
    of_nothing = _drawn(still)[0]
    return limit_number(of_nothing, _by_needle_ml_min(still, of_nothing))


def _by_needle_ml_min(still: RiseAndFall, of_nothing: Sequence[float]) -> float:
    """Return the smallest leak that moves the needle by enough. still: the test of a tight circle."""
    step = still.instruments.needle_step_cmh2o
    moved = min(step, still.fall_to_cmh2o / 2.0)
    if moved <= 0.0:
        return 0.0
    mark = replace(still, fall_to_cmh2o=still.fall_to_cmh2o - moved)
    more = ((draw, _leak_and_store(mark, _read(mark, draw))[0]) for draw in some_draws())
    of_a_step = [(leak - of_nothing[draw]) * step / moved for draw, leak in more]
    return least_to_show(of_a_step, still.fall_from_cmh2o - still.fall_to_cmh2o, still.instruments)


def _refuse_rubbish(test: RiseAndFall) -> None:
    if test.rise_to_cmh2o <= test.rise_from_cmh2o:
        raise InputError(
            where="rise_fall.rise_to_cmh2o",
            given=f"{test.rise_to_cmh2o:g} after {test.rise_from_cmh2o:g} cmH2O",
            allowed="a pressure that rises with the flow on",
            do="The leak takes all of that flow: raise it, or look for an open valve or port.",
        )
    step = test.instruments.needle_step_cmh2o
    if test.fall_to_cmh2o > test.fall_from_cmh2o + max(step, _LEAST_CMH2O):
        raise InputError(
            where="rise_fall.fall_to_cmh2o",
            given=f"{test.fall_to_cmh2o:g} after {test.fall_from_cmh2o:g} cmH2O",
            allowed="a pressure that falls or stands with the flow off",
            do="Shut every flow, flush and ventilator off, and repeat.",
        )


def _compliance(spread: Spread, test: RiseAndFall) -> Reasoned:
    return Reasoned(
        name="circuit.compliance_ml_cmh2o",
        value=spread.value,
        low=spread.low,
        high=spread.high,
        formula="flow ÷ (rise + fall), each by time",
        inputs=_inputs(test),
        basis="measured",
        sources=("case", "project-assumption"),
        note="Of everything that stood open: bag or bellows, hoses and gas.",
    )


def _by_speeds(test: RiseAndFall) -> tuple[Reasoned, ...]:
    """Return what the plain formulas say: both speeds taken at one pressure, gas at rest, no sample flow."""
    rise = (test.rise_to_cmh2o - test.rise_from_cmh2o) / test.rise_s * SECONDS_PER_MINUTE
    fall = (test.fall_from_cmh2o - test.fall_to_cmh2o) / test.fall_s * SECONDS_PER_MINUTE
    flow = test.flow_l_min * ML_PER_L
    found = {
        "by_speeds_leak_ml_min": rise_and_fall_leak_ml_min(flow, rise, fall),
        "by_speeds_compliance_ml_cmh2o": rise_and_fall_compliance_ml_cmh2o(flow, rise, fall),
    }
    return tuple(
        Reasoned(
            name=f"check.{name}",
            value=float(value),
            formula="flow × fall ÷ (rise + fall); flow ÷ (rise + fall)",
            inputs={"rise_cmh2o_min": rise, "fall_cmh2o_min": fall, "flow_ml_min": flow},
            sources=("project-arithmetic",),
        )
        for name, value in found.items()
    )


def _inputs(test: RiseAndFall) -> dict[str, float | str | None]:
    names = ("flow_l_min", "rise_from_cmh2o", "rise_to_cmh2o", "rise_s", "fall_from_cmh2o", "fall_to_cmh2o",
             "fall_s", "waited_s", "leak_exponent_number")  # fmt: skip
    return {**{name: getattr(test, name) for name in names}, **test.instruments.as_inputs()}

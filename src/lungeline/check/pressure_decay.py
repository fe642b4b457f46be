"""Leak by the fall of pressure with all gas off: needs the compliance, and patience on a large circle."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from lungeline.case import Finding, Reasoned
from lungeline.case.checks import check_record
from lungeline.case.fields import number
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
from lungeline.check.leak_law import LAMINAR_NUMBER, ORIFICE_NUMBER, Fall, exponent, leak_of_fall
from lungeline.check.limits import leak_of_interest_ml_min
from lungeline.check.needle import least_to_show, shows
from lungeline.check.readings import Instruments
from lungeline.check.uncertainty import each_draw, some_draws, spread_of
from lungeline.check.warmth import Filling, cooling_time_s, courses_of_fall, lent_cmh2o
from lungeline.errors import InputError
from lungeline.physics.constants import SECONDS_PER_MINUTE
from lungeline.physics.leak_decay import decay_leak_ml_min, mean_decay_leak_ml_min

_LEAST_LEFT_CMH2O = 0.05
_ROUNDS = 3  # the speed of the fall decides the warmth, and that the speed: settled after this many rounds
_MOST_FALL_SHARE = 0.8  # of the pressure; a look that needs more fall than this cannot be had
_RISES_BY = 3.0  # standard deviations beyond which a rise with no flow is no error of reading


@dataclass(frozen=True, slots=True, kw_only=True)
class DecayLook:
    """Two readings of a circle with all flow off.

    start_cmh2o, end_cmh2o: read at first and at last; seconds_s: time between.
    at_pressure_cmh2o: for which the leak is wanted, the first where None.
    leak_exponent_number: law of the leak where known.
    """

    circuit: Circuit
    start_cmh2o: float = field(metadata=number(1, 100, "pressure at first"))
    end_cmh2o: float = field(metadata=number(0, 100, "pressure at last"))
    seconds_s: float = field(metadata=number(1, 7200, "time between"))
    at_pressure_cmh2o: float | None = field(default=None, metadata=number(1, 100, "pressure of the leak"))
    leak_exponent_number: float | None = field(default=None, metadata=number(0.5, 1, "law of the leak"))
    filling: Filling = field(default_factory=Filling)
    instruments: Instruments = field(default_factory=Instruments)

    def __post_init__(self) -> None:
        """Refuse readings nobody can have made."""
        check_record(self, "decay")

    @property
    def at_cmh2o(self) -> float:
        """Pressure for which the leak is wanted."""
        return self.at_pressure_cmh2o if self.at_pressure_cmh2o is not None else self.start_cmh2o

    @property
    def middle_cmh2o(self) -> float:
        """Pressure half way."""
        return (self.start_cmh2o + self.end_cmh2o) / 2.0


def pressure_decay(look: DecayLook, of_interest_ml_min: float | None = None) -> LeakTest:
    """Return the leak by the fall of pressure.

    of_interest_ml_min: leak the test should be able to see; that of the project's limits where None.
    Raises InputError where pressure rose with all flow off, or nothing was left at the end.
    """
    interest = leak_of_interest_ml_min(look.at_cmh2o) if of_interest_ml_min is None else of_interest_ml_min
    look.circuit.stored_ml_cmh2o(look.middle_cmh2o)  # refuses a circle nobody knows anything of
    _refuse_rubbish(look)
    spread = spread_of(_leak(look, None), each_draw(lambda draw: _leak(look, draw)), least=0.0)
    tight = look.start_cmh2o - _end_if_tight_cmh2o(look)
    spread = unless_still(spread, moved=shows(look.start_cmh2o - look.end_cmh2o, tight, look.instruments))
    limit = _limit(look)
    findings = [
        *not_seen(spread, limit, interest, lambda: _needed_s(look, interest)),
        *about_the_circuit(look.circuit),
        *about_waiting(look.filling),
    ]
    return LeakTest(
        method="pressure decay",
        leak=leak_number(
            spread, "compliance × fall ÷ time, brought to the pressure of the test", _inputs(look)
        ),
        at_pressure_cmh2o=look.at_cmh2o,
        detection_limit=limit,
        exponent=_given_law(look),
        compliance=look.circuit.compliance(look.middle_cmh2o),
        others=_by_formula(look),
        findings=tuple(findings),
    )


def stored_fall_cmh2o(look: DecayLook, read: Fall, law: float, draw: int | None) -> float:
    """Return the fall less what warmth did to it: the part that gas left by."""
    times_s = look.filling.times_s(draw)
    if times_s is None:
        return read.fall_cmh2o
    fill_s, waited_s = times_s
    cooling_s = cooling_time_s(draw)
    stored, lent = read.fall_cmh2o, 0.0
    for _ in range(_ROUNDS):
        fall = replace(read, by_leak_cmh2o=stored)
        waiting = [(0.0, waited_s)] if look.filling.held else courses_of_fall(fall, law, -waited_s, 0.0)
        lost = -sum(speed * seconds_s for speed, seconds_s in waiting)
        filled = max(read.start_cmh2o - lent + lost, 0.0)
        lent = lent_cmh2o(look.circuit, [(filled / fill_s, fill_s), *waiting], cooling_s)
        falling = courses_of_fall(fall, law, 0.0, read.seconds_s)
        stored = read.fall_cmh2o - (lent - lent_cmh2o(look.circuit, falling, cooling_s, lent))
    return stored


def _leak(look: DecayLook, draw: int | None) -> float:
    """Return the leak at its middle, or in one draw."""
    start, end, seconds_s = look.start_cmh2o, look.end_cmh2o, look.seconds_s
    if draw is not None:
        start -= look.instruments.pressure_error_cmh2o("start", draw)
        end -= look.instruments.pressure_error_cmh2o("end", draw)
        seconds_s = look.instruments.time_s(seconds_s, "fall", draw)
    start = max(start, _LEAST_LEFT_CMH2O)
    law = exponent(look.leak_exponent_number, draw)
    fall = start - end
    read = Fall(start_cmh2o=start, fall_cmh2o=fall, seconds_s=seconds_s, by_leak_cmh2o=fall)
    compliance = look.circuit.stored_ml_cmh2o(look.middle_cmh2o, draw)
    stored = stored_fall_cmh2o(look, read, law, draw)
    stored -= look.circuit.sample_ml_min * seconds_s / SECONDS_PER_MINUTE / compliance
    return leak_of_fall(replace(read, by_leak_cmh2o=stored), look.at_cmh2o, compliance, law)


def _end_if_tight_cmh2o(look: DecayLook) -> float:
    """Return what the last reading would have been had nothing leaked."""
    drawn_off = look.circuit.sample_ml_min * look.seconds_s / SECONDS_PER_MINUTE
    end = look.start_cmh2o - drawn_off / look.circuit.stored_ml_cmh2o(look.middle_cmh2o)
    for _ in range(_ROUNDS):
        fall = look.start_cmh2o - end
        read = Fall(
            start_cmh2o=look.start_cmh2o, fall_cmh2o=fall, seconds_s=look.seconds_s, by_leak_cmh2o=fall
        )
        end += stored_fall_cmh2o(look, read, exponent(look.leak_exponent_number), None)
        end -= drawn_off / look.circuit.stored_ml_cmh2o(look.middle_cmh2o)
    return max(end, 0.0)


def _limit(look: DecayLook) -> Reasoned:
    """Return the detection limit: by what the same look makes of a tight circle."""
    still = replace(look, end_cmh2o=_end_if_tight_cmh2o(look))
    of_nothing = each_draw(lambda draw: _leak(still, draw))
    return limit_number(of_nothing, _by_needle_ml_min(still, of_nothing))


def _by_needle_ml_min(still: DecayLook, of_nothing: Sequence[float]) -> float:
    """Return the smallest leak that moves the needle by enough. still: the look at a tight circle."""
    step = still.instruments.needle_step_cmh2o
    moved = min(step, still.end_cmh2o / 2.0)
    if moved <= 0.0:
        return 0.0
    mark = replace(still, end_cmh2o=still.end_cmh2o - moved)
    of_a_step = [(_leak(mark, draw) - of_nothing[draw]) * step / moved for draw in some_draws()]
    return least_to_show(of_a_step, still.start_cmh2o - still.end_cmh2o, still.instruments)


def _needed_s(look: DecayLook, interest_ml_min: float) -> float | None:
    """Return how long a look must be for a leak of interest to show, None where pressure would not last."""
    store = look.circuit.stored_ml_cmh2o(look.middle_cmh2o)
    longest_s = _MOST_FALL_SHARE * look.start_cmh2o * store / interest_ml_min * SECONDS_PER_MINUTE
    return look_needed_s(
        lambda seconds_s: _limit(replace(look, seconds_s=min(seconds_s, longest_s))).value or 0.0,
        look.seconds_s,
        interest_ml_min,
        longest_s,
    )


def _refuse_rubbish(look: DecayLook) -> None:
    told = look.instruments
    error = (told.needle_step_cmh2o**2 / 12.0 + told.needle_noise_cmh2o**2) ** 0.5 * 2.0**0.5
    if look.end_cmh2o - look.start_cmh2o > max(_RISES_BY * error, _LEAST_LEFT_CMH2O):
        raise InputError(
            where="decay.end_cmh2o",
            given=f"{look.end_cmh2o:g} after {look.start_cmh2o:g} cmH2O",
            allowed="a pressure that falls or stands with all flow off",
            do="Shut every flow, flush and ventilator off, let the gas take the room's warmth, and repeat.",
        )
    if look.end_cmh2o <= 0.0:
        raise InputError(
            where="decay.end_cmh2o",
            given=look.end_cmh2o,
            allowed="a pressure above 0: an empty circle does not tell when it became empty",
            do="Read again sooner, or find the flow that holds the pressure.",
        )


def about_waiting(filling: Filling) -> list[Finding]:
    """Return what must be said where nobody told how long was waited."""
    if filling.waited_s is not None:
        return []
    return [Finding(code="leak_test_wait_not_told", severity="note", about="filling.waited_s")]


def _given_law(look: DecayLook) -> Reasoned | None:
    if look.leak_exponent_number is None:
        return None
    return Reasoned(
        name="check.leak_exponent_number",
        value=look.leak_exponent_number,
        formula="as given",
        sources=("case",),
    )


def _inputs(look: DecayLook) -> dict[str, float | str | None]:
    return {
        "start_cmh2o": look.start_cmh2o,
        "end_cmh2o": look.end_cmh2o,
        "seconds_s": look.seconds_s,
        "compliance_ml_cmh2o": look.circuit.stored_ml_cmh2o(look.middle_cmh2o),
        "fill_s": look.filling.fill_s,
        "waited_s": look.filling.waited_s,
        "leak_exponent_number": exponent(look.leak_exponent_number),
        "sample_flow_l_min": look.circuit.sample_flow_l_min,
        **look.instruments.as_inputs(),
    }


def _by_formula(look: DecayLook) -> tuple[Reasoned, ...]:
    """Return what the plain formulas say of the gas alone, walls stiff and gas at rest."""
    gas = look.circuit.gas_ml_cmh2o()
    if gas <= 0.0:
        return ()
    start, end, seconds_s = look.start_cmh2o, look.end_cmh2o, look.seconds_s
    found = {"gas_only_mean_ml_min": mean_decay_leak_ml_min(gas, start, end, seconds_s)}
    laws = {"gas_only_many_fine_gaps_ml_min": LAMINAR_NUMBER, "gas_only_one_hole_ml_min": ORIFICE_NUMBER}
    for name, law in laws.items():
        found[name] = decay_leak_ml_min(look.at_cmh2o, start, end, seconds_s, gas, law)
    return tuple(
        Reasoned(
            name=f"check.{name}",
            value=float(value),
            formula="volume ÷ ambient pressure × fall ÷ time, by this law; stiff walls, gas at rest",
            inputs={"gas_ml_cmh2o": gas},
            sources=("project-arithmetic",),
        )
        for name, value in found.items()
    )

"""`lungeline check leak`: a leak with its interval, what it means in use, and a verdict."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.cli.check import (
    add_log,
    add_numbers,
    case_of,
    check_log_options,
    equipment_of,
    finding_lines,
    given,
    json_text,
    kept_json,
    kept_lines,
    limits_of,
    need,
    read_text,
)
from lungeline.errors import InputError

if TYPE_CHECKING:
    from lungeline.case import Case, Finding
    from lungeline.check import Circuit, Filling, Instruments, Judged, LeakTest, PastLeakTest, PlannedBreaths
    from lungeline.theatre.kept_checks import KeptCheck

METHODS = ("compensating", "decay", "rise-fall", "two-pressures")
_HELD = {"pressure-cmh2o": "pressure held", "flow-l-min": "flow that holds it, or fills it (rise-fall)",
         "rises-at-l-min": "flow at which the needle rises", "falls-at-l-min": "flow at which it falls",
         "look-s": "how long the needle was watched",
         "second-pressure-cmh2o": "another pressure (two-pressures)",
         "second-flow-l-min": "flow that holds that"}  # fmt: skip
_FALL = {"start-cmh2o": "pressure at first", "end-cmh2o": "pressure at last", "seconds": "seconds between"}
_RISE = {"rise-from-cmh2o": "pressure as the rise is timed from", "rise-to-cmh2o": "and to",
         "rise-s": "seconds", "fall-from-cmh2o": "pressure as the fall is timed from",
         "fall-to-cmh2o": "and to",
         "fall-s": "seconds"}  # fmt: skip
_CIRCLE = {"volume-l": "gas in all that stands open", "hose-ml-cmh2o": "what hoses give, 5 where not given",
           "compliance-ml-cmh2o": "of the circle, where measured before",
           "sample-flow-l-min": "drawn off by a monitor during the test",
           "peep-cmh2o": "set on a device left in the circle",
           "barometric-mmhg": "ambient pressure"}  # fmt: skip
_READ = {"fill-s": "seconds it took to fill", "waited-s": "seconds from then to the first reading",
         "at-cmh2o": "pressure the leak is wanted for",
         "leak-exponent": "0.5 one hole, 1 many fine gaps, if known",
         "needle-cmh2o": "width of the needle", "flow-step-l-min": "step of the flowmeter",
         "from-s": "part of a trace to use, from", "to-s": "and to"}  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options of a leak test."""
    parser.add_argument("--method", choices=METHODS, required=True, help="how it was tested")
    add_numbers(parser.add_argument_group("compensating, two-pressures"), _HELD)
    add_numbers(parser.add_argument_group("decay"), _FALL)
    add_numbers(parser.add_argument_group("rise-fall"), _RISE)
    circle = parser.add_argument_group("the circle")
    add_numbers(circle, _CIRCLE)
    circle.add_argument("--bag", action="store_true", help="a bag hangs on it")
    reading = parser.add_argument_group("how it was read")
    add_numbers(reading, _READ)
    reading.add_argument("--held", action="store_true", help="a flow held the pressure while waiting")
    reading.add_argument("--trace", type=Path, metavar="FILE", help="pressure trace, CSV (decay, rise-fall)")
    for name in ("time-column", "pressure-column", "time-unit", "pressure-unit"):
        reading.add_argument(
            f"--{name}", default="", metavar="WORD", help=f"{name.replace('-', ' ')} of the trace"
        )
    judging = parser.add_argument_group("judged by")
    judging.add_argument(
        "--case", type=Path, metavar="FILE", help="case whose settings it is weighed against"
    )
    judging.add_argument("--profile", type=Path, metavar="FILE", help="the clinic's profile, for its limits")
    judging.add_argument("--at", default="", metavar="TIME", help="when, as 2026-05-31T07:40")
    judging.add_argument("--past", type=Path, metavar="FILE", help="past tests, a line of JSON each")
    add_log(parser)


def run(args: argparse.Namespace) -> int:
    """Print what the test found and return the exit status."""
    from lungeline.check import judge_leak, leak_in_use
    from lungeline.check.limits import leak_of_interest_ml_min

    check_log_options(args, "check leak")
    limits, case = limits_of(args.profile), case_of(args.case)
    interest = leak_of_interest_ml_min(_pressure_of(args), limits)
    test = _tested(args, case, interest)
    judged = judge_leak(test, leak_in_use(test, _breaths(case)), limits)
    kept = _kept(args, judged)
    past, compared = _compared(args, judged, kept)
    content = {**judged.as_json(), "log_entry": past.as_json() if past else None, **kept_json(kept)}
    if compared:
        content["findings"] = [*content["findings"], *(item.as_json() for item in compared)]
    lines = [*_lines(judged), *finding_lines(compared), *kept_lines(kept)]
    print(json_text(content) if args.json else "\n".join(lines))
    return 0


def _pressure_of(args: argparse.Namespace) -> float:
    told = (args.at_cmh2o, args.pressure_cmh2o, args.start_cmh2o, args.fall_from_cmh2o)
    return float(next((value for value in told if value is not None), 30.0))


def _tested(args: argparse.Namespace, case: "Case | None", interest: float) -> "LeakTest":
    from lungeline import check

    circuit = _circuit(args, case)
    if args.trace is not None:
        return _traced(args, circuit, interest)
    if args.method == "decay":
        need(args, ("start_cmh2o", "end_cmh2o", "seconds"), args.method)
        look = check.DecayLook(
            circuit=circuit, start_cmh2o=args.start_cmh2o, end_cmh2o=args.end_cmh2o, seconds_s=args.seconds,
            at_pressure_cmh2o=args.at_cmh2o, leak_exponent_number=args.leak_exponent,
            filling=_filling(args), instruments=_instruments(args),
        )  # fmt: skip
        return check.pressure_decay(look, interest)
    if args.method == "rise-fall":
        return _rise_and_fall(args, circuit, interest)
    need(args, ("pressure_cmh2o", "flow_l_min"), args.method)
    first = _held(args, circuit, args.pressure_cmh2o, args.flow_l_min)
    if args.method == "compensating":
        return check.compensating_flow(first, interest)
    need(args, ("second_pressure_cmh2o", "second_flow_l_min"), args.method)
    second = _held(args, circuit, args.second_pressure_cmh2o, args.second_flow_l_min, bracket=False)
    return check.two_pressures(first, second, interest)


def _held(
    args: argparse.Namespace,
    circuit: "Circuit",
    pressure_cmh2o: float,
    flow_l_min: float,
    *,
    bracket: bool = True,
) -> Any:  # noqa: ANN401  a HeldFlow
    from lungeline.check import HeldFlow

    names = {"rises_at_l_min": "rises_at_l_min", "falls_at_l_min": "falls_at_l_min"} if bracket else {}
    return HeldFlow(
        pressure_cmh2o=pressure_cmh2o,
        flow_l_min=flow_l_min,
        circuit=circuit,
        filling=_filling(args),
        instruments=_instruments(args),
        **given(args, {**names, "look_s": "look_s", "leak_exponent_number": "leak_exponent"}),
    )


def _rise_and_fall(args: argparse.Namespace, circuit: "Circuit", interest: float) -> "LeakTest":
    from lungeline.check import RiseAndFall, rise_and_fall

    names = ("flow_l_min", "rise_from_cmh2o", "rise_to_cmh2o", "rise_s", "fall_from_cmh2o", "fall_to_cmh2o",
             "fall_s")  # fmt: skip
    need(args, names, args.method)
    test = RiseAndFall(
        **{name: getattr(args, name) for name in names},
        waited_s=args.waited_s,
        held=args.held,
        at_pressure_cmh2o=args.at_cmh2o,
        leak_exponent_number=args.leak_exponent,
        circuit=circuit,
        instruments=_instruments(args),
    )
    return rise_and_fall(test, interest)


def _traced(args: argparse.Namespace, circuit: "Circuit", interest: float) -> "LeakTest":
    from lungeline.check import Part, decay_of_trace, rise_and_fall_of_trace, trace_from_text

    names = {"time_column", "pressure_column", "time_unit", "pressure_unit"}
    trace = trace_from_text(read_text(args.trace, "trace"), **{name: getattr(args, name) for name in names})
    part = Part(
        from_s=args.from_s, to_s=args.to_s, at_pressure_cmh2o=args.at_cmh2o,
        leak_exponent_number=args.leak_exponent,
    )  # fmt: skip
    if args.method == "decay":
        return decay_of_trace(trace, circuit, part, interest)
    if args.method == "rise-fall":
        need(args, ("flow_l_min",), args.method)
        return rise_and_fall_of_trace(trace, args.flow_l_min, circuit, part)
    raise InputError(
        where="check leak --trace",
        given=args.method,
        allowed="decay or rise-fall",
        do="Take one of these methods.",
    )


def _circuit(args: argparse.Namespace, case: "Case | None") -> "Circuit":
    from lungeline.check import Circuit

    names = {"volume_l": "volume_l", "hose_compliance_ml_cmh2o": "hose_ml_cmh2o",
             "compliance_ml_cmh2o": "compliance_ml_cmh2o", "sample_flow_l_min": "sample_flow_l_min",
             "peep_cmh2o": "peep_cmh2o", "barometric_pressure_mmhg": "barometric_mmhg"}  # fmt: skip
    told = given(args, names)
    if case is not None and not {"volume_l", "compliance_ml_cmh2o"} & told.keys():
        equipment = case.equipment
        told["volume_l"] = equipment.circle_volume_l + (equipment.reservoir_capacity_l if args.bag else 0.0)
    return Circuit(**told, bag_attached=args.bag)


def _filling(args: argparse.Namespace) -> "Filling":
    from lungeline.check import Filling

    return Filling(fill_s=args.fill_s, waited_s=args.waited_s, held=args.held)


def _instruments(args: argparse.Namespace) -> "Instruments":
    from lungeline.check import Instruments

    return Instruments(
        **given(args, {"needle_step_cmh2o": "needle_cmh2o", "flow_step_l_min": "flow_step_l_min"})
    )


def _breaths(case: "Case | None") -> "PlannedBreaths":
    from lungeline.check import PlannedBreaths, breaths_of

    return PlannedBreaths() if case is None else breaths_of(case)


def _kept(args: argparse.Namespace, judged: "Judged") -> "KeptCheck | None":
    if not args.keep:
        return None
    from lungeline.theatre.kept_checks import keep_leak

    return keep_leak(equipment_of(args), args.machine, judged, args.at, args.for_case)


def _compared(
    args: argparse.Namespace, judged: "Judged", kept: "KeptCheck | None"
) -> "tuple[PastLeakTest | None, list[Finding]]":
    """Return the test as a log keeps it, with how it compares with those before it; of whichever log."""
    from lungeline.check import against_before, past_from_json, worse
    from lungeline.check.register import past_of

    if kept is not None:
        from lungeline.theatre.kept_checks import past_leaks

        now, past = past_from_json(dict(kept.in_log.body["past"])), list(past_leaks(kept.machine))
        return now, [*against_before(now, past), *worse(past, now.machine)]
    if not (args.machine and args.at):
        return None, []
    now = past_of(judged.test, args.machine, args.at)
    if args.past is None:
        return now, []
    from lungeline.cli.check_log import past_tests

    past = past_tests(args.past)
    return now, [*against_before(now, past), *worse([*past, now], now.machine)]


def _lines(judged: "Judged") -> list[str]:
    test, use = judged.test, judged.in_use
    of_gas, of_breath = _percent(use.share_of_fresh_gas), _percent(use.share_of_tidal_volume)
    at = f"at {test.at_pressure_cmh2o:g} cmH2O"
    lines = [
        f"{judged.verdict.upper()} - leak by {test.method}",
        f"  leak            {_span(test.leak)} mL/min {at} (95 of 100)",
        f"  could not see   below {test.detection_limit.value:.0f} mL/min",
        f"  law             {test.law}{f' (exponent {test.exponent.value:.2f})' if test.exponent else ''}",
    ]
    if test.compliance:
        lines.append(f"  compliance      {_span(test.compliance)} mL/cmH2O, {test.compliance.basis}")
    lines += [
        "In use:",
        f"  mean leak       {_span(use.mean_leak_in_use)} mL/min, {of_gas} of the fresh gas",
        f"  lost a breath   {_span(use.loss_per_breath)} mL, {of_breath} of it",
    ]
    if use.minutes_of_spare:
        lines.append(
            f"  spare gas       lasts {use.minutes_of_spare.value:.0f} min if nothing makes up for it"
        )
    lines += [f"Judged by {judged.limits.rest_on}.", *finding_lines(judged.findings)]
    return [*lines, "Decision support, not a medical device: the attending veterinarian decides."]


def _span(number: Any) -> str:  # noqa: ANN401  a Reasoned
    return f"{number.value:.3g} ({number.low:.3g} to {number.high:.3g})"


def _percent(number: Any) -> str:  # noqa: ANN401  a Reasoned
    return f"{100.0 * number.value:.2g} %"

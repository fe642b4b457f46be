"""`lungeline simulate`: runs a case breath by breath and tells what should happen."""

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.errors import InputError, OutOfRangeError

if TYPE_CHECKING:
    from lungeline.case import Case
    from lungeline.reference import SpeciesStatus
    from lungeline.simulate.herd import HerdRun
    from lungeline.simulate.run import Run

_CLOSEST_ROWS_MIN = 0.1
_PERCENTILES = ("p10", "p50", "p90")


def add_parser(subparsers: "argparse._SubParsersAction[Any]") -> None:
    """Add the command to the program's commands."""
    parser = subparsers.add_parser(
        "simulate",
        help="run a case breath by breath and tell what should happen",
        description="Run a case breath by breath and tell what should happen. The case is a TOML file; only "
        "species and weight must be in it, rules of thumb fill in the rest.",
    )
    parser.add_argument("case", metavar="CASE", help="case file, .toml or .json; - for standard input")
    parser.add_argument("--minutes", type=float, default=60.0, help="how long, 60 where not given")
    parser.add_argument("--every", type=float, default=5.0, metavar="MIN", help="minutes between rows")
    parser.add_argument("--herd", type=int, metavar="N", help="also run N animals that differ as animals do")
    parser.add_argument("--seed", type=int, default=1, help="which N animals, 1 where not given")
    parser.add_argument("--json", action="store_true", help="everything as JSON, every breath")
    parser.add_argument("--rate-hz", type=float, default=0.0, metavar="HZ", help="curves too, with --json")
    parser.add_argument("--plot", type=Path, metavar="FILE", help="draw the course, as .svg or .png")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Simulate what was asked for, print it, and return the exit status."""
    from lungeline.reference import species_status

    _check(args)
    case = _case(args.case)
    status = species_status(case.animal.species)
    if args.plot:
        from lungeline.cli import plot

        plot.check_target(args.plot)
    result, herd = _simulated(args, case, status)
    if args.plot:
        plot.draw(args.plot, result, herd, args.minutes, validated=status.validated)
    print(_json_text(args, result, herd, status) if args.json else _text(args, result, herd, status))
    return 0


def _check(args: argparse.Namespace) -> None:
    if not args.every >= _CLOSEST_ROWS_MIN:
        allowed = f"{_CLOSEST_ROWS_MIN:g} min or more"
        raise OutOfRangeError(where="--every", given=args.every, allowed=allowed, do="Give minutes.")
    if args.seed < 0:
        raise OutOfRangeError(where="--seed", given=args.seed, allowed="0 or more", do="Give a whole number.")
    if args.rate_hz and not args.json:
        raise InputError(
            where="--rate-hz",
            given=args.rate_hz,
            allowed="only with --json",
            do="Add --json, or leave it out.",
        )


def _case(name: str) -> "Case":
    from lungeline.case import case_from_toml, load_case

    return case_from_toml(sys.stdin.read()) if name == "-" else load_case(name)


def _simulated(
    args: argparse.Namespace, case: "Case", status: "SpeciesStatus"
) -> "tuple[Run, HerdRun | None]":
    from lungeline.cli.progress import Bar
    from lungeline.simulate.herd import simulate_herd
    from lungeline.simulate.run import simulate

    result = simulate(case, args.minutes, trace_rate_hz=args.rate_hz)
    if args.herd is None:
        return result, None
    bar = Bar("animals")
    try:
        herd = simulate_herd(
            case, args.herd, args.seed, args.minutes, progress=bar.show, validated=status.validated
        )
    finally:
        bar.clear()
    return result, herd


def _text(args: argparse.Namespace, result: "Run", herd: "HerdRun | None", status: "SpeciesStatus") -> str:
    from lungeline.cli import table

    case = result.case
    rules = case.rules_of_thumb()
    assumed = {name: rules[name] for name in case.assumed_settings}
    lines = [
        *_heading(case, status),
        "",
        "Set at the start, * by rule of thumb:" if assumed else "Set at the start:",
        *table.settings_lines(case.settings, assumed),
        "",
        *table.breath_lines(result.breaths, case, args.every, args.minutes),
    ]
    if herd is not None:
        lines += ["", f"{herd.n} animals that differ as animals do (seed {args.seed}), SIMULATED:"]
        lines += table.herd_lines(_at_end(herd, [column.key for column in table.COLUMNS]))
    lines += ["", f"Ended: {result.ended}. {result.advice}", table.balance_line(result.balance)]
    return "\n".join([*lines, "", *_cautions(args, case, herd, status)])


def _heading(case: "Case", status: "SpeciesStatus") -> list[str]:
    animal = case.animal
    lines = [f"SIMULATED{f' – {case.title}' if case.title else ''}"]
    if not status.validated:
        lines.append(f"NOT VALIDATED for species {animal.species}: {_without_label(status.reason)}")
    lines.append(f"{animal.species}, {animal.weight_kg:.4g} kg, {animal.position}, {animal.condition}")
    return lines


def _without_label(reason: str) -> str:
    return reason.removeprefix("Not validated: ")


def _cautions(
    args: argparse.Namespace, case: "Case", herd: "HerdRun | None", status: "SpeciesStatus"
) -> list[str]:
    lines = ["Cautions"]
    if status.validated:
        lines.append(f"  - {status.reason}")
    times_min = [change.at_min for change in case.changes] + [fault.at_min for fault in case.faults]
    late = sum(at_min >= args.minutes for at_min in times_min)
    if late:
        lines.append(f"  - {late} of the changes and faults lie after the end: --minutes tells how long.")
    if herd is not None and herd.failed:
        lines.append(f"  - {herd.failed} more animals could not be simulated to the end and are left out.")
    lines.append("  - One simulated animal, not this one: measure, and trust what you measure.")
    lines.append("  - Decision support, not a medical device: the attending veterinarian decides.")
    return lines


def _at_end(herd: "HerdRun", keys: list[str]) -> list[tuple[str, float | None, float | None, float | None]]:
    from lungeline.cli.simulation_json import number

    rows = []
    for key in keys:
        band = herd.percentiles(key)
        low, middle, high = (number(band[name][-1]) for name in _PERCENTILES)
        rows.append((key, low, middle, high))
    return rows


def _json_text(
    args: argparse.Namespace, result: "Run", herd: "HerdRun | None", status: "SpeciesStatus"
) -> str:
    from lungeline.cli.simulation_json import herd_json, numbers, simulation_json

    content = simulation_json(result, status)
    if args.rate_hz:
        content["traces"] = {name: numbers(values) for name, values in result.traces.items()}
    if herd is not None:
        content["herd_drawn"] = {"n": herd.n, "failed": herd.failed, "seed": args.seed}
        content["herd"] = herd_json(herd)
    return json.dumps(content, ensure_ascii=False, allow_nan=False)

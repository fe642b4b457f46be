"""`lungeline check log`: the past leak tests of a machine, their trend, and what changed since the last."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

from lungeline.cli.check import equipment_of, finding_lines, json_text, read_text
from lungeline.errors import InputError, MissingError, UnknownNameError

if TYPE_CHECKING:
    from lungeline.check import PastLeakTest

SCHEMA = "lungeline.leak_log/1"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options of the log."""
    parser.add_argument(
        "past",
        type=Path,
        nargs="?",
        metavar="FILE",
        help="past tests, a line of JSON each; the kept log where not given",
    )
    parser.add_argument(
        "--machine", default="", metavar="NAME", help="machine; may be left out where there is one"
    )


def run(args: argparse.Namespace) -> int:
    """Print the trend of a machine and return the exit status."""
    from lungeline.check import against_before, trend_of, worse

    past = past_tests(args.past) if args.past is not None else _kept(args)
    machine = _machine(past, args.machine)
    of_machine = sorted((test for test in past if test.machine == machine), key=lambda test: test.day)
    trend = trend_of(past, machine)
    findings = [*worse(past, machine), *against_before(of_machine[-1], past)]
    content = {
        "schema": SCHEMA,
        "machine": machine,
        "tests": [test.as_json() for test in of_machine],
        "trend": trend.as_json(),
        "findings": [finding.as_json() for finding in findings],
    }
    lines = [
        f"{machine}: {trend.course} over {trend.checks_number} tests, chance {trend.chance_fraction:.2g}"
    ]
    lines += [
        f"  {test.at:<16}  {test.leak_ml_min:6.0f} mL/min "
        f"({test.leak_low_ml_min:.0f} to {test.leak_high_ml_min:.0f})"
        for test in of_machine
    ]
    print(json_text(content) if args.json else "\n".join([*lines, *finding_lines(findings)]))
    return 0


def _kept(args: argparse.Namespace) -> "list[PastLeakTest]":
    equipment = equipment_of(args)
    machines = [equipment.machine(args.machine)] if args.machine else equipment.machines()
    found = [test for it in machines for test in it.past()]
    if not found:
        raise MissingError(
            where="check log", given="no leak test in the log", allowed="a test that was kept",
            do="Keep one: check leak … --machine NAME --keep.",
        )  # fmt: skip
    return found


def past_tests(path: Path) -> "list[PastLeakTest]":
    """Return the tests of a file. Raises InputError for a line that is none."""
    from lungeline.check import past_from_json

    found = []
    for place, line in enumerate(read_text(path, "past tests").splitlines(), start=1):
        if not line.strip():
            continue
        try:
            found.append(past_from_json(json.loads(line)))
        except (ValueError, TypeError, AttributeError):
            raise InputError(
                where=f"past tests, line {place}",
                given=line[:60],
                allowed="a test as JSON",
                do="Restore the line.",
            ) from None
    return found


def _machine(past: "list[PastLeakTest]", name: str) -> str:
    known = sorted({test.machine for test in past})
    if len(known) == 1 and not name:
        return known[0]
    by_id = {test.casefold(): test for test in known}
    if name.casefold() in by_id:
        return by_id[name.casefold()]
    if name not in known:
        raise UnknownNameError.nearest(where="--machine", given=name, valid=known)
    return name

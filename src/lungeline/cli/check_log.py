"""`lungeline check log`: every check of a machine, its trend, what changed since the last, what proves it."""

import argparse
import json
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.cli.check import equipment_of, finding_lines, json_text, read_text
from lungeline.cli.writing import PAPERS, write
from lungeline.errors import InputError, MissingError, UnknownNameError

if TYPE_CHECKING:
    from lungeline.check import PastLeakTest, Trend
    from lungeline.check.machine_log import LogRow, MachineLog
    from lungeline.theatre.equipment import Equipment

FILE_SCHEMA, ALL_SCHEMA = "lungeline.leak_log/1", "lungeline.machine_logs/1"
_NOT_INTACT = 1
_DAYS = 30


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options of the log."""
    parser.add_argument(
        "past",
        type=Path,
        nargs="?",
        metavar="FILE",
        help="past leak tests, a line of JSON each; the kept log where not given",
    )
    parser.add_argument(
        "--machine", default="", metavar="NAME", help="machine; all of them in short where not given"
    )
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="write the log of the machine for print")
    parser.add_argument("--paper", choices=tuple(PAPERS), default="a4", help="a4 or letter (a4)")
    parser.add_argument("--lines", type=Path, metavar="FILE", help="write its chain, as JSON lines")
    parser.add_argument("--strike", type=int, metavar="NUMBER", help="strike out an entry; it stays in view")
    parser.add_argument("--reason", default="", help="why it is struck out")
    parser.add_argument("--sign", action="store_true", help="sign the log as it now stands")
    parser.add_argument("--role", default="responsible for the equipment", help="as what one signs")
    parser.add_argument("--by", default="", metavar="NAME", help="who; LUNGELINE_AUTHOR where not given")


def run(args: argparse.Namespace) -> int:
    """Print the log of a machine, or of all in short, and return the exit status."""
    if args.past is not None:
        return _of_file(args)
    equipment = equipment_of(args)
    if args.machine:
        return _of_machine(args, equipment)
    if args.pdf or args.lines or args.strike is not None or args.sign:
        raise MissingError(
            where="check log", given="no machine", allowed="--machine NAME", do="Name the machine."
        )
    return _of_all(args, equipment)


# -- one machine -------------------------------------------------------------------------------------------


def _of_machine(args: argparse.Namespace, equipment: "Equipment") -> int:
    from lungeline.theatre.equipment_log import machine_log

    if args.strike is not None:
        equipment.strike(args.machine, args.strike, args.reason)
    if args.sign:
        equipment.sign(args.machine, role=args.role, pin=_pin(equipment))
    log = machine_log(equipment, args.machine)
    files = _written(args, equipment)
    content = {**log.as_json(_today()), "files": [str(path) for path in files]}
    lines = [*_log_lines(log), *(f"written: {path}" for path in files)]
    print(json_text(content) if args.json else "\n".join(lines))
    return _NOT_INTACT if log.proof["outcome"] in {"changed", "cut"} else 0


def _pin(equipment: "Equipment") -> str | None:
    """Return the PIN of somebody who has one, typed without being shown."""
    if equipment.desk.person().pin is None:
        return None
    from getpass import getpass

    return getpass("PIN: ", stream=sys.stderr)


def _written(args: argparse.Namespace, equipment: "Equipment") -> list[Path]:
    files = []
    if args.pdf is not None:
        from lungeline.theatre.printed_log import print_log

        files.append(write(args.pdf, print_log(equipment, args.machine, paper=PAPERS[args.paper])))
    if args.lines is not None:
        files.append(equipment.export(args.machine, args.lines))
    return files


def _log_lines(log: "MachineLog") -> list[str]:
    retired = f", RETIRED: {log.retired}" if log.retired else ""
    lines = [f"{log.item.name} ({log.item.sort}{retired})"]
    lines += [_row_line(row) for row in log.rows]
    trends = ("leak", log.leak_trend, "mL/min"), ("compliance", log.compliance_trend, "mL/cmH2O")
    lines += [_trend_line(what, found, unit) for what, found, unit in trends if found.checks_number]
    proof = log.proof
    lines.append(f"log: {proof['outcome']}, {proof['count']} entries{_proof_text(proof)}")
    return [*lines, *finding_lines(log.findings(_today()))]


def _row_line(row: "LogRow") -> str:
    struck = f"STRUCK OUT ({row.struck}, {row.struck_by}) " if row.struck else ""
    verdict = (row.verdict or "").upper()
    case = f", for case {row.case}" if row.case else ""
    at = f"{datetime.fromisoformat(row.at):%Y-%m-%d %H:%M}"
    return f"  {row.seq:>4}  {at}  {row.what:<12}  {verdict:<7}  {struck}{row.says} ({row.by}{case})"


def _trend_line(what: str, found: "Trend", unit: str) -> str:
    slope = f", {found.slope_per_day * _DAYS:+.3g} {unit} in {_DAYS} days" if found.checks_number > 1 else ""
    chance = f", chance {found.chance_fraction:.2g}"
    return f"{what}: {found.course} over {found.checks_number} tests{slope}{chance}"


def _proof_text(proof: Any) -> str:  # noqa: ANN401  a mapping
    if proof["outcome"] == "intact":
        return f", proven to entry {proof['proven_count']}"
    at = f", entry {proof['at_seq']}" if proof["at_seq"] is not None else ""
    return f" ({proof['reason']}{at})"


def _today() -> str:
    return datetime.now().astimezone().date().isoformat()


# -- all of them -------------------------------------------------------------------------------------------


def _of_all(args: argparse.Namespace, equipment: "Equipment") -> int:
    from lungeline.theatre.equipment_log import machine_log

    logs = [machine_log(equipment, it.id) for it in equipment.machines()]
    if not logs:
        raise MissingError(
            where="check log", given="no equipment", allowed="equipment that is registered",
            do="Register it: check register add NAME --sort circle. Then keep a test: check leak … --keep.",
        )  # fmt: skip
    content = {"schema": ALL_SCHEMA, "logs": [log.as_json(_today()) for log in logs]}
    print(json_text(content) if args.json else "\n".join(line for log in logs for line in _short(log)))
    return _NOT_INTACT if any(log.proof["outcome"] in {"changed", "cut"} for log in logs) else 0


def _short(log: "MachineLog") -> list[str]:
    from lungeline.check.machine_log import last_of

    last = (last_of(log.rows, what) for what in ("guided check", "leak test", "test lung"))
    lines = [_row_line(row) for row in last if row is not None]
    head = f"{log.item.name} ({log.item.sort}): {len(log.checks)} checks, log {log.proof['outcome']}"
    return [head, *lines, *finding_lines(log.findings(_today()))]


# -- a file of leak tests ----------------------------------------------------------------------------------


def _of_file(args: argparse.Namespace) -> int:
    from lungeline.check import against_before, trend_of, worse

    past = past_tests(args.past)
    machine = _named(past, args.machine)
    of_machine = sorted((test for test in past if test.machine == machine), key=lambda test: test.day)
    trend = trend_of(past, machine)
    findings = [*worse(past, machine), *against_before(of_machine[-1], past)]
    content = {
        "schema": FILE_SCHEMA,
        "machine": machine,
        "tests": [test.as_json() for test in of_machine],
        "trend": trend.as_json(),
        "findings": [finding.as_json() for finding in findings],
    }
    lines = [_trend_line(machine, trend, "mL/min")]
    lines += [
        f"  {test.at:<16}  {test.leak_ml_min:6.0f} mL/min "
        f"({test.leak_low_ml_min:.0f} to {test.leak_high_ml_min:.0f})"
        for test in of_machine
    ]
    print(json_text(content) if args.json else "\n".join([*lines, *finding_lines(findings)]))
    return 0


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


def _named(past: "list[PastLeakTest]", name: str) -> str:
    known = sorted({test.machine for test in past})
    if len(known) == 1 and not name:
        return known[0]
    by_id = {test.casefold(): test for test in known}
    if name.casefold() not in by_id:
        raise UnknownNameError.nearest(where="--machine", given=name, valid=known)
    return by_id[name.casefold()]

"""`lungeline check`: is the breathing system sound? Leak tests, the guided check, the ventilator tested."""

import argparse
import json
from collections.abc import Mapping, Sequence
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.errors import InputError, MissingError

if TYPE_CHECKING:
    from lungeline.case import Case, Finding
    from lungeline.check import LeakLimits
    from lungeline.theatre.equipment import Equipment
    from lungeline.theatre.kept_checks import KeptCheck

ACTIONS = {
    "leak": (
        "check_leak",
        "leak and compliance from what a person reads off gauge and flowmeter, or a trace",
    ),
    "walk": ("check_walk", "the guided check, one key a step; can be left and gone on with"),
    "lung": ("check_lung", "the ventilator on a test lung: set against delivered"),
    "log": ("check_log", "the log of a machine: every check, its trend, what proves it; as PDF too"),
    "register": ("check_register", "the equipment there is: add, list, show, change, retire"),
}
_MARKS = {"stop": "STOP", "caution": "caution", "advice": "advice", "note": "note"}


def add_parser(subparsers: "argparse._SubParsersAction[Any]") -> None:
    """Add the command to the program's commands."""
    parser = subparsers.add_parser(
        "check",
        help="is the breathing system sound? leak tests and the guided check",
        description="Is the breathing system sound? Leak tests with what they could not have seen, a guided "
        "check that judges every number, and the ventilator on a test lung.",
    )
    actions = parser.add_subparsers(title="checks", metavar="CHECK", dest="action", required=True)
    for name, (module, line) in ACTIONS.items():
        action = actions.add_parser(name, help=line, description=f"{line[0].upper()}{line[1:]}.")
        action.add_argument("--json", action="store_true", help="as JSON")
        _module(module).add_arguments(action)


def run(args: argparse.Namespace) -> int:
    """Do the check that was chosen and return the exit status."""
    return int(_module(ACTIONS[args.action][0]).run(args))


def _module(name: str) -> Any:  # noqa: ANN401  each has add_arguments and run
    return import_module(f"lungeline.cli.{name}")


def add_numbers(parser: Any, options: Mapping[str, str]) -> None:  # noqa: ANN401  a parser or a group of one
    """Add options that each take a number; the name ends in the unit."""
    for name, line in options.items():
        parser.add_argument(f"--{name}", type=float, metavar=name.rpartition("-")[2].upper(), help=line)


def given(args: argparse.Namespace, names: Mapping[str, str]) -> dict[str, Any]:
    """Return what was given of some options, by the names a record has for them."""
    found = {name: getattr(args, option) for name, option in names.items()}
    return {name: value for name, value in found.items() if value is not None}


def need(args: argparse.Namespace, options: Sequence[str], method: str) -> None:
    """Refuse a command line that lacks an option its method needs."""
    missing = [f"--{option.replace('_', '-')}" for option in options if getattr(args, option) is None]
    if missing:
        raise MissingError(
            where=f"check leak --method {method}",
            given="nothing for " + ", ".join(missing),
            allowed="all of " + ", ".join(f"--{option.replace('_', '-')}" for option in options),
            do="Give what was read.",
        )


def read_text(path: Path, what: str) -> str:
    """Return the text of a file. Raises InputError where it cannot be read."""
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        raise MissingError(
            where=what, given=str(path), allowed="a file that exists", do="Check name and folder."
        ) from None
    except (OSError, ValueError):
        raise InputError(
            where=what, given=str(path), allowed="readable text in UTF-8", do="Save it as text."
        ) from None


def limits_of(path: Path | None) -> "LeakLimits":
    """Return the limits of a profile, of the clinic's own in the data folder where none is given."""
    from lungeline.case import load_profile
    from lungeline.check import limits_of_profile

    if path is not None:
        return limits_of_profile(load_profile(path))
    from lungeline.record.store.folder import data_path
    from lungeline.theatre.clinic_profile import clinic_profile

    return limits_of_profile(clinic_profile(data_path()))


def add_log(parser: argparse.ArgumentParser) -> None:
    """Add where a check is kept: the log of a machine, and the record of a case it is done for."""
    log = parser.add_argument_group("kept")
    log.add_argument("--machine", default="", metavar="NAME", help="machine tested, as it is registered")
    log.add_argument("--keep", action="store_true", help="write it into the log of the machine")
    log.add_argument("--for-case", default="", metavar="ID", help="tell it in the record of this case too")
    log.add_argument("--by", default="", metavar="NAME", help="who tested; LUNGELINE_AUTHOR where not given")


def check_log_options(args: argparse.Namespace, where: str) -> None:
    """Refuse to keep a check of no machine, and to tell a case of one that is not kept."""
    if args.for_case and not args.keep:
        raise MissingError(
            where=f"{where} --for-case", given="no --keep", allowed="a check that is kept", do="Add --keep."
        )
    if args.keep and not args.machine:
        raise MissingError(
            where=f"{where} --keep", given="no machine", allowed="--machine NAME", do="Name what was tested."
        )


def equipment_of(args: argparse.Namespace) -> "Equipment":
    """Return the equipment and its log, in LUNGELINE_DATA or the platform's folder."""
    from lungeline.theatre import Cases, Desk, this_author, this_device
    from lungeline.theatre.equipment import Equipment

    author = getattr(args, "by", "") or this_author()
    return Equipment(desk=Desk(cases=Cases(), author=author, device=this_device()))


def kept_lines(kept: "KeptCheck | None") -> list[str]:
    """Return a line that tells where a check was kept, none where it was not."""
    if kept is None:
        return []
    told = f"Kept as entry {kept.in_log.seq} in the log of {kept.machine.item.name}"
    also = f", and as entry {kept.in_case.seq} of case {kept.in_case.case}" if kept.in_case else ""
    return [f"{told}{also}."]


def kept_json(kept: "KeptCheck | None") -> dict[str, Any]:
    """Return where a check was kept, as plain values."""
    return {
        "kept": kept is not None,
        "kept_as": {"machine": kept.machine.id, "seq": kept.in_log.seq, "uid": kept.in_log.uid}
        if kept
        else None,
        "told_case": {"case": kept.in_case.case, "seq": kept.in_case.seq} if kept and kept.in_case else None,
    }


def case_of(path: Path | None) -> "Case | None":
    """Return the case that is planned, None where none is given."""
    from lungeline.case import load_case

    return None if path is None else load_case(path)


def json_text(content: Mapping[str, Any]) -> str:
    """Return an object as JSON."""
    return json.dumps(content, ensure_ascii=False, indent=2, allow_nan=False)


def finding_lines(findings: "Sequence[Finding]") -> list[str]:
    """Return two lines for every finding: how grave and what is so, and what to do."""
    from lungeline.words import say

    lines = []
    for said in map(say, findings):
        lines += [
            f"  {_MARKS[said.severity]}: {said.says}",
            f"  {'':<{len(_MARKS[said.severity])}}  -> {said.do}",
        ]
    return lines

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

ACTIONS = {
    "leak": (
        "check_leak",
        "leak and compliance from what a person reads off gauge and flowmeter, or a trace",
    ),
    "walk": ("check_walk", "the guided check, one key a step; can be left and gone on with"),
    "lung": ("check_lung", "the ventilator on a test lung: set against delivered"),
    "log": ("check_log", "past checks of a machine: its trend, and what changed since the last"),
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
    """Return the limits of the clinic's profile, the project's where none is given."""
    from lungeline.case import load_profile
    from lungeline.check import LeakLimits, limits_of_profile

    return LeakLimits() if path is None else limits_of_profile(load_profile(path))


def equipment_of(args: argparse.Namespace) -> "Equipment":
    """Return the equipment and its log, in LUNGELINE_DATA or the platform's folder."""
    from lungeline.theatre import this_author, this_device
    from lungeline.theatre.equipment import Equipment

    return Equipment(author=getattr(args, "by", "") or this_author(), device=this_device())


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

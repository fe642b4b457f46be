"""`lungeline case people`: who may do what, and their PINs, which are typed unseen and never told."""

import argparse
import getpass
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from lungeline.cli.case import add_person, desk_of, told
from lungeline.errors import InputError, MissingError

if TYPE_CHECKING:
    from lungeline.theatre import Desk, Person

_WHAT = ("list", "add", "change", "pin", "retire")


def _options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", nargs="?", choices=_WHAT, default="list", help="list where not given")
    parser.add_argument("name", nargs="?", metavar="NAME", help="whom it is about")
    parser.add_argument("--role", metavar="ROLE", help="add, change: observer, student, recorder …")
    add_person(parser)


def _run(args: argparse.Namespace) -> int:
    from lungeline.theatre import read_people
    from lungeline.theatre.people import FILE
    from lungeline.theatre.people_file import administrators

    desk: Desk = desk_of(args)
    if args.what != "list":
        _do(args, desk)
    people = read_people(desk.cases.path / FILE)
    lines = [_line(person) for person in people] or ["nobody is listed: anybody may record and sign by name"]
    if people and not administrators(people):
        lines.append("nobody administers: anybody at this computer may change this list")
    return told(args, {"people": [_json(person) for person in people]}, lines)


def _do(args: argparse.Namespace, desk: "Desk") -> None:
    from lungeline.theatre import people_file
    from lungeline.theatre.people import FILE

    if not args.name or (args.what in {"add", "change"} and not args.role):
        lacking = "--role" if args.name else "a name"
        raise MissingError(
            where=f"case people {args.what}", given="nothing", allowed=lacking, do="Say whom, and as what."
        )
    path = desk.cases.path / FILE
    own = _typed(f"PIN of {desk.author}: ") if desk.person().pin is not None else None
    people_file.check_may_list(path, desk.author, own)
    match args.what:
        case "add":
            people_file.add_person(path, args.name, args.role)
        case "change":
            people_file.change_role(path, args.name, args.role)
        case "pin":
            people_file.set_pin(path, args.name, _new_pin(args.name))
        case "retire":
            people_file.retire(path, args.name)


def _new_pin(name: str) -> str:
    first = _typed(f"New PIN of {name}: ")
    if sys.stdin.isatty() and _typed("Again: ") != first:
        raise InputError(where="pin", given="two that differ", allowed="the same twice", do="Begin again.")
    return first


def _typed(prompt: str) -> str:
    """Return what was typed unseen, or the next line of standard input where nobody sits there."""
    return getpass.getpass(prompt) if sys.stdin.isatty() else sys.stdin.readline().strip()


def _line(person: "Person") -> str:
    marks = [*(["PIN"] if person.pin else []), *(["retired"] if person.retired else [])]
    return f"{person.name}: {', '.join((person.role, *marks))}"


def _json(person: "Person") -> dict[str, Any]:
    return {
        "name": person.name,
        "role": person.role,
        "pin": person.pin is not None,
        "retired": person.retired,
        "rights": sorted(person.rights),
    }


OPTIONS: dict[str, Callable[[argparse.ArgumentParser], None]] = {"people": _options}
RUNS: dict[str, Callable[[argparse.Namespace], int]] = {"people": _run}

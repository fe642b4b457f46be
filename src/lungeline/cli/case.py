"""`lungeline case`: keep the record of an anaesthetic."""

import argparse
import json
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

ACTIONS = {
    "new": ("case_enter", "open a case"),
    "list": ("case_view", "the cases there are, those that run first"),
    "show": ("case_view", "a case as it now stands, and what is missing"),
    "enter": ("case_enter", "enter what happened; acknowledged once it is on disk"),
    "correct": ("case_enter", "correct an entry; the old one stays in view"),
    "strike": ("case_enter", "strike an entry out; it stays in view"),
    "sign": ("case_sign", "sign, countersign, co-sign or witness what is there"),
    "verify": ("case_keep", "is the record what was acknowledged? Exit status 1 unless intact"),
    "export": ("case_keep", "a case as CSV files or JSON lines"),
    "print": ("case_print", "the whole record as PDF"),
    "card": ("case_print", "one page for whoever takes over"),
    "backup": ("case_keep", "copy the store while it is in use"),
    "people": ("case_people", "who may do what: list, add, change, pin, retire"),
    "restore": ("case_keep", "put back a backup, JSON lines or exported CSV files"),
}


def add_parser(subparsers: "argparse._SubParsersAction[Any]") -> None:
    """Add the command to the program's commands."""
    parser = subparsers.add_parser(
        "case",
        help="keep the record of an anaesthetic: open, enter, correct, sign, verify, export, back up",
        description="Keep the record of an anaesthetic. Nothing entered is changed or lost: a correction is "
        "a new entry beside the old one. Data lie in LUNGELINE_DATA, or the platform's folder.",
    )
    actions = parser.add_subparsers(title="actions", metavar="ACTION", dest="action", required=True)
    for name, (module, line) in ACTIONS.items():
        action = actions.add_parser(name, help=line, description=f"{line[0].upper()}{line[1:]}.")
        action.add_argument("--json", action="store_true", help="as JSON")
        import_module(f"lungeline.cli.{module}").OPTIONS[name](action)
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Do the action that was chosen and return the exit status."""
    module = import_module(f"lungeline.cli.{ACTIONS[args.action][0]}")
    act: Callable[[argparse.Namespace], int] = module.RUNS[args.action]
    return act(args)


def add_case(parser: argparse.ArgumentParser) -> None:
    """Add the case that is meant."""
    parser.add_argument("id", metavar="ID", help="id of the case, as `case list` shows it")


def add_person(parser: argparse.ArgumentParser, *, signing: bool = False) -> None:
    """Add who does it, and on what."""
    if not signing:
        parser.add_argument(
            "--author",
            metavar="NAME",
            help="who says so; LUNGELINE_AUTHOR, or who is logged in, where not given",
        )
    parser.add_argument(
        "--device", metavar="NAME", help="LUNGELINE_DEVICE, or this computer, where not given"
    )


def desk_of(args: argparse.Namespace, author: str | None = None) -> Any:  # noqa: ANN401  a desk; naming its type would load the store
    """Return the desk of whoever runs this command."""
    from lungeline.theatre import Cases, Desk, this_author, this_device

    name = author or getattr(args, "author", None) or this_author()
    return Desk(cases=Cases(), author=name, device=getattr(args, "device", None) or this_device())


def told(args: argparse.Namespace, content: dict[str, Any], lines: list[str]) -> int:
    """Print an answer, as JSON where that was asked for, and return the exit status of success."""
    print(json.dumps(content, ensure_ascii=False, indent=2) if args.json else "\n".join(lines))
    return 0


def folder(text: str) -> Path:
    """Return a path a person typed."""
    return Path(text).expanduser()

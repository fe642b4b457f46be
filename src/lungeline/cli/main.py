"""`lungeline`: finds the command and runs it. Only the module of the command asked for is loaded.

Exit status: 0 done, 2 what was given cannot be used, 130 stopped by the person, 141 nobody reads any more.
"""

import argparse
import json
import os
import sys
from collections.abc import Sequence
from importlib import import_module
from importlib.util import find_spec
from typing import Any, NoReturn

from lungeline.errors import InputError, LungelineError, UnknownNameError

COMMANDS = {
    "plan": "settings, spare gas, priming, supplies and drugs for a case, each number with its reason",
    "figures": "list published figures with range, basis and source",
    "check": "is the breathing system sound? leak tests and the guided check",
    "case": "keep the record of an anaesthetic: open, enter, correct, sign, verify, export, back up",
    "serve": "the pages: the whole job on a tablet or a computer, on this machine alone",
    "simulate": "run a case breath by breath and tell what should happen",
    "watch": "the breaths in a file of curves, and what is not as it was set or expected",
    "explain": "why does measured differ from expected? causes, and the one test that tells",
    "rehearse": "practise on a simulated animal: list scenarios, play one by a script, see how it went",
    "evidence": "set the simulated animal against published studies",
}
_DONE, _REFUSED, _STOPPED, _UNREAD = 0, 2, 130, 141  # the last two as shells have them
_JSON = "--json"


class _Parser(argparse.ArgumentParser):
    """Raises our own error where argparse would print and exit."""

    def error(self, message: str) -> NoReturn:
        """Refuse the command line."""
        do = f"See {self.prog} --help."
        raise InputError(where=self.prog, given=message, allowed=self.format_usage().strip(), do=do)


class _Version(argparse.Action):
    """Looks the version up only where it is asked for."""

    def __call__(self, parser: argparse.ArgumentParser, *_rest: Any) -> None:  # noqa: ANN401  as argparse has it
        """Print the version and leave."""
        from importlib.metadata import version

        print(f"lungeline {version('lungeline')}")
        parser.exit()


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status."""
    words = list(sys.argv[1:] if argv is None else argv)
    try:
        status = _run(words)
        sys.stdout.flush()
    except LungelineError as error:
        return _refuse(error, as_json=_JSON in words)
    except KeyboardInterrupt:
        return _STOPPED
    except BrokenPipeError:
        # the reader left, such as `head`: what the interpreter flushes at its end must go nowhere
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return _UNREAD
    return status


def _run(words: list[str]) -> int:
    chosen = next((word for word in words if not word.startswith("-")), "")
    known = {name: line for name, line in COMMANDS.items() if find_spec(_module(name))}
    if chosen and chosen not in known:
        raise UnknownNameError.nearest(where="command", given=chosen, valid=known)
    parser = _parser(known, chosen)
    args = parser.parse_args(words)
    if not chosen:
        parser.print_help()
        return _DONE
    return int(import_module(_module(chosen)).run(args) or _DONE)


def _module(command: str) -> str:
    return f"lungeline.cli.{command}"


def _parser(known: dict[str, str], chosen: str) -> _Parser:
    parser = _Parser(
        prog="lungeline",
        description="Plan, rehearse, explain and record the ventilation of an anaesthetised large animal.",
        epilog="Decision support, not a medical device: the attending veterinarian decides.",
    )
    parser.add_argument("--version", action=_Version, nargs=0, help="show the version and leave")
    subparsers = parser.add_subparsers(title="commands", metavar="COMMAND", parser_class=_Parser)
    for name, line in known.items():
        if name == chosen:
            import_module(_module(name)).add_parser(subparsers)
        else:
            subparsers.add_parser(name, help=line)
    return parser


def _refuse(error: LungelineError, *, as_json: bool) -> int:
    if as_json:
        print(json.dumps(error.as_json(), ensure_ascii=False, indent=2))
    print(f"lungeline: {error}", file=sys.stderr)
    return _REFUSED

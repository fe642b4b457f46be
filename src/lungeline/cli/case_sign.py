"""`lungeline case sign`: somebody stands for what is there, by name."""

import argparse
import getpass
import sys
from collections.abc import Callable

from lungeline.cli.case import add_case, add_person, desk_of, told


def _options(parser: argparse.ArgumentParser) -> None:
    add_case(parser)
    parser.add_argument(
        "--signer", required=True, metavar="NAME", help="who signs; never taken from the log-in"
    )
    parser.add_argument(
        "--role", required=True, metavar="ROLE", help="role in this case, such as anaesthetist"
    )
    parser.add_argument(
        "--meaning",
        default="signed",
        choices=("signed", "countersigned", "co-signed", "witnessed"),
        help="signed where not given",
    )
    parser.add_argument("--because", default="", metavar="TEXT", help="why, although something is missing")
    add_person(parser, signing=True)


def _run(args: argparse.Namespace) -> int:
    from lungeline.cli.case_text import who
    from lungeline.theatre import sign

    desk = desk_of(args, args.signer)
    pin = _typed_pin() if desk.person().pin is not None else None
    entry = sign(desk, args.id, role=args.role, meaning=args.meaning, because=args.because, pin=pin)
    count = int(entry.body["head_count_number"])
    content = {
        "case": entry.case,
        "seq": entry.seq,
        "signer": entry.author,
        "role": entry.body["role"],
        "meaning": entry.body["meaning"],
        "head": {"count": count, "hash": entry.body["head_hash"]},
    }
    signed = f"{args.meaning} by {entry.author}, {args.role}: entries 1 to {count}"
    line = f"{who(desk.cases.read(args.id))}: entry {entry.seq}, {signed}"
    return told(args, content, [line])


def _typed_pin() -> str:
    """Return the PIN, typed unseen, or from standard input where nobody sits there."""
    return getpass.getpass("PIN: ") if sys.stdin.isatty() else sys.stdin.readline().strip()


OPTIONS: dict[str, Callable[[argparse.ArgumentParser], None]] = {"sign": _options}
RUNS: dict[str, Callable[[argparse.Namespace], int]] = {"sign": _run}

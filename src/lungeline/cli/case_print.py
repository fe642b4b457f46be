"""`lungeline case print|card`: the whole record for print, and one page for whoever takes over."""

import argparse
from collections.abc import Callable
from pathlib import Path

from lungeline.cli.case import add_case, add_person, desk_of, folder, told
from lungeline.cli.writing import PAPERS, write


def _print_options(parser: argparse.ArgumentParser) -> None:
    add_case(parser)
    add_person(parser)
    parser.add_argument("--to", type=folder, help="file to write; ID.pdf where not given")
    parser.add_argument("--paper", choices=tuple(PAPERS), default="a4", help="a4 or letter (a4)")


def _card_options(parser: argparse.ArgumentParser) -> None:
    add_case(parser)
    add_person(parser)
    parser.add_argument("--pdf", type=folder, help="write it to this file instead of printing it here")
    parser.add_argument("--paper", choices=tuple(PAPERS), default="a4", help="a4 or letter (a4)")


def _print(args: argparse.Namespace) -> int:
    from lungeline.theatre.printing import print_record

    content = print_record(desk_of(args), args.id, paper=PAPERS[args.paper])
    path = write(args.to or Path(f"{args.id}.pdf"), content)
    return told(args, {"case": args.id, "file": str(path)}, [f"written: {path}"])


def _card(args: argparse.Namespace) -> int:
    from lungeline.theatre.printing import handover_lines, print_handover

    desk = desk_of(args)
    lines = handover_lines(desk, args.id)
    if args.pdf is None:
        return told(args, {"case": args.id, "lines": lines}, lines)
    path = write(args.pdf, print_handover(desk, args.id, paper=PAPERS[args.paper]))
    return told(args, {"case": args.id, "file": str(path)}, [f"written: {path}"])


OPTIONS: dict[str, Callable[[argparse.ArgumentParser], None]] = {
    "print": _print_options,
    "card": _card_options,
}
RUNS: dict[str, Callable[[argparse.Namespace], int]] = {"print": _print, "card": _card}

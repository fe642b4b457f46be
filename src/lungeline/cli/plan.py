"""`lungeline plan`: what to set, fill, draw up and have ready for a case, and why."""

import argparse
import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.cli.writing import write
from lungeline.errors import OutOfRangeError

if TYPE_CHECKING:
    from lungeline.case import Case, Profile
    from lungeline.plan import Plan

_MOST_ANIMALS = 5000


def add_parser(subparsers: "argparse._SubParsersAction[Any]") -> None:
    """Add the command to the program's commands."""
    parser = subparsers.add_parser(
        "plan",
        help="settings, spare gas, priming, supplies and drugs for a case, each number with its reason",
        description="Plan a case. The case is a TOML file; only species and weight (or girth and length) "
        "must be in it. What the file sets is kept; all else is planned.",
    )
    parser.add_argument("case", metavar="CASE", help="case file, .toml or .json; - for standard input")
    parser.add_argument("--profile", type=Path, metavar="FILE", help="the clinic's own choices, .toml")
    parser.add_argument(
        "--animals", type=int, default=100, metavar="N", help="drawn for ranges, 100 if not given"
    )
    parser.add_argument("--seed", type=int, default=1, help="which animals, 1 where not given")
    parser.add_argument("--why", metavar="NAME", help="where one number comes from; 'list' for all names")
    parser.add_argument("--json", action="store_true", help="everything as JSON")
    parser.add_argument("--toml", type=Path, metavar="FILE", help="write the plan as a case to simulate")
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="write the plan for print")
    parser.add_argument("--paper", choices=("a4", "letter"), default="a4", help="of the PDF, a4 if not given")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Plan what was asked for, print it, and return the exit status."""
    if not 1 <= args.animals <= _MOST_ANIMALS:
        raise OutOfRangeError(
            where="--animals", given=args.animals, allowed=f"1 to {_MOST_ANIMALS}", do="Give a number."
        )
    if args.seed < 0:
        raise OutOfRangeError(where="--seed", given=args.seed, allowed="0 or more", do="Give a whole number.")
    plan = _planned(args)
    if args.toml:
        write(args.toml, _toml(plan).encode())
    if args.pdf:
        from lungeline.export.pdf import plan_pdf

        write(args.pdf, plan_pdf(plan, paper=args.paper))
    print(_told(args, plan))
    return 0


def _planned(args: argparse.Namespace) -> "Plan":
    from lungeline.cli.progress import Bar
    from lungeline.plan import make_plan

    case, profile, bar = _case(args.case), _profile(args.profile), Bar("animals")
    try:
        return make_plan(case, profile, animals=args.animals, seed=args.seed, progress=bar.show)
    finally:
        bar.clear()


def _case(name: str) -> "Case":
    from lungeline.case import case_from_toml, load_case

    return case_from_toml(sys.stdin.read()) if name == "-" else load_case(name)


def _profile(path: Path | None) -> "Profile | None":
    from lungeline.case import load_profile

    return None if path is None else load_profile(path)


def _toml(plan: "Plan") -> str:
    from lungeline.case import case_to_toml

    return case_to_toml(plan.planned)


def _told(args: argparse.Namespace, plan: "Plan") -> str:
    if args.why == "list":
        return "\n".join(sorted(plan.numbers()))
    if args.why:
        why = plan.why(args.why)
        if args.json:
            return json.dumps(why, ensure_ascii=False, indent=2)
        from lungeline.cli.plan_text import why_lines

        return "\n".join(why_lines(plan, why))
    if args.json:
        return json.dumps(plan.as_json(), ensure_ascii=False, allow_nan=False)
    from lungeline.cli.plan_text import plan_lines

    return "\n".join(plan_lines(plan))

"""`lungeline explain`: life threats, causes and the one test that tells, from typed readings."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.errors import InputError

if TYPE_CHECKING:
    from lungeline.case import Reading
    from lungeline.explain import Explanation, RankedCause

_MOST_CAUSES = 6
_AFTER_S = 60.0  # typed readings of now stand a minute after those of before


def add_parser(subparsers: "argparse._SubParsersAction[Any]") -> None:
    """Add the command to the program's commands."""
    parser = subparsers.add_parser(
        "explain",
        help="why does measured differ from expected? causes, and the one test that tells",
        description="Life threats first; then the causes that fit what was measured, and the test that "
        "would tell most. Of the causes known here, in a simulated animal.",
    )
    parser.add_argument("case", metavar="CASE", help="case file, .toml or .json, with the settings in force")
    parser.add_argument(
        "--readings", nargs="+", required=True, metavar="READING",
        help="a table (.csv, with time_min or time_s), or key=value, such as etco2_mmhg=41",
    )  # fmt: skip
    parser.add_argument(
        "--before", nargs="+", default=[], metavar="READING",
        help="key=value read while all was well, settings the same",
    )  # fmt: skip
    parser.add_argument(
        "--changed-at", type=float, metavar="MIN", help="of a table: until when all was well, on its clock"
    )
    parser.add_argument(
        "--at",
        type=float,
        default=0.0,
        metavar="MIN",
        help="where in the case's changes, its start if not given",
    )
    parser.add_argument(
        "--answer",
        nargs="+",
        default=[],
        metavar="TEST=ANSWER",
        help="what a test found, as listed by --json",
    )
    parser.add_argument("--assume", type=Path, metavar="FILE", help="other assumptions than the project's")
    parser.add_argument("--seed", type=int, default=1, help="which animals are drawn, 1 where not given")
    parser.add_argument("--json", action="store_true", help="everything as JSON")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Explain, print, and return the exit status."""
    from lungeline.case import load_case
    from lungeline.explain import explain, load_assumed

    if args.seed < 0:
        raise InputError(where="--seed", given=args.seed, allowed="0 or more", do="Give a whole number.")
    readings, changed_s = _readings(args)
    told = explain(
        load_case(args.case), readings, changed_s=changed_s, at_min=args.at, answers=_answers(args.answer),
        assuming=load_assumed(args.assume) if args.assume else None, seed=args.seed,
    )  # fmt: skip
    print(json.dumps(told.as_json(), ensure_ascii=False, indent=2) if args.json else "\n".join(_lines(told)))
    return 0


def _readings(args: argparse.Namespace) -> "tuple[list[Reading], float | None]":
    from lungeline.explain.readings_file import readings_from_file, readings_from_words

    files = [word for word in args.readings if "=" not in word]
    if files and (len(args.readings) > 1 or args.before):
        raise InputError(
            where="--readings", given=args.readings, allowed="one file, or key=value words with --before",
            do="Give one or the other.",
        )  # fmt: skip
    if files:
        return readings_from_file(files[0]), None if args.changed_at is None else args.changed_at * 60.0
    before = readings_from_words(args.before)
    return [*before, *readings_from_words(args.readings, _AFTER_S)], 0.0 if before else None


def _answers(words: list[str]) -> dict[str, str]:
    found = {}
    for word in words:
        name, equals, answer = word.partition("=")
        if not equals:
            raise InputError(where="--answer", given=word, allowed="TEST=ANSWER", do="Give both.")
        found[name] = answer
    return found


def _lines(told: "Explanation") -> list[str]:
    from lungeline.explain import proposal_finding
    from lungeline.words import say

    lines = []
    for finding in told.findings():
        said = say(finding)
        lines += [f"{said.severity.upper()}: {said.says}", f"  -> {said.do}"]
    lines += ["", "Of the causes known here, in a simulated animal (assumed: how common, how readings err):"]
    shown = told.shown()
    for cause in shown[:_MOST_CAUSES]:
        lines += _cause_lines(cause)
    rest = [cause.code for cause in shown[_MOST_CAUSES:] if cause.word == "not excluded"]
    if rest:
        lines.append(f"  Lethal and not excluded by any observation: {', '.join(rest)}.")
    if told.tests:
        best = told.tests[0]
        said = say(proposal_finding(best))
        lines += ["", f"Next: {said.do}", f"  {best.test.code}. {said.says}"]
        if best.test.answers:
            lines.append(f"  Then add --answer {best.test.code}=" + "|".join(best.test.answers))
    return lines


def _cause_lines(cause: "RankedCause") -> list[str]:
    from lungeline.words import say

    said = say(cause.finding())
    lines = [f"  {cause.word:<12} {cause.code}: {said.says}"]
    lines += [f"{'':15}+ {say(each.finding(speaks_for=True)).says}" for each in cause.evidence_for]
    lines += [f"{'':15}- {say(each.finding(speaks_for=False)).says}" for each in cause.evidence_against]
    return [*lines, f"{'':15}-> {said.do}"]

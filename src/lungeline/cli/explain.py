"""`lungeline explain`: life threats, causes, the one test that tells; the animal fitted, and what comes."""

import argparse
import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.errors import InputError

if TYPE_CHECKING:
    from lungeline.case import Case, Reading
    from lungeline.explain import Assumed, Choice, Explanation, Fitted, Outlook, RankedCause

_MOST_CAUSES = 6
_AFTER_S = 60.0  # typed readings of now stand a minute after those of before
_STEADY_MIN = 30.0  # typed readings of a case that has just begun are of one that has been steady for so long
_SHOWN_AHEAD = ("paco2_mmhg", "pao2_mmhg", "oxygen_delivery_l_min", "peak_pressure_cmh2o", "spare_volume_l")
_LEAVE, _STOP = "leave", "stop"


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
    parser.add_argument(
        "--fit", action="store_true", help="also fit this animal to what was read while all was well"
    )
    parser.add_argument(
        "--ahead", nargs="+", default=[], metavar="CHOICE",
        help="also fit, and look ahead under up to four choices: leave, stop (the ventilator), or settings "
        "joined by commas, such as respiratory_rate_per_min=8,peep_cmh2o=10",
    )  # fmt: skip
    parser.add_argument(
        "--minutes", type=float, default=30.0, metavar="MIN", help="how far to look ahead, 30 if not given"
    )
    parser.add_argument("--json", action="store_true", help="everything as JSON")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Explain, print, and return the exit status."""
    from lungeline.case import load_case
    from lungeline.explain import explain, load_assumed

    if args.seed < 0:
        raise InputError(where="--seed", given=args.seed, allowed="0 or more", do="Give a whole number.")
    readings, changed_s = _readings(args)
    case, assuming = load_case(args.case), load_assumed(args.assume) if args.assume else None
    told = explain(
        case, readings, changed_s=changed_s, at_min=args.at, answers=_answers(args.answer),
        assuming=assuming, seed=args.seed,
    )  # fmt: skip
    fitted, ahead = _fitted(args, case, readings, changed_s, assuming)
    if args.json:
        more: dict[str, Any] = {} if fitted is None else {"fitted": fitted.as_json()}
        more |= {"ahead": [each.as_json() for each in ahead]} if ahead else {}
        print(json.dumps({**told.as_json(), **more}, ensure_ascii=False, indent=2))
        return 0
    lines = _lines(told)
    if fitted is not None:
        lines += _fitted_lines(fitted)
    for each in ahead:
        lines += _ahead_lines(each)
    print("\n".join(lines))
    return 0


def _fitted(
    args: argparse.Namespace,
    case: "Case",
    readings: "list[Reading]",
    changed_s: float | None,
    assuming: "Assumed | None",
) -> "tuple[Fitted | None, tuple[Outlook, ...]]":
    """Return the animal as fitted to what was read while all was well, and what comes next, if asked for."""
    if not (args.fit or args.ahead):
        return None, ()
    from lungeline.explain import fit, look_ahead

    well = [it for it in readings if changed_s is None or it.time_s <= changed_s]
    if any("=" in word for word in args.readings):
        at_s = 60.0 * (args.at or _STEADY_MIN)
        well = [replace(it, time_s=at_s) for it in well]
    fitted = fit(case, well, assuming=assuming)
    choices = [_choice(word) for word in args.ahead]
    return fitted, look_ahead(fitted, choices, minutes=args.minutes, assuming=assuming) if choices else ()


def _choice(word: str) -> "Choice":
    """Return a choice as it is written: leave, stop, or settings joined by commas."""
    from lungeline.case import Change
    from lungeline.explain import Choice

    if word == _LEAVE:
        return Choice(name=word)
    if word == _STOP:
        return Choice(name=word, changes=(Change(at_min=0.0, settings={"ventilator_on": False}),))
    settings = {}
    for part in word.split(","):
        name, equals, value = part.partition("=")
        if not equals:
            raise InputError(
                where="--ahead", given=word, allowed="leave, stop, or name=value joined by commas",
                do="Write it as one of these.",
            )  # fmt: skip
        try:
            settings[name] = float(value)
        except ValueError:
            raise InputError(
                where=f"--ahead {name}", given=value, allowed="a number", do="Give a number."
            ) from None
    return Choice(name=word, changes=(Change(at_min=0.0, settings=settings),))


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


def _fitted_lines(fitted: "Fitted") -> list[str]:
    from lungeline.words import number_text, say

    lines = ["", "This animal, as far as the readings move it (80 %), and a usual one:"]
    for it in fitted.numbers:
        told = [number_text(it.name, value) for value in (it.value, it.low, it.high, it.usual)]
        lines.append(f"  {it.name}: {told[0]} ({told[1]} to {told[2]}), usual {told[3]}")
    return [*lines, *(f"  {say(each).says} {say(each).do}" for each in fitted.findings())]


def _ahead_lines(outlook: "Outlook") -> list[str]:
    from lungeline.words import number_text, say

    lines = ["", f"{outlook.choice}, in {outlook.minutes[-1]:g} min (80 %):"]
    for name in _SHOWN_AHEAD:
        band = outlook.bands.get(name)
        if band is not None:
            told = [number_text(name, float(each[-1])) for each in (band.middle, band.low, band.high)]
            lines.append(f"  {name}: {told[0]} ({told[1]} to {told[2]})")
    return [*lines, *(f"  {say(each).says} {say(each).do}" for each in outlook.findings())]


def _cause_lines(cause: "RankedCause") -> list[str]:
    from lungeline.words import say

    said = say(cause.finding())
    lines = [f"  {cause.word:<12} {cause.code}: {said.says}"]
    lines += [f"{'':15}+ {say(each.finding(speaks_for=True)).says}" for each in cause.evidence_for]
    lines += [f"{'':15}- {say(each.finding(speaks_for=False)).says}" for each in cause.evidence_against]
    return [*lines, f"{'':15}-> {said.do}"]

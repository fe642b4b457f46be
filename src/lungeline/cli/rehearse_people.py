"""`lungeline rehearse --sign-off | --signed-off | --group`: who has shown which skill."""

import argparse
import getpass
import sys
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from lungeline.cli.rehearse_text import as_text
from lungeline.errors import MissingError

if TYPE_CHECKING:
    from lungeline.theatre.competence import Competence, SignOff


def add_people(parser: argparse.ArgumentParser) -> None:
    """Add what concerns people to the command line."""
    group = parser.add_argument_group("skills signed off")
    group.add_argument("--sign-off", metavar="PERSON", help="sign a skill off; the PIN is asked for")
    group.add_argument("--skill", help="check, set, watch, act, wean or lead")
    group.add_argument("--assessor", metavar="NAME", help="the teacher who saw it")
    group.add_argument("--not-shown", action="store_true", help="it was not shown yet")
    group.add_argument("--note", default="", metavar="TEXT", help="what was seen")
    group.add_argument("--signed-off", metavar="PERSON", help="what is signed off of one person")
    group.add_argument(
        "--group", action="store_true", help="the group by skill, without names; of five or more"
    )


def run_people(args: argparse.Namespace) -> int:
    """Do what was asked of people's skills."""
    from lungeline.cli.case import desk_of
    from lungeline.theatre.competence import Competence

    competence = Competence(folder=desk_of(args).cases.path)
    if args.sign_off is not None:
        return _sign_off(args, competence)
    if args.signed_off is not None:
        found = competence.of(args.signed_off)
        plain = {"person": args.signed_off, "lines": [it.as_json() for it in found]}
        lines = [_line(it) for it in found] or [f"Nothing is signed off of {args.signed_off}."]
    else:
        shares = competence.group()
        plain = {"skills": [it.as_json() for it in shares]}
        lines = [
            f"{it.skill:8}"
            + ("fewer than five people: not told" if it.people is None else f"{it.shown} of {it.people}")
            for it in shares
        ]
    print(as_text(plain) if args.json else "\n".join(lines))
    return 0


def _sign_off(args: argparse.Namespace, competence: "Competence") -> int:
    for name in ("skill", "assessor"):
        if getattr(args, name) is None:
            raise MissingError(
                where="sign-off", given=f"no --{name}", allowed="--skill and --assessor", do="Give both."
            )
    kept = competence.sign_off(
        person=args.sign_off,
        skill=args.skill,
        scenario=args.scenario or "",
        passed=not args.not_shown,
        assessor=args.assessor,
        pin=_typed_pin(),
        at=datetime.now(UTC).astimezone(),
        note=args.note,
    )
    print(as_text(kept.as_json()) if args.json else _line(kept))
    return 0


def _typed_pin() -> str:
    """Return the PIN, typed unseen, or from standard input where nobody sits there."""
    return getpass.getpass("PIN: ") if sys.stdin.isatty() else sys.stdin.readline().strip()


def _line(it: "SignOff") -> str:
    shown = "shown" if it.passed else "not shown yet"
    where = f" in {it.scenario}" if it.scenario else ""
    note = f": {it.note}" if it.note else ""
    return f"{it.at}  {it.person}  {it.skill} {shown}{where}, by {it.assessor}{note}"

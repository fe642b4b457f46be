"""`lungeline case new|enter|correct|strike`: what is written into a case."""

import argparse
import json
from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, Any

from lungeline.cli.case import add_case, add_person, desk_of, folder, told
from lungeline.cli.case_fields import add_field_options, enterable, fields_given, kind_meant
from lungeline.cli.check import read_text
from lungeline.errors import InputError

if TYPE_CHECKING:
    from lungeline.record import Entry
    from lungeline.theatre import Desk


def _new_options(parser: argparse.ArgumentParser) -> None:
    add_field_options(parser, ["opening"])
    add_person(parser)
    parser.add_argument("--id", metavar="ID", help="id of the case; made where not given")
    parser.add_argument("--plan", type=folder, metavar="FILE", help="its plan, as `plan --json` gives it")


def _enter_options(parser: argparse.ArgumentParser) -> None:
    add_case(parser)
    parser.add_argument("--kind", choices=enterable(), help="kind of entry; from its fields where not given")
    add_person(parser)
    _add_time(parser)
    parser.add_argument("--uid", metavar="UID", help="of an entry perhaps sent before: entered once only")
    parser.add_argument("--plan", type=folder, metavar="FILE", help="a plan, as `plan --json` gives it")
    add_field_options(parser, enterable())


def _correct_options(parser: argparse.ArgumentParser) -> None:
    add_case(parser)
    parser.add_argument("seq", type=int, metavar="N", help="number of the entry")
    parser.add_argument("--because", required=True, metavar="TEXT", help="why")
    parser.add_argument("--leave-out", action="append", default=[], metavar="FIELD", help="was not measured")
    add_person(parser)
    _add_time(parser)
    add_field_options(parser, ["opening", *enterable()])


def _strike_options(parser: argparse.ArgumentParser) -> None:
    add_case(parser)
    parser.add_argument("seq", type=int, metavar="N", help="number of the entry, or of a strike-out to undo")
    parser.add_argument("--because", required=True, metavar="TEXT", help="why")
    add_person(parser)


def _add_time(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--at", metavar="TIME", help="when it was: 14:05, or date and time with offset")
    parser.add_argument("--ago-min", type=float, metavar="MIN", help="when it was: so many minutes ago")


def _new(args: argparse.Namespace) -> int:
    from lungeline.cli.case_text import who

    desk: Desk = desk_of(args)
    given = fields_given(args)
    body = {"purpose": "real", "name": "unnamed", **given}
    plan = _plan(args)  # before the case is opened: a plan that cannot be read must not leave half of it
    entry = desk.open_case(body, case=args.id)
    if plan is not None:
        desk.enter(entry.case, "plan", plan)
    now = desk.cases.read(entry.case)
    content = {"id": entry.case, **_acknowledged(entry), "mark": now.mark}
    return told(args, content, [f"case {entry.case} opened: {who(now)}"])


def _enter(args: argparse.Namespace) -> int:
    desk: Desk = desk_of(args)
    plan, given = _plan(args), fields_given(args)
    if plan is not None and given:
        raise InputError(
            where="case enter --plan",
            given=", ".join(given),
            allowed="nothing else",
            do="Enter it by itself.",
        )
    kind = "plan" if plan is not None else args.kind or kind_meant(given)
    body = given if plan is None else plan
    entry = desk.enter(args.id, kind, body, event_time=_moment(args, desk), uid=args.uid)
    return _acknowledge(args, desk, entry)


def _correct(args: argparse.Namespace) -> int:
    desk: Desk = desk_of(args)
    left_out = [name.removeprefix("--").replace("-", "_") for name in args.leave_out]
    changes = fields_given(args)
    entry = desk.correct(
        args.id, args.seq, args.because, changes, leave_out=left_out, event_time=_moment(args, desk)
    )
    return _acknowledge(args, desk, entry)


def _strike(args: argparse.Namespace) -> int:
    desk: Desk = desk_of(args)
    return _acknowledge(args, desk, desk.strike(args.id, args.seq, args.because))


def _moment(args: argparse.Namespace, desk: "Desk") -> datetime | None:
    return desk.moment(args.id, at=args.at, ago_min=args.ago_min, uid=getattr(args, "uid", None))


def _plan(args: argparse.Namespace) -> dict[str, Any] | None:
    from lungeline.theatre import plan_body

    if args.plan is None:
        return None
    try:
        plan = json.loads(read_text(args.plan, "plan"))
    except ValueError as error:
        raise InputError(
            where=str(args.plan), given=str(error), allowed="a plan as JSON", do="Write it with plan --json."
        ) from None
    return plan_body(plan)


def _acknowledge(args: argparse.Namespace, desk: "Desk", entry: "Entry") -> int:
    from lungeline.cli.case_text import who

    now = desk.cases.read(entry.case)
    amended = f" (entry {args.seq} stays in view)" if entry.corrects else ""
    line = f"{who(now)}: entry {entry.seq}, {entry.kind}, {entry.event_time:%Y-%m-%d %H:%M:%S%z}{amended}"
    return told(args, {**_acknowledged(entry), "mark": now.mark}, [line])


def _acknowledged(entry: "Entry") -> dict[str, Any]:
    return {
        "case": entry.case,
        "seq": entry.seq,
        "uid": entry.uid,
        "kind": entry.kind,
        "event_time": entry.event_time.isoformat(timespec="milliseconds"),
        "hash": entry.hash,
    }


OPTIONS: dict[str, Callable[[argparse.ArgumentParser], None]] = {
    "new": _new_options,
    "enter": _enter_options,
    "correct": _correct_options,
    "strike": _strike_options,
}
RUNS: dict[str, Callable[[argparse.Namespace], int]] = {
    "new": _new,
    "enter": _enter,
    "correct": _correct,
    "strike": _strike,
}

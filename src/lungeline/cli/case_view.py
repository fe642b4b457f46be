"""`lungeline case list|show`: the cases there are, and one case as it now stands."""

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING

from lungeline.cli.case import add_case, desk_of, told

if TYPE_CHECKING:
    from lungeline.theatre import Damaged

LIST_SCHEMA = "lungeline.case_list/1"


def _list_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--running", action="store_true", help="only those that are not closed")


def _show_options(parser: argparse.ArgumentParser) -> None:
    add_case(parser)
    parser.add_argument("--signed", action="store_true", help="as it was when it was last signed")


def _list(args: argparse.Namespace) -> int:
    from lungeline.cli.case_text import damaged_lines, list_lines
    from lungeline.theatre.case_json import listed_json

    cases = desk_of(args).cases
    damaged: list[Damaged] = []
    found = [it for it in cases.listed(damaged) if it.phase != "closed" or not args.running]
    # stable: of those that run and those that do not, the order stays
    found.sort(key=lambda listed: listed.phase == "closed")
    content = {
        "schema": LIST_SCHEMA,
        "cases": [listed_json(listed) for listed in found],
        "damaged": [{"id": it.case, "reason": it.reason} for it in damaged],
    }
    return told(args, content, [*damaged_lines(damaged), *list_lines(found)])


def _show(args: argparse.Namespace) -> int:
    from dataclasses import replace

    from lungeline.cli.case_text import show_lines
    from lungeline.errors import RecordError
    from lungeline.theatre import as_signed, findings_before_signing, versions
    from lungeline.theatre.case_json import record_json

    desk = desk_of(args)
    now = desk.cases.read(args.id)
    if args.signed:
        frozen = versions(now.entries)
        if not frozen:
            raise RecordError(
                where=f"case {args.id}",
                given="no signature",
                allowed="a signed case",
                do="Leave --signed out.",
            )
        last = frozen[-1]
        now = replace(now, entries=now.entries[: last.count], state=as_signed(now.entries, last))
    moment = desk.clock()
    findings = findings_before_signing(now, desk)
    return told(args, record_json(now, moment, findings), show_lines(now, moment, findings))


OPTIONS: dict[str, Callable[[argparse.ArgumentParser], None]] = {"list": _list_options, "show": _show_options}
RUNS: dict[str, Callable[[argparse.Namespace], int]] = {"list": _list, "show": _show}

"""`lungeline check register`: the equipment there is, what it holds, and when it is due."""

import argparse
from datetime import date
from typing import TYPE_CHECKING, Any

from lungeline.case.fields import described
from lungeline.check.register import Item
from lungeline.cli.check import equipment_of, finding_lines, json_text
from lungeline.errors import MissingError

if TYPE_CHECKING:
    from lungeline.theatre.equipment import Machine

SCHEMA = "lungeline.register/1"
_DEST = "item_"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what can be done with the register."""
    parser.add_argument(
        "what",
        choices=("list", "add", "show", "change", "retire"),
        nargs="?",
        default="list",
        help="list where not given",
    )
    parser.add_argument(
        "machine", nargs="?", default="", metavar="NAME", help="name, serial or id of what is meant"
    )
    parser.add_argument("--reason", default="", help="why it is retired")
    parser.add_argument(
        "--by", default="", metavar="NAME", help="who says so; LUNGELINE_AUTHOR where not given"
    )
    parser.add_argument("--all", action="store_true", help="retired equipment too")
    for key, doc in described(Item).items():
        if key == "name":
            continue
        kind = float if doc.kind == "number" else str
        flag = f"--{key.replace('_', '-')}"
        parser.add_argument(flag, dest=_DEST + key, type=kind, choices=doc.choices or None, help=doc.label)


def run(args: argparse.Namespace) -> int:
    """Do it and return the exit status."""
    from lungeline.check import due

    equipment = equipment_of(args)
    told = {key: getattr(args, _DEST + key) for key in described(Item) if key != "name"}
    given = {key: value for key, value in told.items() if value is not None}
    if args.what != "list" and not args.machine:
        raise MissingError(
            where=f"register {args.what}", given="no name", allowed="the name of the equipment", do="Name it."
        )
    match args.what:
        case "add":
            from lungeline.check.register import item_from_json

            shown = [equipment.add(item_from_json({**given, "name": args.machine}))]
        case "change":
            shown = [equipment.change(args.machine, given)]
        case "retire":
            shown = [equipment.retire(args.machine, args.reason)]
        case "show":
            shown = [equipment.machine(args.machine)]
        case _:
            shown = list(equipment.machines(retired=args.all))
    findings = due([it.item for it in shown if not it.retired], date.today().isoformat())  # noqa: DTZ011  the clinic's own day
    if args.json:
        content = {
            "schema": SCHEMA,
            "equipment": [_plain(it) for it in shown],
            "findings": [f.as_json() for f in findings],
        }
        print(json_text(content))
    else:
        lines = [_line(it) for it in shown] or ["no equipment is registered"]
        print("\n".join([*lines, *finding_lines(findings)]))
    return 0


def _plain(it: "Machine") -> dict[str, Any]:
    return {"id": it.id, **it.item.as_json(), "retired": it.retired, "entries": it.store.counts()[it.id]}


def _line(it: "Machine") -> str:
    from lungeline.words import number_text

    docs = described(Item)
    facts = [
        f"{docs[key].label} {number_text(key, value) if isinstance(value, float) else value}"
        for key in docs
        if key not in {"sort", "name"} and (value := getattr(it.item, key)) not in {None, ""}
    ]
    retired = f"  RETIRED: {it.retired}" if it.retired else ""
    return f"{it.item.sort:<10}  {it.item.name}  {', '.join(facts)}{retired}"

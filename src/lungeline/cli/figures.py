"""`lungeline figures`: every number taken from outside, and every fault the model knows."""

import argparse
import json
import sys
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, TextIO

from lungeline.errors import UnknownNameError
from lungeline.figure import Figure
from lungeline.reference import figure, figures, sources
from lungeline.reference.page import range_text, value_text

if TYPE_CHECKING:
    from lungeline.simulate.faults import Fault

SCHEMA = "figures/1"


def add_parser(subparsers: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command to the program's commands."""
    parser = subparsers.add_parser(
        "figures",
        help="list published figures with range, basis and source",
        description="List published figures with their range, what they rest on and their source. "
        "One exact name shows everything about that figure.",
    )
    parser.add_argument("name", nargs="?", default="", metavar="NAME-PREFIX", help="name, or its beginning")
    parser.add_argument("--json", action="store_true", help="as JSON")
    parser.add_argument("--memory", action="store_true", help="only those that rest on memory")
    parser.add_argument("--faults", action="store_true", help="the faults the model knows, instead")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Print what was asked for and return the exit status."""
    _print(_faults_text(args) if args.faults else _figures_text(args), sys.stdout)
    return 0


def _figures_text(args: argparse.Namespace) -> str:
    found = _named(args.name)
    if args.memory:
        found = [item for item in found if item.rests_on_memory]
    if args.json:
        return _json_text(_figures_json(found))
    if not found:
        return "No figure here rests on memory."
    return _card(found[0]) if found[0].name == args.name else _figure_table(found)


def _named(prefix: str) -> list[Figure]:
    """Return the figure of exactly this name, else all whose names begin so."""
    everything = figures()
    if prefix in everything:
        return [everything[prefix]]
    found = [item for name, item in everything.items() if name.startswith(prefix)]
    return found or [figure(prefix)]  # the latter refuses the name and tells what is near


def _figures_json(found: Sequence[Figure]) -> dict[str, object]:
    cited = {item.source for item in found}
    return {
        "schema": SCHEMA,
        "figures": [{**item.as_json(), "rests_on_memory": item.rests_on_memory} for item in found],
        "sources": {
            key: {"citation": source.citation, "identifier": source.identifier}
            for key, source in sources().items()
            if key in cited
        },
    }


def _figure_table(found: Sequence[Figure]) -> str:
    head = ("figure", "value", "range", "basis", "source", "seen")
    rows = [
        (item.name, value_text(item), range_text(item), item.basis, item.source, item.seen) for item in found
    ]
    remembered = sum(item.rests_on_memory for item in found)
    return f"{_table(head, rows)}\n\n{len(found)} figures, {remembered} of them from memory."


def _card(item: Figure) -> str:
    source = sources()[item.source]
    lines = {
        "value": value_text(item),
        "range": range_text(item) or "not known",
        "basis": item.basis,
        "seen": item.seen,
        "source": f"{source.citation} [{source.key}]",
        "identifier": source.identifier,
        "place": item.place,
        "note": item.note,
        "caution": "Rests on memory: not seen in its source." if item.rests_on_memory else "",
    }
    width = max(map(len, lines)) + 2
    return "\n".join([item.name, *(f"  {key:<{width}}{text}" for key, text in lines.items() if text)])


def _faults_text(args: argparse.Namespace) -> str:
    found = _faults(args.name)
    if args.json:
        return _json_text({"faults": [_fault_json(item) for item in found]})
    head = ("fault", "domain", "title", "severity", "in model", "signs")
    rows = [
        (
            item.code,
            item.domain,
            item.title,
            item.severity_law,
            "yes" if item.producible else "no",
            _signs(item.signs),
        )
        for item in found
    ]
    return _table(head, rows)


def _faults(prefix: str) -> "list[Fault]":
    from lungeline.simulate.faults import FAULTS

    everything: Mapping[str, Fault] = FAULTS
    found = [item for code, item in everything.items() if code.startswith(prefix)]
    if not found:
        raise UnknownNameError.nearest(where="fault", given=prefix, valid=everything)
    return found


def _fault_json(item: "Fault") -> dict[str, object]:
    return {
        "code": item.code,
        "domain": item.domain,
        "title": item.title,
        "severity_law": item.severity_law,
        "signs": dict(item.signs),
        "in_model": item.producible,
    }


def _signs(signs: Mapping[str, object]) -> str:
    return ", ".join(f"{name} {sign}" for name, sign in signs.items())


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    widths = [max(map(len, column)) for column in zip(head, *rows, strict=True)]
    rule = tuple("-" * width for width in widths)
    lines = (
        "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True))
        for row in (head, rule, *rows)
    )
    return "\n".join(line.rstrip() for line in lines)


def _json_text(content: Mapping[str, object]) -> str:
    return json.dumps(content, ensure_ascii=False, indent=2)


def _print(text: str, stream: TextIO) -> None:
    stream.write(f"{text}\n")

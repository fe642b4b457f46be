"""`lungeline evidence`: sets the simulated animal against published studies and tells where it disagrees."""

import argparse
import json
import os
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lungeline.evidence import Comparison, Result

SCHEMA = "lungeline.evidence/1"
PICTURE = "evidence.svg"


def add_parser(subparsers: "argparse._SubParsersAction[Any]") -> None:
    """Add the command to the program's commands."""
    parser = subparsers.add_parser(
        "evidence",
        help="set the simulated animal against published studies",
        description="Do published studies again in simulation and tell which numbers agree, which do not, "
        "and why. Takes some seconds.",
    )
    parser.add_argument("--json", action="store_true", help="as JSON")
    parser.add_argument("--plot", type=Path, metavar="DIR", help=f"draw {PICTURE} into this folder")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Do every comparison, print them, and return the exit status: 0, whatever agrees."""
    if args.plot:
        from lungeline.cli import plot

        plot.check_target(args.plot / PICTURE)
    results = _results()
    if args.plot:
        from lungeline.cli import plot_evidence

        plot_evidence.draw(args.plot / PICTURE, results)
    print(_json_text(results) if args.json else "\n".join(_lines(results)))
    return 0


def _results() -> "list[Result]":
    from lungeline.evidence import run_all

    pool = ThreadPoolExecutor(max_workers=os.cpu_count())
    try:
        return run_all(pool, progress=_show_progress)
    finally:
        pool.shutdown(wait=False, cancel_futures=True)  # so that a person who stops it need not wait


def _show_progress(done: int, total: int) -> None:
    if sys.stderr.isatty():
        sys.stderr.write("\r\x1b[K" if done == total else f"\r{done} of {total} comparisons")
        sys.stderr.flush()


def _json_text(results: "Sequence[Result]") -> str:
    content = {
        "schema": SCHEMA,
        "inside": sum(result.inside for result in results),
        "of": len(results),
        "comparisons": [result.as_json() for result in results],
    }
    return json.dumps(content, ensure_ascii=False, allow_nan=False, indent=2)


def _lines(results: "Sequence[Result]") -> Iterator[str]:
    from lungeline.evidence.catalogue import GROUPS
    from lungeline.evidence.page import count_text

    by_key = {result.comparison.key: result for result in results}
    for heading, items in GROUPS.items():
        yield f"{heading}\n"
        for study, same_study in groupby(items, key=_study):
            yield f"  {study}"
            for set_up, same in groupby(same_study, key=lambda item: item.set_up):
                yield f"    {set_up}"
                yield from _table([by_key[item.key] for item in same])
            yield ""
    yield from _outside(results)
    yield f"{count_text(results)} * target of the fit."
    yield "Decision support, not a medical device: the attending veterinarian decides."


def _study(item: "Comparison") -> str:
    return f"{item.source.title} [{item.study}]"


def _table(results: "Sequence[Result]") -> Iterator[str]:
    from lungeline.evidence.page import ours_text, published_text

    rows = [
        (
            result.comparison.quantity,
            f"published {published_text(result.comparison)}",
            f"ours {ours_text(result)}",
            ("inside" if result.inside else "OUTSIDE") + (" *" if result.comparison.target_of_fit else ""),
        )
        for result in results
    ]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        yield (
            "      " + "  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip()
        )


def _outside(results: "Sequence[Result]") -> Iterator[str]:
    missed = [result.comparison for result in results if not result.inside]
    if missed:
        yield "Outside, and why\n"
    for reason, same in groupby(sorted(missed, key=_reason), key=_reason):
        yield "  " + "; ".join(f"{item.key}" for item in same)
        yield f"    {reason}\n"


def _reason(item: "Comparison") -> str:
    return item.reason_if_outside or "Not explained."

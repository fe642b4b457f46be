"""`lungeline case verify|export|backup|restore`: proof, files, copies."""

import argparse
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from lungeline.cli.case import add_case, desk_of, folder, told

if TYPE_CHECKING:
    from lungeline.record import Verdict

_NOT_INTACT = 1


def _verify_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("id", metavar="ID", nargs="?", help="id of the case; every case where not given")


def _export_options(parser: argparse.ArgumentParser) -> None:
    add_case(parser)
    parser.add_argument("target", type=folder, metavar="TARGET", help="folder for CSV, file for lines")
    parser.add_argument("--format", choices=("csv", "lines"), default="csv", help="csv where not given")
    parser.add_argument(
        "--anonymous", action="store_true", help="CSV without names, free texts, days and chain"
    )


def _backup_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "folder", type=folder, nargs="?", metavar="FOLDER", help="the data folder's own where not given"
    )


def _restore_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "copy", type=folder, metavar="COPY", help="a backup, a file of JSON lines, or a folder of CSV files"
    )


def _verify(args: argparse.Namespace) -> int:
    cases = desk_of(args).cases
    verdicts = [cases.verify(case) for case in ([args.id] if args.id else cases.known())]
    told(args, {"verdicts": [asdict(it) for it in verdicts]}, _verdict_lines(verdicts))
    return 0 if all(it.outcome == "intact" for it in verdicts) else _NOT_INTACT


def _verdict_lines(verdicts: Iterable["Verdict"]) -> list[str]:
    lines = [_verdict_line(it) for it in verdicts]
    return lines or ["no case"]


def _verdict_line(verdict: "Verdict") -> str:
    told_of = f"{verdict.case}: {verdict.outcome}, {verdict.count} entries"
    match verdict.outcome:
        case "intact":
            return f"{told_of}, proven to entry {verdict.proven_count}"
        case "changed":
            return f"{told_of}, first that does not fit: entry {verdict.at_seq} ({verdict.reason})"
        case "cut":
            return f"{told_of}, first that is missing: entry {verdict.at_seq}"
        case "unverifiable":
            advice = "; sign, or back up, so that there is one" if verdict.reason == "no head" else ""
            return f"{told_of}: {verdict.reason}{advice}"


def _export(args: argparse.Namespace) -> int:
    from lungeline.theatre import export_case

    paths = export_case(desk_of(args), args.id, args.target, form=args.format, anonymous=args.anonymous)
    return _paths_told(args, paths)


def _backup(args: argparse.Namespace) -> int:
    from lungeline.theatre import back_up_all

    return _paths_told(args, back_up_all(desk_of(args), args.folder))


def _paths_told(args: argparse.Namespace, paths: Sequence[Path]) -> int:
    return told(args, {"files": [str(path) for path in paths]}, [str(path) for path in paths])


def _restore(args: argparse.Namespace) -> int:
    from lungeline.theatre import restore

    verdicts = restore(desk_of(args), args.copy)
    return told(args, {"verdicts": [asdict(it) for it in verdicts]}, _verdict_lines(verdicts))


OPTIONS: dict[str, Callable[[argparse.ArgumentParser], None]] = {
    "verify": _verify_options,
    "export": _export_options,
    "backup": _backup_options,
    "restore": _restore_options,
}
RUNS: dict[str, Callable[[argparse.Namespace], int]] = {
    "verify": _verify,
    "export": _export,
    "backup": _backup,
    "restore": _restore,
}

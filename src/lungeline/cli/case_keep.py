"""`lungeline case verify|export|backup|restore`: proof, files, copies."""

import argparse
import json
import signal
import sys
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from lungeline.cli.case import add_case, desk_of, folder, told
from lungeline.errors import InputError, MissingError

if TYPE_CHECKING:
    from lungeline.record import Verdict
    from lungeline.theatre import Round

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
    parser.add_argument("--to", type=folder, metavar="FOLDER", help="the same")
    parser.add_argument(
        "--every-min", type=float, metavar="MIN", help="copy every so many minutes, until stopped (Ctrl-C)"
    )
    parser.add_argument(
        "--keep", type=int, default=20, metavar="N", help="copies to keep of those on a schedule (20)"
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

    if args.folder and args.to:
        raise InputError(
            where="case backup", given="two folders", allowed="one", do="Name one, with --to or without."
        )
    target = args.to or args.folder
    if args.every_min is None:
        return _paths_told(args, back_up_all(desk_of(args), target))
    if target is None:
        raise MissingError(
            where="case backup --every-min",
            given="no folder",
            allowed="a folder on another disk or stick",
            do="Name it with --to.",
        )
    return _back_up_often(args, target)


def _back_up_often(args: argparse.Namespace, target: Path) -> int:
    """Copy on a schedule until somebody stops it."""
    from lungeline.theatre import Backups, Schedule, check_right

    desk = desk_of(args)
    check_right(desk.person(), "backup")
    schedule = Schedule(folder=target, every_min=args.every_min, keep_number=args.keep)
    backups = Backups(desk.cases, schedule)
    if backups.on_the_same_disk:
        print(f"{target} is on the disk of the data: copies there are lost with it.", file=sys.stderr)
    stop = threading.Event()
    signal.signal(signal.SIGTERM, lambda *_: stop.set())
    try:
        backups.run(stop, _Teller(args))
    except KeyboardInterrupt:
        stop.set()
    return 0


class _Teller:
    """Tells what each round did, and a fault once for as long as it lasts."""

    def __init__(self, args: argparse.Namespace) -> None:
        self._args, self._fault = args, ""

    def __call__(self, done: "Round") -> None:
        """Tell one round."""
        fault = str(done.fault or "")
        if self._args.json and (done.copies or fault != self._fault):
            error = done.fault.as_json() if done.fault else {}
            print(json.dumps({"files": [str(path) for path in done.copies], **error}), flush=True)
        elif not self._args.json:
            for path in done.copies:
                print(path, flush=True)
            if fault and fault != self._fault:
                print(f"NO BACKUP: {fault}", file=sys.stderr, flush=True)
            if self._fault and not fault:
                print("Backups go on.", file=sys.stderr, flush=True)
        self._fault = fault


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

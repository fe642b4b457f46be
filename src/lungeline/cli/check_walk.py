"""`lungeline check walk`: the guided check, one key a step. Every answer is on disk before the next."""

import argparse
import io
import os
import re
import sys
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lungeline.cli.check import equipment_of, finding_lines, json_text, kept_lines, limits_of, read_text
from lungeline.errors import InputError, LungelineError, MissingError, StoreError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from lungeline.check import Checklist, Given, Notice, Step, Walk
    from lungeline.theatre.equipment import Machine

_GOOD, _BAD, _SKIP, _LEAVE, _SAYS = "y", "n", "s", "q", "m"
_KEYS = f"[{_GOOD}] good  [{_BAD}] not good  [{_SKIP}] skip  [{_SAYS}] the machine says …  [{_LEAVE}] leave"


class _LeaveError(Exception):
    """The person leaves; the check can be gone on with."""


class _SaysError(Exception):
    """The machine says something; the step is asked again once it is known what."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add the options of the guided check."""
    parser.add_argument("--machine", default="machine", metavar="NAME", help="machine that is checked")
    parser.add_argument(
        "--form", choices=("full", "short", "after"), default="full", help="full where not given"
    )
    parser.add_argument("--species", default="", metavar="WORD", help="leave out what is for other animals")
    parser.add_argument("--for-case", default="", metavar="ID", help="case of the record it is done for")
    parser.add_argument("--by", default="", metavar="NAME", help="who checks")
    parser.add_argument("--folder", type=Path, default=Path(), metavar="DIR", help="where checks are kept")
    parser.add_argument("--list", type=Path, metavar="FILE", help="the clinic's own list, TOML")
    parser.add_argument("--profile", type=Path, metavar="FILE", help="the clinic's profile, for its limits")
    parser.add_argument("--show", action="store_true", help="only show the steps")


def run(args: argparse.Namespace) -> int:
    """Go through the check and return the exit status."""
    if args.show:
        return _show(args)
    walk, file = _begun(args)
    screen = sys.stderr if args.json else sys.stdout
    try:
        while (step := walk.next_step) is not None:
            walk = _one_step(walk, step, file, args.by, screen)
        _log(args, walk, screen)
    except (_LeaveError, EOFError, KeyboardInterrupt):
        screen.write(f"\nLeft. Go on with the same command: {file}\n")
    print(json_text(walk.as_json()) if args.json else "\n".join(_lines(walk, file)))
    return 0


def _log(args: argparse.Namespace, walk: "Walk", screen: Any) -> None:  # noqa: ANN401  a stream
    """Write a finished check into the log of its machine, where that is registered; once, however often."""
    equipment = equipment_of(args)
    if _found(args) is None:
        screen.write(f"\n{walk.machine} is not registered: the check is kept in its file only.\n")
        return
    from lungeline.theatre.kept_checks import keep_walk

    try:
        kept = keep_walk(equipment, walk.machine, walk)
    except LungelineError as error:  # it is on disk, and tried again with the next check
        screen.write(f"\nNot kept everywhere yet: {error}\n")
        return
    screen.write("\n" + "\n".join(kept_lines(kept)) + "\n")


def _show(args: argparse.Namespace) -> int:
    checklist = _checklist(args.list)
    steps = checklist.form(args.form, args.species)
    if args.json:
        print(
            json_text({"checklist_stamp": checklist.stamp, "form": args.form, "checklist": checklist.content})
        )
        return 0
    print(f"{checklist.stamp}, {args.form}")
    for place, step in enumerate(steps, start=1):
        print("\n".join(_step_lines(step, place, len(steps), checklist.normal_at(step.key))))
    return 0


def _checklist(path: Path | None) -> Any:  # noqa: ANN401  a Checklist
    from lungeline.check import load_checklist, standard_checklist

    return standard_checklist() if path is None else load_checklist(path)


def _begun(args: argparse.Namespace) -> "tuple[Walk, Path]":
    """Return the check of today that is not finished, or a new one with its first line on disk."""
    from lungeline.check import Walk, forms_offered, head_line

    now = _now()
    machine = _machine(args)
    name = machine.item.name if machine else args.machine
    stem = re.sub(r"[^\w.-]+", "-", name)
    kept = {file: _read(file) for file in sorted(args.folder.glob(f"check-{stem}-*.jsonl"))}
    _log_finished(args, machine, kept.values())
    for file, walk in kept.items():
        wanted = (walk.form, walk.machine, walk.case) == (args.form, name, args.for_case)
        if wanted and not walk.finished and _same_day(walk, now):
            _mend(file)
            return walk, file
    offered = forms_offered([*kept.values(), *_logged_today(machine)], name, now)
    if args.form not in offered:
        raise InputError(
            where="check walk --form", given=args.form, allowed=", ".join(offered),
            do="The short form follows a full one of the same machine on the same day: make that first.",
        )  # fmt: skip
    walk = Walk(
        checklist=_checklist(args.list), form=args.form, machine=name, species=args.species,
        case=args.for_case, began_at=now, limits=limits_of(args.profile),
    )  # fmt: skip
    file = _new_file(args.folder, f"check-{stem}-{args.form}-{now.replace(':', '')}")
    _append(file, head_line(walk))
    return walk, file


def _new_file(folder: Path, stem: str) -> Path:
    """Return the name of a file that is not there yet, also where two checks begin in one second."""
    file, number = folder / f"{stem}.jsonl", 2
    while file.exists():
        file, number = folder / f"{stem}-{number}.jsonl", number + 1
    return file


def _machine(args: argparse.Namespace) -> "Machine | None":
    """Return the machine as it is registered, None where it is not; refuse what a case could not be told."""
    machine = _found(args)
    if args.for_case:
        if machine is None:
            raise MissingError(
                where="check walk --for-case", given=f"{args.machine}, which is not registered",
                allowed="a machine with a log", do="Register it: check register add NAME --sort ventilator.",
            )  # fmt: skip
        equipment_of(args).desk.cases.find(args.for_case)
    return machine


def _found(args: argparse.Namespace) -> "Machine | None":
    """Return the machine as it is registered; a log that is lost is told, and keeps nobody from the check."""
    try:
        return equipment_of(args).find(args.machine)
    except StoreError as error:
        print(f"The log cannot be used, the check is kept in its file only: {error}", file=sys.stderr)
        return None


def _logged_today(machine: "Machine | None") -> "tuple[Walk, ...]":
    """Return the guided checks of today in the log of the machine, wherever they were made."""
    if machine is None:
        return ()
    from lungeline.theatre.kept_checks import walks_since

    return walks_since(
        machine, datetime.now().astimezone().replace(hour=0, minute=0, second=0, microsecond=0)
    )


def _log_finished(args: argparse.Namespace, machine: "Machine | None", walks: "Iterable[Walk]") -> None:
    """Write checks into the log that were finished when the program was killed before it could."""
    if machine is None:
        return
    for walk in walks:
        if walk.finished and walk.machine == machine.item.name:
            _log(args, walk, io.StringIO())  # told when it was made, or not at all


def _now() -> str:
    return datetime.now().astimezone().isoformat(timespec="seconds")


def _same_day(walk: "Walk", now: str) -> bool:
    return walk.began_at[:10] == now[:10]


def _read(file: Path) -> "Walk":
    from lungeline.check import walk_from_lines

    return walk_from_lines(read_text(file, "check file").splitlines())


def _mend(file: Path) -> None:
    """Take away a last line that was not written to its end, so that the next begins on a line of its own."""
    content = file.read_bytes()
    whole = content[: content.rfind(b"\n") + 1]
    if whole != content:
        with file.open("r+b") as stream:
            stream.truncate(len(whole))


def _append(file: Path, line: str) -> None:
    """Write a line and wait until it is on disk."""
    try:
        with file.open("a", encoding="utf-8") as stream:
            stream.write(f"{line}\n")
            stream.flush()
            os.fsync(stream.fileno())
    except OSError as error:
        raise InputError(
            where="check walk --folder", given=str(error), allowed="a folder that can be written to",
            do="Name another with --folder.",
        ) from None  # fmt: skip


def _one_step(walk: "Walk", step: "Step", file: Path, by: str, screen: Any) -> "Walk":  # noqa: ANN401  a stream
    from lungeline.check import answer_line, answered

    place = [item.key for item in walk.steps].index(step.key) + 1
    normal = walk.checklist.normal_at(step.key)
    screen.write("\n".join(_step_lines(step, place, len(walk.steps), normal)) + "\n")
    notices: list[str] = []
    while True:
        screen.flush()
        try:
            given = replace(_asked(step, by, screen), notices=tuple(notices))
            further = answered(walk, step.key, given)
        except _SaysError:
            notices += _heard(walk.checklist, step, screen)
            continue
        except InputError as error:
            screen.write(f"  {error}\n")
            continue
        answer = further.answers[-1]
        _append(file, answer_line(answer))
        screen.write(f"  {answer.result}{'' if answer.result == 'pass' else f': {step.fix}'}\n")
        return further


def _heard(checklist: "Checklist", step: "Step", screen: Any) -> list[str]:  # noqa: ANN401  a stream
    """Ask what the machine says, and tell whether that is to be expected at this step."""
    for number, notice in enumerate(checklist.notices, start=1):
        screen.write(f"  [{number}] {notice.says}\n")
    typed = _typed("  which, or nothing: ", screen)
    if not typed.isdecimal() or not 1 <= int(typed) <= len(checklist.notices):
        screen.write("  Not of the list: judge it as a fault, and answer the step accordingly.\n")
        return []
    notice = checklist.notices[int(typed) - 1]
    if checklist.notice_is_normal(notice.key, step.key):
        until = checklist.step(notice.normal_until).title
        screen.write(f"  To be expected here; from “{until}” on it is a fault.\n")
    else:
        screen.write(f"  NOT to be expected here: {notice.else_means}\n")
    return [notice.key]


def _step_lines(step: "Step", place: int, count: int, normal: "tuple[Notice, ...]" = ()) -> list[str]:
    limits = f" [{step.limits_text}]" if step.limits_text else ""
    expected = [f"  The machine may say here: {notice.says}" for notice in normal]
    return [
        f"\n{place}/{count}  {step.title}",
        f"  {step.do}",
        f"  Passes: {step.passes}{limits}",
        f"  ({step.source}; failing means {step.fails})",
        *expected,
    ]


def _asked(step: "Step", by: str, screen: Any) -> "Given":  # noqa: ANN401  a stream
    from lungeline.check import Given

    if step.kind == "outcome":
        screen.write("".join(f"  [{item.key}] {item.word}; {item.sound}\n" for item in step.outcomes))
        word = _said(f"  how it ended, {_SKIP}, {_SAYS} or {_LEAVE}: ", screen)
        return Given(at=_now(), by=by, word=word, skipped=word == _SKIP)
    if step.kind == "tick":
        key = _pressed(f"  {_KEYS} ", screen)
        if key == _SAYS:
            raise _SaysError
        return Given(at=_now(), by=by, good=_good(key), skipped=key == _SKIP)
    values = {}
    for name in step.numbers:
        keys = f"a number, {_BAD} could not be done, {_SKIP}, {_SAYS} or {_LEAVE}"
        typed = _said(f"  {name} ({keys}): ", screen)
        if typed in {_BAD, _SKIP}:
            return Given(at=_now(), by=by, good=False if typed == _BAD else None, skipped=typed == _SKIP)
        try:
            values[name] = float(typed.replace(",", "."))
        except ValueError:
            break  # no number: told as missing, and asked anew
    return Given(at=_now(), by=by, good=True, values=values)


def _good(key: str) -> bool | None:
    return {_GOOD: True, _BAD: False}.get(key)


def _said(prompt: str, screen: Any) -> str:  # noqa: ANN401  a stream
    typed = _typed(prompt, screen)
    if typed == _SAYS:
        raise _SaysError
    return typed


def _typed(prompt: str, screen: Any) -> str:  # noqa: ANN401  a stream
    screen.write(prompt)
    screen.flush()
    line = sys.stdin.readline()
    if not line:
        raise EOFError
    if line.strip().lower() == _LEAVE:
        raise _LeaveError
    return line.strip().lower()


def _pressed(prompt: str, screen: Any) -> str:  # noqa: ANN401  a stream
    """Return one key, without waiting for Enter where a person sits at a terminal that can do so."""
    try:
        import termios
        import tty
    except ImportError:
        return _typed(prompt, screen)
    if not sys.stdin.isatty():
        return _typed(prompt, screen)
    screen.write(prompt)
    screen.flush()
    before = termios.tcgetattr(sys.stdin)
    try:
        tty.setcbreak(sys.stdin)
        key = sys.stdin.read(1).lower()
    finally:
        termios.tcsetattr(sys.stdin, termios.TCSADRAIN, before)
    screen.write(f"{key}\n")
    if key in {_LEAVE, ""}:
        raise _LeaveError
    return key


def _lines(walk: "Walk", file: Path) -> list[str]:
    return [f"\n{walk.verdict.upper()} - {walk.form} check of {walk.machine}, kept in {file}",
            *finding_lines(walk.findings)]  # fmt: skip

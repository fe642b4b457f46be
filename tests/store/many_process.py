"""Many programs at work on one data folder, and what they told. For a test, and for a benchmark.

    python many_process.py all FOLDER KEY_FILE EVERY_S ROWS CASES READERS PROCESSES
    python many_process.py write FOLDER KEY_FILE EVERY_S ROWS CASE...
    python many_process.py follow FOLDER KEY_FILE EVERY_S CASE...

A writer enters a row for each case every so often, each at a moment of its own. A follower reads each case
again and again until its input ends. Both say when they are ready, and begin on a line of input. "all" opens
cases, starts writers and followers, and looks at every case afterwards. Each prints what came of it as JSON;
whatever goes wrong in a writer or follower ends it with a traceback.
"""

import json
import os
import random
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from lungeline.theatre import Cases, Desk

_MS_PER_S = 1000.0
_OPENING = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}
_FOLLOW_EVERY_S = 0.5
_ALLOWED_S = 300.0
Told = dict[str, Any]


def write(cases: Cases, every_s: float, rows: int, names: Sequence[str]) -> Told:
    """Enter rows and return how long each took to be acknowledged [ms], and how far it fell behind [s]."""
    desks = {name: Desk(cases=cases, author="A. Vet", device=f"monitor-{name}") for name in names}
    took_ms: list[float] = []
    behind_s = 0.0
    begin_s = time.monotonic()
    # as monitors do that nobody started together; from the name, so that each run is like the other
    starts = sorted((random.Random(name).random(), name) for name in names)  # noqa: S311  no secret
    for row in range(rows):
        for start, name in starts:
            due_s = begin_s + (row + start) * every_s
            time.sleep(max(0.0, due_s - time.monotonic()))
            sent_s = time.monotonic()
            desks[name].enter(name, "reading", {"map_mmhg": 60.0 + row % 40, "heart_rate_per_min": 36.0})
            took_ms.append((time.monotonic() - sent_s) * _MS_PER_S)
            behind_s = max(behind_s, sent_s - due_s)
    return {"took_ms": took_ms, "behind_s": behind_s}


def follow(cases: Cases, every_s: float, names: Sequence[str]) -> Told:
    """Read every case until the input ends, and return how long a reading took [ms]."""
    ended = threading.Event()

    def wait() -> None:
        sys.stdin.read()
        ended.set()

    threading.Thread(target=wait, daemon=True).start()
    took_ms: list[float] = []
    counts = dict.fromkeys(names, 0)
    while not ended.is_set():
        for name in names:
            begin_s = time.monotonic()
            now = cases.read(name)
            took_ms.append((time.monotonic() - begin_s) * _MS_PER_S)
            if now.state.count < counts[name]:
                sys.exit(f"{name} had {counts[name]} entries, and now has {now.state.count}")
            counts[name] = now.state.count
        ended.wait(every_s)
    return {"took_ms": took_ms}


def record_at_once(cases: Cases, place: Sequence[str], every_s: str, numbers: Sequence[int]) -> Told:
    """Let programs write and follow cases, and return what came of it.

    numbers: of rows for each case, of cases, of followers, of writing programs.
    """
    rows, many, followers, processes = numbers
    desk = Desk(cases=cases, author="A. Vet", device="desk")
    names = [desk.open_case(_OPENING, case=f"case-{number}").case for number in range(many)]
    following = [
        _start("follow", *place, str(_FOLLOW_EVERY_S), *names[number::followers])
        for number in range(followers)
    ]
    writing = [
        _start("write", *place, every_s, str(rows), *names[number::processes]) for number in range(processes)
    ]
    for program in (*following, *writing):  # no measured time goes into starting them
        _wait_for(program)
    for program in (*following, *writing):
        _begin(program)
    wrote = [_told(writer) for writer in writing]
    followed = [_told(reader) for reader in following]
    return {
        "wrote_ms": [took for it in wrote for took in it.get("took_ms", [])],
        "read_ms": [took for it in followed for took in it.get("took_ms", [])],
        "behind_s": max(it.get("behind_s", 0.0) for it in wrote),
        "faults": [it["said"] for it in (*wrote, *followed) if it["said"]],
        "unsound": [name for name in names if not _is_whole(cases, name, rows + 1)],
    }


def _start(*words: str) -> "subprocess.Popen[str]":
    command, pipe = [sys.executable, __file__, *words], subprocess.PIPE
    return subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=pipe, text=True, env=os.environ)


def _wait_for(program: "subprocess.Popen[str]") -> None:
    if program.stdout:
        program.stdout.readline()


def _begin(program: "subprocess.Popen[str]") -> None:
    if program.stdin:
        program.stdin.write("begin\n")
        program.stdin.flush()


def _told(program: "subprocess.Popen[str]") -> Told:
    """End a program's input, wait for it, and return what it did and what it complained of."""
    out, said = program.communicate(timeout=_ALLOWED_S)
    done: Told = json.loads(out) if program.returncode == 0 else {}
    return done | {"said": said}


def _is_whole(cases: Cases, name: str, count: int) -> bool:
    store = cases.find(name)
    store.note_heads([name])
    verdict = store.verify(name)
    return (verdict.outcome, verdict.proven_count) == ("intact", count)


def main(what: str, path: str, key_file: str, every_s: str, *rest: str) -> None:
    """Do one of the three."""
    cases = Cases(Path(path), key_file=Path(key_file))
    if what != "all":
        cases.ids()  # the store is open
        print("ready", flush=True)  # noqa: T201  told to whoever starts the programs together
        sys.stdin.readline()
    match what:
        case "write":
            done = write(cases, float(every_s), int(rest[0]), rest[1:])
        case "follow":
            done = follow(cases, float(every_s), rest)
        case _:
            done = record_at_once(cases, [path, key_file], every_s, [int(word) for word in rest])
    print(json.dumps(done))  # noqa: T201  what came of it is told on its output


if __name__ == "__main__":
    main(*sys.argv[1:])

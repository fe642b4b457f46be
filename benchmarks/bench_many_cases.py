"""Fifty cases recorded at once, ten readers beside them: how long an acknowledgement takes, and any error.

Ten programs write a row for each of their cases every second, five times as often as they would; ten others
follow them twice a second. Two ways are measured: programs that take the lock in turn, and programs that post
to one that holds it; on SQLite, and on PostgreSQL where its server is installed.
"""

import contextlib
import importlib.util
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from types import ModuleType
from typing import Any

from measuring import Result, print_results

STORE_TESTS = Path(__file__).parents[1] / "tests" / "store"
CASES, READERS, ROWS, PROCESSES = 50, 10, 10, 10
ROW_EVERY_S, FASTER = 5.0, 5.0
WRITE_TARGET_MS = 20.0  # of a write that is on disk when it is acknowledged, 99 of 100
_PERCENT_99 = 0.99


def _module(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    if spec is None or spec.loader is None:
        sys.exit(f"{path} cannot be loaded")
    module = importlib.util.module_from_spec(spec)
    sys.modules[path.stem] = module
    spec.loader.exec_module(module)
    return module


@contextlib.contextmanager
def _holder(place: Sequence[str], environment: Mapping[str, str]) -> Iterator[None]:
    """Let a program hold the lock of a data folder."""
    command = [sys.executable, str(STORE_TESTS / "holder_process.py"), *place]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as holder:  # noqa: S603  our own
        if holder.stdout:
            holder.stdout.readline()  # it holds now
        try:
            yield
        finally:
            holder.terminate()


def _record(url: str, *, held: bool) -> dict[str, Any]:
    """Record in a new folder and return what came of it."""
    environment = os.environ | {"LUNGELINE_DATABASE": url}
    with tempfile.TemporaryDirectory() as folder:
        place = [str(Path(folder) / "data"), str(Path(folder) / "key")]
        numbers = [str(number) for number in (ROWS, CASES, READERS, PROCESSES)]
        command = [
            sys.executable,
            str(STORE_TESTS / "many_process.py"),
            "all",
            *place,
            str(ROW_EVERY_S / FASTER),
            *numbers,
        ]
        with _holder(place, environment) if held else contextlib.nullcontext():
            done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)  # noqa: S603  our own
    told: dict[str, Any] = json.loads(done.stdout)
    return told


def _results(name: str, new_url: Callable[[], str]) -> list[Result]:
    found = []
    for held, way in ((False, "in turn"), (True, "through a server")):
        told = _record(new_url(), held=held)
        wrote, read = sorted(told["wrote_ms"]), sorted(told["read_ms"])
        faults = len(told["faults"]) + len(told["unsound"]) + CASES * ROWS - len(wrote)
        print(
            f"{name}, {way}: {len(wrote)} writes, median {_middle(wrote):.1f} ms, longest {wrote[-1]:.0f} ms;"
            f" {len(read)} readings, median {_middle(read):.1f} ms; at most {told['behind_s']:.2f} s behind"
        )
        found += [
            Result(
                item=f"{name}, {way}: 99 of 100 writes",
                target=WRITE_TARGET_MS,
                measured=wrote[int(_PERCENT_99 * len(wrote))],
                unit="ms",
            ),
            Result(item=f"{name}, {way}: errors", target=0.0, measured=float(faults), unit=""),
        ]
    return found


def _middle(ordered: Sequence[float]) -> float:
    return ordered[len(ordered) // 2]


def main() -> None:
    """Measure and print."""
    results = _results("SQLite", str)
    servers = _module(STORE_TESTS / "conftest.py")
    try:
        with servers.private_server() as server:
            results += _results("PostgreSQL", lambda: server.url(server.new_database()))
    except servers.NoServer as reason:
        print(reason)
    print()
    print_results(results)


if __name__ == "__main__":
    main()

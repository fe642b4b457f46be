"""The real server, with a folder and a key of its own, for benchmarks that talk to it."""

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

import requests

_READY_S = 120.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A running server: where it listens, and its process."""

    address: str
    pid: int

    def processor_s(self) -> float:
        """Return how long it has kept processors busy [s]; where /proc tells."""
        user, system = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()[11:13]
        return (int(user) + int(system)) / float(os.sysconf("SC_CLK_TCK"))


@contextmanager
def serving(folder: Path, *options: str) -> Iterator[Server]:
    """Serve a new data folder until the end of the block."""
    program = str(Path(sys.executable).with_name("lungeline"))
    command = [program, "serve", "--data", str(folder / "data"), "--port", "0", *options]
    environment = os.environ | {
        "LUNGELINE_KEY_FILE": str(folder / "key" / "record.key"),
        "PYTHONUNBUFFERED": "1",
    }
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment)  # noqa: S603  our own program
    try:
        line = process.stdout.readline() if process.stdout else ""
        found = re.search(r"http://\S+?(?=/ )", line)
        address = found[0] if found else sys.exit(f"the server said {line!r}")
        _wait_until_ready(address)
        yield Server(address=address, pid=process.pid)
    finally:
        process.terminate()
        process.wait(10)


def _wait_until_ready(address: str) -> None:
    until = time.monotonic() + _READY_S
    while time.monotonic() < until:
        with suppress(requests.ConnectionError):
            if requests.get(f"{address}/healthz", timeout=_READY_S).ok:
                return
        time.sleep(0.1)
    sys.exit("the server did not become ready")

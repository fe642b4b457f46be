"""The real server, started as a person would start it, with its folder and key in a place of its own."""

import atexit
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import requests
from websockets.sync.client import ClientConnection

_START_S, _ANSWER_S = 60.0, 30.0


class Client(requests.Session):
    """A program that has loaded one page, and so has its cookies and token."""

    def __init__(self, address: str) -> None:
        """Load a page."""
        super().__init__()
        self.address = address
        self.get("/cases/")
        self.headers["X-CSRFToken"] = str(self.cookies["lungeline_csrf"])
        self.headers["Origin"] = address

    def request(self, method: str, url: str, *args: Any, **kwargs: Any) -> requests.Response:  # type: ignore[override]  # noqa: ANN401  as requests has it
        """Ask for a path of the server."""
        kwargs.setdefault("timeout", _ANSWER_S)
        return super().request(method, f"{self.address}{url}", *args, **kwargs)


class Served:
    """A running server: its address, its folder, and a client that talks to it as a page does."""

    def __init__(self, process: subprocess.Popen[str], address: str, folder: Path) -> None:
        """Know the process."""
        self.process, self.address, self.folder = process, address, folder

    @property
    def trusted(self) -> str | bool:
        """The certificate to trust, where the server made one."""
        authority = self.folder / "tls" / "authority.pem"
        return str(authority) if authority.exists() else True

    def client(self) -> Client:
        """Return a client."""
        return Client(self.address)


def next_word(socket: ClientConnection, within_s: float) -> dict[str, Any]:
    """Return what the server says next that is more than a beat; raise TimeoutError where it says nothing."""
    until = time.monotonic() + within_s
    while True:
        message: dict[str, Any] = json.loads(socket.recv(timeout=max(0.0, until - time.monotonic())))
        if message["type"] != "beat":
            return message


def browser_here(served: Served) -> Client:
    """Return the browser of the computer that serves."""
    client = Client.__new__(Client)
    super(Client, client).__init__()
    client.address, client.trust_env = served.address, False
    client.verify = str(served.trusted)
    client.get("/enter/")
    client.headers["X-CSRFToken"] = str(client.cookies["lungeline_csrf"])
    client.headers["Referer"] = f"{served.address}/"
    return client


@contextmanager
def serving(folder: Path, *options: str, port: int = 0) -> Iterator[Served]:
    """Serve a folder until the end of the block."""
    served = start(folder, *options, port=port)
    try:
        yield served
    finally:
        served.process.terminate()
        try:
            served.process.wait(10)
        except subprocess.TimeoutExpired:
            served.process.kill()
            served.process.wait()
        if served.process.stdout:
            served.process.stdout.close()


@cache
def _made_up_clinic() -> Path:
    """Return a folder with the made-up clinic and its key, told once for all tests of this process."""
    made = Path(tempfile.mkdtemp())
    atexit.register(shutil.rmtree, made, ignore_errors=True)
    telling = (
        "import sys; from datetime import UTC, datetime; from pathlib import Path;"
        "from lungeline.theatre.demo import make_clinic; folder = Path(sys.argv[1]);"
        "make_clinic(folder / 'data', datetime.now(UTC).astimezone(), key_file=folder / 'key' / 'record.key')"
    )
    subprocess.run([sys.executable, "-c", telling, str(made)], check=True)
    return made


def demo_in(folder: Path) -> Path:
    """Lay the made-up clinic into a new data folder and return that: a server need not tell it anew."""
    shutil.copytree(_made_up_clinic() / "data", folder)
    shutil.copytree(_made_up_clinic() / "key", folder.parent / f"{folder.name}-key")
    return folder


def start(folder: Path, *options: str, port: int = 0) -> Served:
    """Start a server and return it once it answers."""
    environment = os.environ | {
        "LUNGELINE_KEY_FILE": str(folder.parent / f"{folder.name}-key" / "record.key"),
        "LUNGELINE_AUTHOR": "A. Vet",
        "PYTHONUNBUFFERED": "1",
    }
    environment.pop("LUNGELINE_DATABASE", None)
    process = subprocess.Popen(
        [
            str(Path(sys.executable).with_name("lungeline")),
            "serve",
            "--data",
            str(folder),
            "--port",
            str(port),
            *options,
        ],
        stdout=subprocess.PIPE,
        text=True,
        env=environment,
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    found = re.search(r"https?://\S+?(?=/ )", line)
    assert found, f"the server said {line!r}"
    served = Served(process, found[0], folder)
    _wait_until_ready(served)
    return served


def _wait_until_ready(served: Served) -> None:
    until = time.monotonic() + _START_S
    while time.monotonic() < until:
        try:
            if requests.get(f"{served.address}/healthz", timeout=_ANSWER_S, verify=served.trusted).ok:
                return
        except requests.ConnectionError:
            pass
        time.sleep(0.05)
    pytest.fail("the server did not become ready")

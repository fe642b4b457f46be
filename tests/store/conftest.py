"""Stores to test with: each test runs on SQLite and on a PostgreSQL server of its own.

The server is started from Debian's packages in a temporary folder, as an unprivileged user, reached by a
socket there only. Where it cannot be had, its tests are skipped and say why.
"""

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
import time
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from lungeline.record import Draft, Entry
from lungeline.record.store.opening import open_store
from lungeline.record.store.store import Store

OPENING = {"purpose": "real", "name": "Star", "species": "horse", "weight_kg": 520.0}
_SERVER_USER = "postgres"  # Debian's package makes it
_ALLOWED_S = 60
_AGAIN_S = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A private PostgreSQL server: where its programs, its data and its socket are."""

    programs: Path
    folder: Path
    user: str | None

    def run(self, program: str, *words: str) -> "subprocess.CompletedProcess[str]":
        """Run one of its programs as its user."""
        return subprocess.run(
            [str(self.programs / program), *words],
            user=self.user,
            cwd=self.folder,
            capture_output=True,
            text=True,
            timeout=_ALLOWED_S,
            check=False,
        )

    def start(self) -> None:
        """Start it and wait until it listens."""
        options = f"-c listen_addresses='' -c unix_socket_directories='{self.folder}' -c max_connections=40"
        log = str(self.folder / "log")
        done = self.run("pg_ctl", "-D", str(self.folder / "data"), "-l", log, "-o", options, "-w", "start")
        assert done.returncode == 0, done.stdout + done.stderr

    def start_again(self) -> None:
        """Start it after it was killed, once the last of its processes has noticed."""
        until_s = time.monotonic() + _ALLOWED_S
        while self.run("pg_ctl", "-D", str(self.folder / "data"), "status").returncode == 0:
            assert time.monotonic() < until_s, "the server does not die"
            time.sleep(_AGAIN_S)
        while True:
            try:
                self.start()
            except AssertionError:  # the shared memory of the old one is still in use
                assert time.monotonic() < until_s, (self.folder / "log").read_text(encoding="utf-8")
                time.sleep(_AGAIN_S)
            else:
                return

    def stop(self) -> None:
        """Stop it at once."""
        self.run("pg_ctl", "-D", str(self.folder / "data"), "-m", "immediate", "-w", "stop")

    def pid(self) -> int:
        """Its first process."""
        return int((self.folder / "data" / "postmaster.pid").read_text(encoding="ascii").split()[0])

    def new_database(self) -> str:
        """Make a database nobody used and return its name."""
        name = f"t{uuid.uuid4().hex}"
        self.do(f"CREATE DATABASE {name}")
        return name

    def do(self, statement: str) -> None:
        """Do something that concerns the whole server."""
        done = self.run("psql", "-h", str(self.folder), "-U", "lungeline", "-c", statement, "postgres")
        assert done.returncode == 0, done.stderr

    def url(self, name: str) -> str:
        """URL of a database."""
        return f"postgresql:///{name}?host={self.folder}&user=lungeline"


def server_programs() -> Path | None:
    """Folder of PostgreSQL's server programs, the newest there is."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda it: float(it.parts[-3]))
    on_path = shutil.which("initdb")
    return found[-1].parent if found else Path(on_path).resolve().parent if on_path else None


class NoServer(Exception):  # noqa: N818  no error: what needs it is left out
    """Why there is no PostgreSQL here."""


@contextlib.contextmanager
def private_server() -> Iterator[Server]:
    """A server of our own for as long as the block lasts. Raises NoServer where it cannot be had."""
    programs = server_programs()
    if programs is None:
        reason = "no PostgreSQL here; on Debian and Ubuntu: apt-get install postgresql"
        raise NoServer(reason)
    user = None
    if os.geteuid() == 0:
        try:
            user = pwd.getpwnam(_SERVER_USER).pw_name
        except KeyError:
            reason = f"PostgreSQL does not run as root, and there is no user {_SERVER_USER}"
            raise NoServer(reason) from None
    # a short name: the path of a socket has at most 107 characters
    folder = Path(tempfile.mkdtemp(prefix="lungeline-pg-"))
    if user:
        shutil.chown(folder, user)
    made = Server(programs=programs, folder=folder, user=user)
    try:
        done = made.run("initdb", "-D", str(folder / "data"), "-U", "lungeline", "-A", "trust", "-E", "UTF8")
        assert done.returncode == 0, done.stdout + done.stderr
        made.start()
        yield made
    finally:
        made.stop()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    try:
        with private_server() as made:
            yield made
    except NoServer as reason:
        pytest.skip(str(reason))


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a test keeps its data: a folder, and a server's database where the test runs on one."""

    path: Path
    url: str | None

    @property
    def key_file(self) -> Path:
        """The key, apart from the data."""
        return self.path / "keys" / "record.key"

    def open(self, **changed: Any) -> Store:  # noqa: ANN401  any option of open_store
        """Open the store, as a program that starts would."""
        usual: dict[str, Any] = {"path": self.path / "data", "url": self.url, "key_file": self.key_file}
        return open_store(**(usual | changed))


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, file_place: Place) -> Iterator[Place]:
    if request.param == "sqlite":
        yield file_place
        return
    server: Server = request.getfixturevalue("server")
    name = server.new_database()
    yield replace(file_place, url=server.url(name))
    server.do(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture
def file_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Place:
    monkeypatch.delenv("LUNGELINE_DATABASE", raising=False)
    return Place(path=tmp_path, url=None)


@pytest.fixture
def store(place: Place) -> Iterator[Store]:
    opened = place.open()
    yield opened
    opened.close()


def draft(kind: str = "reading", body: dict[str, Any] | None = None, **changed: Any) -> Draft:  # noqa: ANN401  any field of a draft
    """Something to enter; a reading where nothing else is said."""
    usual: dict[str, Any] = {
        "uid": str(uuid.uuid4()),
        "case": "c1",
        "kind": kind,
        "event_time": datetime.now(UTC),
        "author": "A. Vet",
        "device": "tablet",
        "body": {"map_mmhg": 70.0} if body is None else body,
    }
    return Draft(**(usual | changed))


@pytest.fixture
def new() -> Callable[..., Draft]:
    return draft


@pytest.fixture
def opened(store: Store) -> Entry:
    return store.append(draft("opening", OPENING))

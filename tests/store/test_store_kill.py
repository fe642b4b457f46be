"""Writers are killed in the middle of their work, and the server too: nothing acknowledged is lost.

A few times here; `make torture` does it many times (LUNGELINE_KILLS, LUNGELINE_SERVER_KILLS).
"""

import os
import random
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from lungeline.record import Draft
from lungeline.record.store.store import Store

New = Callable[..., Draft]
Place = Any  # its class is in conftest.py, which cannot be imported
Server = Any  # the same
KILLS = int(os.environ.get("LUNGELINE_KILLS", "5"))
SERVER_KILLS = int(os.environ.get("LUNGELINE_SERVER_KILLS", "1"))
WRITER = Path(__file__).with_name("writer_process.py")
DEVICES = ("tablet", "phone")
SHORTEST_S, LONGEST_S, ALLOWED_S = 0.02, 0.5, 60.0
OPENING = {"purpose": "real", "name": "Star", "species": "horse"}


class Writer:
    """A writing program, and what it was told."""

    def __init__(self, place: Place, device: str) -> None:
        """Start it."""
        words = [str(place.path / "data"), place.url or "", str(place.key_file), device]
        self.process = subprocess.Popen(
            [sys.executable, str(WRITER), *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        self.told: dict[str, int] = {}
        self._reader = threading.Thread(target=self._read)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout
        for line in self.process.stdout:
            uid, _, seq = line.partition(" ")
            if seq.endswith("\n"):  # a line torn by the kill was not told in full
                self.told[uid] = int(seq)

    def wait_for_more(self, count: int) -> None:
        """Wait until it was told so many more."""
        wanted, until_s = len(self.told) + count, time.monotonic() + ALLOWED_S
        while len(self.told) < wanted:
            if self.process.poll() is not None or time.monotonic() > until_s:
                self.kill()
                assert self.process.stderr
                pytest.fail(f"the writer ended by itself: {self.process.stderr.read()}")
            time.sleep(0.005)

    def kill(self) -> None:
        """Kill it as a loss of power would, and read what it still had told."""
        self.process.kill()
        self.process.wait()
        self._reader.join()


@pytest.fixture
def writers(place: Place, store: Store, new: New) -> Iterator[list[Writer]]:
    store.append(new("opening", OPENING))
    started: list[Writer] = []
    yield started
    for writer in started:
        writer.kill()
        for pipe in (writer.process.stdout, writer.process.stderr):
            if pipe:
                pipe.close()
    assert place.path.exists()


def hold_that_nothing_is_lost(place: Place, writers: list[Writer]) -> int:
    """Open the store as a program that starts anew would, and look for all that was told."""
    store = place.open()
    kept = {entry.uid: entry.seq for entry in store.entries_after("c1")}
    for writer in writers:
        assert {uid: kept.get(uid) for uid in writer.told} == writer.told
    # against the heads that signatures left, before any new one is noted
    assert store.verify("c1").outcome in {"intact", "unverifiable"}
    store.note_heads(["c1"])
    verdict = store.verify("c1")
    assert (verdict.outcome, verdict.proven_count) == ("intact", len(kept))
    store.close()
    return len(kept)


def test_a_killed_writer_loses_nothing_that_was_acknowledged(place: Place, writers: list[Writer]) -> None:
    chance = random.Random(KILLS)  # noqa: S311  moments of a kill, no secret
    before = 1
    for _ in range(KILLS):
        pair = [Writer(place, device) for device in DEVICES]
        writers.extend(pair)
        for writer in pair:
            writer.wait_for_more(1)
        for writer in pair:
            time.sleep(chance.uniform(SHORTEST_S, LONGEST_S))
            writer.kill()
        count = hold_that_nothing_is_lost(place, pair)
        assert count > before
        before = count
    hold_that_nothing_is_lost(place, writers)


def test_a_killed_server_loses_nothing_that_was_acknowledged(
    request: pytest.FixtureRequest, place: Place, writers: list[Writer]
) -> None:
    if place.url is None:
        pytest.skip("SQLite has no server")
    server: Server = request.getfixturevalue("server")
    chance = random.Random(SERVER_KILLS)  # noqa: S311  moments of a kill, no secret
    writers.extend(Writer(place, device) for device in DEVICES)
    for _ in range(SERVER_KILLS):
        for writer in writers:
            writer.wait_for_more(3)
        time.sleep(chance.uniform(SHORTEST_S, LONGEST_S))
        os.kill(server.pid(), signal.SIGKILL)
        server.start_again()
        # the writers found the server again by themselves, and sent again what was in doubt
        for writer in writers:
            writer.wait_for_more(3)
    for writer in writers:
        writer.kill()
    hold_that_nothing_is_lost(place, writers)

"""Writers are killed in the middle of their work, and the server too: nothing acknowledged is lost.

A few times here; `make torture` does it many times (LUNGELINE_KILLS, LUNGELINE_SERVER_KILLS). Every twenty
kills another case is begun, so that reading and proving the whole case after each kill stays quick.
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
from lungeline.theatre import Cases

New = Callable[..., Draft]
Place = Any  # its class is in conftest.py, which cannot be imported
Server = Any  # the same
KILLS = int(os.environ.get("LUNGELINE_KILLS", "5"))
SERVER_KILLS = int(os.environ.get("LUNGELINE_SERVER_KILLS", "1"))
WRITER = Path(__file__).with_name("writer_process.py")
DEVICES = ("tablet", "phone")
SHORTEST_S, LONGEST_S, ALLOWED_S = 0.02, 0.3, 60.0
KILLS_A_CASE = 20
OPENING = {"purpose": "real", "name": "Star", "species": "horse"}


class Writer:
    """A writing program, and what it was told."""

    def __init__(self, place: Place, device: str, case: str = "c1") -> None:
        """Start it."""
        self.case = case
        words = [str(place.path / "data"), place.url or "", str(place.key_file), device, case]
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
def writers(place: Place, monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Writer]]:
    if place.url:
        monkeypatch.setenv("LUNGELINE_DATABASE", place.url)
    started: list[Writer] = []
    yield started
    for writer in started:
        writer.kill()
        for pipe in (writer.process.stdout, writer.process.stderr):
            if pipe:
                pipe.close()
    assert place.path.exists()


def hold_that_nothing_is_lost(place: Place, writers: list[Writer], case: str = "c1") -> int:
    """Open the store as a program that starts anew would, and look for all that was told."""
    cases = Cases(place.path / "data", key_file=place.key_file)
    now = cases.read(case)  # reopened as it was left, and adding up
    kept = {entry.uid: entry.seq for entry in now.entries}
    for writer in writers:
        assert {uid: kept.get(uid) for uid in writer.told} == writer.told
    # against the heads that signatures left, before any new one is noted
    assert now.store.verify(case).outcome in {"intact", "unverifiable"}
    now.store.note_heads([case])
    verdict = now.store.verify(case)
    assert (verdict.outcome, verdict.proven_count) == ("intact", len(kept))
    assert now.state.count == len(kept)
    now.store.close()
    return len(kept)


def test_a_killed_writer_loses_nothing_that_was_acknowledged(
    place: Place, store: Store, new: New, writers: list[Writer]
) -> None:
    chance = random.Random(KILLS)  # noqa: S311  moments of a kill, no secret
    before = 0
    for kill in range(KILLS):
        case = f"c{kill // KILLS_A_CASE}"
        if kill % KILLS_A_CASE == 0:
            before = store.append(new("opening", OPENING, case=case)).seq
        pair = [Writer(place, device, case) for device in DEVICES]
        writers.extend(pair)
        for writer in pair:
            writer.wait_for_more(1)
        for writer in pair:
            time.sleep(chance.uniform(SHORTEST_S, LONGEST_S))
            writer.kill()
        count = hold_that_nothing_is_lost(place, pair, case)
        assert count > before
        before = count
    told = {writer.case for writer in writers}
    for case in told:
        hold_that_nothing_is_lost(place, [it for it in writers if it.case == case], case)
    running = Cases(place.path / "data", key_file=place.key_file).running()
    assert {now.state.case for now in running} == told


def test_a_killed_server_loses_nothing_that_was_acknowledged(
    request: pytest.FixtureRequest, place: Place, store: Store, new: New, writers: list[Writer]
) -> None:
    if place.url is None:
        pytest.skip("SQLite has no server")
    server: Server = request.getfixturevalue("server")
    chance = random.Random(SERVER_KILLS)  # noqa: S311  moments of a kill, no secret
    store.append(new("opening", OPENING))
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

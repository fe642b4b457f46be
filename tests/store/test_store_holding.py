"""While a server holds the lock, other programs post to it; whatever becomes of it, nothing is lost."""

import json
import os
import random
import signal
import stat
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import pytest

from lungeline.errors import ConflictError, InputError, RecordError, StoreError
from lungeline.record import Draft, Entry
from lungeline.record.store.held import NAME, Holder, note_holder, read_holder
from lungeline.record.store.holding import Holding, holding
from lungeline.record.store.lines import restore_lines, write_lines
from lungeline.record.store.wire import LARGEST_BYTES, Posting
from lungeline.theatre import Cases

New = Callable[..., Draft]
Place = Any  # its class is in conftest.py, which cannot be imported
KILLS = int(os.environ.get("LUNGELINE_HOLDER_KILLS", "4"))
HOLDER = Path(__file__).with_name("holder_process.py")
OPENING = {"purpose": "real", "name": "Star", "species": "horse"}
SHORTEST_S, LONGEST_S, ALLOWED_S = 0.0, 0.2, 60.0


class Server:
    """A process that holds the locks of a place."""

    def __init__(self, place: Place) -> None:
        """Start it, and wait until it holds."""
        known = {key: value for key, value in os.environ.items() if key != "LUNGELINE_DATABASE"}
        self.process = subprocess.Popen(
            [sys.executable, str(HOLDER), str(place.path / "data"), str(place.key_file)],
            stdout=subprocess.PIPE,
            text=True,
            env=known | ({"LUNGELINE_DATABASE": place.url} if place.url else {}),
        )
        assert self.process.stdout
        assert self.process.stdout.readline() == "holding\n"

    def end(self, how: signal.Signals) -> None:
        """End it in a way and wait until it is gone."""
        self.process.send_signal(how)
        self.process.wait(ALLOWED_S)
        if self.process.stdout:
            self.process.stdout.close()


@pytest.fixture
def begin() -> Iterator[Callable[[Place], Server]]:
    started: list[Server] = []

    def one_more(place: Place) -> Server:
        started.append(Server(place))
        return started[-1]

    yield one_more
    for server in started:
        if server.process.poll() is None:
            server.end(signal.SIGKILL)


@pytest.fixture
def start(place: Place, begin: Callable[[Place], Server]) -> Callable[[], Server]:
    return lambda: begin(place)


@pytest.fixture
def cases(place: Place, monkeypatch: pytest.MonkeyPatch) -> Iterator[Cases]:
    """The cases of a place, as a server of this very process would have them."""
    if place.url:
        monkeypatch.setenv("LUNGELINE_DATABASE", place.url)
    there = Cases(place.path / "data", key_file=place.key_file)
    yield there
    for store in there.stores():
        store.close()


@pytest.fixture
def held(cases: Cases) -> Iterator[Holding]:
    with holding(cases) as held:
        yield held


# --- beside a server that runs ------------------------------------------------------------------------


def test_beside_a_running_server_entries_go_through_it_and_its_note_is_its_owners(
    place: Place, start: Callable[[], Server], new: New
) -> None:
    server = start()
    note = place.path / "data" / NAME
    assert stat.S_IMODE(note.stat().st_mode) == 0o600
    assert json.loads(note.read_text(encoding="utf-8"))["pid"] == server.process.pid
    store = place.open()
    opened = store.append(new("opening", OPENING))
    sent = new(body={"map_mmhg": 71.5}, author="שרה 🐴")
    entry = store.append(sent)
    assert store.append(sent) == entry
    signed = {"meaning": "signed", "role": "r", "head_count_number": 1, "head_hash": opened.hash}
    store.append(new("signature", signed))
    assert store.entries_after("c1")[1] == entry
    # the head of the signature was noted by the server, a newer one on demand
    assert store.verify("c1").proven_count == 3
    store.append(new())
    store.note_heads(["c1"])
    assert store.verify("c1").proven_count == 4
    server.end(signal.SIGTERM)
    assert not note.exists()
    assert store.append(new()).seq == 5


def test_the_command_line_works_beside_a_running_server(
    file_place: Place, begin: Callable[[Place], Server]
) -> None:
    server = begin(file_place)
    known = os.environ | {
        "LUNGELINE_DATA": str(file_place.path / "data"),
        "LUNGELINE_KEY_FILE": str(file_place.key_file),
    }

    def done(*words: str) -> "subprocess.CompletedProcess[str]":
        command = [str(Path(sys.executable).with_name("lungeline")), "case", *words]
        return subprocess.run(
            command, env=known, capture_output=True, text=True, timeout=ALLOWED_S, check=False
        )

    for words in (
        ("new", "--id", "star-1", "--species", "horse", "--weight-kg", "520"),
        ("enter", "star-1", "--map-mmhg", "72"),
        ("correct", "star-1", "2", "--because", "slip", "--map-mmhg", "75"),
        ("backup", str(file_place.path / "stick")),
        ("verify", "star-1"),
    ):
        told = done(*words)
        assert (told.returncode, told.stderr) == (0, ""), words
    assert "proven to entry 3" in told.stdout
    server.end(signal.SIGTERM)


def test_a_server_killed_in_the_middle_of_posts_loses_and_doubles_nothing(
    place: Place, start: Callable[[], Server], new: New
) -> None:
    chance = random.Random(KILLS)  # noqa: S311  moments of a kill, no secret
    server = start()
    place.open().append(new("opening", OPENING))
    told: list[Entry] = []
    faults: list[BaseException] = []
    stop = threading.Event()

    def record(device: str) -> None:
        store = place.open(wait_s=ALLOWED_S)
        try:
            while not stop.is_set():
                told.append(store.append(new(device=device)))
        except BaseException as error:  # noqa: BLE001  whatever it is, the test must tell
            faults.append(error)
        finally:
            store.close()

    writers = [threading.Thread(target=record, args=(device,)) for device in ("tablet", "phone")]
    for writer in writers:
        writer.start()
    for _ in range(KILLS):
        before, until_s = len(told), time.monotonic() + ALLOWED_S
        while len(told) < before + 4 and not faults and time.monotonic() < until_s:
            time.sleep(0.005)
        time.sleep(chance.uniform(SHORTEST_S, LONGEST_S))
        server.end(signal.SIGKILL)
        server = start()
    stop.set()
    for writer in writers:
        writer.join()
    assert faults == []
    store = place.open()
    kept = store.entries_after("c1")
    assert sorted(told, key=lambda entry: entry.seq) == kept[1:]
    store.note_heads(["c1"])
    assert store.verify("c1").outcome == "intact"


def test_a_server_that_sleeps_is_told_and_what_it_wrote_late_is_not_doubled(
    place: Place, start: Callable[[], Server], new: New
) -> None:
    server = start()
    hasty = place.open(wait_s=0.1)
    hasty.append(new("opening", OPENING))
    server.process.send_signal(signal.SIGSTOP)
    sent = new()
    with pytest.raises(StoreError, match=f"process {server.process.pid}.*not known"):
        hasty.append(sent)
    server.process.send_signal(signal.SIGCONT)
    entry = place.open().append(sent)
    assert [it.uid for it in hasty.entries_after("c1", 1)] == [entry.uid]


# --- answers that never came --------------------------------------------------------------------------


@pytest.mark.parametrize("written", [True, False])
def test_an_answer_that_is_lost_is_asked_for_again(
    place: Place,
    cases: Cases,
    new: New,
    written: bool,  # noqa: FBT001  a case of the table
) -> None:
    """The server dies before it wrote, or after it wrote and before it said so."""
    server = Holding(stores=cases)
    place.open().append(new("opening", OPENING))
    lock = cases.store("real").lock
    lock.hold()

    class Dying(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            text = self.rfile.read(int(self.headers["Content-Length"]))
            if written:
                assert server.answer(server.token, text)[0] == 200
                cases.store("real").close()
            lock.release()  # as a process that dies lets go of it
            self.close_connection = True

    with ThreadingHTTPServer(("127.0.0.1", 0), Dying) as listener:
        thread = threading.Thread(target=listener.serve_forever)
        thread.start()
        address = f"http://127.0.0.1:{listener.server_address[1]}/post"
        note_holder(cases.path, Holder(address=address, token=server.token, pid=os.getpid()))
        sent = new()
        entry = place.open().append(sent)
        listener.shutdown()
        thread.join()
    assert [it.uid for it in place.open().entries_after("c1")][1:] == [sent.uid]
    assert entry.seq == 2


def test_a_note_left_by_a_dead_server_is_no_hindrance(place: Place, start: Any, new: New) -> None:  # noqa: ANN401  starts one
    server = start()
    server.end(signal.SIGKILL)
    assert read_holder(place.path / "data") is not None
    assert place.open(wait_s=0.5).append(new("opening", OPENING)).seq == 1


# --- what the server answers --------------------------------------------------------------------------


def test_refusals_come_back_as_what_they_were(place: Place, held: Holding, new: New) -> None:
    assert held.token
    store = place.open()
    sent = new("opening", OPENING)
    store.append(sent)
    with pytest.raises(InputError, match="map_mmhg"):
        store.append(new(body={"map_mmhg": 9000.0}))
    with pytest.raises(ConflictError, match="one opening"):
        store.append(new("opening", OPENING))
    with pytest.raises(ConflictError, match="new uid"):
        store.append(new("opening", OPENING | {"name": "Moon"}, uid=sent.uid))
    with pytest.raises(InputError, match="Send less"):
        store.append_all([new("note", {"text": "x" * 1_900_000}) for _ in range(17)])
    assert len(store.entries_after("c1")) == 1


def test_a_note_of_a_megabyte_is_posted_whole(place: Place, held: Holding, new: New) -> None:
    assert held.token
    store = place.open()
    store.append(new("opening", OPENING))
    text = "🐴" * 500_000  # two million bytes
    assert store.append(new("note", {"text": text})).body["text"] == text
    assert store.entries_after("c1")[-1].body["text"] == text


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"", "no JSON"),
        (b"[" * 100_000, "no JSON"),
        (b"{}", "another form"),
        (b'{"schema":"lungeline.posting/1","side":"other","drafts":[],"heads":[]}', "another form"),
        (b'{"schema":"lungeline.posting/1","side":"real","drafts":3,"heads":[]}', "no list"),
        (b'{"schema":"lungeline.posting/1","side":"real","drafts":[{}],"heads":[]}', "another form"),
        (b" " * (LARGEST_BYTES + 1), "Send less"),
    ],
)
def test_what_is_no_posting_is_refused_and_nothing_written(held: Holding, text: bytes, words: str) -> None:
    status, reply = held.answer(held.token, text)
    assert status == 422
    assert words in json.dumps(reply)
    assert held.stores.store("real").cases() == []


@pytest.mark.parametrize("token", ["", "x", "🐴"])
def test_without_the_token_nothing_is_written(held: Holding, new: New, token: str) -> None:
    text = Posting(side="real", drafts=(new("opening", OPENING),)).text()
    status, reply = held.answer(token, text)
    assert status == 401
    assert held.token not in json.dumps(reply) + repr(held)
    assert held.stores.store("real").cases() == []


def test_who_follows_a_case_hears_of_what_was_posted(place: Place, cases: Cases, new: New) -> None:
    heard: list[tuple[str, int]] = []
    with holding(cases, lambda case, seq: heard.append((case, seq))):
        place.open().append_all([new("opening", OPENING), new()])
    assert heard == [("c1", 1), ("c1", 2)]


def test_a_folder_is_held_by_one_server_and_nothing_is_restored_into_it(
    place: Place, cases: Cases, held: Holding, new: New, tmp_path: Path
) -> None:
    assert held.token
    begin_s = time.monotonic()
    other = Cases(cases.path, key_file=place.key_file)
    with pytest.raises(StoreError, match="Stop that server"), holding(other):
        pass
    store = place.open()
    store.append(new("opening", OPENING))
    write_lines(store, tmp_path / "c1.jsonl")
    with pytest.raises(RecordError, match="Stop that server"):
        restore_lines(store, tmp_path / "c1.jsonl")
    assert time.monotonic() - begin_s < 5  # told at once, not after a wait
    other.store("real").close()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork here")
def test_a_forked_child_does_not_keep_its_parents_lock(file_place: Place, new: New) -> None:
    script = """
import os, sys, time
from pathlib import Path
from lungeline.record.store.lock import WriterLock
lock = WriterLock(Path(sys.argv[1]), 1.0)
lock.hold()
if os.fork() == 0:
    time.sleep(60)
print("held", flush=True)
os.kill(os.getpid(), 9)
"""
    store = file_place.open(wait_s=2.0)
    # in a group of its own, so that the child it leaves behind can be ended
    parent = subprocess.Popen(
        [sys.executable, "-c", script, str(store.folder.lock)],
        start_new_session=True,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert parent.stdout
        assert parent.stdout.readline() == "held\n"
        parent.wait(ALLOWED_S)
        parent.stdout.close()
        assert store.append(new("opening", OPENING)).seq == 1
    finally:
        os.killpg(parent.pid, signal.SIGKILL)

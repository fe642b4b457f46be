"""The server writes for the command line, tells open pages at once, and leaves nothing behind at its end."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

from served import Served, next_word, serving, start
from websockets import Origin
from websockets.sync.client import connect

from lungeline.record.store.held import NAME, read_holder

OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}
LUNGELINE = str(Path(sys.executable).with_name("lungeline"))
HEARD_WITHIN_S = 1.0  # once the entry is on disk: what the pages promise


def _command(served: Served, *words: str) -> subprocess.CompletedProcess[str]:
    known = {key: value for key, value in os.environ.items() if key != "LUNGELINE_DATABASE"}
    key_file = served.folder.parent / f"{served.folder.name}-key" / "record.key"
    environment = known | {"LUNGELINE_DATA": str(served.folder), "LUNGELINE_KEY_FILE": str(key_file)}
    return subprocess.run(
        [LUNGELINE, *words], env=environment, capture_output=True, text=True, timeout=60, check=False
    )


def test_what_the_command_line_enters_an_open_page_hears_at_once(served: Served) -> None:
    client = served.client()
    case = client.post("/api/cases", json={"body": OPENING}).json()["case"]
    holder = read_holder(served.folder)
    assert holder is not None
    assert holder.pid == served.process.pid
    address = served.address.replace("http", "ws")
    with connect(f"{address}/ws/case/{case}", origin=Origin(served.address)) as socket:
        assert next_word(socket, 5.0) == {"type": "entries", "last_seq": 1}
        done = _command(served, "case", "enter", case, "--map-mmhg", "71", "--author", "B. Vet")
        assert done.returncode == 0, done.stderr
        assert next_word(socket, HEARD_WITHIN_S) == {"type": "entries", "last_seq": 2}
    told = client.get(f"/api/cases/{case}/entries").json()["entries"][-1]
    assert (told["author"], told["body"]) == ("B. Vet", {"map_mmhg": 71})


def test_a_second_server_on_the_same_data_is_refused_in_words(served: Served) -> None:
    second = _command(served, "serve", "--port", "0")
    assert second.returncode == 2
    assert f"held by the server that runs as process {served.process.pid}" in second.stderr
    assert "Stop that server first" in second.stderr
    assert served.client().get("/cases/").ok


def test_a_server_told_to_end_lets_go_and_takes_its_note_away(tmp_path: Path) -> None:
    for how in (signal.SIGTERM, signal.SIGINT):
        served = start(tmp_path / "data")
        assert (served.folder / NAME).exists()
        served.process.send_signal(how)
        assert served.process.wait(20) == (0 if how == signal.SIGTERM else 130)
        assert not (served.folder / NAME).exists()
        if served.process.stdout:
            served.process.stdout.close()
    with serving(tmp_path / "data") as again:
        assert again.client().post("/api/cases", json={"body": OPENING}).status_code == 201


def test_a_killed_server_is_in_nobodys_way(tmp_path: Path) -> None:
    killed = start(tmp_path / "data")
    case = killed.client().post("/api/cases", json={"body": OPENING}).json()["case"]
    killed.process.kill()
    killed.process.wait()
    if killed.process.stdout:
        killed.process.stdout.close()
    assert (killed.folder / NAME).exists()  # it had no time
    begun = time.monotonic()
    assert _command(killed, "case", "enter", case, "--map-mmhg", "70").returncode == 0
    assert time.monotonic() - begun < 30.0
    with serving(tmp_path / "data") as again:
        holder = read_holder(again.folder)
        assert holder is not None
        assert holder.pid == again.process.pid


def test_no_answer_waits_for_an_acknowledgement_of_its_own_head(served: Served) -> None:
    client = served.client()
    taken_s: list[float] = []
    for _ in range(40):
        begun = time.perf_counter()
        assert client.get("/api/cases").ok
        taken_s.append(time.perf_counter() - begun)
    # where two parts come apart, Linux acknowledges after 40 ms (TCP_DELACK_MIN), but the first at once
    assert min(taken_s[20:]) < 0.03

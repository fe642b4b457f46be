"""Copies by a schedule that the pages set: made, told, kept over a new start, and missed aloud."""

import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from served import Client, Served, serving

from lungeline.errors import InputError
from lungeline.theatre.kept_schedule import read_schedule

OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}
SOON_S = 20.0


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    folder = tmp_path / "a stick"
    folder.mkdir()
    return folder


def _until(so: Callable[[], bool]) -> None:
    until = time.monotonic() + SOON_S
    while not so() and time.monotonic() < until:
        time.sleep(0.1)
    assert so()


def _copies(stick: Path) -> list[str]:
    return sorted(it.name for it in stick.glob("rotating/real-*.sqlite3"))


def _set(client: Client, folder: Path | str, every_min: str = "0,02", keep_number: str = "2") -> int:
    told = {"do": "set", "folder": str(folder), "every_min": every_min, "keep_number": keep_number}
    return client.post("/settings/backups/", data=told).status_code


def _alerts(client: Client, path: str) -> list[str]:
    page = client.get(path).text
    return re.findall(r'<p class="problem" role="alert">(.*?)</p>', page, re.DOTALL)


def _open(client: Client) -> None:
    assert client.post("/api/cases", json={"body": OPENING}).status_code == 201


def test_copies_are_made_by_schedule_rotate_and_go_on_after_a_new_start(tmp_path: Path, stick: Path) -> None:
    with serving(tmp_path / "data") as served:
        client = served.client()
        assert _set(client, stick) == 200
        for _ in range(3):
            before = _copies(stick)
            _open(client)
            _until(lambda before=before: _copies(stick)[-1:] > before[-1:])  # type: ignore[misc]  # bound now
        _until(lambda: len(_copies(stick)) == 2)  # the oldest goes once the newest was checked
        page = client.get("/settings/").text
        assert f"<dd>{stick}</dd>" in page
        assert "<dt>Last copy</dt>" in page
        assert '<p class="problem">This is the disk of the data' in page
    with serving(tmp_path / "data") as again:
        before = _copies(stick)
        _open(again.client())
        _until(lambda: _copies(stick)[-1:] > before[-1:])
        assert again.client().post("/settings/backups/", data={"do": "off"}).ok
        still = _copies(stick)
        _open(again.client())
        time.sleep(3.0)  # more than two rounds would take
        assert _copies(stick) == still


def test_a_stick_that_is_gone_is_told_where_people_look(tmp_path: Path, stick: Path) -> None:
    with serving(tmp_path / "data") as served:
        client = served.client()
        assert _set(client, stick, every_min="1") == 200
        _until(lambda: len(_copies(stick)) == 1)
        assert _alerts(client, "/cases/") == []
        aside = stick.rename(tmp_path / "pulled out")
        _open(client)
        assert client.post("/settings/", data={"do": "backup"}).status_code == 503
        for path in ("/cases/", "/settings/"):
            (alert,) = _alerts(client, path)
            assert str(stick) in alert, path
            assert "Put it back" in alert, path
        assert not stick.exists()  # nothing was made in its place
        aside.rename(stick)
        assert client.post("/settings/", data={"do": "backup"}).ok
        assert len(_copies(stick)) == 2
        assert _alerts(client, "/cases/") == []


def test_back_up_now_copies_what_is_new_to_where_copies_go(
    served: Served, client: Client, stick: Path
) -> None:
    _open(client)
    assert _set(client, stick, every_min="60") == 200
    _until(lambda: len(_copies(stick)) == 1)
    assert 'role="status">Nothing is new' in client.post("/settings/", data={"do": "backup"}).text
    _open(client)
    told = client.post("/settings/", data={"do": "backup"}).text
    assert _copies(stick)[-1] in told
    assert not (served.folder / "backups").exists()
    assert client.post("/settings/backups/", data={"do": "off"}).ok


@pytest.mark.parametrize(
    ("folder", "every_min", "keep_number"),
    [
        ("not/whole", "15", "20"), ("/nowhere/at all", "15", "20"), ("", "15", "20"),
        (None, "0", "20"), (None, "1441", "20"), (None, "often", "20"),
        (None, "15", "0"), (None, "15", "2,5"),
    ],
)  # fmt: skip
def test_what_would_never_copy_is_refused(
    client: Client, stick: Path, folder: str | None, every_min: str, keep_number: str
) -> None:
    named = str(stick if folder is None else folder)
    told = {"do": "set", "folder": named, "every_min": every_min, "keep_number": keep_number}
    answer = client.post("/settings/backups/", data=told)
    assert answer.status_code == 400
    assert f'name="folder" required value="{named}"' in answer.text  # what was typed stays
    assert "<dt>Copies go to</dt>" not in client.get("/settings/").text


@pytest.mark.parametrize("written", ["folder = 3", "[", 'folder = "/x"\nevery_min = 0.0\nkeep_number = 1'])
def test_a_schedule_that_cannot_be_read_says_what_to_do(tmp_path: Path, written: str) -> None:
    (tmp_path / "backups.toml").write_text(written, encoding="utf-8")
    with pytest.raises(InputError, match="Set the backups anew"):
        read_schedule(tmp_path)


def test_a_schedule_that_cannot_be_read_is_told_and_stops_no_server(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    folder.mkdir()
    (folder / "backups.toml").write_text("[", encoding="utf-8")
    with serving(folder) as served:
        client = served.client()
        _open(client)
        (alert,) = _alerts(client, "/cases/")
        assert "Set the backups anew" in alert
        assert client.post("/settings/backups/", data={"do": "off"}).ok
        assert _alerts(client, "/cases/") == []

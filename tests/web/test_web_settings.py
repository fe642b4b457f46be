"""Settings of a browser: language, units, who records, which kind of cases it shows; a backup."""

import re
import sqlite3
import uuid
from contextlib import closing
from typing import Any

import pytest
from served import Client, Served

OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}


@pytest.fixture
def case(client: Client) -> str:
    opened = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    sent: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": "phase", "body": {"phase": "induce"}}
    assert client.post(f"/api/cases/{opened}/entries", json=sent).status_code == 201
    return opened


def test_a_browser_with_a_running_real_case_shows_no_rehearsals(client: Client, case: str) -> None:
    client.get(f"/case/{case}/record/")
    answer = client.post("/settings/", data={"do": "side"})
    assert answer.status_code == 409
    assert "Close the case first" in answer.text


def test_language_and_units_change_what_is_shown_not_what_is_stored(client: Client, case: str) -> None:
    view = "language:de|theme:dark|cmh2o:mbar|mmhg:kpa|kg:lb|c:f"
    client.cookies.set("lungeline_view", view)
    page = client.get(f"/case/{case}/record/").text
    assert 'lang="de"' in page
    assert "Protokoll" in page
    assert "1146 lb" in page
    stored = client.get(f"/api/cases/{case}/entries").json()["entries"]
    assert stored[0]["body"]["weight_kg"] == 520
    client.cookies.set("lungeline_view", "language:xx|kg:stone")
    assert client.get("/settings/").status_code == 200


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("language", "de"), ("theme", "dark"), ("cmh2o", "mbar"), ("cmh2o", "kpa"), ("mmhg", "kpa"),
        ("kg", "lb"), ("c", "f"),
    ],
)  # fmt: skip
def test_every_choice_is_kept_by_the_browser_and_shown_as_chosen(
    client: Client, key: str, value: str
) -> None:
    def chosen() -> list[str]:
        return re.findall(rf'name="{key}" value="(\w+)"[^>]* checked', client.get("/settings/").text)

    (before,) = chosen()
    assert before != value
    client.cookies.set("lungeline_view", f"{key}:{value}")
    assert chosen() == [value]


def test_a_browser_shows_one_kind_of_cases_and_the_other_once_asked(client: Client) -> None:
    made = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    assert made in client.get("/api/cases").text
    assert client.post("/settings/", data={"do": "side"}).ok  # it has had no running case open
    assert made not in client.get("/api/cases").text
    assert "SIMULATED" in client.get("/settings/").text
    assert client.post("/settings/", data={"do": "side"}).ok
    assert made in client.get("/api/cases").text
    assert client.post("/settings/", data={"do": "nonsense"}).status_code == 400


def test_who_records_is_told(client: Client) -> None:
    assert client.post("/settings/", data={"do": "author", "author": "  B.  Vet "}).ok
    case = client.post("/api/cases", json={"body": OPENING}).json()["case"]
    assert client.get(f"/api/cases/{case}/entries").json()["entries"][0]["author"] == "B. Vet"
    assert client.post("/settings/", data={"do": "author", "author": " "}).status_code == 400


def test_a_backup_holds_what_was_entered(served: Served, client: Client, case: str) -> None:
    told = client.post("/settings/", data={"do": "backup"}).text
    names = re.findall(r"real-\w+\.sqlite3", told)
    (copy,) = (path for path in served.folder.rglob("*") if path.name == names[0])
    with closing(sqlite3.connect(f"file:{copy}?mode=ro", uri=True)) as database:
        dump = "\n".join(database.iterdump())
    assert case in dump
    assert "induce" in dump

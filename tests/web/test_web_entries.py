"""Cases and entries through the interface: entered once, refused in one form, seen by who follows."""

import uuid
from typing import Any

from served import Client, Served, next_word
from websockets import Origin
from websockets.sync.client import connect

OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}


def _opened(client: Client) -> str:
    answer = client.post("/api/cases", json={"body": OPENING})
    assert answer.status_code == 201, answer.text
    return str(answer.json()["case"])


def _entry(**body: float) -> dict[str, Any]:
    return {"uid": uuid.uuid4().hex, "kind": "reading", "body": body}


def test_an_entry_sent_twice_is_entered_once(client: Client) -> None:
    case = _opened(client)
    sent = _entry(map_mmhg=72.0) | {"event_time": "2026-03-01T10:00:00+01:00"}
    first, again = (client.post(f"/api/cases/{case}/entries", json=sent) for _ in range(2))
    assert first.status_code == again.status_code == 201
    assert first.json() == again.json()
    kept = client.get(f"/api/cases/{case}/entries").json()["entries"]
    assert [entry["uid"] for entry in kept].count(sent["uid"]) == 1


def test_a_page_that_follows_hears_of_an_entry_within_a_second(client: Client, served: Served) -> None:
    case = _opened(client)
    address = served.address.replace("http", "ws")
    with connect(f"{address}/ws/case/{case}", origin=Origin(served.address)) as socket:
        first = next_word(socket, 2.0)
        assert first == {"type": "entries", "last_seq": 1}
        client.post(f"/api/cases/{case}/entries", json=_entry(map_mmhg=70.0))
        heard = next_word(socket, 1.0)
    assert heard == {"type": "entries", "last_seq": 2}


def test_what_is_refused_says_what_was_given_what_is_allowed_and_what_to_do(client: Client) -> None:
    case = _opened(client)
    answers = (
        client.post(f"/api/cases/{case}/entries", json=_entry(map_mmhg=7200.0)),
        client.post(f"/api/cases/{case}/entries", json={"uid": "x", "kind": "reading"}),
        client.post(f"/api/cases/{case}/entries", json=_entry() | {"kind": "nonsense"}),
        client.get("/api/cases/20260101-none/entries"),
        client.get("/api/nothing"),
    )
    assert [answer.status_code for answer in answers] == [400, 422, 400, 404, 404]
    for answer in answers:
        assert set(answer.json()["error"]) == {"code", "where", "given", "allowed", "do"}, answer.text


def test_a_request_that_comes_from_no_page_is_refused(client: Client) -> None:
    client.headers.pop("X-CSRFToken")
    answer = client.post("/api/cases", json={"body": OPENING})
    assert answer.status_code == 403
    assert answer.json()["error"]["code"] == "forged"

"""The running case through the interface: lanes, expectations, previews, threats."""

import json
import os
import time
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from served import Client, Served, next_word, serving
from websockets import Origin
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import connect

from lungeline.case import Animal, Case, case_to_json

OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}


def _enter(client: Client, case: str, kind: str, body: dict[str, Any]) -> None:
    sent: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": kind, "body": body}
    answer = client.post(f"/api/cases/{case}/entries", json=sent)
    assert answer.status_code == 201, answer.text


@pytest.fixture
def case(client: Client) -> str:
    return str(client.post("/api/cases", json={"body": OPENING}).json()["case"])


@pytest.fixture
def planned(client: Client, case: str) -> str:
    _enter(
        client, case, "plan", {"case": case_to_json(Case(animal=Animal(species="horse", weight_kg=520.0)))}
    )
    _enter(client, case, "phase", {"phase": "maintain"})
    _enter(client, case, "setting", {"tidal_volume_l": 6.0, "respiratory_rate_per_min": 7.0})
    return case


@pytest.fixture(scope="module")
def clinic(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The made-up clinic, where a horse lies under."""
    with serving(tmp_path_factory.mktemp("clinic") / "data", "--demo") as running:
        yield running


def _running_case(clinic: Served) -> str:
    client = clinic.client()
    for listed in client.get("/api/cases").json()["cases"]:
        if client.get(f"/api/cases/{listed['case']}/watch").json()["live"]:
            return str(listed["case"])
    pytest.fail("nobody lies under in the demonstration")


def _heard(clinic: Served, case: str, wall_s: float) -> list[dict[str, Any]]:
    """Return what a page hears from its first sample on."""
    address = clinic.address.replace("http", "ws", 1)
    told: list[dict[str, Any]] = []
    with connect(f"{address}/ws/live/{case}", origin=Origin(clinic.address)) as socket:
        until = time.monotonic() + 30.0
        while time.monotonic() < until:
            message = json.loads(socket.recv(timeout=30))
            if message["type"] == "hello":
                until = time.monotonic() + wall_s
            if message["type"] != "beat":
                told.append(message)
    return told


def test_what_was_entered_stands_in_the_lanes(client: Client, planned: str) -> None:
    _enter(client, planned, "reading", {"etco2_mmhg": 43.0, "map_mmhg": 71.0})
    told = client.get(f"/api/cases/{planned}/watch").json()
    assert told["measured"]["etco2_mmhg"][0][1] == 43.0
    assert told["settings"]["tidal_volume_l"] == 6.0
    assert {each["what"] for each in told["due"]} == {"row", "gases", "absorbent"}
    assert told["threats"] == []


def test_a_threat_comes_with_the_first_safe_act_in_the_readers_language(client: Client, planned: str) -> None:
    _enter(client, planned, "reading", {"etco2_mmhg": 2.0})
    (threat,) = client.get(f"/api/cases/{planned}/watch").json()["threats"]
    assert "feel a pulse" in threat["do"]
    client.cookies.set("lungeline_view", "language:de")
    (threat,) = client.get(f"/api/cases/{planned}/watch").json()["threats"]
    assert "Puls" in threat["do"]
    client.cookies.set("lungeline_view", "mmhg:kpa")
    (threat,) = client.get(f"/api/cases/{planned}/watch").json()["threats"]
    assert "kPa" in threat["says"]
    assert "mmHg" not in threat["says"]


def test_bands_are_there_with_a_plan_and_not_without(client: Client, planned: str) -> None:
    bands = client.get(f"/api/cases/{planned}/expected").json()["expected"]
    assert bands["animals"] > 10
    low, high = (bands["values"]["etco2_mmhg"][end][-1] for end in ("low", "high"))
    assert 20 < low < high < 90
    other = client.post("/api/cases", json={"body": OPENING}).json()["case"]
    assert client.get(f"/api/cases/{other}/expected").json()["expected"] is None


def test_a_change_is_previewed_and_nothing_is_set_by_asking(client: Client, planned: str) -> None:
    asked: dict[str, Any] = {"settings": {"tidal_volume_l": 3.5}}
    told = client.post(f"/api/cases/{planned}/preview", json=asked).json()["changes"]
    assert told["etco2_mmhg"]["then"] > told["etco2_mmhg"]["now"] + 5
    assert told["peak_pressure_cmh2o"]["then"] < told["peak_pressure_cmh2o"]["now"]
    assert client.get(f"/api/cases/{planned}/watch").json()["settings"]["tidal_volume_l"] == 6.0
    wrong = client.post(f"/api/cases/{planned}/preview", json={"settings": {"tidal_volume_l": 6000}})
    assert wrong.status_code == 400


def test_without_a_plan_previews_and_causes_say_what_to_do(client: Client, case: str) -> None:
    for path in ("preview", "causes"):
        answer = client.post(f"/api/cases/{case}/{path}", json={"settings": {"peep_cmh2o": 8}})
        assert answer.status_code == 400
        assert "Prepare" in answer.json()["error"]["do"]


def test_without_a_plan_what_is_usual_is_expected_once_somebody_agrees(client: Client, case: str) -> None:
    _enter(client, case, "setting", {"tidal_volume_l": 6.0})
    told = client.get(f"/api/cases/{case}/expected", params={"assumed": True}).json()["expected"]
    assert told["animals"] > 10
    assert client.get(f"/api/cases/{case}/ledger").json()["ledger"] is None
    spare = client.get(f"/api/cases/{case}/ledger", params={"assumed": True}).json()["ledger"]
    assert spare["tidal_volume_l"] == 6.0
    asked: dict[str, Any] = {"settings": {"peep_cmh2o": 8}, "assumed": True}
    assert client.post(f"/api/cases/{case}/preview", json=asked).status_code == 200


def test_what_is_due_is_told_by_itself_too(client: Client, planned: str) -> None:
    told = client.get(f"/api/cases/{planned}/due").json()["due"]
    assert [each["what"] for each in told][:2] == ["row", "gases"]


def test_a_simulated_animal_is_heard_without_a_gap_and_as_it_is_set(clinic: Served) -> None:
    case = _running_case(clinic)
    hello, *later = _heard(clinic, case, 3.0)
    assert hello["trends"]["etco2_mmhg"]
    place = hello["from"] + hello["count"]
    for message in later:
        assert (message["epoch"], message["from"]) == (hello["epoch"], place)
        assert {len(values) for values in message["curves"].values()} <= {message["count"]}
        place += message["count"]
    samples = sum(message["count"] for message in later)
    assert samples == pytest.approx(3.0 * 50.0, rel=0.3)  # 50 a second, as the clock on the wall goes
    _enter(clinic.client(), case, "setting", {"peep_cmh2o": 12.0})
    lowest = min(_heard(clinic, case, 12.0)[-1]["curves"]["pressure_cmh2o"])
    assert lowest > 8.0


def test_nothing_is_heard_of_a_real_case_or_from_another_place(
    served: Served, clinic: Served, client: Client
) -> None:
    case = client.post("/api/cases", json={"body": OPENING}).json()["case"]
    address = served.address.replace("http", "ws", 1)
    with (
        connect(f"{address}/ws/live/{case}", origin=Origin(served.address)) as socket,
        pytest.raises(ConnectionClosed) as none,
    ):
        socket.recv(timeout=20)
    assert none.value.rcvd is not None
    assert none.value.rcvd.code == 4404
    other = clinic.address.replace("http", "ws", 1)
    with pytest.raises(InvalidStatus):
        connect(f"{other}/ws/live/{_running_case(clinic)}", origin=Origin("http://elsewhere.example"))


def test_a_page_that_comes_back_is_told_how_far_its_case_has_come(
    served: Served, client: Client, case: str
) -> None:
    address = f"{served.address.replace('http', 'ws', 1)}/ws/case/{case}"
    with connect(address, origin=Origin(served.address)) as stayed:
        next_word(stayed, 5.0)
        _enter(client, case, "note", {"text": "while the other was away"})
        assert next_word(stayed, 5.0)["last_seq"] == 2
        with connect(address, origin=Origin(served.address)) as came_back:
            assert next_word(came_back, 2.0) == {"type": "entries", "last_seq": 2}


@pytest.mark.slow
def test_ten_pages_that_follow_four_curves_take_little_of_a_core(clinic: Served) -> None:
    case = _running_case(clinic)
    _heard(clinic, case, 0.5)  # the animal has been run to now
    begun_s, at = _cpu_s(clinic.process.pid), time.monotonic()
    with ThreadPoolExecutor(10) as pages:
        heard = list(pages.map(lambda _: _heard(clinic, case, 6.0), range(10)))
    used_fraction = (_cpu_s(clinic.process.pid) - begun_s) / (time.monotonic() - at)
    assert all(len(told) > 20 for told in heard)
    assert used_fraction < 0.15


def _cpu_s(pid: int) -> float:
    stat = Path(f"/proc/{pid}/stat")
    if not stat.exists():
        pytest.skip("no /proc here")
    user, system = stat.read_text().rpartition(")")[2].split()[11:13]
    return (int(user) + int(system)) / float(os.sysconf("SC_CLK_TCK"))

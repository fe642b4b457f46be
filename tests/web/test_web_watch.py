"""The running case through the interface: lanes, expectations, previews, threats."""

import uuid
from typing import Any

import pytest
from served import Client

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


def test_what_was_entered_stands_in_the_lanes(client: Client, planned: str) -> None:
    _enter(client, planned, "reading", {"etco2_mmhg": 43.0, "map_mmhg": 71.0})
    told = client.get(f"/api/cases/{planned}/watch").json()
    assert told["measured"]["etco2_mmhg"][0][1] == 43.0
    assert told["settings"]["tidal_volume_l"] == 6.0
    assert {each["what"] for each in told["due"]} == {"row", "gases"}
    assert told["threats"] == []


def test_a_threat_comes_with_the_first_safe_act_in_the_readers_language(client: Client, planned: str) -> None:
    _enter(client, planned, "reading", {"etco2_mmhg": 2.0})
    (threat,) = client.get(f"/api/cases/{planned}/watch").json()["threats"]
    assert "feel a pulse" in threat["do"]
    client.cookies.set("lungeline_view", "language:de")
    (threat,) = client.get(f"/api/cases/{planned}/watch").json()["threats"]
    assert "Puls" in threat["do"]


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


def test_causes_are_ranked_from_the_last_readings(client: Client, planned: str) -> None:
    _enter(
        client,
        planned,
        "reading",
        {"etco2_mmhg": 20.0, "map_mmhg": 45.0, "peak_pressure_cmh2o": 20.0, "spo2_fraction": 0.95},
    )
    told = client.post(f"/api/cases/{planned}/causes", json={}).json()["explanation"]
    assert told["causes"]
    assert told["tests"] or told["threats"]

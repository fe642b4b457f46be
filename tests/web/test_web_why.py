"""Why and what next through the interface: noticed, causes, answers, the animal, what comes, gases."""

import uuid
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from served import Client

from lungeline.case import Animal, Case, case_to_json

OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}
WELL = {
    "peak_pressure_cmh2o": 22.0, "tidal_volume_expired_l": 5.9, "etco2_mmhg": 40.0, "map_mmhg": 72.0,
    "spo2_fraction": 0.97,
}  # fmt: skip


def _enter(client: Client, case: str, kind: str, body: dict[str, Any], ago_min: float = 0.0) -> None:
    sent: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": kind, "body": body}
    sent["event_time"] = (datetime.now(UTC) - timedelta(minutes=ago_min)).isoformat()
    answer = client.post(f"/api/cases/{case}/entries", json=sent)
    assert answer.status_code == 201, answer.text


@pytest.fixture
def tight(client: Client) -> str:
    """A horse whose peak pressure rose ten minutes ago."""
    case = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    plan = {"case": case_to_json(Case(animal=Animal(species="horse", weight_kg=520.0)))}
    _enter(client, case, "plan", plan, 70.0)
    _enter(client, case, "phase", {"phase": "maintain"}, 60.0)
    _enter(client, case, "setting", {"tidal_volume_l": 6.0, "respiratory_rate_per_min": 7.0}, 50.0)
    for ago_min in (30.0, 25.0, 20.0, 15.0):
        _enter(client, case, "reading", WELL, ago_min)
    _enter(client, case, "gases", {"sample": "arterial", "paco2_mmhg": 49.0, "pao2_mmhg": 260.0}, 20.0)
    for ago_min in (10.0, 5.0):
        _enter(client, case, "reading", WELL | {"peak_pressure_cmh2o": 33.0}, ago_min)
    return case


def test_what_was_noticed_says_on_what_it_rests_and_an_entry_ends_it(client: Client, tight: str) -> None:
    told = client.get(f"/api/cases/{tight}/findings").json()
    (found,) = told["findings"]
    assert (found["code"], found["priority"]) == ("watch_moved_together", "medium")
    (rests,) = found["rests"]
    assert (rests["key"], rests["value"], rests["before"]) == ("peak_pressure_cmh2o", 33.0, 22.0)
    assert told["threats"] == []
    _enter(client, tight, "advice", {"code": found["code"], "done": "declined", "reason": "leaning on it"})
    assert client.get(f"/api/cases/{tight}/findings").json()["findings"] == []


def test_a_fall_that_no_single_row_shows_threatens_whatever_is_expected(client: Client, tight: str) -> None:
    _enter(client, tight, "event", {"what": "turned"}, 1.0)
    _enter(client, tight, "reading", {"spo2_fraction": 0.91})
    assert client.get(f"/api/cases/{tight}/watch").json()["threats"] == []
    threats = client.get(f"/api/cases/{tight}/findings").json()["threats"]
    assert [it["code"] for it in threats] == ["threat_saturation"]


def test_causes_come_in_words_with_evidence_and_an_answer_ranks_them_anew(client: Client, tight: str) -> None:
    told = client.post(f"/api/cases/{tight}/causes", json={}).json()
    first = told["lines"][0]["causes"][0]
    assert first["word"] in {"likely", "possible"}
    assert first["for"][0]["key"] == "peak_pressure_cmh2o"
    assert first["for"][0]["measured"] == pytest.approx(11.0)  # 33 - 22, arithmetic
    assert "%" not in first["title"]
    assert told["oxygenation_safe"]
    wheeze = {"code": "test_listen_both_sides", "done": "followed", "about": "listen_both_sides=wheeze"}
    _enter(client, tight, "advice", wheeze)
    after = client.post(f"/api/cases/{tight}/causes", json={}).json()
    assert _place("bronchospasm", after) < _place("bronchospasm", told)
    assert [(it["test"], it["found"]) for it in after["answers"]] == [("listen_both_sides", "wheeze")]
    client.cookies.set("lungeline_view", "language:de|cmh2o:mbar")
    german = client.post(f"/api/cases/{tight}/causes", json={}).json()
    assert german["lines"][0]["causes"][0]["title"] != after["lines"][0]["causes"][0]["title"]


def _place(code: str, told: dict[str, Any]) -> int:
    """Return where a cause stands."""
    return [cause["code"] for line in told["lines"] for cause in line["causes"]].index(code)


def test_no_test_stops_breathing_before_oxygenation_is_shown_to_be_safe(client: Client) -> None:
    case = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    _enter(client, case, "setting", {"tidal_volume_l": 6.0}, 30.0)
    blind = {key: value for key, value in WELL.items() if key != "spo2_fraction"}
    _enter(client, case, "reading", blind, 10.0)
    _enter(client, case, "reading", blind | {"peak_pressure_cmh2o": 33.0})
    told = client.post(f"/api/cases/{case}/causes", json={"assumed": True}).json()
    assert not told["oxygenation_safe"]
    assert told["test"] is None or not told["test"]["interrupts"]
    assert "explain_oxygenation_not_safe" in {it["code"] for it in told["notes"]}


def test_causes_need_a_plan_or_consent_and_readings(client: Client) -> None:
    case = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    for path, sent in (("causes", {}), ("ahead", {"choices": ["leave"]})):
        answer = client.post(f"/api/cases/{case}/{path}", json=sent)
        assert answer.status_code == 400
        assert "Prepare" in answer.json()["error"]["do"]
    answer = client.post(f"/api/cases/{case}/causes", json={"assumed": True})
    assert "Enter what is measured" in answer.json()["error"]["do"]


def test_the_animal_and_what_comes_are_told_by_what_was_read_before_it_changed(
    client: Client, tight: str
) -> None:
    told = client.get(f"/api/cases/{tight}/animal").json()
    assert told["until"] is not None
    for it in told["numbers"]:
        assert it["low"] < it["value"] < it["high"]
    now = told["since_gas"]["now"]
    assert now["low"] < now["middle"] < now["high"]
    names = ["leave", "rate_up", "peep", "stop"]
    ahead = client.post(f"/api/cases/{tight}/ahead", json={"choices": names}).json()["choices"]
    assert [it["name"] for it in ahead] == names
    leave, stop = ahead[0]["bands"]["paco2_mmhg"], ahead[3]["bands"]["paco2_mmhg"]
    assert stop["middle"][-1] > leave["middle"][-1] + 10.0
    assert len(leave["middle"]) == len(ahead[0]["at_min"])
    assert 0.0 <= ahead[0]["at_min"][0] < 1.0
    assert 29.0 <= ahead[0]["at_min"][-1] <= 30.0  # minutes, from the last reading on
    assert client.get(f"/api/cases/{tight}/watch").json()["settings"]["respiratory_rate_per_min"] == 7.0
    wrong = client.post(f"/api/cases/{tight}/ahead", json={"choices": ["pray"]})
    assert wrong.status_code == 400


def test_a_gas_in_doubt_is_asked_about_and_can_be_kept(client: Client, tight: str) -> None:
    gas: dict[str, Any] = {"sample": "arterial", "paco2_mmhg": 6.5, "pao2_mmhg": 33.0}
    (doubt,) = client.post(f"/api/cases/{tight}/gas-doubts", json={"body": gas}).json()["doubts"]
    assert doubt == {"code": "kpa", "figures": {"paco2_mmhg": 6.5, "pao2_mmhg": 33.0}}
    venous: dict[str, Any] = {"body": gas | {"sample": "venous"}}
    assert client.post(f"/api/cases/{tight}/gas-doubts", json=venous).json()["doubts"] == []
    _enter(client, tight, "gases", gas)  # never refused

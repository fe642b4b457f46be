"""Rehearsals over the interface and its sockets: begun, played, led, ended, looked at; and who may."""

import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from served import Client, Served, demo_in, serving
from websockets import Origin
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import ClientConnection, connect

from lungeline.rehearse import scenario_named
from lungeline.rehearse.practice import Practice
from lungeline.web.rehearsed import trainer_view


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server that holds demonstrations alone."""
    with serving(demo_in(tmp_path_factory.mktemp("school") / "data"), "--demo") as running:
        yield running


@pytest.fixture
def learner(school: Served) -> Client:
    return school.client()


@pytest.fixture
def rehearsal(learner: Client) -> Iterator[str]:
    begun = _begin(learner)
    yield begun
    learner.post(f"/api/rehearse/going/{begun}/control", json={"do": "end"})


def _begin(client: Client, scenario: str = "disconnection", *, led: bool = False) -> str:
    told = client.post("/api/rehearse/begin", json={"scenario": scenario, "led": led})
    assert told.status_code == 201, told.text
    return str(told.json()["id"])


def _control(client: Client, rehearsal: str, what: str, value: float | None = None) -> None:
    told = client.post(f"/api/rehearse/going/{rehearsal}/control", json={"do": what, "value": value})
    assert told.ok, told.text


def _do(client: Client, rehearsal: str, deed: str, **given: float | str) -> None:
    told = client.post(f"/api/rehearse/going/{rehearsal}/deeds", json={"deed": deed, "with": given})
    assert told.status_code == 201, told.text


def _seen(client: Client, rehearsal: str, role: str = "") -> dict[str, Any]:
    return dict(client.get(f"/api/rehearse/going/{rehearsal}{role}").json())


def _follow(school: Served, client: Client, rehearsal: str, role: str = "learner") -> ClientConnection:
    cookies = "; ".join(f"{name}={value}" for name, value in client.cookies.items())
    place = f"{school.address.replace('http', 'ws', 1)}/ws/rehearse/{rehearsal}/{role}"
    headers = {"Cookie": cookies}
    # what nobody read stands before the answer to a close: it is not waited for
    return connect(place, origin=Origin(school.address), additional_headers=headers, close_timeout=0.5)


def _heard(socket: ClientConnection, wall_s: float) -> list[dict[str, Any]]:
    until, told = time.monotonic() + wall_s, []
    while time.monotonic() < until:
        message = json.loads(socket.recv(timeout=10))
        if message["type"] != "beat":
            told.append(message)
    return told


def test_a_rehearsal_is_played_and_its_debrief_reveals_what_was_hidden(
    learner: Client, rehearsal: str
) -> None:
    _control(learner, rehearsal, "step", 75)
    assert [line["text"] for line in _seen(learner, rehearsal)["log"]] == [
        "The table goes down. The machine sounds as before."
    ]
    _do(learner, rehearsal, "look at capnogram")
    looking = _seen(learner, rehearsal)["log"][-1]
    assert looking["found"] == ""  # a look takes its time
    _control(learner, rehearsal, "step", 5)
    assert _seen(learner, rehearsal)["log"][-1]["found"] == "A flat line."
    _do(learner, rehearsal, "reconnect")
    _do(learner, rehearsal, "name the cause", cause="disconnection")
    _control(learner, rehearsal, "step", 60)
    _control(learner, rehearsal, "end")
    assert learner.get(f"/api/rehearse/going/{rehearsal}").status_code == 404
    told = learner.get(f"/api/rehearse/played/{rehearsal}").json()
    assert told["outcome"]["times"]["notice_s"] == pytest.approx(15.0, abs=0.2)
    assert told["outcome"]["times"]["treat_s"] == pytest.approx(20.0, abs=0.2)
    assert {each["key"] for each in told["timeline"]["hidden"]} >= {"pao2_mmhg", "shunt_fraction"}
    assert rehearsal in {each["id"] for each in learner.get("/api/rehearse/played").json()["played"]}
    assert learner.get(f"/rehearse/{rehearsal}/debrief.pdf").content.startswith(b"%PDF")
    asked: dict[str, Any] = {"from_s": 70, "deeds": [{"at_s": 90, "deed": "look at bellows", "with": {}}]}
    instead = learner.post(f"/api/rehearse/played/{rehearsal}/what-if", json=asked).json()
    assert instead["would"]["critical_actions"][0]["met"] is False
    harm = {each["key"]: each for each in instead["harm"]}
    assert harm["room_air_l"]["would"] > harm["room_air_l"]["was"]


def test_nothing_tells_the_learner_what_it_is_about(learner: Client, rehearsal: str) -> None:
    _control(learner, rehearsal, "step", 30)
    shown = learner.get(f"/rehearse/{rehearsal}/").text
    told = json.dumps(_seen(learner, rehearsal)) + shown[shown.find("<main") : shown.find("<dialog")]
    assert "Off the circle" not in told
    assert "hidden" not in _seen(learner, rehearsal)
    assert "disconnection" not in rehearsal


def test_a_change_is_previewed_in_a_healthy_circle_and_then_set(learner: Client, rehearsal: str) -> None:
    _control(learner, rehearsal, "pause")
    before = _seen(learner, rehearsal)["settings"]["tidal_volume_l"]
    asked: dict[str, Any] = {"settings": {"tidal_volume_l": before * 1.3}}
    told = learner.post(f"/api/rehearse/going/{rehearsal}/preview", json=asked).json()["changes"]
    assert told["peak_pressure_cmh2o"]["then"] > told["peak_pressure_cmh2o"]["now"]
    assert _seen(learner, rehearsal)["settings"]["tidal_volume_l"] == before
    _do(learner, rehearsal, "set", tidal_volume_l=before * 1.3)
    assert _seen(learner, rehearsal)["settings"]["tidal_volume_l"] == pytest.approx(before * 1.3)
    refused = learner.post(
        f"/api/rehearse/going/{rehearsal}/deeds", json={"deed": "set", "with": {"tidal_volume_l": 900}}
    )
    assert refused.status_code == 400


def test_the_animals_time_goes_with_the_wall_and_as_fast_as_is_asked(
    school: Served, learner: Client, rehearsal: str
) -> None:
    with _follow(school, learner, rehearsal) as socket:
        first = _heard(socket, 0.5)[-1]
        began, wall = first["rehearsal"]["now_s"], time.monotonic()
        last = _heard(socket, 3.0)[-1]
        # two messages a step apart at each end, on a machine with other work
        assert last["rehearsal"]["now_s"] - began == pytest.approx(time.monotonic() - wall, abs=0.6)
        _control(learner, rehearsal, "speed", 10)
        _heard(socket, 0.5)
        began, wall = _heard(socket, 0.3)[-1]["rehearsal"]["now_s"], time.monotonic()
        quick = _heard(socket, 2.0)[-1]["rehearsal"]["now_s"] - began
        assert quick == pytest.approx(10 * (time.monotonic() - wall), rel=0.25)
        _control(learner, rehearsal, "pause")
        _heard(socket, 0.5)
        still = {each["rehearsal"]["now_s"] for each in _heard(socket, 1.0)}
        assert len(still) == 1


def test_who_drops_and_returns_sees_the_present(school: Served, learner: Client, rehearsal: str) -> None:
    with _follow(school, learner, rehearsal) as socket:
        hello = _heard(socket, 1.0)[0]
        assert hello["type"] == "hello"
        assert hello["curves"]["pressure_cmh2o"]
        left_at = hello["rehearsal"]["now_s"]
    time.sleep(1.5)
    with _follow(school, learner, rehearsal) as socket:
        again = _heard(socket, 1.0)[0]
    assert again["type"] == "hello"
    assert again["rehearsal"]["now_s"] > left_at + 1.0
    assert again["numbers"]["peak_pressure_cmh2o"][1] > 5


def test_a_trainer_leads_and_sees_what_the_learner_does_not(school: Served, learner: Client) -> None:
    rehearsal = _begin(learner, "etco2_falls", led=True)
    hands = f"/api/rehearse/going/{rehearsal}/hands"
    try:
        with (
            _follow(school, learner, rehearsal) as seen,
            _follow(school, learner, rehearsal, "trainer") as led,
        ):
            assert "hidden" not in _heard(seen, 0.6)[0]
            assert _heard(led, 0.6)[0]["hidden"]["truth"]["pao2_mmhg"] > 40
            done: list[dict[str, Any]] = [
                {"do": "hide", "with": {"key": "etco2_mmhg"}},
                {"do": "say", "with": {"text": "The owner is here."}},
                {"do": "fault", "with": {"code": "tube_obstruction", "severity": 0.5}},
                {"do": "note", "with": {"text": "Calm."}},
            ]
            for each in done:
                assert learner.post(hands, json=each).status_code == 201
            later = _heard(seen, 9.0)[20:]  # what waited was told before
            assert all("etco2_mmhg" not in message["numbers"] for message in later)
            assert all("co2_mmhg" not in message["curves"] for message in later)
            assert any("pressure_cmh2o" in message["curves"] for message in later)
        assert "The owner is here." in [line["text"] for line in _seen(learner, rehearsal)["log"]]
        hidden = _seen(learner, rehearsal, "/trainer")["hidden"]
        assert hidden["faults"]["tube_obstruction"] == 0.5
        assert [it["hand"] for it in hidden["hands"]] == ["hide", "say", "fault", "note"]
        wrong = learner.post(hands, json={"do": "fault", "with": {"code": "no_such"}})
        assert wrong.status_code == 400
    finally:
        _control(learner, rehearsal, "end")


def test_what_is_judged_at_the_end_stands_open_until_then() -> None:
    practice = Practice(scenario_named("auto_peep"))
    practice.advance(30.0)
    last = {it.code: it.says for it in practice.run.scenario.critical if it.at_end}
    open_still = [it for it in trainer_view(practice)["critical"] if it["says"] in last.values()]
    assert len(open_still) == len(last) > 0
    assert all((it["met"], it["how"], it["at_s"]) == (False, "missed", None) for it in open_still)


def test_going_back_lets_it_be_played_otherwise(learner: Client, rehearsal: str) -> None:
    _control(learner, rehearsal, "step", 80)
    _do(learner, rehearsal, "look at bellows")
    _control(learner, rehearsal, "step", 20)
    _control(learner, rehearsal, "back", 60)
    told = _seen(learner, rehearsal)
    assert told["now_s"] == pytest.approx(
        40.0, abs=1.0
    )  # it went on for a moment before it was first stepped
    assert told["log"] == []


def test_a_browser_with_real_cases_is_asked_before_it_rehearses(client: Client) -> None:
    assert client.post("/api/rehearse/begin", json={"scenario": "disconnection"}).status_code == 409
    page = client.get("/rehearse/").text
    assert "Rehearse on this device" in page
    assert 'role="note"' not in page
    told = client.post("/rehearse/here/", data={"csrfmiddlewaretoken": client.cookies["lungeline_csrf"]})
    assert 'role="note"' in told.text
    assert client.post("/api/rehearse/begin", json={"scenario": "disconnection"}).status_code == 201


def test_a_browser_with_a_running_real_case_does_not_rehearse(client: Client) -> None:
    opening: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}
    case = client.post("/api/cases", json={"body": opening}).json()["case"]
    client.get(f"/case/{case}/watch/")
    told = client.post("/rehearse/here/", data={"csrfmiddlewaretoken": client.cookies["lungeline_csrf"]})
    assert told.status_code == 409
    assert "another device" in told.text


def test_a_stranger_hears_nothing(school: Served, rehearsal: str) -> None:
    place = f"{school.address.replace('http', 'ws', 1)}/ws/rehearse/{rehearsal}/learner"
    with (
        pytest.raises(Exception, match=r"403|4403|rejected"),
        connect(place, origin=Origin("http://elsewhere")) as it,
    ):
        it.recv(timeout=5)
    gone = place.replace(rehearsal, "20260101-000000-00000000")
    with connect(gone, origin=Origin(school.address)) as socket, pytest.raises(ConnectionClosed):
        socket.recv(timeout=5)


def test_the_sheets_of_a_scenario_are_printed(learner: Client) -> None:
    for which in ("handout", "bench"):
        told = learner.get(f"/rehearse/scenario/auto_peep/{which}.pdf")
        assert told.content.startswith(b"%PDF"), which
    assert learner.get("/rehearse/scenario/auto_peep/answers.pdf").status_code == 404
    assert learner.get("/rehearse/scenario/no_such/handout.pdf").status_code == 404


def test_an_own_scenario_lies_in_the_data_folder(school: Served, learner: Client) -> None:
    folder = school.folder / "scenarios"
    folder.mkdir()
    text = Path("src/lungeline/rehearse/scenarios/auto_peep.toml").read_text(encoding="utf-8")
    (folder / "our_own.toml").write_text(text, encoding="utf-8")
    names = [each["name"] for each in learner.get("/api/rehearse/scenarios").json()["scenarios"]]
    assert "our_own" in names
    rehearsal = _begin(learner, "our_own")
    _control(learner, rehearsal, "end")


def test_a_rehearsal_that_goes_on_when_the_server_ends_is_kept(tmp_path: Path) -> None:
    folder = demo_in(tmp_path / "data")
    with serving(folder, "--demo") as first:
        begun = _begin(first.client())
        _control(first.client(), begun, "step", 20)
    with serving(folder, "--demo") as again:
        played = again.client().get("/api/rehearse/played").json()["played"]
        assert begun in {it["id"] for it in played}

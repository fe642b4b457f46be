"""Skills signed off on the pages, and a case made a scenario: who may, who sees whose, and what is told."""

import json
import time
from collections.abc import Iterator
from typing import Any

import pytest
from served import Served, browser_here, demo_in, serving
from test_web_entrance import HOST, WORD, Device

from lungeline.theatre.competence import FILE
from lungeline.theatre.people_file import add_person, set_pin

PIN = "2580"
PEOPLE = {
    "Ada Min": "administrator", "Theo Teacher": "teacher", "Sam Student": "student", "Sue Student": "student",
}  # fmt: skip


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A school on a network, with people who sign in."""
    folder = demo_in(tmp_path_factory.mktemp("people") / "data")
    for name, role in PEOPLE.items():
        add_person(folder / "people.toml", name, role)  # type: ignore[arg-type]  # roles as they are
    set_pin(folder / "people.toml", "Theo Teacher", PIN)
    with serving(folder, "--host", HOST, "--demo") as running:
        here = browser_here(running)
        answer = here.post("/settings/people/", data={"do": "word", "name": "Ada Min", "word": WORD})
        assert answer.status_code == 200
        assert here.post("/enter/", data={"name": "Ada Min", "word": WORD}).ok
        here.headers["X-CSRFToken"] = str(here.cookies["lungeline_csrf"])
        for name in ("Theo Teacher", "Sam Student", "Sue Student"):
            assert here.post("/settings/people/", data={"do": "word", "name": name, "word": WORD}).ok
        yield running


def _signed_in(school: Served, name: str) -> Device:
    device = Device(school)
    assert device.sign_in(name).status_code == 302
    return device


@pytest.fixture
def sam(school: Served) -> Device:
    return _signed_in(school, "Sam Student")


@pytest.fixture
def theo(school: Served) -> Device:
    return _signed_in(school, "Theo Teacher")


@pytest.fixture
def played(sam: Device) -> str:
    """A rehearsal that Sam has played."""
    begun = sam.ask("POST", "/api/rehearse/begin", json={"scenario": "disconnection"})
    assert begun.status_code == 201, begun.text
    name = str(begun.json()["id"])
    assert sam.ask("POST", f"/api/rehearse/going/{name}/control", json={"do": "end"}).ok
    return name


def _sign_off(device: Device, played: str, **other: object) -> Any:  # noqa: ANN401  an answer of requests
    body = {"skill": "act", "passed": True, "note": "calm", "pin": PIN, **other}
    return device.ask("POST", f"/api/rehearse/played/{played}/sign-off", json=body)


def test_a_teacher_signs_off_what_a_learner_has_shown(
    school: Served, sam: Device, theo: Device, played: str
) -> None:
    kept = _sign_off(theo, played)
    assert kept.status_code == 201, kept.text
    line = json.loads((school.folder / FILE).read_text(encoding="utf-8").splitlines()[-1])
    assert (line["person"], line["assessor"], line["scenario"]) == (
        "Sam Student",
        "Theo Teacher",
        "disconnection",
    )
    assert PIN not in kept.text
    assert "Theo Teacher" in sam.ask("GET", "/rehearse/people/").text


def test_nobody_else_signs_off_and_nobody_as_somebody_else(theo: Device, sam: Device, played: str) -> None:
    assert _sign_off(sam, played).status_code == 403
    assert _sign_off(sam, played, assessor="Theo Teacher").status_code == 403
    assert _sign_off(theo, played, pin="0000").status_code == 409
    assert _sign_off(theo, played, skill="magic").status_code == 400
    mine = theo.ask("POST", "/api/rehearse/begin", json={"scenario": "disconnection"}).json()["id"]
    theo.ask("POST", f"/api/rehearse/going/{mine}/control", json={"do": "end"})
    refused = _sign_off(theo, mine)
    assert refused.status_code == 409
    assert "somebody else" in refused.json()["error"]["allowed"]
    assert 'id="sign-off"' not in sam.ask("GET", f"/rehearse/{played}/debrief/").text
    assert 'id="sign-off"' in theo.ask("GET", f"/rehearse/{played}/debrief/").text


def test_ones_own_is_seen_by_oneself_and_who_teaches(
    school: Served, sam: Device, theo: Device, played: str
) -> None:
    assert _sign_off(theo, played, note="own-note-of-sam").status_code == 201
    sue = _signed_in(school, "Sue Student")
    assert "own-note-of-sam" in sam.ask("GET", "/rehearse/people/").text
    assert "own-note-of-sam" in theo.ask("GET", "/rehearse/people/").text
    hers = sue.ask("GET", "/rehearse/people/").text
    assert "own-note-of-sam" not in hers
    assert "Sam Student" not in hers
    assert sue.ask("GET", f"/rehearse/{played}/debrief/").status_code == 403
    assert sue.ask("GET", f"/api/rehearse/played/{played}").status_code == 403


def test_the_group_is_told_from_five_on_and_without_names(school: Served, sam: Device) -> None:
    assert "fewer than five" in sam.ask("GET", "/rehearse/people/").text
    lines = [
        {"person": f"P. {number}", "skill": "wean", "scenario": "", "passed": number > 0,
         "at": "2026-05-04T09:00:00+00:00", "assessor": "Theo Teacher", "note": ""}
        for number in range(5)
    ]  # fmt: skip
    with (school.folder / FILE).open("a", encoding="utf-8") as stream:
        stream.writelines(json.dumps(line) + "\n" for line in lines)
    page = sam.ask("GET", "/rehearse/people/").text
    assert "4 / 5" in page
    assert "P. 3" not in page


def test_the_learner_of_a_led_rehearsal_does_not_turn_its_clock(theo: Device, sam: Device) -> None:
    begun = theo.ask("POST", "/api/rehearse/begin", json={"scenario": "disconnection", "led": True})
    place = f"/api/rehearse/going/{begun.json()['id']}"
    assert sam.ask("POST", f"{place}/control", json={"do": "pause"}).status_code == 403
    hand = {"do": "say", "with": {"text": "Hello"}}
    assert sam.ask("POST", f"{place}/hands", json=hand).status_code == 403
    assert sam.ask("GET", f"{place}/trainer").status_code == 403
    shown = place.replace("/api/rehearse/going", "/rehearse")
    assert sam.ask("GET", f"{shown}/trainer/").status_code == 403
    assert 'id="pause"' not in sam.ask("GET", f"{shown}/").text
    assert sam.ask("POST", f"{place}/deeds", json={"deed": "feel pulse"}).status_code == 201
    assert theo.ask("POST", f"{place}/control", json={"do": "end"}).ok


def test_a_case_is_made_a_scenario_by_who_teaches_alone(school: Served, theo: Device, sam: Device) -> None:
    case = "demo-3"
    assert sam.ask("GET", f"/rehearse/from-case/{case}/").status_code == 403
    assert sam.ask("POST", f"/rehearse/from-case/{case}/").status_code == 403
    assert "/rehearse/from-case/demo-3/" in theo.ask("GET", f"/case/{case}/record/").text
    assert theo.ask("GET", f"/api/rehearse/from-case/{case}").json() == {"state": "none"}
    assert theo.ask("POST", f"/rehearse/from-case/{case}/").status_code == 302
    told = _made(theo, case)
    assert told["state"] == "made", told
    assert {it["key"] for it in told["scenario"]["replayed"]} >= {"etco2_mmhg", "map_mmhg"}
    name = told["scenario"]["name"]
    assert (school.folder / "scenarios" / f"{name}.toml").is_file()
    begun = theo.ask("POST", "/api/rehearse/begin", json={"scenario": name})
    assert begun.status_code == 201
    theo.ask("POST", f"/api/rehearse/going/{begun.json()['id']}/control", json={"do": "end"})
    assert _sign_off(theo, begun.json()["id"]).status_code == 409  # his own
    assert "off the readings" in theo.ask("GET", "/rehearse/").text


def _made(device: Device, case: str, within_s: float = 90.0) -> dict[str, Any]:
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        told: dict[str, Any] = device.ask("GET", f"/api/rehearse/from-case/{case}").json()
        if told["state"] != "working":
            return told
        time.sleep(0.5)
    pytest.fail("it was not made")

"""Plans through the interface: made, moved, asked why, printed, kept; refused in the one form."""

import io
import json
import re
import time
import uuid
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from pypdf import PdfReader
from served import Client, Served, demo_in, serving

CASE: dict[str, Any] = {"animal": {"species": "horse", "weight_kg": 520.0}}
FORM = {"code", "where", "given", "allowed", "do"}
ANIMALS = 4  # the herd is tested where it is made


def _planned(client: Client, **more: Any) -> dict[str, Any]:  # noqa: ANN401  any field of the question
    answer = client.post("/api/plan", json={"case": CASE, "animals": ANIMALS, **more})
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


@pytest.fixture(scope="module")
def planned(served: Served) -> dict[str, Any]:
    """One plan that is open."""
    return _planned(served.client())


def test_a_plan_is_whole_and_the_same_question_has_the_same(client: Client, planned: dict[str, Any]) -> None:
    assert planned["plan"]["schema"] == "lungeline.plan/1"
    assert planned["plan"]["case"]["animal"]["weight_kg"] == 520.0
    assert len(planned["minutes"]["at_min"]) == 120
    assert planned["mark"] == ""
    began = time.monotonic()
    again = _planned(client)
    assert time.monotonic() - began < 1.0  # it was open still
    assert again["key"] == planned["key"]
    assert again["plan"] == planned["plan"]


def test_a_case_in_its_own_form_is_taken_as_one_in_tables(client: Client, planned: dict[str, Any]) -> None:
    assert _planned(client, case=planned["plan"]["case"])["plan"]["settings"] == planned["plan"]["settings"]


def test_a_moved_number_stays_and_what_was_moved_around_it_is_told(
    client: Client, planned: dict[str, Any]
) -> None:
    asked = {"key": planned["key"], "changed": {"respiratory_rate_per_min": 5.0}}
    answer = client.post("/api/plan/preview", json=asked).json()
    assert answer["superseded"] is False
    assert answer["settings"]["respiratory_rate_per_min"] == 5.0
    moved = {each["name"]: each for each in answer["moved"]}
    assert "respiratory_rate_per_min" not in moved
    for name, each in moved.items():
        assert each["from"] == planned["plan"]["settings"][name]
        assert each["to"] == answer["settings"][name] != each["from"]
    assert "tidal_volume_l" in moved  # slower breaths must be larger for the same carbon dioxide
    assert len(answer["curves"]["time_s"]) == len(answer["curves"]["pressure_cmh2o"])
    course = client.post("/api/plan/course", json=asked).json()
    assert len(course["minutes"]["paco2_mmhg"]) == 120
    assert course["spare"]["manoeuvres"]


def test_why_gives_formula_inputs_and_sources_in_full(client: Client, planned: dict[str, Any]) -> None:
    told = client.get("/api/plan/why", params={"key": planned["key"], "name": "spare.needed_l"}).json()
    assert told["value"] == planned["plan"]["spare"]["needed_l"]
    assert told["formula"]
    assert told["inputs"]
    plan = planned["plan"]
    assert all(each in plan["sources"].values() or each in {"case", "profile"} for each in told["sources"])


def test_every_number_that_is_shown_can_be_asked_why(client: Client, planned: dict[str, Any]) -> None:
    page = client.get(f"/prepare/plan/{planned['key']}/")
    assert page.status_code == 200
    names = {part.split('"')[0] for part in page.text.split('data-why="')[1:]}
    assert len(names) > 80
    for name in sorted(names)[::7]:
        assert client.get("/api/plan/why", params={"key": planned["key"], "name": name}).ok, name
    assert "prepare." not in page.text  # every word was found


def test_longer_work_stops_once_its_asker_moves_a_number(client: Client, planned: dict[str, Any]) -> None:
    asked: dict[str, Any] = {
        "case": {"animal": {"species": "horse", "weight_kg": 601.0}},
        "animals": 400,
        "ticket": "long",
    }
    with ThreadPoolExecutor() as pool:
        waiting = pool.submit(client.post, "/api/plan", json=asked)
        while not client.get("/api/plan/progress/long").json()["of"]:
            time.sleep(0.05)
        client.post("/api/plan/preview", json={"key": planned["key"], "changed": {"peep_cmh2o": 6.0}})
        answer = waiting.result()
    assert answer.json()["error"]["code"] == "stopped"
    far = client.get("/api/plan/progress/long").json()
    assert 0 < far["done"] < far["of"] == 400


def test_bands_tell_how_far_they_are(client: Client, planned: dict[str, Any]) -> None:
    told = client.get("/api/plan/bands", params={"key": planned["key"], "ticket": "bands-1"}).json()
    assert len(told["values"]["paco2_mmhg"]["low"]) == 120
    assert client.get("/api/plan/progress/bands-1").json() == {"done": 24, "of": 24}
    assert client.get("/api/plan/progress/nobody").json() == {"done": 0, "of": 0}


@pytest.mark.parametrize("sheet", ["plan", "drugs", "labels", "emergency", "chart", "all"])
def test_each_sheet_is_printed(client: Client, planned: dict[str, Any], sheet: str) -> None:
    answer = client.get(f"/api/plan/pdf/{sheet}", params={"key": planned["key"], "paper": "letter"})
    assert answer.headers["Content-Type"] == "application/pdf"
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages)
    assert "520 kg" in text
    assert not text.startswith("SIMULATED")


def test_a_chosen_bottle_is_in_plan_print_and_record(client: Client, planned: dict[str, Any]) -> None:
    began = time.monotonic()
    made = _planned(client, doses=[{"drug": "ketamine", "use": "induction", "strength": "100 mg/mL"}])
    assert time.monotonic() - began < 1.5  # no new herd for it
    assert made["key"] != planned["key"]
    body = client.get("/api/plan/body", params={"key": made["key"]}).json()
    dose = next(each for each in body["doses"] if (each["drug"], each["use"]) == ("ketamine", "induction"))
    assert dose["volume_ml"] == pytest.approx(dose["total_mg"] / 100.0)  # arithmetic
    first = client.get("/api/plan/body", params={"key": planned["key"]}).json()
    assert all("volume_ml" not in each for each in first["doses"] if each["drug"] == "ketamine")


def test_a_plan_is_kept_in_its_case(client: Client, planned: dict[str, Any]) -> None:
    opening: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}
    case = client.post("/api/cases", json={"body": opening}).json()["case"]
    body = client.get("/api/plan/body", params={"key": planned["key"]}).json()
    sent = {"uid": uuid.uuid4().hex, "kind": "plan", "body": body}
    assert client.post(f"/api/cases/{case}/entries", json=sent).status_code == 201
    page = client.get(f"/case/{case}/prepare/")
    assert page.status_code == 200
    assert re.search(r'data-stored="520(\.0)?"', page.text)


def test_what_cannot_be_planned_is_refused_in_the_one_form(client: Client, planned: dict[str, Any]) -> None:
    key = planned["key"]
    slip = [
        {
            "drug": "ketamine",
            "use": "induction",
            "strength": "100 mg/mL",
            "first_person": "A",
            "second_person": "A",
        }
    ]
    answers = (
        client.post("/api/plan", json={"case": {"animal": {"species": "horse", "weight_kg": 5}}}),
        client.post("/api/plan", json={"case": {"animal": {"species": "unicorn", "weight_kg": 500}}}),
        client.post("/api/plan", json={"case": CASE, "profile_toml": "tidal_volume_ml_kg = 900"}),
        client.post("/api/plan", json={"case": CASE, "animals": ANIMALS, "doses": slip}),
        client.post("/api/plan", json={}),
        client.post("/api/plan/preview", json={"key": key, "changed": {"tidal_volume_l": 4000}}),
        client.post("/api/plan/preview", json={"key": key, "changed": {"tidal_volume": 4}}),
        client.post("/api/plan/course", json={"key": "0" * 24, "changed": {}}),
        client.get("/api/plan/why", params={"key": key, "name": "spare.neded_l"}),
        client.get("/api/plan/pdf/poster", params={"key": key}),
        client.get("/prepare/plan/nothing/", headers={"Accept": "application/json"}),
    )
    for answer in answers:
        assert 400 <= answer.status_code < 500, answer.text
        assert set(answer.json()["error"]) == FORM, answer.text


def test_the_clinics_own_profile_is_in_force(client: Client, served: Served) -> None:
    path = served.folder / "profile.toml"
    path.write_text('name = "ours"\nsigned_by = "A. Vet"\nsigned_on = "2026-01-01"\npeep_cmh2o = 7\n')
    try:
        made = _planned(client)
        assert made["plan"]["profile"]["name"] == "ours"
        assert made["plan"]["settings"]["peep_cmh2o"] == 7.0
        assert "ours" in client.get("/prepare/").text
    finally:
        path.unlink()


def test_the_emergency_card_is_there_at_once_in_millilitres(client: Client) -> None:
    began = time.monotonic()
    page = client.get("/emergency/", params={"species": "horse", "weight_kg": "550"})
    assert time.monotonic() - began < 1.0
    # arithmetic: 0.01 mg/kg (Small Animal CPR, as published in the formulary) of 1 mg/mL for 550 kg
    assert "5.5 mL" in page.text
    assert page.text.index("circulation stopped") < page.text.index("light plane")
    assert "NOT SIGNED" in page.text
    assert client.get("/emergency/").status_code == 200
    refused = client.get("/emergency/", params={"species": "horse", "weight_kg": "5,5"})
    assert refused.status_code == 400
    assert "150 to 1300 kg" in refused.text


def test_a_cases_card_knows_its_animal_and_asks_for_a_weight_it_has_not(client: Client) -> None:
    for weight in (520.0, None):
        opening: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse"}
        opening |= {"weight_kg": weight} if weight else {}
        case = client.post("/api/cases", json={"body": opening}).json()["case"]
        page = client.get(f"/case/{case}/emergency/")
        assert page.status_code == 200
        assert ('class="card"' in page.text) is bool(weight)
        assert f'href="/case/{case}/emergency/"' in client.get(f"/case/{case}/prepare/").text


def test_a_decimal_comma_is_read_and_pounds_are_pounds(client: Client) -> None:
    kilograms = client.get("/emergency/", params={"species": "horse", "weight_kg": "512,5"})
    assert "512" in kilograms.text
    client.cookies.set("lungeline_view", "kg:lb")
    pounds = client.get("/emergency/", params={"species": "horse", "weight_kg": "1212.54"})
    # 550 kg: 1 lb is 0.45359237 kg (international yard and pound agreement, 1959)
    assert "5.5 mL" in pounds.text


def test_what_a_demonstration_prints_is_marked(tmp_path_factory: pytest.TempPathFactory) -> None:
    with serving(demo_in(tmp_path_factory.mktemp("demo") / "data"), "--demo") as demo:
        client = demo.client()
        made = _planned(client)
        assert made["mark"] == "SIMULATED"
        answer = client.get("/api/plan/pdf/emergency", params={"key": made["key"]})
        assert "SIMULATED" in PdfReader(io.BytesIO(answer.content)).pages[0].extract_text()


def test_a_kept_machine_is_known_when_its_case_is_planned_again(client: Client) -> None:
    opening: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}
    case = client.post("/api/cases", json={"body": opening}).json()["case"]
    machine = {"reservoir_capacity_l": 32.0, "makeup_flow_l_min": 60.0}
    key = _planned(client, case=CASE | {"equipment": machine})["key"]
    body = client.get("/api/plan/body", params={"key": key}).json()
    client.post(f"/api/cases/{case}/entries", json={"uid": uuid.uuid4().hex, "kind": "plan", "body": body})
    page = client.get(f"/case/{case}/prepare/").text
    told = re.search(r'<script id="start" type="application/json">(.*?)</script>', page)
    assert told is not None
    known = json.loads(told[1])["known"]["equipment"]
    assert {name: known[name] for name in machine} == machine
    assert re.search(r'name="equipment.reservoir_capacity_l" data-stored="32(\.0)?"', page)

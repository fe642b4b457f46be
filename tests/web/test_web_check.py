"""Checks through the interface: leaks judged as they are typed, the guided check left and gone on with."""

from pathlib import Path
from typing import Any

import pytest
from served import Client, Served, serving

HELD = {"pressure_cmh2o": 30.0, "flow_l_min": 0.35, "rises_at_l_min": 0.5, "falls_at_l_min": 0.2}
FALL = {"start_cmh2o": 30.0, "end_cmh2o": 27.0, "seconds_s": 60.0}
OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}


def _leak(client: Client, values: dict[str, float], **more: Any) -> Any:  # noqa: ANN401  fields of JSON
    return client.post("/api/check/leak", json={"method": "compensating", "values": values, **more})


def _case(client: Client, **opening: str) -> str:
    return str(client.post("/api/cases", json={"body": OPENING | opening}).json()["case"])


def _machine(client: Client, name: str, **more: str | float) -> dict[str, Any]:
    added = client.post("/api/check/machines", json={"sort": "circle", "name": name, **more})
    assert added.status_code == 201, added.text
    return dict(added.json())


def _checks(client: Client, case: str) -> list[dict[str, Any]]:
    entries = client.get(f"/api/cases/{case}/entries").json()["entries"]
    return [entry["body"] for entry in entries if entry["kind"] == "check"]


# -- leak tests --------------------------------------------------------------------------------------------


def test_a_leak_is_judged_as_it_is_typed(client: Client) -> None:
    told = _leak(client, HELD).json()
    assert told["leak_ml_min"] == pytest.approx(350, rel=0.005)  # closed form: what holds is what leaks
    assert told["leak_low_ml_min"] < 350 < told["leak_high_ml_min"]
    assert told["verdict"] == "caution"
    assert told["kept"] is None
    assert told["limits_rest"] == "project"
    grown = told["curves"]["growth"]
    assert len(grown["at_cmh2o"]) == len(grown["leak_ml_min"])
    assert "fall" not in told["curves"]


def test_every_method_is_judged(client: Client) -> None:
    by_fall = _leak(client, FALL, method="decay", circuit={"volume_l": 50.0}, waited_s=90.0).json()
    # 53.7 mL/cmH2O (50 L and hoses of 5) x 3 cmH2O in one minute is about 160 mL/min (arithmetic)
    assert by_fall["leak_ml_min"] == pytest.approx(160, rel=0.1)
    assert by_fall["curves"]["fall"]["pressure_cmh2o"][0] == 30.0
    both = {
        "flow_l_min": 2.0, "rise_from_cmh2o": 25.0, "rise_to_cmh2o": 35.0, "rise_s": 30.0,
        "fall_from_cmh2o": 31.0, "fall_to_cmh2o": 29.0, "fall_s": 60.0,
    }  # fmt: skip
    measured = _leak(client, both, method="rise-fall", waited_s=60.0, held=True).json()
    assert measured["compliance_ml_cmh2o"] == pytest.approx(2000 / 22, rel=0.05)  # flow / (rise + fall)
    assert {"rise", "fall", "growth"} <= measured["curves"].keys()
    two = {
        "pressure_cmh2o": 30.0, "flow_l_min": 0.3, "second_pressure_cmh2o": 20.0, "second_flow_l_min": 0.245,
    }  # fmt: skip
    law = _leak(client, two, method="two-pressures").json()
    assert law["leak_exponent"] == pytest.approx(0.5, abs=0.01)  # ln(300/245) / ln(30/20), closed form


def test_what_a_method_needs_is_told(client: Client) -> None:
    answer = _leak(client, {"pressure_cmh2o": 30.0})
    assert answer.status_code == 400
    assert "flow_l_min" in answer.json()["error"]["given"]
    assert _leak(client, HELD | {"pressure_cmh2o": 3000.0}).status_code == 400
    risen = _leak(client, FALL | {"end_cmh2o": 35.0}, method="decay", circuit={"volume_l": 50.0})
    assert risen.status_code == 400
    assert "Shut every flow" in risen.json()["error"]["do"]


def test_a_bag_and_a_monitor_are_reckoned_with(client: Client) -> None:
    told = _leak(client, HELD, circuit={"bag_attached": True, "sample_flow_l_min": 0.2}).json()
    assert told["leak_ml_min"] == pytest.approx(150, rel=0.05)  # 350 less 200 drawn off (arithmetic)
    assert "leak_test_sample_flow" in {it["code"] for it in told["said"]}


# -- kept --------------------------------------------------------------------------------------------------


def test_tests_of_a_machine_make_a_course(client: Client) -> None:
    machine = _machine(client, "Circle 1", serial="4711", capacity_l=30.0)
    again = client.post("/api/check/machines", json={"sort": "circle", "name": "circle 1"})
    assert again.status_code == 409
    for week, flow in enumerate((0.15, 0.18, 0.21, 0.25, 0.3)):
        at = f"2026-0{week + 1}-05T07:40:00+00:00"
        values = {"pressure_cmh2o": 30.0, "flow_l_min": flow}
        told = _leak(client, values, keep=True, machine="Circle 1", at=at).json()
        assert told["kept"]["machine"] == "Circle 1"
        twice = _leak(client, values, keep=True, machine="Circle 1", at=at).json()
        assert twice["kept"]["seq"] == told["kept"]["seq"]  # sent again after a lost answer: kept once
    listed = client.get("/api/check/machines").json()["machines"]
    (found,) = [it for it in listed if it["id"] == machine["id"]]
    course = found["courses"]["leak_ml_min"]
    assert [round(value) for value in course["values"]] == [150, 180, 210, 250, 300]
    assert course["at_days"][:2] == [0.0, 31.0]  # January has 31 days
    assert course["trend"]["course"] == "getting worse"  # five in order: chance 1 in 120, Kendall
    assert "machine_getting_worse" in {it["code"] for it in found["said"]}
    assert _leak(client, HELD, keep=True, machine="Circle 9").status_code == 400
    assert _leak(client, HELD, keep=True).status_code == 400


def test_a_check_of_a_case_is_told_in_its_record(client: Client) -> None:
    case = _case(client)
    _machine(client, "Circle 2")
    kept = _leak(client, HELD, keep=True, machine="Circle 2", case=case).json()["kept"]
    assert kept["case"] == case
    (body,) = _checks(client, case)
    assert (body["machine"], body["verdict"], body["passed"]) == ("Circle 2", "caution", False)
    assert body["leak_ml_min"] == pytest.approx(350, rel=0.005)
    assert body["test_pressure_cmh2o"] == 30
    assert body["log_count_number"] == kept["seq"]
    # without a machine of the register the case alone has it, once however often it is sent
    lent = {"case": case, "machine": "a lent circle", "at": "2026-05-05T07:40:00+00:00"}
    for _ in range(2):
        alone = _leak(client, HELD, keep=True, **lent).json()["kept"]
        assert (alone["machine"], alone["case"]) == (None, case)
    assert [body["machine"] for body in _checks(client, case)] == ["Circle 2", "a lent circle"]


def test_a_rehearsal_writes_into_no_real_log(client: Client) -> None:
    _machine(client, "Circle 3")
    case = _case(client, purpose="rehearsal")
    assert client.post("/settings/", data={"do": "side"}).ok
    assert "real machine" in client.get("/check/").text
    kept = _leak(client, HELD, keep=True, machine="Circle 3", case=case).json()["kept"]
    assert (kept["machine"], kept["case"]) == (None, case)
    refused = client.post("/api/check/machines", json={"sort": "circle", "name": "Circle 4"})
    assert refused.status_code in {400, 409}
    (found,) = [it for it in client.get("/api/check/machines").json()["machines"] if it["name"] == "Circle 3"]
    assert found["tests"] == []


def test_the_register_changes_retires_strikes_and_signs(client: Client) -> None:
    at = f"/api/check/machines/{_machine(client, 'Circle 5', service_due_on='2020-01-01')['id']}"
    changed = client.post(f"{at}/changes", json={"service_due_on": "", "serial": "12"}).json()
    assert (changed["serial"], changed["service_due_on"]) == ("12", "")
    _leak(client, HELD, keep=True, machine="Circle 5")
    log = client.get(f"{at}/log").json()
    assert [row["what"] for row in log["rows"]] == ["registered", "registered", "leak test"]
    assert log["proof"]["outcome"] == "intact"
    struck = client.post(f"{at}/log/3/strike", json={"reason": "wrong circle"}).json()
    assert (struck["rows"][2]["struck"], struck["tests"]) == ("wrong circle", [])
    signed = client.post(f"{at}/log/signature", json={}).json()
    assert signed["rows"][-1]["what"] == "signed"
    pdf = client.get(f"/check/{changed['id']}/log.pdf")
    assert pdf.content.startswith(b"%PDF")
    assert client.post(f"{at}/retirement", json={"reason": "sold"}).json()["retired"] == "sold"
    assert "Circle 5" not in {it["name"] for it in client.get("/api/check/machines").json()["machines"]}


# -- the guided check --------------------------------------------------------------------------------------


def _begin(client: Client, machine: str, **more: str | float) -> dict[str, Any]:
    begun = client.post("/api/check/walks", json={"machine": machine, **more})
    assert begun.status_code == 201, begun.text
    return dict(begun.json())


def _answer(client: Client, walk: dict[str, Any], **given: Any) -> dict[str, Any]:  # noqa: ANN401  fields of JSON
    told = client.post(f"/api/check/walks/{walk['id']}/answers", json={"step": walk["next"], **given})
    assert told.status_code == 201, told.text
    return dict(told.json())


def _good(walk: dict[str, Any]) -> dict[str, Any]:
    """Return an answer that passes the next step, whatever it asks."""
    step = next(each for each in walk["steps"] if each["key"] == walk["next"])
    values = {
        "number": [step["least"] if step["least"] is not None else step["most"]],
        "ratio": [10.0, 10.0],
        "leak": [100.0],
    }.get(step["kind"], [])
    return {"good": True, "values": dict(zip(step["numbers"], values, strict=True)), "word": "ok"}


def test_a_tick_alone_passes_no_step_with_a_number(client: Client) -> None:
    walk = _begin(client, "Circle 7")
    while not next(step for step in walk["steps"] if step["key"] == walk["next"])["numbers"]:
        walk = _answer(client, walk, skipped=True)
    refused = client.post(f"/api/check/walks/{walk['id']}/answers", json={"step": walk["next"], "good": True})
    assert refused.status_code == 400
    assert client.get(f"/api/check/walks/{walk['id']}").json()["next"] == walk["next"]
    low = _answer(client, walk, good=True, values={"pipeline_pressure_bar": 2.0})  # 50 psi are 3.4 bar
    assert next(step for step in low["steps"] if step["key"] == walk["next"])["result"] == "fail"


def test_the_short_form_follows_a_full_one(client: Client) -> None:
    refused = client.post("/api/check/walks", json={"machine": "Circle 8", "form": "short"})
    assert refused.status_code == 400
    assert "full" in refused.json()["error"]["do"]
    case = _case(client)
    _machine(client, "Circle 8")
    walk = _begin(client, "Circle 8", case=case)
    assert "animal_cattle" not in {step["key"] for step in walk["steps"]}  # it is a horse
    while walk["next"]:
        walk = _answer(client, walk, **_good(walk))
    assert (walk["verdict"], walk["kept"]["machine"], walk["kept"]["case"]) == ("go", "Circle 8", case)
    seen = client.get(f"/api/check/walks/{walk['id']}").json()
    assert seen["kept"]["seq"] == walk["kept"]["seq"]  # looked at again, it is kept once
    assert [body["item"] for body in _checks(client, case)] == ["guided check, full form"]
    offered = client.get("/api/check/walks", params={"machine": "Circle 8"}).json()["offered"]
    assert "short" in offered
    assert _begin(client, "Circle 8", form="short")["of"] < walk["of"]


def test_what_a_machine_says_is_normal_at_one_step_and_a_fault_at_another(client: Client) -> None:
    walk = _begin(client, "Circle 10")
    first = walk["steps"][0]
    assert "supply_not_open" in first["normal"]
    walk = _answer(client, walk, good=True, notices=["supply_not_open"])
    assert "check_notice_is_fault" not in {it["code"] for it in walk["said"]}
    walk = _answer(client, walk, good=True, notices=["mains_lost"])
    assert "check_notice_is_fault" in {it["code"] for it in walk["said"]}
    assert walk["verdict"] == "stop"


def test_a_check_is_gone_on_with_after_the_server_died(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    with serving(folder) as served:
        client = served.client()
        walk = _begin(client, "Circle 1", form="after")
        walk = _answer(client, walk, skipped=True)
        walk = _answer(client, walk, good=False)
        served.process.kill()
    file = folder / "checks" / f"{walk['id']}.jsonl"
    # as a kill in the middle of a line leaves it
    file.write_bytes(file.read_bytes() + b'{"step": "half a li')
    with serving(folder) as again:
        client = again.client()
        (open_,) = client.get("/api/check/walks", params={"machine": "Circle 1"}).json()["open"]
        assert (open_["id"], open_["done"]) == (walk["id"], 2)
        same = _begin(client, "Circle 1", form="after")
        assert same == walk
        assert _answer(client, same, good=True)["done"] == 3
        assert client.get("/api/check/walks/check-..-..-etc").status_code in {400, 404}


# -- test lung, page ---------------------------------------------------------------------------------------


def test_a_ventilator_is_tested_on_a_lung(client: Client) -> None:
    _machine(client, "Ventilator A")
    values = {
        "set_tidal_volume_l": 5.0, "set_rate_per_min": 8.0, "set_inspiratory_time_s": 2.0,
        "measured_tidal_volume_l": 4.4, "measured_rate_per_min": 8.0, "measured_peak_cmh2o": 13.0,
    }  # fmt: skip
    told = client.post(
        "/api/check/lung", json={"values": values, "keep": True, "machine": "Ventilator A"}
    ).json()
    assert told["verdict"] == "stop"  # 4.4 of 5 L is 12 % less, the tolerance 10 %
    # 5 L into 0.5 L/cmH2O is 10 cmH2O, 2.5 L/s through 1 cmH2O s/L another 2.5 (closed form)
    assert told["expected_peak_cmh2o"] == pytest.approx(12.5, abs=1.0)
    assert told["kept"]["machine"] == "Ventilator A"
    lacks = client.post("/api/check/lung", json={"values": {"set_tidal_volume_l": 5.0}})
    assert "set_rate_per_min" in lacks.json()["error"]["given"]


def test_the_page_is_there_with_and_without_a_case_in_both_languages(client: Client, served: Served) -> None:
    assert served.address
    case = _case(client)
    for path in ("/check/", f"/case/{case}/check/"):
        assert "Leak test" in client.get(path).text
        german = client.get(path, cookies={"lungeline_view": "language:de"}).text
        assert "Leckprüfung" in german
        assert "check." not in german.replace("/check.", "").split("<header")[1].split("</main>")[0]

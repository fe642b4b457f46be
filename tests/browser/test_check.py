"""Checks in a real browser: steps, the server dies, gone on with; a leak typed and judged at once."""

import signal
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from served import Client, Served, start

pytestmark = pytest.mark.slow
SMALLEST_PX = 48


@pytest.fixture
def client(served: Served) -> Client:
    return served.client()


def _registered(client: Client, name: str) -> None:
    known = {it["name"] for it in client.get("/api/check/machines").json()["machines"]}
    if name not in known:
        assert client.post("/api/check/machines", json={"sort": "circle", "name": name}).ok


def _case(client: Client, **opening: str) -> str:
    body: dict[str, Any] = {
        "purpose": "real",
        "name": "Stella",
        "species": "horse",
        "weight_kg": 520.0,
    } | opening
    return str(client.post("/api/cases", json={"body": body}).json()["case"])


def _type(page: Page, label: str, digits: str) -> None:
    """Type a number on the pad of a stepper."""
    page.get_by_role("group", name=label, exact=True).locator(".shown").click()
    page.keyboard.type(digits)
    page.keyboard.press("Enter")


def test_three_steps_left_and_gone_on_with_after_the_server_died(chromium: Browser, tmp_path: Path) -> None:
    served = start(tmp_path / "data")
    port = int(served.address.rpartition(":")[2])
    _registered(served.client(), "Circle 1")
    page = chromium.new_context(base_url=served.address, viewport={"width": 1180, "height": 820}).new_page()
    page.set_default_timeout(10_000)
    page.goto("/check/")
    page.locator("[data-form=full]").click()
    expect(page.get_by_role("heading", name="Backup ventilation")).to_be_visible()
    page.get_by_role("button", name="✓ Good").click()
    expect(page.get_by_role("heading", name="Reservoir at its empty stop")).to_be_visible()
    page.get_by_role("button", name="✕ Not good").click()
    expect(page.locator(".finding").first).to_contain_text("Reservoir at its empty stop: ✕ failed")
    page.get_by_role("button", name="in order").click()
    # the fourth step has a number: no tick, and nothing to judge before it is there
    expect(page.get_by_role("heading", name="Oxygen supply")).to_be_visible()
    expect(page.get_by_role("button", name="✓ Good")).to_have_count(0)
    expect(page.get_by_role("button", name="✓ Judge it")).to_be_disabled()
    served.process.send_signal(signal.SIGKILL)
    served.process.wait()
    again = start(tmp_path / "data", port=port)
    page.goto("/check/")
    button = page.locator("[data-form=full]")
    expect(button).to_contain_text("Go on: 3/")
    button.click()
    expect(page.get_by_role("heading", name="Oxygen supply")).to_be_visible()
    _type(page, "Supply pressure", "4.2")
    page.get_by_role("button", name="✓ Judge it").click()
    expect(page.get_by_role("heading", name="Oxygen in reserve")).to_be_visible()
    (open_,) = again.client().get("/api/check/walks", params={"machine": "Circle 1"}).json()["open"]
    walk = again.client().get(f"/api/check/walks/{open_['id']}").json()
    assert [step["result"] for step in walk["steps"][:4]] == ["pass", "fail", "pass", "pass"]
    page.context.close()
    for each in (served, again):
        each.process.kill()
        each.process.wait()
        if each.process.stdout:
            each.process.stdout.close()


def test_a_leak_is_judged_with_every_reading_and_kept_in_log_and_case(page: Page, client: Client) -> None:
    _registered(client, "Circle 1")
    case = _case(client)
    page.goto(f"/case/{case}/check/#leak")
    page.get_by_role("button", name="Circle 1").first.click()
    answer = page.locator("#leak .verdict").first
    expect(page.get_by_text("Still needed: the flow at which the needle stands.")).to_be_visible()
    for flow, does in (("0.35", "It stands"), ("0.5", "It rises"), ("0.2", "It falls")):
        _type(page, "Flow", flow)
        page.get_by_role("button", name=does).click()
        expect(page.locator("#leak .lane .now")).to_contain_text("350")
    expect(answer).to_have_attribute("data-verdict", "caution")
    # what was read is still there when the page is loaded again, and a reading can be taken away
    page.reload()
    expect(page.locator(".readings tr")).to_have_count(3)
    page.get_by_role("button", name="Take away: 30 cmH2O, 0.2 L/min, It falls").click()
    expect(page.locator(".readings tr")).to_have_count(2)
    page.get_by_role("button", name="Keep this test").click()
    expect(page.get_by_role("heading", name="✓ Kept")).to_be_visible()
    entries = client.get(f"/api/cases/{case}/entries").json()["entries"]
    (body,) = [entry["body"] for entry in entries if entry["kind"] == "check"]
    assert (body["machine"], body["verdict"], body["test_pressure_cmh2o"]) == ("Circle 1", "caution", 30)


def test_a_fall_is_timed_by_the_clock_with_its_curve(page: Page) -> None:
    page.goto("/check/#leak")
    page.get_by_role("radio", name="Pressure falls").check()
    _type(page, "Litres under test", "50")
    _type(page, "Pressure now", "30")
    page.get_by_role("button", name="Start the clock").click()
    page.get_by_role("button", name="Note this reading").click()
    expect(page.locator("#seconds")).to_have_text("1")
    page.get_by_role("button", name="Stop the clock").click()
    for at, pressure in (("30", "28.5"), ("60", "27")):
        _type(page, "Clock", at)
        _type(page, "Pressure now", pressure)
        page.get_by_role("button", name="Note this reading").click()
    expect(page.locator("#leak .lane")).to_have_count(2)
    expect(page.locator("#leak .verdict").first).to_be_visible()
    _type(page, "Clock", "70")
    _type(page, "Pressure now", "36")
    page.get_by_role("button", name="Note this reading").click()
    expect(page.locator("#leak .problem").last).to_contain_text("Shut every flow")


def test_a_leak_measured_for_a_step_is_put_into_it(page: Page, client: Client) -> None:
    walk = client.post("/api/check/walks", json={"machine": "Circle 6"}).json()
    while walk["next"] != "leak_without_ventilator":
        skipped = {"step": walk["next"], "skipped": True}
        walk = client.post(f"/api/check/walks/{walk['id']}/answers", json=skipped).json()
    page.goto("/check/")
    page.get_by_label("or another one").fill("Circle 6")
    page.get_by_label("or another one").press("Enter")
    page.locator("[data-form=full]").click()
    page.get_by_role("button", name="Measure it with the leak test").click()
    _type(page, "Flow", "0.12")
    page.get_by_role("button", name="It stands").click()
    page.get_by_role("button", name="Into the guided check").click()
    expect(page.get_by_role("group", name="Leak at 30 cmH2O")).to_contain_text("120 mL/min")
    page.get_by_role("button", name="✓ Judge it").click()
    expect(page.get_by_role("heading", name="Spill valve opens")).to_be_visible()


def test_on_a_dark_phone_in_german_a_rehearsal_is_marked_and_every_control_is_large(
    chromium: Browser, served: Served
) -> None:
    phone = chromium.new_context(
        base_url=served.address, viewport={"width": 360, "height": 740}, color_scheme="dark"
    )
    phone.add_cookies([{"name": "lungeline_view", "value": "language:de", "url": served.address}])
    page = phone.new_page()
    page.set_default_timeout(10_000)
    client = served.client()
    _registered(client, "Circle 1")
    page.goto("/settings/")
    page.locator("#side button").click()
    page.locator("#ask-yes").click()
    expect(page.locator(".mark")).to_contain_text("SIMULIERT")
    page.goto("/check/")
    expect(page.locator(".mark")).to_contain_text("SIMULIERT")
    expect(page.locator("main")).to_contain_text("Nichts kommt in das Protokoll")
    page.get_by_role("button", name="Circle 1").click()
    page.locator("[data-form=after]").press("Enter")
    expect(page.get_by_role("heading", name="Gas und Verdampfer aus")).to_be_focused()
    for part in ("leak", "lung", "machines", "walk"):
        page.locator(f"#tab-{part}").click()
        small = page.evaluate(
            """least => [...document.querySelectorAll("main button, main select, main a, main summary")]
            .filter(each => each.checkVisibility() && (each.offsetHeight < least || each.offsetWidth < least))
            .map(each => each.outerHTML)""",
            SMALLEST_PX,
        )
        assert small == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), part
    phone.close()

"""The running case in a real browser: rows, undo, two devices, a cut line, a server that dies, a preview."""

import re
import signal
import uuid
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from served import Client, Served, start

from lungeline.case import Animal, Case, case_to_json

pytestmark = pytest.mark.slow
OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}


def _case(client: Client) -> str:
    case = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    dose = {"drug": "ketamine", "use": "induction", "total_mg": 1144.0, "volume_ml": 11.4}
    plan = {"case": case_to_json(Case(animal=Animal(species="horse", weight_kg=520.0))), "doses": [dose]}
    told: list[tuple[str, dict[str, Any]]] = [
        ("plan", plan), ("phase", {"phase": "maintain"}), ("setting", {"tidal_volume_l": 6.0}),
    ]  # fmt: skip
    for kind, body in told:
        sent: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": kind, "body": body}
        assert client.post(f"/api/cases/{case}/entries", json=sent).ok
    return case


def _entries(client: Client, case: str, kind: str) -> list[dict[str, Any]]:
    entries = client.get(f"/api/cases/{case}/entries").json()["entries"]
    return [entry for entry in entries if entry["kind"] == kind]


@pytest.fixture
def client(served: Served) -> Client:
    return served.client()


@pytest.fixture
def case(client: Client) -> str:
    return _case(client)


def _open(page: Page, case: str) -> None:
    page.goto(f"/case/{case}/watch/")
    expect(page.locator("#phase")).to_have_text("anaesthesia")


def _settled(page: Page) -> None:
    """Wait until nothing waits on the device."""
    expect(page.locator("#link")).to_have_text("Connected")


def test_a_row_is_entered_seen_in_its_lane_and_taken_back(page: Page, client: Client, case: str) -> None:
    _open(page, case)
    page.get_by_role("button", name="Mean arterial pressure: more").click()
    page.get_by_role("button", name="Enter this row").click()
    expect(page.locator('.lane[data-name="map_mmhg"] .now')).to_have_text("71 mmHg")
    _settled(page)
    (entry,) = _entries(client, case, "reading")
    assert entry["body"] == {"map_mmhg": 71}
    page.get_by_role("button", name="Undo").click()
    expect(page.locator('.lane[data-name="map_mmhg"] .now')).to_have_text("–")
    assert len(_entries(client, case, "strike")) == 1


def test_a_planned_dose_takes_three_taps(page: Page, client: Client, case: str) -> None:
    _open(page, case)
    page.get_by_role("tab", name="Drug").click()
    page.get_by_role("button", name="ketamine 1144 mg").click()
    page.get_by_role("button", name="Given").click()
    expect(page.locator(".told")).to_contain_text("ketamine 1144 mg")
    _settled(page)
    (entry,) = _entries(client, case, "drug")
    assert (entry["body"]["amount_mg"], entry["body"]["volume_ml"]) == (1144, 11.4)


def test_a_change_is_previewed_then_recorded_as_set(page: Page, client: Client, case: str) -> None:
    _open(page, case)
    page.get_by_role("tab", name="Set").click()
    button = page.get_by_role("button", name="I have set this on the ventilator")
    expect(button).to_be_disabled()
    for _ in range(6):
        page.get_by_role("button", name="Tidal volume: more").click()
    expect(page.locator("#preview")).to_contain_text("Peak pressure")
    assert len(_entries(client, case, "setting")) == 1
    button.click()
    # a breath half as large again is to be set back, and is asked for until it is
    expect(page.locator("#back")).to_contain_text("9 L → 6 L")
    page.get_by_role("button", name="It is set back to 6 L").click()
    expect(page.locator("#back")).to_be_empty()
    assert [entry["body"]["tidal_volume_l"] for entry in _entries(client, case, "setting")] == [6, 9, 6]


def test_two_devices_see_each_others_entries_within_a_second(
    page: Page, chromium: Browser, served: Served, case: str
) -> None:
    other = chromium.new_context(base_url=served.address).new_page()
    _open(page, case)
    _open(other, case)
    other.get_by_role("button", name="End-tidal CO2: more").click()
    other.get_by_role("button", name="Enter this row").click()
    expect(page.locator('.lane[data-name="etco2_mmhg"] .now')).to_have_text("41 mmHg", timeout=2000)
    other.context.close()


def test_a_cut_line_is_seen_and_what_was_entered_arrives_once(
    page: Page, context: BrowserContext, client: Client, case: str
) -> None:
    _open(page, case)
    context.set_offline(True)
    page.get_by_role("tab", name="Event").click()
    page.get_by_role("button", name="Surgery begins").click()
    page.get_by_role("button", name="Turned").click()
    expect(page.locator("#link")).to_have_attribute("data-state", "lost")
    expect(page.locator("#link")).to_contain_text("2 waiting")
    assert _entries(client, case, "event") == []
    context.set_offline(False)
    _settled(page)
    assert [entry["body"]["what"] for entry in _entries(client, case, "event")] == [
        "surgery begins",
        "turned",
    ]


def test_a_server_that_dies_and_comes_back_loses_nothing(chromium: Browser, tmp_path: Path) -> None:
    served = start(tmp_path / "data")
    port = int(served.address.rpartition(":")[2])
    case = _case(served.client())
    page = chromium.new_context(base_url=served.address).new_page()
    _open(page, case)
    served.process.send_signal(signal.SIGKILL)
    served.process.wait()
    page.get_by_role("tab", name="Event").click()
    page.get_by_role("button", name="Surgery begins").click()
    expect(page.locator("#link")).to_have_attribute("data-state", "lost")
    again = start(tmp_path / "data", port=port)
    expect(page.locator("#link")).to_have_text("Connected", timeout=20_000)
    events = _entries(again.client(), case, "event")
    assert [entry["body"]["what"] for entry in events] == ["surgery begins"]
    page.context.close()
    for each in (served, again):
        each.process.kill()
        each.process.wait()
        if each.process.stdout:
            each.process.stdout.close()


def test_a_new_case_by_keyboard_alone_in_german_on_a_dark_phone(chromium: Browser, served: Served) -> None:
    phone = chromium.new_context(
        base_url=served.address, viewport={"width": 360, "height": 740}, color_scheme="dark"
    )
    phone.add_cookies([{"name": "lungeline_view", "value": "language:de", "url": served.address}])
    page = phone.new_page()
    page.goto("/cases/new/")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.name") == "name":
            break
    page.keyboard.type("Möwe")
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowRight")  # the next species: a pony
    page.keyboard.press("Tab")
    page.keyboard.type("212,5")
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/watch/"))
    expect(page.locator(".animal")).to_contain_text("Möwe Pony")
    expect(page.locator(".animal")).to_contain_text("212 kg")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    phone.close()

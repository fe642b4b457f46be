"""The running case in a real browser: rows, undo, two devices, a cut line, a server that dies, a preview."""

import re
import signal
import time
import uuid
from contextlib import ExitStack
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect
from served import Client, Served, demo_in, serving, start

from lungeline.case import Animal, Case, case_to_json

pytestmark = pytest.mark.slow
OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}


DOSE: dict[str, Any] = {"drug": "ketamine", "use": "induction", "total_mg": 1144.0, "volume_ml": 11.4}


def _case(client: Client, dose: dict[str, Any] = DOSE) -> str:
    case = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
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


def _once_saved(client: Client, case: str, kind: str, count: int = 1) -> list[dict[str, Any]]:
    """Return the entries of a kind once there are so many; what a page says is on its device first."""
    until = time.monotonic() + 5.0
    while len(found := _entries(client, case, kind)) < count and time.monotonic() < until:
        time.sleep(0.05)
    return found


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
    assert len(_once_saved(client, case, "strike")) == 1


def test_a_planned_dose_takes_three_taps(page: Page, client: Client, case: str) -> None:
    _open(page, case)
    page.get_by_role("tab", name="Drug").click()
    page.get_by_role("button", name="ketamine 1144 mg").click()
    page.get_by_role("button", name="Given").click()
    expect(page.locator(".told")).to_contain_text("ketamine 1144 mg")
    _settled(page)
    (entry,) = _once_saved(client, case, "drug")
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


def test_a_server_that_falls_silent_is_told_within_seconds(page: Page, served: Served, case: str) -> None:
    _open(page, case)
    expect(page.locator("#link")).to_have_attribute("data-state", "connected")
    served.process.send_signal(signal.SIGSTOP)
    try:
        expect(page.locator("#link")).to_have_attribute("data-state", "lost", timeout=4_500)
    finally:
        served.process.send_signal(signal.SIGCONT)
    expect(page.locator("#link")).to_have_attribute("data-state", "connected", timeout=10_000)


def test_a_server_that_dies_and_comes_back_loses_nothing(chromium: Browser, tmp_path: Path) -> None:
    with ExitStack() as ended:
        served = start(tmp_path / "data")
        ended.callback(_end, served)
        port = int(served.address.rpartition(":")[2])
        case = _case(served.client())
        device = chromium.new_context(base_url=served.address)
        ended.callback(device.close)
        page = device.new_page()
        _open(page, case)
        served.process.send_signal(signal.SIGKILL)
        served.process.wait()
        page.get_by_role("tab", name="Event").click()
        page.get_by_role("button", name="Surgery begins").click()
        expect(page.locator("#link")).to_have_attribute("data-state", "lost")
        again = start(tmp_path / "data", port=port)
        ended.callback(_end, again)
        expect(page.locator("#link")).to_have_text("Connected", timeout=20_000)
        events = _entries(again.client(), case, "event")
        assert [entry["body"]["what"] for entry in events] == ["surgery begins"]


def _end(served: Served) -> None:
    """End a server, whatever became of the test: none is left behind."""
    served.process.kill()
    served.process.wait()
    if served.process.stdout:
        served.process.stdout.close()


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


def test_a_dose_at_a_strength_nobody_confirmed_takes_one_tap_more(page: Page, client: Client) -> None:
    case = _case(client, {"drug": "ketamine", "use": "induction", "total_mg": 1144.0})
    _open(page, case)
    page.get_by_role("tab", name="Drug").click()
    page.get_by_role("button", name="ketamine 1144 mg").click()
    page.get_by_role("button", name="Given").click()
    expect(page.locator("#form .problem")).to_be_visible()
    assert _entries(client, case, "drug") == []
    page.get_by_role("checkbox").filter(visible=True).check()
    page.get_by_role("button", name="Given").click()
    expect(page.locator(".told")).to_contain_text("ketamine 1144 mg")


def test_another_drug_is_found_by_what_else_it_is_called(page: Page, client: Client, case: str) -> None:
    _open(page, case)
    page.get_by_role("tab", name="Drug").click()
    page.get_by_role("button", name="Another drug").click()
    page.locator("#form input[name=drug]").fill("Detomidin")  # as it is called in German
    page.locator("#form input[name=amount_mg]").fill("5,2")
    page.locator("#form button[type=submit]").click()
    expect(page.locator(".told")).to_contain_text("detomidine 5.2 mg")
    (entry,) = _once_saved(client, case, "drug")
    assert entry["body"] == {"drug": "detomidine", "amount_mg": 5.2}


def test_a_row_of_what_did_not_change_is_one_tap_a_number(page: Page, client: Client, case: str) -> None:
    sent = {"heart_rate_per_min": 38.0, "map_mmhg": 72.0, "spo2_fraction": 0.95}
    body: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": "reading", "body": sent}
    assert client.post(f"/api/cases/{case}/entries", json=body).ok
    _open(page, case)
    begun = time.monotonic()
    for name in ("Heart rate", "Mean arterial pressure", "Saturation"):
        page.get_by_role("button", name=f"{name}: measured, unchanged").click()
    page.get_by_role("button", name="Enter this row").click()
    expect(page.locator(".told")).to_contain_text("38 /min")
    assert time.monotonic() - begun < 10.0  # the limit of the page's own aim
    _, row = _once_saved(client, case, "reading", 2)
    assert row["body"] == sent


def test_typed_readings_alone_make_lanes_and_what_is_not_measured_stays_thin(
    page: Page, client: Client, case: str
) -> None:
    now = datetime.now(UTC)
    for minute in range(120, 0, -5):
        told: dict[str, Any] = {
            "uid": uuid.uuid4().hex,
            "kind": "reading",
            "body": {"map_mmhg": 70.0, "heart_rate_per_min": 38.0},
        }
        told["event_time"] = (now - timedelta(minutes=minute)).isoformat()
        assert client.post(f"/api/cases/{case}/entries", json=told).ok
    _open(page, case)
    expect(page.locator(".lane:not(.thin)")).to_have_count(2)
    expect(page.locator('.lane.thin[data-name="etco2_mmhg"]')).to_contain_text("not measured")
    number = page.locator('.lane[data-name="map_mmhg"] .now')
    assert float(number.evaluate("it => parseFloat(getComputedStyle(it).fontSize)")) >= 60.0
    expect(page.locator('.lane[data-name="map_mmhg"] .age')).to_contain_text("5 min")


def test_without_a_connection_a_change_is_recorded_and_its_preview_says_why_there_is_none(
    page: Page, context: BrowserContext, client: Client, case: str
) -> None:
    _open(page, case)
    page.get_by_role("tab", name="Set").click()
    context.set_offline(True)
    page.get_by_role("button", name="PEEP: more").click()
    expect(page.locator("#preview")).to_contain_text("needs connection")
    page.get_by_role("button", name="I have set this on the ventilator").click()
    page.get_by_role("tab", name="More").click()
    page.get_by_role("button", name="Note").click()  # every form came with the page
    page.locator("#form textarea").fill("the mains failed")
    page.locator("#form button[type=submit]").click()
    undo = page.get_by_role("button", name="Undo")
    expect(undo).to_have_count(2)
    undo.last.click()  # taken back before it was sent: it never was
    context.set_offline(False)
    expect(page.locator("#link")).to_have_attribute("data-state", "connected")
    assert len(_once_saved(client, case, "setting", 2)) == 2
    expect(page.locator("#link")).not_to_contain_text("waiting")
    assert _entries(client, case, "note") == []


def test_a_feed_that_falls_silent_says_so_in_words_and_goes_on(chromium: Browser, tmp_path: Path) -> None:
    with serving(demo_in(tmp_path / "clinic"), "--demo") as clinic:
        client = clinic.client()
        listed = [it["case"] for it in client.get("/api/cases").json()["cases"]]
        case = next(it for it in listed if client.get(f"/api/cases/{it}/watch").json()["live"])
        page = chromium.new_context(base_url=clinic.address).new_page()
        page.goto(f"/case/{case}/watch/")
        curve = page.locator('.curve[data-channel="pressure_cmh2o"]')
        expect(curve).to_be_visible(timeout=20_000)
        expect(page.locator("#live-state")).to_be_hidden()
        clinic.process.send_signal(signal.SIGSTOP)
        expect(page.locator("#live-state")).to_contain_text("Signal lost", timeout=3_000)
        still = curve.evaluate("it => it.toDataURL()")
        assert curve.evaluate("it => it.toDataURL()") == still
        clinic.process.send_signal(signal.SIGCONT)
        expect(page.locator("#live-state")).to_be_hidden(timeout=20_000)
        page.wait_for_function("(still) => document.querySelector('.curve').toDataURL() !== still", arg=still)
        page.context.close()

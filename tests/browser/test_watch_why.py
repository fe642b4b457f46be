"""Why and what next in a real browser: a deviation, its causes, a test and its answer; what comes."""

import re
import uuid
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Literal

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect
from served import Client, Served

from lungeline.case import Animal, Case, case_to_json

pytestmark = pytest.mark.slow
AXE = Path(__file__).resolve().parents[2] / "node_modules" / "axe-core" / "axe.min.js"
OPENING: dict[str, Any] = {"purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0}
WELL = {
    "peak_pressure_cmh2o": 22.0, "tidal_volume_expired_l": 5.9, "etco2_mmhg": 40.0, "map_mmhg": 72.0,
    "spo2_fraction": 0.97,
}  # fmt: skip
TIGHT = WELL | {"peak_pressure_cmh2o": 26.0}
RECKONED_MS = 20_000


def _enter(client: Client, case: str, kind: str, body: dict[str, Any], ago_min: float = 0.0) -> None:
    sent: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": kind, "body": body}
    sent["event_time"] = (datetime.now(UTC) - timedelta(minutes=ago_min)).isoformat()
    assert client.post(f"/api/cases/{case}/entries", json=sent).ok


def _case(client: Client, *, rows: tuple[float, ...] = (25.0, 20.0, 15.0, 10.0)) -> str:
    case = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    plan = {"case": case_to_json(Case(animal=Animal(species="horse", weight_kg=520.0)))}
    _enter(client, case, "plan", plan, 60.0)
    _enter(client, case, "phase", {"phase": "maintain"}, 50.0)
    _enter(client, case, "setting", {"tidal_volume_l": 6.0, "respiratory_rate_per_min": 7.0}, 40.0)
    for ago_min in rows:
        _enter(client, case, "reading", WELL, ago_min)
    return case


@pytest.fixture
def client(served: Served) -> Client:
    return served.client()


@pytest.fixture
def case(client: Client) -> str:
    return _case(client)


def _open(page: Page, case: str) -> None:
    page.goto(f"/case/{case}/watch/")
    expect(page.locator('[role=tab][aria-selected="true"]')).to_have_count(1)  # wired
    page.get_by_role("tab", name=re.compile("Why and what next|Warum und was nun")).click()


def _entries(client: Client, case: str, kind: str) -> list[dict[str, Any]]:
    entries = client.get(f"/api/cases/{case}/entries").json()["entries"]
    return [entry for entry in entries if entry["kind"] == kind]


def _put_off_until(page: Page, wanted: Locator) -> Locator:
    """Put off tests that are proposed until one has what is wanted; return where it stands."""
    test = page.locator(".next-test")
    for _ in range(6):
        if test.filter(has=wanted).count():
            break
        code = test.get_attribute("data-code") or ""
        test.get_by_role("button", name="Not now").click()
        expect(test).not_to_have_attribute("data-code", code, timeout=RECKONED_MS)
    return test


def test_a_typed_deviation_leads_to_causes_and_an_answer_ranks_them_anew(
    page: Page, client: Client, case: str
) -> None:
    page.goto(f"/case/{case}/watch/")
    for _ in range(11):
        page.get_by_role("button", name="Peak pressure: more").click()
    for name in ("Expired volume", "End-tidal CO2", "Mean arterial pressure", "Saturation"):
        page.get_by_role("button", name=f"{name}: measured, unchanged").click()
    page.get_by_role("button", name="Enter this row").click()
    expect(page.locator('.lane[data-name="peak_pressure_cmh2o"] .now')).to_have_text("33 cmH2O")
    page.get_by_role("tab", name="Why and what next").click()
    page.get_by_role("button", name="Look for the cause").click()
    first = page.locator(".cause").first
    expect(first).to_contain_text("changed by +11 cmH2O", timeout=RECKONED_MS)
    expect(first.locator(".rank")).to_have_text(re.compile("likely|possible"))
    before = first.get_attribute("data-codes") or ""
    test = _put_off_until(page, page.get_by_role("button", name="Wheeze"))
    expect(test).to_contain_text("Listen to both sides")
    expect(test).to_contain_text("Breathing goes on")
    assert "bronchospasm" not in before.split()[:1]
    test.get_by_role("button", name="Wheeze").click()
    expect(first).to_have_attribute("data-codes", re.compile("^bronchospasm"), timeout=RECKONED_MS)
    expect(page.locator(".answered")).to_contain_text("Listen to both sides: Wheeze")
    expect(test).not_to_contain_text("Listen to both sides")
    entry = _entries(client, case, "advice")[-1]
    assert entry["body"]["about"] == "listen_both_sides=wheeze"
    assert entry["body"]["reason"] == "Listen to both sides: Wheeze"
    page.get_by_role("button", name="Take back: Listen to both sides").click()
    expect(first).to_have_attribute("data-codes", before, timeout=RECKONED_MS)


def test_a_pair_stands_on_one_line_and_a_measured_test_becomes_a_reading(page: Page, client: Client) -> None:
    case = _case(client)
    _enter(client, case, "reading", TIGHT, 1.0)
    _open(page, case)
    page.get_by_role("button", name="Look for the cause").click()
    pair = page.locator(".cause").filter(has_text="These readings cannot tell the two apart")
    expect(pair.first).to_be_visible(timeout=RECKONED_MS)
    assert len((pair.first.get_attribute("data-codes") or "").split()) == 2
    test = _put_off_until(page, page.get_by_role("button", name="Enter what it showed"))
    code = test.get_attribute("data-code") or ""
    test.get_by_role("button", name="Enter what it showed").click()
    page.locator("#form input").first.fill("20")
    page.locator("#form button[type=submit]").click()
    expect(test).not_to_have_attribute("data-code", code, timeout=RECKONED_MS)
    done = [entry["body"] for entry in _entries(client, case, "advice")]
    assert {each["done"] for each in done} <= {"later", "followed"}
    assert done[-1]["done"] == "followed"


def test_something_new_is_told_on_the_tab_until_it_is_looked_at_and_seen_to(
    page: Page, client: Client
) -> None:
    case = _case(client, rows=(40.0, 35.0, 30.0, 25.0, 20.0))
    for ago_min in (15.0, 10.0, 5.0):
        _enter(client, case, "reading", WELL | {"peak_pressure_cmh2o": 33.0}, ago_min)
    page.goto(f"/case/{case}/watch/")
    badge = page.locator("#why-badge")
    expect(badge).to_have_text("▲▲ 1 new")
    box = page.get_by_role("tab", name="Why and what next").bounding_box()
    assert box is not None
    assert box["height"] >= 72
    page.get_by_role("tab", name="Why and what next").click()
    expect(page.locator("#noticed")).to_contain_text("medium")
    expect(page.locator("#noticed")).to_contain_text(re.compile(r"peak pressure 33 cmH2O.*was 22 cmH2O"))
    expect(badge).to_be_hidden()
    page.get_by_role("button", name="It is not so").click()
    expect(page.locator("#noticed .finding")).to_have_count(0)
    (entry,) = _entries(client, case, "advice")
    assert (entry["body"]["code"], entry["body"]["done"]) == ("watch_moved_together", "declined")


def test_a_gas_in_doubt_is_asked_about_then_kept_and_tells_of_the_animal(
    page: Page, client: Client, case: str
) -> None:
    _open(page, case)
    expect(page.locator("#animal-box")).to_contain_text("No arterial gas", timeout=RECKONED_MS)
    page.get_by_role("tab", name="More").click()
    page.get_by_role("button", name="Blood gas").click()
    page.locator("#form select[name=sample]").select_option("arterial")
    page.locator("#form input[name=paco2_mmhg]").fill("6.5")
    page.locator("#form input[name=pao2_mmhg]").fill("34")
    page.locator("#form button[type=submit]").click()
    expect(page.locator("#form .problem")).to_contain_text("kPa typed as mmHg")
    assert _entries(client, case, "gases") == []
    page.locator("#form input[name=paco2_mmhg]").fill("49")
    page.locator("#form input[name=pao2_mmhg]").fill("260")
    page.locator("#form button[type=submit]").click()
    expect(page.locator("#form")).to_be_hidden()
    page.get_by_role("tab", name="Why and what next").click()
    expect(page.locator("#animal-box .lane")).to_contain_text("last blood gas", timeout=RECKONED_MS)
    row = page.locator('table.animal tr[data-name="carbon_dioxide_output_l_min"]')
    expect(row).to_contain_text(re.compile(r"CO2 production.*L/min \(.*–.*\)"))


def test_half_an_hour_ahead_is_drawn_beside_leaving_it_and_says_so_without_a_connection(
    page: Page, context: BrowserContext, client: Client, case: str
) -> None:
    _open(page, case)
    page.get_by_label("PEEP → 10 cmH2O", exact=True).uncheck()
    page.get_by_label("Stop ventilating").check()
    page.get_by_role("button", name="Look half an hour ahead").click()
    lanes = page.locator("#ahead-lanes .lane")
    expect(lanes).to_have_count(4, timeout=RECKONED_MS)
    page.locator("#ahead-which").get_by_text("Stop ventilating").click()
    stopped = lanes.first.locator(".now").inner_text()
    page.locator("#ahead-which").get_by_text("Rate up").click()
    assert float(stopped.split()[0]) > float(lanes.first.locator(".now").inner_text().split()[0]) + 10.0
    expect(lanes.first).to_contain_text("if left")
    drawn = lanes.first.locator("canvas").evaluate(
        "it => new Set(it.getContext('2d').getImageData(0, 0, it.width, it.height).data).size"
    )
    assert drawn > 8  # more than one colour: lines and a band
    context.set_offline(True)
    page.get_by_role("button", name="Look half an hour ahead").click()
    expect(page.locator("#ahead-told")).to_contain_text("Needs connection")
    page.get_by_role("tab", name="Event").click()
    page.get_by_role("button", name="Surgery begins").click()
    context.set_offline(False)
    expect(page.locator("#link")).to_have_text("Connected")
    assert len(_entries(client, case, "event")) == 1


@pytest.mark.parametrize(("theme", "width"), [("light", 1180), ("dark", 360)])
def test_all_of_it_in_german_is_clean_and_fits(
    chromium: Browser, served: Served, client: Client, theme: Literal["light", "dark"], width: int
) -> None:
    if not AXE.exists():
        pytest.skip("no axe-core here: npm ci")
    case = _case(client, rows=(40.0, 35.0, 30.0, 25.0, 20.0))
    _enter(client, case, "gases", {"sample": "arterial", "paco2_mmhg": 49.0, "pao2_mmhg": 260.0}, 20.0)
    for ago_min in (15.0, 10.0, 5.0):
        _enter(client, case, "reading", WELL | {"peak_pressure_cmh2o": 33.0}, ago_min)
    device = chromium.new_context(
        base_url=served.address, color_scheme=theme, bypass_csp=True, viewport={"width": width, "height": 820}
    )
    view = "language:de|cmh2o:mbar|mmhg:kpa"
    device.add_cookies([{"name": "lungeline_view", "value": view, "url": served.address}])
    page = device.new_page()
    _open(page, case)
    page.get_by_role("button", name="Ursache suchen").click()
    expect(page.locator(".cause").first).to_contain_text("mbar", timeout=RECKONED_MS)
    page.get_by_role("button", name="Eine halbe Stunde vorausschauen").click()
    expect(page.locator("#ahead-lanes .lane").first).to_contain_text("kPa", timeout=RECKONED_MS)
    expect(page.locator("#animal-box .lane")).to_be_visible(timeout=RECKONED_MS)
    told = page.locator("#panel-why").inner_text()
    assert not re.search(r"why\.|watch\.|_cmh2o|_mmhg|undefined|NaN|\{", told), told
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("() => axe.run()")["violations"]
    grave = [
        (it["id"], it["nodes"][0]["html"][:200]) for it in found if it["impact"] in {"serious", "critical"}
    ]
    assert not grave, grave
    device.close()

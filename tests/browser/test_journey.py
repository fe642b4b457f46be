"""A case from the door to the signed PDF, through the pages alone; by keyboard alone; real or simulated."""

import io
import re
import time
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, expect
from pypdf import PdfReader
from served import Served, serving

pytestmark = pytest.mark.slow
PIN = "4711"
# what the pages promise to somebody in a hurry
NEW_CASE_WITHIN_S, ROW_WITHIN_S, DOSE_TAPS, EVENT_TAPS = 60.0, 10.0, 3, 1
PLANNED_MS = 60_000


class Hands:
    """Hands at a page, whose taps are counted; what is typed between two taps counts as one."""

    def __init__(self, page: Page) -> None:
        """Know the page."""
        self.page, self.taps = page, 0

    def tap(self, role: Any, name: str, *, exact: bool = False) -> None:  # noqa: ANN401  one of Playwright's words
        """Tap what has a role and a name."""
        self.taps += 1
        self.page.get_by_role(role, name=name, exact=exact).filter(visible=True).first.click()

    def choose(self, name: str) -> None:
        """Tap one of several."""
        self.taps += 1
        self.page.get_by_role("radio", name=name, exact=True).check()

    def write(self, label: str, text: str) -> None:
        """Tap a field and type into it."""
        self.taps += 1
        self.page.get_by_label(label).filter(visible=True).first.fill(text)


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A clinic that begins today, with real cases."""
    with serving(tmp_path_factory.mktemp("journey") / "data") as running:
        yield running


def _few_animals(page: Page) -> None:
    """Plan with a small herd: how far animals differ is tested elsewhere, and takes the longest."""

    def fewer(route: Route) -> None:
        route.continue_(post_data={**(route.request.post_data_json or {}), "animals": 4})

    page.route("**/api/plan", fewer)
    page.route("**/api/plan/bands?*", lambda route: route.abort())


def test_from_the_door_to_the_signed_pdf(page: Page) -> None:
    _few_animals(page)
    hands = Hands(page)
    _listed(hands)
    _opened(hands)
    _planned(hands)
    _kept(hands)
    _signed(hands)
    link = page.get_by_role("link", name="Print the record").get_attribute("href") or ""
    printed = page.context.request.get(link)
    text = "\n".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(printed.body())).pages)
    for told in ("Stella", "520", "A. Vet", "anaesthetist", "ketamine", "surgery begins"):
        assert told in text, told
    assert "SIMULATED" not in text


def _listed(hands: Hands) -> None:
    """List who anaesthetises, with a PIN to sign with."""
    page = hands.page
    page.goto("/settings/people/")
    hands.write("Name", "A. Vet")
    page.locator("form", has=page.locator("[value=add]")).locator("select").select_option("anaesthetist")
    hands.tap("button", "Add")
    page.locator(".person summary").click()
    hands.write("New PIN", PIN)
    page.locator("form", has=page.locator("[value=pin]")).get_by_role("button").click()
    expect(page.locator(".person")).to_contain_text("has a PIN")


def _opened(hands: Hands) -> None:
    page = hands.page
    page.goto("/cases/")
    hands.taps, begun = 0, time.monotonic()
    hands.tap("link", "New case")
    hands.write("Name of the animal", "Stella")
    hands.choose("horse")
    hands.write("Weight (kg)", "520")
    hands.choose("scales")
    hands.tap("button", "Open the case")
    expect(page).to_have_url(re.compile("/watch/"))
    taken_s = time.monotonic() - begun
    assert taken_s < NEW_CASE_WITHIN_S, f"{hands.taps} taps"
    expect(page.locator(".animal")).to_contain_text("Stella horse")


def _planned(hands: Hands) -> None:
    """Plan, confirm the bottle of one drug, keep the plan in the case."""
    page = hands.page
    hands.tap("link", "Prepare", exact=True)
    expect(page.locator("#first .verdict")).to_be_visible(timeout=PLANNED_MS)
    expect(page.locator("#answer")).not_to_have_attribute("aria-busy", "true", timeout=PLANNED_MS)
    page.locator("details.use[data-use=induction] > summary").click()
    dose = page.locator(".dose[data-drug=ketamine][data-use=induction]")
    dose.locator("[data-strength]").select_option("100.0 mg/mL")
    expect(dose.locator(".drawn strong")).to_have_text(
        "11.4 mL"
    )  # arithmetic: 2.2 mg/kg × 520 kg ÷ 100 mg/mL
    dose.locator("[data-confirm]").click()
    hands.write("First person", "A. Vet")
    hands.write("Second person", "B. Nurse")
    hands.write("The dose, typed again", "2.2 mg/kg")
    hands.tap("button", "Both have checked it")
    expect(dose.locator(".state")).to_contain_text("confirmed")
    hands.tap("button", "Keep this plan in the case")
    expect(page.locator(".told")).to_contain_text("The plan is kept")


def _phase(hands: Hands, name: str) -> None:
    page = hands.page
    hands.tap("button", f"→ {name}")
    page.locator("#form").get_by_role("button", name="Yes").click()
    expect(page.locator("#phase")).to_have_text(name)


def _kept(hands: Hands) -> None:
    """Keep the case: parts, a planned dose, an event, a row, a change, a blood gas, to its end."""
    page = hands.page
    hands.tap("link", "Watch", exact=True)
    _phase(hands, "induction")
    told = page.locator("#told, .told").last
    hands.taps = 0
    hands.tap("tab", "Drug")
    hands.tap("button", "ketamine 1144 mg")
    hands.tap("button", "Given", exact=True)
    expect(told).to_contain_text("ketamine 1144 mg")
    assert hands.taps <= DOSE_TAPS
    _phase(hands, "anaesthesia")
    hands.tap("tab", "Event")
    hands.taps = 0
    hands.tap("button", "Surgery begins")
    assert hands.taps == EVENT_TAPS
    expect(told).to_contain_text("Surgery begins")
    hands.tap("tab", "Row")
    hands.taps, begun = 0, time.monotonic()
    for name in ("Heart rate", "Mean arterial pressure", "End-tidal CO2", "Breaths", "Saturation"):
        hands.tap("button", f"{name}: measured, unchanged")
    hands.tap("button", "Enter this row")
    expect(page.locator('.lane[data-name="map_mmhg"] .now')).to_have_text("70 mmHg")
    taken_s = time.monotonic() - begun
    assert taken_s < ROW_WITHIN_S, f"{hands.taps} taps"
    hands.tap("tab", "Set")
    hands.tap("button", "PEEP: more")
    hands.tap("button", "I have set this on the ventilator")
    expect(told).to_contain_text("PEEP")
    hands.tap("tab", "More")
    hands.tap("button", "Blood gas")
    page.locator("#form select").first.select_option("arterial")
    for key, value in (("arterial_ph", "7,36"), ("paco2_mmhg", "52"), ("pao2_mmhg", "310")):
        page.locator(f"#form input[name={key}]").fill(value)
    page.locator("#form button[type=submit]").click()
    expect(page.locator("#form")).to_be_hidden()
    _phase(hands, "recovery")
    hands.tap("tab", "More")
    _phase(hands, "closed")


def _signed(hands: Hands) -> None:
    page = hands.page
    hands.tap("link", "Record", exact=True)
    expect(page.locator("#loading")).to_be_hidden()
    page.locator("#sign").click()
    form = page.locator("#form")
    if form.locator("textarea").count():  # something must be there and is not: it is said why it is signed so
        form.locator("textarea").fill("an emergency")
    form.get_by_label("PIN").fill(PIN)
    form.get_by_role("button", name="Sign").click()
    expect(page.locator("#verdict")).to_contain_text("Intact")
    expect(page.locator(".version")).to_contain_text("A. Vet, anaesthetist")


def _tab_to(page: Page, selector: str, most: int = 120) -> None:
    """Go on by the tabulator until what is wanted has the focus."""
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("(it) => document.activeElement.matches(it)", selector):
            return
    pytest.fail(f"{selector} is not reached by keyboard")


def test_a_case_a_row_and_an_event_by_keyboard_alone(page: Page, served: Served) -> None:
    page.goto("/cases/")
    _tab_to(page, 'a[href="/cases/new/"]')
    page.keyboard.press("Enter")
    page.wait_for_url("**/cases/new/")
    _tab_to(page, "input[name=name]")
    page.keyboard.type("Luna")
    _tab_to(page, "input[name=weight_kg]")
    page.keyboard.type("480")
    page.keyboard.press("Enter")
    page.wait_for_url("**/watch/")
    case = page.evaluate("document.body.dataset.case")
    _tab_to(page, "#phases button")
    page.keyboard.press("Enter")
    expect(page.locator("#form")).to_be_visible()
    if not page.evaluate("document.activeElement.matches('#form button')"):
        _tab_to(page, "#form button[type=submit]")
    page.keyboard.press("Enter")
    expect(page.locator("#form")).to_be_hidden()
    _tab_to(page, '[data-tab="row"]')
    _tab_to(page, '[aria-label="Mean arterial pressure: more"]')
    page.keyboard.press("Enter")
    page.keyboard.press("Space")
    _tab_to(page, "#row-save")
    page.keyboard.press("Enter")
    expect(page.locator('.lane[data-name="map_mmhg"] .now')).to_have_text("72 mmHg")
    for _ in range(60):
        page.keyboard.press("Shift+Tab")
        if page.evaluate("document.activeElement.matches('[role=tab]')"):
            break
    for _ in range(3):  # row, set, drug, event
        page.keyboard.press("ArrowRight")
    expect(page.locator("#tab-event")).to_be_focused()
    page.keyboard.press("Enter")
    _tab_to(page, '[data-event="turned"]')
    page.keyboard.press("Enter")
    expect(page.locator(".told").last).to_contain_text("Turned")
    expect(page.locator("#link")).to_have_text("Connected")
    client, until = served.client(), time.monotonic() + 5.0
    while time.monotonic() < until:  # what a page says is on its device first
        entries = client.get(f"/api/cases/{case}/entries").json()["entries"]
        if "event" in {entry["kind"] for entry in entries}:
            break
    told = {entry["kind"]: entry["body"] for entry in entries}
    assert told["reading"] == {"map_mmhg": 72}
    assert told["event"] == {"what": "turned"}
    assert len([entry for entry in entries if entry["kind"] in {"reading", "event"}]) == 2


def test_a_browser_asks_before_it_shows_the_other_kind_of_cases(page: Page, served: Served) -> None:
    client = served.client()
    opening: dict[str, Any] = {"purpose": "real", "name": "Real One", "species": "horse", "weight_kg": 520.0}
    case = client.post("/api/cases", json={"body": opening}).json()["case"]
    page.goto(f"/case/{case}/watch/")
    root, ask = page.locator("html"), page.locator("#ask")

    def other_side(answer: str) -> None:
        page.goto("/settings/")
        page.locator("#side button").click()
        expect(ask).to_contain_text("the other kind of cases")
        page.locator(answer).click()

    other_side("#ask-yes")  # a real case goes on in this browser: both are never shown
    expect(page.get_by_role("alert")).to_contain_text("Close the case first")
    expect(root).not_to_have_class("simulated")
    page.goto(f"/case/{case}/watch/")
    for name in ("induction", "closed"):
        page.get_by_role("button", name=f"→ {name}").click()
        page.locator("#form").get_by_role("button", name="Yes").click()
        expect(page.locator("#phase")).to_have_text(name)
    expect(page.locator("#link")).to_have_text("Connected")
    other_side("#ask-no")
    expect(root).not_to_have_class("simulated")
    other_side("#ask-yes")
    expect(root).to_have_class("simulated")
    page.goto("/cases/")
    expect(page.locator("main")).not_to_contain_text("Real One")
    page.goto(f"/case/{case}/record/")
    expect(page.locator("main")).to_contain_text("never both")
    other_side("#ask-no")  # and the other way
    expect(root).to_have_class("simulated")
    other_side("#ask-yes")
    expect(root).not_to_have_class("simulated")
    page.goto("/cases/")
    expect(page.locator("main")).to_contain_text("Real One")


def test_what_any_device_asks_from_outside_is_noticed(
    chromium: Browser, served: Served, asked_outside: list[str]
) -> None:
    device = chromium.new_context(base_url=served.address, bypass_csp=True)
    page = device.new_page()
    page.goto("/enter/")
    page.evaluate("new WebSocket('ws://192.0.2.1:9/'); fetch('http://192.0.2.1:9/').catch(() => 0)")
    page.wait_for_timeout(500)
    assert sorted(asked_outside) == ["http://192.0.2.1:9/", "ws://192.0.2.1:9/"]
    asked_outside.clear()
    device.close()

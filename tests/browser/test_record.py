"""The Record and the Settings page as a person uses them: correct, strike, fill gaps, sign, copy."""

import io
import json
import re
import uuid
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect
from served import Client, Served, serving

from lungeline.theatre import new_pin

pytestmark = pytest.mark.slow
AXE = Path(__file__).resolve().parents[2] / "node_modules" / "axe-core" / "axe.min.js"
PIN = "4711"
OPENING: dict[str, Any] = {
    "purpose": "real", "name": "Stella", "species": "horse", "weight_kg": 520.0, "weighed_by": "scales",
}  # fmt: skip
# a row is missing from 20 to 40 minutes; ketamine that was drawn is not all accounted for
ENTERED: list[tuple[float, str, dict[str, Any]]] = [
    (0, "phase", {"phase": "induce"}),
    (1, "drug", {"drug": "ketamine", "amount_mg": 1144.0}),
    (1, "controlled", {"drug": "ketamine", "drawn_mg": 1200.0, "witness": "B. Vet"}),
    (4, "phase", {"phase": "maintain"}),
    (5, "setting", {"tidal_volume_l": 6.0, "respiratory_rate_per_min": 8.0}),
    *((at, "reading", {"map_mmhg": 70.0 + at, "etco2_mmhg": 44.0}) for at in (5.0, 10.0, 15.0, 20.0, 40.0)),
    (44, "phase", {"phase": "recover"}),
]


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A clinic with two people, who sign with a PIN."""
    folder = tmp_path_factory.mktemp("record") / "data"
    folder.mkdir()
    people = [("A. Vet", "anaesthetist"), ("B. Teach", "teacher")]
    rows = (
        f'[[people]]\nname = "{name}"\nrole = "{role}"\npin = "{new_pin(PIN).written()}"\n'
        for name, role in people
    )
    (folder / "people.toml").write_text("\n".join(rows), encoding="utf-8")
    with serving(folder) as running:
        yield running


@pytest.fixture
def client(served: Served) -> Client:
    return served.client()


@pytest.fixture
def case(client: Client) -> str:
    opened = str(client.post("/api/cases", json={"body": OPENING}).json()["case"])
    began = datetime.now(UTC) - timedelta(minutes=50)
    for at_min, kind, body in ENTERED:
        moment = (began + timedelta(minutes=at_min)).isoformat()
        sent: dict[str, Any] = {"uid": uuid.uuid4().hex, "kind": kind, "body": body, "event_time": moment}
        assert client.post(f"/api/cases/{opened}/entries", json=sent).status_code == 201
    return opened


def _opened(page: Page, case: str) -> None:
    page.goto(f"/case/{case}/record/")
    expect(page.locator("#loading")).to_be_hidden()


def _standing(client: Client, case: str) -> dict[int, dict[str, Any]]:
    return {item["seq"]: item for item in client.get(f"/api/cases/{case}/record").json()["items"]}


def test_from_a_slip_to_a_signed_record_and_its_copy(page: Page, client: Client, case: str) -> None:
    _opened(page, case)
    _correct(page, client, case)
    _strike_and_take_back(page, client, case)
    _fill_gaps(page)
    _sign(page)
    _add_afterwards(page)
    with page.expect_download() as download:
        page.get_by_role("link", name="CSV files").click()
    with zipfile.ZipFile(io.BytesIO(Path(download.value.path()).read_bytes())) as archive:
        assert b"slip of a digit" in archive.read("audit.csv")
    printed = page.context.request.get(f"/case/{case}/record.pdf")
    assert printed.body().startswith(b"%PDF")


def _correct(page: Page, client: Client, case: str) -> None:
    row = page.locator("#entry-8")
    row.locator("summary").click()
    row.get_by_role("button", name=re.compile("^Correct")).click()
    form = page.locator("#form")
    form.get_by_label("mean arterial pressure").fill("68,5")
    form.get_by_role("button", name="Save").click()
    expect(form.get_by_role("alert")).to_contain_text("Reason")  # no correction without one
    form.get_by_label("Reason").fill("slip of a digit")
    form.get_by_role("button", name="Save").click()
    expect(row.locator(".badge[data-mark=corrected]")).to_be_visible()
    assert _standing(client, case)[8]["body"] == {"map_mmhg": 68.5, "etco2_mmhg": 44}
    expect(row).to_contain_text("slip of a digit")


def _strike_and_take_back(page: Page, client: Client, case: str) -> None:
    form = page.locator("#form")
    other = page.locator("#entry-9")
    other.locator("summary").click()
    other.get_by_role("button", name=re.compile("^Strike out")).click()
    form.get_by_label("Reason").fill("another horse")
    form.get_by_role("button", name="Strike out").click()
    expect(other.locator(".badge[data-mark=struck]")).to_contain_text("struck out")
    other.get_by_role("button", name=re.compile("^Undo")).click()
    form.get_by_label("Reason").fill("it was this horse")
    form.get_by_role("button", name="Undo").click()
    expect(other.locator(".badge[data-mark=struck]")).to_have_count(0)
    assert not _standing(client, case)[9]["struck"]


def _fill_gaps(page: Page) -> None:
    form = page.locator("#form")
    missing = page.locator("#missing")
    missing.get_by_role("button", name=re.compile(r"\d\d:\d\d – \d\d:\d\d")).click()
    form.get_by_label("mean arterial pressure").fill("66")
    form.get_by_role("button", name="Save").click()
    expect(page.locator(".badge[data-mark=late]").first).to_be_visible()
    expect(page.locator("#entries-count")).to_have_text("13 / 13")
    # a controlled drug that does not add up must be settled
    missing.get_by_role("button", name=re.compile("ketamine")).click()
    form.get_by_label("amount thrown away").fill("56")
    form.get_by_label("who saw it").fill("B. Vet")
    form.get_by_role("button", name="Save").click()
    expect(missing).not_to_contain_text("must be there")


def _sign(page: Page) -> None:
    """Sign: what is missing is seen first, a wrong PIN is told and does not close the form."""
    form = page.locator("#form")
    page.locator("#sign").click()
    expect(form).to_contain_text("The case is not closed")
    pin = form.get_by_label("PIN")
    assert pin.get_attribute("type") == "password"
    pin.fill("0000")
    form.get_by_role("button", name="Sign").click()
    expect(form.get_by_role("alert")).to_contain_text("the PIN of A. Vet")
    pin.fill(PIN)
    form.get_by_role("button", name="Sign").click()
    expect(page.locator("#verdict")).to_contain_text("Intact")
    expect(page.locator(".version")).to_contain_text("A. Vet, anaesthetist")
    expect(page.locator("input[name=pin]")).to_have_count(0)


def _add_afterwards(page: Page) -> None:
    """Add something: what comes later shows as later; the version is shown as it was signed."""
    form = page.locator("#form")
    page.get_by_role("button", name="Write an addendum").click()
    form.get_by_label("added after signing").fill("ate at eight")
    form.get_by_role("button", name="Save").click()
    expect(page.locator(".version")).to_contain_text("Added since")
    page.get_by_role("button", name=re.compile("as it was signed")).click()
    expect(page.locator("#as-signed")).to_be_visible()
    expect(page.locator("#entries")).not_to_contain_text("ate at eight")
    page.get_by_role("button", name="Back to how it is now").click()
    expect(page.locator("#entries")).to_contain_text("ate at eight")


def test_the_chart_is_drawn_in_the_readers_words_and_units(page: Page, served: Served, case: str) -> None:
    view = "language:de|theme:dark|mmhg:kpa"
    page.context.add_cookies([{"name": "lungeline_view", "value": view, "url": served.address}])
    page.set_viewport_size({"width": 360, "height": 740})
    _opened(page, case)
    lane = page.locator(".track", has_text="mittlerer arterieller Druck")
    # the lane tells least and most: 75 and 110 mmHg, of 0.133322 kPa each (UCUM, 2024): 10.0 and 14.7
    expect(lane.locator("svg")).to_have_attribute("aria-label", re.compile("10 – 14,7 kPa, 5"))
    expect(lane.locator(".mark")).to_have_count(5)
    expect(page.locator(".track .gap").first).to_be_attached()
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    expect(page.locator("h1")).to_have_text("Protokoll")
    page.locator("#entry-12 summary").click()
    expect(page.locator("#entry-12")).to_contain_text("Abschnitt")
    expect(page.locator("#entry-12 dl")).to_contain_text("Aufwachen")


def test_a_form_in_other_units_changes_nothing_that_was_not_touched(
    page: Page, served: Served, client: Client, case: str
) -> None:
    view = "language:de|mmhg:kpa"
    page.context.add_cookies([{"name": "lungeline_view", "value": view, "url": served.address}])
    _opened(page, case)
    page.locator("#entry-8 summary").click()
    page.locator("#entry-8").get_by_role("button", name=re.compile("^Berichtigen")).click()
    form = page.locator("#form")
    expect(form.get_by_label("endtidales Kohlendioxid (kPa)")).to_have_value("5,866")
    # UCUM (2024): 1 m[Hg] is 133.3220 kPa
    form.get_by_label("mittlerer arterieller Druck (kPa)").fill("9,1")
    form.get_by_label("Grund").fill("verlesen")
    form.get_by_role("button", name="Speichern").click()
    expect(page.locator("#entry-8 .badge[data-mark=corrected]")).to_be_visible()
    body = _standing(client, case)[8]["body"]
    assert body == {"map_mmhg": pytest.approx(9.1 / 0.133322, rel=1e-8), "etco2_mmhg": 44}


def test_the_record_is_kept_by_keyboard_alone(page: Page, client: Client, case: str) -> None:
    _opened(page, case)
    page.locator("#add").focus()
    page.keyboard.press("Enter")
    page.keyboard.type("outcome")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator("#form select[name=after]")).to_be_focused()
    page.keyboard.type("24")
    page.keyboard.press("Tab")
    page.keyboard.type("al")
    page.locator("#form input[name=event_time]").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#entries")).to_contain_text("24 h, alive")
    newest = page.locator("#entry-13")
    newest.locator("summary").focus()
    page.keyboard.press("Enter")
    expect(newest.get_by_role("button")).to_have_count(2)
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    expect(newest.get_by_role("button").last).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Reason")).to_be_focused()
    page.keyboard.type("too early")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.locator(".badge[data-mark=struck]")).to_have_count(1)
    assert _standing(client, case)[13]["history"][0]["reason"] == "too early"
    page.locator("#add").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Escape")
    expect(page.locator("#form")).not_to_be_visible()


def test_somebody_elses_entry_is_seen_at_once(page: Page, client: Client, case: str) -> None:
    _opened(page, case)
    page.locator("#entry-8 summary").click()
    page.locator("#entry-8").get_by_role("button").first.focus()
    sent: dict[str, Any] = {
        "uid": uuid.uuid4().hex,
        "kind": "note",
        "body": {"text": "from the other tablet"},
    }
    assert client.post(f"/api/cases/{case}/entries", json=sent).status_code == 201
    expect(page.locator("#entries")).to_contain_text("from the other tablet", timeout=2000)
    # whoever reads is left where they are
    expect(page.locator("#entry-8")).to_have_attribute("open", "")
    expect(page.locator("#entry-8").get_by_role("button").first).to_be_focused()


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_open_forms_have_no_serious_fault_for_who_cannot_see_them(
    chromium: Browser, served: Served, case: str, theme: str
) -> None:
    if not AXE.exists():
        pytest.skip("no axe-core here: npm ci")
    device = chromium.new_context(base_url=served.address, color_scheme=theme, bypass_csp=True)  # type: ignore[arg-type]  # one of two words
    page = device.new_page()
    _opened(page, case)
    page.locator("#entry-8 summary").click()
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = _faults(page)
    page.locator("#sign").click()
    found += _faults(page)
    page.keyboard.press("Escape")
    page.locator("#entry-8").get_by_role("button", name=re.compile("^Correct")).click()
    found += _faults(page)
    device.close()
    assert not found, "\n".join(found)


def _faults(page: Page) -> list[str]:
    result = page.evaluate("() => axe.run()")
    return [
        f"{it['id']}: {it['nodes'][0]['html'][:150]}"
        for it in result["violations"]
        if it["impact"] in {"serious", "critical"}
    ]


def test_settings_are_kept_and_asked_about(page: Page) -> None:
    page.goto("/settings/")
    page.get_by_label("mbar").check()
    expect(page.locator("#example")).to_contain_text("26.5 mbar")  # 27 cmH2O of 0.980665 mbar (UCUM, 2024)
    page.get_by_label("Deutsch").check()
    expect(page.locator("h1")).to_have_text("Einstellungen")
    expect(page.locator("#example")).to_contain_text("26,5 mbar")
    page.get_by_label("dunkel", exact=True).check()
    assert page.evaluate("getComputedStyle(document.documentElement).colorScheme") == "dark"
    page.reload()
    assert page.evaluate("getComputedStyle(document.documentElement).colorScheme") == "dark"
    shows = page.locator("#side button")
    shows.click()
    expect(page.locator("#ask")).to_be_visible()
    page.locator("#ask-no").click()
    expect(page.locator("html")).not_to_have_class("simulated")
    shows.click()
    page.locator("#ask-yes").click()
    expect(page.locator("html")).to_have_class("simulated")


def test_the_sound_is_tried_in_the_settings(page: Page) -> None:
    page.add_init_script(
        "window.tones = 0; window.AudioContext = class extends AudioContext {"
        "  createOscillator() { window.tones += 1; return super.createOscillator(); } };"
    )
    page.goto("/settings/")
    page.locator("#sound").click()
    page.locator("#sound").click()
    page.wait_for_function("window.tones > 0")
    # three pulses, each of a fundamental and three harmonics
    assert page.evaluate("window.tones") % 12 == 0
    page.locator("#mute").click()
    expect(page.locator("#muted")).to_contain_text("Muted until")
    assert json.loads(page.evaluate("JSON.stringify(window.tones)")) >= 12

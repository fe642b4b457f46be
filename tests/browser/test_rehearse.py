"""Rehearsing in a real browser: alone to the debrief and what would have been; led from a phone."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect
from served import Served, demo_in, serving

pytestmark = pytest.mark.slow
AXE = Path(__file__).resolve().parents[2] / "node_modules" / "axe-core" / "axe.min.js"
PLAYED_MS = 20_000


@pytest.fixture(scope="module")
def school(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server that holds demonstrations alone."""
    with serving(demo_in(tmp_path_factory.mktemp("school") / "data"), "--demo") as running:
        yield running


def _at_ease(page: Page) -> None:
    """Nothing grave for a screen reader, nothing that scrolls sideways."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = [
        it for it in page.evaluate("() => axe.run()")["violations"] if it["impact"] in {"serious", "critical"}
    ]
    assert not found, [(it["id"], it["nodes"][0]["html"][:200]) for it in found]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def _on(page: Page, tens: int) -> None:
    """Let tens of seconds go by in the animal."""
    for _ in range(tens):
        page.get_by_role("button", name="+10 s").click()


def test_alone_from_the_list_to_what_would_have_been(chromium: Browser, school: Served) -> None:
    device = chromium.new_context(
        base_url=school.address, viewport={"width": 1180, "height": 820}, bypass_csp=True
    )
    page = device.new_page()
    page.on("dialog", lambda dialog: dialog.accept())
    page.goto("/rehearse/")
    page.locator('[data-begin="disconnection"]:not([data-led]):not([data-bench])').click()
    expect(page.locator("#time")).to_be_visible()
    expect(page.locator('.lane[data-name="etco2_mmhg"] .now')).to_contain_text("mmHg", timeout=PLAYED_MS)
    _on(page, 8)
    expect(page.locator("#log")).to_contain_text("The table goes down", timeout=PLAYED_MS)
    if AXE.exists():
        _at_ease(page)
    page.get_by_role("tab", name="Look").click()
    page.locator('[data-deed="look at capnogram"]').click()
    page.locator("#pause").click()  # it goes on by itself, and what is found comes by itself
    expect(page.locator("#log")).to_contain_text("A flat line.", timeout=PLAYED_MS)
    page.get_by_role("tab", name="Mend").click()
    page.locator('[data-deed="reconnect"]').click()
    page.get_by_role("tab", name="Say").click()
    page.locator('[data-deed="name the cause"]').click()
    page.locator('#causes [data-cause="disconnection"]').click()
    _on(page, 6)
    page.locator("#end").click()
    page.locator("#debrief").click(timeout=PLAYED_MS)
    expect(page.get_by_role("heading", name=re.compile("How it went"))).to_be_visible()
    expect(page.locator("#revealed")).to_be_hidden()  # reactions come first
    page.locator("#analysis summary").first.click()
    expect(page.locator("#critical li").first).to_be_visible(timeout=PLAYED_MS)
    expect(page.locator("#harm")).to_contain_text("L")
    page.locator("#instead button.main").click()
    expect(page.locator("#apart")).not_to_be_empty(timeout=PLAYED_MS)
    device.close()


def test_led_from_a_phone_in_the_dark(chromium: Browser, school: Served) -> None:
    phone = chromium.new_context(
        base_url=school.address, viewport={"width": 360, "height": 740}, color_scheme="dark", bypass_csp=True
    )
    trainer = phone.new_page()
    trainer.goto("/rehearse/")
    trainer.locator('[data-begin="etco2_falls"][data-led]:not([data-bench])').click()
    join = trainer.locator("#address")
    expect(join).to_have_text(re.compile(r"http.*/rehearse/.*"))
    expect(trainer.locator("#truth")).to_contain_text("mmHg", timeout=PLAYED_MS)
    if AXE.exists():
        _at_ease(trainer)
    device = chromium.new_context(base_url=school.address)
    learner = device.new_page()
    learner.goto(join.inner_text())
    expect(learner.locator("#time")).to_be_visible()
    expect(learner.locator("#pause")).to_have_count(0)  # the trainer's clock
    expect(learner.locator('.lane[data-name="map_mmhg"] .now')).to_contain_text("mmHg", timeout=PLAYED_MS)
    assert "Cardiac output" not in learner.locator("main").inner_text()
    trainer.locator("#inject [name=code]").select_option("tube_obstruction")
    trainer.locator("#inject button").click()
    expect(trainer.locator("#faults")).to_contain_text("50 %", timeout=PLAYED_MS)
    trainer.locator("#say [name=text]").fill("The owner is here.")
    trainer.locator("#say button[value=say]").click()
    expect(learner.locator("#log")).to_contain_text("The owner is here.", timeout=PLAYED_MS)
    trainer.locator("#pause").click()
    expect(learner.locator("#pace")).to_contain_text("Paused", timeout=PLAYED_MS)
    assert "tube_obstruction" not in learner.content().partition("<dialog")[0]
    trainer.on("dialog", lambda dialog: dialog.accept())
    trainer.locator("#end").click()
    expect(learner.locator("#debrief")).to_be_visible(timeout=PLAYED_MS)
    phone.close()
    device.close()

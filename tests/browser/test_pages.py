"""Every page: no serious fault for a screen reader, nothing too small for a glove, no sideways scrolling."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page
from playwright.sync_api import TimeoutError as TookTooLongError
from served import Served, demo_in, serving

pytestmark = pytest.mark.slow
AXE = Path(__file__).resolve().parents[2] / "node_modules" / "axe-core" / "axe.min.js"
PAGES = (
    "/cases/", "/cases/new/", "/prepare/", "/case/demo-3/prepare/", "/case/demo-3/watch/",
    "/case/demo-2/record/", "/case/demo-3/emergency/", "/emergency/", "/settings/", "/settings/people/",
    "/enter/", "/pair/", "/case/no-such/record/", "/check/", "/case/demo-3/check/",
    "/rehearse/", "/rehearse/people/",
)  # fmt: skip
LEAST_PX, LEAST_THEATRE_PX = 48, 72
# links within a sentence are read with it; a box to tick is hit by its label
_SMALL = f"""
() => [...document.querySelectorAll("a, button, input, select, summary, textarea")]
  .filter((it) => it.offsetParent !== null)
  .filter((it) => !it.closest("p:not(.row):not(.foot p), .foot, .finding span, .quiet"))
  .map((it) => [it, it.matches("[type=radio], [type=checkbox]") ? it.closest("label") ?? it : it])
  .map(([it, hit]) => [it, hit.getBoundingClientRect()])
  .filter(([it, box]) => Math.round(box.width) < {LEAST_PX}
    || Math.round(box.height) < (it.classList.contains("theatre") ? {LEAST_THEATRE_PX} : {LEAST_PX}))
  .map(([it, box]) => `${{it.tagName}} ${{it.className}} "${{it.textContent.trim().slice(0, 30)}}" `
    + `${{box.width}}x${{box.height}}`)
"""


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The made-up clinic."""
    with serving(demo_in(tmp_path_factory.mktemp("clinic") / "data"), "--demo") as running:
        yield running


def _faults(page: Page, asked: str = "") -> list[str]:
    found = page.evaluate(f"() => axe.run({asked})")["violations"]
    grave = (it for it in found if it["impact"] in {"serious", "critical"})
    return [f"{it['id']}: {it['nodes'][0]['html'][:150]}" for it in grave]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_marked_and_fit_for_a_glove_a_phone_the_dark_and_who_cannot_see_it(
    chromium: Browser, served: Served, path: str
) -> None:
    if not AXE.exists():
        pytest.skip("no axe-core here: npm ci")
    device = chromium.new_context(
        base_url=served.address,
        viewport={"width": 1180, "height": 800},
        color_scheme="light",
        bypass_csp=True,
    )
    page = device.new_page()
    page.goto(path)
    page.wait_for_load_state("networkidle", timeout=60_000)  # a whole plan is made
    assert page.locator(".mark strong").inner_text() == "SIMULATED"
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = {"axe": _faults(page)}
    page.emulate_media(color_scheme="dark")
    found["axe, dark"] = _faults(page, "{ runOnly: ['color-contrast'] }")
    for width in (1180, 360):
        page.set_viewport_size({"width": width, "height": 800})
        found[f"{width} px, too small"] = page.evaluate(_SMALL)
        try:  # charts are drawn anew a moment later
            page.wait_for_function("document.documentElement.scrollWidth <= innerWidth", timeout=3_000)
        except TookTooLongError:
            found[f"{width} px"] = ["scrolls sideways"]
    device.close()
    assert not any(found.values()), found

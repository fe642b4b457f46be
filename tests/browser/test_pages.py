"""Every page: no serious fault for a screen reader, nothing too small for a glove, no sideways scrolling."""

from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Browser, BrowserContext, Page
from served import Served, serving

pytestmark = pytest.mark.slow
AXE = Path(__file__).resolve().parents[2] / "node_modules" / "axe-core" / "axe.min.js"
PAGES = (
    "/cases/", "/cases/new/", "/prepare/", "/case/demo-3/prepare/", "/case/demo-3/watch/",
    "/case/demo-2/record/", "/case/demo-3/emergency/", "/emergency/", "/settings/", "/settings/people/",
    "/enter/", "/pair/", "/case/no-such/record/",
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
Theme = Literal["light", "dark"]


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The made-up clinic."""
    with serving(tmp_path_factory.mktemp("clinic") / "data", "--demo") as running:
        yield running


def _loaded(context: BrowserContext, path: str) -> Page:
    page = context.new_page()
    page.goto(path)
    page.wait_for_load_state("networkidle", timeout=60_000)  # a whole plan is made
    return page


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_no_page_has_a_serious_fault_for_who_cannot_see_it(
    chromium: Browser, served: Served, theme: str
) -> None:
    if not AXE.exists():
        pytest.skip("no axe-core here: npm ci")
    found: list[str] = []
    for path in PAGES:
        device = chromium.new_context(base_url=served.address, color_scheme=theme, bypass_csp=True)  # type: ignore[arg-type]  # one of two words
        page = _loaded(device, path)
        page.evaluate(AXE.read_text(encoding="utf-8"))
        result = page.evaluate("() => axe.run()")
        for violation in result["violations"]:
            if violation["impact"] in {"serious", "critical"}:
                where = violation["nodes"][0]
                found.append(f"{path}: {violation['id']}: {where['html'][:150]}")
        device.close()
    assert not found, "\n".join(found)


def test_everything_can_be_hit_with_a_glove_and_nothing_scrolls_sideways(
    chromium: Browser, served: Served
) -> None:
    found: list[str] = []
    for width in (360, 1180):
        device = chromium.new_context(base_url=served.address, viewport={"width": width, "height": 800})
        for path in PAGES:
            page = _loaded(device, path)
            found += [f"{width} {path}: {each}" for each in page.evaluate(_SMALL)]
            if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
                found.append(f"{width} {path}: scrolls sideways")
            page.close()
        device.close()
    assert not found, "\n".join(found)


def test_what_is_simulated_says_so_on_every_page(chromium: Browser, served: Served) -> None:
    device = chromium.new_context(base_url=served.address)
    for path in PAGES:
        page = _loaded(device, path)
        assert page.locator(".mark strong").inner_text() == "SIMULATED", path
        page.close()
    device.close()

"""Takes a picture of every page, light and dark, at three widths, into build/screenshots: to be looked at.

make screenshots
"""

import shutil
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "web"))
from served import serving

PAGES = {
    "cases": "/cases/",
    "new-case": "/cases/new/",
    "prepare": "/case/demo-3/prepare/",
    "check": "/check/",
    "watch": "/case/demo-3/watch/",
    "record": "/case/demo-2/record/",
    "emergency": "/case/demo-3/emergency/",
    "settings": "/settings/",
    "people": "/settings/people/",
    "sign-in": "/enter/",
}
WIDTHS = (360, 1180, 1920)
THEMES = ("light", "dark")
_TARGET = Path("build/screenshots")
_SETTLED_MS, _LONGEST_MS = 1500, 60_000


def main() -> None:
    """Take them all."""
    _TARGET.mkdir(parents=True, exist_ok=True)
    folder = Path(tempfile.mkdtemp()) / "data"
    with serving(folder, "--demo") as served, sync_playwright() as playwright:
        chromium = shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        for width in WIDTHS:
            for theme in THEMES:
                _taken(browser, served.address, width, theme)
        browser.close()


def _taken(browser: Browser, address: str, width: int, theme: str) -> None:
    context = browser.new_context(
        base_url=address,
        viewport={"width": width, "height": 820},
        color_scheme=theme,  # type: ignore[arg-type]  # one of two words
    )
    for name, path in PAGES.items():
        page = context.new_page()
        answer = page.goto(path)
        if answer is not None and answer.ok:
            page.wait_for_load_state("networkidle", timeout=_LONGEST_MS)
            page.wait_for_timeout(_SETTLED_MS)
            page.screenshot(path=_TARGET / f"{name}-{width}-{theme}.png", full_page=True)
        page.close()
    context.close()


if __name__ == "__main__":
    main()

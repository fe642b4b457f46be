"""Takes a picture of every page, light and dark, at three widths, into build/screenshots: to be looked at.

make screenshots
"""

import shutil
import sys
import tempfile
from pathlib import Path
from typing import Literal

from playwright.sync_api import Page, sync_playwright

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "web"))
from served import Client, serving

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
    "rehearse": "/rehearse/",
}
_SCENARIO, _PLAYED_S = "torsion_hypoxaemia", 120
WIDTHS = (360, 1180, 1920)
THEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
_TARGET = Path("build/screenshots")
_SETTLED_MS, _LONGEST_MS = 1500, 60_000


def main() -> None:
    """Take them all."""
    _TARGET.mkdir(parents=True, exist_ok=True)
    folder = Path(tempfile.mkdtemp()) / "data"
    with serving(folder, "--demo") as served, sync_playwright() as playwright:
        chromium = shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox", "--disable-gpu"])
        context = browser.new_context(base_url=served.address)
        for name, path in (PAGES | _rehearsing(served.client())).items():
            page = context.new_page()
            answer = page.goto(path)
            if answer is not None and answer.ok:
                page.wait_for_load_state("networkidle", timeout=_LONGEST_MS)
                _taken(page, name)
            if name == "watch":
                page.locator("#tab-why").click()
                page.locator("#causes-ask").click()
                page.locator("#causes-box .next-test").wait_for(timeout=_LONGEST_MS)
                page.locator("#ahead-look").click()
                page.locator("#ahead-lanes .lane").first.wait_for(timeout=_LONGEST_MS)
                _taken(page, "watch-why")
            page.close()
        browser.close()


def _rehearsing(client: Client) -> dict[str, str]:
    """Begin a rehearsal that goes on, and play one to its debrief."""
    names = []
    for over in (False, True):
        told = client.post("/api/rehearse/begin", json={"scenario": _SCENARIO, "led": not over})
        names.append(str(told.json()["id"]))
        going = f"/api/rehearse/going/{names[-1]}"
        client.post(f"{going}/control", json={"do": "step", "value": _PLAYED_S})
        client.post(f"{going}/deeds", json={"deed": "set", "with": {"peep_cmh2o": 12.0}})
        client.post(f"{going}/control", json={"do": "step", "value": _PLAYED_S})
        if over:
            client.post(f"{going}/control", json={"do": "end"})
    going_on, played = names
    return {
        "rehearsal": f"/rehearse/{going_on}/",
        "trainer": f"/rehearse/{going_on}/trainer/",
        "debrief": f"/rehearse/{played}/debrief/",
    }


def _taken(page: Page, name: str) -> None:
    for theme in THEMES:
        page.emulate_media(color_scheme=theme)
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 820})
            page.wait_for_timeout(_SETTLED_MS)
            page.screenshot(path=_TARGET / f"{name}-{width}-{theme}.png", full_page=True)


if __name__ == "__main__":
    main()

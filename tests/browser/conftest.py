"""A real Chromium, from Debian's packages, that may reach nothing but this computer."""

import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Request, sync_playwright
from served import Served, serving

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
_OWN = ("http://127.0.0.1", "https://127.0.0.1", "ws://127.0.0.1", "data:", "blob:", "about:")


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """The browser; closed after each file, as its event loop would be in the way of tests of the store."""
    found = shutil.which("chromium")
    if found is None:
        pytest.skip("no Chromium here; Debian, Ubuntu: apt install chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, headless=True, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A running server on a folder of its own."""
    with serving(tmp_path_factory.mktemp("browser") / "data") as running:
        yield running


@pytest.fixture
def context(chromium: Browser, served: Served) -> Iterator[BrowserContext]:
    """A device: cookies and storage of its own. A page that asks for anything from outside fails the test."""
    asked: list[str] = []

    def note(request: Request) -> None:
        if not request.url.startswith(_OWN):
            asked.append(request.url)

    device = chromium.new_context(base_url=served.address, viewport={"width": 1180, "height": 820})
    device.set_default_timeout(10_000)
    device.on("request", note)
    yield device
    device.close()
    assert not asked, f"a page asked for {asked}"


@pytest.fixture
def page(context: BrowserContext) -> Iterator[Page]:
    """A page. The test fails where a script of it does."""
    problems: list[str] = []
    opened = context.new_page()
    opened.on("pageerror", lambda error: problems.append(str(error)))
    yield opened
    assert not problems, problems

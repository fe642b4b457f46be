"""A real Chromium, from Debian's packages, that may reach nothing but this computer."""

import shutil
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright
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
_OWN_HOSTS, _NO_HOST = {"127.0.0.1", "localhost"}, {"data", "blob", "about"}
_asked_outside: list[str] = []


def _note(url: str) -> None:
    parts = urlsplit(url)
    if parts.scheme not in _NO_HOST and parts.hostname not in _OWN_HOSTS:
        _asked_outside.append(url)


def _guarded(device: BrowserContext) -> BrowserContext:
    """Note whatever any page of a device asks for from outside, sockets too."""
    device.on("request", lambda request: _note(request.url))
    device.on("page", lambda page: page.on("websocket", lambda socket: _note(socket.url)))
    return device


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """The browser; closed after each file, as its event loop would be in the way of tests of the store.

    Every device it makes is guarded.
    """
    found = shutil.which("chromium")
    if found is None:
        pytest.skip("no Chromium here; Debian, Ubuntu: apt install chromium")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, headless=True, args=FLAGS)
        make = browser.new_context

        def new_context(**how: Any) -> BrowserContext:  # noqa: ANN401  as Playwright has it
            return _guarded(make(**how))

        browser.new_context = new_context  # type: ignore[method-assign]  # so that no test can go round it
        yield browser
        browser.close()


@pytest.fixture(autouse=True)
def asked_outside() -> Iterator[list[str]]:
    """What was asked for from outside. A test in which any page did fails."""
    _asked_outside.clear()
    yield _asked_outside
    assert not _asked_outside, f"a page asked for {_asked_outside}"


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A running server on a folder of its own."""
    with serving(tmp_path_factory.mktemp("browser") / "data") as running:
        yield running


@pytest.fixture
def context(chromium: Browser, served: Served) -> Iterator[BrowserContext]:
    """A device: cookies and storage of its own."""
    device = chromium.new_context(base_url=served.address, viewport={"width": 1180, "height": 820})
    device.set_default_timeout(10_000)
    yield device
    device.close()


@pytest.fixture
def page(context: BrowserContext) -> Iterator[Page]:
    """A page. The test fails where a script of it does."""
    problems: list[str] = []
    opened = context.new_page()
    opened.on("pageerror", lambda error: problems.append(str(error)))
    yield opened
    assert not problems, problems

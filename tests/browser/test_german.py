"""Who chose German reads German: what pages can say in German is neither shown nor read out in English."""

import tomllib
from collections.abc import Iterator
from importlib.resources import files

import pytest
from playwright.sync_api import Browser, Page, Route, expect
from served import Served, demo_in, serving

pytestmark = pytest.mark.slow
LONG_MS = 60_000
# a use of a drug stands in the record as it was entered, as any text does
_AS_ENTERED = {"induction"}
# what the page says: its texts, and what is said of its parts to who cannot see them
_SAID = """
() => {
  const said = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const within = walk.currentNode.parentElement;
    if (within.closest("script, style, template, noscript, [lang=en]") || !within.checkVisibility()) continue;
    said.push(walk.currentNode.textContent);
  }
  for (const name of ["aria-label", "title", "placeholder"]) {
    for (const it of document.querySelectorAll(`[${name}]`)) said.push(it.getAttribute(name));
  }
  said.push(...document.title.split(" · "));
  return said.map((it) => it.replace(/\\s+/g, " ").trim()).filter(Boolean);
}
"""


def _wordings(language: str) -> dict[str, str]:
    folder = files("lungeline.words") / "pages"
    texts = ((it.name, it.read_text(encoding="utf-8")) for it in folder.iterdir())
    read = {
        name.partition(".")[0]: tomllib.loads(text)
        for name, text in texts
        if name.endswith(f".{language}.toml")
    }
    return {f"{topic}.{key}": text for topic, table in read.items() for key, text in table.items()}


def _english_alone() -> dict[str, str]:
    """Return English wordings that no German page has a reason to show, with their keys."""
    german = set(_wordings("de").values())
    return {text: key for key, text in _wordings("en").items() if text not in german}


def _english_in(said: list[str]) -> list[str]:
    """Return English wordings among what was said: those of a few words also within a longer text."""
    wordings = _english_alone()
    found = [f"{wordings[text]}: {text}" for text in said if text in wordings]
    long = [text for text in wordings if text.count(" ") > 1]
    return found + [f"{wordings[it]}: {it} (in “{text}”)" for text in said for it in long if it in text != it]


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The made-up clinic: its pages are full."""
    with serving(demo_in(tmp_path_factory.mktemp("german") / "data"), "--demo") as running:
        yield running


@pytest.fixture
def german(chromium: Browser, served: Served) -> Iterator[Page]:
    """A browser that shows German."""
    device = chromium.new_context(base_url=served.address, viewport={"width": 1180, "height": 820})
    device.add_cookies([{"name": "lungeline_view", "value": "language:de", "url": served.address}])
    page = device.new_page()
    page.route("**/api/plan", _fewer)
    page.route("**/api/plan/bands?*", lambda route: route.abort())
    yield page
    device.close()


def _fewer(route: Route) -> None:
    route.continue_(post_data={**(route.request.post_data_json or {}), "animals": 4})


def _loaded(page: Page, path: str) -> None:
    page.goto(path)
    expect(page.locator("html")).to_have_attribute("lang", "de")
    page.wait_for_load_state("networkidle", timeout=LONG_MS)
    page.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")


def test_the_check_finds_english_where_it_stands(german: Page) -> None:
    _loaded(german, "/cases/")
    assert _english_in(german.evaluate(_SAID)) == []
    german.evaluate("document.querySelector('h1').textContent = 'Cases'")
    german.evaluate("document.querySelector('main').append('… One moment: Plan without a case')")
    found = _english_in(german.evaluate(_SAID))
    assert [each.partition(": ")[2].partition(" (in")[0] for each in found] == [
        "Cases",
        "Plan without a case",
    ]


@pytest.mark.parametrize(
    "path",
    [
        "/cases/", "/cases/new/", "/settings/", "/settings/people/", "/enter/", "/pair/", "/emergency/",
        "/case/demo-3/emergency/", "/case/demo-2/record/", "/case/demo-3/record/", "/no/such/page",
    ],
)  # fmt: skip
def test_a_page_says_nothing_in_english(german: Page, path: str) -> None:
    _loaded(german, path)
    if "/record/" in path:
        expect(german.locator("#loading")).to_be_hidden(timeout=LONG_MS)
    found = _english_in([it for it in german.evaluate(_SAID) if it not in _AS_ENTERED])
    assert not found, "\n".join(found)


def test_the_plan_says_nothing_in_english(german: Page) -> None:
    _loaded(german, "/case/demo-3/prepare/")
    expect(german.locator("#first .verdict")).to_be_visible(timeout=LONG_MS)
    expect(german.locator("#answer")).not_to_have_attribute("aria-busy", "true", timeout=LONG_MS)
    german.evaluate("document.querySelectorAll('details').forEach((it) => { it.open = true; })")
    found = _english_in(german.evaluate(_SAID))
    assert not found, "\n".join(found)


@pytest.mark.parametrize(("path", "tabs"), [("/case/demo-3/watch/", "[data-tab]"), ("/check/", "[role=tab]")])
def test_no_tab_says_anything_in_english(german: Page, path: str, tabs: str) -> None:
    _loaded(german, path)
    said: list[str] = []
    expect(german.locator(tabs).first).to_be_visible()
    for tab in german.locator(tabs).all():
        tab.click()
        german.wait_for_load_state("networkidle", timeout=LONG_MS)
        said += german.evaluate(_SAID)
    assert len(said) > 100
    found = sorted(set(_english_in(said)))
    assert not found, "\n".join(found)


def test_forms_of_the_running_case_say_nothing_in_english(german: Page) -> None:
    _loaded(german, "/case/demo-3/watch/")
    said: list[str] = []
    for tab in ("drug", "event", "more"):
        german.locator(f"#tab-{tab}").click()
        for button in german.locator(f"#panel-{tab} [data-kind]").all():
            button.click()
            expect(german.locator("#form")).to_be_visible()
            said += german.evaluate(_SAID)
            german.keyboard.press("Escape")
    found = sorted(set(_english_in(said)))
    assert not found, "\n".join(found)

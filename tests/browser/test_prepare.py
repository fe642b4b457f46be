"""Prepare, as hands use it: five answers, the plan, a number moved, why, a bottle, print, the record."""

import json
import re
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect
from served import Served

LONG_MS = 30_000
SMALL_PX, DEED_PX = 48, 72
_TARGETS = ", ".join(
    f"main {each}" for each in ("button", "a.button", "select", "summary", "input:not([type=radio])")
)


@pytest.fixture(autouse=True)
def few_animals(page: Page) -> None:
    """Plan with a small herd: how far animals differ is tested elsewhere, and takes the longest."""

    def fewer(route: Route) -> None:
        asked = dict(route.request.post_data_json or {})
        route.continue_(post_data=json.dumps(asked | {"animals": 4}))

    page.route("**/api/plan", fewer)
    page.route("**/api/plan/bands?*", lambda route: route.abort())


def _plan(page: Page, weight: str = "550") -> None:
    page.goto("/prepare/")
    page.get_by_role("radio", name="horse").check()
    page.get_by_label("Weight").fill(weight)
    page.get_by_role("radio", name="on its back").check()
    page.get_by_label("Reservoir holds at most").fill("20")
    page.get_by_role("radio", name="elective surgery").check()
    page.get_by_role("button", name="Plan", exact=True).click()
    _planned(page)


def _planned(page: Page) -> None:
    expect(page.locator("#first .verdict")).to_be_visible(timeout=LONG_MS)
    expect(page.locator("#answer")).not_to_have_attribute("aria-busy", "true", timeout=LONG_MS)


def _shown(page: Page, name: str) -> str:
    return page.locator(f".setting[data-name={name}] .shown").inner_text().split("\n")[-1]


def test_from_five_answers_to_a_moved_number_and_its_reason(page: Page) -> None:
    page.unroute("**/api/plan/bands?*")
    page.goto("/prepare/")
    expect(page.locator("#empty")).to_be_visible()
    _plan(page)
    expect(page.locator("#answer-title")).to_be_focused()
    severities = page.locator("#first > .findings .finding").evaluate_all(
        "all => all.map(each => each.dataset.severity)"
    )
    order = ["stop", "caution", "advice", "note"]
    assert severities == sorted(severities, key=order.index)
    expect(page.locator("#band-told")).to_contain_text("(24)", timeout=LONG_MS)
    rate = _shown(page, "respiratory_rate_per_min")

    drawn = page.evaluate("""() => new Promise((resolve) => {
        const found = new Set();
        document.addEventListener("lungeline:redrawn", ({ detail }) => {
            found.add(detail.what);
            if (found.size === 2) resolve([...found].sort());
        });
        const slider = document.querySelector(".setting[data-name=tidal_volume_l] input[type=range]");
        slider.value = 7;
        slider.dispatchEvent(new Event("input", { bubbles: true }));
    })""")
    assert drawn == ["breath", "course"]
    assert _shown(page, "tidal_volume_l") == "7 L"
    assert _shown(page, "respiratory_rate_per_min") != rate
    expect(page.locator("#moved")).to_contain_text(f"Rate {rate} →")

    # a hand at rest: the whole plan is made anew with the number as it was set
    expect(page.locator(".setting[data-name=tidal_volume_l] .beside")).to_contain_text(
        "as you set it", timeout=LONG_MS
    )
    _planned(page)
    page.locator(".setting[data-name=tidal_volume_l] .why").click()
    dialog = page.locator("dialog#why")
    expect(dialog).to_contain_text("Tidal volume: 7 L")
    expect(dialog).to_contain_text("as asked for")
    dialog.get_by_role("button", name="Close").click()
    page.locator("[data-why='spare.needed_l']").click()
    expect(dialog).to_contain_text("sum of the parts, less one tidal volume")
    dialog.get_by_role("button", name="Close").click()
    page.locator(".setting[data-name=tidal_volume_l] .free").click()
    _planned(page)
    expect(page.locator(".setting[data-name=tidal_volume_l] .shown")).to_contain_text(
        "5.5 L", timeout=LONG_MS
    )


def test_the_bottle_two_people_and_the_record(page: Page, served: Served) -> None:
    client = served.client()
    opening: dict[str, Any] = {
        "purpose": "real",
        "name": "Stella",
        "species": "horse",
        "weight_kg": 520.0,
        "position": "left lateral",
    }
    case = client.post("/api/cases", json={"body": opening}).json()["case"]
    page.goto(f"/case/{case}/prepare/")
    _planned(page)  # the opening told enough
    expect(page.locator("#question-told")).to_contain_text("520 kg · left side")
    page.locator("details.use[data-use=induction] > summary").click()
    dose = page.locator(".dose[data-drug=ketamine][data-use=induction]")
    expect(dose.locator(".drawn")).to_contain_text("no volume before")
    dose.locator("[data-strength]").select_option("100.0 mg/mL")
    expect(dose.locator(".drawn strong")).to_have_text(
        "11.4 mL"
    )  # arithmetic: 2.2 mg/kg × 520 kg ÷ 100 mg/mL
    dose.locator("[data-confirm]").click()
    dialog = page.locator("dialog.confirming")
    dialog.get_by_label("First person").fill("A. Vet")
    dialog.get_by_label("Second person").fill("A. Vet")
    dialog.get_by_label("The dose, typed again").fill("2.2 mg/kg")
    dialog.get_by_role("button", name="Both have checked it").click()
    expect(dialog.get_by_role("alert")).to_contain_text("two different people")
    dialog.get_by_label("Second person").fill("B. Nurse")
    dialog.get_by_role("button", name="Both have checked it").click()
    expect(dose.locator(".state")).to_contain_text("confirmed: A. Vet · B. Nurse")

    page.get_by_text("Print", exact=True).click()
    sheet = page.get_by_role("link", name="Drug sheet").get_attribute("href") or ""
    assert client.get(sheet).headers["Content-Type"] == "application/pdf"
    page.get_by_role("button", name="Keep this plan in the case").click()
    expect(page.locator(".told")).to_contain_text("The plan is kept")
    entries = client.get(f"/api/cases/{case}/entries").json()["entries"]
    kept = next(each for each in entries if each["kind"] == "plan")["body"]
    volumes = {f"{each['drug']}.{each['use']}": each.get("volume_ml") for each in kept["doses"]}
    assert volumes["ketamine.induction"] == pytest.approx(2.2 * 520.0 / 100.0)
    again = page.context.new_page()
    again.goto(f"/case/{case}/prepare/")
    _planned(again)  # what was kept is known, and enough to plan by
    expect(again.locator("#kept-at")).to_be_visible()
    again.close()
    with page.expect_response(lambda answer: answer.url.endswith("/strike")) as struck:
        page.locator(".told").get_by_role("button", name="Undo").click()
    assert struck.value.status == 201


def test_on_a_phone_nothing_lies_beside_the_page_and_every_target_is_large(page: Page) -> None:
    page.set_viewport_size({"width": 360, "height": 740})
    _plan(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    low = page.locator(_TARGETS).evaluate_all("""all => all.filter((each) => each.checkVisibility())
        .map((each) => [each.outerHTML.slice(0, 90), each.getBoundingClientRect().height])""")
    assert low
    assert [each for each in low if each[1] < SMALL_PX] == []
    deeds = page.locator(".stepper button").evaluate_all(
        "all => all.map(each => each.getBoundingClientRect().height)"
    )
    assert min(deeds) >= DEED_PX
    page.goto("/emergency/?species=horse&weight_kg=550")
    first = page.locator(".card li").first
    box = first.bounding_box()
    assert box is not None
    assert box["y"] < 740 / 2  # at once, without a scroll
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def test_with_the_keyboard_alone(page: Page) -> None:
    page.goto("/prepare/")
    page.get_by_label("Weight").focus()
    page.keyboard.type("480,5")
    page.keyboard.press("Enter")
    _planned(page)
    expect(page.locator("#question-told")).to_contain_text("480,5 kg")
    slider = page.locator(".setting[data-name=peep_cmh2o] input[type=range]")
    before = _shown(page, "peep_cmh2o")
    slider.focus()
    page.keyboard.press("ArrowRight")
    assert _shown(page, "peep_cmh2o") != before
    expect(page.locator("#moved .finding").first).to_be_visible()
    page.keyboard.press("Tab")
    expect(page.locator(".setting[data-name=peep_cmh2o] .why")).to_be_focused()


def test_what_is_wrong_and_what_is_not_reached_is_said(page: Page, context: BrowserContext) -> None:
    page.goto("/prepare/")
    page.get_by_label("Weight").fill("55")
    page.get_by_role("button", name="Plan", exact=True).click()
    expect(page.locator("#problem")).to_contain_text("150 to 1300 kg")
    _plan(page)
    context.set_offline(True)
    page.locator(".setting[data-name=peep_cmh2o]").get_by_role("button", name=re.compile("more")).click()
    expect(page.locator("#moved")).to_contain_text("needs connection")
    expect(page.locator("#problem")).to_contain_text("needs connection", timeout=LONG_MS)
    context.set_offline(False)
    page.get_by_role("button", name="Try again").click()
    _planned(page)
    expect(page.locator("#problem")).to_be_hidden()

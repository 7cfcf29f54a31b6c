"""A page that changes under the hand: the focus, what is typed and what is scrolled stay."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from heelstamp.casework.dossier import state_of
from heelstamp.shop import open_shop
from heelstamp.shop.opened import OpenShop

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from fakes.served import Served
    from heelstamp.catalogue import DossierState

TAG = "W-0001"


def opened(context: BrowserContext, served: Served, screen: str) -> Page:
    page = context.new_page()
    page.set_default_timeout(60_000)
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.faults = faults  # type: ignore[attr-defined]
    page.goto(f"{served.address}/dossier/{TAG}/{screen}")
    return page


def stands(served: Served) -> DossierState:
    with open_shop(served.shop) as shop:
        return state_of(shop, TAG)


FOCUSED = """() => { const one = document.activeElement; const form = one.closest('form');
    return [one.value, form?.querySelector('[name=subject]')?.value,
            form?.querySelector('[name=kind]')?.value]; }"""


def test_enter_on_an_answer_leaves_the_focus_on_it(device: BrowserContext, served: Served) -> None:
    page = opened(device, served, "first-look?part=neck")
    doubtful = page.locator('#part .otherwise button[value="illegible"]')
    assert doubtful.count() > 1  # the same word stands under several questions
    doubtful.last.focus()
    before = page.evaluate(FOCUSED)
    page.keyboard.press("Enter")
    page.locator('#part .otherwise button[aria-pressed="true"]').wait_for()
    assert page.evaluate(FOCUSED) == before
    page.keyboard.press("Shift+Tab")
    assert page.evaluate(FOCUSED)[1:] == before[1:]  # the button before it, of the same question
    assert page.faults == []  # type: ignore[attr-defined]


def test_after_a_press_that_changes_its_own_button_the_focus_stays_in_the_form(
    chromium: Browser, served: Served
) -> None:
    context = chromium.new_context()
    page = opened(context, served, "screws")
    for x in (120, 180, 240):
        page.locator(".tapped input").click(position={"x": x, "y": 90})
        page.locator(f".screws li:nth-child({x // 60 - 1})").wait_for()
    page.locator(".screws li:nth-child(2) > form button").focus()
    page.keyboard.press("Enter")
    page.locator(".screws li.in").wait_for()
    assert page.evaluate("document.activeElement.textContent.trim()") == "take out again"
    assert (
        page.evaluate("document.activeElement.closest('li').querySelector('b').textContent") == "2"
    )
    context.close()


def test_what_is_typed_survives_another_light_another_page_and_another_entry(
    chromium: Browser, served: Served
) -> None:
    from playwright.sync_api import expect

    context = chromium.new_context(viewport={"width": 820, "height": 1180})
    page = opened(context, served, "intake")
    page.locator("input[name=item]").fill("woven strap")
    page.locator("input[name=place]").fill("shop, rack 2")
    page.get_by_role("button", name="dusk").click()
    page.locator("html[data-light=dusk]").wait_for()
    expect(page.locator("input[name=item]")).to_have_value("woven strap")
    expect(page.locator(".draft")).to_have_count(2)  # and it is said that it was typed earlier
    page.goto(f"{served.address}/dossier/{TAG}/marks")
    page.goto(f"{served.address}/dossier/{TAG}/intake")
    expect(page.locator("input[name=place]")).to_have_value("shop, rack 2")
    page.locator("form.asking").first.get_by_role("button", name="granted").click()
    page.locator('form.asking button[value="granted"][aria-pressed="true"]').wait_for()
    expect(page.locator("input[name=item]")).to_have_value("woven strap")
    page.get_by_role("button", name="unrelated").click()
    page.locator("#work", has_text="Woven strap").wait_for()
    expect(page.locator("input[name=item]")).to_have_value("")
    page.reload()
    expect(page.locator("input[name=item]")).to_have_value("")
    expect(page.locator("input[name=place]")).to_have_value("shop, rack 2")
    page.get_by_role("button", name="Clear it").click()
    page.reload()
    expect(page.locator("input[name=place]")).to_have_value("")
    assert [one.item for one in stands(served).contents.values()] == ["woven strap"]
    assert page.faults == []  # type: ignore[attr-defined]
    context.close()


def test_an_entry_of_another_device_leaves_what_is_typed_and_how_far_it_is_scrolled(
    chromium: Browser, served: Served
) -> None:
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = opened(context, served, "screws")
    page.locator("html[data-live=on]").wait_for(state="attached")
    page.locator("summary", has_text="What the next ones are like").click()
    page.locator("input[name=length]").first.fill("12.5")
    page.locator(".taps").evaluate("one => one.scrollTo(150, 0)")
    page.locator("h1").click()
    desk = OpenShop(served.shop)
    body = {"id": "v1", "part": "guard", "opening": "guard", "number": 1, "x": 0.5, "y": 0.5}
    desk.enter(TAG, [("screw", body)], by="examiner B")
    desk.close()
    page.locator(".screws li").wait_for()
    assert page.locator("input[name=length]").first.input_value() == "12.5"
    assert page.locator("input[name=length]").first.is_visible()  # still folded open
    assert page.locator(".taps").evaluate("one => one.scrollLeft") == 150
    context.close()


def test_a_part_is_shown_in_place_and_the_way_back_shows_the_one_before(
    chromium: Browser, served: Served
) -> None:
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    page = opened(context, served, "first-look")
    page.evaluate("window.marked = true")  # gone after a reload
    for name in ("Neck", "Bridge"):
        page.locator(f'.parts a[data-part="{name.lower()}"]').click()
        page.locator("#part h2", has_text=name).wait_for()
    assert page.url.endswith("?part=bridge")
    page.go_back()
    page.locator("#part h2", has_text="Neck").wait_for()
    assert page.evaluate("window.marked")
    context.close()

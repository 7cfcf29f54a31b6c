"""Money with sales in the shop, and a census learned from, as a hand at the bench uses them."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe

from heelstamp.shop.census import add_table
from heelstamp.shop.comparables import add_sales, columns_in, sales_of, table_in
from heelstamp.shop.opened import OpenShop

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from fakes.served import Served

TAG, MAKER = "W-0001", "sallowby-wherry"
EXAMPLES = Path(__file__).parents[2] / "examples"


@pytest.fixture
def stocked(served: Served) -> Served:
    shutil.copy(EXAMPLES / "consignment.toml", served.shop / "consignment.toml")
    with OpenShop(served.shop) as shop:
        add_sales(shop, MAKER, table_in(EXAMPLES / "wherry-sales.csv"))
    return served


def narrow(chromium: Browser) -> BrowserContext:
    return chromium.new_context(
        viewport={"width": 390, "height": 844}, bypass_csp=True, service_workers="block"
    )


def faults(page: Page) -> list[str]:
    found = [one["id"] for one in Axe().run(page).response["violations"]]
    if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
        found.append("runs over the edge")
    return found


def test_a_press_moves_the_price_and_a_comparable_waits_for_the_shop(
    chromium: Browser, stocked: Served
) -> None:
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(f"{stocked.address}/dossier/{TAG}/money")
    market = page.locator(".apart .sum").nth(1)
    before = market.inner_text()
    page.locator("form", has_text="Condition of the whole").get_by_role("button", name="E").click()
    page.locator('button[value="E"][aria-pressed="true"]').first.wait_for()
    assert market.inner_text() != before
    page.get_by_text("Add one").click()
    form = page.locator('form[action$="/comparable"]')
    form.locator("[name=month]").fill("2026-03")
    form.locator("[name=price]").fill("much")
    form.get_by_role("button", name="sold", exact=True).click()
    form.locator(".refusal").wait_for()
    assert "Not an amount of money" in form.locator(".refusal").inner_text()
    assert form.locator("[name=month]").input_value() == "2026-03"
    stocked.cut()
    form.locator("[name=price]").fill("8,900")
    form.get_by_role("button", name="sold", exact=True).click()
    page.get_by_text("1 entry waits on this device").wait_for()
    stocked.back()
    page.evaluate("dispatchEvent(new Event('online'))")
    page.locator(".waiting").wait_for(state="hidden")
    with OpenShop(stocked.shop) as shop:
        assert len(sales_of(shop, MAKER)) == 25
    context.close()


def test_what_the_looks_clear_up_comes_when_asked_for(chromium: Browser, stocked: Served) -> None:
    context = narrow(chromium)
    page = context.new_page()
    page.goto(f"{stocked.address}/dossier/{TAG}/money?to=EU")
    page.get_by_label("An hour at the bench").fill("60")
    page.get_by_role("button", name="Work it out").click()
    page.locator("#looks table").wait_for()
    for summary in page.locator("summary").all():
        summary.click()
    assert not faults(page)
    context.close()


def test_a_census_is_learned_from_and_accepted_without_scripts(
    chromium: Browser, served: Served
) -> None:
    columns = EXAMPLES / "wherry-census-columns.toml"
    with OpenShop(served.shop) as shop:
        add_table(shop, MAKER, table_in(EXAMPLES / "wherry-census.csv"), columns_in(columns))
    plain = chromium.new_context(java_script_enabled=False)
    page = plain.new_page()
    page.goto(f"{served.address}/maker/{MAKER}")
    page.get_by_role("button", name="Learn", exact=True).click()
    accept = page.get_by_role("button", name="Accept it as edition")
    accept.wait_for(timeout=60_000)  # the page comes again by itself
    address = page.url
    context = narrow(chromium)
    seen = context.new_page()
    seen.goto(address)
    for summary in seen.locator("summary").all():
        summary.click()
    assert not faults(seen)
    accept.click()
    page.get_by_text("Written: edition").wait_for()
    seen.goto(f"{served.address}/maker/{MAKER}/feature/f12")
    assert "Learned from 28 looks" in seen.locator("main").inner_text()
    assert not faults(seen)
    plain.close()
    context.close()

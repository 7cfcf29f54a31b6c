"""First Look by hand: a tap is an entry, with and without the shop in reach."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from heelstamp.casework.dossier import entries_of, state_of
from heelstamp.shop import open_shop

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from fakes.served import Served

TAG = "W-0001"
LEAST_PX = 53  # 14 mm at 96 px to the inch


def opened(context: BrowserContext, served: Served, part: str = "") -> Page:
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda one: faults.append(one.text) if one.type == "error" else None)
    page.faults = faults  # type: ignore[attr-defined]
    page.goto(f"{served.address}/dossier/{TAG}/first-look" + (f"?part={part}" if part else ""))
    page.wait_for_function("navigator.serviceWorker.ready.then(() => true)")
    return page


def standing(served: Served) -> dict:
    with open_shop(served.shop) as shop:
        return dict(state_of(shop, TAG).observations)


def test_a_tap_on_the_drawing_and_a_tap_on_an_answer(
    device: BrowserContext, served: Served
) -> None:
    page = opened(device, served)
    page.locator('a.zone[data-part="badge"]').first.dispatch_event("click")
    page.locator("#part h2").wait_for()
    first = page.locator("#part .choice").first
    answer = first.inner_text().strip()
    first.click()
    page.locator('#part .choice[aria-pressed="true"]').first.wait_for()
    (seen,) = standing(served).values()
    assert seen.part == "badge"
    assert seen.status == "read"
    assert answer in page.locator("#part .stands strong").first.inner_text()
    assert page.faults == []  # type: ignore[attr-defined]


def test_nothing_runs_over_the_edge_and_nothing_to_press_is_small(
    device: BrowserContext, served: Served
) -> None:
    page = opened(device, served, "guard")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    small = page.evaluate(
        """least => [...document.querySelectorAll(
             'button, .parts a, .way a, input:not([type=hidden])')]
             .filter(one => one.offsetParent && one.getBoundingClientRect().height < least - 0.5)
             .map(one => one.outerHTML.slice(0, 80))""",
        LEAST_PX,
    )
    assert small == []


def test_entries_made_without_the_shop_are_sent_when_it_is_back(
    device: BrowserContext, served: Served
) -> None:
    page = opened(device, served, "guard")
    page.reload()  # the worker has this page now
    served.cut()
    page.locator("#part .choice").first.click()
    page.locator(".waiting", has_text="1 entry waits").wait_for()
    page.locator("#part .otherwise .choice", has_text="illegible").last.click()
    page.locator(".waiting", has_text="2 entries wait").wait_for()
    page.reload()  # from the worker's copy; nothing is lost
    page.locator(".waiting", has_text="2 entries wait").wait_for()
    assert standing(served) == {}
    served.back()
    page.evaluate("dispatchEvent(new Event('online'))")
    page.locator(".waiting").wait_for(state="hidden")
    assert {one.status for one in standing(served).values()} == {"read", "illegible"}


def test_two_devices_on_one_dossier(chromium: Browser, served: Served) -> None:
    one, two = chromium.new_context(), chromium.new_context()
    here, there = opened(one, served, "guard"), opened(two, served, "guard")
    there.evaluate("dispatchEvent(new Event('pagehide'))")  # it hears of nothing meanwhile
    here.locator("#part .choice").nth(0).click()
    here.locator('#part .choice[aria-pressed="true"]').first.wait_for()
    there.locator("#part .choice").nth(1).click()  # as it was shown before
    told = there.locator("#undecided .refusal")
    told.wait_for()
    assert "in the meantime" in told.inner_text()
    there.get_by_role("button", name="Enter mine after all").click()
    there.locator("#undecided").wait_for(state="hidden")
    (seen,) = standing(served).values()
    with open_shop(served.shop) as shop:
        kinds = [entry.kind for entry in entries_of(shop, TAG)]
    assert kinds == ["instrument", "observation", "correction"]
    assert seen.is_read
    one.close()
    two.close()

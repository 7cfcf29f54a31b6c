"""All frets under three strings by the number pad: three presses a reading, undo, kept, entered."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from heelstamp.casework.dossier import state_of
from heelstamp.shop import open_shop

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from fakes.served import Served

TAG = "W-0001"
FRETS, SIDES = 22, 3
OVER = "document.documentElement.scrollWidth > innerWidth"


def press(page: Page, figures: str) -> None:
    """Press digits one after another, as a thumb does."""
    page.evaluate(
        """figures => { for (const one of figures)
            document.querySelector(`.pad [data-digit="${one}"]`).click(); }""",
        figures,
    )


def test_a_whole_board_is_read_with_three_presses_a_reading(
    served: Served, device: BrowserContext
) -> None:
    page = device.new_page()
    page.goto(f"{served.address}/dossier/{TAG}/setup/frets")
    expect(page.locator(".pad")).to_be_visible()
    assert not page.evaluate(OVER)
    readings = [f"{100 - (fret < 4) * 18 + side}" for side in range(SIDES) for fret in range(FRETS)]
    readings = [one.zfill(3) for one in readings]
    press(page, "".join(readings[:30]))
    expect(page.locator(".pad-now")).to_contain_text("Fret 9, middle string")
    page.click("[data-back]")  # the last one was misread
    press(page, readings[29])
    page.reload()  # what was typed stays on this device
    expect(page.locator(".pad-now .count")).to_contain_text(f"30 of {FRETS * SIDES}")
    press(page, "999")
    expect(page.locator(".pad-now")).to_contain_text("a size that no fret has")
    press(page, "".join(readings[30:-1]))
    page.click("[data-skip]")
    expect(page.locator(".pad-now .count")).to_contain_text(f"66 of {FRETS * SIDES}")
    page.click("text=Enter the frets")
    expect(page.locator("#frets")).to_contain_text("Playing wear: deepest at fret")
    expect(page.locator(".pad-now .count")).to_contain_text(f"0 of {FRETS * SIDES}")
    with open_shop(served.shop) as shop:
        read = {
            (one.at.string, one.at.fret): one.value
            for one in state_of(shop, TAG).measurements.values()
            if one.at is not None
        }
    assert len(read) == FRETS * SIDES - 1
    assert read[1, 1] == 0.82
    assert read[3, 22] == 1.01
    assert (6, 22) not in read

"""Drawing on a photograph: a box by mouse, a scale by keys, at three widths."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe

from fakes.web_shop import TAG, jpeg
from heelstamp.casework.dossier import state_of
from heelstamp.catalogue import PictureBox, PictureScale
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.photographs import keep_photograph

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from fakes.served import Served

FRAME = "F001"


def pictured(served: Served) -> str:
    with OpenShop(served.shop) as shop:
        details = {"id": FRAME, "name": "plate.jpg", "slot": "plate", "part": "neck_plate"}
        keep_photograph(shop, TAG, jpeg(), details, by="examiner A")
    return f"{served.address}/dossier/{TAG}/photographs/{FRAME}"


def drawn(page: Page, *ends: tuple[float, float]) -> None:
    """Draw from one place of the picture to another, both as shares of it."""
    all_ = page.locator(".marked").bounding_box()
    assert all_ is not None
    (ax, ay), (bx, by) = (
        (all_["x"] + x * all_["width"], all_["y"] + y * all_["height"]) for x, y in ends
    )
    page.mouse.move(ax, ay)
    page.mouse.down()
    page.mouse.move((ax + bx) / 2, (ay + by) / 2)
    page.mouse.move(bx, by)
    page.mouse.up()


def test_a_box_is_drawn_by_mouse_and_a_scale_by_keys(chromium: Browser, served: Served) -> None:
    context = chromium.new_context(viewport={"width": 820, "height": 1180})
    page = context.new_page()
    page.goto(pictured(served))
    page.get_by_role("button", name="Draw a box on the picture").click()
    drawn(page, (0.25, 0.5), (0.5, 0.75))
    page.get_by_role("button", name="Cover it").click()
    page.get_by_text("Over the serial number").wait_for()
    assert page.locator(".corner").count() == 0
    page.get_by_role("button", name="Draw the length on the picture").click()
    second = page.get_by_role("button", name="Second point")
    second.focus()
    for _ in range(4):
        page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowDown")
    page.get_by_label("Length between the points").fill("22")
    page.get_by_role("button", name="Keep this scale").click()
    page.get_by_text("Reports draw a bar on it").wait_for()
    with OpenShop(served.shop) as shop:
        state = state_of(shop, TAG)
    (box,) = state.of(PictureBox).values()
    # a pixel of the screen is a four-hundredth of the picture's width here
    assert (box.x, box.y, box.width, box.height) == pytest.approx((0.25, 0.5, 0.25, 0.25), abs=0.01)
    (scale,) = state.of(PictureScale).values()
    assert (scale.x0, scale.y0, scale.x1, scale.y1) == pytest.approx((0.3, 0.5, 0.74, 0.501))
    assert scale.length_mm == 22.0
    context.close()


def test_a_finger_draws_without_scrolling_and_the_page_is_whole_at_each_width(
    device: BrowserContext, served: Served
) -> None:
    page = device.new_page()
    page.goto(pictured(served))
    page.get_by_role("button", name="Draw a box on the picture").click()
    drawn(page, (0.1, 0.1), (0.4, 0.3))
    assert page.get_by_label("From the left").input_value().startswith(("9.", "10"))
    found = [one["id"] for one in Axe().run(page).response["violations"]]
    assert found == []
    assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")
    page.keyboard.press("Escape")
    assert page.locator(".corner").count() == 0

"""The lamp in a browser: answers that appear by themselves, two devices, fingers and keys."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe

from fakes.lamp_shop import UV, VISIBLE, as_jpeg, drawing, worn
from fakes.web_shop import jpeg
from heelstamp.casework.dossier import state_of
from heelstamp.casework.new_entry import EntryStamp
from heelstamp.casework.uv_lamp.marks import read_marks
from heelstamp.catalogue import Exposure, PairMarks
from heelstamp.shop import now, open_shop
from heelstamp.shop.finish import compare_pair, load_pair
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.photographs import keep_photograph
from heelstamp.shop.uv_lamp import Compared, enter_look

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

    from fakes.served import Served
    from heelstamp.catalogue import DossierState

TAG = "W-0001"
LEAST_PX = 53  # 14 mm at 96 px to the inch
SMALL = """least => [...document.querySelectorAll(
    'button, nav a, summary, select, textarea, .press, '
    + 'input:not([type=hidden]):not([type=checkbox]):not([type=radio]):not([type=file])')]
    .filter(one => one.offsetParent && one.checkVisibility()
        && one.getBoundingClientRect().height < least - 0.5)
    .map(one => one.outerHTML.slice(0, 80))"""


def stands(served: Served) -> DossierState:
    with open_shop(served.shop) as shop:
        return state_of(shop, TAG)


def until(page: Page, holds: str) -> None:
    """Wait until an expression holds; the page's own policy forbids the browser to do it."""
    for _ in range(600):
        if page.evaluate(holds):
            return
        page.wait_for_timeout(50)
    raise AssertionError(holds)


@pytest.fixture
def paired(served: Served) -> Served:
    """A bench whose guitar has a pair of frames."""
    desk = OpenShop(served.shop)
    for id_, slot, light, uv in (
        (VISIBLE, "uv-front-visible", "visible", False),
        (UV, "uv-front", "UV-A", True),
    ):
        told = {"id": id_, "name": f"{id_}.jpg", "slot": slot, "light": light, "part": "finish"}
        keep_photograph(desk, TAG, as_jpeg(uv=uv), told, by="examiner A")
    desk.close()
    return served


def opened(context: BrowserContext, served: Served, screen: str) -> Page:
    page = context.new_page()
    page.set_default_timeout(120_000)  # comparing on a busy machine
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda one: faults.append(one.text) if one.type == "error" else None)
    page.faults = faults  # type: ignore[attr-defined]
    page.goto(f"{served.address}/dossier/{TAG}/{screen}")
    page.locator("html[data-live=on]").wait_for(state="attached")
    return page


def test_an_answer_appears_on_every_device_without_reload(
    chromium: Browser, paired: Served
) -> None:
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    elsewhere = chromium.new_context(viewport={"width": 390, "height": 844})
    page, other = opened(context, paired, "uv-lamp"), opened(elsewhere, paired, "uv-lamp")
    for one in (page, other):
        one.evaluate("window.marked = true")  # gone after a reload
    page.locator("#draw details").click()
    page.locator("textarea[name=marks]").fill(drawing())
    words = "[...document.querySelectorAll('.going .stage')].map(one => one.textContent)[0]"
    other.evaluate(f"""() => {{ window.told = []; setInterval(() => {{
        const now = {words}; if (window.told.at(-1) !== now) window.told.push(now); }}, 20); }}""")
    page.get_by_role("button", name="Compare the two").click()
    for one in (page, other):
        one.locator(".enter-look").wait_for()
        assert one.locator(".regions > li").count() >= 2
        assert one.evaluate("window.marked")
        assert one.locator(".view .found .region").count() >= 2
    assert sum("%" in words for words in other.evaluate("window.told")) >= 2  # progress was seen
    assert stands(paired).observations == {}
    page.get_by_role("button", name="Enter this look").click()
    for one in (page, other):
        one.locator("#result", has_text="Entered as").wait_for()
        assert one.evaluate("window.marked")
    assert len(stands(paired).observations) == 1
    other.locator(".regions summary").first.click()
    other.get_by_role("button", name="dust or lint").first.click()
    page.locator(".regions > li.aside").wait_for()
    page.locator(".regions > li:nth-child(2) > details > summary").click()
    page.locator(".regions > li:nth-child(2) .draw-border").click()
    page.locator(".marking .handle").first.focus()
    page.keyboard.press("Shift+ArrowUp")
    page.get_by_role("button", name="Keep this border").click()
    other.locator(".regions > li:nth-child(2)", has_text="drawn by hand").wait_for()
    assert page.evaluate("window.marked")
    for one in (page, other):
        assert one.faults == []  # type: ignore[attr-defined]
    context.close()
    elsewhere.close()


def test_what_a_person_is_writing_is_not_swept_away(chromium: Browser, paired: Served) -> None:
    context = chromium.new_context(viewport={"width": 820, "height": 1180})
    page = opened(context, paired, "uv-lamp")
    page.locator("#clock summary").click()
    field = page.locator("input[name=level]")
    field.fill("12")
    desk = OpenShop(paired.shop)
    body = {
        "id": "m1",
        "quantity": "UV-A irradiance",
        "part": "finish",
        "value": 30.0,
        "unit": "W/m²",
        "stage": "found",
    }
    desk.enter(TAG, [("measurement", body)], by="examiner B")
    page.wait_for_timeout(2500)
    assert field.input_value() == "12"
    assert page.locator("#clock summary").inner_text().startswith("Limit for eyes")
    field.fill("")
    page.locator("h1").click()  # leaves the field: what was put off is done now
    page.locator("#clock summary", has_text="At 30 W/m²").wait_for()
    desk.close()
    context.close()


def test_the_view_is_moved_by_wheel_and_keys(chromium: Browser, served: Served) -> None:
    device = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    desk = OpenShop(served.shop)
    for id_, slot, light in (("f1", "uv-front-visible", "visible"), ("f2", "uv-front", "UV-A")):
        told = {"id": id_, "name": f"{id_}.jpg", "slot": slot, "light": light, "part": "finish"}
        keep_photograph(desk, TAG, jpeg(3000, 2250, shade=len(slot)), told, by="examiner A")
    desk.close()
    page = opened(device, served, "uv-lamp")
    view = page.locator(".view")
    until(page, "document.querySelector('.view .layer img').naturalWidth > 0")
    scale = "Number(document.querySelector('.stage').style.transform.match(/scale\\((.+)\\)/)[1])"
    whole = page.evaluate(scale)
    view.focus()
    page.keyboard.press("+")
    page.keyboard.press("+")
    near = page.evaluate(scale)
    assert near == pytest.approx(whole * 1.96, rel=1e-3)
    before = page.evaluate("document.querySelector('.stage').style.transform")
    page.keyboard.press("ArrowRight")
    assert page.evaluate("document.querySelector('.stage').style.transform") != before
    page.keyboard.press(".")
    assert page.locator(".wipe input").input_value() == "520"
    page.locator(".wipe input").fill("250")
    assert page.evaluate("document.querySelector('.wipe-line').style.left") == "25%"
    page.keyboard.press("Tab")
    page.get_by_role("button", name="all", exact=True).click()
    assert page.evaluate(scale) == pytest.approx(whole, rel=1e-3)
    view.hover(position={"x": 60, "y": 60})
    page.mouse.wheel(0, -1500)
    until(page, f"{scale} > {2.5 * whole}")
    page.locator(".view .layer img:nth-child(2)").first.wait_for(state="attached")  # a fine square
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert page.faults == []  # type: ignore[attr-defined]
    device.close()


def test_drawing_by_taps_and_by_keys_is_kept(chromium: Browser, paired: Served) -> None:
    context = chromium.new_context(viewport={"width": 820, "height": 1180}, has_touch=True)
    page = opened(context, paired, "uv-lamp")
    page.get_by_role("button", name="Draw", exact=True).click()
    page.get_by_role("button", name="Propose outline and parts").click()
    page.locator(".how", has_text="Proposed").wait_for()
    marks = "JSON.parse(document.querySelector('textarea[name=marks]').value)"
    first = page.evaluate(marks)["outline"]
    handle = page.locator(".marking .handle").first
    corner = int(handle.get_attribute("data-corner") or 0)
    handle.focus()
    page.keyboard.press("Shift+ArrowRight")
    moved = page.evaluate(marks)["outline"]
    assert moved[corner][0] > first[corner][0]
    beside = (corner + 1) % len(first)  # not shown yet: bends along with half of the way or less
    assert (
        first[beside][0]
        <= moved[beside][0]
        < first[beside][0] + moved[corner][0] - first[corner][0]
    )
    page.keyboard.press("Delete")
    assert len(page.evaluate(marks)["outline"]) == len(first) - 1
    place = page.locator(".marking .handle").nth(3).bounding_box()
    assert place is not None
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 30, y + 20, steps=4)
    page.mouse.up()
    assert page.evaluate(marks)["outline"] != moved
    page.get_by_role("button", name="Length").click()
    view = page.locator(".view")
    view.click(position={"x": 200, "y": 300})
    view.click(position={"x": 500, "y": 300})
    page.get_by_label("Its length in mm").fill("100")
    page.keyboard.press("Tab")
    assert page.evaluate(marks)["ruler"][4] == 100
    page.get_by_role("button", name="Parts").click()
    page.get_by_role("button", name="Add a part").click()
    view.focus()
    for key in ("Enter", "ArrowRight", "Enter", "ArrowDown", "Enter"):
        page.keyboard.press(key)
    page.get_by_role("button", name="Close it").click()
    assert len(page.evaluate(marks)["parts"][-1]["polygon"]) == 3
    page.get_by_role("button", name="Points").click()
    view.click(position={"x": 250, "y": 150})
    assert page.locator(".wipe input").input_value() == "0"  # UV-A as it was taken
    view.click(position={"x": 260, "y": 150})
    ((x, y, u, v),) = page.evaluate(marks)["points"]
    assert (u > x, y) == (True, pytest.approx(v, abs=1))
    page.get_by_role("button", name="take out point 1").click()
    assert "points" not in page.evaluate(marks)
    page.reload()  # what is drawn and not kept stays on the device
    assert page.evaluate(marks)["ruler"][4] == 100
    page.get_by_role("button", name="Keep the drawing").click()
    page.locator(".done", has_text="Entered").wait_for()
    (kept,) = stands(paired).of(PairMarks).values()
    assert (kept.visible, kept.uv) == (VISIBLE, UV)
    with open_shop(paired.shop) as shop:
        told = json.loads(shop.files.get(kept.file))
    assert told["ruler"][4] == 100
    assert len(told["outline"]) == len(first) - 1
    assert worn().visible.shape[1] >= max(x for x, _ in told["outline"])
    assert page.faults == []  # type: ignore[attr-defined]
    context.close()


def test_the_clock_counts_without_the_shop_and_warns(chromium: Browser, served: Served) -> None:
    desk = OpenShop(served.shop)
    body = {
        "id": "m1",
        "quantity": "UV-A irradiance",
        "part": "finish",
        "value": 2500.0,
        "unit": "W/m²",
        "stage": "found",
    }
    desk.enter(TAG, [("measurement", body)], by="examiner A")  # four seconds to the limit
    desk.close()
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = opened(context, served, "uv-lamp")
    served.cut()
    began = time.monotonic()
    page.get_by_role("button", name="Lamp on").click()
    page.locator(".warned", has_text="four fifths").wait_for(timeout=60_000)
    page.locator(".warned", has_text="Over the limit").wait_for(timeout=60_000)
    page.get_by_role("button", name="Lamp off").click()
    most = (1 + time.monotonic() - began) / 60  # whole seconds are kept
    page.locator(".waiting", has_text="2 entries wait").wait_for()
    ran = page.locator(".ran").inner_text()
    assert int(ran.split(" min ")[1].split(" ")[0]) >= 4
    served.back()
    page.evaluate("dispatchEvent(new Event('online'))")
    page.locator(".waiting").wait_for(state="hidden", timeout=60_000)
    (entry,) = stands(served).of(Exposure).values()
    assert 4 / 60 <= entry.minutes <= most
    page.locator("#clock", has_text="over the limit").wait_for(timeout=60_000)
    context.close()


def test_the_camera_shows_the_visible_frame_as_a_ghost_and_sends_the_picture(
    paired_half: Served, fake_camera: Browser
) -> None:
    context = fake_camera.new_context(
        viewport={"width": 820, "height": 1180}, permissions=["camera"]
    )
    page = opened(context, paired_half, "uv-lamp")
    page.get_by_role("button", name="Look through the camera").click()
    page.get_by_role("button", name="Take it").wait_for()
    assert page.locator(".ghost video").evaluate("one => one.videoWidth") > 0
    opacity = "getComputedStyle(document.querySelector('.ghost img')).opacity"
    assert page.evaluate(opacity) == "0.5"
    page.locator(".veil").fill("20")
    assert page.evaluate(opacity) == "0.2"
    until(page, "document.querySelector('.exposure').textContent.length > 10")  # held, or why not
    page.get_by_role("button", name="Take it").click()
    page.locator("#found", has_text="Not compared yet").wait_for()
    (glow,) = [one for one in stands(paired_half).photographs.values() if one.light == "UV-A"]
    assert (glow.slot, glow.part) == ("uv-front", "finish")
    assert page.faults == []  # type: ignore[attr-defined]
    context.close()


def test_an_answer_breaks_no_rule_in_any_light_and_nothing_to_press_is_small(
    chromium: Browser, answered: Served
) -> None:
    context = chromium.new_context(
        viewport={"width": 390, "height": 844}, bypass_csp=True, service_workers="block"
    )
    for light in ("paper", "dusk", "red"):
        context.add_cookies([{"name": "light", "value": light, "url": answered.address}])
        page = opened(context, answered, "uv-lamp")
        page.locator(".view .found .region").first.wait_for(state="attached")
        for one in page.locator(".regions summary, #clock summary").all():
            if one.is_visible():
                one.click()
        page.get_by_role("button", name="Draw", exact=True).click()
        page.get_by_role("button", name="Take those of this comparison").click()
        page.get_by_role("button", name="Parts").click()
        found = [one["id"] for one in Axe().run(page).response["violations"]]
        found += page.evaluate(SMALL, LEAST_PX)
        assert found == [], light
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        shade = page.locator(".view .pane").evaluate("one => getComputedStyle(one).filter")
        assert ("red-light" in shade) == (light == "red")  # photographs too
    context.close()


@pytest.fixture
def paired_half(served: Served) -> Served:
    """A bench whose guitar has only the frame in ordinary light."""
    desk = OpenShop(served.shop)
    told = {"id": VISIBLE, "name": "seen.jpg", "slot": "uv-front-visible", "part": "finish"}
    keep_photograph(desk, TAG, as_jpeg(uv=False), told, by="examiner A")
    desk.close()
    return served


@pytest.fixture
def answered(paired: Served) -> Served:
    """A bench whose pair was compared and entered."""
    desk = OpenShop(paired.shop)
    look = load_pair(desk, f"{TAG}:{VISIBLE}", f"{TAG}:{UV}")
    marks = read_marks(drawing(), size=worn().visible.shape[1::-1])
    found = Compared.of(compare_pair(look.visible.file, look.uv.file, marks.request()))
    enter_look(desk, TAG, found, EntryStamp("o1", "", now()), by="examiner A")
    level = {
        "id": "m1",
        "quantity": "UV-A irradiance",
        "part": "finish",
        "value": 12.0,
        "unit": "W/m²",
        "stage": "found",
    }
    shone = {"id": "t1", "part": "finish", "minutes": 9.0}
    desk.enter(TAG, [("measurement", level), ("exposure", shone)], by="examiner A")
    desk.close()
    return paired


@pytest.fixture(scope="module")
def fake_camera(chromium: Browser, browser_path: str) -> Iterator[Browser]:
    """A browser with a camera that shows a moving picture."""
    words = ["--no-sandbox", "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]
    browser = chromium.browser_type.launch(executable_path=browser_path, args=words)
    yield browser
    browser.close()

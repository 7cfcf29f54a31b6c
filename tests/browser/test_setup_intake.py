"""Setup by hand: the wheel by press, key and drag; a note heard by the page; talking; the timer."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
import soundfile
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, Playwright

from fakes.plucked_string import pluck
from heelstamp.casework.dossier import state_of
from heelstamp.catalogue import quantity_words, sound_words
from heelstamp.shop import open_shop
from heelstamp.shop.opened import OpenShop

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from fakes.served import Served
    from heelstamp.catalogue import DossierState

TAG = "W-0001"
RATE = 48_000
PHONE = {"width": 390, "height": 844}
SMALL = """[...document.querySelectorAll('button, nav a, summary, select, .press, .cell[href], '
    + '.radios > div label, label:has(> [type=checkbox]), '
    + 'input:not([type=hidden]):not([type=radio]):not([type=checkbox]):not([type=file])')]
    .filter(one => one.offsetParent && one.checkVisibility()
        && one.getBoundingClientRect().height < 52.5)
    .map(one => one.outerHTML.slice(0, 90))"""


@pytest.fixture(scope="module")
def hearing(
    driver: Playwright, browser_path: str, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Browser]:
    """Chromium whose microphone hears the low string plucked, once each time it is opened."""
    heard = tmp_path_factory.mktemp("heard") / "low.wav"
    note = pluck(np.random.default_rng(31), f0=82.7, b=4e-5, rate=RATE, seconds=6.0, snr_db=55.0)
    soundfile.write(heard, note, RATE, subtype="PCM_16")
    flags = (
        "--no-sandbox",
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-audio-capture={heard}%noloop",
    )
    browser = driver.chromium.launch(executable_path=browser_path, args=list(flags))
    yield browser
    browser.close()


@pytest.fixture
def phone(hearing: Browser) -> Iterator[BrowserContext]:
    context = hearing.new_context(viewport=PHONE, has_touch=True, permissions=["microphone"])
    yield context
    context.close()


def opened(context: BrowserContext, served: Served, path: str) -> Page:
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda one: faults.append(one.text) if one.type == "error" else None)
    page.faults = faults  # type: ignore[attr-defined]
    page.goto(f"{served.address}/dossier/{TAG}/{path}")
    return page


def stands(served: Served) -> DossierState:
    with open_shop(served.shop) as shop:
        return state_of(shop, TAG)


def test_the_wheel_turns_by_press_key_and_drag_and_goes_on_to_the_next(
    phone: BrowserContext, served: Served
) -> None:
    page = opened(phone, served, "setup")
    field = page.locator("#take input[name=value]")
    more = page.locator("#take").get_by_role("button", name="more")
    assert field.input_value() == ""
    more.click()
    assert field.input_value() == "0.20"  # the middle of the usual range, on a step
    more.click()
    field.press("ArrowUp")
    field.press("PageUp")
    assert field.input_value() == "0.80"
    box = field.bounding_box()
    assert box is not None
    across = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + 100, across)
    page.mouse.down()
    page.mouse.move(box["x"] + 100 - 7 * 12, across, steps=14)
    page.mouse.up()
    assert field.input_value() == "0.45"
    page.locator("#taking").focus()
    finger = phone.new_cdp_session(page)
    for kind, moved in (("touchStart", 0), ("touchMove", 15), ("touchMove", 26), ("touchEnd", 26)):
        points = [] if kind == "touchEnd" else [{"x": box["x"] + 100 + moved, "y": across}]
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    assert field.input_value() == "0.55"
    assert page.evaluate("document.activeElement?.name") != "value"  # and no keyboard comes up
    page.get_by_role("button", name="less, Relief").click(click_count=2)
    page.get_by_role("button", name="Enter relief").click()
    page.locator("#taking", has_text="tuned down a tone").wait_for()
    assert [one.value for one in stands(served).measurements.values()] == [0.45]
    page.locator("a.cell", has_text="After").first.click()
    page.locator("#taking", has_text="after").wait_for()
    assert page.locator("#take input[name=value]").input_value() == "0.45"
    assert page.locator("a.cell[aria-current]").count() == 1
    assert page.faults == []  # type: ignore[attr-defined]


def test_inches_turn_in_sixty_fourths_and_thousandths(
    phone: BrowserContext, served: Served
) -> None:
    page = opened(phone, served, "setup?take=action-treble.found")
    page.get_by_role("button", name="inches").click()
    page.goto(f"{served.address}/dossier/{TAG}/setup?take=action-treble.found")
    more = page.locator("#take").get_by_role("button", name="more")
    page.get_by_label("steel rule").check()
    page.locator("#take input[name=value]").fill("5/64")
    more.click()
    assert page.locator("#take input[name=value]").input_value() == "6/64"
    page.get_by_label("string height gauge").check()
    more.click()
    assert page.locator("#take input[name=value]").input_value() == "0.096"
    page.get_by_role("button", name="Enter action").click()
    page.locator("#taking", has_text="bass").wait_for()
    (one,) = stands(served).measurements.values()
    assert one.value == pytest.approx(0.096 * 25.4)


def test_a_note_is_heard_by_the_page_and_measured(phone: BrowserContext, served: Served) -> None:
    page = opened(phone, served, "setup/note")
    page.locator("input[name=string][value='6']").check()
    page.get_by_role("button", name="Record", exact=True).click()
    page.locator(".heard", has_text="6.").wait_for(timeout=60_000)
    page.get_by_role("button", name="Stop").click()
    page.locator(".recorder audio").wait_for()
    page.get_by_role("button", name="Keep it and listen").click()
    page.locator(".recorded").wait_for(timeout=60_000)
    state = stands(served)
    (kept,) = state.recordings.values()
    assert (kept.media_type, sound_words(kept)) == ("audio/wav", "note E2, 6th string, open")
    assert "Stiffness B" in page.locator(".recorded").inner_text()
    (pitch,) = state.measurements.values()
    assert pitch.value == pytest.approx(82.7, rel=1e-3)  # as it was synthesised
    assert page.faults == []  # type: ignore[attr-defined]


def test_talk_is_kept_with_its_screen_and_waits_while_the_shop_is_out_of_reach(
    phone: BrowserContext, served: Served
) -> None:
    page = opened(phone, served, "marks")
    talk = page.get_by_role("button", name="Record while held")

    def say() -> None:
        talk.scroll_into_view_if_needed()
        box = talk.bounding_box()
        assert box is not None
        page.mouse.move(box["x"] + 20, box["y"] + 20)
        page.mouse.down()
        page.get_by_role("button", name="Let go to keep, 1 s").wait_for()
        page.mouse.up()

    say()
    page.locator("#talked", has_text="Kept: spoken note").wait_for()
    (kept,) = stands(served).recordings.values()
    assert (kept.sound, kept.screen, kept.media_type) == ("voice", "marks", "audio/webm")
    assert page.faults == []  # type: ignore[attr-defined]
    served.cut()
    say()
    page.locator(".waiting", has_text="1 entry waits").wait_for()
    served.back()
    page.evaluate("dispatchEvent(new Event('online'))")
    page.locator(".waiting").wait_for(state="hidden")
    assert len(stands(served).recordings) == 2
    page.goto(f"{served.address}/dossier/{TAG}/voice")
    assert page.locator(".voices audio").count() == 2
    length = page.evaluate(
        "async () => { const one = document.querySelector('audio'); one.preload = 'auto';"
        "one.load(); await new Promise(done => one.addEventListener('loadeddata', done,"
        "{once: true})); return one.readyState; }"
    )
    assert length >= 2


def test_the_timer_counts_down_to_the_moment_the_shop_gave(
    phone: BrowserContext, served: Served
) -> None:
    desk = OpenShop(served.shop)
    for number, (celsius, hours) in enumerate(((11.5, 2.0), (15.0, 0.1))):
        at = (datetime.now(UTC) - timedelta(hours=hours)).strftime("%Y-%m-%dT%H:%M:%SZ")
        body = {
            "id": f"m{number}",
            "quantity": "temperature inside the case",
            "part": "case",
            "value": celsius,
            "unit": "°C",
            "uncertainty": 0.5,
            "stage": "found",
            "made": at,
        }
        desk.enter(TAG, [("measurement", body)], by="examiner A")
    for number, (quantity, value, unit) in enumerate(
        (("temperature of the room", 23.0, "°C"), ("relative humidity of the room", 52.0, "% RH"))
    ):
        body = {
            "id": f"r{number}",
            "quantity": quantity,
            "part": "case",
            "value": value,
            "unit": unit,
            "stage": "found",
        }
        desk.enter(TAG, [("measurement", body)], by="examiner A")
    desk.close()
    page = opened(phone, served, "intake")
    clock = page.locator(".clock")
    first = clock.inner_text()
    assert " min " in first
    time.sleep(1.2)
    assert clock.inner_text() != first
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_the_wheels_of_all_cells_are_there_while_the_shop_is_out_of_reach(
    phone: BrowserContext, served: Served
) -> None:
    page = opened(phone, served, "setup")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    with page.expect_response(lambda answer: answer.url.endswith("/takings")):
        page.reload()
    assert page.evaluate(KEPT)
    served.cut()
    page.locator("a.cell", has_text="Aim").nth(1).click()
    page.locator("#taking", has_text="Action at 12, treble").wait_for()
    page.locator("#take input[name=value]").fill("1.6")
    page.get_by_role("button", name="Enter action").click()
    page.locator(".waiting", has_text="1 entry waits").wait_for()
    served.back()
    page.evaluate("dispatchEvent(new Event('online'))")
    page.locator(".waiting").wait_for(state="hidden")
    (one,) = stands(served).measurements.values()
    assert (quantity_words(one), one.value) == ("action at the 12th fret, treble, intended", 1.6)


KEPT = """async () => {
    for (let k = 0; k < 200; k++) {
        if (await caches.match(location.pathname.replace("/setup", "/takings"))) return true;
        await new Promise((done) => setTimeout(done, 50));
    }
    return false;
}"""
NECK = "neck pickup"
PLANNED: tuple[Any, ...] = (
    ("scale length", "mm", 641.4),
    ("number of frets", "1", 21.0),
    ("fret at the joint", "1", 16.0),
    ("relief", "mm", 0.46, {"at": {"fret": 8, "capo": 1}}),
    ("action", "mm", 2.3, {"at": {"fret": 12, "side": "treble"}}),
    ("action", "mm", 2.8, {"at": {"fret": 12, "side": "bass"}}),
    ("resistance at the jack", "kΩ", 6.42, {"jack": {"volume": "full", "selector": NECK}}),
    ("resistance at the jack", "kΩ", 61.9, {"jack": {"volume": "swept", "selector": NECK}}),
)


def plan(served: Served) -> None:
    """Enter what a plan needs, so that its pictures and tables are there."""
    desk = OpenShop(served.shop)
    acts = [
        (
            "measurement",
            {
                "id": f"m{number}",
                "quantity": quantity,
                "part": "neck",
                "value": value,
                "unit": unit,
                "uncertainty": 0.03,
                "stage": "found",
                "temperature": 24.5,
                **(more[0] if more else {}),
            },
        )
        for number, (quantity, unit, value, *more) in enumerate(PLANNED)
    ]
    for which, text in (("found", "11 14 18 28w 38w 50w"), ("new", "9 11 16 24w 32w 42w")):
        body = {"id": which, "which": which, "strings": text, "reason": "plan"}
        acts.append(("string_set", body))
    desk.enter(TAG, acts, by="examiner A")
    desk.close()


def test_every_way_into_setup_is_within_reach_in_the_three_lights(
    hearing: Browser, served: Served
) -> None:
    plan(served)
    context = hearing.new_context(viewport=PHONE, bypass_csp=True, service_workers="block")
    page = context.new_page()
    axe, found = Axe(), []
    for light in ("paper", "dusk", "red"):
        context.add_cookies([{"name": "light", "value": light, "url": served.address}])
        for path in (
            "setup?take=action-treble.found",
            "setup/note",
            "setup/controls",
            "setup/jack",
            "voice",
            "intake",
        ):
            page.goto(f"{served.address}/dossier/{TAG}/{path}")
            page.evaluate("document.querySelectorAll('details').forEach(one => one.open = true)")
            found += [(light, path, one["id"]) for one in axe.run(page).response["violations"]]
            found += [(light, path, one) for one in page.evaluate(SMALL)]
            if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
                found.append((light, path, "runs over the edge"))
    context.close()
    assert found == []

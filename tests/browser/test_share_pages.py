"""A shared bench in two browsers, help by keyboard, a new dossier without the shop, no script."""

from __future__ import annotations

import socket
import threading
import time
from typing import TYPE_CHECKING

import pytest
import uvicorn
from axe_playwright_python.sync_playwright import Axe

from fakes.shared_shop import shared_quickly
from heelstamp.casework.dossier import entries_of
from heelstamp.shop import create_shop, open_shop
from heelstamp.web import create_app
from heelstamp.web.first_run import Threshold
from heelstamp.web.gate import Shared

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from playwright.sync_api import Browser, Page

    from fakes.served import Served

TAG = "W-0001"
PASSWORDS = {"examiner A": "seven herons stand quietly", "examiner B": "a kettle under the stairs"}
LEAST_PX = 53
SMALL = """least => [...document.querySelectorAll(
    'button, nav a, summary, select, textarea, .press, .told a, .tick, '
    + 'input:not([type=hidden]):not([type=checkbox])')]
    .filter(one => one.offsetParent && one.checkVisibility()
        && one.getBoundingClientRect().height < least - 0.5)
    .map(one => one.outerHTML.slice(0, 80))"""
OVER = "document.documentElement.scrollWidth > innerWidth"


def free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
        return port


def serve(app: object, port: int) -> tuple[uvicorn.Server, threading.Thread]:
    config = uvicorn.Config(app, host="127.0.0.1", port=port, log_level="error")  # type: ignore[arg-type]
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    return server, thread


def stop(server: uvicorn.Server, thread: threading.Thread) -> None:
    server.should_exit = server.force_exit = True
    thread.join(10)


@pytest.fixture
def shared(served: Served) -> Iterator[str]:
    """The served shop, shared at a second address; passwords are hashed quickly."""
    sharing = shared_quickly(served.shop)
    sharing.add("examiner A", "owner", PASSWORDS["examiner A"])
    sharing.add("examiner B", "examiner", PASSWORDS["examiner B"])
    sharing.close()
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    running = serve(
        create_app(served.shop, shared=Shared(address, secure=False), share=shared_quickly), port
    )
    yield address
    stop(*running)


def sign_in(page: Page, address: str, name: str) -> None:
    page.goto(f"{address}/sign-in")
    page.get_by_label("Role that signs").fill(name)
    page.get_by_label("Password").fill(PASSWORDS[name])
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"{address}/")


def found_on(page: Page, axe: Axe) -> list[object]:
    faults: list[object] = [one["id"] for one in axe.run(page).response["violations"]]
    faults += page.evaluate(SMALL, LEAST_PX)
    return [*faults, *(["runs over the edge"] if page.evaluate(OVER) else [])]


def test_a_telephone_is_paired_and_every_page_on_the_way_is_sound(
    chromium: Browser, shared: str
) -> None:
    size = {"width": 390, "height": 844}
    desk_context = chromium.new_context(viewport=size, bypass_csp=True, service_workers="block")
    phone_context = chromium.new_context(viewport=size, bypass_csp=True, service_workers="block")
    desk, phone, axe = desk_context.new_page(), phone_context.new_page(), Axe()
    found: dict[str, list[object]] = {}
    desk.goto(f"{shared}/sign-in")
    found["sign-in"] = found_on(desk, axe)
    sign_in(desk, shared, "examiner A")
    for path in ("accounts", "account", "terms", "new", "begin", "pair"):
        desk.goto(f"{shared}/{path}")
        found[path] = found_on(desk, axe)
    desk.get_by_role("button", name="Show a code").click()
    link = desk.locator("#awaited code").inner_text()
    found["code"] = found_on(desk, axe)
    phone.goto(link)
    found["asked"] = found_on(phone, axe)
    phone.get_by_role("button", name="Ask to be let in").click()
    phone.locator(".check").wait_for()
    found["waiting"] = found_on(phone, axe)
    digits = phone.locator(".check").inner_text()
    desk.locator(".check").wait_for(timeout=60_000)  # the page goes on by itself
    assert desk.locator(".check").inner_text() == digits
    found["compared"] = found_on(desk, axe)
    desk.get_by_role("button", name="let it in").click()
    phone.wait_for_url(f"{shared}/", timeout=60_000)
    assert "Entries are signed by examiner A, paired device" in phone.locator(".foot").inner_text()
    assert {name: faults for name, faults in found.items() if faults} == {}
    desk_context.close()
    phone_context.close()


def test_an_entry_that_waits_is_sent_under_the_account_that_made_it(
    chromium: Browser, shared: str, served: Served
) -> None:
    context = chromium.new_context()
    page = context.new_page()
    sign_in(page, shared, "examiner A")
    page.goto(f"{shared}/dossier/{TAG}/intake")
    context.set_offline(True)
    form = page.locator("form.asking").filter(has_text="Lift pickguard")
    form.get_by_role("button", name="granted").click()
    page.get_by_text("1 entry waits on this device").wait_for()
    context.clear_cookies()  # somebody else takes the device
    context.set_offline(False)
    sign_in(page, shared, "examiner B")
    page.get_by_text("1 of another account waits until it signs in here again").wait_for()
    page.goto(f"{shared}/dossier/{TAG}/intake")
    page.get_by_text("1 of another account waits").wait_for()
    with open_shop(served.shop) as shop:
        assert len(entries_of(shop, TAG)) == 1
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(f"{shared}/sign-in")
    sign_in(page, shared, "examiner A")
    for _ in range(100):
        with open_shop(served.shop) as shop:
            entries = entries_of(shop, TAG)
        if len(entries) == 2:
            break
        page.wait_for_timeout(100)
    assert [(one.kind, one.by) for one in entries[1:]] == [("consent", "examiner A")]
    context.close()


def test_an_entry_of_a_session_that_has_ended_waits_and_says_why(
    chromium: Browser, shared: str, served: Served
) -> None:
    context = chromium.new_context(service_workers="block")
    page = context.new_page()
    sign_in(page, shared, "examiner B")
    page.goto(f"{shared}/dossier/{TAG}/intake")
    context.clear_cookies()
    form = page.locator("form.asking").filter(has_text="Lift pickguard")
    form.get_by_role("button", name="granted").click()
    page.get_by_text("1 entry waits on this device for the shop. Sign in again to send.").wait_for()
    sign_in(page, shared, "examiner B")
    for _ in range(100):
        with open_shop(served.shop) as shop:
            entries = entries_of(shop, TAG)
        if len(entries) == 2:
            break
        page.wait_for_timeout(100)
    assert [(one.kind, one.by) for one in entries[1:]] == [("consent", "examiner B")]
    context.close()


def test_help_by_keyboard_and_a_line_hidden(chromium: Browser, served: Served) -> None:
    context = chromium.new_context(viewport={"width": 390, "height": 844})
    page = context.new_page()
    page.goto(f"{served.address}/dossier/{TAG}/first-look")
    ask = page.get_by_role("button", name="What does “not looked at” mean?")
    ask.focus()
    page.keyboard.press("Enter")
    told = page.locator(".told:popover-open")
    assert "Nobody has looked." in told.inner_text()
    assert told.bounding_box()["width"] <= 390  # type: ignore[index]
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "All terms"
    page.keyboard.press("Escape")
    assert page.locator(".told:popover-open").count() == 0
    assert page.evaluate("document.activeElement.className") == "ask"
    assert page.locator(".purpose").is_visible()
    page.get_by_role("button", name="Hide this line for good").click()
    page.wait_for_load_state()
    assert page.locator(".purpose").count() == 0
    assert page.url.endswith("/first-look")
    context.close()


def test_a_new_shop_and_its_first_dossier_without_a_script(
    chromium: Browser, tmp_path: Path
) -> None:
    folder = tmp_path / "new"
    port = free_port()
    running = serve(Threshold(folder), port)
    context = chromium.new_context(
        viewport={"width": 390, "height": 844}, java_script_enabled=False
    )
    page = context.new_page()
    page.goto(f"http://127.0.0.1:{port}/")
    page.get_by_label("What is the shop called?").fill("Test shop")
    page.get_by_role("button", name="Make the shop").click()
    page.get_by_role("link", name="Open the first dossier").click()
    page.get_by_label("Chronology to ask").select_option("sallowby-wherry")
    page.get_by_role("button", name="Open the dossier").click()
    page.get_by_role("link", name="On to Intake").click()
    assert page.url.endswith("/dossier/H-0001/intake")
    context.close()
    stop(*running)


def test_a_dossier_opened_while_the_shop_is_out_of_reach_is_opened_when_it_is_back(
    chromium: Browser, served: Served
) -> None:
    context = chromium.new_context()
    page = context.new_page()
    page.goto(f"{served.address}/new")
    served.cut()
    page.get_by_label("Chronology to ask").select_option("sallowby-wherry")
    page.get_by_role("button", name="Open the dossier").click()
    page.get_by_text("1 entry waits on this device").wait_for()
    served.back()
    page.evaluate("dispatchEvent(new Event('online'))")
    for _ in range(100):
        with open_shop(served.shop) as shop:
            tags = shop.journals.tags()
        if len(tags) == 2:
            break
        page.wait_for_timeout(100)
    assert tags == (TAG, "W-0002")
    context.close()


def test_the_first_page_of_all_is_sound(chromium: Browser, tmp_path: Path) -> None:
    port = free_port()
    running = serve(Threshold(tmp_path / "new"), port)
    context = chromium.new_context(viewport={"width": 390, "height": 844}, bypass_csp=True)
    page = context.new_page()
    page.goto(f"http://127.0.0.1:{port}/")
    assert found_on(page, Axe()) == []
    context.close()
    stop(*running)
    create_shop(tmp_path / "new", name="x", currency="USD").close()  # nothing was made by looking

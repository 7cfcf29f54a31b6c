"""The bench as a device has it: its own light, installed, and with names as long as they may be."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from fakes.screen_sizes import SIZES
from heelstamp.casework.dossier import open_dossier
from heelstamp.shop import now, open_shop
from heelstamp.web.paths import SCREENS, screen_path

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from playwright.sync_api import Browser

    from fakes.served import Served

TAG = "L-0001"
LONG = "Werkstattgemeinschaftzupfinstrumentenbauundlackuntersuchungs"
BACKGROUND = "() => getComputedStyle(document.documentElement).backgroundColor"
PAPER, DUSK = "rgb(250, 248, 243)", "rgb(22, 25, 27)"


def test_names_of_sixty_letters_break_no_page(chromium: Browser, served: Served) -> None:
    assert len(LONG) == 60
    settings = served.shop / "shop.toml"
    with open_shop(served.shop) as shop:
        told = settings.read_text("utf-8").replace(f'name = "{shop.name}"', f'name = "{LONG}"')
        instrument = {"kind": "guitar", "maker": LONG, "model": LONG, "tag": TAG}
        body = {**instrument, "chronology": "sallowby-wherry", "claimed": LONG}
        open_dossier(shop, body, at=now(), by="examiner A")
    served.cut()
    settings.write_text(told, "utf-8")
    served.back()
    wide, tall = SIZES["phone"]
    context = chromium.new_context(viewport={"width": wide, "height": tall})
    page = context.new_page()
    pages = [
        "/",
        "/new",
        "/due",
        "/makers",
        f"/dossier/{TAG}",
        *(screen_path(TAG, one.key) for one in SCREENS),
    ]
    wider = {}
    for path in pages:
        answer = page.goto(served.address + path)
        assert answer is not None
        assert answer.status == 200, path
        assert LONG in page.content(), path
        width = page.evaluate("() => document.documentElement.scrollWidth")
        if width > wide:
            wider[path] = width
    context.close()
    assert wider == {}


def test_the_devices_own_light_until_one_is_chosen(chromium: Browser, served: Served) -> None:
    context = chromium.new_context(color_scheme="dark")
    page = context.new_page()
    page.goto(served.address)
    assert page.evaluate(BACKGROUND) == DUSK
    page.get_by_role("button", name="paper").click()
    page.locator("html[data-light=paper]").wait_for()
    page.wait_for_load_state()
    assert page.evaluate(BACKGROUND) == PAPER
    page.get_by_role("button", name="paper").click()
    page.locator("html[data-light='']").wait_for()
    page.wait_for_load_state()
    assert page.evaluate(BACKGROUND) == DUSK
    context.close()


def test_it_can_be_installed(chromium: Browser, served: Served) -> None:
    """What Chromium itself asks of a manifest (DevTools protocol, Page domain)."""
    context = chromium.new_context()
    page = context.new_page()
    page.goto(served.address)
    asked = context.new_cdp_session(page)
    told = asked.send("Page.getAppManifest")
    assert told["errors"] == []
    assert json.loads(told["data"])["display"] == "standalone"
    wants = [
        one["errorId"] for one in asked.send("Page.getInstallabilityErrors")["installabilityErrors"]
    ]
    assert [one for one in wants if one != "in-incognito"] == []
    context.close()

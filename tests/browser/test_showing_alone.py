"""The showing page from a stick: no server, no network, at three widths, by keys and by finger."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image, ImageDraw

from fakes.screen_sizes import SIZES
from heelstamp.casework.listing.composing import Line, Listing, Offer, data_of
from heelstamp.casework.listing.showing import Face, Heard, Picture, ShowingPage
from heelstamp.casework.papers.document_rows import Timeline
from heelstamp.media.outgoing_sound import outgoing_sound
from heelstamp.report.showing_page import render_showing
from heelstamp.units import Period, parse_month

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import Browser, BrowserContext, Page

ANY = "\U0001f3b8 깁슨 كمان " + "w" * 80 + ' <script>alert(1)</script> "&'


def drawn(size: tuple[int, int], words: str) -> bytes:
    picture = Image.new("RGB", size, (180, 150, 110))
    ImageDraw.Draw(picture).text((size[0] // 3, size[1] // 2), words, fill=(20, 20, 20))
    out = io.BytesIO()
    picture.save(out, "JPEG")
    return out.getvalue()


def listing() -> Listing:
    line = Line(f"A sentence of a record. {ANY}", "part:neck", "p2")
    return Listing(
        title=f"Sallowby Instrument Works Wherry {ANY}",
        tag="W-0001",
        day="2026-12-01",
        banner="Demonstration",
        offer=Offer("9100.00", "USD"),
        answer=Line("Completed between May 1965 and Sep 1965 (90 %).", "date", "p1"),
        flaws=(line, Line(ANY)),
        facts=(line,),
        measured=((ANY, "3279 ± 2 g"),),
        done=(line,),
        unseen=(line,),
        told=(line,),
        interest=(line,),
        number=Line("Number S10•••."),
        photographs=(("p1", "Front"), ("p2", ANY), ("p3", "Back")),
        unpictured=(),
    )


def made(where: Path) -> str:
    import numpy as np

    from heelstamp.acoustics.recording import Recording

    told = listing()
    first = parse_month("1965-05")
    months = tuple((first + n, 0.2) for n in range(5))
    page = ShowingPage(
        listing=told,
        headline="May to Sep 1965",
        headline_note="90 % of the probability",
        timeline=Timeline(months, Period(first + 1, first + 3), Period(first, first + 4), None),
        faces=(Face("k", ANY, f"Photographs of the front. {ANY}", (ANY,)),),
        sounds=(Heard("r1", ANY, "as found"), Heard("r2", ANY, "after the work")),
        acts=(("Opened", (ANY,)),),
        pictures=tuple(
            Picture(one, caption, f"{caption}, seen") for one, caption in told.photographs
        ),
    )
    note = np.sin(np.arange(4410) / 20).astype(np.float32)
    sound = outgoing_sound(Recording(note, 44_100.0, "r", 1, 1, "only channel", "WAV", False))
    file = where / "showing.html"
    file.write_bytes(
        render_showing(
            page,
            pictures={one: drawn((1200, 900), one) for one, _ in told.photographs},
            pairs={"k": drawn((1820, 600), "left right")},
            sounds={"r1": sound, "r2": sound},
            said=data_of(told),
            signed="A preview: not issued and not signed.",
        )
    )
    return file.as_uri()


def opened(context: BrowserContext, address: str) -> tuple[Page, list[str]]:
    page, said = context.new_page(), []
    page.on("console", lambda told: said.append(told.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on(
        "request",
        lambda asked: None if asked.url.startswith(("data:", "file:")) else said.append(asked.url),
    )
    page.goto(address)
    return page, said


def test_it_opens_without_a_network_and_is_whole_at_each_width(
    chromium: Browser, tmp_path: Path
) -> None:
    address = made(tmp_path)
    for wide, tall in SIZES.values():
        context = chromium.new_context(viewport={"width": wide, "height": tall}, offline=True)
        page, said = opened(context, address)
        assert page.locator("h1").inner_text().startswith("Sallowby")
        assert page.locator(".see img").count() == 5
        shown = page.locator(".timeline:visible")
        assert shown.count() == 1
        assert not shown.evaluate("one => one.scrollWidth > one.clientWidth")
        assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")
        page.locator(".zoom").first.click()
        page.locator("dialog[open]").wait_for()
        assert not page.evaluate("document.documentElement.scrollWidth > innerWidth")
        assert said == []
        context.close()
        context = chromium.new_context(
            viewport={"width": wide, "height": tall}, bypass_csp=True, offline=True
        )
        page, _ = opened(context, address)
        assert [one["id"] for one in Axe().run(page).response["violations"]] == []
        context.close()


def test_the_wipe_and_the_large_picture_go_by_keys(chromium: Browser, tmp_path: Path) -> None:
    context = chromium.new_context(viewport={"width": 820, "height": 1180}, offline=True)
    page, said = opened(context, made(tmp_path))
    slider = page.get_by_role("slider")
    slider.focus()
    before = slider.input_value()
    page.keyboard.press("ArrowRight")
    assert int(slider.input_value()) == int(before) + 1
    cut = page.evaluate(
        "getComputedStyle(document.querySelector('.wipe')).getPropertyValue('--cut')"
    )
    assert cut == f"{slider.input_value()}%"
    page.locator(".zoom").nth(1).focus()
    page.keyboard.press("Enter")
    large = page.locator(".glass img")
    page.wait_for_function("document.querySelector('.glass img').style.transform.includes('scale')")
    small = large.bounding_box()
    page.keyboard.press("+")
    grown = large.bounding_box()
    assert small is not None
    assert grown is not None
    assert grown["width"] == pytest.approx(1.5 * small["width"], rel=0.01)
    page.keyboard.press("PageDown")
    assert page.locator("#large-caption").inner_text() == "3. Back"
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.dataset.caption").startswith("2. ")
    assert said == []
    context.close()


def test_it_reads_whole_without_its_script(chromium: Browser, tmp_path: Path) -> None:
    context = chromium.new_context(java_script_enabled=False, offline=True)
    page = context.new_page()
    page.goto(made(tmp_path))
    assert page.locator(".wipe figure").count() == 2
    assert page.locator(".wiper").is_hidden()
    assert "Completed between May 1965" in page.locator("header").inner_text()
    context.close()

"""The whole job by hand on three sizes of screen: the twelve steps of the demonstration.

What a step is about is done with the finger. The routine between the steps, the other entries and
frames of the demonstration's journal, comes in as from another device.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from heelstamp.bootstrap import now, open_shop
from heelstamp.casework.dossier import entries_of, state_of
from heelstamp.casework.replay import replay
from heelstamp.reference.demonstration import demo_journal, demo_photographs, demo_recordings

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from pathlib import Path

    from playwright.sync_api import BrowserContext, Locator, Page

    from conftest import Served
    from heelstamp.catalogue import DossierState

TAG = "W-0001"


class Walk:
    """A hand at the bench, with a picture of each step for whoever wants to look."""

    def __init__(self, page: Page, served: Served, pictures: Path) -> None:
        self.page, self.served, self.pictures = page, served, pictures
        self.faults: list[str] = []
        page.on("pageerror", lambda error: self.faults.append(str(error)))
        page.on("console", self._heard)

    def _heard(self, said: object) -> None:
        if said.type == "error":  # type: ignore[attr-defined]
            self.faults.append(said.text)  # type: ignore[attr-defined]

    def to(self, screen: str) -> Page:
        self.page.goto(f"{self.served.address}/dossier/{TAG}/{screen}")
        return self.page

    def look(self, step: str) -> None:
        """Nothing runs over the edge; a picture is kept."""
        assert self.page.evaluate("document.documentElement.scrollWidth <= innerWidth"), step
        self.page.screenshot(path=self.pictures / f"{step}.png", full_page=True)

    def state(self) -> DossierState:
        with open_shop(self.served.shop) as shop:
            return state_of(shop, TAG)

    def others_until(self, last: str, *, but: tuple[str, ...] = ()) -> None:
        """Let another device enter what the demonstration holds up to *last*, except *but*."""
        rows = []
        files = {**demo_photographs(), **demo_recordings()}
        with open_shop(self.served.shop) as shop:
            standing = {one.body.get("id") for one in entries_of(shop, TAG)}
            for row in demo_journal():
                if row["kind"] == "instrument":
                    continue
                id_ = row["body"]["id"]
                if id_ not in standing and id_ not in but:
                    rows.append({**row, "at": now(), "by": row["by"]})
                if id_ == last:
                    break
            replay(shop, TAG, rows, files, opened=True)

    def seen(self, part: str, answer: str) -> None:
        """One tap on the part's name, one on the answer."""
        self.to(f"first-look?part={part}")
        self.page.locator("#part .choice", has_text=answer).first.click()
        self.page.locator('#part .choice[aria-pressed="true"]', has_text=answer).first.wait_for()

    def range(self) -> str:
        self.to("weigh-up")
        return self.page.locator(".headline").first.inner_text()


def pressed(form: Locator, answer: str) -> None:
    form.get_by_role("button", name=answer, exact=True).first.click()


def months_of(headline: str) -> int:
    """Count the months of a range as it is printed."""
    names = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()
    found = re.findall(r"([A-Z][a-z]{2})(?: (\d{4}))?", headline)
    year = found[-1][1]
    first, last = (12 * int(one[1] or year) + names.index(one[0]) for one in (found[0], found[-1]))
    return last - first + 1


def test_the_twelve_steps(device: BrowserContext, served: Served, tmp_path: Path) -> None:
    walk = Walk(device.new_page(), served, tmp_path)
    page = walk.page

    # 1. Door: the case is colder than the dew point of the room; leave; the receipt
    walk.to("door")
    for name, value in (("case", "11.5"), ("room", "23"), ("humidity", "52")):
        page.locator(f"input[name={name}]").fill(value)
    page.get_by_role("button", name="Enter readings").click()
    page.locator("#work", has_text="12.6").wait_for()
    page.locator("input[name=giver]").fill("a consignor")
    page.locator("input[name=receiver]").fill("examiner A")
    page.locator("input[name=weight_g]").fill("3284")
    page.get_by_role("button", name=re.compile("Received")).click()
    page.locator("#work", has_text="3284 g").first.wait_for()
    for act in ("Take strings off", "Lift guard"):
        pressed(page.locator("form.asking").filter(has_text=act).first, "granted")
        page.locator("form.asking", has_text=act).locator('[aria-pressed="true"]').wait_for()
    walk.look("01-door")
    walk.to("receipt")
    assert page.locator(".code svg").count() == 1
    walk.look("01-receipt")

    # 2. First Look: by taps, nothing opened
    for part, answer in (
        ("guard", "three-layer laminate"), ("badge", "pressed badge on two pins"),
        ("rod", "head, 5.5 mm square key"), ("tuner_4", "two lines"),
    ):  # fmt: skip
        walk.seen(part, answer)
    walk.look("02-first-look")

"""The whole job by hand: the twelve steps of the demonstration, then every screen in three sizes.

What a step is about is done with the finger. The routine between the steps, the other entries and
frames of the demonstration's journal, comes in as from another device.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from fakes.screen_sizes import SIZES
from heelstamp.casework.dossier import entries_of, state_of
from heelstamp.casework.replay import replay
from heelstamp.reference.demonstration import (
    demo_journal,
    demo_pairs,
    demo_photographs,
    demo_recordings,
    demo_terms,
)
from heelstamp.shop import now, open_shop
from heelstamp.shop.terms import TERMS_FILE
from heelstamp.web.paths import SCREENS

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, Locator, Page

    from fakes.served import Served
    from heelstamp.catalogue import DossierState

TAG = "H-0001"
SALES = Path(__file__).parents[2] / "examples" / "wherry-sales.csv"
BY_HAND = (
    "m-case-temperature",
    "m-room-temperature",
    "m-room-humidity",
    "custody-receipt",
    "m-weight-found",
    "consent-strings",
    "consent-guard",
    "f10",
    "f07",
    "f13",
    "g6-tuner-4",
    "t-guard-off",
    "consent-neck-signed",
    "statement-second-reader",
    "mark-neck",
    "t-rod",
    "m-relief-new-strings",
    "m-relief-final",
    "t-strings-new",
)
"""Entries of the demonstration that are made with the finger here."""
TOLD = {
    "F024": (["wear-through"], ["light, shape or dust", "dust or a fibre"]),
    "F026": (["touch-up", "wear-through"], ["light, shape or dust"]),
}
"""By face, with one place of the lamp: a cause of each region, a reason of each place left open."""


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
        picture = self.pictures / f"{step}.jpeg"
        self.page.screenshot(path=picture, type="jpeg", full_page=True)

    def every_screen(self) -> None:
        """Each screen of the finished dossier, in each size."""
        for name, (wide, tall) in SIZES.items():
            self.page.set_viewport_size({"width": wide, "height": tall})
            for screen in SCREENS:
                self.to(screen.key)
                self.look(f"{name}-{screen.key}")

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
        self.to("findings")
        return self.page.locator(".headline").first.inner_text()


def pressed(form: Locator, answer: str) -> None:
    form.locator(f'button[value="{answer}"]').first.click()


def months_of(headline: str) -> int:
    """Count the months of a range as it is printed."""
    names = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    found = re.findall(r"([A-Z][a-z]{2})(?: (\d{4}))?", headline)
    year = found[-1][1]
    first, last = (12 * int(one[1] or year) + names.index(one[0]) for one in (found[0], found[-1]))
    return last - first + 1


@pytest.mark.parametrize("device", ["tablet"], indirect=True)
def test_the_twelve_steps(device: BrowserContext, served: Served, tmp_path: Path) -> None:
    walk = Walk(device.new_page(), served, tmp_path)
    page = walk.page

    # 0. A dossier is opened
    page.goto(f"{served.address}/new")
    page.locator("input[name=tag]").fill(TAG)
    page.locator("select[name=chronology]").select_option("sallowby-wherry")
    page.get_by_role("button", name="Open the dossier").click()
    page.get_by_role("link", name="On to Intake").wait_for()

    # 1. Intake: the case is colder than the dew point of the room; leave; the receipt
    walk.to("intake")
    for name, value in (("case", "11.5"), ("room", "23"), ("humidity", "52")):
        page.locator(f"input[name={name}]").fill(value)
    page.get_by_role("button", name="Enter readings").click()
    told = page.locator("section[aria-labelledby=climate]", has_text="12.6 °C")
    told.wait_for()
    assert "Keep the case shut" in told.inner_text()
    page.locator("input[name=giver]").fill("a consignor")
    page.locator("input[name=receiver]").fill("examiner A")
    page.locator("input[name=weight_g]").fill("3284")
    page.get_by_role("button", name=re.compile("Received")).click()
    page.locator("#work", has_text="3284 g").first.wait_for()
    for act in ("Take strings off", "Lift pickguard"):
        pressed(page.locator("form.asking").filter(has_text=act).first, "granted")
        page.locator("form.asking", has_text=act).locator('[aria-pressed="true"]').wait_for()
    walk.look("01-intake")
    walk.to("receipt")
    assert page.locator(".code svg").count() == 1
    walk.look("01-receipt")

    # 2. First Look: by taps, nothing opened; the odd tuner
    for part, answer in (
        ("guard", "three-layer laminate"),
        ("badge", "pressed badge on two pins"),
        ("neck", "head, 5.5 mm square key"),
        ("tuner_4", "ribbed cover"),
    ):
        walk.seen(part, answer)
    walk.look("02-first-look")
    walk.others_until("m-bridge-pickup", but=BY_HAND)
    assert 11 <= months_of(walk.range()) <= 14
    walk.look("02-outside-only")

    # 3. Lamp: outline, parts, length and grey as drawn; the regions come while the page waits
    walk.others_until("F027", but=BY_HAND)
    for pair in demo_pairs():
        walk.to(f"uv-lamp?visible={pair.visible}&uv={pair.uv}")
        drawn = {**json.loads(pair.masks), "ruler": pair.ruler, "greys": pair.greys}
        page.locator("#draw summary").click()
        page.locator("textarea[name=marks]").fill(json.dumps(drawn))
        page.get_by_role("button", name="Compare the two").click()
        page.locator(".enter-look").wait_for(timeout=180_000)
        causes, reasons = TOLD[pair.visible]
        assert page.locator(".regions > li").count() == len(causes)
        page.get_by_role("button", name="Enter this look").click()
        page.locator("#result", has_text="Entered as").wait_for()
        found = page.locator(".regions").inner_text()
        assert [cause for cause in causes if cause not in found] == []
        left = page.locator("h3", has_text="Left open").locator("+ ul > li").all_inner_texts()
        assert len(left) == len(reasons)
        assert [reason for reason in reasons if not any(reason in one for one in left)] == []
    walk.look("03-lamp")

    # 4. Next look: strings may come off, the guard pays; a treatment has its before and after
    walk.to("next-look")
    option = page.locator(".options li").filter(has_text="guard").first
    option.wait_for()
    walk.look("04-peel-guard")
    walk.others_until("m-screws-out", but=BY_HAND)
    walk.to("work?act=lift+guard")
    page.locator('input[name=before][value="F018"]').check()
    page.locator('input[name=after][value="F029"]').check()
    page.get_by_role("button", name="yes, enter it").click()
    page.locator("section[aria-labelledby=done-acts]", has_text="Lift pickguard").wait_for()
    walk.look("04-touch")
    walk.others_until("decision-neck", but=BY_HAND)
    assert 5 <= months_of(walk.range()) <= 8
    walk.to("next-look")
    page.locator(".options li").first.wait_for()
    walk.look("04-peel-neck")

    # 5. Marks: the owner's leave for the neck; a weak digit as tiles with weights
    walk.to("intake")
    pressed(page.locator("form.asking").filter(has_text="Take neck off").first, "granted")
    page.locator("form.asking", has_text="Take neck off").locator(
        'button[value=granted][aria-pressed="true"]'
    ).wait_for()
    walk.others_until("t-neck-off", but=BY_HAND)
    walk.to("marks")
    heel = page.locator("article", has_text="F040, not read yet")
    heel.locator("input[name=text]").fill("65/0? R")
    heel.get_by_role("button", name="read so").click()
    read = page.locator("article", has_text="65/0? R")
    tiles = read.locator(".readings li")
    tiles.first.wait_for()
    read.locator("summary", has_text="more readings").click()
    for tile in tiles.all():
        months = tile.locator("b").inner_text()
        weight = {"Mar 1965": "75", "Aug 1965": "25"}.get(months, "0")
        tile.locator("input[name=weight]").fill(weight)
    page.get_by_role("button", name="let these weights stand").click()
    page.locator(".readings li.down").first.wait_for()
    walk.look("05-marks")

    # 6. Findings: the volume pot set aside and counted again
    walk.others_until("decision-stop", but=BY_HAND)
    whole = walk.range()
    assert "Mar 1965" in page.locator(".said").first.inner_text()
    row = page.locator(".scale > li", has_text="Volume pot").first
    row.locator("button").first.click()
    page.locator("#weighed [role=status]").wait_for()
    without = page.locator(".headline").first.inner_text()
    assert without != whole
    walk.look("06-without-volume-pot")
    page.get_by_role("link", name="Count everything").click()
    page.locator(".headline", has_text=whole).first.wait_for()

    # 7. Shim and socket: what can and what cannot be said
    walk.to("wording")
    said = page.locator("#work").text_content() or ""
    assert "shim" in said
    assert "socket" in said
    walk.look("07-words")

    # 8. Setup: what was predicted, what it became, an eighth of a turn
    walk.others_until("custody-bench-6", but=BY_HAND)
    walk.to("setup?take=relief.new")
    new = page.locator("form.set", has=page.locator('input[value="new"]'))
    new.locator("input[name=value]").fill("9 11 16 24w 32w 42w")
    new.get_by_role("button", name="Name it").click()
    page.locator("nav.ways", has_text="371").wait_for()
    assert "0.33 ± 0.04 mm" in page.locator("#work").inner_text()
    page.locator("#taking", has_text="new strings").wait_for()
    page.locator("#take input[name=value]").fill("0.35")
    page.get_by_role("button", name="Enter relief").click()
    page.locator(".measures", has_text="0.35 ± 0.03 mm").first.wait_for()
    walk.to("work?act=fit+strings")
    page.locator(".evidence summary", has_text="older ones").first.click()
    for id_ in ("F020", "m-relief-found"):
        page.locator(f'input[name=before][value="{id_}"]').check()
    page.locator("label.pick", has_text="rod not turned: 0.35").locator("[name=after]").check()
    page.get_by_role("button", name="yes, enter it").click()
    page.locator("section[aria-labelledby=done-acts]", has_text="Fit strings").wait_for()
    walk.others_until("custody-bench-7", but=BY_HAND)
    walk.to("setup")
    page.locator("section[aria-labelledby=rod] summary").click()
    rod = page.locator("form", has=page.locator("input[name=turns]"))
    rod.locator("input[name=turns]").fill("1/8")
    rod.locator("input[name=relief]").fill("0.25")
    rod.get_by_role("button", name=re.compile("tighter")).click()
    page.locator("section[aria-labelledby=rod]", has_text="1/8 turn tighter").wait_for()
    assert "371" in page.locator("nav.ways").inner_text()
    assert page.locator(".measures", has_text="0.35 ± 0.03 mm").count()
    assert page.locator("#work .refusal").count() == 0
    walk.look("08-setup")

    # 9. Noise before and after, from the takes that were recorded
    walk.to("setup/controls?part=pot_tone")
    counted = page.locator(".figures dd")
    counted.first.wait_for()
    assert [counted.nth(0).inner_text(), counted.nth(3).inner_text()] == ["19.0", "3.0"]
    walk.look("09-noise")

    # 10. Money: three numbers, never one
    walk.others_until("price-agreed", but=BY_HAND)
    (served.shop / TERMS_FILE).write_text(demo_terms(), "utf-8")
    walk.to("money")
    page.locator("summary", has_text="From a spreadsheet").click()
    page.locator("input[name=table]").set_input_files(SALES)
    page.get_by_role("button", name="Look at it first").click()
    page.get_by_role("button", name="Take all 24").click()
    page.get_by_text("24 rows of wherry-sales.csv").wait_for()
    walk.to("money")
    figures = page.locator("#work").inner_text()
    for number in ("10,500 USD", "7,113.00 USD", "20 sales"):
        assert number in figures
    walk.look("10-money")

    # 11. Words: a banned phrase is refused
    walk.to("wording")
    page.locator("textarea[name=own]").fill("A time capsule, guaranteed all original.")
    page.get_by_role("button", name="May a report carry them?").click()
    refused = page.locator(".refusal").inner_text()
    for phrase in ("time capsule", "guaranteed", "all original"):
        assert phrase in refused.lower()
    walk.look("11-words")

    # 12. Reports: issued, held against what came back; Return check: weight and private set
    walk.to("reports?reader=buyer")
    page.get_by_role("button", name="Issue it to the buyer").click()
    issued = page.locator("#issued-papers .issued a").first
    issued.wait_for(timeout=180_000)
    pdf = page.request.get(f"{served.address}{issued.get_attribute('href')}").body()
    assert pdf.startswith(b"%PDF")
    for data, word in ((pdf, "passed"), (bytes([*pdf[:-9], pdf[-9] ^ 1, *pdf[-8:]]), "failed")):
        walk.to("reports")
        told = {"name": "report.pdf", "mimeType": "application/pdf", "buffer": data}
        page.locator("input[type=file][name=paper]").set_input_files(told)
        page.get_by_role("button", name="Check it").click()
        page.locator(f'.checked[data-verdict="{word}"]').wait_for()
    walk.look("12-checked")
    walk.to("sale")
    page.locator("summary", has_text="Let a blocked step pass").click()
    page.locator("select[name=lets]").select_option("to buyer")
    page.locator("form:has(select[name=lets]) input[name=note]").fill("on approval")
    page.get_by_role("button", name="Let it pass").click()
    page.locator("ul.said", has_text="on approval").wait_for()
    walk.to("intake")
    page.locator('button[name=event][value="unlocked"]').click()
    page.locator('button[name=event][value="to buyer"]').wait_for()
    page.locator("input[name=giver]").fill("examiner A")
    page.locator("input[name=receiver]").fill("a buyer")
    page.locator("input[name=weight_g]").fill("3279")
    page.locator('button[name=event][value="to buyer"]').click()
    page.locator("section[aria-labelledby=hands]", has_text="with the buyer").wait_for()
    walk.to("return-check")
    page.locator("input[name=weight_g]").fill("3254")
    page.locator('button[name=event][value="came back"]').click()
    page.locator(".headline", has_text="−25 g").wait_for()
    assert page.locator(".shot img").count() >= 5
    walk.look("12-return")
    walk.every_screen()
    assert walk.faults == []

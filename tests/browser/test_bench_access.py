"""Every screen held against axe-core (WCAG 2.2 A and AA) and a gloved hand."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from axe_playwright_python.sync_playwright import Axe

from fakes.served import serving
from fakes.web_shop import jpeg
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.photographs import keep_photograph
from heelstamp.web.paths import SCREENS

pytestmark = pytest.mark.browser
if TYPE_CHECKING:
    from playwright.sync_api import Browser

    from fakes.served import Served

TAG = "W-0001"
LEAST_PX = 53  # 14 mm at 96 px to the inch
SMALL = """least => [...document.querySelectorAll(
    'button, nav a, summary, select, textarea, .press, .tick, .radios > div label, '
    + 'input:not([type=hidden]):not([type=checkbox]):not([type=radio]):not([type=file])')]
    .filter(one => one.offsetParent && one.checkVisibility()
        && one.getBoundingClientRect().height < least - 0.5)
    .map(one => one.outerHTML.slice(0, 80))"""
ENTRIES = (
    (
        "custody",
        {
            "id": "k1",
            "event": "received",
            "giver": "a consignor",
            "receiver": "examiner A",
            "weight_g": 3284.0,
            "weight_uncertainty_g": 2.0,
        },
    ),
    (
        "observation",
        {
            "id": "o1",
            "part": "neck",
            "kind": "mark",
            "status": "read",
            "text": "65/0? R",
            "frames": ["f1"],
        },
    ),
    ("screw", {"id": "v1", "part": "guard", "opening": "guard", "number": 1, "x": 0.5, "y": 0.5}),
    (
        "consent",
        {
            "id": "c1",
            "act": "lift guard",
            "granted": True,
            "by": "a consignor",
            "condition": "each screw into its own hole",
        },
    ),
    (
        "treatment",
        {
            "id": "t1",
            "act": "clean board",
            "part": "neck",
            "reason": "dust",
            "reversible": False,
            "before": ["f1"],
            "after": ["f2"],
        },
    ),
)


@pytest.fixture(scope="module")
def filled(new_shop: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A shop with something on every screen, looked at in each width and changed in none."""
    shop = shutil.copytree(new_shop, tmp_path_factory.mktemp("filled") / "shop")
    with OpenShop(shop) as desk:
        for number, slot in enumerate(("heel-stamp", "board"), start=1):
            told = {"id": f"f{number}", "name": f"{slot}.jpg", "slot": slot, "part": "neck"}
            keep_photograph(desk, TAG, jpeg(shade=number), told, by="examiner A")
        desk.enter(TAG, ENTRIES, by="examiner A")
    with serving(shop) as bench:
        yield bench


@pytest.mark.parametrize("wide", [390, 820, 1440])
def test_no_screen_breaks_a_rule_and_nothing_to_press_is_small(
    chromium: Browser, filled: Served, wide: int
) -> None:
    home = f"{filled.address}/dossier/{TAG}"
    pages = [f"{home}/{one.key}" for one in SCREENS]
    pages += [
        f"{filled.address}/",
        f"{home}/receipt",
        f"{home}/photographs/f1",
        f"{home}/first-look?part=neck",
        f"{home}/work?act=lift+guard",
        f"{home}/questions?ask=frets",
        f"{home}/money/terms",
        f"{home}/money/terms/text",
        f"{home}/sale?time=true&price=9000",
        f"{home}/findings/doubts",
        f"{home}/findings/curves",
        f"{home}/later",
        f"{filled.address}/own-record",
        f"{filled.address}/makers",
        f"{filled.address}/maker/sallowby-wherry",
        f"{filled.address}/maker/sallowby-wherry/feature/f12",
        f"{filled.address}/maker/sallowby-wherry/text",
        f"{filled.address}/maker/sallowby-wherry/shops",
    ]
    context = chromium.new_context(
        viewport={"width": wide, "height": 844}, bypass_csp=True, service_workers="block"
    )
    page = context.new_page()
    axe, found = Axe(), []
    for path in pages:
        answer = page.goto(path)
        assert answer is not None
        assert answer.status == 200, path
        found += [(path, one["id"]) for one in axe.run(page).response["violations"]]
        found += [(path, one) for one in page.evaluate(SMALL, LEAST_PX)]
        if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
            found.append((path, "runs over the edge"))
    assert found == []
    context.close()

"""Pictures of a price: well-formed, every meaning in words, equal input gives equal bytes."""

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from heelstamp.casework.appraisal.finding import PriceFinding
from heelstamp.report.price_pictures import (
    distribution_alt,
    distribution_svg,
    drivers_svg,
    index_svg,
)
from heelstamp.shop.comparables import read_sales
from heelstamp.shop.opened import load_subject
from heelstamp.shop.prices import Asked, price

ROOT = Path(__file__).parents[3]


@pytest.fixture(scope="module")
def finding() -> PriceFinding:
    subject = load_subject(str(ROOT / "examples" / "wherry-s10350.toml"), ROOT)
    asked = Asked(
        as_of="2026-11", grade="B", sold="9,100", terms=ROOT / "examples" / "consignment.toml"
    )
    return price(None, subject, asked, read_sales(ROOT / "examples" / "wherry-sales.csv"))


def words(drawn: str) -> str:
    return " ".join(one.text or "" for one in ET.fromstring(drawn).iter())


def test_the_distribution_names_all_three_figures(finding: PriceFinding) -> None:
    drawn = distribution_svg(finding, title="a <title>")
    told = words(drawn)
    for wanted in ("a <title>", "net to the consignor 7,113", "insured", "(90 %), middle"):
        assert wanted in told
    assert drawn == distribution_svg(finding, title="a <title>")
    assert "Market: " in distribution_alt(finding)


def test_every_driver_shown_has_its_label_and_sum(finding: PriceFinding) -> None:
    told = words(drivers_svg(finding, title="drivers"))
    for one in finding.drivers[:10]:
        assert one.label in told
        assert f"{one.money:+,.0f} USD".replace("-", "−") in told


def test_the_index_runs_from_first_to_last(finding: PriceFinding) -> None:
    told = words(index_svg(finding, title="index"))
    assert finding.market_index[0].month in told
    assert finding.market_index[-1].month == "2026-11"
    assert "2026-11" in told


def test_everything_drawn_lies_on_the_sheet(finding: PriceFinding) -> None:
    for draw in (distribution_svg, drivers_svg, index_svg):
        drawn = draw(finding, title="t")
        width, height = (float(x) for x in re.findall(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', drawn)[0])
        for name, bound in (
            ("x", width),
            ("x1", width),
            ("x2", width),
            ("y1", height),
            ("y2", height),
        ):
            for value in re.findall(rf'\b{name}="(-?[\d.]+)"', drawn):
                assert -0.01 <= float(value) <= bound + 0.01, (draw.__name__, name, value)

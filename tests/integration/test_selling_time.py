"""How long a sale may take, from the shop's own offers: the clock, what is kept, what is said."""

from __future__ import annotations

import html
import json
import math
import shutil
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from typer.testing import CliRunner

from fakes.web_shop import INSTRUMENT, TAG, bench_of, flat, make_shop
from heelstamp.archive import sha256
from heelstamp.casework.appraisal.agreement import agreed_rows
from heelstamp.casework.dossier import append_all, open_with
from heelstamp.casework.new_entry import NewEntry
from heelstamp.casework.sale.listings import offers_of
from heelstamp.cli.app import app
from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.agreement import agreement_view
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.price_path import better_path, choose_path
from heelstamp.shop.sale import sale_blocks
from heelstamp.shop.selling_time import SEED, days_earlier, ground_of, selling_time
from heelstamp.shop.terms import terms_for, terms_here
from heelstamp.valuation.money import Money
from heelstamp.wording import about_sale as about

TERMS = Path(__file__).parents[2] / "examples" / "consignment.toml"
READY: list[NewEntry] = [
    NewEntry("title_search", {"id": "t", "register": "a list", "hit": False, "day": "2026-01-01"}),
    NewEntry("materials_looked", {"id": "m", "found": "none", "reason": "looked"}),
    NewEntry("owner", {"id": "o", "role": "a consignor", "signed": "2026-01-01"}),
    NewEntry(
        "agreement",
        {
            "id": "g",
            "role": "a consignor",
            "terms": sha256(TERMS.read_bytes()),
            "how": "on paper",
            "day": "2026-01-01",
        },
    ),
]


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[OpenShop]:
    folder = make_shop(tmp_path)
    shutil.copy(TERMS, folder / "consignment.toml")
    with OpenShop(folder) as opened:
        yield opened


def sell(shop: OpenShop, *steps: tuple[str, str, dict[str, Any]], tag: str = TAG) -> None:
    if tag != TAG:
        body = {**INSTRUMENT, "tag": tag}
        open_with(shop, [NewEntry("instrument", body)], at="2026-01-01T09:00:00Z", by="examiner A")
    first = [("2026-01-01", "examined", {}), ("2026-01-01", "cleared", {})]
    told = [
        NewEntry("sale", {"id": f"v{n}", "event": event, "day": day, **more})
        for n, (day, event, more) in enumerate([*first, *steps])
    ]
    append_all(shop, tag, [*READY, *told], at="2026-11-30T09:00:00Z", by="examiner A")


def offered(day: str, price: str = "9000", **more: Any) -> tuple[str, str, dict[str, Any]]:
    kept_then = {"value": "8500", "doubt": 0.12}
    return day, "offered", {"amount": price, "currency": "USD", **kept_then, **more}


AGREED = {"party": "buyer B", "amount": "8800", "currency": "USD"}


def test_weeks_are_counted_from_the_offer_to_the_agreement_at_the_price_of_each(
    kept: OpenShop,
) -> None:
    cut = {"amount": "8500", "currency": "USD"}
    sell(
        kept,
        offered("2026-02-02"),
        ("2026-02-16", "price cut", cut),
        ("2026-02-25", "agreed", AGREED),
    )
    (one,) = offers_of(kept.subject(TAG).state, "2026-11-30")
    assert one.listing is not None
    # 23 days: two weeks at 9,000, two begun at 8,500
    assert [round(math.exp(price)) for price in one.listing.log_prices] == [9000, 9000, 8500, 8500]
    assert (one.listing.sold, one.open) == (True, False)
    assert round(math.exp(one.listing.value)) == 8500


def test_a_hold_stops_the_clock_and_what_is_unsold_counts_whole_weeks(kept: OpenShop) -> None:
    hold = {"party": "buyer A", "until": "2026-02-22"}
    sell(kept, offered("2026-02-02"), ("2026-02-09", "held", hold))
    # a week, two weeks held, then 20 days: two whole weeks more
    (one,) = offers_of(kept.subject(TAG).state, "2026-03-15")
    assert (one.weeks, one.open) == (3, True)
    assert one.listing is not None
    assert not one.listing.sold
    assert offers_of(kept.subject(TAG).state, "2026-02-05")[0].listing is None


def test_what_fell_through_goes_on_and_what_was_withdrawn_is_unsold(kept: OpenShop) -> None:
    sell(
        kept,
        offered("2026-02-02"),
        ("2026-02-09", "agreed", AGREED),
        ("2026-02-16", "fell through", {}),
        ("2026-02-23", "withdrawn", {}),
    )
    (one,) = offers_of(kept.subject(TAG).state, "2026-11-30")
    assert one.listing is not None
    assert (len(one.listing.log_prices), one.listing.sold) == (2, False)


def test_an_offer_without_its_value_is_left_out_and_named(kept: OpenShop) -> None:
    sell(kept, offered("2026-02-02", value=None, doubt=None), tag="W-0009")
    sell(kept, offered("2026-02-02"), ("2026-02-25", "agreed", AGREED), tag="W-0010")
    sell(kept, offered("2026-10-05"))
    found = selling_time(kept, TAG, "2026-11-30")
    assert (found.sold, found.unsold, found.left_out) == (1, 0, 1)
    assert [weeks for weeks, _ in found.chances] == [4, 13, 26]
    assert 0 < found.chances[0][1] < found.chances[1][1] < found.chances[2][1] < 1
    text = " ".join(found.sentences)
    assert text.startswith("Chance of a sale from now on: within 4 weeks")
    assert "on offer for 8 weeks without a buyer" in text
    assert "Learned from 1 sold and 0 unsold" in text
    assert "1 offer is left out" in text
    dear = selling_time(kept, TAG, "2026-11-30", "12,000")
    assert dear.chances[2][1] < 0.5 * found.chances[2][1]
    again = selling_time(kept, TAG, "2026-11-30")
    assert again == found


def test_a_higher_value_sells_earlier_at_the_same_price_and_nothing_changes_nothing(
    kept: OpenShop,
) -> None:
    sell(kept, offered("2026-02-02"), ("2026-02-25", "agreed", AGREED), tag="W-0010")
    sell(kept, offered("2026-10-05"))
    rows = days_earlier(kept, TAG, "2026-11-30", [(0.0, 100.0, 900.0), (-900.0,)])
    (nothing, little, much), (worse,) = (row or () for row in rows)
    assert nothing == 0.0
    assert 0.0 < little < much
    assert worse < 0.0
    # the same by hand: half of such pieces, value 900 higher
    ground = ground_of(kept, TAG, "2026-11-30", "", np.random.default_rng(SEED))
    higher = replace(ground, value=float(np.log(np.exp(ground.value) + 900.0)))
    weeks = [one.foreseen(np.random.default_rng(SEED)).weeks(0.5) for one in (ground, higher)]
    assert weeks[0] is not None
    assert weeks[1] is not None
    assert much == pytest.approx(7 * (weeks[0] - weeks[1]))


def test_without_a_value_it_says_so_and_without_sales_that_it_is_common_practice(
    kept: OpenShop,
) -> None:
    with pytest.raises(InputError, match="without a value nothing can be said of the time"):
        selling_time(kept, TAG, "2026-11-30")
    sell(kept, offered("2026-11-02"))
    assert "common practice alone" in " ".join(selling_time(kept, TAG, "2026-11-30").sentences)
    kept.close()
    here = ["--shop", str(kept.folder), "--day", "2026-11-30", "--json"]
    told = CliRunner().invoke(app, ["sale", "time", TAG, *here])
    assert [weeks for weeks, _ in json.loads(told.output)["chances"]] == [4, 13, 26]
    with bench_of(kept.folder) as bench:
        page = flat(bench.get(f"/dossier/{TAG}/sale?time=true&price=9000").text)
        assert "At 9,000 USD:" in page
        assert "Chance of a sale from now on" in page
        asked = bench.get(f"/dossier/{TAG}/sale?time=true&price=free").text
        assert "Not an amount of money" in asked


LOW = 'reserve = "7,000"\nfloor_net = "5,000"\nunsold_worth = "3,000"'


def first_offer(shop: OpenShop) -> None:
    """Two own offers that taught, and this one on offer since four weeks, as dear as agreed."""
    sell(shop, offered("2026-02-02"), ("2026-02-25", "agreed", AGREED), tag="W-0010")
    cheap = ("2026-03-09", "price cut", {"amount": "7000", "currency": "USD"})
    gone = ("2026-03-16", "agreed", {**AGREED, "amount": "6900"})
    sell(shop, offered("2026-02-02"), cheap, gone, tag="W-0011")
    sell(shop, offered("2026-11-02", "9900"))
    terms = shop.folder / "consignment.toml"
    text = terms.read_text("utf-8")
    text = text.replace('[cut]\nshare = "4 %"\nevery_days = 30\nstep = "50"\n', "")
    text = text.replace('reserve = "8,200"\nfloor_net = "6,300"', LOW)
    terms.write_text(text, "utf-8")


def test_another_path_is_a_choice_told_with_half_of_its_promise_and_who_does_worse(
    kept: OpenShop,
) -> None:
    first_offer(kept)
    text = (kept.folder / "consignment.toml").read_text("utf-8")
    before = terms_here(kept, TAG)
    found = better_path(kept, TAG, "2026-11-30")
    assert found == better_path(kept, TAG, "2026-11-30")
    assert found.offered
    assert found.to_expect == pytest.approx((found.net - found.agreed_net) / 2, abs=0.01)
    assert 0 < found.worse < 1
    asked = [Money.parse(price.removesuffix("USD").strip(), "USD") for _, price in found.prices]
    assert all(later < earlier for earlier, later in pairwise(asked))
    assert asked[0] <= Money.parse("9900", "USD")
    # never below the reserve, however little the buyer pays of what is asked
    assert asked[-1] > Money.parse("7000", "USD")
    said = " ".join(found.sentences)
    for words in ("half of the", "of ten net less", "What may happen to this piece", "How well"):
        assert words in said
    assert "It is a choice" in said
    assert "counts as 3,000 USD" in said
    assert terms_here(kept, TAG) == before  # looking changes nothing

    with pytest.raises(ConflictError, match="were changed since"):
        choose_path(kept, TAG, "2026-11-30", base="0" * 64, id_="new", by="examiner A")
    choose_path(kept, TAG, "2026-11-30", base=before.digest, id_="new", by="examiner A")
    choose_path(kept, TAG, "2026-11-30", base=before.digest, id_="new", by="examiner A")
    now = terms_for(kept, TAG)
    assert now is not None
    assert now.document.cut is None
    steps = now.schedule(date(2026, 11, 2))
    assert len(steps) > 1
    assert steps[0].price == Money.parse("9900", "USD")
    assert [(one.day, str(one.price)) for one in steps[1:]] == [
        (date(2026, 11, 30) + timedelta(weeks=weeks), price)
        for weeks, price in found.prices
        if price != "9,900 USD"  # asked already
    ]
    # a new agreement: nobody signed it, and the shop's own terms stay what they were
    assert not agreement_view(kept, TAG).signatures.signed
    assert (kept.folder / "consignment.toml").read_text("utf-8") == text
    left = [one.told for one in sale_blocks(kept, TAG, "agreed") if one.need == "terms"]
    assert left == [about.block_unsigned.say()]


def test_no_path_is_looked_for_where_nothing_is_left_to_choose(kept: OpenShop) -> None:
    first_offer(kept)
    terms = kept.folder / "consignment.toml"
    text = terms.read_text("utf-8")
    terms.write_text(text.replace(LOW, 'reserve = "7,000"'), "utf-8")
    with pytest.raises(InputError, match="worth to the consignor unsold"):
        better_path(kept, TAG, "2026-11-30")
    terms.write_text(text.replace('reserve = "7,000"', 'reserve = "9,900"'), "utf-8")
    with pytest.raises(InputError, match="no price is left"):
        better_path(kept, TAG, "2026-11-30")
    terms.write_text(text, "utf-8")
    back = NewEntry("sale", {"id": "a", "event": "withdrawn", "day": "2026-11-30"})
    append_all(kept, TAG, [back], at="2026-11-30T10:00:00Z", by="examiner A")
    with pytest.raises(ConflictError, match="may still be sold"):
        better_path(kept, TAG, "2026-11-30")


def test_the_path_on_page_command_and_agreement(
    kept: OpenShop, monkeypatch: pytest.MonkeyPatch
) -> None:
    first_offer(kept)
    kept.close()
    here = ["--shop", str(kept.folder), "--day", "2026-11-30"]
    told = CliRunner().invoke(app, ["sale", "path", TAG, *here, "--json"])
    assert told.exit_code == 0
    found = json.loads(told.output)
    clock = "heelstamp.web.screens.money.routes.now"
    monkeypatch.setattr(clock, lambda: "2026-11-30T09:00:00Z")
    with bench_of(kept.folder) as bench:
        plain = flat(bench.get(f"/dossier/{TAG}/money").text)
        assert "Another path of prices" in plain
        assert "net less" not in plain
        for place in ("money", "money/terms"):
            page = html.unescape(flat(bench.get(f"/dossier/{TAG}/{place}?path=true").text))
            for one in found["sentences"]:
                assert one in page
        base = {"base": found["terms"]}
        done = bench.post(f"/dossier/{TAG}/money/terms/path", data=base, follow_redirects=False)
        assert done.status_code == 303
        form = flat(bench.get(f"/dossier/{TAG}/money/terms").text)
        assert "Nobody signed the terms that hold." in form
        for _, price in found["prices"]:
            assert f'value="{price.removesuffix(" USD")}"' in form
    with OpenShop(kept.folder) as shop:
        rows = dict(agreed_rows(terms_for(shop, TAG) or pytest.fail("no terms")))
        for _, price in found["prices"]:
            assert price in rows["First asking price"] + rows["Asking price after that"]
    none = CliRunner().invoke(app, ["sale", "path", "W-0011", *here])
    assert isinstance(none.exception, ConflictError)

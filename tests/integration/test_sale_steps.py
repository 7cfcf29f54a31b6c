"""A sale through the shop: blocks name what lifts them, sums follow the terms, nothing is lost."""

from __future__ import annotations

import html
import json
import shutil
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from fakes.sales import AT, BY, TERMS, clear_it, enter, sign_it, sold, step
from fakes.web_shop import INSTRUMENT, TAG, bench_of, flat, make_shop
from heelstamp.casework.appraisal.agreed import SOLD, agreed_price
from heelstamp.casework.appraisal.entering import said_last
from heelstamp.casework.dossier import append, open_with
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.sharing import NotPermittedError
from heelstamp.casework.sharing.accounts import Role
from heelstamp.casework.sharing.rights import Hand
from heelstamp.cli.app import app
from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.agreement import agreement_view, keep_form, sign
from heelstamp.shop.due import due_in
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.sale import sale_blocks, sale_view, shop_accounts, take_step
from heelstamp.shop.title_file import keep_owner, keep_search, title_file


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[OpenShop]:
    folder = make_shop(tmp_path)
    shutil.copy(TERMS, folder / "consignment.toml")
    with OpenShop(folder) as opened:
        yield opened


def test_every_block_names_what_lifts_it_and_goes_when_that_is_done(shop: OpenShop) -> None:
    told = [one.told for one in sale_blocks(shop, TAG, "cleared")]
    assert len(told) == 3
    assert all("lifts it" in one for one in told)
    step(shop, "examined", 2)
    with pytest.raises(ConflictError, match="No list of stolen goods was searched"):
        step(shop, "cleared", 2)
    clear_it(shop)
    assert sale_blocks(shop, TAG, "cleared") == []
    enter(shop, "owner", role="heir B")
    with pytest.raises(ConflictError, match="No signature of heir B stands"):
        step(shop, "cleared", 2)
    enter(shop, "owner", role="heir B", signed="2026-03-02")
    step(shop, "cleared", 2)


def test_a_hit_stops_everything_and_no_override_lets_it_pass(shop: OpenShop) -> None:
    sold(shop)
    enter(shop, "title_search", register="The police list", hit=True, result="stolen 1999")
    (block, *_) = sale_blocks(shop, TAG, "handed over")
    assert block.firm
    assert "police and take legal advice first" in block.told
    step(shop, "override", 7, lets="to buyer", note="the buyer waits")
    with pytest.raises(ConflictError, match="something stands against"):
        enter(shop, "custody", event="to buyer", giver="shop", receiver="buyer B")


@pytest.mark.parametrize("event", ["to owner", "sent out", "to carrier"])
def test_a_hit_keeps_it_here_whoever_asks_for_it(shop: OpenShop, event: str) -> None:
    clear_it(shop)
    enter(shop, "title_search", register="The police list", hit=True, result="stolen 1999")
    with pytest.raises(ConflictError, match="police and take legal advice first"):
        enter(shop, "custody", event=event, giver="shop", receiver="somebody")


def test_a_hit_stops_money_too_and_stands_on_top_of_page_and_calendar(shop: OpenShop) -> None:
    sold(shop)
    told = {"register": "The police list", "hit": "yes", "day": "2026-03-06"}
    stamp = EntryStamp("h1", "", AT.format(6))
    with pytest.raises(InputError, match="a hit without what was found"):
        keep_search(shop, TAG, stamp, told, by=BY)
    keep_search(shop, TAG, stamp, told | {"result": "stolen 1999", "query": "S10350"}, by=BY)
    for event in ("refund", "handed over"):
        with pytest.raises(ConflictError, match="legal advice first"):
            step(shop, event, 7, amount="100")
    (due,) = [one for one in due_in(shop, "2026-03-07") if one.kind == "hit"]
    assert due.told.startswith("Stop:")
    with bench_of(shop.folder) as bench:
        page = flat(html.unescape(bench.get(f"/dossier/{TAG}/sale").text))
    assert page.index("Tell the police") < page.index("What may follow")
    assert "asked for S10350" in page
    keep_search(shop, TAG, EntryStamp("h2", "", AT.format(7)), told | {"hit": "no"}, by=BY)
    assert not title_file(shop, TAG).hits


def test_each_owner_signs_for_themselves_and_what_was_told_before_stands(shop: OpenShop) -> None:
    strokes = json.dumps([[[10 * n, 500 - 9 * n] for n in range(20)]])

    def owner(number: int, **told: str) -> None:
        keep_owner(shop, TAG, EntryStamp(f"w{number}", "", AT.format(2)), told, by=BY)

    owner(1, role="heir B", identity="passport", ending="4821", liens="none", name="B. Heir")
    owner(2, role="heir C", acquired="from an uncle")
    owner(3, role="heir B", strokes=strokes)
    seen = {one.owner.role: one for one in title_file(shop, TAG).owners}
    assert (seen["heir B"].owner.ending, seen["heir B"].owner.how) == ("4821", "on the screen")
    assert seen["heir B"].strokes
    assert seen["heir B"].lacking == ("how they came by it",)
    assert "their signature" in seen["heir C"].lacking
    blocks = [one.told for one in sale_blocks(shop, TAG, "cleared") if one.need == "signed"]
    assert len(blocks) == 1
    assert "heir C" in blocks[0]
    assert title_file(shop, TAG).names == {"heir B": "B. Heir"}
    assert not any(b"B. Heir" in line for line in shop.journals.lines(TAG))
    bare = {"role": "heir C", "how": "on the screen"}
    with pytest.raises(InputError, match="without its strokes"):
        enter(shop, "owner", **bare)


def test_to_buyer_waits_for_clearance_consent_and_money_whatever_way_it_comes(
    shop: OpenShop,
) -> None:
    clear_it(shop)
    hand = {"event": "to buyer", "giver": "shop", "receiver": "buyer B"}
    with pytest.raises(ConflictError, match="paid in cleared funds"):
        enter(shop, "custody", **hand)
    examiner = Hand("examiner B", Role.EXAMINER)
    with pytest.raises(NotPermittedError, match="only the owner of the shop"):
        step(shop, "override", 3, by=examiner, lets="to buyer", note="so")
    step(shop, "override", 3, lets="to buyer", note="on approval")
    enter(shop, "custody", **hand)
    assert "on approval" in " ".join(sale_view(shop, TAG, "2026-03-03").overridden)


def test_nothing_goes_to_the_carrier_before_its_packing_is_entered(shop: OpenShop) -> None:
    parcel = {"route": "US", "weight_g": 6200.0, "length_mm": 1200.0, "width_mm": 450.0}
    enter(shop, "packing", day="2026-03-01", height_mm=180.0, **parcel)  # for an earlier try
    sold(shop)
    hand = {"event": "to carrier", "giver": "shop", "receiver": "a carrier"}
    with pytest.raises(ConflictError, match="How it was packed for this sale is not entered"):
        enter(shop, "custody", **hand)
    enter(shop, "packing", day="2026-03-07", height_mm=180.0, **parcel)
    board = {"part": "neck", "kind": "feature", "status": "read", "feature": "board"}
    enter(shop, "observation", **board, variant="rosewood-like")
    with pytest.raises(ConflictError, match="An answer lifts it"):
        enter(shop, "custody", **hand)  # protected timber: asked again before it leaves
    for rule in ("nigra", "finished", "cochinchinensis"):
        told = {"rule": f"dalbergia_{rule}", "answer": "no border is crossed", "reason": "asked"}
        enter(shop, "material", **told)
    enter(shop, "custody", **hand)


def test_an_act_that_was_done_and_refused_since_blocks_the_agreement(shop: OpenShop) -> None:
    clear_it(shop)
    enter(shop, "consent", act="clean finish", granted=True, by="owner")
    enter(shop, "treatment", act="clean finish", part="finish", reason="dirt", reversible=False)
    enter(shop, "consent", act="clean finish", granted=False, by="owner")
    for event in ("examined", "cleared", "offered"):
        step(shop, event, 3)
    with pytest.raises(ConflictError, match="clean finish"):
        step(shop, "agreed", 4, party="buyer B", amount="9100")


def test_sums_follow_the_terms_and_the_account_ends_at_nought(shop: OpenShop) -> None:
    sold(shop)
    enter(shop, "custody", event="to buyer", giver="shop", receiver="buyer B")
    step(shop, "handed over", 7)
    step(shop, "window opened", 7)
    assert sale_view(shop, TAG, "2026-03-08").standing.window == "2026-03-21"
    with pytest.raises(ConflictError, match="return window is open"):
        step(shop, "final", 21)
    step(shop, "final", 22)
    # by hand: 22 % of 5,000 and 14 % of 4,100 are 1,674; 9,100 - 1,674 - 185 - 128 = 7,113
    view = sale_view(shop, TAG, "2026-03-22")
    assert str(view.standing.due) == "7113.00"
    step(shop, "payout", 23, amount="7113", id="once")
    step(shop, "payout", 23, amount="7113", id="once")  # a device sends twice
    with pytest.raises(ConflictError, match="more than is due"):
        step(shop, "payout", 23, amount="7113")
    step(shop, "settled", 23)
    (account,) = shop_accounts(shop)
    assert (account.received, account.paid_out, account.earned) == ("9100.00", "7113.00", "1987.00")
    assert (account.refunded, account.held) == ("0.00", "0.00")
    (part,) = shop_accounts(shop, "2026-03-07", "2026-03-22")
    assert (part.before, part.earned, part.held) == ("9100.00", "1987.00", "7113.00")


def test_a_deposit_given_back_before_the_price_was_paid_lowers_nothing(shop: OpenShop) -> None:
    clear_it(shop)
    for event, day in (("examined", 2), ("cleared", 2), ("offered", 3)):
        step(shop, event, day)
    step(shop, "agreed", 4, party="buyer B", amount="9,100")
    step(shop, "payment", 4, of="deposit", means="cash", amount="1000")
    step(shop, "refund", 5, amount="1000")
    step(shop, "payment", 5, of="balance", means="cash", amount="9100")
    step(shop, "paid", 6)
    enter(shop, "custody", event="to buyer", giver="shop", receiver="buyer B")
    step(shop, "handed over", 7)
    step(shop, "window opened", 7)
    step(shop, "final", 22)
    assert str(sale_view(shop, TAG, "2026-03-22").standing.due) == "7113.00"


def test_no_price_paid_is_entered_past_the_sale_whatever_way_it_comes(shop: OpenShop) -> None:
    clear_it(shop)
    paid = {"of": "sold", "amount": "9100", "currency": "USD", "reason": "a handshake"}
    with pytest.raises(ConflictError, match="no sale agreed"):
        enter(shop, "price", **paid)
    for event in ("examined", "cleared", "offered"):
        step(shop, event, 3)
    with pytest.raises(ConflictError, match="no sale agreed"):
        enter(shop, "price", **paid)
    step(shop, "agreed", 4, party="buyer B", amount="9100")
    with pytest.raises(ConflictError, match="no sale agreed"):
        enter(shop, "price", **paid | {"amount": "9101"})
    found = agreed_price(shop.subject(TAG).state, SOLD)
    assert found is not None
    assert (found.amount, found.currency) == ("9100.00", "USD")


def test_no_sum_is_corrected_into_a_price_paid(shop: OpenShop) -> None:
    insured = {"of": "insured value", "amount": "9100", "currency": "USD", "reason": "agreed"}
    append(shop, TAG, "price", {"id": "i1", **insured}, at=AT.format(2), by=BY)
    new = {"id": "i1", **insured, "of": "sold"}
    sold = {"id": "c1", "corrects": "i1", "reason": "a trick", "replacement": new}
    with pytest.raises(ConflictError, match="no sale agreed"):
        append(shop, TAG, "correction", sold, at=AT.format(2), by=BY)


def test_what_fell_through_is_not_sold(shop: OpenShop) -> None:
    clear_it(shop)
    for event in ("examined", "cleared", "offered"):
        step(shop, event, 3)
    step(shop, "agreed", 4, party="buyer B", amount="9100")
    assert "sold" in said_last(shop.subject(TAG).state)
    step(shop, "fell through", 5)
    assert "sold" not in said_last(shop.subject(TAG).state)
    assert agreed_price(shop.subject(TAG).state, SOLD) is None
    step(shop, "agreed", 6, party="buyer C", amount="8800")
    assert said_last(shop.subject(TAG).state)["sold"].decided == "8,800 USD"


def test_an_offer_waits_for_the_signature_under_the_terms_that_hold(shop: OpenShop) -> None:
    clear_it(shop)
    step(shop, "examined", 2)
    step(shop, "cleared", 2)
    view = agreement_view(shop, TAG)
    form = replace(view.form, single={**view.form.single, "start": "9,500"})
    told = {"base": view.held.digest, "whole_shop": False, "by": BY}
    keep_form(shop, TAG, form, id_="w-new", **told)
    assert [one.role for one in agreement_view(shop, TAG).signatures.earlier] == ["a consignor"]
    with pytest.raises(ConflictError, match="Nobody signed the terms that hold"):
        step(shop, "offered", 3)
    stamp = EntryStamp("again", "", AT.format(3))
    with pytest.raises(ConflictError, match="changed since they were shown"):
        sign(shop, TAG, stamp, role="a consignor", day="", base=view.held.digest, by=BY)
    sign_it(shop)
    step(shop, "offered", 3)
    assert str(sale_view(shop, TAG, "2026-03-03").standing.asked) == "9500.00"


def test_an_entry_sent_straight_waits_for_terms_like_the_page(shop: OpenShop) -> None:
    clear_it(shop)
    for event in ("examined", "cleared"):
        step(shop, event, 2)
    view = agreement_view(shop, TAG)
    form = replace(view.form, single={**view.form.single, "start": "9,500"})
    keep_form(shop, TAG, form, base=view.held.digest, whole_shop=False, id_="w-new", by=BY)
    offer = {"event": "offered", "day": "2026-03-02", "amount": "9500", "currency": "USD"}
    with pytest.raises(ConflictError, match="Nobody signed the terms that hold"):
        enter(shop, "sale", **offer)
    sign_it(shop)
    enter(shop, "sale", **offer)
    for path in (shop.folder / "terms").iterdir():
        path.unlink()
    (shop.folder / "consignment.toml").unlink()
    agreed = {"event": "agreed", "party": "buyer B", "amount": "9100", "currency": "USD"}
    with pytest.raises(ConflictError, match="No terms of consignment"):
        enter(shop, "sale", day="2026-03-02", **agreed)


def test_a_dossier_that_opens_with_steps_of_a_sale_is_held_to_the_same(shop: OpenShop) -> None:
    ready = [
        NewEntry("instrument", {**INSTRUMENT, "tag": "W-0002"}),
        NewEntry("title_search", {"id": "t", "register": "a list", "hit": False}),
        NewEntry("materials_looked", {"id": "m", "found": "none", "reason": "looked"}),
        NewEntry("owner", {"id": "o", "role": "a consignor", "signed": "2026-03-02"}),
    ]
    offer = {"event": "offered", "amount": "9500", "currency": "USD"}
    told = ({"event": "examined"}, {"event": "cleared"}, offer)
    steps = [
        NewEntry("sale", {"id": f"s{n}", "day": "2026-03-02", **one}) for n, one in enumerate(told)
    ]
    with pytest.raises(ConflictError, match="Nobody signed the terms that hold"):
        open_with(shop, [*ready, *steps], at=AT.format(2), by=BY)
    open_with(shop, [*ready, *steps[:2]], at=AT.format(2), by=BY)


def test_a_correction_makes_no_step_that_would_be_refused(shop: OpenShop) -> None:
    clear_it(shop)
    step(shop, "examined", 2, id="s-1")
    enter(shop, "title_search", register="The police list", hit=True, result="stolen 1999")
    withdrawn = {"id": "w", "event": "withdrawn", "day": "2026-03-02"}
    append(shop, TAG, "sale", withdrawn, at=AT.format(2), by=BY)
    new = {"id": "w", "event": "cleared", "day": "2026-03-02"}
    trick = {"id": "c9", "corrects": "w", "reason": "a slip", "replacement": new}
    with pytest.raises(ConflictError, match="police and take legal advice first"):
        append(shop, TAG, "correction", trick, at=AT.format(2), by=BY)


def test_an_examiner_changes_no_step_of_the_owner(shop: OpenShop) -> None:
    sold(shop)
    step(shop, "refund", 7, amount="100", id="back")
    more = {"id": "back", "event": "refund", "day": "2026-03-07", "amount": "90"}
    change = {
        "id": "c1",
        "corrects": "back",
        "reason": "so",
        "replacement": more | {"currency": "USD"},
    }
    examiner = Hand(BY, Role.EXAMINER)
    with pytest.raises(NotPermittedError, match="only the owner"):
        append(shop, TAG, "correction", change, at=AT.format(8), by=examiner)
    append(shop, TAG, "correction", change, at=AT.format(8), by=BY)
    assert str(sale_view(shop, TAG, "2026-03-08").standing.refunded) == "90"


def test_two_devices_that_take_one_hold_stand_in_a_queue(shop: OpenShop) -> None:
    clear_it(shop)
    for event in ("examined", "cleared", "offered"):
        step(shop, event, 3)
    step(shop, "held", 4, party="buyer A")
    step(shop, "held", 4, party="buyer B")
    queue = sale_view(shop, TAG, "2026-03-05").standing.queue
    assert [(one.party, one.until) for one in queue] == [
        ("buyer A", "2026-03-11"),
        ("buyer B", "2026-03-11"),
    ]
    with pytest.raises(ConflictError, match="buyer A holds it"):
        step(shop, "agreed", 5, party="buyer B", amount="9100")


def test_two_devices_at_once_lose_nothing_and_pay_nothing_twice(shop: OpenShop) -> None:
    clear_it(shop)
    for event in ("examined", "cleared", "offered"):
        step(shop, event, 3)
    at, told = AT.format(4), {"day": "2026-03-04", "party": "buyer A"}
    with OpenShop(shop.folder) as other, ThreadPoolExecutor(2) as both:
        took = [
            both.submit(take_step, here, TAG, EntryStamp(id_, "", at), "held", told | who, by=BY)
            for here, id_, who in ((shop, "h1", {}), (other, "h2", {"party": "buyer B"}))
        ]
        assert [one.exception() for one in took] == [None, None]
        # the same party on two devices stands once, and the second device is told so
        with pytest.raises(ConflictError, match="holds already"):
            take_step(other, TAG, EntryStamp("h3", "", at), "held", told, by=BY)
    queue = sale_view(shop, TAG, "2026-03-04").standing.queue
    assert {one.party for one in queue} == {"buyer A", "buyer B"}
    step(shop, "agreed", 5, party=queue[0].party, amount="9100")
    with pytest.raises(ConflictError, match="more than was agreed"):
        step(shop, "payment", 5, of="balance", means="cash", amount="9100.01")
    step(shop, "payment", 5, of="balance", means="cash", amount="9100")
    step(shop, "paid", 5)
    with pytest.raises(ConflictError, match="more than was paid and cleared"):
        step(shop, "refund", 6, amount="9100.01")
    with pytest.raises(ConflictError, match="a step before the one that it follows"):
        step(shop, "refund", 4, amount="1")
    enter(shop, "custody", event="to buyer", giver="shop", receiver=queue[0].party)
    for event, day in (("handed over", 6), ("window opened", 6), ("final", 21)):
        step(shop, event, day)
    pay = {"day": "2026-03-22", "amount": "7113"}
    with OpenShop(shop.folder) as other, ThreadPoolExecutor(2) as both:
        paid = [
            both.submit(
                take_step, here, TAG, EntryStamp(id_, "", AT.format(22)), "payout", pay, by=BY
            )
            for here, id_ in ((shop, "p1"), (other, "p2"))
        ]
        refused = [one.exception() for one in paid]
    assert [type(one) for one in refused if one is not None] == [ConflictError]
    assert sale_view(shop, TAG, "2026-03-22").standing.paid_out == 7113


def test_days_that_have_not_come_and_broken_cents_are_refused(shop: OpenShop) -> None:
    stamp = EntryStamp("x", "", AT.format(2))
    with pytest.raises(InputError, match="has not come"):
        take_step(shop, TAG, stamp, "examined", {"day": "2027-01-01"}, by=BY)
    clear_it(shop)
    step(shop, "examined", 2)
    step(shop, "cleared", 2)
    with pytest.raises(InputError, match="more decimals"):
        step(shop, "offered", 3, amount="9900.001")
    bare = OpenShop(shop.folder)
    with bare:
        stamp = EntryStamp("o1", "", AT.format(2))
        keep_owner(bare, TAG, stamp, {"role": "heir C", "ending": "4821"}, by=BY)
        again = EntryStamp("o2", "", AT.format(2))
        with pytest.raises(InputError):
            keep_owner(bare, TAG, again, {"role": "heir C", "ending": "P-44821"}, by=BY)


def test_command_and_page_say_the_same(shop: OpenShop) -> None:
    sold(shop)
    run = CliRunner().invoke(
        app, ["sale", "show", TAG, "--shop", str(shop.folder), "--json"], standalone_mode=False
    )
    told = json.loads(run.output)
    assert told["standing"]["state"] == "paid"
    with bench_of(shop.folder) as bench:
        page = flat(html.unescape(bench.get(f"/dossier/{TAG}/sale").text))
        assert "Agreed with buyer B: 9,100 USD" in page
        for one in told["possible"]:
            for block in one["blocks"]:
                assert block["told"] in page
        answer = bench.post(f"/dossier/{TAG}/sale/step", data={"event": "payout", "amount": "1"})
        assert answer.status_code == 409

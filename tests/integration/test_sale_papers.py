"""Papers of a sale's money: they add up to the cent, and a buyer's names nobody else."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

from fakes.paper_text import text_of
from fakes.sales import BY, TERMS, enter, ready_to_offer, sign_it, sold, step
from fakes.web_shop import TAG, bench_of, flat, make_shop
from heelstamp.casework.papers.form import FormPaper
from heelstamp.catalogue import Issue
from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.forms import form_at, issue_form, lacking
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.terms import terms_known

SERIAL = "S10350"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[OpenShop]:
    folder = make_shop(tmp_path)
    shutil.copy(TERMS, folder / "consignment.toml")
    with OpenShop(folder) as opened:
        yield opened


def sums(paper: FormPaper, title: str) -> dict[str, Decimal]:
    """First and last column of a table of sums."""
    (section,) = [one for one in paper.sections if one.title == title]
    assert section.table is not None
    return {
        row[0]: Decimal(row[-1].replace("−", "-").replace(",", "").removesuffix(" USD"))
        for row in section.table.rows
    }


def words(paper: FormPaper) -> str:
    cells = [cell for one in paper.sections if one.table for row in one.table.rows for cell in row]
    lines = [line for one in paper.sections for line in one.lines]
    return " ".join((*(cell for row in paper.facts for cell in row), *lines, *cells))


def test_each_paper_says_what_it_lacks_until_it_can_be_made(shop: OpenShop) -> None:
    ready_to_offer(shop)
    assert set(lacking(shop, TAG)) == {"invoice", "money", "refund", "settlement"}
    step(shop, "agreed", 4, party="buyer B", amount="9100")
    found = lacking(shop, TAG)
    assert set(found) == {"money", "refund", "settlement"}
    assert "Enter the payment under Sale" in found["money"].remedy
    with pytest.raises(InputError, match="nothing was paid"):
        form_at(shop, TAG, "money")


def test_a_receipt_tells_which_funds_cleared_on_which_day(shop: OpenShop) -> None:
    ready_to_offer(shop)
    step(shop, "agreed", 4, party="buyer B", amount="9100")
    step(shop, "payment", 4, of="deposit", means="transfer", amount="910", id="p1")
    paper = form_at(shop, TAG, "money")
    assert "not cleared" in words(paper)
    assert sums(paper, "Together") == {
        "Received": 910,
        "Of it cleared": 0,
        "Given back": 0,
        "Still to pay": 8190,
    }
    step(shop, "funds cleared", 6, names="p1")
    paper = form_at(shop, TAG, "money")
    assert "6 Mar 2026" in words(paper)
    assert sums(paper, "Together")["Of it cleared"] == 910


def test_what_goes_to_a_buyer_names_nobody_else_and_masks_the_number(shop: OpenShop) -> None:
    enter(shop, "observation", part="body", kind="serial", status="read", text=SERIAL)
    sold(shop)
    step(shop, "refund", 7, amount="100")
    for name in ("invoice", "money", "refund"):
        told = words(form_at(shop, TAG, name))
        assert SERIAL not in told
        assert "S10•••" in told
        assert "consignor" not in told
        assert "buyer B" in told


def test_an_invoice_adds_up_at_every_stage(shop: OpenShop) -> None:
    ready_to_offer(shop)
    step(shop, "agreed", 4, party="buyer B", amount="9100")
    step(shop, "payment", 4, of="deposit", means="cash", amount="1000")
    step(shop, "refund", 5, amount="400")
    left = _left_of_invoice(shop)
    assert left == 8500
    step(shop, "payment", 5, of="balance", means="cash", amount="8500")
    step(shop, "paid", 6)
    step(shop, "refund", 6, amount="100")
    assert _left_of_invoice(shop) == 0
    enter(shop, "custody", event="to buyer", giver="shop", receiver="buyer B")
    step(shop, "handed over", 7)
    step(shop, "window opened", 7)
    step(shop, "returned", 8)
    assert _left_of_invoice(shop) == -9000
    step(shop, "refund", 9, amount="9000")
    assert _left_of_invoice(shop) == 0
    assert sums(form_at(shop, TAG, "refund"), "Together")["Stays with the shop"] == 0


def test_an_invoice_names_the_margin_scheme_and_no_purchase_price(shop: OpenShop) -> None:
    sold(shop)
    assert "Margin scheme" not in words(form_at(shop, TAG, "invoice"))
    scheme = {"scheme": "margin", "rate": "20 %", "bought": "6100", "currency": "USD"}
    enter(shop, "tax", reason="bought of a private owner", **scheme)
    told = words(form_at(shop, TAG, "invoice"))
    # Directive 2006/112/EC, article 226 (14): the words an invoice of that scheme carries
    assert "Margin scheme: second-hand goods" in told
    assert "6,100" not in told


def _left_of_invoice(shop: OpenShop) -> Decimal:
    paper = form_at(shop, TAG, "invoice")
    (section,) = [one for one in paper.sections if one.title == "Sold"]
    assert section.table is not None
    *rows, last = section.table.rows
    added = sum(
        Decimal(row[1].replace("−", "-").replace(",", "").removesuffix(" USD")) for row in rows
    )
    told = Decimal(last[1].replace(",", "").removesuffix(" USD"))
    assert abs(added) == told
    assert last[0] == ("Still to pay" if added >= 0 else "Still to be given back to you")
    return Decimal(added)


def test_a_settlement_reconciles_and_stands_by_the_terms_that_were_signed(shop: OpenShop) -> None:
    sold(shop)
    enter(shop, "custody", event="to buyer", giver="shop", receiver="buyer B")
    step(shop, "handed over", 7)
    step(shop, "window opened", 7)
    step(shop, "refund", 8, amount="100.10")
    with pytest.raises(InputError, match="not final"):
        form_at(shop, TAG, "settlement")
    step(shop, "final", 22)
    paper = form_at(shop, TAG, "settlement")
    rows = sums(paper, "Settlement")
    # by hand: kept 8,999.90; 22 % of 5,000 and 14 % of 3,999.90 are 1,659.986, so 1,659.99
    assert rows["Commission"] == Decimal("-1659.99")
    assert rows["Due to you"] == Decimal("8999.90") - Decimal("1659.99") - 185 - 128
    step(shop, "payout", 23, amount="7000")
    add = sums(form_at(shop, TAG, "settlement"), "It adds up")
    first, *rest = add.values()
    assert first == sum(rest) == 9100
    assert add["Still held for you"] == Decimal("26.91")
    issue_form(shop, TAG, "settlement", id_="i-1", by=BY)
    # the shop changes its terms afterwards: what was signed still explains the sum
    text = (shop.folder / "consignment.toml").read_text("utf-8")
    (shop.folder / "consignment.toml").write_text(text.replace("22 %", "30 %"), "utf-8")
    assert sums(form_at(shop, TAG, "settlement"), "Settlement")["Commission"] == Decimal("-1659.99")
    (one,) = shop.subject(TAG).state.of(Issue).values()
    assert (one.paper, one.reader, one.version) == ("settlement", "consignor", 1)


def test_a_settlement_that_no_terms_explain_is_refused(shop: OpenShop) -> None:
    sold(shop)
    enter(shop, "custody", event="to buyer", giver="shop", receiver="buyer B")
    step(shop, "handed over", 7)
    step(shop, "window opened", 7)
    told = {"event": "final", "day": "2026-03-22", "amount": "7000", "currency": "USD"}
    later = "2026-03-22T12:00:00Z"
    with pytest.raises(ConflictError, match=r"the terms make 7113\.00 USD due"):
        enter(shop, "sale", at=later, **told)
    step(shop, "override", 22, lets="final", note="agreed on the telephone")
    enter(shop, "sale", at=later, **told)
    with pytest.raises(ConflictError, match="no terms known here"):
        form_at(shop, TAG, "settlement")
    assert "settlement" in lacking(shop, TAG)


def test_papers_print_and_are_issued_on_the_page(shop: OpenShop) -> None:
    sold(shop)
    with bench_of(shop.folder) as bench:
        page = flat(bench.get(f"/dossier/{TAG}/reports").text)
        assert "Receipt for money" in page
        assert "cannot be made yet: the sale is not final" in page
        sent = bench.get(f"/dossier/{TAG}/forms/preview/invoice.pdf")
        told = text_of(sent.content)
        assert "Still to pay" in told
        assert "preview, not issued" in told
        answer = bench.post(f"/dossier/{TAG}/forms", data={"paper": "money"})
        assert answer.status_code == 200
        assert "Receipt for money for the buyer, version 1" in flat(
            bench.get(f"/dossier/{TAG}/reports").text
        )


def test_signing_again_keeps_both_texts(shop: OpenShop) -> None:
    ready_to_offer(shop)
    (shop.folder / "consignment.toml").write_text(
        TERMS.read_text("utf-8").replace("14 %", "15 %"), "utf-8"
    )
    sign_it(shop)
    rates = {str(one.settlement.tiers[-1].rate) for one in terms_known(shop, TAG)}
    assert rates == {"0.14", "0.15"}

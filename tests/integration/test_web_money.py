"""Money without a browser: three figures apart, sums to the cent, sheets refused whole."""

from __future__ import annotations

import html
import io
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from starlette.testclient import TestClient

from fakes.web_shop import TAG, bench_of, make_shop, state_in
from heelstamp.catalogue import Agreement, Grade, TermsAgreed
from heelstamp.shop.comparables import SHEET_MAX, sales_of
from heelstamp.shop.opened import OpenShop

HOME = f"/dossier/{TAG}"
EXAMPLES = Path(__file__).parents[2] / "examples"
SALES = EXAMPLES / "wherry-sales.csv"
MARKET = "sallowby-wherry"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A stocked shop, to be copied."""
    folder = make_shop(tmp_path_factory.mktemp("shelf"))
    with bench_of(folder) as client:
        stock(client)
    return folder


@pytest.fixture(scope="module")
def priced(shelf: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A stocked bench for what only looks."""
    with bench_of(shutil.copytree(shelf, tmp_path_factory.mktemp("priced") / "shop")) as client:
        yield client


@pytest.fixture
def stocked(shelf: Path, tmp_path: Path) -> Iterator[TestClient]:
    """A stocked bench of the test's own."""
    with bench_of(shutil.copytree(shelf, tmp_path / "shop")) as client:
        yield client


def stock(bench: TestClient) -> None:
    """Put the invented sales and terms on a bench, and one neck stamp."""
    shutil.copy(EXAMPLES / "consignment.toml", shop_of(bench).folder / "consignment.toml")
    assert send(bench, SALES.read_bytes()).status_code == 200
    bench.post(f"{HOME}/mark", data={"part": "neck", "text": "65/03 R", "id": "o1"})


def shop_of(bench: TestClient) -> OpenShop:
    desk: OpenShop = bench.app.state.shop  # type: ignore[attr-defined]
    return desk


def send(bench: TestClient, data: bytes, name: str = "sales.csv"):  # type: ignore[no-untyped-def]
    return bench.post(f"{HOME}/money/comparables", files={"table": (name, data, "text/csv")})


def told(bench: TestClient, **asked: str) -> str:
    answer = bench.get(f"{HOME}/money", params=asked)
    assert answer.status_code == 200, answer.text
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html.unescape(answer.text)))


def count(bench: TestClient) -> int:
    return len(sales_of(shop_of(bench), MARKET))


def test_without_comparables_the_page_says_what_is_wanting(lasting_bench: TestClient) -> None:
    said = told(lasting_bench)
    assert "No price: no comparables to price from" in said
    assert "0 USD" not in said
    assert "Not settled" in said


def test_three_figures_stand_apart_and_the_net_is_worked_out_to_the_cent(
    priced: TestClient,
) -> None:
    said = told(priced, offer="9100")
    # 22 % of 5,000 and 14 % of 4,100 are 1,674; 185 and 128 of agreed charges: by hand
    for sum_ in ("9,100.00 USD", "−1,674.00 USD", "−185.00 USD", "−128.00 USD", "7,113.00 USD"):
        assert sum_ in said
    assert "9100 USD is at or above reserve and floor" in said
    for name in ("Insured", "Market", "Net to the consignor"):
        assert name in said
    assert "20 sales and 4 asking prices kept apart" in said
    assert "8,154.65 USD" in said  # least price that leaves 6,300: (6,300 + 313 + 400) / 0.86
    assert "below the reserve of 8,200 USD" in told(priced, offer="8000")


def test_the_screen_and_the_command_give_one_price(priced: TestClient) -> None:
    from heelstamp.shop.prices import price

    shop = shop_of(priced)
    finding = price(shop, shop.subject(TAG))
    low, high = finding.market.interval_90
    assert f"{low:,.0f} to {high:,.0f} USD" in told(priced)


def test_what_is_said_of_condition_moves_the_price_at_once(stocked: TestClient) -> None:
    before = told(stocked)
    answer = stocked.post(
        f"{HOME}/money/valued", data={"about": "grade", "decided": "E", "id": "w1"}
    )
    assert answer.status_code == 200
    assert state_in(stocked).of(Grade)["w1"].grade == "E"
    figure = r"middle ([\d,]+) USD"
    first, then = (
        int(re.search(figure, one, re.IGNORECASE)[1].replace(",", ""))  # type: ignore[index]
        for one in (before, told(stocked))
    )
    assert then < first
    again = stocked.post(
        f"{HOME}/money/valued", data={"about": "grade", "decided": "E", "id": "w1"}
    )
    assert again.status_code == 200
    assert len(state_in(stocked).of(Grade)) == 1


@pytest.mark.parametrize(
    ("about", "decided"),
    [
        ("grade", "F"),
        ("grade", ""),
        ("grade: soul", "A"),
        ("colour", "<b>"),
        ("case", "maybe"),
        ("other parts changed", "-1"),
        ("other parts changed", "9" * 30),
        ("insured value", "nan"),
        ("insured value", "0"),
        ("sold", "9100"),
        ("insured value", "1e9"),
        ("insured value", "9" * 30),
        ("insured value", "\x00"),
        ("title note: x", "open"),
    ],
)
def test_what_cannot_be_meant_is_refused(
    lasting_bench: TestClient, about: str, decided: str
) -> None:
    answer = lasting_bench.post(f"{HOME}/money/valued", data={"about": about, "decided": decided})
    assert answer.status_code == 422
    assert "refusal" in answer.text
    assert not state_in(lasting_bench).others


@pytest.mark.parametrize("offer", ["nan", "-5", "0", "1e99", "9" * 40, "<i>", "\x07"])
def test_an_offer_that_is_no_sum_ends_in_no_fault(priced: TestClient, offer: str) -> None:
    answer = priced.get(f"{HOME}/money", params={"offer": offer})
    assert answer.status_code < 500
    assert "<i>" not in answer.text


def test_an_agreed_value_goes_before_the_proposed_one(stocked: TestClient) -> None:
    stocked.post(f"{HOME}/money/valued", data={"about": "insured value", "decided": "11,250"})
    said = told(stocked)
    assert "11,250 USD Agreed with the owner" in said


def test_one_comparable_by_form_is_kept_once_and_read_as_any(stocked: TestClient) -> None:
    form = {
        "month": "2026-03",
        "kind": "sold",
        "price": "8,900",
        "year": "1964",
        "grade": "B",
        "id": "s1",
        "source": "<b>fair</b>",
    }
    for _ in range(2):
        assert stocked.post(f"{HOME}/money/comparable", data=form).status_code == 200
    assert count(stocked) == 25
    assert "21 sales and 4 asking prices" in told(stocked)
    assert "<b>fair</b>" not in stocked.get(f"{HOME}/money").text
    other = stocked.post(f"{HOME}/money/comparable", data={**form, "price": "8,901"})
    assert other.status_code == 409
    twice = stocked.post(f"{HOME}/money/comparable", data={**form, "id": "s2"})
    assert twice.status_code == 422
    assert "the same sale as" in twice.text.lower()
    assert count(stocked) == 25


@pytest.mark.parametrize(
    "wrong",
    [
        {"month": "yesterday"},
        {"price": "nan"},
        {"price": "-3"},
        {"kind": "dreamt"},
        {"grade": "Z"},
        {"year": "12"},
        {"weight": "inf"},
        {"pickups": "99"},
        {"price": "=1+1"},
    ],
)
def test_a_comparable_that_cannot_be_read_is_refused(
    lasting_bench: TestClient, wrong: dict[str, str]
) -> None:
    form = {"month": "2026-03", "kind": "sold", "price": "8900", **wrong}
    answer = lasting_bench.post(f"{HOME}/money/comparable", data=form)
    assert answer.status_code == 422
    assert 'class="refusal"' in answer.text
    assert count(lasting_bench) == 0


def workbook(*rows: list[object]) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)  # type: ignore[union-attr]
    written = io.BytesIO()
    book.save(written)
    return written.getvalue()


HEAD: list[object] = ["month", "kind", "price", "currency"]


@pytest.mark.parametrize(
    ("data", "name", "words"),
    [
        (
            b"month,kind,price,currency\n2024-01,SOLD,8000,USD\n2024-13,SOLD,1,USD\n",
            "s.csv",
            "1 cell cannot be used",
        ),
        (b"shape,size\n1,2\n", "s.csv", "the name of this column says nothing"),
        (b"\x00\x01\x02", "s.xlsx", "not a workbook"),
        (b"", "s.csv", "the table is empty"),
        (b"month,kind,price,currency\n", "s.csv", "a head and no row"),
        (b"a,b", "s.pdf", "neither CSV nor XLSX"),
        (b"month,kind,price,currency\n2024-01,SOLD,=2*4000,USD\n", "s.csv", "a formula"),
        (workbook(HEAD, ["2024-01", "sold", "=2*4000", "USD"]), "s.xlsx", "a formula"),
        (workbook(HEAD, ["2024-01", "sold", True, "USD"]), "s.xlsx", "a truth value"),
        (b"month," * 600 + b"\n", "s.csv", "too large"),
        (
            b"month,kind,price,currency\n" + b"2024-01,SOLD,8000,USD\n" * 250_000,
            "s.csv",
            "too large to be read here",
        ),
    ],
    ids=[
        "month",
        "shape",
        "broken",
        "empty",
        "bare",
        "pdf",
        "formula",
        "xlsx formula",
        "truth",
        "wide",
        "huge",
    ],
)
def test_a_sheet_that_cannot_be_used_is_refused_whole(
    lasting_bench: TestClient, data: bytes, name: str, words: str
) -> None:
    answer = send(lasting_bench, data, name)
    assert answer.status_code == 422
    assert words.lower() in html.unescape(answer.text).lower()
    assert count(lasting_bench) == 0


def test_a_sheet_at_the_bound_is_told_its_size(lasting_bench: TestClient) -> None:
    answer = send(lasting_bench, b"x" * (SHEET_MAX + 1))
    assert answer.status_code == 422
    assert "more than 5 MB" in answer.text


def test_what_stands_before_an_advertisement_is_answered_step_by_step(bench: TestClient) -> None:
    bench.post(
        f"{HOME}/seen",
        data={
            "part": "neck",
            "kind": "feature",
            "status": "read",
            "subject": "f05",
            "value": "rosewood-like",
        },
    )
    said = told(bench, to="EU")
    assert "Not settled" in said
    assert "Prompts, never legal advice" in said
    page = bench.get(f"{HOME}/money", params={"to": "EU"}).text
    asked = re.findall(r'value="material"><input type="hidden" name="about" value="([^"]+)"', page)
    assert asked
    forms = [{"matter": "material", "about": one, "decided": "no"} for one in asked]
    forms += [
        {"matter": "search", "about": "police list", "decided": "no hit on that day"},
        {"matter": "looked", "decided": "board appears to be rosewood; species not determined"},
    ]
    for form in forms:
        assert bench.post(f"{HOME}/money/cleared", data=form).status_code == 200
    assert "Clear." in told(bench, to="EU")
    note = {"matter": "note", "about": "estate", "decided": "open"}
    assert bench.post(f"{HOME}/money/cleared", data=note).status_code == 200
    assert "Blocked." in told(bench, to="EU")
    strange = {"matter": "material", "about": "moon rock", "decided": "yes"}
    assert bench.post(f"{HOME}/money/cleared", data=strange).status_code == 422


def test_the_consignors_page_is_a_paper_of_the_same_sums(priced: TestClient) -> None:
    answer = priced.get(f"{HOME}/money/statement.pdf", params={"offer": "9100"})
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    assert b"7,113.00" in answer.content or len(answer.content) > 10_000


def test_without_terms_there_is_no_page_and_it_says_so(bench: TestClient) -> None:
    assert send(bench, SALES.read_bytes()).status_code == 200
    assert "Net to the consignor what a sale leaves them not known" in told(bench)
    answer = bench.get(f"{HOME}/money/statement.pdf")
    assert answer.status_code == 422
    assert "terms of consignment" in answer.text


def test_looks_are_worked_out_when_asked_for(priced: TestClient) -> None:
    assert "Clears up" not in told(priced)
    assert "Clears up" in told(priced, looked="true", rate="60")
    assert "Clears up" in told(priced, looked="true", rate="")
    assert priced.get(f"{HOME}/money", params={"rate": "nan"}).status_code == 422


def test_terms_that_change_are_seen_at_once(stocked: TestClient) -> None:
    assert "7,113.00 USD" in told(stocked, offer="9100")
    path = shop_of(stocked).folder / "consignment.toml"
    path.write_text(path.read_text("utf-8").replace('amount = "185"', 'amount = "186"'), "utf-8")
    assert "7,112.00 USD" in told(stocked, offer="9100")


def base_of(bench: TestClient) -> str:
    found = re.search(r'name="base" value="([0-9a-f]*)"', bench.get(f"{HOME}/money/terms").text)
    assert found is not None
    return found[1]


def test_what_is_agreed_for_one_dossier_goes_before_the_shops_terms(stocked: TestClient) -> None:
    told_ = {"start": "9,000", "reserve": "7,500", "floor_net": "6,000", "received": "2026-10-01"}
    base = base_of(stocked)
    answer = stocked.post(f"{HOME}/money/agreed", data={**told_, "base": base, "id": "w7"})
    assert answer.status_code == 200
    said = told(stocked, offer="7400")
    assert "below the reserve of 7,500 USD" in said
    assert "the day of the first offer 9,000 USD" in said  # it is not offered yet
    agreed = state_in(stocked).of(TermsAgreed)["w7"]
    assert agreed.scope == "dossier"
    assert "6,000" not in agreed.reason
    kept = shop_of(stocked).files.get(agreed.file).decode()
    assert 'reserve = "7,500"' in kept
    assert kept == (shop_of(stocked).folder / "terms" / f"{TAG}.toml").read_text("utf-8")
    shop = (shop_of(stocked).folder / "consignment.toml").read_text("utf-8")
    assert shop == (EXAMPLES / "consignment.toml").read_text("utf-8")
    agreed = shop
    for was, now_ in (("8,200", "7,500"), ("6,300", "6,000"), ("9,900", "9,000")):
        agreed = agreed.replace(f'"{was}"', f'"{now_}"')
    # nothing else of what the shop wrote is touched, comments and order included
    assert kept == agreed.replace("2026-11-02", "2026-10-01")
    assert kept.startswith("# Terms of the demonstration.")
    late = stocked.post(f"{HOME}/money/agreed", data={**told_, "start": "1", "base": base})
    assert late.status_code == 409


def test_terms_are_written_for_a_shop_that_has_none(bench: TestClient) -> None:
    assert send(bench, SALES.read_bytes()).status_code == 200
    assert "An invented example" in told_of(bench, "money/terms")
    assert bench.post(f"{HOME}/money/agreed", data={"start": "9000"}).status_code == 422
    text = (EXAMPLES / "consignment.toml").read_text("utf-8")
    form = {"text": text.replace("\n", "\r\n"), "whose": "shop"}
    assert bench.post(f"{HOME}/money/terms", data=form).status_code == 200
    assert (shop_of(bench).folder / "consignment.toml").read_text("utf-8") == text
    assert "7,113.00 USD" in told(bench, offer="9100")


def test_an_agreement_on_a_form_is_looked_at_kept_and_signed(stocked: TestClient) -> None:
    fields: dict[str, Any] = {
        "rate": ["22 %", "14 %"],
        "up_to": ["5,000", ""],
        "charge": ["bench work"],
        "charge_sum": ["185"],
        "start": "9,900",
        "reserve": "8,200",
        "term_days": "180",
        "clause": ["Opening"],
        "clause_text": ["Strings may come off."],
        "price": ["9100", "8200", "10000"],
        "base": base_of(stocked),
    }
    looked = stocked.post(f"{HOME}/money/terms/form", data={**fields, "whose": "look"})
    said = re.sub(r"<[^>]+>", " ", looked.text)
    # by hand: 9,100 - 1,100 - 14 % of 4,100 - 185 = 7,241
    assert "7,241.00 USD" in said
    assert "It is not kept" in said
    assert not (shop_of(stocked).folder / "terms").exists()
    kept = {**fields, "whose": "dossier", "id": "w-form"}
    assert stocked.post(f"{HOME}/money/terms/form", data=kept).status_code == 200
    digest = state_in(stocked).of(TermsAgreed)["w-form"].file
    assert base_of(stocked) == digest
    drawn = json.dumps([[[x, x] for x in range(20)]])
    signed = {"role": "a consignor", "base": digest, "strokes": drawn, "id": "sign-1"}
    for _ in range(2):  # a device may send twice
        assert stocked.post(f"{HOME}/money/terms/signed", data=signed).status_code == 200
    (one,) = state_in(stocked).of(Agreement).values()
    assert (one.terms, one.how) == (digest, "on the screen")
    shown = stocked.get(f"{HOME}/money/terms").text
    assert "The terms that hold are signed" in shown
    assert 'd="M0 0 L1 1' in shown
    again = {**fields, "start": "9,800", "whose": "dossier", "base": digest}
    assert stocked.post(f"{HOME}/money/terms/form", data=again).status_code == 200
    assert "Nobody signed the terms that hold" in stocked.get(f"{HOME}/money/terms").text


def test_a_signature_needs_the_terms_that_were_shown(stocked: TestClient) -> None:
    late = {"role": "a consignor", "base": "0" * 64, "id": "sign-2"}
    assert stocked.post(f"{HOME}/money/terms/signed", data=late).status_code == 409
    scribble = {"role": "a consignor", "base": base_of(stocked), "strokes": "[[[1,1]]]"}
    assert stocked.post(f"{HOME}/money/terms/signed", data=scribble).status_code == 422
    assert not state_in(stocked).of(Agreement)


def told_of(bench: TestClient, below: str) -> str:
    answer = bench.get(f"{HOME}/{below}")
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html.unescape(answer.text)))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "schema = 1",
        "= broken",
        'schema = "heelstamp/consignment/1"',
        (EXAMPLES / "consignment.toml").read_text("utf-8").replace('"14 %"', '"1400 %"'),
        (EXAMPLES / "consignment.toml").read_text("utf-8").replace('"8,200"', '"nan"'),
        (EXAMPLES / "consignment.toml").read_text("utf-8").replace('"USD"', '"EUR"'),
    ],
)
def test_what_are_no_terms_is_refused_and_nothing_is_written(
    lasting_bench: TestClient, text: str
) -> None:
    for whose in ("shop", "dossier"):
        answer = lasting_bench.post(f"{HOME}/money/terms", data={"text": text, "whose": whose})
        assert answer.status_code == 422
        assert 'class="refusal"' in answer.text
    assert not (shop_of(lasting_bench).folder / "consignment.toml").exists()
    assert not (shop_of(lasting_bench).folder / "terms").exists()
    assert not state_in(lasting_bench).others


def test_terms_that_cannot_be_read_can_be_mended(stocked: TestClient) -> None:
    (shop_of(stocked).folder / "consignment.toml").write_text("= broken", "utf-8")
    assert "No price: broken TOML" in told(stocked)
    assert "= broken" in told_of(stocked, "money/terms/text")
    text = (EXAMPLES / "consignment.toml").read_text("utf-8")
    form = {"text": text, "whose": "shop", "base": base_of(stocked)}
    assert stocked.post(f"{HOME}/money/terms", data=form).status_code == 200
    assert "7,113.00 USD" in told(stocked, offer="9100")


def test_a_comparable_that_is_not_the_last_can_be_corrected_and_taken_away(
    stocked: TestClient,
) -> None:
    address = f"{HOME}/money/comparable"
    first = sales_of(shop_of(stocked), MARKET)[0]
    shown = stocked.get(address, params={"sale": first.id})
    assert shown.status_code == 200
    told = {
        "month": first.month,
        "kind": "sold",
        "price": "12345.50",
        "year": "1961",
        "finish": "original",
        "reason": "misread",
        "id": "s-once",
    }
    for _ in range(2):  # a device may send twice
        sent = stocked.post(f"{address}/corrected", params={"sale": first.id}, data=told)
        assert sent.status_code == 200
    held = sales_of(shop_of(stocked), MARKET)
    assert len(held) == 24
    assert (held[0].id, held[0].minor, held[0].made) == (first.id, 1234550, (1961, 1961))
    assert "corrected: misread" in stocked.get(f"{HOME}/money").text
    page = html.unescape(stocked.get(address, params={"sale": first.id}).text)
    assert str(first.price) in page
    gone = {**told, "id": "s-gone", "withdrawn": "true", "reason": "told twice"}
    stocked.post(f"{address}/corrected", params={"sale": first.id}, data=gone)
    assert first.id not in {one.id for one in sales_of(shop_of(stocked), MARKET)}
    bare = stocked.post(
        f"{address}/corrected", params={"sale": held[1].id}, data={**told, "reason": "", "id": "x1"}
    )
    assert bare.status_code == 422
    assert "gives its reason" in bare.text
    assert stocked.get(address, params={"sale": "none such"}).status_code == 422


def test_an_alteration_is_asked_on_the_part_and_moves_the_price(stocked: TestClient) -> None:
    asked = stocked.get(f"{HOME}/first-look", params={"part": "body"}).text
    assert "routing of the body" in asked.lower()
    before = stocked.get(f"{HOME}/money").text
    told = {"part": "body", "kind": "sign", "subject": "routing", "status": "read", "id": "r1"}
    told |= {"value": "cut_later"}
    assert stocked.post(f"{HOME}/seen", data=told).status_code == 200
    assert state_in(stocked).observations["r1"].outcome == "cut_later"
    after = stocked.get(f"{HOME}/money").text
    assert "Body routed or cut" in after
    assert "Body routed or cut" not in before

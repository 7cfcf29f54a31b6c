"""Spreadsheets in and out of a shop: encodings, workbooks with titles and dates, harmless cells."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from starlette.testclient import TestClient
from typer.testing import CliRunner

from fakes.web_shop import flat, make_shop
from heelstamp.casework.spreadsheet.reading import Declared
from heelstamp.casework.spreadsheet.sheet import TableError
from heelstamp.cli.app import app
from heelstamp.errors import InputError
from heelstamp.media.spreadsheets import encoding_of, read_rows, workbook_of
from heelstamp.shop.comparables import sales_of
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.spreadsheets import Told, look_at, take_in
from heelstamp.shop.tables import table_bytes, table_rows

MARKET = "sallowby-wherry"
GERMAN = (
    "Verkäufe 2021;;;;\r\n"
    "\r\n"
    "Datum;kind;Preis;made;source\r\n"
    "15.02.2021;sold;8.650,00;1964;Händler in Zürich\r\n"
    "03.04.2021;sold;9.100,50;1965;Messe\r\n"
    "Summe;;17.750,50;;\r\n"
)
HOLDS = {"Datum": "date", "Preis": "price in EUR"}


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[OpenShop]:
    with OpenShop(make_shop(tmp_path)) as opened:
        yield opened


def told(data: bytes, name: str = "s.csv", kind: Any = "sales", **said: Any) -> Told:
    said.setdefault("declared", Declared())
    return Told(kind=kind, of=MARKET, data=data, name=name, **said)


@pytest.mark.parametrize(
    ("codec", "called"),
    [
        ("utf-8-sig", "utf-8"),
        ("cp1252", "windows-1252"),
        ("utf-16", "utf-16"),
        ("utf-16-le", "utf-16"),
        ("utf-16-be", "utf-16"),
    ],
)
def test_a_table_in_every_encoding_is_read_alike(kept: OpenShop, codec: str, called: str) -> None:
    data = GERMAN.encode(codec)
    assert encoding_of(data, "s.csv") == called
    found = look_at(kept, told(data, holds=HOLDS))
    assert found.refused is None
    assert found.encoding == called
    assert [(one[1], one[3], one[-1]) for one in found.rows] == [
        ("2021-02", "8,650 EUR", "Händler in Zürich"),
        ("2021-04", "9,100.50 EUR", "Messe"),
    ]
    assert [(one.row, one.why) for one in found.understood.passed] == [
        (1, "above the head"),
        (6, "a total"),
    ]


def test_a_look_keeps_nothing_and_taking_keeps_all_or_nothing(kept: OpenShop) -> None:
    data = GERMAN.encode()
    look_at(kept, told(data, holds=HOLDS))
    assert sales_of(kept, MARKET) == []
    spoilt = GERMAN.replace("9.100,50", "viel").encode()
    with pytest.raises(TableError):
        take_in(kept, told(spoilt, holds=HOLDS), by="examiner A")
    assert sales_of(kept, MARKET) == []
    count, understood = take_in(kept, told(data, holds=HOLDS), by="examiner A")
    assert (count, understood.declared.decimal_mark) == (2, ",")
    assert [(one.month, one.minor, one.currency) for one in sales_of(kept, MARKET)] == [
        ("2021-02", 865000, "EUR"),
        ("2021-04", 910050, "EUR"),
    ]


def test_a_workbook_with_title_joined_head_dates_and_total(kept: OpenShop) -> None:
    book = Workbook()
    sheet: Any = book.active
    sheet.append(["What was sold"])
    sheet.merge_cells("A1:E1")
    sheet.append([None, "Money", None, "Instrument", None])
    sheet.merge_cells("B2:C2")
    sheet.merge_cells("D2:E2")
    sheet.append(["date", "price", "currency", "made", "kind"])
    sheet.append([date(2021, 2, 15), 8650, "USD", 1964, "sold"])
    sheet.append([date(2022, 7, 1), 9100.5, "USD", 1965, "sold"])
    sheet.append(["Total", 17750.5, None, None, None])
    written = io.BytesIO()
    book.save(written)
    found = look_at(kept, told(written.getvalue(), "s.xlsx"))
    assert found.refused is None
    assert [one[1:4] for one in found.rows] == [
        ("2021-02", "sold", "8,650 USD"),
        ("2022-07", "sold", "9,100.50 USD"),
    ]
    assert [one.row for one in found.understood.passed] == [1, 2, 6]


def test_a_column_that_says_nothing_is_shown_and_refused_until_said(kept: OpenShop) -> None:
    found = look_at(kept, told(GERMAN.encode()))
    assert ("Preis", "") in [one[:2] for one in found.columns]
    assert found.refused is not None
    assert "says nothing" in str(found.refused)


def test_a_list_of_instruments_opens_dossiers_or_none(kept: OpenShop) -> None:
    text = "tag;maker;model;claimed\r\nH-0101;Sallowby Instrument Works;Wherry;1964\r\n"
    again = text + "H-0101;Sallowby Instrument Works;Wherry;1965\r\n"
    with pytest.raises(TableError) as caught:
        take_in(kept, told(again.encode(), kind="instruments"), by="examiner A")
    assert "the tag of row 2 again" in str(caught.value.cells[0])
    assert kept.journals.head("H-0101") is None
    unknown = text + "H-0102;Nobody;Nothing;\r\n"
    with pytest.raises(TableError, match="1 cell"):
        take_in(kept, told(unknown.encode(), kind="instruments"), by="examiner A")
    count, _ = take_in(kept, told(text.encode(), kind="instruments"), by="examiner A")
    assert count == 1
    assert kept.subject("H-0101").state.instrument.claimed == "1964"


FORMULAS = ["=1+1", "+A1", "-1+2", "@SUM(A1)", "\t=1", "=cmd|' /C calc'!A0", 'a";=1']


def test_no_cell_that_leaves_is_taken_for_a_formula() -> None:
    # OWASP, CSV Injection: cells that begin with = + - @ tab or carriage return
    rows: list[dict[str, object]] = [{"note": one, "sum": -5} for one in FORMULAS]
    (head, *body) = csv.reader(io.StringIO(table_bytes(rows, "x", ".csv").decode("utf-8-sig")))
    assert head == ["note", "sum"]
    assert all(one[0] == "'" or one == 'a";=1' for one, _ in body)
    assert {one for _, one in body} == {"-5"}
    book = load_workbook(io.BytesIO(workbook_of(rows, "x")))
    sheet: Any = book.active
    for row, said in zip(sheet.iter_rows(min_row=2), FORMULAS, strict=True):
        assert (row[0].data_type, row[0].value) == ("s", said)
        assert row[0].quotePrefix is (said[0] in "=+-@\t")
        assert (row[1].data_type, row[1].value) == ("n", -5)


def test_what_left_comes_back_as_it_was() -> None:
    rows: list[dict[str, object]] = [{"note": "=1+1"}, {"note": "a, b; c\nd"}]
    for ending in (".csv", ".xlsx"):
        raw = read_rows(table_bytes(rows, "x", ending), f"x{ending}")
        cells = [row[0] for _, row in raw.rows[1:]]
        assert cells[1].text == "a, b; c\nd"
        assert (cells[0].text, cells[0].holds) == ("=1+1", "text")


def test_a_formula_of_a_workbook_is_told_from_a_text_that_begins_like_one() -> None:
    book = Workbook()
    sheet: Any = book.active
    sheet.append(["note"])
    sheet.append(["=1+1"])
    sheet.append(["'=1+1"])
    for text in FORMULAS:
        cell = sheet.cell(sheet.max_row + 1, 1)
        cell.value = text
        cell.data_type = "s"
    written = io.BytesIO()
    book.save(written)
    cells = [row[0] for _, row in read_rows(written.getvalue(), "x.xlsx").rows[1:]]
    assert (cells[0].text, cells[0].holds) == ("=1+1", "formula")
    assert [one.holds for one in cells[1:]] == ["text"] * (1 + len(FORMULAS))
    assert cells[1].text == "=1+1"
    assert [one.text for one in cells[2:]] == [one.strip() for one in FORMULAS]


def test_every_table_of_a_shop_is_written(kept: OpenShop) -> None:
    take_in(kept, told(GERMAN.encode(), holds=HOLDS), by="examiner A")
    found = table_rows(kept, "sales", MARKET, "2026-11-12")
    assert [one["price"] for one in found] == ["8650.00", "9100.50"]
    (one, *_) = table_rows(kept, "instruments", "", "2026-11-12")
    assert one["sale"] == "in examination"
    with pytest.raises(InputError, match="no such table"):
        table_rows(kept, "elsewhere", "", "2026-11-12")


def test_a_page_shows_what_was_understood_and_takes_it_when_told(bench: TestClient) -> None:
    sent = bench.post(
        "/spreadsheet/sales",
        files={"table": ("verkauf.csv", GERMAN.encode("cp1252"), "text/csv")},
        data={"of": MARKET, "back": "/due"},
    )
    assert sent.status_code == 200
    text = flat(sent.text)
    assert "written in windows-1252. Look at its letters" in text
    assert 'Row 1, above the head: <span class="quiet">Verkäufe 2021</span>' in text
    assert "neither sold" not in text
    address = sent.url.path
    holds = {"column": ["Datum", "Preis"], "held": ["date", "price"], "currency": "eur"}
    read = {"of": MARKET, "back": "/due", **holds}
    looked = bench.get(address, params=read)
    assert "Take all 2" in looked.text
    assert "Decimals follow a comma" in looked.text
    held: OpenShop = bench.app.state.shop  # type: ignore[attr-defined]
    assert sales_of(held, MARKET) == []
    taken = bench.post(address, data=read)
    assert taken.status_code == 200
    assert "2 rows of verkauf.csv" in flat(taken.text)
    assert 'a total: <span class="quiet">Summe; 17.750,50</span>' in flat(taken.text)
    assert [one.minor for one in sales_of(held, MARKET)] == [865000, 910050]
    out = bench.get(f"/tables/sales.csv?of={MARKET}")
    assert out.headers["content-type"].startswith("text/csv")
    assert "9100.50" in out.text
    twice = bench.post(address, data=read)
    assert twice.status_code == 422
    assert "nothing was taken" in twice.text


def test_two_tables_without_ids_keep_apart(kept: OpenShop) -> None:
    take_in(kept, told(GERMAN.encode(), holds=HOLDS), by="examiner A")
    other = GERMAN.replace("8.650,00", "7.000,00").replace("9.100,50", "7.100,00").encode()
    take_in(kept, told(other, "fair.csv", holds=HOLDS), by="examiner A")
    ids = [one.id for one in sales_of(kept, MARKET)]
    assert ids == ["s row 4", "s row 5", "fair row 4", "fair row 5"]


def test_what_can_be_read_in_two_ways_is_asked_on_the_page(bench: TestClient) -> None:
    data = b"date,kind,price,currency\r\n03/04/2021,sold,8650,USD\r\n"
    sent = bench.post(
        "/spreadsheet/sales", files={"table": ("s.csv", data, "text/csv")}, data={"of": MARKET}
    )
    assert sent.status_code == 422
    assert "can be read in two ways" in sent.text
    assert "Take all" not in sent.text
    said = {"of": MARKET, "date_order": "month first"}
    assert "2021-03" in bench.get(sent.url.path, params=said).text
    assert bench.get("/spreadsheet/sales/" + "0" * 24).status_code == 404


def test_the_commands_look_take_and_write(kept: OpenShop, tmp_path: Path) -> None:
    kept.close()
    file, runner = tmp_path / "s.csv", CliRunner()
    file.write_bytes(GERMAN.encode("cp1252"))
    said = ["--of", MARKET, "--holds", "Datum=date", "--holds", "Preis=price in EUR"]
    here = ["--shop", str(kept.folder), "--json"]
    looked = runner.invoke(app, ["spreadsheet", "look", "sales", str(file), *said, *here])
    assert json.loads(looked.output)["encoding"] == "windows-1252"
    taken = runner.invoke(app, ["spreadsheet", "take", "sales", str(file), *said, *here])
    assert json.loads(taken.output)["taken"] == 2
    out = tmp_path / "out.xlsx"
    args = ["spreadsheet", "write", "sales", str(out), "--of", MARKET, *here]
    assert json.loads(runner.invoke(app, args).output)["rows"] == 2
    assert load_workbook(out).active["A1"].value == "id"  # type: ignore[index,union-attr]

"""CSV and XLSX to cells: what a spreadsheet does to marks is seen, what is broken is refused."""

import datetime as dt
import io
import zipfile
from typing import Any

import pytest
from openpyxl import Workbook

from heelstamp.errors import InputError
from heelstamp.media import bounds, spreadsheets
from heelstamp.media.spreadsheets import read_sheet


def workbook(*rows: tuple[Any, ...], title: str = "census") -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for row in rows:
        sheet.append(row)
    book.create_sheet("other").append(["id"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_csv_in_its_common_forms(separator: str, end: str) -> None:
    lines = [["id", "neck"], ["1", '"62/11 R"'], ["", ""], [" 2 ", "schräg"]]
    text = end.join(separator.join(line) for line in lines)
    found = read_sheet(text.encode("utf-8-sig"), "census.csv")
    assert found.columns == ("id", "neck")
    assert [(n, [c.text for c in row]) for n, row in found.rows] == [
        (2, ["1", "62/11 R"]),
        (4, ["2", "schräg"]),
    ]


def test_a_workbook_tells_what_it_made_of_a_cell() -> None:
    data = workbook(
        ("id", "serial", "pot", "neck", "f1", "f2"),
        (1, 1967, 134434.0, dt.datetime(1962, 11, 1), True, "#REF!"),  # noqa: DTZ001
        (),
        ("2", "0123", 0.5, None, "brass", "#N/A"),
    )
    found = read_sheet(data, "census.xlsx")
    (first, one), (last, two) = found.rows
    assert (first, last) == (2, 4)
    assert [(c.text, c.holds) for c in one] == [
        ("1", "number"),
        ("1967", "number"),
        ("134434", "number"),
        ("1962-11-01 00:00:00", "date"),
        ("TRUE", "truth"),
        ("#REF!", "error"),
    ]
    assert [c.text for c in two] == ["2", "0123", "0.5", "", "brass", "#N/A"]


def test_a_sheet_may_be_named() -> None:
    data = workbook(("id",), ("1",))
    assert read_sheet(data, "c.xlsx", "other").rows == ()
    with pytest.raises(InputError, match="Sheets: census, other"):
        read_sheet(data, "c.xlsx", "prices")


@pytest.mark.parametrize(
    ("data", "name", "told"),
    [
        (b"id\n1", "census.ods", "neither CSV nor XLSX"),
        (b"", "census.csv", "empty"),
        (b"\n\n,,\n", "census.csv", "empty"),
        (b"id\n1,2", "census.csv", "more cells than the head"),
        (b'id\n"1', "census.csv", "broken CSV"),
        (b"id\n\xff", "census.csv", "not UTF-8"),
        (b"PK\x03\x04 nothing", "census.xlsx", "not a workbook"),
        (b"id\n1", "census.xlsx", "not a workbook"),
    ],
)
def test_what_cannot_be_read_is_refused(data: bytes, name: str, told: str) -> None:
    with pytest.raises(InputError, match=told) as caught:
        read_sheet(data, name)
    assert name in caught.value.where


def test_a_cut_or_foreign_archive_is_no_workbook() -> None:
    whole = workbook(("id",), ("1",))
    for cut in (len(whole) // 3, len(whole) - 30):
        with pytest.raises(InputError, match="not a workbook"):
            read_sheet(whole[:cut], "c.xlsx")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("word/document.xml", "<w/>")
    with pytest.raises(InputError, match="not a workbook"):
        read_sheet(out.getvalue(), "c.xlsx")


def test_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    rows = [("id",), *((str(n),) for n in range(20))]
    text = "\n".join(row[0] for row in rows).encode()
    monkeypatch.setattr(spreadsheets, "MOST_ROWS", 10)
    for data, name in ((text, "c.csv"), (workbook(*rows), "c.xlsx")):
        with pytest.raises(InputError, match="too large"):
            read_sheet(data, name)
    monkeypatch.setattr(bounds, "LARGEST_UNPACKED", 100)
    with pytest.raises(InputError, match="unpacks to too much"):
        read_sheet(workbook(("id",)), "c.xlsx")
    monkeypatch.setattr(spreadsheets, "LARGEST_FILE", 10)
    with pytest.raises(InputError, match="too large"):
        read_sheet(text, "c.csv")

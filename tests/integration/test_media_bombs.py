"""Small files that ask for much are refused before the work, in a process that stays small."""

from __future__ import annotations

import pytest

from fakes import bombs
from heelstamp.errors import InputError, LimitError
from heelstamp.media.bounds import bound_workbook
from heelstamp.media.decoding import Decoder
from heelstamp.media.spoken import spoken_seconds
from heelstamp.media.spreadsheets import MOST_CELLS, read_sheet

MOST_BYTES = 300_000_000

PICTURES = {
    "159 megapixels": (bombs.large_png, "more pixels"),
    "110 megapixels in 435 kB": (lambda: bombs.png(10_488, 10_488), "packed more tightly"),
    "16 bits a channel": (lambda: bombs.png(7_000, 7_000, depth=16), "packed more tightly"),
    "a profile of a gigabyte": (bombs.profile_png, "colour profile is too large"),
    "a text of a gigabyte": (
        lambda: bombs.png(
            64, 48, between=bombs.chunk(b"zTXt", b"a\0\0" + bombs.deflated_noughts(10**9))
        ),
        "too large",
    ),
    "an international text of a gigabyte": (
        lambda: bombs.png(
            64, 48, between=bombs.chunk(b"iTXt", b"a\0\1\0de\0b\0" + bombs.deflated_noughts(10**9))
        ),
        "too large",
    ),
    "texts without end": (
        lambda: bombs.png(64, 48, between=bombs.chunk(b"tEXt", b"a\0b") * 100),
        "too many chunks of text",
    ),
    "chunks without end": (
        lambda: bombs.png(64, 48, between=bombs.chunk(b"prVt", b"") * 70_000),
        "too many chunks",
    ),
    "1,900 scans": (lambda: bombs.scanned_jpeg(2000), "too many scans"),
    "20 scans of 64 megapixels": (lambda: bombs.scanned_jpeg(8000, 20), "too many scans"),
    "markers without end": (lambda: b"\xff\xd8" + b"\xff\x01" * 9_000, "too many segments"),
}


@pytest.fixture(scope="module")
def decoder():
    made = Decoder()
    yield made
    made.close()


@pytest.mark.parametrize("name", PICTURES)
def test_pictures(name: str, decoder: Decoder) -> None:
    make, told = PICTURES[name]
    with pytest.raises(LimitError, match=told) as caught:
        decoder.run("read_photograph", make(), "bomb.png")
    assert caught.value.where.startswith("bomb.png")
    assert caught.value.remedy
    assert decoder.peak < MOST_BYTES


@pytest.mark.parametrize("task", ["outgoing_copy", "upright_rgb", "measure_photograph"])
def test_every_reader_of_pictures_refuses(task: str, decoder: Decoder) -> None:
    with pytest.raises(LimitError):
        decoder.run(task, bombs.large_png(), "bomb.png")
    assert decoder.peak < MOST_BYTES


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (bombs.full_workbook, "unpacks to too much"),
        (bombs.far_workbook, "too large"),
        (bombs.wide_workbook, "more cells than the head"),
        (bombs.entity_workbook, "not plain UTF-8"),
        (lambda: bombs.hollow_workbook(200), "unpacks to too much"),
        (lambda: bombs.workbook(bombs.SHEET.encode("utf-16").decode("latin-1")), "can be read"),
    ],
)
def test_workbooks(make, told: str, decoder: Decoder) -> None:
    with pytest.raises(InputError, match=told):
        decoder.run("read_sheet", make(), "bomb.xlsx")
    assert decoder.peak < MOST_BYTES


def test_parts_tags_and_sheets_of_a_workbook_are_counted(monkeypatch) -> None:
    many = {f"xl/part{n}.xml": "<a/>" for n in range(1_000)}
    with pytest.raises(LimitError, match="too many parts"):
        bound_workbook(bombs.workbook(bombs.SHEET, **many), "bomb.xlsx")
    listed = {"xl/more.xml": '<sheet sheetId="1"/>' * 300}
    with pytest.raises(LimitError, match="too many sheets"):
        bound_workbook(bombs.workbook(bombs.SHEET, **listed), "bomb.xlsx")
    monkeypatch.setattr("heelstamp.media.bounds.MOST_TAGS", 3_000)
    tags = {"xl/more.xml": "<c/>" * 3_001}
    with pytest.raises(LimitError, match="too many cells and tags"):
        bound_workbook(bombs.workbook(bombs.SHEET, **tags), "bomb.xlsx")


def test_a_text_in_utf_16_does_not_hide_its_tags() -> None:
    parts = {"xl/more.xml": '<a b="1"/>'.encode("utf-16-le")}
    with pytest.raises(InputError, match="not plain UTF-8"):
        bound_workbook(bombs.workbook(bombs.SHEET, **parts), "bomb.xlsx")
    parts = {"xl/more.xml": b"<?xml version='1.0' encoding='cp037'?>"}
    with pytest.raises(InputError, match="not plain UTF-8"):
        bound_workbook(bombs.workbook(bombs.SHEET, **parts), "bomb.xlsx")


def test_rows_that_only_the_spreadsheet_drew_count_for_nothing() -> None:
    """LibreOffice writes a last row 1048576 that holds a style and no value."""
    sheet = (
        f'{bombs.SHEET}<sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>id</t></is></c></row>'
        '<row r="2"><c r="A2"><v>7</v></c></row><row r="1048576"><c r="A1048576"/></row>'
        "</sheetData></worksheet>"
    )
    found = read_sheet(bombs.workbook(sheet), "c.xlsx")
    assert [(n, [c.text for c in row]) for n, row in found.rows] == [(2, ["7"])]


def test_a_head_that_understates_its_table_loses_no_row() -> None:
    sheet = (
        f'{bombs.SHEET}<dimension ref="A1"/><sheetData>'
        '<row r="1"><c r="A1"><v>1</v></c><c r="B1"><v>2</v></c></row>'
        '<row r="2"><c r="A2"><v>7</v></c><c r="B2"><v>8</v></c></row></sheetData></worksheet>'
    )
    (row,) = read_sheet(bombs.workbook(sheet), "c.xlsx").rows
    assert [one.text for one in row[1]] == ["7", "8"]


@pytest.mark.parametrize(
    "data",
    [
        bombs.commas(49),
        b"id" + b"," * (2 * MOST_CELLS + 1),
        b"id" + b"," * (MOST_CELLS + 1),
        b"id" + b"," * 600 + b"last",
        b"id\n" + b"x" * 32_768,
        b"id\n" + b"x" * 140_000,
        b",".join(b"%d" % n for n in range(500)) + b"\n1" * 20_000,
    ],
    ids=["49 MB", "one row", "one long row", "columns", "a cell", "a long cell", "a sparse table"],
)
def test_comma_files(data: bytes) -> None:
    with pytest.raises(InputError, match=r"too large|too much text|broken CSV"):
        read_sheet(data, "bomb.csv")


@pytest.mark.parametrize("make", [lambda: bombs.long_flac(90), bombs.long_mp3])
def test_recordings(make, decoder: Decoder) -> None:
    with pytest.raises(LimitError, match="too long"):
        decoder.run("read_recording", make(), "bomb.flac", {"channel": None})
    assert decoder.peak < MOST_BYTES


def test_a_spoken_note_of_330_bytes() -> None:
    data = bombs.webm_of_330_bytes()
    assert len(data) == 330
    with pytest.raises(InputError, match="cut short"):
        spoken_seconds(data, "audio/webm", "note.webm")

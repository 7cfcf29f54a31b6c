"""Every parser that a stranger's bytes meet, whole files to begin with, and ways to damage them."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pillow_heif
import soundfile
from PIL import ExifTags, Image

from fakes import bombs
from fakes.carried_parsers import Parser, carried_parsers
from fakes.federated_parsers import federated_parsers
from fakes.outside_parsers import outside_parsers
from fakes.raw_files import dng
from fakes.spoken_notes import mp4, webm
from heelstamp.archive import line_of, read_json, seal, split_lines, write_lines
from heelstamp.casework.appraisal.consignment import parse_terms
from heelstamp.casework.appraisal.market import parse_market
from heelstamp.casework.appraisal.sales_table import read_sales_map
from heelstamp.casework.census.columns import read_columns
from heelstamp.casework.dossier import read_entries
from heelstamp.casework.examination import read_examination
from heelstamp.casework.journal_file import read_journal
from heelstamp.catalogue import Folding, envelope
from heelstamp.chronology import Chronology, read_chronology
from heelstamp.documents import parse_document
from heelstamp.errors import HeelstampError
from heelstamp.marks import read
from heelstamp.media.outgoing import outgoing_copy
from heelstamp.media.photographs import camera_settings, read_photograph
from heelstamp.media.pixels import upright_rgb
from heelstamp.media.raw import is_raw
from heelstamp.media.sound import read_recording
from heelstamp.media.sound_kinds import sound_type
from heelstamp.media.spoken import spoken_seconds
from heelstamp.media.spreadsheets import read_sheet
from heelstamp.reference.market import market_text
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.reference.tables import mark_context
from heelstamp.units import read_length

ROOT = Path(__file__).parents[2]
REFERENCE = ROOT / "src/heelstamp/reference"
SALES_MAP = b"""schema = "heelstamp/sales-columns/1"
currency = "EUR"
kind = "asking"
[[column]]
name = "Lot"
holds = "id"
[[column]]
name = "Hammer"
holds = "price"
[[column]]
name = "Finish"
holds = "aspect"
aspect = "finish"
"""
MARKS = ("source-date", "patent", "design patent", "bound:us_zip5", "written:year2 month2 letter")
EDGES = (0, 1, 2, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)
_PIECES = (
    "\0 \ufffe \ud83d 🎸 가 ع \" ' [ ] { } = , ; / /00 1/0 - − . e9 nan inf \u0661 ² ? < & #REF! "
    "true null 1e999 \\ud800 % 0000-00-00 12:61 \r\n"
)
WORDS = tuple(
    one.encode("utf-8", "surrogatepass") for one in (*_PIECES.split(" "), "9" * 20, "9" * 400)
)


def tracebacks(parser: Parser, data: bytes) -> Exception | None:
    """What a parser raised that is no refusal; None when it read, or refused in words."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            parser.parse(data)
    except HeelstampError as error:
        return None if str(error) else AssertionError("a refusal without a word")
    except Exception as error:  # noqa: BLE001 - this is what is looked for
        return error
    return None


def damaged(data: bytes, chance: Random, times: int | None = None) -> bytes:
    """Damage *data* in one to four places."""
    found = bytearray(data)
    for _ in range(chance.randint(1, 4) if times is None else times):
        at = chance.randrange(len(found) + 1)
        way = chance.randrange(8)
        if way == 0 and found:
            found[at % len(found)] ^= 1 << chance.randrange(8)
        elif way == 1 and found:
            found[at % len(found)] = chance.randrange(256)
        elif way == 2:
            size, order = chance.choice((1, 2, 4, 8)), chance.choice(("little", "big"))
            edge = chance.choice(EDGES) & (1 << 8 * size) - 1
            found[at : at + size] = edge.to_bytes(size, order)
        elif way == 3:
            found[at : at + chance.choice((1, 2, 4, 30))] = b""
        elif way == 4:
            found[at:at] = found[chance.randrange(len(found) + 1) :][
                : chance.choice((1, 4, 12, 60))
            ]
        elif way == 5:
            found[at:at] = chance.choice(WORDS)
        elif way == 6:
            word = chance.choice(WORDS)
            found[at : at + len(word)] = word
        elif chance.randrange(3) == 0:
            found = found[:at]
    return bytes(found)


def picture(kind: str, **options: Any) -> bytes:
    """A small picture with an Exif of every value that is read."""
    image = Image.frombytes("RGB", (24, 16), Random(5).randbytes(24 * 16 * 3))
    buffer = io.BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()


def exif() -> bytes:
    """An Exif block with times, orientation, position and camera settings."""
    made = Image.Exif()
    made[ExifTags.Base.Orientation] = 6
    made[ExifTags.Base.DateTime] = "2026:11:02 09:14:00"
    made[ExifTags.IFD.Exif] = {
        ExifTags.Base.DateTimeOriginal: "2026:11:02 09:14:00",
        ExifTags.Base.OffsetTimeOriginal: "+01:00",
        ExifTags.Base.ExposureTime: 0.5,
        ExifTags.Base.FNumber: 8.0,
        ExifTags.Base.ISOSpeedRatings: 200,
        ExifTags.Base.WhiteBalance: 1,
    }
    made[ExifTags.IFD.GPSInfo] = {1: "N", 2: (52.0, 30.0, 0.0), 3: "E", 4: (13.0, 24.0, 0.0)}
    return made.tobytes()


def with_exif(block: bytes) -> bytes:
    """A JPEG whose Exif is *block*, whatever that is."""
    plain = picture("JPEG")
    body = block[:60_000]
    return plain[:2] + b"\xff\xe1" + (len(body) + 2).to_bytes(2) + body + plain[2:]


def recording(kind: str, coding: str) -> bytes:
    """A twentieth of a second of two channels."""
    buffer = io.BytesIO()
    samples = np.sin(np.arange(1600) / 9.0)
    soundfile.write(buffer, np.stack([samples, samples / 2]).T, 32_000, format=kind, subtype=coding)
    return buffer.getvalue()


def _picture(data: bytes) -> None:
    facts = read_photograph(data, "a")
    camera_settings(data, "a")
    outgoing_copy(data, "a", 8)
    assert upright_rgb(data, "a").shape == (facts.height, facts.width, 3)


def _recording(data: bytes) -> None:
    sound_type(data, "a")
    read_recording(data, "a")


def _raw(data: bytes) -> None:
    if is_raw(data):
        upright_rgb(data, "a", most_pixels=1_000_000)


def _journal(data: bytes) -> None:
    """Its entries without regard to the chain, then the whole: damage rarely keeps a digest."""
    with suppress(HeelstampError):
        fold = Folding()
        for entry in read_entries([one.removesuffix(b"\n") for one in split_lines(data)], "a"):
            fold.add(entry.kind, entry.body, where="a", kept=len(data) % 2 == 0)
    read_journal(data, name="a")


def journal(count: int) -> bytes:
    """A journal of the first entries of the bundled demonstration, sealed."""
    acts = (REFERENCE / "demo/wherry-s10350.jsonl").read_bytes().splitlines()[:count]
    lines, previous = [], None
    for seq, text in enumerate(acts, start=1):
        act = read_json(text)
        at, by, kind, body = (act[one] for one in ("at", "by", "kind", "body"))
        fields = envelope(seq=seq, at=at, by=by, kind=kind, body=body, previous=previous)
        sealed = seal(fields, Random(seq).randbytes(32))
        previous = str(sealed["digest"])
        lines.append(line_of(sealed))
    return write_lines(lines)


def _toml(reader: Callable[..., Any]) -> Callable[[bytes], Any]:
    def parse(data: bytes) -> Any:
        text = data.decode("utf-8", "surrogateescape")
        return reader(parse_document(text, "a.toml", "toml"), where="a.toml")

    return parse


def _text(reader: Callable[[str], Any]) -> Callable[[bytes], Any]:
    return lambda data: reader(data.decode("utf-8", "surrogateescape"))


def _columns(text: str) -> None:
    read_columns(text, "a.toml", _known())


@cache
def _known() -> Chronology:
    chronology = next((REFERENCE / "chronologies").glob("*wherry.toml"))
    return read_chronology(chronology.read_text("utf-8"), "toml", name="c.toml")


def _marks(text: str) -> None:
    for reader in MARKS:
        read(text, reader, mark_context())


@cache
def parsers() -> dict[str, Parser]:
    """All of them by name."""
    pillow_heif.register_heif_opener()
    heads = (b"id,neck,pot\n1,62/11 R,304-6?43\n", b'id;"neck"\n1;"a ""b"" c"\n')
    sheet = (
        f'{bombs.SHEET}<dimension ref="A1:B2"/><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c>'
        '<c r="B1" t="inlineStr"><is><t>pot</t></is></c></row><row r="2"><c r="A2" s="0"><v>7</v>'
        '</c><c r="B2" t="b"><f>A2</f><v>1</v></c></row></sheetData></worksheet>'
    ).encode()
    strings = (
        '<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        "<si><t>id</t></si></sst>"
    )
    chronology = next((REFERENCE / "chronologies").glob("*.toml")).read_bytes()
    return {
        "photograph": Parser(
            _picture,
            [
                picture("JPEG"),
                picture("JPEG", progressive=True),
                picture("JPEG", exif=exif()),
                picture("PNG", exif=exif(), icc_profile=b"no profile"),
                picture("TIFF"),
                picture("TIFF", compression="tiff_lzw"),
                picture("HEIF"),
            ],
        ),
        "exif": Parser(lambda data: _picture(with_exif(data)), [exif(), exif()[6:]]),
        "raw": Parser(_raw, [dng(np.full((32, 48, 3), 0.2))]),
        "recording": Parser(
            _recording,
            [
                recording("WAV", "PCM_16"),
                recording("WAV", "FLOAT"),
                recording("AIFF", "PCM_24"),
                recording("FLAC", "PCM_16"),
                recording("OGG", "VORBIS"),
                recording("MP3", "MPEG_LAYER_III"),
            ],
        ),
        "webm": Parser(lambda data: spoken_seconds(data, "audio/webm", "a"), [webm(1.0)]),
        "mp4": Parser(
            lambda data: spoken_seconds(data, "audio/mp4", "a"),
            [mp4(1.0), mp4(1.0, fragments=True)],
        ),
        "csv": Parser(lambda data: read_sheet(data, "a.csv"), heads),
        "workbook": Parser(
            lambda data: read_sheet(data, "a.xlsx"),
            [bombs.workbook(sheet, **{"xl/sharedStrings.xml": strings})],
        ),
        "sheet": Parser(
            lambda data: read_sheet(
                bombs.workbook(data, **{"xl/sharedStrings.xml": strings}), "a.xlsx"
            ),
            [sheet],
        ),
        "length": Parser(
            _text(lambda text: [read_length(text, unit) for unit in ("mm", "in")]),
            [b"1.6", b"25 1/4 in", b"4/64", b"-0.05 mm"],
        ),
        "marks": Parser(
            _text(_marks), [b"304-6443", b"PAT. 2,817,261", b"VIII 61", b"137 6?12", b"65/03"]
        ),
        "journal": Parser(_journal, [journal(2), journal(40)]),
        "market": Parser(_toml(parse_market), [market_text().encode()]),
        "terms": Parser(_toml(parse_terms), [(ROOT / "examples/consignment.toml").read_bytes()]),
        "sales map": Parser(_text(lambda text: read_sales_map(text, "a.toml")), [SALES_MAP]),
        "census columns": Parser(
            _text(_columns), [(ROOT / "examples/wherry-census-columns.toml").read_bytes()]
        ),
        "chronology": Parser(
            _text(lambda text: read_chronology(text, "toml", name="a.toml")), [chronology]
        ),
        "examination": Parser(
            _text(lambda text: read_examination(text, "toml", load_parts_tree, name="a.toml")),
            [(ROOT / "examples/wherry-s10350.toml").read_bytes()],
        ),
        **carried_parsers(),
        **federated_parsers(),
        **outside_parsers(),
    }

"""Any input to any parser: read, or refused in words; never a traceback.

`benchmarks/fuzz_parsers.py` does the same by the hundred thousand; what it found is kept here.
"""

from __future__ import annotations

import io
import struct
import zlib
from random import Random

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ExifTags, Image

from fakes import bombs
from fakes.carried_parsers import paper
from fakes.parsers import damaged, journal, parsers, tracebacks, with_exif
from heelstamp.errors import LimitError
from heelstamp.media.outgoing import outgoing_copy
from heelstamp.media.photographs import camera_settings, read_photograph
from heelstamp.report.attached import attached_files

BYTE, ASCII, SHORT, LONG, RATIONAL, UNDEFINED, DOUBLE = 1, 2, 3, 4, 5, 7, 12


def directory(*entries: tuple[int, int, int, bytes], begins: int = 8) -> bytes:
    """An Exif block of one directory, little-endian; values over 4 bytes stand behind."""
    at = begins + 2 + 12 * len(entries) + 4
    rows, extra = b"", b""
    for tag, kind, count, value in entries:
        kept = value
        if len(value) > 4:
            kept = struct.pack("<I", at + len(extra))
            extra += value
        rows += struct.pack("<HHI", tag, kind, count) + kept.ljust(4, b"\0")
    head = b"Exif\0\0II*\0" + struct.pack("<I", begins) + struct.pack("<H", len(entries))
    return head + rows + bytes(4) + extra


def rational(over: int, under: int) -> bytes:
    return struct.pack("<II", over, under)


POINTER, POSITION = ExifTags.IFD.Exif, ExifTags.IFD.GPSInfo
DAMAGED_EXIF = {
    "orientation over nothing": directory((274, RATIONAL, 1, rational(1, 0))),
    "orientation in words": directory((274, ASCII, 6, b"right\0")),
    "orientations": directory((274, SHORT, 3, struct.pack("<HHH", 6, 6, 6))),
    "orientation of no kind": directory((274, 99, 1, b"\6")),
    "orientation that is no number": directory((274, DOUBLE, 1, struct.pack("<d", float("nan")))),
    "time as numbers": directory((306, SHORT, 2, struct.pack("<HH", 20, 26))),
    "time of bytes": directory((306, UNDEFINED, 19, b"2026:11:02 09:14:00")),
    "a directory in words": directory((POINTER, ASCII, 5, b"here\0")),
    "a directory over nothing": directory((POINTER, RATIONAL, 1, rational(8, 0))),
    "a directory of two": directory((POINTER, LONG, 2, struct.pack("<II", 8, 8))),
    "a directory in itself": directory((POINTER, LONG, 1, struct.pack("<I", 8))),
    "a directory far away": directory((POINTER, LONG, 1, b"\xff\xff\xff\xff")),
    "a position in words": directory((POSITION, ASCII, 5, b"here\0")),
    "a position far away": directory((POSITION, LONG, 1, b"\xff\xff\xff\xff")),
    "a count without end": directory((306, ASCII, 0xFFFFFFFF, b"\1\2\3\4")),
    "entries without end": b"Exif\0\0II*\0\x08\0\0\0\xff\xff" + bytes(40),
    "neither order": b"Exif\0\0XX*\0\x08\0\0\0\0\0",
    "big tiff": b"Exif\0\0II+\0\x08\0\0\0" + bytes(20),
    "a head alone": b"Exif\0\0II*\0",
    "nothing": b"Exif\0\0",
}
BORDER = parsers()["border file"].seeds[0]


def packed(flags: int, method: int) -> bytes:
    """An archive of a finding that says it is encrypted (flag 1), or packed by another method."""
    data = bytearray(parsers()["finding file"].seeds[0])
    for head, at in ((b"PK\3\4", 6), (b"PK\1\2", 8)):  # PKWARE APPNOTE 6.3, 4.3.7 and 4.3.12
        begin = data.index(head)
        data[begin + at], data[begin + at + 2] = flags, method
    return bytes(data)


FOUND = [
    ("signed by another shop", b'{"content":{},"signature":"\xc3\xa9"}'),
    ("length", b"1/00"),
    ("length", b"1 1/0000 in"),
    ("webm", bombs.webm_of_330_bytes()),
    ("csv", b"id\n\0"),
    ("csv", b'"'),
    ("webm", b""),
    ("mp4", bytes(8)),
    ("workbook", b"PK\5\6" + bytes(18)),
    ("journal", b"\n\n"),
    ("journal", journal(1).replace(b"examiner A", b"examiner \\ud83d")),
    ("recording", b"RIFF\xff\xff\xff\xffWAVEfmt "),
    ("paper", paper().replace(b"/EF", b"/EG")),
    ("paper", paper().replace(b"/Length", b"/Lengti")),
    ("export", b"manifest-sha256.txt\n\n" + b"0" * 64 + b"  data/H-0001/a\0b\n"),
    ("export", b'data/shop/sales/sallowby-wherry.jsonl\n\n{"market": "\xff"}\n'),
    ("export", b'data/files.json\n\n["\xff"]'),
    ("finding file", packed(0, 99)),
    ("finding file", packed(1, 0)),
    ("finding file", packed(0, 8)),
    ("marks drawn", b'{"outline": [[1e999, 5], [60, 12], [40, 70]]}'),
    ("border file", BORDER.replace(b"polygon", b"polygno")),
    ("border file", BORDER.replace(b"[[10", b"[[true")),
    ("border file", BORDER.replace(b"[[10,10]", b"[[10]")),
]


@pytest.mark.parametrize("name", DAMAGED_EXIF)
def test_damaged_exif_does_not_cost_the_picture(name: str) -> None:
    data = with_exif(DAMAGED_EXIF[name])
    facts = read_photograph(data, "a.jpg")
    assert {facts.width, facts.height} == {24, 16}
    assert camera_settings(data, "a.jpg") == ""
    assert outgoing_copy(data, "a.jpg", 8).startswith(b"\xff\xd8\xff")


def test_exif_in_which_all_is_wrong_but_the_position_is_said_to_hold_one() -> None:
    data = with_exif(DAMAGED_EXIF["a position in words"])
    assert read_photograph(data, "a.jpg").has_position


@pytest.mark.parametrize(("over", "under"), [(1, 0), (0, 0), (0, 1), (2**32 - 1, 1)])
def test_camera_settings_of_odd_fractions(over: int, under: int) -> None:
    made = Image.Exif()
    inner = directory(
        (33434, RATIONAL, 1, rational(over, under)),
        (33437, RATIONAL, 1, rational(8, 1)),
        (34855, SHORT, 1, struct.pack("<H", 200)),
        begins=8,
    )
    made.load(inner)
    outer = directory((POINTER, LONG, 1, struct.pack("<I", 26)))[:-4] + bytes(4) + inner[14:]
    told = camera_settings(with_exif(outer), "a.jpg")
    assert "nan" not in told
    assert "inf" not in told


@pytest.mark.parametrize(("name", "data"), FOUND)
def test_what_was_found(name: str, data: bytes) -> None:
    error = tracebacks(parsers()[name], data)
    assert error is None, repr(error)


@pytest.mark.parametrize("name", parsers())
@settings(max_examples=40)
@given(chance=st.randoms(use_true_random=False))
def test_damage_is_read_or_refused_in_words(name: str, chance: Random) -> None:
    parser = parsers()[name]
    data = damaged(chance.choice(parser.seeds), chance)
    error = tracebacks(parser, data)
    assert error is None, f"{error!r} from {data[:200]!r}"


@pytest.mark.parametrize("name", parsers())
@settings(max_examples=15)
@given(data=st.binary(max_size=200))
def test_anything_at_all_is_read_or_refused_in_words(name: str, data: bytes) -> None:
    error = tracebacks(parsers()[name], data)
    assert error is None, f"{error!r} from {data!r}"


@pytest.mark.parametrize("name", parsers())
def test_what_the_damage_is_done_to_is_whole(name: str) -> None:
    assert parsers()[name].seeds
    for data in parsers()[name].seeds:
        parsers()[name].parse(data)


def attached_bomb(kilobytes: int) -> bytes:
    """A PDF of a few kB whose attached file unpacks to *kilobytes*."""
    made = pikepdf.new()
    made.add_blank_page(page_size=(200, 200))
    stream = pikepdf.Stream(made, zlib.compress(bytes(1000 * kilobytes), 9))
    stream.Filter = pikepdf.Name.FlateDecode
    file = pikepdf.Dictionary(
        Type=pikepdf.Name.Filespec, F="copy.json", UF="copy.json", EF=pikepdf.Dictionary(F=stream)
    )
    names = pikepdf.Array(["copy.json", made.make_indirect(file)])
    made.Root.Names = pikepdf.Dictionary(EmbeddedFiles=pikepdf.Dictionary(Names=names))
    buffer = io.BytesIO()
    made.save(buffer, stream_decode_level=pikepdf.StreamDecodeLevel.none, compress_streams=False)
    return buffer.getvalue()


def test_an_attached_file_is_unpacked_within_a_bound() -> None:
    assert attached_files(attached_bomb(10), "a.pdf") == {"copy.json": bytes(10_000)}
    data = attached_bomb(70_000)
    assert len(data) < 100_000
    with pytest.raises(LimitError, match="unpack to too much"):
        attached_files(data, "a.pdf")


def test_a_paper_carries_a_bounded_number_of_files() -> None:
    made = pikepdf.new()
    made.add_blank_page(page_size=(200, 200))
    for number in range(65):
        made.attachments[f"{number}.json"] = pikepdf.AttachedFileSpec(made, b"{}")
    buffer = io.BytesIO()
    made.save(buffer)
    with pytest.raises(LimitError, match="more attached files"):
        attached_files(buffer.getvalue(), "a.pdf")

"""What a file may ask for, told from its frame before anything in it is decoded.

A few kilobytes can name a picture of gigabytes, a table of a hundred million cells, or the same
rows of pixels refined two thousand times. Here the frame alone is walked: markers of JPEG
(ISO/IEC 10918-1, B.1), chunks of PNG (ISO/IEC 15948, 5.3), members of a workbook (ISO/IEC 29500-2).
Each walk takes time in proportion to the file, and keeps nothing. What a frame does not tell is
bounded by the reader's process (`heelstamp.media.worker`). Numbers without a source are this
program's own, above what a shop's files need.
"""

from __future__ import annotations

import re
import struct
import zipfile
import zlib
from io import BytesIO

from heelstamp.errors import InputError, LimitError

LARGEST_BYTES = 200_000_000
"""Of a photograph's file."""
LARGEST_PIXELS = 120_000_000
"""Above medium format (102 million) and telephones (108 million)."""
MOST_SCANS = 64
"""A progressive JPEG of three components is usually written in 10 scans."""
MOST_SCANNED_PIXELS = 1_200_000_000
"""Pixels times scans: ten scans of the largest picture."""
MOST_SEGMENTS = 4_096
MOST_CHUNKS = 60_000
MOST_PACKED_CHUNKS = 64
LARGEST_PACKED_CHUNK = 1_000_000
"""Bytes that one chunk of text or colour profile may unpack to."""
TIGHTEST, TIGHT_FROM = 500, 50_000_000
"""Bytes of pixels for one of the file, and bytes of pixels from which this is looked at."""

MOST_MEMBERS = 1_000
MOST_SHEETS = 200
LARGEST_UNPACKED = 100_000_000
MOST_TAGS = 1_600_000
"""Opening and closing tags of all parts together; a filled cell has four, a blank one has one."""
LOOSEST, LOOSE_FROM = 100, 5_000_000
"""Bytes unpacked for one packed, and bytes unpacked from which this is looked at."""

_MARKER = re.compile(rb"\xff[\x01-\xcf\xd8-\xfe]")  # not a stuffed nought, RSTn or a fill byte
_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}  # SOFn, without DHT, JPG, DAC
_START, _SCAN, _END, _ALONE = 0xD8, 0xDA, 0xD9, 0x01
_SAMPLES = {0: 1, 2: 3, 3: 1, 4: 2, 6: 4}  # by colour type, ISO/IEC 15948, 11.2.2
_ENCODING = re.compile(rb"""[^>]{0,80}?encoding\s*=\s*["']([^"']*)""")
_STEP = 1 << 20


def bound_pixels(width: int, height: int, name: str, most: int = LARGEST_PIXELS) -> None:
    """Refuse a picture of more than *most* pixels.

    Raises
    ------
    LimitError
        It has more.
    """
    if width * height > most:
        raise LimitError(
            "more pixels than are read here"
            if most < LARGEST_PIXELS
            else "more pixels than any photograph",
            where=name,
            received=f"{width} × {height}",
            remedy=f"Stay under {most // 1_000_000} million pixels.",
        )


def bound_tightness(unpacked: int, packed: int, name: str) -> None:
    """Refuse a large picture that is packed more tightly than light and noise can be.

    Parameters
    ----------
    unpacked, packed
        Bytes of its pixels, and of its file.

    Raises
    ------
    LimitError
        More than `TIGHTEST` for one.
    """
    if unpacked > TIGHT_FROM and unpacked > TIGHTEST * packed:
        raise LimitError(
            "packed more tightly than a photograph can be",
            where=name,
            received=f"{packed / 1e3:.0f} kB that unpack to {unpacked / 1e6:.0f} MB",
            remedy="Save the picture as JPEG, or make it smaller.",
        )


def bound_jpeg(data: bytes, name: str) -> None:
    """Walk the markers of a JPEG, and refuse one of too many pixels, scans or segments.

    What is cut short or out of order is left to the decoder.

    Raises
    ------
    LimitError
        Too many of any of them.
    """
    at, pixels, scans, segments = 2, 0, 0, 0
    while (found := _MARKER.search(data, at)) is not None:
        code, at = data[found.end() - 1], found.end()
        segments += 1
        if code == _END:
            return
        if segments > MOST_SEGMENTS:
            raise _too_many("segments", segments, MOST_SEGMENTS, name)
        if code in {_START, _ALONE}:
            continue
        if code in _FRAMES and len(data) >= at + 7:
            height, width = struct.unpack_from(">HH", data, at + 3)
            bound_pixels(width, height, name)
            pixels = max(pixels, width * height)
            bound_tightness(pixels, len(data), name)
        if code == _SCAN:
            scans += 1
            most = min(MOST_SCANS, MOST_SCANNED_PIXELS // max(pixels, 1))
            if scans > most:
                raise _too_many("scans", scans, most, name)
        at += int.from_bytes(data[at : at + 2])


def bound_png(data: bytes, name: str) -> None:
    """Walk the chunks of a PNG: pixels, number of chunks, and what packed ones unpack to.

    Raises
    ------
    LimitError
        Too much of any of them.
    """
    at, chunks, packed = 8, 0, 0
    while at + 8 <= len(data):
        length, kind = struct.unpack_from(">I4s", data, at)
        chunks += 1
        if chunks > MOST_CHUNKS:
            raise _too_many("chunks", chunks, MOST_CHUNKS, name)
        body = at + 8
        if kind == b"IHDR" and length >= 10 and body + 10 <= len(data):
            width, height, depth, colour = struct.unpack_from(">IIBB", data, body)
            bound_pixels(width, height, name)
            bits = width * height * depth * _SAMPLES.get(colour, 4)
            bound_tightness(bits // 8, len(data), name)
        elif kind in {b"iCCP", b"zTXt", b"iTXt", b"tEXt"}:
            packed += 1
            if packed > MOST_PACKED_CHUNKS:
                raise _too_many("chunks of text", packed, MOST_PACKED_CHUNKS, name)
            _bound_chunk(kind, data[body : body + min(length, 2 * LARGEST_PACKED_CHUNK)], name)
        at = body + length + 4


def _bound_chunk(kind: bytes, body: bytes, name: str) -> None:
    _, _, rest = body.partition(b"\0")
    size = len(body)
    if kind == b"iTXt" and rest[:1] == b"\1":  # flag, method, language, keyword (11.3.3.4)
        rest = b"\0" + rest[2:].partition(b"\0")[2].partition(b"\0")[2]
    if kind != b"tEXt" and rest[:1] == b"\0":
        try:
            size = len(zlib.decompressobj().decompress(rest[1:], LARGEST_PACKED_CHUNK + 1))
        except zlib.error:  # damaged: the decoder passes it over or says so
            size = 0
    if size > LARGEST_PACKED_CHUNK:
        raise LimitError(
            "a chunk of text or colour profile is too large",
            where=f"{name}, {kind.decode()}",
            remedy=f"At most {LARGEST_PACKED_CHUNK // 1000} kB; save the picture without it.",
        )


def bound_workbook(data: bytes, name: str) -> None:
    """Walk the members of a workbook as they unpack: their size, tags, sheets and encoding.

    A document type is refused, as ISO/IEC 29500-2 (7.2) does: its entities grow without bound.

    Raises
    ------
    InputError
        No archive, or a part in another encoding than UTF-8 or with a document type.
    LimitError
        Too much of anything.
    """
    members = data.count(b"PK\1\2")
    if members > MOST_MEMBERS:
        raise _too_many("parts", members, MOST_MEMBERS, name)
    with zipfile.ZipFile(BytesIO(data)) as archive:
        listed = archive.infolist()
        unpacked = sum(one.file_size for one in listed)
        if unpacked > LARGEST_UNPACKED or (
            unpacked > LOOSE_FROM and unpacked > LOOSEST * len(data)
        ):
            raise LimitError(
                "the workbook unpacks to too much",
                where=name,
                received=f"{len(data) / 1e3:.0f} kB that unpack to {unpacked / 1e6:.0f} MB",
                remedy="Keep only the sheet that matters, or save it as .csv.",
            )
        tags = sheets = 0
        for one in listed:
            with archive.open(one) as part:
                last = b""
                while piece := part.read(_STEP):
                    _plain_xml(piece if not last else last + piece, name, first=not last)
                    tags += piece.count(b"<")
                    last = piece[-16:]
                    sheets += piece.count(b"sheetId")
                    if tags > MOST_TAGS:
                        raise _too_many("cells and tags", tags, MOST_TAGS, name)
        if sheets > MOST_SHEETS:
            raise _too_many("sheets", sheets, MOST_SHEETS, name)


def _plain_xml(piece: bytes, name: str, *, first: bool) -> None:
    """Refuse what would hide tags from being counted, and what makes text of text."""
    told = (
        _ENCODING.match(piece) if first and piece[:4].lstrip(b"\xef\xbb\xbf")[:1] == b"<" else None
    )
    other = told is not None and told[1].lower() not in {b"utf-8", b"us-ascii", b"ascii"}
    wide = first and piece[:2] in {b"\xff\xfe", b"\xfe\xff", b"<\0", b"\0<"}
    if other or wide or b"<!DOCTYPE" in piece:
        raise InputError(
            "a part of the workbook is not plain UTF-8 text",
            where=name,
            remedy="Save it again as .xlsx, unlocked.",
        )


def _too_many(what: str, received: int, most: int, name: str) -> LimitError:
    return LimitError(
        f"too many {what}", where=name, received=received, remedy=f"At most {most} are read."
    )

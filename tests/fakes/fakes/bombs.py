"""Small files that ask for much: each made here, byte by byte or with the library's own writer.

Deflate blocks behind a full flush do not look back (RFC 1951), so that one of them may be repeated;
Adler-32 of n noughts is n mod 65521 above 1 (RFC 1950).
"""

from __future__ import annotations

import io
import struct
import zipfile
import zlib

import numpy as np
import soundfile
from PIL import Image

SHEET = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'


def deflated_noughts(count: int) -> bytes:
    """Pack *count* noughts as zlib would, without packing them all."""
    step = 1 << 20
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    packer.compress(bytes(step))
    packer.flush(zlib.Z_FULL_FLUSH)
    block = packer.compress(bytes(step)) + packer.flush(zlib.Z_FULL_FLUSH)
    last = zlib.compressobj(9, zlib.DEFLATED, -15)
    tail = last.compress(bytes(count % step)) + last.flush()
    check = (count % 65521) << 16 | 1
    return b"\x78\xda" + block * (count // step) + tail + struct.pack(">I", check)


def chunk(kind: bytes, body: bytes) -> bytes:
    """One chunk of a PNG (ISO/IEC 15948, 5.3)."""
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png(width: int, height: int, *, depth: int = 8, colour: int = 6, between: bytes = b"") -> bytes:
    """A black PNG of any size; *between* stands before the pixels."""
    samples = {0: 1, 2: 3, 4: 2, 6: 4}[colour]
    noughts = height * (1 + width * samples * depth // 8)
    head = struct.pack(">IIBBBBB", width, height, depth, colour, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + between
        + chunk(b"IDAT", deflated_noughts(noughts))
        + chunk(b"IEND", b"")
    )


def large_png() -> bytes:
    """628 kB that decode to 159 million pixels with opacity."""
    return png(12_600, 12_600)


def profile_png() -> bytes:
    """A small picture whose colour profile unpacks to a gigabyte."""
    return png(64, 48, between=chunk(b"iCCP", b"colours\0\0" + deflated_noughts(1_000_000_000)))


def scanned_jpeg(side: int = 8000, scans: int = 1900) -> bytes:
    """A progressive JPEG whose last scan comes again and again: 600 kB, hours of refining."""
    buffer = io.BytesIO()
    Image.new("L", (side, side), 128).save(buffer, "JPEG", progressive=True, quality=50)
    data = buffer.getvalue()
    last = data.rindex(b"\xff\xda")
    return data[:last] + data[last:-2] * scans + b"\xff\xd9"


def workbook(sheet: str | bytes, **parts: str | bytes) -> bytes:
    """A workbook of one sheet, given as its XML, and further parts by their names."""
    kinds = "application/vnd.openxmlformats-officedocument.spreadsheetml."
    office = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    package = "http://schemas.openxmlformats.org/package/2006"
    spread = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    texts = {
        "[Content_Types].xml": f'<Types xmlns="{package}/content-types">'
        '<Default Extension="rels" '
        'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{kinds}sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{kinds}worksheet+xml"/>'
        f'<Override PartName="/xl/sharedStrings.xml" ContentType="{kinds}sharedStrings+xml"/>'
        "</Types>",
        "_rels/.rels": f'<Relationships xmlns="{package}/relationships"><Relationship Id="r1" '
        f'Type="{office}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{spread}" xmlns:r="{office}"><sheets>'
        '<sheet name="census" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{package}/relationships">'
        f'<Relationship Id="r1" Type="{office}/worksheet" Target="worksheets/sheet1.xml"/>'
        f'<Relationship Id="r2" Type="{office}/sharedStrings" Target="sharedStrings.xml"/>'
        "</Relationships>",
        "xl/sharedStrings.xml": f'<sst xmlns="{spread}"/>',
        "xl/worksheets/sheet1.xml": sheet,
        **parts,
    }
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for name, text in texts.items():
            packed.writestr(name, text)
    return buffer.getvalue()


def full_workbook(rows: int = 60_000, columns: int = 20) -> bytes:
    """66 kB of a sheet in which every cell says the same."""
    row = "<row>" + "<c><v>1</v></c>" * columns + "</row>"
    return workbook(f"{SHEET}<sheetData>{row * rows}</sheetData></worksheet>")


def wide_workbook(columns: str = "SF", rows: int = 200_000) -> bytes:
    """A few kB whose head promises a table, of which only the first and last row are there."""
    return workbook(
        f'{SHEET}<dimension ref="A1:{columns}{rows}"/><sheetData>'
        '<row r="1"><c r="A1"><v>1</v></c></row>'
        f'<row r="{rows}"><c r="{columns}{rows}"><v>1</v></c></row></sheetData></worksheet>'
    )


def far_workbook(rows: int = 100_000) -> bytes:
    """Rows of a single cell each, in the last column there can be."""
    row = '<row><c r="XFD1"/></row>'
    return workbook(f"{SHEET}<sheetData>{row * rows}</sheetData></worksheet>")


def hollow_workbook(megabytes: int = 4000) -> bytes:
    """A workbook with a part of spaces alone, packed a thousand times."""
    buffer = io.BytesIO(workbook(f"{SHEET}<sheetData/></worksheet>"))
    with (
        zipfile.ZipFile(buffer, "a", zipfile.ZIP_DEFLATED, compresslevel=9) as packed,
        packed.open("xl/styles.xml", "w", force_zip64=True) as part,
    ):
        for _ in range(megabytes):
            part.write(b" " * 1_000_000)
    return buffer.getvalue()


def entity_workbook() -> bytes:
    """A sheet whose text is made of entities that name entities."""
    named = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 9))
    return workbook(
        f'<!DOCTYPE worksheet [<!ENTITY e0 "mark">{named}]>{SHEET}<sheetData><row>'
        '<c t="inlineStr"><is><t>&e8;</t></is></c></row></sheetData></worksheet>'
    )


def commas(megabytes: float) -> bytes:
    """A comma file without a word in it but its head."""
    line = b"," * 499 + b"\n"
    return b"id\n" + line * int(megabytes * 1e6 / len(line))


def long_flac(seconds: int = 1200) -> bytes:
    """Eight channels of silence at 96 kHz; 36 GB as numbers per hour, a few kB as a file."""
    buffer = io.BytesIO()
    silent = np.zeros((96_000, 8), np.int16)
    with soundfile.SoundFile(buffer, "w", 96_000, 8, format="FLAC", subtype="PCM_16") as file:
        for _ in range(seconds):
            file.write(silent)
    return buffer.getvalue()


def long_mp3(seconds: int = 6000) -> bytes:
    """Silence of a hundred minutes: one frame again and again, no head that tells how many."""
    buffer = io.BytesIO()
    soundfile.write(buffer, np.zeros(44_100), 44_100, format="MP3", subtype="MPEG_LAYER_III")
    data = buffer.getvalue()
    starts = [n for n in range(len(data) - 1) if data[n] == 0xFF and data[n + 1] & 0xE6 == 0xE2]
    frame = data[starts[-2] : starts[-1]]
    return frame * int(seconds * 44_100 / 1152)


def webm_of_330_bytes() -> bytes:
    """A spoken note whose unit of time is a number of 283 bytes (RFC 9559: eight at most)."""
    head = b"\x1aE\xdf\xa3\x87\x42\x82\x84webm"
    scale = b"\x2a\xd7\xb1" + b"\x41\x1b" + b"\xff" * 283
    tracks = b"\x16T\xaek\x85\xae\x83\x83\x81\x02"
    cluster = b"\x1f\x43\xb6\x75\x8a\xe7\x81\x01\xa3\x85\x81\x00\x07\x80\x00"
    return head + b"\x18\x53\x80\x67\xff" + scale + tracks + cluster

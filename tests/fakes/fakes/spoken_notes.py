"""Spoken notes without sound in them: the frame of a WebM (RFC 9559) and of an MP4 file."""

from __future__ import annotations

import struct

UNKNOWN = b"\x01\xff\xff\xff\xff\xff\xff\xff"


def _element(name: str, body: bytes, *, known: bool = True) -> bytes:
    size = (len(body) | 1 << 28).to_bytes(4) if known else UNKNOWN
    return bytes.fromhex(name) + size + body


def webm(seconds: float, *, kind: int = 2, doctype: bytes = b"webm") -> bytes:
    """Write a WebM whose last block begins at *seconds*, as a browser does: lengths not known."""
    track = _element("1654AE6B", _element("AE", _element("83", bytes([kind]))))
    scale = _element("1549A966", _element("2AD7B1", (1_000_000).to_bytes(3)))
    clusters = b""
    for begin in range(0, int(1000 * seconds) + 1, 1000):
        time = _element("E7", begin.to_bytes(4))
        block = _element("A3", b"\x81" + struct.pack(">h", 0) + b"\x80" + bytes(20))
        clusters += _element("1F43B675", time + block, known=False)
    head = _element("1A45DFA3", _element("4282", doctype))
    return head + _element("18538067", scale + track + clusters, known=False)


def mp4(seconds: float, *, handler: bytes = b"soun", fragments: bool = False) -> bytes:
    """Write an MP4 of *seconds*; in fragments the length stands in the last one alone."""

    def box(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I4s", 8 + len(body), name) + body

    rate = 1000
    length = 0 if fragments else int(rate * seconds)
    times = struct.pack(">IIIII", 0, 0, 0, rate, length)
    media = box(b"mdhd", times) + box(b"hdlr", bytes(8) + handler + bytes(13))
    movie = box(b"mvhd", times) + box(b"trak", box(b"mdia", media))
    file = box(b"ftyp", b"mp42" + bytes(4)) + box(b"moov", movie)
    if fragments:
        begin = struct.pack(">II", 0, int(rate * seconds))
        file += box(b"moof", box(b"traf", box(b"tfdt", begin)))
    return file + box(b"mdat", bytes(64))

"""Spoken notes as browsers record them: WebM and MP4 walked through, never decoded.

Only the frame of the file is read: that it is whole, that it holds sound and no picture, and how
long it is. WebM is EBML (RFC 8794) with the elements of Matroska (RFC 9559); lengths that a
recorder did not know when it wrote them are taken as it left them. MP4 is ISO/IEC 14496-12 (4.2,
8.2.2, 8.4.2, 8.4.3, 8.8.12), whole or in fragments. Whether the sound itself can be played is not
looked at, and a file that was cut between two blocks is not known from a whole one.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

from heelstamp.errors import InputError

_DOCTYPE, _SEGMENT, _INFO, _TRACKS, _TRACK = 0x4282, 0x18538067, 0x1549A966, 0x1654AE6B, 0xAE
_CLUSTER, _GROUP, _EBML = 0x1F43B675, 0xA0, 0x1A45DFA3
_SCALE, _KIND, _CLUSTER_TIME, _SIMPLE, _BLOCK = 0x2AD7B1, 0x83, 0xE7, 0xA3, 0xA1
_ENTERED = frozenset({_EBML, _SEGMENT, _INFO, _TRACKS, _TRACK, _CLUSTER, _GROUP})
_AUDIO = 2
_BOXES_ENTERED = frozenset({b"moov", b"trak", b"mdia", b"mvex", b"moof", b"traf"})
_REMEDY = "Record it again."


def spoken_seconds(data: bytes, kind: str, name: str) -> float:
    """The length of a spoken note in seconds.

    Parameters
    ----------
    kind
        ``audio/webm`` or ``audio/mp4``.

    Raises
    ------
    InputError
        Cut short, not of that kind inside, without sound, or with a picture.
    """
    try:
        return _webm(data, name) if kind == "audio/webm" else _mp4(data, name)
    except (struct.error, IndexError, UnicodeDecodeError):
        raise _no_note("the spoken note is cut short", name) from None


def _webm(data: bytes, name: str) -> float:
    scale_ns, cluster, last, kinds = 1_000_000, 0, -1, set()
    for element, body in _elements(data):
        if element == _DOCTYPE and body not in (b"webm", b"matroska"):
            raise _no_note("not a WebM recording inside", name)
        if element == _SCALE:
            scale_ns = _unsigned(body)
        elif element == _KIND:
            kinds.add(_unsigned(body))
        elif element == _CLUSTER_TIME:
            cluster = _unsigned(body)
        elif element in (_SIMPLE, _BLOCK):
            _, after = _number(body, 0)
            last = max(last, cluster + struct.unpack_from(">h", body, after)[0])
    _refuse_silent(kinds == {_AUDIO} and last >= 0, name)
    return last * scale_ns / 1e9


def _elements(data: bytes) -> Iterator[tuple[int, bytes]]:
    """The elements in their order; those that hold others are entered, not given."""
    at = 0
    while at < len(data):
        width = 9 - data[at].bit_length()
        element = int.from_bytes(data[at : at + width])
        size, begin = _number(data, at + width)
        if width > 4 or begin > len(data):
            raise IndexError
        if element in _ENTERED:
            at = begin
            continue
        if size is None or begin + size > len(data):
            raise IndexError
        yield element, data[begin : begin + size]
        at = begin + size


def _number(data: bytes, at: int) -> tuple[int | None, int]:
    """Read a variable-length number (RFC 8794, 4); None when all its bits are ones: not known."""
    width = 9 - data[at].bit_length()
    if width > 8 or at + width > len(data):
        raise IndexError
    value = int.from_bytes(data[at : at + width]) & ((1 << 7 * width) - 1)
    return (None if value == (1 << 7 * width) - 1 else value), at + width


def _unsigned(body: bytes) -> int:
    """Read an unsigned number, of at most eight bytes (RFC 8794, 7.2)."""
    if len(body) > 8:
        raise IndexError
    return int.from_bytes(body)


def _mp4(data: bytes, name: str) -> float:
    seconds, handlers, scale, fragment = 0.0, set(), 0, 0
    at = 0
    while at < len(data):
        size, box = struct.unpack_from(">I4s", data, at)
        head = 8
        if size == 1:
            size, head = struct.unpack_from(">Q", data, at + 8)[0], 16
        size = size or len(data) - at
        if size < head or at + size > len(data):
            raise IndexError
        body = data[at + head : at + size]
        wide = body[:1] == b"\x01"
        if box == b"mvhd":
            form = ">IQ" if wide else ">II"
            of, length = struct.unpack_from(form, body, 20 if wide else 12)
            seconds = length / of if of else 0.0
        elif box == b"mdhd":
            scale = struct.unpack_from(">I", body, 20 if wide else 12)[0]
        elif box == b"hdlr":
            handlers.add(bytes(body[8:12]))
        elif box == b"tfdt":
            fragment = max(fragment, struct.unpack_from(">Q" if wide else ">I", body, 4)[0])
        at += head if box in _BOXES_ENTERED else size
    _refuse_silent(b"soun" in handlers and b"vide" not in handlers, name)
    return max(seconds, fragment / scale if scale else 0.0)


def _refuse_silent(sound_alone: bool, name: str) -> None:
    if not sound_alone:
        raise _no_note("a spoken note holds sound and nothing else", name)


def _no_note(what: str, name: str) -> InputError:
    return InputError(what, where=name, remedy=_REMEDY)

"""What kind of recording a file is, by its first bytes; nothing is decoded, no library loaded."""

from __future__ import annotations

from heelstamp.errors import InputError

_HEADS: tuple[tuple[bytes, int, str], ...] = (
    (b"fLaC", 0, "audio/flac"),
    (b"OggS", 0, "audio/ogg"),
    (b"ftyp", 4, "audio/mp4"),
    (b"\x1aE\xdf\xa3", 0, "audio/webm"),
    (b"ID3", 0, "audio/mpeg"),
)
"""First bytes, where they stand, and the media type: RFC 9639, RFC 3533, ISO/IEC 14496-12 (4.3),
RFC 8794 (EBML), ID3v2."""


def sound_type(data: bytes, name: str) -> str:
    """The media type of a recording by its first bytes, whatever it is called.

    Matroska and MP4 files are known but not decoded here: they hold speech, not measurements.

    Raises
    ------
    InputError
        Empty, or of no known kind.
    """
    if data[:4] in (b"RIFF", b"RF64") and data[8:12] == b"WAVE":
        return "audio/wav"
    if data[:4] == b"FORM" and data[8:12] in (b"AIFF", b"AIFC"):
        return "audio/aiff"
    if len(data) > 2 and data[0] == 0xFF and data[1] & 0xE6 == 0xE2:  # layer III, MPEG 1, 2 or 2.5
        return "audio/mpeg"
    for head, at, kind in _HEADS:
        if data[at : at + len(head)] == head:
            return kind
    raise InputError(
        "not a recording" if data else "the recording is empty",
        where=name,
        remedy="Record it again, or choose a sound file.",
    )

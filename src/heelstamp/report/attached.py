"""The files that travel inside a paper, taken out of its PDF.

A PDF may come from anybody: what is attached is unpacked here, within a bound, and only as papers
pack it: as it is, or by one ``FlateDecode`` without parameters (ISO 32000-2, 7.4.4).
"""

from __future__ import annotations

import io
import zlib
from typing import TYPE_CHECKING

from heelstamp.errors import InputError, LimitError

if TYPE_CHECKING:
    import pikepdf

MOST = 64
"""Files that are taken out of one paper."""
UNPACKED_MAX = 64_000_000
"""Bytes of all of them together."""


def attached_files(paper: bytes, name: str) -> dict[str, bytes]:
    """Return the attached files by name.

    Raises
    ------
    InputError
        Not a PDF that can be read.
    LimitError
        More files, or more in them, than any paper carries.
    """
    import pikepdf  # noqa: PLC0415 - wanted only when a paper is taken apart

    try:
        with pikepdf.open(io.BytesIO(paper)) as opened:
            attached = opened.attachments
            if len(attached) > MOST:
                raise LimitError(
                    "more attached files than a paper carries",
                    where=name,
                    received=len(attached),
                    remedy="Get the paper again from where it was made.",
                )
            files: dict[str, bytes] = {}
            left = UNPACKED_MAX
            for key in attached:
                files[key] = _content(attached[key].get_file().obj, left, name)
                left -= len(files[key])
            return files
    except (pikepdf.PdfError, zlib.error, *_DAMAGED) as error:
        raise InputError(
            "not a PDF that can be read", where=name, received=error, remedy="Get it again."
        ) from error


_DAMAGED = (KeyError, ValueError, TypeError, AttributeError, RuntimeError, OverflowError)
"""What the library raises where a part is missing, or of another kind than it should be."""


def _content(stream: pikepdf.Object, most: int, name: str) -> bytes:
    packed = stream.read_raw_bytes()
    filters = stream.stream_dict.get("/Filter")
    plain = {} if filters is None else {str(filters)}
    if filters is None:
        content, whole = packed, len(packed) <= most
    elif plain == {"/FlateDecode"} and "/DecodeParms" not in stream.stream_dict:
        unpacker = zlib.decompressobj()
        content = unpacker.decompress(packed, most)
        whole = unpacker.eof
        if not whole and len(content) < most:
            raise ValueError("an attached file is cut short")
    else:
        raise ValueError(f"an attached file is packed by {filters}")
    if not whole:
        raise LimitError(
            "the attached files unpack to too much",
            where=name,
            remedy="Get the paper again from where it was made.",
        )
    return content

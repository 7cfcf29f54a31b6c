"""The files that travel inside a paper, taken out of its PDF."""

from __future__ import annotations

import io

from heelstamp.errors import InputError


def attached_files(paper: bytes, name: str) -> dict[str, bytes]:
    """Return the attached files by name.

    Raises
    ------
    InputError
        Not a PDF that can be read.
    """
    import pikepdf  # noqa: PLC0415 - wanted only when a paper is taken apart

    try:
        with pikepdf.open(io.BytesIO(paper)) as opened:
            return {key: one.get_file().read_bytes() for key, one in opened.attachments.items()}
    except pikepdf.PdfError as error:
        raise InputError(
            "not a PDF that can be read", where=name, received=error, remedy="Get it again."
        ) from error

"""A finding with its pictures in one file, as a shop keeps it and any program opens it.

A ZIP archive, nothing compressed (PKWARE APPNOTE 6.3, method 0), members in a fixed order with a
fixed time, so that equal content is an equal file: ``finding.json`` (the plain values of the
finding) and pictures by name. Papers are made from this file alone; no photograph is judged again.
"""

from __future__ import annotations

import io
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.archive import canonical_json, read_json
from heelstamp.casework.finish.finding import FinishFinding
from heelstamp.errors import InputError, IntegrityError

FINDING = "finding.json"
PAIR, OVERLAY, MAP = "pair.jpg", "overlay.jpg", "map.png"
MEDIA_TYPE = "application/zip"
EARLIEST = (1980, 1, 1, 0, 0, 0)
MEMBER_MAX = 40_000_000
DAMAGED = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError)
"""What a reader of archives raises: packed otherwise or encrypted is a RuntimeError."""


@dataclass(frozen=True, slots=True)
class KeptFinding:
    """What a kept file holds: plain values of the finding, and pictures by name."""

    data: Mapping[str, Any]
    pictures: Mapping[str, bytes]


def packed(finding: FinishFinding, pictures: Mapping[str, bytes]) -> bytes:
    """Put a finding and its pictures into one file."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        members = {FINDING: canonical_json(finding.data()), **dict(sorted(pictures.items()))}
        for name, content in members.items():
            archive.writestr(zipfile.ZipInfo(name, EARLIEST), content)
    return out.getvalue()


def unpacked(content: bytes, *, where: str) -> KeptFinding:
    """Read a kept file.

    Parameters
    ----------
    where
        The entry that names it, for errors.

    Raises
    ------
    IntegrityError
        Not such a file, or a member is larger than any picture.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            told = archive.infolist()
            small = all(one.file_size <= MEMBER_MAX for one in told)
            members = {one.filename: archive.read(one) for one in told} if small else {}
        data = read_json(members.pop(FINDING))
        known = data["verdict"] in ("assessed", "refused")
    except (*DAMAGED, KeyError, TypeError, ValueError, InputError) as error:
        raise _unreadable(where, error) from error
    if not known:
        raise _unreadable(where, data["verdict"])
    return KeptFinding(data, members)


def _unreadable(where: str, received: object) -> IntegrityError:
    return IntegrityError(
        "a kept finding cannot be read",
        where=where,
        received=received,
        remedy="Examine the pair again with glow and --enter.",
    )

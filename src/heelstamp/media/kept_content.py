"""A file kept by its content, wherever it is kept: its name, its check, and that it is missing."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from heelstamp.archive import is_digest, sha256
from heelstamp.casework.ports import FileFault
from heelstamp.errors import RESTORE, InputError, IntegrityError


def kept_name(digest: str) -> str:
    """Name below the folder or the prefix of the file with this digest, kept or not.

    Raises
    ------
    InputError
        Not a SHA-256.
    """
    if not is_digest(digest):
        raise InputError(
            "not a SHA-256", received=digest, remedy="Give 64 lower-case hexadecimal digits."
        )
    return f"{digest[:2]}/{digest[2:]}"


def missing(digest: str) -> IntegrityError:
    """The error that a kept file is not there."""
    return IntegrityError("a kept file is missing", where=f"file {digest[:12]}…", remedy=RESTORE)


def held_to(data: bytes, digest: str) -> bytes:
    """The content, once it was found to be what its digest says.

    Raises
    ------
    IntegrityError
        It has changed.
    """
    if (found := sha256(data)) != digest:
        raise IntegrityError(
            "a kept file has changed",
            where=f"file {digest[:12]}…",
            received=f"SHA-256 {found}",
            remedy=RESTORE,
        )
    return data


def missing_faults(expected: Mapping[str, int], kept: Collection[str]) -> list[FileFault]:
    """A fault for each file there should be (bytes by digest) that is not kept."""
    return [
        FileFault(digest, "missing", f"{size} bytes, SHA-256 {digest}")
        for digest, size in sorted(expected.items())
        if digest not in kept
    ]

"""SHA-256 (FIPS 180-4) of bytes and of canonical JSON, in lower-case hexadecimal."""

from __future__ import annotations

import hashlib

from heelstamp.archive.canonical import canonical_json

DIGEST_LENGTH = 64


def sha256(data: bytes) -> str:
    """The SHA-256 of *data*.

    Examples
    --------
    >>> sha256(b"abc")[:16]
    'ba7816bf8f01cfea'
    """
    return hashlib.sha256(data).hexdigest()


def digest_of(value: object, *, where: str = "") -> str:
    """The SHA-256 of the canonical JSON of *value*.

    Raises
    ------
    InputError
        The value has no canonical form.
    """
    return sha256(canonical_json(value, where=where))


def is_digest(text: object) -> bool:
    """Whether *text* has the form of a SHA-256."""
    return (
        isinstance(text, str)
        and len(text) == DIGEST_LENGTH
        and all(character in "0123456789abcdef" for character in text)
    )

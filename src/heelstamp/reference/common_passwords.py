"""The 10,000 commonest passwords, as the first six bytes of the SHA-256 of each.

From the list that Django 5.2 ships (BSD 3-Clause, Copyright (c) Django Software Foundation and
individual contributors), by ``builders/common_passwords.py``.
"""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib import resources

FILE, BYTES = "common_passwords.bin", 6


@cache
def _digests() -> frozenset[bytes]:
    data = (resources.files("heelstamp.reference") / FILE).read_bytes()
    return frozenset(data[at : at + BYTES] for at in range(0, len(data), BYTES))


def is_common_password(word: str) -> bool:
    """Whether *word*, in any case, is among the commonest."""
    return sha256(word.casefold().encode()).digest()[:BYTES] in _digests()

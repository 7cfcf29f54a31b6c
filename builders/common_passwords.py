"""Make the list of the commonest passwords, as digests, from the list that Django ships.

Source: ``django/contrib/auth/common-passwords.txt.gz`` of the wheel Django 5.2, the commonest
first, in small letters; BSD 3-Clause, Copyright (c) Django Software Foundation and individual
contributors. The first 10,000 are kept. Written are the first six bytes of each one's SHA-256,
sorted: no text of the list stands in the program, and of 10^8 other passwords fewer than one is
taken for one.

Usage: ``pip download --no-deps django==5.2.*``, then
``python builders/common_passwords.py django-5.2.*.whl``.
"""

from __future__ import annotations

import gzip
import sys
import zipfile
from hashlib import sha256
from pathlib import Path

COUNT, BYTES = 10_000, 6
WITHIN = "django/contrib/auth/common-passwords.txt.gz"
OUT = Path(__file__).resolve().parents[1] / "src" / "heelstamp" / "reference"


def main(wheel: str) -> None:
    """Write the digests."""
    with zipfile.ZipFile(wheel) as packed:
        words = gzip.decompress(packed.read(WITHIN)).decode("utf-8").split("\n")
    chosen = list(dict.fromkeys(word for word in words if word))[:COUNT]
    made = sorted(sha256(word.encode()).digest()[:BYTES] for word in chosen)
    if len(set(made)) != COUNT:
        raise SystemExit(f"{COUNT} different ones were expected, {len(set(made))} came")
    (OUT / "common_passwords.bin").write_bytes(b"".join(made))
    print(f"{COUNT} digests, {COUNT * BYTES} bytes")


if __name__ == "__main__":
    main(sys.argv[1])

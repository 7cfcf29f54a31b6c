"""What one backup holds, as its manifest lists it."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

SCHEMA: Literal["heelstamp/backup/1"] = "heelstamp/backup/1"

Digest = Annotated[str, msgspec.Meta(pattern=r"^[0-9a-f]{64}$")]


class KeptEnd(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Number of entries of a dossier, and digest of the last."""

    length: Annotated[int, msgspec.Meta(ge=1)]
    digest: Digest


class KeptFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """SHA-256 and length in bytes."""

    digest: Digest
    size: Annotated[int, msgspec.Meta(ge=0)]


class Manifest(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What one backup holds.

    Attributes
    ----------
    at
        When the database was copied, UTC.
    program
        Version that made it.
    engine
        Of the database that was copied; the copy is an SQLite file either way.
    ledger
        Digest of the last line of the ledger; None where there is none.
    dossiers
        By tag.
    files
        Length in bytes of each file of the shop, by SHA-256.
    documents
        By path within the shop.
    lacking
        SHA-256 of files that were missing or changed in the shop, and are in no earlier backup.
    faults
        What was wrong with the database.
    """

    schema: Literal["heelstamp/backup/1"]
    at: str
    program: str
    shop: str
    engine: Literal["sqlite", "postgresql"]
    database: KeptFile
    ledger: Digest | None
    dossiers: dict[str, KeptEnd]
    files: dict[Digest, int]
    documents: dict[str, KeptFile]
    lacking: list[Digest] = []
    faults: list[str] = []

    @property
    def whole(self) -> bool:
        """Whether the shop was whole when it was copied."""
        return not self.lacking and not self.faults

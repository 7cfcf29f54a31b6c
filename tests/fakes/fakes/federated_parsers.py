"""The parsers that files of other shops meet: what is signed, tables, entries and parts of sums."""

import tempfile
from functools import cache
from pathlib import Path
from typing import Any

import msgspec
import numpy as np

from fakes.carried_parsers import Parser
from fakes.wherry_census import document, wherry_rows
from heelstamp.archive import canonical_json, read_json
from heelstamp.casework.federation.ground import Ground
from heelstamp.casework.federation.making import make_tables
from heelstamp.casework.federation.masked import (
    ENTRY_SCHEMA,
    Roster,
    SumEntry,
    mask_tables,
    read_entry,
    read_masked,
)
from heelstamp.casework.federation.summary import read_tables, sealed, unsealed
from heelstamp.shop.shop_key import shop_key

KEYS = [f"{n}" * 64 for n in range(6)]


@cache
def ground() -> Ground:
    """The ground of the invented maker."""
    return Ground.of(document())


def entry() -> SumEntry:
    """An entry into a sum."""
    return SumEntry(
        schema=ENTRY_SCHEMA,
        chronology=ground().chronology.id,
        ground=ground().digest,
        sum="spring",
        day="2026-11-30",
        public="ab" * 32,
        features=["f01"],
    )


@cache
def federated_parsers() -> dict[str, Parser]:
    """All of them by name."""
    made = make_tables(
        ground(), wherry_rows(), (), gathered="all that came in", day="2026-11-30", program="0"
    )
    few = msgspec.structs.replace(made.tables, tables=made.tables.tables[:2])
    roster = Roster(dict.fromkeys(KEYS, entry()))
    steps = {"f01": np.zeros(ground().shape, dtype=np.int64)}
    part = mask_tables(steps, roster, KEYS[0], lambda _: bytes(32), ground=ground(), name="spring")
    with tempfile.TemporaryDirectory() as folder:
        key = shop_key(Path(folder), "Lock")
        signed = sealed(msgspec.to_builtins(entry()), key.certificate, key.sign)

    def content(data: bytes) -> dict[str, Any]:
        value = read_json(data)
        return value if isinstance(value, dict) else {}

    def plain(value: object) -> bytes:
        return canonical_json(msgspec.to_builtins(value))

    return {
        "signed by another shop": Parser(lambda data: unsealed(data, "a.json"), [signed]),
        "tables of a census": Parser(
            lambda data: read_tables(content(data), ground(), "a.json"), [plain(few)]
        ),
        "entry into a sum": Parser(
            lambda data: read_entry(content(data), ground(), "spring", "a.json"), [plain(entry())]
        ),
        "part of a sum": Parser(
            lambda data: read_masked(content(data), ground(), roster, "spring", "a.json"),
            [plain(part)],
        ),
    }

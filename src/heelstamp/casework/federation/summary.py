"""The tables that one shop hands to others: the document, what is refused in it, its signature.

Schema ``heelstamp/census-tables/1``, canonical JSON, signed with the shop's key over its bytes. It
holds per feature the table in whole steps of a hundredth of a nat and how many looks it rests on,
in bands; no instrument, no month of one, no number, no name. `heelstamp.casework.federation.limits`
tells when a table may be made at all.

Whose key it is, the reader must know from elsewhere. What cannot be is refused: another edition,
grid or schema, a largest number that is not 0, numbers that are not whole, a table that says more
than its looks can say, too few looks.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Annotated, Any, Literal

import msgspec
import numpy as np

from heelstamp.archive import canonical_json, read_json, sha256
from heelstamp.archive.signed import CHANGED, SignatureFault, read_detached, signed_data
from heelstamp.casework.federation.ground import Ground
from heelstamp.catalogue.conversion import convert
from heelstamp.dating.federation.tables import STEP, Steps, most_of_one_look
from heelstamp.errors import InputError, LimitError

SCHEMA: Literal["heelstamp/census-tables/1"] = "heelstamp/census-tables/1"
LARGEST = 8_000_000
"""Bytes of a file of tables that is read: one of 17 features has some 160,000."""

Gathered = Literal["all that came in", "only what was sold", "one variant collected"]
GATHERED: tuple[Gathered, ...] = ("all that came in", "only what was sold", "one variant collected")
Band = Literal["under 20", "20-49", "50-99", "100-199", "200-499", "500 and more"]
BANDS: tuple[tuple[Band, int, int], ...] = (
    ("under 20", 0, 19),
    ("20-49", 20, 49),
    ("50-99", 50, 99),
    ("100-199", 100, 199),
    ("200-499", 200, 499),
    ("500 and more", 500, 100_000),
)
"""Band, its least and its most."""
_WHOLE = re.compile(r"-?\d{1,9}( -?\d{1,9})*", re.ASCII)
_LEAST = {name: least for name, least, _ in BANDS}
_MOST = {name: most for name, _, most in BANDS}
Digest = Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]
Day = Annotated[str, msgspec.Meta(pattern=r"^\d{4}-\d{2}-\d{2}$")]
Name = Annotated[str, msgspec.Meta(min_length=1, max_length=200)]


class FeatureTable(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """The table of one change-over.

    Attributes
    ----------
    instruments, looks
        Instruments that were looked at, and looks at them, in bands; one instrument may show a
        feature in several places.
    variants
        Looks at the older and at the newer variant, in bands.
    blurred
        Whether dates were blurred by a normal distribution of sd 6 months.
    steps
        Log likelihood less its maximum, in steps of a hundredth of a nat: a row a centre, in it a
        whole number a width, one space between.
    """

    feature: Name
    instruments: Band
    looks: Band
    variants: tuple[Band, Band]
    blurred: bool
    steps: list[str]


class CensusTables(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What one shop hands to others of one maker.

    Attributes
    ----------
    ground
        Digest of all by which both must date; `heelstamp.casework.federation.ground`.
    round
        1: every instrument was dated without any feature that is exchanged. Tables of later rounds
        would rest on one set of joined curves, and are not read.
    number, before
        Number of the shop's tables of this maker, from 1, and the digest of those before.
    gathered, dated_by
        How the instruments came into the census; ``marks``, ``documents`` or both.
    """

    schema: Literal["heelstamp/census-tables/1"]
    chronology: Name
    ground: Digest
    round: Literal[1]
    program: Name
    number: Annotated[int, msgspec.Meta(ge=1, le=1_000_000)]
    before: Annotated[str, msgspec.Meta(pattern="^([0-9a-f]{64})?$")]
    day: Day
    gathered: Gathered
    dated_by: list[Literal["marks", "documents"]]
    tables: Annotated[list[FeatureTable], msgspec.Meta(min_length=1, max_length=500)]

    @property
    def digest(self) -> str:
        """SHA-256 of its canonical form."""
        return sha256(canonical_json(msgspec.to_builtins(self)))


class Sealed(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Content and the signature over its canonical form: a CMS SignedData without content."""

    content: dict[str, Any]
    signature: str


def gathered_named(text: str) -> Gathered:
    """How instruments came into a census, as it is told.

    Raises
    ------
    InputError
        It is no such way.
    """
    for one in GATHERED:
        if one == text.strip().lower():
            return one
    raise InputError(
        "no such way of gathering",
        received=text,
        remedy="One of: " + ", ".join(f'"{one}"' for one in GATHERED) + ".",
    )


def band_of(count: int) -> Band:
    """The band of a count."""
    return next(name for name, _, most in BANDS if count <= most or name == BANDS[-1][0])


def least_of(band: Band) -> int:
    """The least count of a band."""
    return _LEAST[band]


def sealed(content: Mapping[str, Any], certificate: bytes, sign: Callable[[bytes], bytes]) -> bytes:
    """Sign content and write both as one file."""
    signature = signed_data(canonical_json(content), certificate, sign)
    told = {"content": dict(content), "signature": base64.b64encode(signature).decode()}
    return canonical_json(told) + b"\n"


def unsealed(data: bytes, name: str) -> tuple[dict[str, Any], str]:
    """Read a signed file; give its content and the fingerprint of the key that signed it.

    Raises
    ------
    InputError
        It is no such file, or it was changed after it was signed.
    LimitError
        It is larger than such a file can be.
    """
    if len(data) > LARGEST:
        raise LimitError(
            "larger than tables of a census can be", where=name, received=f"{len(data)} bytes"
        )
    try:
        found = convert(read_json(data, where=name), Sealed)
        signature = base64.b64decode(found.signature, validate=True)
    except (InputError, ValueError):  # base64 raises ValueError, of one kind or another
        raise InputError(
            "not a signed file of another shop",
            where=name,
            remedy="Ask the shop for the file that heelstamp federation give wrote.",
        ) from None
    try:
        signed = read_detached(canonical_json(found.content), signature)
    except SignatureFault as fault:
        what = "changed after it was signed" if fault.code == CHANGED else fault.message
        raise InputError(
            what, where=name, remedy="Ask the shop for it again; nothing was taken."
        ) from None
    return found.content, signed.fingerprint


def read_tables(content: Mapping[str, Any], ground: Ground, name: str) -> CensusTables:
    """Read tables of another shop and see that they can be what they say.

    Parameters
    ----------
    ground
        Of the shop that reads.

    Raises
    ------
    InputError
        They are for another maker or edition, or something in them cannot be.
    """
    if content.get("schema") != SCHEMA:
        raise InputError(
            "not tables of a census that this program reads",
            where=name,
            received=content.get("schema"),
            remedy=f"They begin with the schema {SCHEMA}.",
        )
    if content.get("chronology") != ground.chronology.id:
        raise InputError(
            "tables of another maker",
            where=name,
            received=content.get("chronology"),
            remedy=f"Wanted here: {ground.chronology.id}.",
        )
    try:
        found = convert(dict(content), CensusTables)
    except InputError as error:
        raise error.at(name) from None
    if found.ground != ground.digest:
        raise InputError(
            "made on another edition: its shares, delays, curves or features are not this shop's",
            where=name,
            received=found.ground[:16],
            remedy=f"Here it is {ground.digest[:16]}: both shops take over one maker's document.",
        )
    features = [one.feature for one in found.tables]
    if len(set(features)) < len(features):
        raise InputError("a feature has two tables", where=name)
    for one in found.tables:
        _check(one, ground, f"{name}, table {one.feature}")
    return found


def _check(table: FeatureTable, ground: Ground, where: str) -> None:
    feature = ground.features.get(table.feature)
    if feature is None:
        raise InputError("no feature whose tables are exchanged", where=where)
    least = least_of("20-49")
    if least_of(table.instruments) < least:
        raise InputError(
            f"rests on fewer than {least} instruments",
            where=where,
            received=table.instruments,
            remedy=f"Tables of fewer than {least} give single instruments away.",
        )
    most_by_variant = sum(_MOST[one] for one in table.variants)
    if (
        max(_LEAST[one] for one in table.variants) > _MOST[table.looks]
        or most_by_variant < _LEAST[table.looks]
        or _MOST[table.looks] < _LEAST[table.instruments]
    ):
        raise InputError("counts that contradict each other", where=where)
    odd = next((one for one in table.steps if not _WHOLE.fullmatch(one)), None)
    if odd is not None:
        raise InputError(
            "numbers that are no whole numbers",
            where=where,
            received=odd,
            remedy="Tables are sent in whole steps.",
        )
    rows, columns = ground.shape
    if len(table.steps) != rows or any(one.count(" ") != columns - 1 for one in table.steps):
        raise InputError(
            "a table of another size",
            where=where,
            received=f"{len(table.steps)} centres",
            remedy=f"Wanted: {rows} centres of {columns} widths.",
        )
    steps = steps_of(table)
    lowest, highest = int(steps.min()), int(steps.max())
    if highest != 0:
        raise InputError("a table's largest number is 0", where=where, received=highest)
    most = _MOST[table.looks] * most_of_one_look(feature)
    if -lowest * STEP > most + STEP:
        raise InputError(
            "says more than its looks can say",
            where=where,
            received=f"a range of {-lowest * STEP:.0f} nats",
            remedy=f"{table.looks} looks say at most {most:.0f}.",
        )


def written_steps(steps: Steps) -> list[str]:
    """Whole steps, (centres, widths), as they are sent."""
    return [" ".join(map(str, row)) for row in steps.tolist()]


def steps_read(rows: Sequence[str]) -> Steps:
    """Whole steps as they were sent, (centres, widths)."""
    return np.array([[int(one) for one in row.split(" ")] for row in rows], dtype=np.int64)


def steps_of(table: FeatureTable) -> Steps:
    """A table's whole steps, (centres, widths)."""
    return steps_read(table.steps)

"""Sums under masks: what shops of too few instruments for tables of their own can tell together.

First every shop *enters* a sum by name: it tells which features it can speak of, and a public key
made for this sum alone (X25519). With the entries of all shops each masks its tables so that the
masks cancel in the sum over all of them, and in nothing less (`heelstamp.dating.federation.masks`).
A feature is summed where at least `LEAST_SHOPS` shops of at least `LEAST_MASKED` instruments speak
of it: what is left after one shop takes its own off rests on at least twenty. Dates are blurred. An
instrument enters one sum only: the difference of two sums would be a table of few.
"""

from __future__ import annotations

import base64
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Literal

import msgspec
import numpy as np

from heelstamp.archive import digest_of
from heelstamp.casework.census.rows import CensusRow
from heelstamp.casework.federation.ground import Ground
from heelstamp.casework.federation.limits import BLUR_SD, LEAST_MASKED, Given
from heelstamp.casework.federation.making import Teachers
from heelstamp.casework.federation.summary import Day, Digest, Name
from heelstamp.catalogue.conversion import convert
from heelstamp.dating.federation.masks import Words, masked, summed
from heelstamp.dating.federation.tables import Steps, in_steps
from heelstamp.errors import ConflictError, InputError

ENTRY_SCHEMA: Literal["heelstamp/masked-sum-entry/1"] = "heelstamp/masked-sum-entry/1"
TABLES_SCHEMA: Literal["heelstamp/masked-tables/1"] = "heelstamp/masked-tables/1"
LEAST_SHOPS = 5
"""Shops that must speak of a feature (our choice): four others of five instruments are twenty."""

SumName = Annotated[str, msgspec.Meta(pattern="^[a-z0-9][a-z0-9-]{0,39}$")]
Agree = Callable[[str], bytes]
"""Gives the secret shared with who has a public key, in hexadecimal."""


class SumEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """That a shop takes part in a sum.

    Attributes
    ----------
    sum
        Name that the shops agreed on.
    public
        X25519 public key for this sum alone, in hexadecimal.
    features
        Of which it looked at `LEAST_MASKED` instruments or more.
    """

    schema: Literal["heelstamp/masked-sum-entry/1"]
    chronology: Name
    ground: Digest
    sum: SumName
    day: Day
    public: Digest
    features: list[Name]


class MaskedTable(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A table under masks: 64-bit words, little-endian, in base64."""

    feature: Name
    words: str


class MaskedTables(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A shop's part of a sum; *roster* is the digest of all entries that it is masked against."""

    schema: Literal["heelstamp/masked-tables/1"]
    chronology: Name
    ground: Digest
    sum: SumName
    roster: Digest
    tables: list[MaskedTable]


@dataclass(frozen=True)
class Entered:
    """What a shop keeps of entering: its tables in whole steps, and what they rest on."""

    features: Mapping[str, Steps]
    given: Given


@dataclass(frozen=True)
class Roster:
    """The shops of a sum: their entries by the fingerprint of their key."""

    entries: Mapping[str, SumEntry]

    @property
    def digest(self) -> str:
        """Over all of them."""
        return digest_of({key: msgspec.to_builtins(one) for key, one in self.entries.items()})

    def speaking(self, feature: str) -> list[str]:
        """Keys of the shops that speak of a feature."""
        return sorted(key for key, one in self.entries.items() if feature in one.features)

    def features(self) -> list[str]:
        """Features of which enough shops speak."""
        every = {feature for one in self.entries.values() for feature in one.features}
        return sorted(one for one in every if len(self.speaking(one)) >= LEAST_SHOPS)


def enter(ground: Ground, rows: Sequence[CensusRow], earlier: Sequence[Given]) -> Entered:
    """Make the tables that a shop masks in a sum.

    Parameters
    ----------
    earlier
        All that was handed out of this maker before.

    Raises
    ------
    ConflictError
        No feature has enough instruments that were in no sum before.
    """
    teachers = Teachers.of(rows, ground)
    spent = {
        id_
        for one in earlier
        if one.kind == "masked"
        for pairs in one.instruments.values()
        for id_, _ in pairs
    }
    looked = {
        id_: pairs
        for id_, pairs in teachers.looked_at(ground).items()
        if len(pairs) >= LEAST_MASKED and not any(row in spent for row, _ in pairs)
    }
    if not looked:
        told = "some were in a sum before" if spent else f"{len(teachers.rows)} instruments"
        raise ConflictError(
            f"no feature was looked at on {LEAST_MASKED} instruments that were in no sum before",
            where=ground.chronology.id,
            received=told,
            remedy="An instrument enters one sum only.",
        )
    found = teachers.tables(ground, dict.fromkeys(looked, BLUR_SD))
    steps = {id_: in_steps(found[id_].log) for id_ in looked}
    digest = digest_of({id_: one.tolist() for id_, one in steps.items()})
    return Entered(steps, Given(number=0, kind="masked", digest=digest, instruments=looked))


def read_entry(content: Mapping[str, Any], ground: Ground, name: str, where: str) -> SumEntry:
    """Read a shop's entry into the sum *name*.

    Raises
    ------
    InputError
        It is of another sum, maker or ground, or cannot be.
    """
    found: SumEntry = _read(content, SumEntry, ENTRY_SCHEMA, where)
    _require_same(found, ground, name, where)
    return found


def mask_tables(
    steps: Mapping[str, Steps], roster: Roster, own: str, agree: Agree, *, ground: Ground, name: str
) -> MaskedTables:
    """Mask a shop's tables against all others of the roster.

    Raises
    ------
    ConflictError
        Too few shops speak of any feature of this shop's.
    """
    digest, tables = roster.digest, []
    secrets = {key: agree(one.public) for key, one in sorted(roster.entries.items()) if key != own}
    for feature in roster.features():
        speaking = roster.speaking(feature)
        if own in speaking:
            others = {key: secrets[key] for key in speaking if key != own}
            words = masked(steps[feature], own, others, f"{digest} {feature}".encode())
            packed = base64.b64encode(words.astype("<u8").tobytes()).decode()
            tables.append(MaskedTable(feature=feature, words=packed))
    if not tables:
        raise ConflictError(
            f"fewer than {LEAST_SHOPS} shops speak of any feature of this shop's",
            where=name,
            received=f"{len(roster.entries)} shops",
            remedy="Wait for the entries of more shops.",
        )
    return MaskedTables(
        schema=TABLES_SCHEMA,
        chronology=ground.chronology.id,
        ground=ground.digest,
        sum=name,
        roster=digest,
        tables=tables,
    )


def read_masked(
    content: Mapping[str, Any], ground: Ground, roster: Roster, name: str, where: str
) -> Mapping[str, Words]:
    """Read a shop's part of a sum: its words by feature, (centres, widths).

    Raises
    ------
    InputError
        It is of another sum, masked against other entries, or of another size.
    """
    found = _read(content, MaskedTables, TABLES_SCHEMA, where)
    _require_same(found, ground, name, where)
    if found.roster != roster.digest:
        raise InputError(
            "masked against other entries than are here: its masks would not cancel",
            where=where,
            remedy="All shops of a sum mask with the same entries.",
        )
    words = {}
    for one in found.tables:
        try:
            data = base64.b64decode(one.words, validate=True)
            words[one.feature] = np.frombuffer(data, "<u8").astype(np.uint64).reshape(ground.shape)
        except ValueError:
            raise InputError(
                "a table of another size", where=f"{where}, table {one.feature}"
            ) from None
    return words


def summed_tables(parts: Mapping[str, Mapping[str, Words]], roster: Roster) -> dict[str, Steps]:
    """Add the parts of all shops: whole steps by feature.

    Parameters
    ----------
    parts
        By key.

    Raises
    ------
    ConflictError
        The part of a shop is missing: without it nothing can be read.
    """
    missing = sorted(set(roster.entries) - set(parts))
    if missing:
        raise ConflictError(
            "a sum needs the part of every shop",
            received=f"missing: {', '.join(key[:16] for key in missing)}",
            remedy="Without it the masks hide everything: ask for it, or begin another sum.",
        )
    found = {}
    for feature in roster.features():
        speaking = roster.speaking(feature)
        if any(feature not in parts[key] for key in speaking):
            raise ConflictError("a shop left out a feature that it entered", received=feature)
        total = summed(parts[key][feature] for key in speaking)
        if total.max() > 0:
            raise ConflictError(
                "the masks of this sum do not cancel",
                where=f"table {feature}",
                remedy="A shop sent something else than its tables: begin another sum without it.",
            )
        found[feature] = total
    return found


def _require_same(found: SumEntry | MaskedTables, ground: Ground, name: str, where: str) -> None:
    for what, told, wanted in (
        ("of another maker", found.chronology, ground.chronology.id),
        ("of another sum", found.sum, name),
        ("made on another edition", found.ground, ground.digest),
    ):
        if told != wanted:
            raise InputError(
                what, where=where, received=told[:60], remedy=f"Wanted: {wanted[:60]}."
            )


def _read(content: Mapping[str, Any], kind: type[Any], schema: str, where: str) -> Any:
    if content.get("schema") != schema:
        raise InputError(
            "another kind of file", where=where, received=content.get("schema"), remedy=schema
        )
    try:
        return convert(dict(content), kind)
    except InputError as error:
        raise error.at(where) from None

"""Tables of a maker's census exchanged with other shops by file.

In the folder ``federation``, beside the keys of other shops (`heelstamp.shop.known_shops`):
``given``, what this shop handed out, each with the instruments it rested on, which stay here;
``taken``, what others handed out, by key, every number of it. A table is taken only when it is
signed by a key that was entered by hand.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import ConflictError, InputError, NotFoundError
from heelstamp.shop import makers
from heelstamp.shop.census import read_rows
from heelstamp.shop.files import read_file
from heelstamp.shop.folder import now
from heelstamp.shop.known_shops import FOLDER, keep, key_that_is_known, known_shops

if TYPE_CHECKING:
    from heelstamp.casework.census.rows import CensusRow
    from heelstamp.casework.federation.ground import Ground
    from heelstamp.casework.federation.limits import Given
    from heelstamp.casework.federation.making import Made
    from heelstamp.casework.federation.summary import CensusTables, Gathered
    from heelstamp.shop.opened import OpenShop

GIVEN, TAKEN = "given", "taken"
OWN = "this shop"


@dataclass(frozen=True)
class Taken:
    """Tables of another shop that are kept here.

    Attributes
    ----------
    name
        What its key is called here; empty where it is no longer known.
    joins
        Whether they are joined: the last of a known shop, made on the present ground.
    """

    key: str
    name: str
    tables: CensusTables
    joins: bool


@dataclass(frozen=True)
class Gave:
    """Tables ready to be handed out: the bytes of the file, and what they are."""

    data: bytes
    made: Made


def ground_of(shop: OpenShop, id_: str) -> Ground:
    """What the present edition of a maker dates by; remembered."""
    from heelstamp.casework.federation.ground import Ground

    digest = makers.present(shop, id_).digest
    return shop.made_once(("ground", id_, digest), lambda: Ground.of(makers.document_of(shop, id_)))


def give(shop: OpenShop, id_: str, *, gathered: Gathered) -> Gave:
    """Make and sign the tables that this shop may hand out of a maker now.

    What they rest on is kept first, so that nothing is handed out that later limits do not know.

    Raises
    ------
    ConflictError
        Too few instruments.
    InputError
        There is no such maker, or the key cannot be used.
    """
    import msgspec

    from heelstamp import __version__
    from heelstamp.casework.federation.making import make_tables
    from heelstamp.casework.federation.summary import sealed
    from heelstamp.shop.signing import key_of

    key = key_of(shop)
    with shop.writing:
        made = make_tables(
            ground_of(shop, id_),
            census_rows(shop, id_),
            given_before(shop, id_),
            gathered=gathered,
            day=now()[:10],
            program=__version__,
        )
        data = sealed(msgspec.to_builtins(made.tables), key.certificate, key.sign)
        stem = f"{GIVEN}/{id_}-{made.tables.number:04d}"
        keep(shop, f"{stem}-instruments.json", msgspec.json.encode(made.given) + b"\n")
        keep(shop, f"{stem}.json", data)
    return Gave(data, made)


def given_before(shop: OpenShop, id_: str) -> list[Given]:
    """What this shop handed out of a maker, the first first."""
    import msgspec

    from heelstamp.casework.federation.limits import Given

    folder = shop.folder / FOLDER / GIVEN
    paths = sorted(folder.glob("*-instruments.json")) if folder.is_dir() else []
    plain = re.compile(rf"{re.escape(id_)}-(\d{{4,}}|masked-.*)-instruments\.json")
    return [
        msgspec.json.decode(read_file(one), type=Given)
        for one in paths
        if plain.fullmatch(one.name)
    ]


def take(shop: OpenShop, data: bytes, name: str) -> Taken:
    """Take the tables of another shop, whole or not at all.

    Parameters
    ----------
    name
        Of the file, for errors.

    Raises
    ------
    InputError
        It is no such file, was changed after signing, is signed by nobody known here, is of another
        maker or edition, or holds something that cannot be.
    ConflictError
        They are here already, or do not follow what is here of that shop.
    """
    from heelstamp.casework.federation.summary import read_tables, unsealed

    content, key = unsealed(data, name)
    called = key_that_is_known(shop, key, name)
    id_ = str(content.get("chronology"))
    try:
        ground = ground_of(shop, id_)
    except NotFoundError:
        raise InputError(
            "tables of a maker that is not known here",
            where=name,
            received=id_,
            remedy="Ask that shop for the maker's document too.",
        ) from None
    tables = read_tables(content, ground, name)
    with shop.writing:
        _require_next(tables, [one.tables for one in taken(shop, id_) if one.key == key], name)
        keep(shop, f"{TAKEN}/{id_}/{key[:16]}-{tables.number:04d}.json", data)
    return Taken(key, called, tables, joins=True)


def _require_next(tables: CensusTables, here: Sequence[CensusTables], name: str) -> None:
    by_number = {one.number: one for one in here}
    same = by_number.get(tables.number)
    if same is not None:
        what = (
            "these tables are here already"
            if same.digest == tables.digest
            else "one number with two contents: this shop signed other tables under it"
        )
        remedy = "" if same.digest == tables.digest else "Ask the shop which of them stands."
        raise ConflictError(what, where=name, received=f"number {tables.number}", remedy=remedy)
    last = max(by_number, default=0)
    if tables.number < last:
        raise ConflictError(
            "later tables of this shop are here",
            where=name,
            received=f"number {tables.number}, here {last}",
        )
    before = by_number.get(tables.number - 1)
    if before is not None and tables.before != before.digest:
        raise ConflictError(
            "do not follow the tables before them",
            where=name,
            received=f"number {tables.number}",
            remedy="Ask the shop whether it was restored from a backup.",
        )


def taken(shop: OpenShop, id_: str) -> list[Taken]:
    """Every table of other shops of a maker, by key and number."""
    shops, ground = known_shops(shop), ground_of(shop, id_)
    found = [(key, tables) for key, tables in _read_taken(shop, id_)]
    last = {key: max(one.number for k, one in found if k == key) for key, _ in found}
    return [
        Taken(
            key,
            shops.get(key, ""),
            tables,
            key in shops and tables.number == last[key] and tables.ground == ground.digest,
        )
        for key, tables in found
    ]


def makers_taken(shop: OpenShop) -> tuple[str, ...]:
    """Ids of the makers of which tables were taken."""
    folder = shop.folder / FOLDER / TAKEN
    return tuple(sorted(one.name for one in folder.iterdir())) if folder.is_dir() else ()


def _read_taken(shop: OpenShop, id_: str) -> Iterator[tuple[str, CensusTables]]:
    """Tables as they were kept; each is looked at anew, signature and all."""
    from heelstamp.casework.federation.summary import CensusTables, unsealed
    from heelstamp.catalogue.conversion import convert

    folder = shop.folder / FOLDER / TAKEN / id_
    for path in sorted(folder.glob("*.json")) if folder.is_dir() else ():
        stamp = path.stat()

        def read(path: Path = path) -> tuple[str, CensusTables]:
            content, key = unsealed(read_file(path), path.name)
            return key, convert(content, CensusTables)

        yield shop.made_once(("taken", str(path), stamp.st_mtime_ns, stamp.st_size), read)


def census_rows(shop: OpenShop, id_: str) -> list[CensusRow]:
    """The census of a maker, read by the present edition."""
    return read_rows(shop.census.rows(id_), shop.chronology(id_))

"""Dossiers that were carried out of a shop taken into another one.

Everything is verified and compared with the shop before anything is written; the journals and what
they name enter in one transaction.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import msgspec

from heelstamp.archive.bag import DECLARATION, MANIFEST, PAYLOAD, TAG_MANIFEST, read_manifest
from heelstamp.errors import ConflictError, InputError, IntegrityError
from heelstamp.shop.bag import SIGNATURE, bag_faults, is_bag, reading_bag, text_in
from heelstamp.shop.carrying_out import (
    CENSUS_PART,
    FILES_FILE,
    JOURNAL_FILE,
    SALES_PART,
    SHOP_PART,
    ExportedFile,
    is_carried,
)
from heelstamp.shop.disk import machine
from heelstamp.shop.folder import open_shop
from heelstamp.shop.settings import PARTS_FOLDER, SHOP_FILE

if TYPE_CHECKING:
    from heelstamp.casework.ports import CensusRecord, Shop
    from heelstamp.catalogue import PartsTree

SUMS_FILE = "SHA256SUMS"
"""List of a folder as it was written before bags."""


@dataclass(frozen=True, slots=True)
class Imported:
    """What was taken in.

    Attributes
    ----------
    entries
        Entries that the shop did not hold before, by tag.
    files
        Kept files taken in.
    rows
        Comparables and census rows taken in.
    own
        Documents that the shop has otherwise, and kept.
    """

    entries: Mapping[str, int]
    files: int
    rows: int
    own: tuple[str, ...]


def import_folder(source: Path, folder: Path) -> Imported:
    """Take an exported folder, or one in a ZIP file, into the shop in *folder*: all or nothing.

    A journal of which the shop holds the beginning gets the rest. Documents that the shop has
    otherwise stay as the shop has them.

    Raises
    ------
    InputError
        It is no exported folder, or an entry cannot be read.
    IntegrityError
        A file in it was changed or is missing, or a journal is not sound.
    ConflictError
        The shop holds another journal of a tag, or another row of an id.
    StorageError
        A machine refused.
    """
    with machine(source), _carried(source) as carried:
        return _take_in(carried, folder)


def _take_in(carried: _Carried, folder: Path) -> Imported:
    from heelstamp.casework.journal_file import files_named, fitting
    from heelstamp.casework.ports import FileRecord

    listed = _read_listed(carried)
    with open_shop(folder) as opened, TemporaryDirectory() as parts:
        shop = replace(opened, tree_for=_tree_for(opened, carried, Path(parts)))
        journals = [
            fitting(shop, carried.read(path), name=path)
            for path in carried.sums
            if path.count("/") == 1 and path.endswith(f"/{JOURNAL_FILE}")
        ]
        if not journals:
            raise InputError(
                "no dossier in this folder",
                where=carried.where,
                remedy="A pack for a buyer, an insurer or the public holds no journal: take one "
                "for the shop.",
            )
        named = {file for one in journals for line in one.lines for file in files_named(line)}
        wanted = sorted(named)
        _refuse_missing(shop, wanted, listed)
        sales, census = _new_sales(shop, carried), _new_census(shop, carried)
        fresh = [
            one for one in wanted if not shop.files.has(one) and one in listed and listed[one].path
        ]
        for digest in fresh:
            shop.files.put(carried.read(listed[digest].path))
        records = [
            FileRecord(one, listed[one].size, listed[one].media_type)
            for one in wanted
            if one in listed
        ]
        shop.journals.take_in(records, {one.tag: (one.rest, one.previous) for one in journals})
        for market, rows in sales.items():
            shop.comparables.add(market, rows)
        for chronology, more in census.items():
            shop.census.add(chronology, more)
        own = _import_documents(carried, folder)
    count = sum(map(len, sales.values())) + sum(map(len, census.values()))
    return Imported({one.tag: len(one.rest) for one in journals}, len(fresh), count, own)


def _tree_for(shop: Shop, carried: _Carried, parts: Path) -> Callable[[str], PartsTree]:
    """Parts trees of the shop, and of the folder for kinds that the shop does not know."""
    from heelstamp.reference.parts_trees import tree_loader

    for path in carried.sums:
        inside = path.removeprefix(f"{SHOP_PART}/{PARTS_FOLDER}/")
        if inside != path and "/" not in inside:
            (parts / inside).write_bytes(carried.read(path))
    loader = tree_loader(parts)

    def tree_for(kind: str) -> PartsTree:
        try:
            return shop.tree_for(kind)
        except InputError:
            return loader(kind)

    return tree_for


@dataclass(frozen=True, slots=True)
class _Carried:
    """An exported folder: digest of each file by its path, each verified, and how it is read."""

    where: str
    sums: Mapping[str, str]
    read: Callable[[str], bytes]


@contextmanager
def _carried(source: Path) -> Iterator[_Carried]:
    """Open an exported folder, each of its files verified."""
    if (source / SUMS_FILE).is_file() and not is_bag(source):
        yield _carried_before(source)
        return
    if not is_bag(source):
        raise InputError(
            "not an exported folder",
            where=str(source),
            received=f"no {DECLARATION} in it",
            remedy="Name a folder or a ZIP file that heelstamp export or heelstamp pack wrote.",
        )
    with reading_bag(source) as bag:
        for path, wrong in bag_faults(bag):
            raise _not_as_written(path, f"it {wrong}")
        if SIGNATURE in bag.names():
            _require_signed(text_in(bag, TAG_MANIFEST), text_in(bag, SIGNATURE))
        listed = read_manifest(text_in(bag, MANIFEST), MANIFEST)
        sums = {path.removeprefix(PAYLOAD): digest for path, digest in listed.items()}
        yield _Carried(str(source), sums, lambda path: b"".join(bag.chunks(PAYLOAD + path)))


def _require_signed(text: bytes, signature: bytes) -> None:
    from heelstamp.archive.signed import SignatureFault, read_detached

    try:
        read_detached(text, signature)
    except SignatureFault as fault:
        raise _not_as_written(SIGNATURE, fault.message) from None


def _carried_before(source: Path) -> _Carried:
    """A folder of the form before bags: one list of digests, ``SHA256SUMS``, beside the files."""
    from heelstamp.archive import sha256

    sums = read_manifest((source / SUMS_FILE).read_bytes(), SUMS_FILE)
    for path, digest in sums.items():
        try:
            found = sha256((source / path).read_bytes())
        except (FileNotFoundError, ValueError):  # a name with a zero byte is no file's
            found = "no such file"
        if found != digest:
            raise _not_as_written(path, found)
    return _Carried(str(source), sums, lambda path: (source / path).read_bytes())


def _not_as_written(path: str, received: str) -> IntegrityError:
    return IntegrityError(
        "a file of this folder is not as it was written",
        where=path,
        received=received,
        remedy="Copy the folder again from where it was made; nothing was taken in.",
    )


def _read_listed(carried: _Carried) -> dict[str, ExportedFile]:
    if FILES_FILE not in carried.sums:
        raise InputError(
            "the folder has no list of files",
            where=FILES_FILE,
            remedy="A pack for a buyer, an insurer or the public is not for a shop: take one for "
            "the shop.",
        )
    try:
        read = msgspec.json.decode(carried.read(FILES_FILE), type=list[ExportedFile])
    except (ValueError, msgspec.MsgspecError) as error:
        raise InputError("not a list of files", where=FILES_FILE, received=error) from None
    for one in read:
        if one.path and carried.sums.get(one.path) != one.sha256:
            raise IntegrityError(
                "a file is not the one that the list names", where=one.path, received=one.sha256
            )
    return {one.sha256: one for one in read}


def _refuse_missing(shop: Shop, wanted: Sequence[str], listed: Mapping[str, ExportedFile]) -> None:
    for digest in wanted:
        if digest not in listed and not shop.files.has(digest):
            raise IntegrityError(
                "the folder lacks a file that an entry names",
                where=f"file {digest[:12]}…",
                remedy="Copy the folder again from where it was made; nothing was taken in.",
            )


def _new_sales(shop: Shop, carried: _Carried) -> dict[str, list[tuple[str, str]]]:
    """Comparables that the shop does not hold, by market; another one of an id is refused."""
    held: dict[str, dict[str, str]] = {}
    fresh: dict[str, list[tuple[str, str]]] = {}
    for path, row in _rows_in(carried, SALES_PART):
        market, id_, text = (str(row.get(key, "")) for key in ("market", "id", "text"))
        if market not in held:
            held[market] = dict(shop.comparables.rows(market))
        if id_ not in held[market]:
            fresh.setdefault(market, []).append((id_, text))
        elif held[market][id_] != text:
            raise _other_row(path, id_)
    return fresh


def _new_census(shop: Shop, carried: _Carried) -> dict[str, list[CensusRecord]]:
    """Census rows that the shop does not hold, by chronology; another one of an id is refused."""
    from heelstamp.casework.ports import CensusRecord

    held: dict[str, dict[str, str]] = {}
    fresh: dict[str, list[CensusRecord]] = {}
    for path, row in _rows_in(carried, CENSUS_PART):
        chronology = str(row.pop("chronology", ""))
        try:
            record = msgspec.convert(row, CensusRecord)
        except msgspec.ValidationError as error:
            raise InputError("not a census row", where=path, received=error) from None
        if chronology not in held:
            rows = shop.census.rows(chronology)
            held[chronology] = {one.id: one.observations for one in rows}
        if record.id not in held[chronology]:
            fresh.setdefault(chronology, []).append(record)
        elif held[chronology][record.id] != record.observations:
            raise _other_row(path, record.id)
    return fresh


def _rows_in(carried: _Carried, part: str) -> Iterator[tuple[str, dict[str, Any]]]:
    for path in carried.sums:
        if path.startswith(f"{SHOP_PART}/{part}/") and path.endswith(".jsonl"):
            for number, line in enumerate(carried.read(path).splitlines(), start=1):
                try:
                    yield path, msgspec.json.decode(line, type=dict[str, Any])
                except (ValueError, msgspec.MsgspecError) as error:
                    raise InputError(
                        "not a row", where=f"{path}, line {number}", received=error
                    ) from None


def _other_row(path: str, id_: str) -> ConflictError:
    return ConflictError(
        "the shop holds another row of this id",
        where=path,
        received=id_,
        remedy="Keep the one you can vouch for; nothing was taken in.",
    )


def _import_documents(carried: _Carried, folder: Path) -> tuple[str, ...]:
    """Take in documents that the shop does not have; give those that it has otherwise."""
    from heelstamp.shop.files import write_whole

    rows = (f"{SALES_PART}/", f"{CENSUS_PART}/", SHOP_FILE)
    own = []
    for path in carried.sums:
        inside = path.removeprefix(f"{SHOP_PART}/")
        if inside == path or inside.startswith(rows) or not is_carried(PurePosixPath(inside)):
            continue
        target, data = folder / inside, carried.read(path)
        with machine(target):
            if not target.exists():
                target.parent.mkdir(parents=True, exist_ok=True)
                write_whole(target, data)
            elif target.read_bytes() != data:
                own.append(inside)
    return tuple(own)

"""Dossiers, or a whole shop, carried out into a folder that a person reads, and into another shop.

Out: `heelstamp.casework.exported` names the files and makes the tables; SHA256SUMS covers every
file, in the form that the program ``sha256sum`` checks. In: everything is verified and compared
with the shop before anything is written; the journals and what they name enter in one transaction.
Accounts and their passwords never leave.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

import msgspec

from heelstamp.errors import ConflictError, HeelstampError, InputError, IntegrityError
from heelstamp.shop.backup import documents_of, is_document
from heelstamp.shop.backup_folder import machine
from heelstamp.shop.certificate import FOLDER as CERTIFICATE_FOLDER
from heelstamp.shop.folder import (
    CHRONOLOGIES_FOLDER,
    PARTS_FOLDER,
    SHOP_FILE,
    open_shop,
    read_settings,
    write_settings,
)
from heelstamp.shop.whole_folder import appearing, is_vacant

if TYPE_CHECKING:
    from heelstamp.casework.ports import CensusRecord, FileRecord, Shop
    from heelstamp.catalogue import PartsTree

GUIDE_FILE, SUMS_FILE, FILES_FILE = "README.txt", "SHA256SUMS", "files.json"
JOURNAL_FILE = "journal.jsonl"
SHOP_PART, SALES_PART, CENSUS_PART = "shop", "sales", "census"


class ExportedFile(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A kept file in an exported folder; *path* is blank where it was missing in the shop."""

    sha256: str
    size: int
    media_type: str
    path: str


@dataclass(frozen=True, slots=True)
class Exported:
    """What was carried out, and what could not be, in sentences."""

    tags: tuple[str, ...]
    files: int
    lacking: tuple[str, ...]


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


def export_dossiers(folder: Path, tags: Sequence[str], to: Path) -> Exported:
    """Carry dossiers out of the shop in *folder*; without *tags* the whole shop.

    Raises
    ------
    ConflictError
        *to* is there and not empty.
    InputError
        There is no such dossier.
    StorageError
        A machine refused; nothing of it appears then.
    """
    with machine(to):
        if not is_vacant(to):
            raise ConflictError(
                "an export needs a folder of its own",
                where=str(to),
                remedy="Name an empty folder, or one that does not exist yet.",
            )
    with open_shop(folder) as shop, machine(to), appearing(to, last=(SUMS_FILE,)) as building:
        wanted = tuple(tags) or shop.journals.tags()
        records = {one.digest: one for one in shop.journals.files()}
        names = _folder_names(wanted)
        out = _Out(shop, folder, building, records, {}, [])
        for tag in wanted:
            out.dossier(tag, names[tag])
        _export_documents(shop, folder, wanted if tags else None, building)
        if not tags:
            _export_rows(shop, building / SHOP_PART)
        listed = [out.files[digest] for digest in sorted(out.files)]
        text = msgspec.json.format(msgspec.json.encode(listed), indent=1)
        (building / FILES_FILE).write_bytes(text)
        _write_guide(building, shop.name, names, out.lacking)
        _write_sums(building)
    return Exported(wanted, sum(bool(one.path) for one in listed), tuple(out.lacking))


def _folder_names(tags: Sequence[str]) -> dict[str, str]:
    from heelstamp.casework.exported import free_name, safe_name

    taken = {one.casefold() for one in (SHOP_PART, GUIDE_FILE, SUMS_FILE, FILES_FILE)}
    return {tag: free_name(safe_name(tag), "", taken) for tag in tags}


@dataclass(frozen=True, slots=True)
class _Out:
    """A folder being written, and what of the shop's files went into it or could not."""

    shop: Shop
    folder: Path
    building: Path
    records: Mapping[str, FileRecord]
    files: dict[str, ExportedFile]
    lacking: list[str]

    def dossier(self, tag: str, name: str) -> None:
        """Write one dossier into the folder *name*."""
        from heelstamp.archive import read_json
        from heelstamp.casework.dossier import state_of
        from heelstamp.casework.exported import exported_names, exported_tables
        from heelstamp.casework.feature_names import part_label
        from heelstamp.casework.journal_file import export_journal

        place = self.building / name
        journal = export_journal(self.shop, tag)
        _write(place / JOURNAL_FILE, journal)
        entries = [read_json(line) for line in journal.split(b"\n")[:-1]]
        tree = self.shop.tree_for(state_of(self.shop, tag).instrument.kind)
        media_types = {digest: one.media_type for digest, one in self.records.items()}
        named = exported_names(entries, media_types, lambda key: part_label(tree, key))
        for digest, path in named.items():
            self._file(digest, place / path, f"{name}/{path}")
        for table, content in exported_tables(entries).items():
            _write(place / "tables" / table, content)
        try:
            _write(place / "findings" / "date.json", _date_finding(self.shop, self.folder, tag))
        except HeelstampError as error:
            self.lacking.append(f"{name}/findings/date.json: {error.what}")

    def _file(self, digest: str, target: Path, path: str) -> None:
        record = self.records.get(digest)
        size, media_type = (
            (0, "application/octet-stream") if record is None else (record.size, record.media_type)
        )
        told = ExportedFile(digest, size, media_type, path)
        try:
            _write(target, self.shop.files.get(digest))
        except IntegrityError as error:
            self.lacking.append(f"{path}: {error.what}")
            self.files.setdefault(digest, msgspec.structs.replace(told, path=""))
        else:
            self.files[digest] = told


def _date_finding(shop: Shop, folder: Path, tag: str) -> bytes:
    from heelstamp.casework.dating import date_instrument
    from heelstamp.casework.dossier import state_of
    from heelstamp.reference.chronology_files import load_chronology
    from heelstamp.reference.tables import mark_context

    state = state_of(shop, tag)
    chronology = load_chronology(state.instrument.chronology, folder / CHRONOLOGIES_FOLDER)
    finding = date_instrument(state, chronology, mark_context(), None)
    return json.dumps(finding.data(), ensure_ascii=False, indent=1).encode()


def _export_documents(shop: Shop, folder: Path, tags: Sequence[str] | None, building: Path) -> None:
    """Documents of the whole shop, or those that the dossiers' dating rests on."""
    from heelstamp.casework.dossier import state_of

    instruments = [state_of(shop, tag).instrument for tag in tags or ()]
    stems = {one.chronology for one in instruments} | {one.kind for one in instruments}
    for path in documents_of(folder):
        inside = path.relative_to(folder)
        if not _is_carried(PurePosixPath(inside.as_posix())):
            continue
        if tags is not None and (
            inside.parts[0] not in {CHRONOLOGIES_FOLDER, PARTS_FOLDER} or inside.stem not in stems
        ):
            continue
        target = building / SHOP_PART / inside
        if inside.as_posix() == SHOP_FILE:
            target.parent.mkdir(parents=True, exist_ok=True)
            write_settings(target, msgspec.structs.replace(read_settings(folder), database=""))
        else:
            _write(target, path.read_bytes())


def _is_carried(inside: PurePosixPath) -> bool:
    """Whether a document goes to another shop: a certificate does not, its keys speak for one."""
    return is_document(inside) and inside.parts[0] != CERTIFICATE_FOLDER


def _export_rows(shop: Shop, place: Path) -> None:
    """Comparables and census, as lines to be taken in again and as tables to be read."""
    from heelstamp.casework.exported import safe_name, table_of

    for market in shop.comparables.markets():
        rows = shop.comparables.rows(market)
        lines = [{"market": market, "id": id_, "text": text} for id_, text in rows]
        _write(place / SALES_PART / f"{safe_name(market)}.jsonl", _lines_of(lines))
        told = [{"id": id_} | _fields_of(text) for id_, text in rows]
        _write(place / SALES_PART / f"{safe_name(market)}.csv", table_of(told))
    for chronology in shop.census.chronologies():
        records = [asdict(one) for one in shop.census.rows(chronology)]
        lines = [{"chronology": chronology} | one for one in records]
        _write(place / CENSUS_PART / f"{safe_name(chronology)}.jsonl", _lines_of(lines))
        _write(place / CENSUS_PART / f"{safe_name(chronology)}.csv", table_of(records))


def _fields_of(text: str) -> dict[str, Any]:
    try:
        read = json.loads(text)
    except ValueError:
        return {"text": text}
    return read if isinstance(read, dict) else {"text": text}


def _lines_of(rows: Sequence[Mapping[str, Any]]) -> bytes:
    return b"".join(json.dumps(one, ensure_ascii=False).encode() + b"\n" for one in rows)


def _write_guide(
    building: Path, shop: str, names: Mapping[str, str], lacking: Sequence[str]
) -> None:
    from heelstamp.archive.fields import LEAST, LISTS
    from heelstamp.casework.exported import GUIDE

    contents = [f"From the shop {shop}.", ""]
    contents += [f"{name}/    dossier {tag}" for tag, name in names.items()]
    if (building / SHOP_PART).is_dir():
        contents.append(f"{SHOP_PART}/    of the shop: chronologies, parts, terms, sales")
    if lacking:
        contents += ["", "Missing when this was written:", *(f"  {one}" for one in lacking)]
    quoted = ", ".join(f'"{one}"' for one in LISTS)
    guide = GUIDE.format(contents="\n".join(contents), lists=quoted, least=LEAST)
    _write(building / GUIDE_FILE, guide.encode())


def _write_sums(building: Path) -> None:
    from heelstamp.archive import sha256

    paths = sorted(one for one in building.rglob("*") if one.is_file())
    lines = [f"{sha256(one.read_bytes())}  {one.relative_to(building).as_posix()}" for one in paths]
    _write(building / SUMS_FILE, ("\n".join(lines) + "\n").encode())


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)


def import_folder(source: Path, folder: Path) -> Imported:
    """Take an exported folder into the shop in *folder*: all of it or nothing.

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
    from heelstamp.casework.journal_file import files_named, fitting
    from heelstamp.casework.ports import FileRecord

    with machine(source):
        sums = _read_sums(source)
        listed = _read_listed(source, sums)
    with open_shop(folder) as opened:
        shop = replace(opened, tree_for=_tree_for(opened, source / SHOP_PART / PARTS_FOLDER))
        journals = [
            fitting(shop, (source / path).read_bytes(), name=path)
            for path in sums
            if path.count("/") == 1 and path.endswith(f"/{JOURNAL_FILE}")
        ]
        if not journals:
            raise InputError("no dossier in this folder", where=str(source))
        named = {file for one in journals for line in one.lines for file in files_named(line)}
        wanted = sorted(named)
        _refuse_missing(shop, wanted, listed)
        sales, census = _new_sales(shop, source, sums), _new_census(shop, source, sums)
        fresh = [
            one for one in wanted if not shop.files.has(one) and one in listed and listed[one].path
        ]
        for digest in fresh:
            shop.files.put((source / listed[digest].path).read_bytes())
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
        own = _import_documents(source, sums, folder)
    count = sum(map(len, sales.values())) + sum(map(len, census.values()))
    return Imported({one.tag: len(one.rest) for one in journals}, len(fresh), count, own)


def _tree_for(shop: Shop, parts: Path) -> Callable[[str], PartsTree]:
    """Parts trees of the shop, and of the folder for kinds that the shop does not know."""
    from heelstamp.reference.parts_trees import tree_loader

    carried = tree_loader(parts if parts.is_dir() else None)

    def tree_for(kind: str) -> PartsTree:
        try:
            return shop.tree_for(kind)
        except InputError:
            return carried(kind)

    return tree_for


def _read_sums(source: Path) -> dict[str, str]:
    """Digest by path of every file that the folder lists, each verified."""
    from heelstamp.archive import is_digest, sha256

    sums_file = source / SUMS_FILE
    if not sums_file.is_file():
        raise InputError(
            "not an exported folder",
            where=str(source),
            received=f"no {SUMS_FILE} in it",
            remedy="Name a folder that heelstamp export wrote.",
        )
    sums: dict[str, str] = {}
    lines = sums_file.read_bytes().decode("utf-8", "replace").splitlines()
    for number, line in enumerate(lines, start=1):
        digest, _, path = line.partition("  ")
        inside = PurePosixPath(path)
        if not is_digest(digest) or not path or inside.is_absolute() or ".." in inside.parts:
            raise InputError("not a line of digests", where=f"{SUMS_FILE}, line {number}")
        try:
            found = sha256((source / path).read_bytes())
        except (FileNotFoundError, ValueError):  # a name with a zero byte is no file's
            found = "no such file"
        if found != digest:
            raise IntegrityError(
                "a file of this folder is not as it was written",
                where=path,
                received=found,
                remedy="Copy the folder again from where it was made; nothing was taken in.",
            )
        sums[path] = digest
    return sums


def _read_listed(source: Path, sums: Mapping[str, str]) -> dict[str, ExportedFile]:
    if FILES_FILE not in sums:
        raise InputError("the folder has no list of files", where=FILES_FILE)
    try:
        read = msgspec.json.decode((source / FILES_FILE).read_bytes(), type=list[ExportedFile])
    except (ValueError, msgspec.MsgspecError) as error:
        raise InputError("not a list of files", where=FILES_FILE, received=error) from None
    for one in read:
        if one.path and sums.get(one.path) != one.sha256:
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


def _new_sales(
    shop: Shop, source: Path, sums: Mapping[str, str]
) -> dict[str, list[tuple[str, str]]]:
    """Comparables that the shop does not hold, by market; another one of an id is refused."""
    held: dict[str, dict[str, str]] = {}
    fresh: dict[str, list[tuple[str, str]]] = {}
    for path, row in _rows_in(source, sums, SALES_PART):
        market, id_, text = (str(row.get(key, "")) for key in ("market", "id", "text"))
        if market not in held:
            held[market] = dict(shop.comparables.rows(market))
        if id_ not in held[market]:
            fresh.setdefault(market, []).append((id_, text))
        elif held[market][id_] != text:
            raise _other_row(path, id_)
    return fresh


def _new_census(shop: Shop, source: Path, sums: Mapping[str, str]) -> dict[str, list[CensusRecord]]:
    """Census rows that the shop does not hold, by chronology; another one of an id is refused."""
    from heelstamp.casework.ports import CensusRecord

    held: dict[str, dict[str, str]] = {}
    fresh: dict[str, list[CensusRecord]] = {}
    for path, row in _rows_in(source, sums, CENSUS_PART):
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


def _rows_in(
    source: Path, sums: Mapping[str, str], part: str
) -> Iterator[tuple[str, dict[str, Any]]]:
    for path in sums:
        if path.startswith(f"{SHOP_PART}/{part}/") and path.endswith(".jsonl"):
            for number, line in enumerate((source / path).read_bytes().splitlines(), start=1):
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


def _import_documents(source: Path, sums: Mapping[str, str], folder: Path) -> tuple[str, ...]:
    """Take in documents that the shop does not have; give those that it has otherwise."""
    from heelstamp.shop.files import write_whole

    rows = (f"{SALES_PART}/", f"{CENSUS_PART}/", SHOP_FILE)
    own = []
    for path in sums:
        inside = path.removeprefix(f"{SHOP_PART}/")
        if inside == path or inside.startswith(rows) or not _is_carried(PurePosixPath(inside)):
            continue
        target, data = folder / inside, (source / path).read_bytes()
        with machine(target):
            if not target.exists():
                target.parent.mkdir(parents=True, exist_ok=True)
                write_whole(target, data)
            elif target.read_bytes() != data:
                own.append(inside)
    return tuple(own)

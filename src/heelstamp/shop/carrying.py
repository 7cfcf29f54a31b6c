"""Dossiers, or a whole shop, carried out into a bag that a person reads, and into another shop.

Out: `heelstamp.casework.exported` names the files and makes the tables; the bag
(`heelstamp.shop.bag`) lists a digest of every file and is signed by the shop. In: everything is
verified and compared with the shop before anything is written; the journals and what they name
enter in one transaction. Accounts, their passwords and the shop's keys never leave.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import msgspec

from heelstamp import __version__
from heelstamp.archive.bag import DECLARATION, MANIFEST, PAYLOAD, TAG_MANIFEST, read_manifest
from heelstamp.errors import ConflictError, HeelstampError, InputError, IntegrityError
from heelstamp.shop.backup import SECRET_FOLDERS, documents_of, is_document
from heelstamp.shop.backup_folder import machine
from heelstamp.shop.bag import (
    SIGNATURE,
    BagWriter,
    bag_faults,
    is_bag,
    reading_bag,
    text_in,
    writing_bag,
)
from heelstamp.shop.folder import now, open_shop
from heelstamp.shop.settings import (
    CHRONOLOGIES_FOLDER,
    PARTS_FOLDER,
    SHOP_FILE,
    read_settings,
    settings_text,
)

if TYPE_CHECKING:
    from heelstamp.casework.ports import CensusRecord, FileRecord, Shop
    from heelstamp.catalogue import PartsTree

GUIDE_FILE, FILES_FILE = "README.txt", "files.json"
SUMS_FILE = "SHA256SUMS"
"""List of a folder as it was written before bags."""
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
    with open_shop(folder) as shop:
        return carry_out(shop, folder, tags, to)


def carry_out(
    shop: Shop,
    folder: Path,
    tags: Sequence[str],
    to: Path,
    *,
    more: Mapping[str, Callable[[Mapping[str, str]], bytes]] | None = None,
    whose: str = "shop",
) -> Exported:
    """Carry dossiers of an open shop out into a bag (`heelstamp.shop.bag`).

    Parameters
    ----------
    tags
        Which; all of the shop without.
    more
        Further files of a single dossier by path within its folder, each made from the paths of its
        kept files by digest.
    whose
        Who gets it, as the bag says.

    Raises
    ------
    HeelstampError
        As `export_dossiers`.
    """
    from heelstamp.report.check_page import CHECK_PAGE, check_page

    day = now()[:10]
    with writing_bag(to, day=day) as bag:
        wanted = tuple(tags) or shop.journals.tags()
        records = {one.digest: one for one in shop.journals.files()}
        names = _folder_names(wanted)
        out = _Out(shop, folder, bag, records, {}, [])
        for tag in wanted:
            paths = out.dossier(tag, names[tag])
            for path, make in (more or {}).items():
                bag.add(f"{names[tag]}/{path}", make(paths))
        _export_documents(shop, folder, wanted if tags else None, bag)
        if not tags:
            _export_rows(shop, bag)
        listed = [out.files[digest] for digest in sorted(out.files)]
        text = msgspec.json.format(msgspec.json.encode(listed), indent=1)
        bag.add(FILES_FILE, text)
        bag.add(CHECK_PAGE, check_page())
        _write_guide(bag, shop.name, names, out.lacking, more or ())
        bag.close(about_bag(shop.name, ", ".join(wanted), whose, day), signer(folder, shop.name))
    return Exported(wanted, sum(bool(one.path) for one in listed), tuple(out.lacking))


def about_bag(shop: str, what: str, whose: str, day: str) -> dict[str, str]:
    """Lines about a bag: RFC 8493, 2.2.2, with their labels."""
    return {
        "Source-Organization": shop,
        "External-Identifier": what,
        "External-Description": f"For the {whose}",
        "Bagging-Date": day,
        "Bag-Software-Agent": f"Heelstamp {__version__}",
    }


def signer(folder: Path, name: str) -> Callable[[bytes], bytes]:
    """What signs a bag with the key of the shop *name* in *folder*.

    Raises
    ------
    HeelstampError
        The key cannot be used.
    """
    from heelstamp.archive.signed import signed_data
    from heelstamp.shop.shop_key import shop_key
    from heelstamp.shop.signing import passphrase

    key = shop_key(folder, name, passphrase=passphrase())
    return lambda text: signed_data(text, key.certificate, key.sign)


def _folder_names(tags: Sequence[str]) -> dict[str, str]:
    from heelstamp.casework.exported import free_name, safe_name
    from heelstamp.report.check_page import CHECK_PAGE

    taken = {one.casefold() for one in (SHOP_PART, GUIDE_FILE, FILES_FILE, CHECK_PAGE)}
    return {tag: free_name(safe_name(tag), "", taken) for tag in tags}


@dataclass(frozen=True, slots=True)
class _Out:
    """A bag being written, and what of the shop's files went into it or could not."""

    shop: Shop
    folder: Path
    bag: BagWriter
    records: Mapping[str, FileRecord]
    files: dict[str, ExportedFile]
    lacking: list[str]

    def dossier(self, tag: str, name: str) -> Mapping[str, str]:
        """Write one dossier into the folder *name*; give the path of each kept file within."""
        from heelstamp.archive import read_json
        from heelstamp.casework.dossier import state_of
        from heelstamp.casework.exported import exported_names, exported_tables
        from heelstamp.casework.feature_names import part_label
        from heelstamp.casework.journal_file import export_journal

        journal = export_journal(self.shop, tag)
        self.bag.add(f"{name}/{JOURNAL_FILE}", journal)
        entries = [read_json(line) for line in journal.split(b"\n")[:-1]]
        tree = self.shop.tree_for(state_of(self.shop, tag).instrument.kind)
        media_types = {digest: one.media_type for digest, one in self.records.items()}
        named = exported_names(entries, media_types, lambda key: part_label(tree, key))
        for digest, path in named.items():
            self._file(digest, f"{name}/{path}")
        for table, content in exported_tables(entries).items():
            self.bag.add(f"{name}/tables/{table}", content)
        dated = f"{name}/findings/date.json"
        try:
            self.bag.add(dated, _date_finding(self.shop, self.folder, tag))
        except HeelstampError as error:
            self.lacking.append(f"{dated}: {error.what}")
        return named

    def _file(self, digest: str, path: str) -> None:
        record = self.records.get(digest)
        size, media_type = (
            (0, "application/octet-stream") if record is None else (record.size, record.media_type)
        )
        told = ExportedFile(digest, size, media_type, path)
        try:
            data = self.shop.files.get(digest)
        except IntegrityError as error:
            self.lacking.append(f"{path}: {error.what}")
            self.files.setdefault(digest, msgspec.structs.replace(told, path=""))
        else:
            if digest not in self.files or not self.files[digest].path:
                self.files[digest] = told
            self.bag.add(path, data, digest)


def _date_finding(shop: Shop, folder: Path, tag: str) -> bytes:
    from heelstamp.casework.dating import date_instrument
    from heelstamp.casework.dossier import state_of
    from heelstamp.reference.chronology_files import load_chronology
    from heelstamp.reference.tables import mark_context

    state = state_of(shop, tag)
    chronology = load_chronology(state.instrument.chronology, folder / CHRONOLOGIES_FOLDER)
    finding = date_instrument(state, chronology, mark_context(), None)
    return json.dumps(finding.data(), ensure_ascii=False, indent=1).encode()


def _export_documents(shop: Shop, folder: Path, tags: Sequence[str] | None, bag: BagWriter) -> None:
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
        data = path.read_bytes()
        if inside.as_posix() == SHOP_FILE:
            data = settings_text(msgspec.structs.replace(read_settings(folder), database=""))
        bag.add(f"{SHOP_PART}/{inside.as_posix()}", data)


def _is_carried(inside: PurePosixPath) -> bool:
    """Whether a document goes to another shop: keys and certificates speak for one alone."""
    return is_document(inside) and inside.parts[0] not in SECRET_FOLDERS


def _export_rows(shop: Shop, bag: BagWriter) -> None:
    """Comparables and census, as lines to be taken in again and as tables to be read."""
    from heelstamp.casework.exported import safe_name, table_of

    for market in shop.comparables.markets():
        rows = shop.comparables.rows(market)
        lines = [{"market": market, "id": id_, "text": text} for id_, text in rows]
        path = f"{SHOP_PART}/{SALES_PART}/{safe_name(market)}"
        bag.add(f"{path}.jsonl", _lines_of(lines))
        told = [{"id": id_} | _fields_of(text) for id_, text in rows]
        bag.add(f"{path}.csv", table_of(told))
    for chronology in shop.census.chronologies():
        records = [asdict(one) for one in shop.census.rows(chronology)]
        lines = [{"chronology": chronology} | one for one in records]
        path = f"{SHOP_PART}/{CENSUS_PART}/{safe_name(chronology)}"
        bag.add(f"{path}.jsonl", _lines_of(lines))
        bag.add(f"{path}.csv", table_of(records))


def _fields_of(text: str) -> dict[str, Any]:
    try:
        read = json.loads(text)
    except ValueError:
        return {"text": text}
    return read if isinstance(read, dict) else {"text": text}


def _lines_of(rows: Sequence[Mapping[str, Any]]) -> bytes:
    return b"".join(json.dumps(one, ensure_ascii=False).encode() + b"\n" for one in rows)


def _write_guide(
    bag: BagWriter, shop: str, names: Mapping[str, str], lacking: Sequence[str], more: Iterable[str]
) -> None:
    from heelstamp.archive.fields import LEAST, LISTS
    from heelstamp.casework.exported import GUIDE, LINKED_ART_FILE, LINKED_ART_LINE

    contents = [f"From the shop {shop}.", ""]
    contents += [f"{name}/    dossier {tag}" for tag, name in names.items()]
    if any(path.startswith(f"data/{SHOP_PART}/") for path in bag.payload):
        contents.append(f"{SHOP_PART}/    of the shop: chronologies, parts, terms, sales")
    if lacking:
        contents += ["", "Missing when this was written:", *(f"  {one}" for one in lacking)]
    quoted = ", ".join(f'"{one}"' for one in LISTS)
    linked = f"\n{LINKED_ART_LINE}" if LINKED_ART_FILE in more else ""
    told = {"contents": "\n".join(contents), "lists": quoted, "least": LEAST, "linked": linked}
    bag.add(GUIDE_FILE, GUIDE.format(**told).encode())


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
        if inside == path or inside.startswith(rows) or not _is_carried(PurePosixPath(inside)):
            continue
        target, data = folder / inside, carried.read(path)
        with machine(target):
            if not target.exists():
                target.parent.mkdir(parents=True, exist_ok=True)
                write_whole(target, data)
            elif target.read_bytes() != data:
                own.append(inside)
    return tuple(own)

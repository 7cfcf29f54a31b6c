"""Dossiers, or a whole shop, carried out into a bag that a person reads.

`heelstamp.casework.exported` names the files and makes the tables; the bag (`heelstamp.shop.bag`)
lists a digest of every file and is signed by the shop. Accounts, their passwords and the shop's
keys never leave. Taken in again by `heelstamp.shop.carrying_in`.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

import msgspec

from heelstamp import __version__
from heelstamp.errors import HeelstampError, IntegrityError
from heelstamp.shop.backup import SECRET_FOLDERS, documents_of, is_document
from heelstamp.shop.bag import BagWriter, writing_bag
from heelstamp.shop.folder import now, open_shop
from heelstamp.shop.settings import (
    CHRONOLOGIES_FOLDER,
    PARTS_FOLDER,
    SHOP_FILE,
    read_settings,
    settings_text,
)

if TYPE_CHECKING:
    from heelstamp.casework.ports import FileRecord, Shop

GUIDE_FILE, FILES_FILE = "README.txt", "files.json"
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
        if not is_carried(PurePosixPath(inside.as_posix())):
            continue
        if tags is not None and (
            inside.parts[0] not in {CHRONOLOGIES_FOLDER, PARTS_FOLDER} or inside.stem not in stems
        ):
            continue
        data = path.read_bytes()
        if inside.as_posix() == SHOP_FILE:
            data = settings_text(msgspec.structs.replace(read_settings(folder), database=""))
        bag.add(f"{SHOP_PART}/{inside.as_posix()}", data)


def is_carried(inside: PurePosixPath) -> bool:
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

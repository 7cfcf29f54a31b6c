"""Whether a shop is as it was left, what of it is not, and which backup holds that whole.

The database is compared with its ledger, each kept file with its digest, each journal with how far
it went when the last backup was made. Of everything found it is said by the trade's names: entry,
sale, census row, file.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from heelstamp.errors import HeelstampError, IntegrityError
from heelstamp.shop.backup import last_backup
from heelstamp.shop.backup_folder import BackupFolder
from heelstamp.shop.backup_manifest import KeptEnd
from heelstamp.shop.database import engine_of
from heelstamp.shop.folder import open_shop
from heelstamp.shop.settings import DATABASE_FILE, files_of, read_settings

if TYPE_CHECKING:
    from sqlalchemy import Engine

    from heelstamp.casework.ports import JournalStore
    from heelstamp.store.soundness import DatabaseFault

Row = tuple[str, str]
"""Table, and key as the ledger writes it."""


@dataclass(frozen=True, slots=True)
class ShopFault:
    """One thing in a shop that is not as it was left.

    Attributes
    ----------
    where
        Entry, sale, census row, file or part of the database, in words.
    row
        Table and key, blank where it is about the whole database.
    wanted
        Digest that it should have, as the ledger or an entry has it; None where that is unknown.
    whole_in
        Backups that hold it whole, each as folder and name, the newest first.
    """

    where: str
    code: str
    message: str
    row: Row = ("", "")
    wanted: str | None = None
    whole_in: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Looked:
    """What one backup holds: digests of rows, of entries, and whether its database is whole."""

    place: str
    folder: BackupFolder
    whole: bool
    rows: Mapping[Row, str]
    entries: Mapping[str, str]


def shop_faults(
    shop: Path, backups: Sequence[BackupFolder] = (), *, compared: bool = False
) -> tuple[ShopFault, ...]:
    """Everything in a shop that is not as it was left, and what of the backups holds it whole.

    Parameters
    ----------
    compared
        Whether the shop must go at least as far as the newest of *backups*; without it as far as
        the one that it remembers, which is an older one after an older one was restored.

    Raises
    ------
    InputError
        The folder is no shop.
    """
    from sqlalchemy.exc import DatabaseError

    engine, _ = engine_of(shop, read_settings(shop))
    with suppress(HeelstampError):
        open_shop(shop).close()  # ends a migration that was cut off before the ledger began
    ends = _ends(shop, backups if compared else ())
    try:
        faults = [*_database_faults(engine), *_file_faults(shop, engine)]
        faults += [*_document_faults(shop), *_number_faults(shop)]
        faults += _lost_ledger(engine, ends)
    except (IntegrityError, DatabaseError) as error:
        faults = [ShopFault("the database", "file", str(error))]
    finally:
        engine.dispose()
    faults += _lost_ends(shop, ends)
    if not faults:
        return ()
    with TemporaryDirectory() as scratch:
        looked = [
            one
            for folder in backups
            for name in reversed(folder.names())
            if (one := _look(folder, name, Path(scratch))) is not None
        ]
    return tuple(replace(one, whole_in=_whole_in(one, looked)) for one in faults)


def _database_faults(engine: Engine) -> list[ShopFault]:
    from heelstamp.archive.ledger import rows_standing
    from heelstamp.store.ledger import lines_and_changes
    from heelstamp.store.soundness import database_faults

    found = database_faults(engine)
    standing: Mapping[Row, str] = {}
    with suppress(Exception), engine.connect().execution_options(reading=True) as connection:
        standing = rows_standing(lines_and_changes(connection)[1])
    tags = _tags(engine)
    told: dict[tuple[str, str], ShopFault] = {}
    for one in found:
        row = (one.table, one.key)
        where = _in_words(one, tags)
        told.setdefault(
            (where, one.code), ShopFault(where, one.code, one.message, row, standing.get(row))
        )
    return list(told.values())


def _tags(engine: Engine) -> dict[int, str]:
    from sqlalchemy import select

    from heelstamp.store.tables import dossier

    with suppress(Exception), engine.connect().execution_options(reading=True) as connection:
        return {row.id: row.tag for row in connection.execute(select(dossier.c.id, dossier.c.tag))}
    return {}


_WORDS = {
    "comparable": "sale {1} of {0}",
    "census": "census row {1} of {0}",
    "entry": "{0}, entry {1}",
    "dossier": "dossier {0}",
    "account": "account {0}",
    "file": "what is noted of file {0:.12}…",
    "document": "what is noted of document {0}",
    "finding": "kept finding {0:.12}…",
}


def _in_words(fault: DatabaseFault, tags: Mapping[int, str]) -> str:
    """Name a row as the trade does."""
    if fault.table not in _WORDS or not fault.key:
        return fault.where
    first, *rest = json.loads(fault.key)
    if fault.table in {"entry", "dossier"}:
        first = tags.get(first, first)
    return _WORDS[fault.table].format(str(first), *rest)


def _file_faults(shop: Path, engine: Engine) -> list[ShopFault]:
    from heelstamp.store.backup import content_of

    files = files_of(shop, read_settings(shop))
    said = {"missing": "is gone", "changed": "no longer has the content it was named by"}
    return [
        ShopFault(
            f"file {one.name[:12]}…", one.code, said[one.code], ("kept file", one.name), one.name
        )
        for one in files.verify_all(content_of(engine).files)
        if one.code in said
    ]


def _document_faults(shop: Path) -> list[ShopFault]:
    from heelstamp.shop.noted_documents import document_faults

    try:
        with open_shop(shop) as opened:
            noted = opened.documents.noted()
            return [
                ShopFault(
                    f"document {one.name}",
                    one.code,
                    one.message,
                    ("kept file", noted[one.name].digest),
                    noted[one.name].digest,
                )
                for one in document_faults(opened, shop)
            ]
    except HeelstampError:  # told before
        return []


def _number_faults(shop: Path) -> list[ShopFault]:
    """Tell serial numbers kept beside the rack that are not those of their dossier; forget them."""
    from heelstamp.casework.appraisal.clearance import numbers_of
    from heelstamp.casework.dossier import state_of

    told = "were not those of the dossier; they are made anew from it"
    try:
        with open_shop(shop) as opened:
            spoilt = []
            for tag, numbers in opened.rack.numbers().items():
                with suppress(HeelstampError):  # told before
                    if numbers != frozenset(numbers_of(state_of(opened, tag))):
                        spoilt.append(tag)
            opened.rack.forget(spoilt)
    except HeelstampError:  # told before
        return []
    return [ShopFault(f"{one}, serial numbers to look among", "changed", told) for one in spoilt]


def known_ends(shop: Path) -> tuple[str, Mapping[str, KeptEnd]]:
    """Time of the last whole backup that the shop knows of, and how far each journal went then."""
    last = last_backup(shop)
    return ("", {}) if last is None else (last.at, last.dossiers)


def lost_end(journals: JournalStore, tag: str, known: KeptEnd) -> str:
    """What is missing of a journal that went as far as *known*; empty where nothing is."""
    lines = journals.lines(tag)
    if len(lines) < known.length:
        first = len(lines) + 1
        if first == known.length:
            return f"entry {first} stood in the last backup and is gone"
        return f"entries {first} to {known.length} stood in the last backup and are gone"
    try:
        same = json.loads(lines[known.length - 1]).get("digest") == known.digest
    except (ValueError, AttributeError):
        return ""  # a line that cannot be read is told as such
    return "" if same else f"entry {known.length} is another than in the last backup"


@dataclass(frozen=True, slots=True)
class _End:
    """How far ledger and journals went when a backup was made."""

    at: str
    ledger: str | None
    dossiers: Mapping[str, KeptEnd]


def _ends(shop: Path, backups: Sequence[BackupFolder]) -> list[_End]:
    """From what the shop remembers, and from the newest of each folder of backups."""
    last = last_backup(shop)
    ends = [] if last is None else [_End(last.at, last.ledger, last.dossiers)]
    for folder in backups:
        for name in folder.names()[-1:]:
            with suppress(IntegrityError):
                one = folder.manifest(name)
                ends.append(_End(one.at, one.ledger, one.dossiers))
    return ends


def _lost_ledger(engine: Engine, ends: Sequence[_End]) -> list[ShopFault]:
    """Tell where the ledger no longer holds a line that was its last when a backup was made."""
    from sqlalchemy import select

    from heelstamp.store.tables import ledger

    with engine.connect().execution_options(reading=True) as connection:
        lines = [str(one) for one in connection.scalars(select(ledger.c.line))]
    held = {_digest_of(one) for one in lines}
    return [
        ShopFault("the ledger", "end", f"its last line in the backup of {one.at} is gone")
        for one in ends
        if one.ledger is not None and one.ledger not in held
    ]


def _digest_of(line: str) -> object:
    try:
        read = json.loads(line)
    except ValueError:
        return None
    return read.get("digest") if isinstance(read, dict) else None


def _lost_ends(shop: Path, ends: Sequence[_End]) -> list[ShopFault]:
    faults: dict[str, ShopFault] = {}
    try:
        with open_shop(shop) as opened:
            for one in ends:
                for tag, end in one.dossiers.items():
                    if message := lost_end(opened.journals, tag, end):
                        where = f"{tag}, entry {end.length}"
                        found = ShopFault(where, "end", message, ("end", tag), end.digest)
                        faults.setdefault(where, found)
    except HeelstampError:  # told before
        return []
    return list(faults.values())


def _look(folder: BackupFolder, name: str, scratch: Path) -> _Looked | None:
    """Read the rows and entries of a backup; None where it cannot be read."""
    from sqlalchemy import select

    from heelstamp.store.backup import look_over
    from heelstamp.store.engine import reading_engine
    from heelstamp.store.ledger import rows_found
    from heelstamp.store.tables import dossier, entry

    path = scratch / DATABASE_FILE
    try:
        folder.bring_database(name, path)
        _, faults = look_over(path)
        engine = reading_engine(path)
    except HeelstampError:
        return None
    try:
        with engine.connect().execution_options(reading=True) as connection:
            rows = dict(rows_found(connection))
            joined = select(entry, dossier.c.tag).join(dossier, dossier.c.id == entry.c.dossier_id)
            entries = {}
            for one in connection.execute(joined):
                rows["entry", json.dumps([one.dossier_id, one.seq], separators=(",", ":"))] = (
                    one.digest
                )
                entries[f"{one.tag}, entry {one.seq}"] = one.digest
    except Exception:  # noqa: BLE001 - a backup that cannot be read holds nothing whole
        return None
    finally:
        engine.dispose()
        path.unlink()
    return _Looked(f"{folder.folder}, {name}", folder, not faults, rows, entries)


def _whole_in(fault: ShopFault, looked: Sequence[_Looked]) -> tuple[str, ...]:
    table, key = fault.row
    if table == "kept file":
        return tuple(one.place for one in looked if one.folder.holds(key))
    if table == "end":
        return tuple(one.place for one in looked if one.entries.get(fault.where) == fault.wanted)
    if fault.wanted is not None:
        return tuple(one.place for one in looked if one.rows.get(fault.row) == fault.wanted)
    if table == "entry":
        return tuple(one.place for one in looked if one.whole and fault.where in one.entries)
    return tuple(one.place for one in looked if one.whole)

"""A shop copies itself while it works, and is brought back from a copy.

What a backup holds: the database, every file that it names, and every document in the shop's
folder (its settings, parts, chronologies, terms, lists). The address of a database server is left
out. When the last backup was made, where, and how far each journal went then, is noted in
``last-backup.json`` in the shop, so that an end that went missing since is found.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any, Literal

import msgspec

from heelstamp import __version__
from heelstamp.errors import ConflictError, InputError, IntegrityError, StorageError
from heelstamp.shop.backup_folder import FILES, BackupFolder, Plain, require_folder
from heelstamp.shop.backup_manifest import SCHEMA, Digest, KeptEnd, KeptFile, Manifest
from heelstamp.shop.certificate import FOLDER as CERTIFICATE_FOLDER
from heelstamp.shop.disk import Disk, machine
from heelstamp.shop.folder import now, open_shop, refuse_taken
from heelstamp.shop.settings import (
    DATABASE_FILE,
    FILES_FOLDER,
    SHOP_FILE,
    ShopSettings,
    files_of,
    read_settings,
    write_settings,
)
from heelstamp.shop.shop_key import FOLDER as KEY_FOLDER

if TYPE_CHECKING:
    from heelstamp.store.backup import DatabaseContent

LAST_BACKUP_FILE = "last-backup.json"
REMIND_AFTER_DAYS = 7
SECRET_FOLDERS = (CERTIFICATE_FOLDER, KEY_FOLDER)
"""Of a shop: keys, which its owner alone may read and which go to no other shop."""


class LastBackup(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What a shop remembers of its last whole backup.

    Attributes
    ----------
    at
        UTC.
    folder, name
        Where it lies, and its name there.
    ledger, dossiers
        As `heelstamp.shop.backup_manifest.Manifest` has them.
    """

    schema: Literal["heelstamp/last-backup/1"]
    at: str
    folder: str
    name: str
    ledger: Digest | None
    dossiers: dict[str, KeptEnd]


@dataclass(frozen=True, slots=True)
class Made:
    """A backup that was made.

    Attributes
    ----------
    copied
        Files and documents that were not there yet.
    noted
        Whether the shop could note that it was made.
    """

    name: str
    manifest: Manifest
    copied: int
    noted: bool


@dataclass(frozen=True, slots=True)
class Restored:
    """A shop that was brought back; *lacking* are SHA-256 or paths of what could not be."""

    name: str
    manifest: Manifest
    lacking: tuple[str, ...]


def backup_folder(
    folder: Path, ask: Callable[[], str], *, sealed: bool = False, disk: Disk | None = None
) -> BackupFolder:
    """Open a folder of backups, or one that is to be.

    Parameters
    ----------
    ask
        Gives the passphrase; called only where the folder is encrypted, or is to be.
    sealed
        A folder that has no backup yet is to be encrypted.

    Raises
    ------
    ConflictError
        The passphrase is another one, or the folder holds backups that are not encrypted.
    InputError
        The folder is a file, the passphrase is too short, or the library is not installed.
    """
    from heelstamp.shop.sealing import KEY_FILE, new_sealed, opened_sealed

    require_folder(folder)
    disk = disk or Disk()
    key = folder / KEY_FILE
    with machine(key):
        if key.is_file():
            return BackupFolder(folder, opened_sealed(key.read_bytes(), ask()), disk)
        plain = BackupFolder(folder, Plain(), disk)
        if not sealed:
            return plain
        if plain.names() or (folder / FILES).exists():
            raise ConflictError(
                "the backups in this folder are not encrypted",
                where=str(folder),
                remedy="Name another folder for encrypted ones.",
            )
        wrapping, secret = new_sealed(ask())
        folder.mkdir(parents=True, exist_ok=True)
        partial = folder / f".{KEY_FILE}.partial"
        with partial.open("wb") as file:
            disk.write(file, secret)
        disk.flush(partial)
        disk.rename(partial, key)
    return BackupFolder(folder, wrapping, disk)


def make_backup(shop: Path, into: BackupFolder, *, at: str = "") -> Made:
    """Back a shop up while it is used; earlier backups in the folder stay as they are.

    What is not whole in the shop is told in the manifest, and no reason to lose the rest.

    Parameters
    ----------
    at
        UTC; now without it.

    Raises
    ------
    InputError
        The folder is no shop, or the backup would lie within it.
    StorageError
        A machine refused; no backup appeared, and nothing that was there is changed.
    IntegrityError
        The database cannot be read at all.
    """
    from heelstamp.store.backup import copy_database, look_over

    settings = read_settings(shop)
    _refuse_within(shop, into.folder)
    open_shop(shop).close()  # brings an older database up to date, and refuses one that cannot be
    at = at or now()
    with machine(into.folder):
        into.folder.mkdir(parents=True, exist_ok=True)
    with into.staging(shop) as stage:
        database = stage / DATABASE_FILE
        copy_database(settings.database, shop / DATABASE_FILE, database)
        content, faults = look_over(database)
        if content is None:
            raise IntegrityError(
                "the database is too damaged to say what it holds",
                where=DATABASE_FILE,
                received=faults[0].message,
                remedy="Restore the last backup into another folder: heelstamp restore BACKUP "
                "--shop NEW-FOLDER.",
            )
        copied, lacking = _keep_files(shop, into, content, stage)
        documents, more = _keep_documents(shop, into, stage)
        manifest = Manifest(
            schema=SCHEMA,
            at=at,
            program=__version__,
            shop=settings.name,
            engine="postgresql" if settings.database else "sqlite",
            database=_kept_file(database),
            ledger=content.ledger,
            dossiers={tag: KeptEnd(one.seq, one.digest) for tag, one in content.dossiers.items()},
            files=dict(content.files),
            documents=documents,
            lacking=lacking,
            faults=[f"{one.where}: {one.code}, {one.message}" for one in faults],
        )
        name = into.add(at, database, manifest)
    noted = manifest.whole and _note(shop, into.folder, name, manifest)
    return Made(name, manifest, copied + more, noted)


def restore_backup(
    source: BackupFolder,
    shop: Path,
    *,
    date: str = "",
    database: str = "",
    incomplete: bool = False,
) -> Restored:
    """Bring a shop back into a new or empty folder; it appears whole or not at all.

    Everything is verified as it is read, and the shop once more before it appears.

    Parameters
    ----------
    date
        Beginning of a backup's name; the newest that was whole without it.
    database
        Address of an empty PostgreSQL database to fill; SQLite in the folder without it.
    incomplete
        Restore also where files of the backup are missing or damaged.

    Raises
    ------
    ConflictError
        The folder is a shop or not empty, or the database holds rows.
    InputError
        There is no such backup.
    IntegrityError
        The backup is not whole.
    StorageError
        A machine refused.
    """
    from heelstamp.shop.whole_folder import appearing
    from heelstamp.store.backup import fill_postgres

    with machine(shop):
        refuse_taken(shop)
    name, manifest = choose_backup(source, date)
    lacking: list[str] = [f"file {one[:12]}…" for one in manifest.lacking]
    with machine(shop), appearing(shop, last=(SHOP_FILE,)) as building:
        source.bring_database(name, building / DATABASE_FILE)
        for path, one in manifest.documents.items():
            _bring(source, one.digest, building / path, lacking, path, incomplete=incomplete)
            if path.split("/")[0] in SECRET_FOLDERS and (building / path).exists():
                (building / path).chmod(0o600)  # keys are nobody else's to read
        files = building / FILES_FOLDER
        files.mkdir(exist_ok=True)
        for digest in sorted(set(manifest.files) - set(manifest.lacking)):
            target = files / digest[:2] / digest[2:]
            _bring(source, digest, target, lacking, f"file {digest[:12]}…", incomplete=incomplete)
        settings = msgspec.structs.replace(read_settings(building), database=database)
        _refuse_changed(building, manifest, lacking)
        (building / SHOP_FILE).unlink()
        write_settings(building / SHOP_FILE, settings)
        if database:
            fill_postgres(database, building / DATABASE_FILE)
            (building / DATABASE_FILE).unlink()
        if manifest.whole:
            _note(building, source.folder, name, manifest)
    return Restored(name, manifest, tuple(lacking))


def choose_backup(source: BackupFolder, date: str = "") -> tuple[str, Manifest]:
    """Choose the newest backup that was whole, or the newest of a date.

    Raises
    ------
    InputError
        There is none.
    IntegrityError
        The manifest of the one that was named is damaged.
    """
    names = [one for one in source.names() if one.startswith(date)]
    for name in reversed(names):
        try:
            manifest = source.manifest(name)
        except IntegrityError:
            if date:
                raise
            continue
        if manifest.whole or date:
            return name, manifest
    known = ", ".join(source.names())
    raise InputError(
        "no whole backup here" if not date else "no backup of this date",
        where=str(source.folder),
        received=date or known or "none at all",
        remedy=f"Name one with --date: {known}." if known else "Name the folder of the backups.",
    )


def last_backup(shop: Path) -> LastBackup | None:
    """What the shop remembers of its last whole backup; None where it knows of none."""
    try:
        data = (shop / LAST_BACKUP_FILE).read_bytes()
        return msgspec.json.decode(data, type=LastBackup)
    except (OSError, msgspec.MsgspecError):
        return None


def days_since_backup(shop: Path, at: str = "") -> int | None:
    """Whole days since the last whole backup; None where none is known.

    Parameters
    ----------
    at
        UTC time to count to; now without it.
    """
    last = last_backup(shop)
    if last is None:
        return None
    try:
        then = datetime.fromisoformat(last.at).astimezone(UTC)
    except ValueError:
        return None
    return max(0, (datetime.fromisoformat(at or now()).astimezone(UTC) - then).days)


def backup_is_due(shop: Path, at: str = "") -> bool:
    """Whether no whole backup was made within `REMIND_AFTER_DAYS`."""
    days = days_since_backup(shop, at)
    return days is None or days >= REMIND_AFTER_DAYS


def _note(shop: Path, folder: Path, name: str, manifest: Manifest) -> bool:
    record = LastBackup(
        schema="heelstamp/last-backup/1",
        at=manifest.at,
        folder=str(folder.resolve()),
        name=name,
        ledger=manifest.ledger,
        dossiers=manifest.dossiers,
    )
    from heelstamp.shop.files import write_whole

    try:
        write_whole(shop / LAST_BACKUP_FILE, msgspec.json.format(msgspec.json.encode(record)))
    except StorageError:  # a shop that cannot be written is backed up all the same
        return False
    return True


def _refuse_within(shop: Path, folder: Path) -> None:
    inner, outer = folder.resolve(), shop.resolve()
    if inner == outer or outer in inner.parents:
        raise InputError(
            "a backup within the shop is lost with the shop",
            where=str(folder),
            remedy="Name a folder elsewhere, best on another disk.",
        )


def _keep_files(
    shop: Path, into: BackupFolder, content: DatabaseContent, stage: Path
) -> tuple[int, list[Digest]]:
    from heelstamp.media.files import ContentFiles

    files, copied, lacking = files_of(shop, read_settings(shop)), 0, []
    for digest in sorted(content.files):
        try:
            if isinstance(files, ContentFiles):
                source = files.path_of(digest)
            elif into.has(digest):
                continue  # a store is asked for what is not kept yet alone
            else:
                source = stage / "file"
                source.write_bytes(files.get(digest))
            if source.is_file():
                copied += into.keep(digest, source)
                continue
        except IntegrityError:
            pass
        if not into.has(digest):
            lacking.append(digest)
    return copied, lacking


def _keep_documents(shop: Path, into: BackupFolder, stage: Path) -> tuple[dict[str, KeptFile], int]:
    documents, copied = {}, 0
    with machine(shop):
        for path in documents_of(shop):
            name = path.relative_to(shop).as_posix()
            source = stage / "document"
            source.write_bytes(path.read_bytes())
            if name == SHOP_FILE:
                source.unlink()
                write_settings(source, _in_the_folder(read_settings(shop)))
            documents[name] = _kept_file(source)
            copied += into.keep(documents[name].digest, source)
    return documents, copied


def _in_the_folder(settings: ShopSettings) -> ShopSettings:
    """Settings as what is restored has them: all of it lies in the folder."""
    return msgspec.structs.replace(
        settings, database="", files="", files_endpoint="", workers=False
    )


def documents_of(shop: Path) -> list[Path]:
    """Files of a shop's folder besides its database, its kept files, and what begins with a dot."""
    found = []
    for place, folders, names in os.walk(shop):
        inside = PurePosixPath(Path(place).relative_to(shop).as_posix())
        folders[:] = sorted(one for one in folders if is_document(inside / one))
        found += [Path(place) / one for one in sorted(names) if is_document(inside / one)]
    return [one for one in found if one.is_file()]


def is_document(inside: PurePosixPath) -> bool:
    """Whether a path within a shop's folder is one of its documents, or a folder of them."""
    first = inside.parts[0]
    own = first in {FILES_FOLDER, LAST_BACKUP_FILE} or first.startswith(DATABASE_FILE)
    hidden = any(one.startswith(".") for one in inside.parts)
    return not own and not hidden and not inside.name.endswith(".partial")


def _kept_file(path: Path) -> KeptFile:
    import hashlib

    with path.open("rb") as file:
        return KeptFile(hashlib.file_digest(file, "sha256").hexdigest(), path.stat().st_size)


def _bring(
    source: BackupFolder,
    digest: str,
    target: Path,
    lacking: list[str],
    name: str,
    *,
    incomplete: bool,
) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    try:
        source.bring(digest, target)
    except IntegrityError:
        if not incomplete or name == SHOP_FILE:
            raise
        lacking.append(name)


def _refuse_changed(building: Path, manifest: Manifest, lacking: list[str]) -> None:
    """Look over what was restored before it appears."""
    from heelstamp.media.files import ContentFiles
    from heelstamp.store.backup import look_over

    content, faults = look_over(building / DATABASE_FILE)
    told: list[Any] = [] if manifest.faults else [one.message for one in faults]
    if content is None or content.ledger != manifest.ledger or _ends(content) != manifest.dossiers:
        told.append("the journals do not end where the manifest says")
    if not lacking:
        files = ContentFiles(building / FILES_FOLDER)
        told += [one.message for one in files.verify_all(manifest.files)]
    if told:
        raise IntegrityError(
            "what was restored is not what was backed up",
            where=str(building.name),
            received=told[0],
            remedy="Check this machine's disk and memory, or take another date with --date.",
        )


def _ends(content: DatabaseContent) -> Mapping[str, KeptEnd]:
    return {tag: KeptEnd(one.seq, one.digest) for tag, one in content.dossiers.items()}

"""Acts on a shop that a power cut may hit, and what must hold of what is left."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from fakes.kills import TAG, plain, stocked_shop
from fakes.stores import AT, BY
from heelstamp.casework.dossier import append
from heelstamp.casework.ports import FileRecord
from heelstamp.shop import create_shop, is_free, is_shop, open_shop
from heelstamp.shop.backup import make_backup, restore_backup
from heelstamp.shop.carrying_in import import_folder
from heelstamp.shop.carrying_out import export_dossiers
from heelstamp.shop.noted_documents import write_document
from heelstamp.shop.soundness import shop_faults

PICTURE = b"picture " * 900
FRAME = {"id": "F1", "name": "front.jpg", "media_type": "image/jpeg", "width": 4, "height": 3}
TERMS = "terms/H-0001.toml"
NEWER = b"commission = 0.3\n"
OLDER = b"commission = 0.2\n"

Look = Callable[[Path], list[str]]


def lay_new(_: Path) -> None:
    """Nothing lies there."""


def lay_shop(disk: Path) -> None:
    """A stocked shop."""
    stocked_shop(disk / "shop")


def lay_backup(disk: Path) -> None:
    """A stocked shop, backed up once."""
    lay_shop(disk)
    make_backup(disk / "shop", plain(disk / "backups"), at="2026-11-30T09:00:00Z")


def lay_carried(disk: Path) -> None:
    """A stocked shop, what it carried out, and another shop."""
    lay_shop(disk)
    export_dossiers(disk / "shop", [TAG], disk / "out")
    create_shop(disk / "other", name="Other", currency="USD").close()


def photograph(disk: Path) -> None:
    """Keep a photograph, then enter it."""
    with open_shop(disk / "shop") as shop:
        digest = shop.files.put(PICTURE)
        shop.journals.record_file(FileRecord(digest, len(PICTURE), "image/jpeg"))
        append(shop, TAG, "photograph", {**FRAME, "file": digest}, at=AT, by=BY)


def change_terms(disk: Path) -> None:
    """Write other terms over those that are there."""
    with open_shop(disk / "shop") as shop:
        write_document(shop, disk / "shop", TERMS, NEWER)


def new_shop(disk: Path) -> None:
    """Make a shop where there is none."""
    create_shop(disk / "shop", name="Test shop", currency="USD").close()


def back_up(disk: Path) -> None:
    """Back up, after a file came to it."""
    photograph(disk)
    make_backup(disk / "shop", plain(disk / "backups"), at="2026-12-01T09:00:00Z")


def bring_back(disk: Path) -> None:
    """Restore into a new folder."""
    restore_backup(plain(disk / "backups"), disk / "again")


def take_in(disk: Path) -> None:
    """Import what was carried out."""
    import_folder(disk / "out", disk / "other")


def sound(disk: Path) -> list[str]:
    """What is not as it was left, in every shop and backup that is there."""
    told = []
    for name in ("shop", "again", "other"):
        folder = disk / name
        if is_shop(folder):
            told += [f"{name}: {one.where}, {one.code}" for one in shop_faults(folder)]
        elif not is_free(folder):
            told.append(f"{name} is neither a shop nor free")
    if (disk / "backups").is_dir():
        backups = plain(disk / "backups")
        told += [f"{name}: {one}" for name in backups.names() for one in backups.faults(name)]
    return told


def whole_terms(disk: Path) -> list[str]:
    """Terms are the older or the newer ones, whole; which of them the shop notes is told later."""
    found = (disk / "shop" / TERMS).read_bytes()
    return [] if found in (OLDER, NEWER) else [f"terms are {found!r}"]


def there(name: str) -> Look:
    """The shop of this name is there, and sound."""
    return lambda disk: sound(disk) + ([] if is_shop(disk / name) else [f"{name} is gone"])


def entered(disk: Path) -> list[str]:
    """The photograph is there, and so is everything else."""
    with open_shop(disk / "shop") as shop:
        held = b"".join(shop.journals.lines(TAG))
    return sound(disk) + ([] if b'"F1"' in held else ["the entry is lost"])


def newer_terms(disk: Path) -> list[str]:
    """The newer terms stand."""
    found = (disk / "shop" / TERMS).read_bytes()
    return sound(disk) + ([] if found == NEWER else [f"terms are {found!r}"])


def backed_up(disk: Path) -> list[str]:
    """Both backups are there and whole."""
    count = len(plain(disk / "backups").names())
    return sound(disk) + ([] if count == 2 else [f"{count} backups"])


def taken_in(disk: Path) -> list[str]:
    """The dossier is in the other shop."""
    with open_shop(disk / "other") as shop:
        return sound(disk) + ([] if shop.journals.tags() == (TAG,) else ["the dossier is lost"])


ACTS: dict[str, tuple[Callable[[Path], None], Callable[[Path], None], Look, Look]] = {
    "photograph": (lay_shop, photograph, sound, entered),
    "terms": (lay_shop, change_terms, whole_terms, newer_terms),
    "new": (lay_new, new_shop, sound, there("shop")),
    "backup": (lay_backup, back_up, sound, backed_up),
    "restore": (lay_backup, bring_back, sound, there("again")),
    "import": (lay_carried, take_in, sound, taken_in),
}
"""What is laid out, what is done, what must hold at any cut, and what once it was done."""

"""Documents in a shop's folder that numbers come from: noted under the ledger, compared with it.

They are files that a person may write with an editor. What the program writes is noted with it; a
document that was never noted is noted when the shop is opened next. One that is no longer as it was
noted is named by *verify* and *doctor*, until a person says that it was meant:
``heelstamp doctor --accept NAME``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.casework.ports import DocumentRecord, FileFault
from heelstamp.errors import NotFoundError
from heelstamp.shop.files import read_file, write_whole

if TYPE_CHECKING:
    from heelstamp.casework.ports import Shop

RESTED_ON = (
    "consignment.toml",
    "cover.toml",
    "market.toml",
    "terms",
    "chronologies",
    "parts",
    "lists",
    "federation",
)
"""Files and folders of a shop's folder that a number, a date or a word can come from."""
ACCEPT = "if you changed it, say heelstamp doctor --accept"


def write_document(shop: Shop, folder: Path, name: str, data: bytes) -> None:
    """Write a document into the shop in *folder*, whole, and note it.

    Parameters
    ----------
    name
        Path within the folder, parts joined by ``/``.

    Raises
    ------
    StorageError
        The machine refused; what stood before still does.
    """
    write_whole(folder / name, data)
    shop.documents.note({name: _record(data)})


def note_new(shop: Shop, folder: Path) -> None:
    """Note documents that were never noted; none that is noted is touched."""
    noted = shop.documents.noted()
    fresh = [(name, path) for name, path in rested_on(folder) if name not in noted]
    shop.documents.note({name: _record(read_file(path)) for name, path in fresh})


def accept(shop: Shop, folder: Path, names: Sequence[str]) -> None:
    """Note documents as they lie there, or that they are gone, because a person says so.

    Raises
    ------
    NotFoundError
        One is neither there nor noted.
    """
    there, noted = dict(rested_on(folder)), shop.documents.noted()
    for name in names:
        if name not in there and name not in noted:
            raise NotFoundError(
                "no such document in the shop",
                received=name,
                remedy=f"One of {', '.join(sorted({*there, *noted})) or 'none'}.",
            )
    shop.documents.note(
        {name: _record(read_file(there[name])) if name in there else None for name in names}
    )


def document_faults(shop: Shop, folder: Path) -> tuple[FileFault, ...]:
    """Documents that are not as they were noted: ``changed`` or ``missing``."""
    there, found = dict(rested_on(folder)), []
    for name, record in sorted(shop.documents.noted().items()):
        if name not in there:
            found.append(FileFault(name, "missing", f"is gone; {ACCEPT} {name}"))
        elif _record(read_file(there[name])) != record:
            told = f"is not as it was noted; {ACCEPT} {name}"
            found.append(FileFault(name, "changed", told))
    return tuple(found)


def rested_on(folder: Path) -> Iterator[tuple[str, Path]]:
    """Name and place of each document that a number can come from, sorted."""
    for one in sorted(RESTED_ON):
        top = folder / one
        for path in sorted(top.rglob("*")) if top.is_dir() else [top]:
            hidden = any(part.startswith(".") for part in path.relative_to(folder).parts)
            if path.is_file() and not hidden:
                yield path.relative_to(folder).as_posix(), path


def _record(data: bytes) -> DocumentRecord:
    from heelstamp.archive import sha256

    return DocumentRecord(sha256(data), len(data))

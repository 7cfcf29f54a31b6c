"""Bags written and read (BagIt 1.0, RFC 8493), as a folder or as one ZIP file.

Written whole or not at all. In a ZIP nothing is compressed, since photographs are already, and no
time stands but the day. ``tagmanifest-sha256.txt.p7s`` is the shop's signature over that list, and
through it over every byte of the bag (CMS, RFC 5652, without the list itself); general programs
check it too.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol
from uuid import uuid4

from heelstamp.archive.bag import (
    DECLARATION,
    MANIFEST,
    PAYLOAD,
    TAG_MANIFEST,
    read_manifest,
    tag_texts,
)
from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.disk import machine
from heelstamp.shop.whole_folder import appearing, is_vacant
from heelstamp.store.flushing import flush_file, flush_folder

SIGNATURE = f"{TAG_MANIFEST}.p7s"
ZIP = ".zip"
_CHUNK = 1 << 20
TEXT_MAX = 64_000_000
"""Bytes of a list or another text of a bag that is read whole."""


@dataclass
class BagWriter:
    """A bag being filled.

    Attributes
    ----------
    put
        Writes a file by its path within the bag.
    payload, size
        Digests by path, and bytes, of what was added.
    """

    put: Callable[[str, bytes], None]
    payload: dict[str, str] = field(default_factory=dict)
    size: int = 0

    def add(self, path: str, data: bytes, digest: str = "") -> None:
        """Add a file of the payload; its SHA-256 is computed where it is not known."""
        whole = PAYLOAD + path
        self.put(whole, data)
        self.payload[whole] = digest or hashlib.sha256(data).hexdigest()
        self.size += len(data)

    def close(self, about: Mapping[str, str], sign: Callable[[bytes], bytes]) -> None:
        """Write the texts about the payload, and the signature over them."""
        texts = tag_texts(self.payload, self.size, about)
        for name, text in texts.items():
            self.put(name, text)
        self.put(SIGNATURE, sign(texts[TAG_MANIFEST]))


@contextmanager
def writing_bag(to: Path, *, day: str) -> Iterator[BagWriter]:
    """Write a bag to a folder, or to a file whose name ends in ``.zip``; whole or not at all.

    Parameters
    ----------
    day
        Told as the time of every file in a ZIP: ``2026-11-02``.

    Raises
    ------
    ConflictError
        Something is there already.
    StorageError
        A machine refused; nothing of it appears then.
    """
    zipped = to.suffix.lower() == ZIP
    with machine(to):
        if to.exists() if zipped else not is_vacant(to):
            raise ConflictError(
                "a file of this name is there" if zipped else "this needs a folder of its own",
                where=str(to),
                remedy="Name another file."
                if zipped
                else "Name an empty folder, or one that does not exist yet.",
            )
        with _zip(to, day) if zipped else _folder(to) as writer:
            yield writer


@contextmanager
def _folder(to: Path) -> Iterator[BagWriter]:
    with appearing(to, last=(DECLARATION,)) as building:
        made: set[Path] = set()

        def put(path: str, data: bytes) -> None:
            target = building / path
            if target.parent not in made:
                target.parent.mkdir(parents=True, exist_ok=True)
                made.add(target.parent)
            target.write_bytes(data)

        yield BagWriter(put)


@contextmanager
def _zip(to: Path, day: str) -> Iterator[BagWriter]:
    partial = to.with_name(f".{uuid4().hex}.partial")
    year, month, number = map(int, day.split("-"))
    try:
        with zipfile.ZipFile(partial, "x", zipfile.ZIP_STORED) as archive:

            def put(path: str, data: bytes) -> None:
                told = zipfile.ZipInfo(f"{to.stem}/{path}", (year, month, number, 0, 0, 0))
                told.external_attr = 0o644 << 16
                archive.writestr(told, data)

            yield BagWriter(put)
        flush_file(partial)
        partial.rename(to)
        flush_folder(to.parent)
    except BaseException:
        partial.unlink(missing_ok=True)
        raise


class BagFiles(Protocol):
    """Files of a bag that lies somewhere, by path."""

    def names(self) -> set[str]:
        """Every file."""
        ...

    def size(self, path: str) -> int:
        """Bytes of a file."""
        ...

    def chunks(self, path: str) -> Iterator[bytes]:
        """A file's bytes, piece by piece."""
        ...


class _InFolder:
    def __init__(self, place: Path) -> None:
        self.place = place

    def names(self) -> set[str]:
        files = (one for one in self.place.rglob("*") if not one.is_dir())
        return {one.relative_to(self.place).as_posix() for one in files}

    def size(self, path: str) -> int:
        return (self.place / path).stat().st_size

    def chunks(self, path: str) -> Iterator[bytes]:
        with (self.place / path).open("rb") as file:
            while chunk := file.read(_CHUNK):
                yield chunk


class _InZip:
    """One folder in a ZIP file (RFC 8493, 4.2)."""

    def __init__(self, archive: zipfile.ZipFile, where: str) -> None:
        self.archive = archive
        listed = [one for one in archive.infolist() if not one.is_dir()]
        tops = {one.filename.split("/")[0] for one in listed}
        self.members = {one.filename.partition("/")[2]: one for one in listed}
        if len(tops) != 1 or "" in self.members or len(self.members) != len(listed):
            raise InputError("not one bag in a ZIP file", where=where)

    def names(self) -> set[str]:
        return set(self.members)

    def size(self, path: str) -> int:
        return self.members[path].file_size

    def chunks(self, path: str) -> Iterator[bytes]:
        try:
            with self.archive.open(self.members[path]) as file:
                while chunk := file.read(_CHUNK):
                    yield chunk
        except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, RuntimeError):
            yield b"\x00damaged"  # no digest fits it: told as changed


@contextmanager
def reading_bag(place: Path) -> Iterator[BagFiles]:
    """Open what may be a bag.

    Raises
    ------
    InputError
        It is neither a folder nor a ZIP file with one folder in it, or cannot be read.
    """
    if place.is_dir():
        yield _InFolder(place)
        return
    try:
        with zipfile.ZipFile(place) as archive:
            yield _InZip(archive, place.name)
    except (zipfile.BadZipFile, OSError, EOFError) as error:
        raise InputError(
            "not a ZIP file that can be read",
            where=place.name,
            received=getattr(error, "strerror", None) or error,
            remedy="Copy it again from where it was made.",
        ) from None


def is_bag(place: Path) -> bool:
    """Whether a folder says that it is a bag, or a file is a ZIP file."""
    if place.is_dir():
        return (place / DECLARATION).is_file()
    if not place.is_file():
        return False
    with place.open("rb") as file:
        return file.read(4) in (b"PK\x03\x04", b"PK\x05\x06")


def signature_in(data: bytes) -> tuple[bytes, bytes] | None:
    """What the signature of a bag in a ZIP file covers, and the signature; None of another file.

    Whether the files of the bag are those of the list that it covers, `bag_faults` tells.
    """
    if not data.startswith(b"PK\x03\x04"):
        return None
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            bag = _InZip(archive, "bag")
            return text_in(bag, TAG_MANIFEST), text_in(bag, SIGNATURE)
    except (zipfile.BadZipFile, KeyError, InputError):
        return None


def text_in(bag: BagFiles, path: str) -> bytes:
    """Read a file of a bag whole.

    Raises
    ------
    InputError
        It is larger than `TEXT_MAX`.
    """
    if bag.size(path) > TEXT_MAX:
        raise InputError("too large to be read whole", where=path, received=bag.size(path))
    return b"".join(bag.chunks(path))


def bag_faults(bag: BagFiles) -> list[tuple[str, str]]:
    """What makes a bag not complete or not valid (RFC 8493, 3): paths, and what is wrong there.

    Raises
    ------
    InputError
        It is no bag of this kind, or a list of it cannot be read.
    """
    names = bag.names()
    if not {DECLARATION, MANIFEST, TAG_MANIFEST} <= names:
        raise InputError(
            "not a bag",
            received=f"no {min({DECLARATION, MANIFEST, TAG_MANIFEST} - names)} in it",
            remedy="Name a folder or a ZIP file that heelstamp pack or heelstamp export wrote.",
        )
    payload = read_manifest(text_in(bag, MANIFEST), MANIFEST)
    tags = read_manifest(text_in(bag, TAG_MANIFEST), TAG_MANIFEST)
    found = [(path, "is listed as payload and lies elsewhere") for path in payload
             if not path.startswith(PAYLOAD)]  # fmt: skip
    if MANIFEST not in tags:
        found.append((MANIFEST, "is in no list"))
    for path in sorted(names):
        listed = payload if path.startswith(PAYLOAD) else {*tags, TAG_MANIFEST, SIGNATURE}
        if path not in listed:
            found.append((path, "is in no list: it was added"))
    for path, digest in sorted({**payload, **tags}.items()):
        if path not in names:
            found.append((path, "is missing"))
        elif _digest(bag, path) != digest:
            found.append((path, "is not as it was written"))
    return found


def _digest(bag: BagFiles, path: str) -> str:
    taken = hashlib.sha256()
    for chunk in bag.chunks(path):
        taken.update(chunk)
    return taken.hexdigest()

"""What is known of the makers: a chronology of each, its editions, and new ones written whole.

An edit is a whole new document, read by the same reader as any file before anything is written;
comments and order of what it does not touch are kept. The edition it replaces is kept under
``earlier``, named with its edition, so that what it concluded can be compared. What comes with the
program is copied to the shop's own first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from heelstamp.errors import ConflictError, HeelstampError, InputError, NotFoundError
from heelstamp.reference.chronology_files import (
    bundled_text,
    chronology_ids,
    own_file,
    read_chronology_file,
)
from heelstamp.shop.files import make_folder, read_file, write_whole
from heelstamp.shop.folder import now
from heelstamp.shop.noted_documents import write_document
from heelstamp.shop.settings import CHRONOLOGIES_FOLDER

if TYPE_CHECKING:
    from heelstamp.chronology import Chronology
    from heelstamp.chronology.blank import KnownOfMaker
    from heelstamp.shop.opened import OpenShop

EARLIER_FOLDER = "earlier"
Edit = Callable[[Mapping[str, Any]], dict[str, Any]]
_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")


@dataclass(frozen=True)
class Kept:
    """One chronology on the shelf; ``refused`` tells why it cannot be read.

    Attributes
    ----------
    own
        Whether the shop has one of its own, in place of the program's.
    census
        Rows of its census.
    """

    id: str
    chronology: Chronology | None
    own: bool
    census: int
    refused: HeelstampError | None = None


def shelf_of(shop: OpenShop) -> list[Kept]:
    """Every chronology there is, the shop's own and those of the program."""
    folder = shop.folder / CHRONOLOGIES_FOLDER
    found = []
    for id_ in chronology_ids(folder):
        own, count = own_file(id_, folder) is not None, shop.census.count(id_)
        try:
            found.append(Kept(id_, shop.chronology(id_), own, count))
        except HeelstampError as error:
            found.append(Kept(id_, None, own, count, error))
    return found


def kept_at(shop: OpenShop, id_: str) -> Kept:
    """One chronology on the shelf; see `present` for what is refused."""
    found = present(shop, id_)
    own = own_file(id_, shop.folder / CHRONOLOGIES_FOLDER) is not None
    return Kept(id_, found, own, shop.census.count(id_))


def present(shop: OpenShop, id_: str) -> Chronology:
    """Return the present edition of a chronology by its id.

    Raises
    ------
    InputError
        There is none of this id, or its file cannot be read.
    """
    if id_ not in chronology_ids(shop.folder / CHRONOLOGIES_FOLDER):
        raise NotFoundError("no such chronology", received=id_, remedy="See Chronologies.")
    return shop.chronology(id_)


def text_of(shop: OpenShop, id_: str) -> str:
    """Return the text of the present edition as it lies there; what is JSON is written as TOML.

    Raises
    ------
    InputError
        There is none of this id, or it cannot be read.
    """
    from heelstamp.shop.toml_revision import toml_of

    text, name = _lies(shop, id_)
    return text if name.endswith(".toml") else toml_of(document_of(shop, id_))


def document_of(shop: OpenShop, id_: str) -> dict[str, Any]:
    """Return the present edition as plain values; see `text_of`."""
    from heelstamp.documents import format_of, parse_document

    text, name = _lies(shop, id_)
    return parse_document(text, name, format_of(name))


def _lies(shop: OpenShop, id_: str) -> tuple[str, str]:
    """Text of the present edition, and the name of its file."""
    from heelstamp.documents import decode_text

    folder = shop.folder / CHRONOLOGIES_FOLDER
    own = own_file(id_, folder)
    if own is None:
        return bundled_text(id_, folder), f"{id_}.toml"
    return decode_text(read_file(own), own.name), own.name


def begin(shop: OpenShop, id_: str, like: str, *, maker: str, model: str, by: str) -> Chronology:
    """Begin a chronology of another maker as a copy of one that there is.

    Everything in the copy is still what it was copied from, and where that was invented the copy
    says so until somebody who knows changes it.

    Raises
    ------
    InputError
        The id is no name of a file, or maker or model are left out.
    ConflictError
        There is one of this id.
    """
    with shop.writing:
        source = present(shop, like)
        _refuse_id(shop, id_)
        new = {
            **document_of(shop, like),
            "id": id_,
            "edition": now()[:10],
            "maker": maker.strip(),
            "model": model.strip(),
            "note": f"Begun as a copy of {source.maker} {source.model}, edition {source.edition}; "
            "what was not changed since is that maker's.",
        }
        return _put_new(shop, id_, _revised(shop, like, new, by))


def begin_blank(shop: OpenShop, id_: str, kind: str, known: KnownOfMaker, *, by: str) -> Chronology:
    """Begin a chronology of a maker of one's own, with nothing of any other maker in it.

    Parameters
    ----------
    kind
        Kind of instrument, as ``guitar``.

    Raises
    ------
    InputError
        The id is no name of a file, the kind is not known, or what is known cannot be read.
    ConflictError
        There is one of this id.
    """
    from heelstamp.chronology.blank import blank_chronology
    from heelstamp.reference.parts_trees import tree_loader
    from heelstamp.shop.toml_revision import toml_of

    with shop.writing:
        _refuse_id(shop, id_)
        new = blank_chronology(
            document_of_kind(kind), known, id_=id_, today=now()[:10], tree=tree_loader()(kind)
        )
        return _put_new(shop, id_, _by_hand(toml_of(new), by))


def document_of_kind(kind: str) -> dict[str, Any]:
    """Return a chronology of the program's own, of this kind of instrument, as plain values.

    Raises
    ------
    InputError
        The program has none.
    """
    from heelstamp.documents import parse_document

    kinds = []
    for id_ in chronology_ids():
        document = parse_document(bundled_text(id_), f"{id_}.toml", "toml")
        if document.get("kind") == kind:
            return document
        kinds.append(str(document.get("kind")))
    raise InputError(
        "nothing is known of this kind of instrument",
        where="field kind",
        received=kind,
        remedy=f"One of {', '.join(sorted(set(kinds)))}.",
    )


def _refuse_id(shop: OpenShop, id_: str) -> None:
    """Refuse an id that is no name of a file, or that is taken."""
    if not _ID.fullmatch(id_):
        raise InputError(
            "not an id of a chronology",
            received=id_,
            remedy="Small letters, figures and hyphens, at most 60.",
        )
    if id_ in chronology_ids(shop.folder / CHRONOLOGIES_FOLDER):
        raise ConflictError("there is a chronology of this id", received=id_)


def _put_new(shop: OpenShop, id_: str, text: str) -> Chronology:
    """Read a new document whole, and lay it on the shelf."""
    made = _read(text, id_)
    make_folder(shop.folder / CHRONOLOGIES_FOLDER)
    _write(shop, f"{id_}.toml", text)
    return made


def edit(
    shop: OpenShop, id_: str, change: Edit, *, base: str, by: str, edition: str = ""
) -> Chronology:
    """Write a new edition with one change; see `save_text`.

    Parameters
    ----------
    change
        Makes the new document of the present one.
    by
        The hand that writes it; a comment at the head of the file names it.
    edition
        Name of the new one; the day, and a number where that is taken, without it.
    """
    from heelstamp.chronology.editing import in_edition, next_edition

    with shop.writing:
        before = present(shop, id_)
        _refuse_changed(before, base)
        document = document_of(shop, id_)
        new = change(document)
        if new == document:
            raise InputError("nothing was changed", where=id_, remedy="Change something first.")
        named = in_edition(new, edition.strip() or next_edition(before.edition, now()[:10]))
        return _put(shop, before, _revised(shop, id_, named, by))


def save_text(shop: OpenShop, id_: str, text: str, *, base: str) -> Chronology:
    """Write a new edition from its whole text, comments and all.

    Parameters
    ----------
    base
        Digest of the edition that was edited; empty when that is not known.

    Raises
    ------
    InputError
        The text is no chronology, of another id, or of the same edition; names line and remedy.
    ConflictError
        Somebody changed the chronology since the page was shown.
    """
    with shop.writing:
        before = present(shop, id_)
        _refuse_changed(before, base)
        return _put(shop, before, text.replace("\r\n", "\n"))


def accept(
    shop: OpenShop, id_: str, document: Mapping[str, Any], digest: str, *, base: str, by: str
) -> Chronology:
    """Write an edition that was learned, once; see `save_text`.

    Parameters
    ----------
    document, digest
        The new edition as plain values, and its digest.
    """
    with shop.writing:
        before = present(shop, id_)
        if before.digest == digest:
            return before
        _refuse_changed(before, base)
        return _put(shop, before, _revised(shop, id_, document, by))


def write_edition(
    shop: OpenShop, id_: str, document: Mapping[str, Any], out: Path | None = None
) -> Path:
    """Write a new edition from plain values: into the shop, or to *out*.

    Raises
    ------
    ConflictError
        The edition before is kept already with another content.
    StorageError
        The machine refused; the present edition is still in place.
    """
    from heelstamp.documents import format_of

    text = _revised(shop, id_, document)
    if out is None:
        return _replace(shop, id_, text)
    if format_of(out.name) != "toml":
        raise InputError("an edition is written as TOML", received=out.name, remedy="End .toml.")
    write_whole(out, text.encode("utf-8"))
    return out


def editions_kept(shop: OpenShop, id_: str) -> tuple[str, ...]:
    """Editions of a chronology that were replaced, by name, the last one first."""
    return tuple(one.stem.removeprefix(f"{id_}-") for one in _replaced(shop, id_))


def earlier_edition(shop: OpenShop, id_: str) -> Chronology | None:
    """Return the edition that was replaced last, if one was."""
    found = _replaced(shop, id_)
    return read_chronology_file(found[0]) if found else None


def _revised(shop: OpenShop, id_: str, document: Mapping[str, Any], by: str = "") -> str:
    """Return the text changed to *document*; a comment at its head names the hand, and when."""
    from heelstamp.shop.toml_revision import revised

    return _by_hand(revised(text_of(shop, id_), document), by)


def _by_hand(text: str, by: str) -> str:
    """Head a text with the hand that wrote it, and when."""
    plain = "".join(one if one.isprintable() else " " for one in by)
    return f"# Written at the bench by {plain}, {now()}.\n{text}" if by else text


def _refuse_changed(before: Chronology, base: str) -> None:
    """Refuse a change made from a page that does not show the present edition any more."""
    if base and base != before.digest:
        raise ConflictError(
            "this chronology was changed since the page was shown",
            where=f"{before.id}, edition {before.edition}",
            remedy="Look at it again, then enter the change once more.",
        )


def _put(shop: OpenShop, before: Chronology, text: str) -> Chronology:
    """Read a document whole, and put it in place of the present edition."""
    name = f"{before.id}.toml"
    new = _read(text, before.id)
    if new.id != before.id:
        raise InputError(
            "a chronology keeps its id",
            where=f"{name}, field id",
            received=new.id,
            remedy=f'Write id = "{before.id}".',
        )
    if new.edition == before.edition:
        raise InputError(
            "a new edition needs a new name",
            where=f"{name}, field edition",
            received=new.edition,
            remedy="Change the edition too.",
        )
    _replace(shop, before.id, text)
    return new


def _read(text: str, id_: str) -> Chronology:
    """Read a document as any file of a chronology is read, and build its model once."""
    from heelstamp.chronology import dating_model, read_chronology

    new = read_chronology(text, "toml", name=f"{id_}.toml")
    dating_model(new)  # tables that no row shows by itself are refused here
    return new


def _replace(shop: OpenShop, id_: str, text: str) -> Path:
    """Put an edition into a shop whole; the one before is kept under ``earlier`` as it was."""
    from heelstamp.documents import decode_text, parse_document

    folder = shop.folder / CHRONOLOGIES_FOLDER
    own, text_before, before = own_file(id_, folder), text_of(shop, id_), document_of(shop, id_)
    plain = re.sub(r"[^A-Za-z0-9_.-]+", "-", str(before["edition"]))
    kept = folder / EARLIER_FOLDER / f"{id_}-{plain}.toml"
    make_folder(kept.parent)
    if kept.is_file():
        standing = decode_text(read_file(kept), kept.name)
        if parse_document(standing, kept.name, "toml") != before:
            raise ConflictError(
                "another edition of this name is kept already",
                where=str(kept),
                remedy="Give the present edition another name first.",
            )
    _write(shop, f"{EARLIER_FOLDER}/{kept.name}", text_before)
    path = _write(shop, f"{id_}.toml", text)
    if own is not None and own != path:
        own.unlink()  # JSON; its content is kept under earlier
        shop.documents.note({f"{CHRONOLOGIES_FOLDER}/{own.name}": None})
    return path


def _write(shop: OpenShop, name: str, text: str) -> Path:
    """Write a document among the shop's own chronologies, and note it."""
    inside = f"{CHRONOLOGIES_FOLDER}/{name}"
    write_document(shop, shop.folder, inside, text.encode("utf-8"))
    return shop.folder / inside


def _replaced(shop: OpenShop, id_: str) -> list[Path]:
    """Files of replaced editions; another id may begin like this one."""
    from heelstamp.documents import decode_text, parse_document

    folder = shop.folder / CHRONOLOGIES_FOLDER / EARLIER_FOLDER
    found = [
        one
        for one in (folder.glob(f"{id_}-*.toml") if folder.is_dir() else ())
        if parse_document(decode_text(read_file(one), one.name), one.name, "toml").get("id") == id_
    ]
    return sorted(found, key=lambda one: (one.stat().st_mtime_ns, one.name), reverse=True)

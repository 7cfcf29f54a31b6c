"""Chronologies at the desk: what is kept of each, and new editions written whole.

An edit is a whole new document, read by the same reader as any file before anything is written;
the edition it replaces is kept. What comes with the program is copied to the shop's own first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heelstamp.shop.census import edition_document, editions_kept, write_document
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.folder import CHRONOLOGIES_FOLDER, now
from heelstamp.errors import ConflictError, HeelstampError, InputError, NotFoundError
from heelstamp.reference.chronology_files import bundled_text, chronology_ids, own_file

if TYPE_CHECKING:
    from heelstamp.chronology import Chronology


@dataclass(frozen=True)
class Kept:
    """One chronology on the shelf; ``refused`` tells why it cannot be read."""

    id: str
    chronology: Chronology | None
    own: bool
    census: int
    refused: HeelstampError | None = None


def shelf_of(desk: OpenShop) -> list[Kept]:
    """Give every chronology there is, the shop's own and those of the program."""
    folder = desk.folder / CHRONOLOGIES_FOLDER
    found = []
    for id_ in chronology_ids(folder):
        own, count = own_file(id_, folder) is not None, desk.census.count(id_)
        try:
            found.append(Kept(id_, desk.chronology(id_), own, count))
        except HeelstampError as error:
            found.append(Kept(id_, None, own, count, error))
    return found


def kept_at(desk: OpenShop, id_: str) -> Kept:
    """Give one chronology.

    Raises
    ------
    InputError
        There is none of this id, or its file cannot be read.
    """
    folder = desk.folder / CHRONOLOGIES_FOLDER
    if id_ not in chronology_ids(folder):
        raise NotFoundError("no such chronology", received=id_, remedy="See Chronologies.")
    own = own_file(id_, folder) is not None
    return Kept(id_, desk.chronology(id_), own, desk.census.count(id_))


_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")


def begin(desk: OpenShop, id_: str, like: str, *, maker: str, model: str, by: str) -> Chronology:
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
    from heelstamp.shop.files import write_whole
    from heelstamp.toml_text import toml_text

    folder = desk.folder / CHRONOLOGIES_FOLDER
    if not _ID.fullmatch(id_):
        raise InputError(
            "not an id of a chronology",
            received=id_,
            remedy="Small letters, figures and hyphens, at most 60.",
        )
    with desk.writing:
        source = kept_at(desk, like).chronology
        if id_ in chronology_ids(folder):
            raise ConflictError("there is a chronology of this id", received=id_)
        assert source is not None
        document, _ = edition_document(like, desk.folder)
        new = {
            **document,
            "id": id_,
            "edition": now()[:10],
            "maker": maker.strip(),
            "model": model.strip(),
            "note": f"Begun as a copy of {source.maker} {source.model}, edition {source.edition}; "
            "what was not changed since is that maker's.",
        }
        text = signed(by) + toml_text(new)
        made = _read(text, id_)
        folder.mkdir(exist_ok=True)
        write_whole(folder / f"{id_}.toml", text.encode("utf-8"))
    return made


def text_of(desk: OpenShop, id_: str) -> str:
    """Give the text of the present edition as it lies there; what is JSON is written as TOML."""
    from heelstamp.documents import decode_text
    from heelstamp.toml_text import toml_text

    folder = desk.folder / CHRONOLOGIES_FOLDER
    own = own_file(id_, folder)
    if own is None:
        return bundled_text(id_, folder)
    if own.suffix == ".json":
        return toml_text(edition_document(id_, desk.folder)[0])
    return decode_text(own.read_bytes(), own.name)


def replaced(desk: OpenShop, id_: str) -> tuple[str, ...]:
    """Name the editions that were replaced, the last one first."""
    return editions_kept(id_, desk.folder)


Edit = Callable[[Mapping[str, Any]], dict[str, Any]]


def edit(
    desk: OpenShop, id_: str, change: Edit, *, base: str, by: str, edition: str = ""
) -> Chronology:
    """Write a new edition with one change; see `save`.

    Parameters
    ----------
    change
        Gives the new document of the present one.
    by
        The hand that writes it; a comment at the head of the file names it.
    edition
        Name of the new one; the day, and a number where that is taken, without it.
    """
    from heelstamp.chronology.editing import in_edition, next_edition
    from heelstamp.toml_text import toml_text

    with desk.writing:
        present = kept_at(desk, id_).chronology
        assert present is not None
        refuse_changed(present, base)
        document, _ = edition_document(id_, desk.folder)
        new = change(document)
        if new == document:
            raise InputError("nothing was changed", where=id_, remedy="Change something first.")
        named = in_edition(new, edition.strip() or next_edition(present.edition, now()[:10]))
        return put(desk, present, signed(by) + toml_text(named))


def save_text(desk: OpenShop, id_: str, text: str, *, base: str) -> Chronology:
    """Write a new edition from its whole text, comments and all.

    Raises
    ------
    InputError
        The text is no chronology, of another id, or of the same edition; names line and remedy.
    ConflictError
        Somebody changed the chronology since the page was shown.
    """
    with desk.writing:
        present = kept_at(desk, id_).chronology
        assert present is not None
        refuse_changed(present, base)
        return put(desk, present, text.replace("\r\n", "\n"))


def signed(by: str) -> str:
    """Write the comment that names the hand, and when."""
    plain = "".join(one if one.isprintable() else " " for one in by)
    return f"# Written at the bench by {plain}, {now()}.\n"


def refuse_changed(present: Chronology, base: str) -> None:
    """Refuse a change made from a page that does not show the present edition any more.

    Raises
    ------
    ConflictError
        The digests differ.
    """
    if base and base != present.digest:
        raise ConflictError(
            "this chronology was changed since the page was shown",
            where=f"{present.id}, edition {present.edition}",
            remedy="Look at it again, then enter the change once more.",
        )


def put(desk: OpenShop, present: Chronology, text: str) -> Chronology:
    """Read a document whole, and put it in place of the present edition.

    Raises
    ------
    InputError
        It is no chronology, of another id, or of the same edition.
    """
    name = f"{present.id}.toml"
    new = _read(text, present.id)
    if new.id != present.id:
        raise InputError(
            "a chronology keeps its id",
            where=f"{name}, field id",
            received=new.id,
            remedy=f'Write id = "{present.id}".',
        )
    if new.edition == present.edition:
        raise InputError(
            "a new edition needs a new name",
            where=f"{name}, field edition",
            received=new.edition,
            remedy="Change the edition too.",
        )
    write_document(present.id, desk.folder, text.encode("utf-8"))
    return new


def _read(text: str, id_: str) -> Chronology:
    """Read a document as any file of a chronology is read, and build its model once."""
    from heelstamp.chronology import dating_model, read_chronology

    new = read_chronology(text, "toml", name=f"{id_}.toml")
    dating_model(new)  # tables that no row shows by itself are refused here
    return new

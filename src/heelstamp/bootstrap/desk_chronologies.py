"""Chronologies at the desk: what is kept of each, new editions written whole, census and work.

An edit is a whole new document, read by the same reader as any file before anything is written;
the edition it replaces is kept. What comes with the program is copied to the shop's own first.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heelstamp.bootstrap import redating
from heelstamp.bootstrap.census import (
    Added,
    add_dossier,
    add_sheet,
    census_rows,
    edition_document,
    editions_kept,
    held,
    learn,
    write_document,
)
from heelstamp.bootstrap.desk import Desk
from heelstamp.bootstrap.desk_money import sheet_of
from heelstamp.bootstrap.desk_work import Piece, Progress, Work
from heelstamp.bootstrap.shops import CHRONOLOGIES_FOLDER, now
from heelstamp.errors import ConflictError, HeelstampError, InputError
from heelstamp.reference.chronology_files import bundled_text, chronology_ids, own_file

if TYPE_CHECKING:
    from heelstamp.casework.census.held import Held
    from heelstamp.casework.census.learn import NewEdition
    from heelstamp.casework.census.redating import Redated
    from heelstamp.casework.census.rows import CensusRow
    from heelstamp.casework.chronology import Chronology
    from heelstamp.casework.chronology.change_view import CensusPoint, ChangeView

DRAWN_ROWS = 2000
"""Rows of the census that are dated anew for a drawing, the last that were added."""


@dataclass(frozen=True)
class Kept:
    """One chronology on the shelf; ``refused`` tells why it cannot be read."""

    id: str
    chronology: Chronology | None
    own: bool
    census: int
    refused: HeelstampError | None = None


@dataclass(frozen=True)
class CensusHere:
    """Rows of a census in short: how many there are, and which teach."""

    count: int
    taught: tuple[str, ...]
    silent: tuple[str, ...]


@dataclass(frozen=True)
class Learned:
    """What a census taught, laid out beside what was believed."""

    new: NewEdition
    views: tuple[ChangeView, ...]
    census: CensusHere


@dataclass(frozen=True)
class DatedAgain:
    """What came of dating again.

    Attributes
    ----------
    tried
        By what was learned and is not accepted.
    kept
        Whether the new conclusions of census rows are kept.
    """

    found: Redated
    tried: bool
    kept: bool


def shelf_of(desk: Desk) -> list[Kept]:
    """Give every chronology there is, the shop's own and those of the program."""
    folder = desk.folder / CHRONOLOGIES_FOLDER
    found = []
    for id_ in chronology_ids(folder):
        own, count = own_file(id_, folder) is not None, desk.shop.census.count(id_)
        try:
            found.append(Kept(id_, desk.chronology(id_), own, count))
        except HeelstampError as error:
            found.append(Kept(id_, None, own, count, error))
    return found


def kept_at(desk: Desk, id_: str) -> Kept:
    """Give one chronology.

    Raises
    ------
    InputError
        There is none of this id, or its file cannot be read.
    """
    folder = desk.folder / CHRONOLOGIES_FOLDER
    if id_ not in chronology_ids(folder):
        raise InputError("no such chronology", received=id_, remedy="See Chronologies.")
    own = own_file(id_, folder) is not None
    return Kept(id_, desk.chronology(id_), own, desk.shop.census.count(id_))


_ID = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")


def begin(desk: Desk, id_: str, like: str, *, maker: str, model: str, by: str) -> Chronology:
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
    from heelstamp.bootstrap.paper_issue import write_whole
    from heelstamp.casework.toml_text import toml_text

    folder = desk.folder / CHRONOLOGIES_FOLDER
    if not _ID.fullmatch(id_):
        raise InputError(
            "not an id of a chronology", received=id_,
            remedy="Small letters, figures and hyphens, at most 60.",
        )  # fmt: skip
    with desk.writing:
        source = kept_at(desk, like).chronology
        if id_ in chronology_ids(folder):
            raise ConflictError("there is a chronology of this id", received=id_)
        assert source is not None
        document, _ = edition_document(like, desk.folder)
        new = {
            **document, "id": id_, "edition": now()[:10], "maker": maker.strip(),
            "model": model.strip(),
            "note": f"Begun as a copy of {source.maker} {source.model}, edition {source.edition}; "
            "what was not changed since is that maker's.",
        }  # fmt: skip
        text = _signed(by) + toml_text(new)
        made = _read(text, id_)
        folder.mkdir(exist_ok=True)
        write_whole(folder / f"{id_}.toml", text.encode("utf-8"))
    return made


def text_of(desk: Desk, id_: str) -> str:
    """Give the text of the present edition as it lies there; what is JSON is written as TOML."""
    from heelstamp.casework.documents import decode_text
    from heelstamp.casework.toml_text import toml_text

    folder = desk.folder / CHRONOLOGIES_FOLDER
    own = own_file(id_, folder)
    if own is None:
        return bundled_text(id_, folder)
    if own.suffix == ".json":
        return toml_text(edition_document(id_, desk.folder)[0])
    return decode_text(own.read_bytes(), own.name)


def replaced(desk: Desk, id_: str) -> tuple[str, ...]:
    """Name the editions that were replaced, the last one first."""
    return editions_kept(id_, desk.folder)


Edit = Callable[[Mapping[str, Any]], dict[str, Any]]


def edit(
    desk: Desk, id_: str, change: Edit, *, base: str, by: str, edition: str = ""
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
    from heelstamp.casework.chronology.editing import in_edition, next_edition
    from heelstamp.casework.toml_text import toml_text

    with desk.writing:
        present = kept_at(desk, id_).chronology
        assert present is not None
        _refuse_changed(present, base)
        document, _ = edition_document(id_, desk.folder)
        new = change(document)
        if new == document:
            raise InputError("nothing was changed", where=id_, remedy="Change something first.")
        named = in_edition(new, edition.strip() or next_edition(present.edition, now()[:10]))
        return _write(desk, present, _signed(by) + toml_text(named))


def save_text(desk: Desk, id_: str, text: str, *, base: str) -> Chronology:
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
        _refuse_changed(present, base)
        return _write(desk, present, text.replace("\r\n", "\n"))


def accept(desk: Desk, piece: Piece, *, by: str) -> Chronology:
    """Write what was learned as the new edition.

    Raises
    ------
    ConflictError
        The chronology was changed since it was learned from.
    """
    from heelstamp.casework.toml_text import toml_text

    learned: Learned = piece.result
    with desk.writing:
        present = kept_at(desk, piece.about).chronology
        assert present is not None
        if present.digest == learned.new.chronology.digest:
            return present
        _refuse_changed(present, piece.base)
        return _write(desk, present, _signed(by) + toml_text(learned.new.document))


def _signed(by: str) -> str:
    plain = "".join(one if one.isprintable() else " " for one in by)
    return f"# Written at the bench by {plain}, {now()}.\n"


def _refuse_changed(present: Chronology, base: str) -> None:
    if base and base != present.digest:
        raise ConflictError(
            "this chronology was changed since the page was shown",
            where=f"{present.id}, edition {present.edition}",
            remedy="Look at it again, then enter the change once more.",
        )


def _write(desk: Desk, present: Chronology, text: str) -> Chronology:
    name = f"{present.id}.toml"
    new = _read(text, present.id)
    if new.id != present.id:
        raise InputError(
            "a chronology keeps its id", where=f"{name}, field id", received=new.id,
            remedy=f'Write id = "{present.id}".',
        )  # fmt: skip
    if new.edition == present.edition:
        raise InputError(
            "a new edition needs a new name", where=f"{name}, field edition",
            received=new.edition, remedy="Change the edition too.",
        )  # fmt: skip
    write_document(present.id, desk.folder, text.encode("utf-8"))
    return new


def _read(text: str, id_: str) -> Chronology:
    """Read a document as any file of a chronology is read, and build its model once."""
    from heelstamp.casework.chronology import dating_model, read_chronology

    new = read_chronology(text, "toml", name=f"{id_}.toml")
    dating_model(new)  # tables that no row shows by itself are refused here
    return new


def census_here(desk: Desk, id_: str) -> CensusHere:
    """Tell which rows of a census teach."""
    taught: list[str] = []
    silent: list[str] = []
    for one in desk.shop.census.rows(id_, whole=False):
        (silent if one.how_dated == "feature only" else taught).append(one.id)
    return CensusHere(len(taught) + len(silent), tuple(taught), tuple(silent))


def points_at(desk: Desk, id_: str, feature: str) -> tuple[CensusPoint, ...]:
    """Give the instruments beside one feature, each dated without it; remembered."""
    chronology = desk.chronology(id_)
    key = ("points", feature, chronology.digest, desk.shop.census.count(id_))
    return desk.made_once(key, lambda: _points(desk, chronology, (feature,)).get(feature, ()))


def _points(
    desk: Desk, chronology: Chronology, features: tuple[str, ...]
) -> dict[str, tuple[CensusPoint, ...]]:
    from heelstamp.casework.census.points import census_points

    return census_points(_rows(desk, chronology), chronology, features)


def _rows(desk: Desk, chronology: Chronology) -> list[CensusRow]:
    records = list(desk.shop.census.rows(chronology.id))[-DRAWN_ROWS:]
    return census_rows(records, chronology)


def begin_learning(
    desk: Desk, work: Work, id_: str, *, edition: str, serial: bool, least: int
) -> Piece:
    """Begin to learn from the census; nothing is written."""
    from heelstamp.casework.chronology.editing import next_edition

    present = kept_at(desk, id_).chronology
    assert present is not None
    named = edition.strip() or next_edition(present.edition, now()[:10])

    def act(_told: Progress) -> Learned:
        from heelstamp.casework.chronology.change_view import change_views

        new = learn(desk.folder, id_, named, serial=serial, least=least)
        changed = tuple(dict.fromkeys(one.feature for one in new.changes))
        points = _points(desk, new.chronology, changed)
        views = change_views(new.chronology, points, before=present, only=changed)
        return Learned(new, views, census_here(desk, id_))

    ground = (named, serial, least, desk.shop.census.count(id_))
    return work.start("learn", id_, present.digest, ground, act)


def begin_redating(
    desk: Desk, work: Work, id_: str, *, keep: bool, candidate: Piece | None = None
) -> Piece:
    """Begin to date census and dossiers again, by the present edition or by one that was learned.

    Parameters
    ----------
    keep
        Keep the new conclusions of census rows.
    candidate
        What was learned and is not accepted; its conclusions are never kept.
    """
    present = kept_at(desk, id_).chronology
    assert present is not None
    new = None if candidate is None else candidate.result.new.chronology
    tags = desk.shop.journals.tags()
    heads = tuple(desk.shop.journals.head(tag) for tag in tags)

    def act(told: Progress) -> DatedAgain:
        kept = keep and new is None
        found = redating.redate(desk.folder, id_, new=new, keep=kept, progress=told)
        return DatedAgain(found, new is not None, kept)

    ground = (
        keep, None if new is None else new.digest, desk.shop.census.count(id_),
        [one and one.digest for one in heads], editions_kept(id_, desk.folder)[:1],
        now() if keep else "",
    )  # fmt: skip
    return work.start("redate", id_, present.digest, ground, act)


def begin_holding(desk: Desk, work: Work, id_: str) -> Piece:
    """Begin to tell whether the ranges of the shop's own past held; see `census.held`."""
    present = kept_at(desk, id_).chronology
    assert present is not None

    def act(_told: Progress) -> Held:
        return held(desk.folder, id_)

    return work.start("hold", id_, present.digest, desk.shop.census.count(id_), act)


def begin_import(
    desk: Desk, work: Work, id_: str, table: tuple[bytes, str], columns: tuple[bytes, str]
) -> Piece:
    """Begin to take a spreadsheet into the census, all or none.

    Parameters
    ----------
    table, columns
        Bytes and name of the file; no bytes of *columns* take columns by their names.
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.documents import decode_text

    present = kept_at(desk, id_).chronology
    assert present is not None

    def act(_told: Progress) -> Added:
        text = decode_text(*columns) if columns[0] else None
        return add_sheet(desk.shop, sheet_of(*table), present, text, columns[1])

    ground = (sha256(table[0]), sha256(columns[0]), desk.shop.census.count(id_))
    return work.start("import", id_, present.digest, ground, act)


def add_closed(desk: Desk, tag: str, *, while_open: bool) -> Added:
    """Add a dossier to the census of its chronology; see `add_dossier`."""
    return add_dossier(desk.folder, tag, while_open=while_open)

"""The census at the desk: instruments beside a change-over, learning, dating again, spreadsheets.

What takes seconds is handed to `heelstamp.shop.jobs`; nothing that was learned is
written before it is accepted.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from heelstamp.shop import redating
from heelstamp.shop.census import (
    Added,
    add_dossier,
    add_sheet,
    census_rows,
    editions_kept,
    held,
    learn,
)
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.desk_chronologies import kept_at, put, refuse_changed, signed
from heelstamp.shop.desk_money import sheet_of
from heelstamp.shop.jobs import Job, Progress
from heelstamp.shop.folder import now

if TYPE_CHECKING:
    from heelstamp.casework.census.held import Held
    from heelstamp.casework.census.learn import NewEdition
    from heelstamp.casework.census.redating import Redated
    from heelstamp.casework.census.rows import CensusRow
    from heelstamp.chronology import Chronology
    from heelstamp.chronology.change_view import CensusPoint, ChangeView

DRAWN_ROWS = 2000
"""Rows of the census that are dated anew for a drawing, the last that were added."""


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
    with_serials: bool


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


def census_here(desk: OpenShop, id_: str) -> CensusHere:
    """Tell which rows of a census teach."""
    taught: list[str] = []
    silent: list[str] = []
    for one in desk.census.rows(id_, whole=False):
        (silent if one.how_dated == "feature only" else taught).append(one.id)
    return CensusHere(len(taught) + len(silent), tuple(taught), tuple(silent))


def points_at(desk: OpenShop, id_: str, feature: str) -> tuple[CensusPoint, ...]:
    """Give the instruments beside one feature, each dated without it; remembered."""
    from heelstamp.casework.census.points import CensusDates

    chronology = desk.chronology(id_)
    ground = (chronology.digest, desk.census.count(id_))

    def dates() -> CensusDates:
        return CensusDates(_rows(desk, chronology), chronology)

    ready = desk.made_once(("census", *ground), dates)
    return desk.made_once(("points", feature, *ground), lambda: ready.points(feature))


def _rows(desk: OpenShop, chronology: Chronology) -> list[CensusRow]:
    records = list(desk.census.rows(chronology.id))[-DRAWN_ROWS:]
    return census_rows(records, chronology)


def begin_learning(
    desk: OpenShop, id_: str, *, edition: str, serial: bool, least: int
) -> Job:
    """Begin to learn from the census; nothing is written."""
    from heelstamp.chronology.editing import next_edition

    present = kept_at(desk, id_).chronology
    assert present is not None
    named = edition.strip() or next_edition(present.edition, now()[:10])

    def act(_told: Progress) -> Learned:
        from heelstamp.casework.census.points import census_points
        from heelstamp.chronology.change_view import change_views

        new = learn(desk.folder, id_, named, serial=serial, least=least)
        changed = tuple(dict.fromkeys(one.feature for one in new.changes))
        points = census_points(_rows(desk, new.chronology), new.chronology, changed)
        views = change_views(new.chronology, points, before=present, only=changed)
        return Learned(new, views, census_here(desk, id_), serial)

    ground = (named, serial, least, desk.census.count(id_))
    return desk.jobs.start(
        "census", "learn", id_, act, base=present.digest, rests_on=ground
    )


def begin_redating(
    desk: OpenShop, id_: str, *, keep: bool, candidate: Job | None = None
) -> Job:
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
    tags = desk.journals.tags()
    heads = tuple(desk.journals.head(tag) for tag in tags)

    def act(told: Progress) -> DatedAgain:
        kept = keep and new is None
        found = redating.redate(desk.folder, id_, new=new, keep=kept, progress=told)
        return DatedAgain(found, new is not None, kept)

    ground = (
        keep,
        None if new is None else new.digest,
        desk.census.count(id_),
        [one and one.digest for one in heads],
        editions_kept(id_, desk.folder)[:1],
        now() if keep else "",
    )
    return desk.jobs.start(
        "census", "redate", id_, act, base=present.digest, rests_on=ground
    )


def begin_holding(desk: OpenShop, id_: str) -> Job:
    """Begin to tell whether the ranges of the shop's own past held; see `census.held`."""
    present = kept_at(desk, id_).chronology
    assert present is not None

    def act(_told: Progress) -> Held:
        return held(desk.folder, id_)

    return desk.jobs.start(
        "census", "hold", id_, act, base=present.digest, rests_on=desk.census.count(id_)
    )


def begin_import(
    desk: OpenShop, id_: str, table: tuple[bytes, str], columns: tuple[bytes, str]
) -> Job:
    """Begin to take a spreadsheet into the census, all or none.

    Parameters
    ----------
    table, columns
        Bytes and name of the file; no bytes of *columns* take columns by their names.
    """
    from heelstamp.archive import sha256
    from heelstamp.documents import decode_text

    present = kept_at(desk, id_).chronology
    assert present is not None

    def act(_told: Progress) -> Added:
        text = decode_text(*columns) if columns[0] else None
        return add_sheet(desk, sheet_of(*table), present, text, columns[1])

    ground = (sha256(table[0]), sha256(columns[0]), desk.census.count(id_))
    return desk.jobs.start(
        "census", "import", id_, act, base=present.digest, rests_on=ground
    )


def add_closed(desk: OpenShop, tag: str, *, while_open: bool) -> Added:
    """Add a dossier to the census of its chronology; see `add_dossier`."""
    return add_dossier(desk.folder, tag, while_open=while_open)


def accept(desk: OpenShop, piece: Job, *, by: str) -> Chronology:
    """Write what was learned as the new edition.

    Raises
    ------
    ConflictError
        The chronology was changed since it was learned from.
    """
    from heelstamp.toml_text import toml_text

    learned: Learned = piece.result
    with desk.writing:
        present = kept_at(desk, piece.about).chronology
        assert present is not None
        if present.digest == learned.new.chronology.digest:
            return present
        refuse_changed(present, piece.base)
        return put(desk, present, signed(by) + toml_text(learned.new.document))

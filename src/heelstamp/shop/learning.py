"""What the census teaches: change-overs learned, ranges of the past tried, conclusions made again.

What takes seconds is also begun as a job beside the requests; nothing that was learned is written
before it is accepted.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from heelstamp.shop import makers, redating
from heelstamp.shop.census import Added, CensusHere, add_table, census_here, last_rows, read_rows
from heelstamp.shop.comparables import table_sent
from heelstamp.shop.folder import now

if TYPE_CHECKING:
    from heelstamp.casework.census.held import Held
    from heelstamp.casework.census.learn import NewEdition
    from heelstamp.casework.census.redating import Redated
    from heelstamp.casework.federation.joined import Joined
    from heelstamp.chronology import Chronology
    from heelstamp.chronology.change_view import ChangeView
    from heelstamp.shop.jobs import Job, Progress
    from heelstamp.shop.opened import OpenShop

LANE = "census"


@dataclass(frozen=True)
class Learned:
    """What a census taught, laid out beside what was believed.

    Attributes
    ----------
    joined
        With whom it was learned; None for the shop's own census alone.
    """

    new: NewEdition
    views: tuple[ChangeView, ...]
    census: CensusHere
    with_serials: bool
    joined: Joined | None = None


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


def learn(
    shop: OpenShop, id_: str, edition: str = "", *, serial: bool = False, least: int | None = None
) -> NewEdition:
    """Learn a new edition from the census; nothing is written.

    Parameters
    ----------
    edition
        Name of the new one; the day, and a number where that is taken, without it.

    Raises
    ------
    InputError
        Nothing to learn from, or *edition* is the name of the present one.
    """
    from heelstamp.casework.census.learn import learn_edition
    from heelstamp.dating.learning import LEAST_LOOKS

    document = makers.document_of(shop, id_)
    return learn_edition(
        document,
        read_rows(shop.census.rows(id_), shop.chronology(id_)),
        edition=edition or _next(str(document.get("edition"))),
        serial=serial,
        least=LEAST_LOOKS if least is None else least,
    )


def _next(present: str) -> str:
    from heelstamp.chronology.editing import next_edition

    return next_edition(present, now()[:10])


def held(shop: OpenShop, id_: str) -> Held:
    """Whether ranges held over the shop's census; see `heelstamp.casework.census.held`."""
    from heelstamp.casework.census.held import census_held

    document = makers.document_of(shop, id_)
    return census_held(document, read_rows(shop.census.rows(id_), shop.chronology(id_)))


def begin_learning(shop: OpenShop, id_: str, *, edition: str, serial: bool, least: int) -> Job:
    """Begin to learn from the census; nothing is written."""
    present = makers.present(shop, id_)
    named = edition.strip() or _next(present.edition)

    act = partial(_learn, shop, id_, named, serial, least)
    ground = (named, serial, least, shop.census.count(id_))
    return shop.jobs.start(LANE, "learn", id_, act, base=present.digest, rests_on=ground)


def _learn(
    shop: OpenShop, id_: str, named: str, serial: bool, least: int, _told: Progress
) -> Learned:
    new = learn(shop, id_, named, serial=serial, least=least)
    views = views_of(shop, new, makers.present(shop, id_))
    return Learned(new, views, census_here(shop, id_), serial)


def views_of(shop: OpenShop, new: NewEdition, present: Chronology) -> tuple[ChangeView, ...]:
    """Old and new curves of what was learned, with the shop's own instruments on them."""
    from heelstamp.casework.census.points import census_points
    from heelstamp.chronology.change_view import change_views

    changed = tuple(dict.fromkeys(one.feature for one in new.changes))
    points = census_points(last_rows(shop, new.chronology), new.chronology, changed)
    return change_views(new.chronology, points, before=present, only=changed)


def begin_redating(shop: OpenShop, id_: str, *, keep: bool, candidate: Job | None = None) -> Job:
    """Begin to date census and dossiers again, by the present edition or by one that was learned.

    Parameters
    ----------
    keep
        Keep the new conclusions of census rows.
    candidate
        What was learned and is not accepted; its conclusions are never kept.
    """
    present = makers.present(shop, id_)
    new = None if candidate is None else candidate.result.new.chronology
    heads = tuple(shop.journals.head(tag) for tag in shop.journals.tags())

    act = partial(_redate, shop, id_, new, keep)
    ground = (
        keep,
        None if new is None else new.digest,
        shop.census.count(id_),
        [one and one.digest for one in heads],
        makers.editions_kept(shop, id_)[:1],
        now() if keep else "",
    )
    return shop.jobs.start(LANE, "redate", id_, act, base=present.digest, rests_on=ground)


def _redate(
    shop: OpenShop, id_: str, new: Chronology | None, keep: bool, told: Progress
) -> DatedAgain:
    kept = keep and new is None
    found = redating.redate(shop, id_, new=new, keep=kept, progress=told)
    return DatedAgain(found, new is not None, kept)


def begin_holding(shop: OpenShop, id_: str) -> Job:
    """Begin to tell whether the ranges of the shop's own past held; see `held`."""
    present = makers.present(shop, id_)

    count = shop.census.count(id_)
    return shop.jobs.start(
        LANE, "hold", id_, partial(_hold, shop, id_), base=present.digest, rests_on=count
    )


def _hold(shop: OpenShop, id_: str, _told: Progress) -> Held:
    return held(shop, id_)


def begin_import(
    shop: OpenShop, id_: str, table: tuple[bytes, str], columns: tuple[bytes, str]
) -> Job:
    """Begin to take a spreadsheet into the census, all or none.

    Parameters
    ----------
    table, columns
        Bytes and name of the file; no bytes of *columns* take columns by their names.
    """
    from heelstamp.archive import sha256

    present = makers.present(shop, id_)
    act = partial(_import, shop, id_, table, columns)
    ground = (sha256(table[0]), sha256(columns[0]), shop.census.count(id_))
    return shop.jobs.start(LANE, "import", id_, act, base=present.digest, rests_on=ground)


def _import(
    shop: OpenShop, id_: str, table: tuple[bytes, str], columns: tuple[bytes, str], _told: Progress
) -> Added:
    from heelstamp.documents import decode_text

    mapped = (decode_text(*columns), columns[1]) if columns[0] else None
    return add_table(shop, id_, table_sent(*table), mapped)


def accept(shop: OpenShop, job: Job, *, by: str) -> Chronology:
    """Write what was learned as the new edition.

    Raises
    ------
    ConflictError
        The chronology was changed since it was learned from.
    """
    new = job.result.new
    return makers.accept(shop, job.about, new.document, new.chronology.digest, base=job.base, by=by)

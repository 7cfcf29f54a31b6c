"""What this shop's census and the tables of others teach together; nothing is written here.

The last tables of every known shop are joined anew each time: a key that is forgotten leaves
nothing of its shop in what is joined next.
"""

from __future__ import annotations

from collections.abc import Collection
from functools import partial
from typing import TYPE_CHECKING

from heelstamp.shop import makers
from heelstamp.shop.census import census_here
from heelstamp.shop.federation import OWN, census_rows, ground_of, taken
from heelstamp.shop.folder import now
from heelstamp.shop.known_shops import known_shops, named_shop
from heelstamp.shop.learning import LANE, Learned, views_of
from heelstamp.shop.masked_sums import sum_contributions

if TYPE_CHECKING:
    from heelstamp.casework.federation.joined import Contribution, Joined
    from heelstamp.shop.jobs import Job, Progress
    from heelstamp.shop.opened import OpenShop


def contributions(
    shop: OpenShop, id_: str, without: Collection[str] = ()
) -> tuple[Contribution, ...]:
    """What this shop's census and the tables of others say, this shop's first.

    Parameters
    ----------
    without
        Keys of shops that are left out.
    """
    from heelstamp.casework.federation.joined import contribution_of, own_contribution
    from heelstamp.shop.signing import key_of

    own = own_contribution(
        key_of(shop).fingerprint, OWN, census_rows(shop, id_), ground_of(shop, id_)
    )
    others = [
        contribution_of(one.key, one.name, one.tables)
        for one in taken(shop, id_)
        if one.joins and one.key not in without
    ]
    told = {one.key: tuple(one.tables) for one in others}
    return (own, *others, *sum_contributions(shop, id_, told, tuple(without)))


def join(shop: OpenShop, id_: str, edition: str = "", *, without: Collection[str] = ()) -> Joined:
    """Learn a new edition from this shop's census and the tables of others; nothing is written.

    Parameters
    ----------
    without
        Shops that are left out, by key or name.

    Raises
    ------
    ConflictError
        No other shop's tables are here.
    NotFoundError
        A shop that is left out is not known.
    """
    from heelstamp.casework.federation.joined import join as join_all
    from heelstamp.chronology.editing import next_edition

    shops = known_shops(shop)
    left_out = {named_shop(shops, one) for one in without}
    document, rows = makers.document_of(shop, id_), census_rows(shop, id_)
    some = contributions(shop, id_, left_out)
    taught = sum(row.teaches for row in rows)
    return join_all(
        document,
        ground_of(shop, id_),
        some,
        own=some[0].key,
        edition=edition or next_edition(str(document.get("edition")), now()[:10]),
        taught=taught,
        silent=len(rows) - taught,
    )


def begin_joining(shop: OpenShop, id_: str, *, edition: str, without: Collection[str] = ()) -> Job:
    """Begin to join tables; nothing is written. See `join`."""
    present = makers.present(shop, id_)
    here = tuple((one.key, one.tables.digest) for one in taken(shop, id_) if one.joins)

    ground = (edition, tuple(sorted(without)), shop.census.count(id_), here, now())
    act = partial(_join, shop, id_, edition.strip(), tuple(without))
    return shop.jobs.start(LANE, "join", id_, act, base=present.digest, rests_on=ground)


def _join(
    shop: OpenShop, id_: str, edition: str, without: Collection[str], _told: Progress
) -> Learned:
    joined = join(shop, id_, edition, without=without)
    views = views_of(shop, joined.new, makers.present(shop, id_))
    return Learned(joined.new, views, census_here(shop, id_), False, joined)

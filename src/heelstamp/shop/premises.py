"""The cover of the shop's premises: declared, added up for a night, told before it is passed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from heelstamp.casework.premises import SCHEMA, Cover, PlaceSum, Stay, parse_cover, stay_on, sums_on
from heelstamp.errors import HeelstampError
from heelstamp.shop.noted_documents import write_document
from heelstamp.wording import about_premises as about

if TYPE_CHECKING:
    from heelstamp.shop.opened import OpenShop

COVER_FILE = "cover.toml"
ENDS_AHEAD = 14
"""Days before a cover ends at which that is told (common practice)."""


@dataclass(frozen=True)
class CoverView:
    """What lies where on a night.

    Attributes
    ----------
    alarms
        What to do something about, in words.
    unread
        Tags of dossiers that cannot be read: their place and value are not counted.
    """

    cover: Cover
    night: str
    places: tuple[PlaceSum, ...]
    alarms: tuple[str, ...]
    unread: tuple[str, ...]


def cover_of(shop: OpenShop) -> Cover:
    """The cover that the shop declares; one without a place where it declares none.

    Raises
    ------
    InputError
        It cannot be read.
    """
    from heelstamp.documents import decode_text, parse_document
    from heelstamp.shop.files import read_file

    path = shop.folder / COVER_FILE
    if not path.is_file():
        return Cover(schema=SCHEMA, currency=shop.currency)
    text = decode_text(read_file(path), COVER_FILE)
    return parse_cover(parse_document(text, COVER_FILE, "toml"), where=COVER_FILE)


def keep_cover(shop: OpenShop, rows: Sequence[tuple[str, str, str]]) -> Cover:
    """Keep the cover: name of the place, limit and last day of each; rows without a limit go.

    Raises
    ------
    InputError
        A limit or a day cannot be read, or a place stands twice; what held still does.
    """
    from heelstamp.shop.toml_revision import toml_of

    place: list[dict[str, str]] = []
    for name, limit, until in rows:
        if limit.strip():
            row = {"name": name.strip(), "limit": limit.strip(), "until": until.strip()}
            place.append({key: value for key, value in row.items() if value})
    data: dict[str, Any] = {"schema": SCHEMA, "currency": shop.currency, "place": place}
    found = parse_cover(data, where=COVER_FILE)
    with shop.writing:
        write_document(shop, shop.folder, COVER_FILE, toml_of(data).encode("utf-8"))
    return found


def cover_view(shop: OpenShop, night: str) -> CoverView:
    """Add up what lies where on a night, and tell what to do something about."""
    cover = cover_of(shop)
    stays, unread = [], []
    for tag in sorted(shop.journals.tags()):
        try:
            stay = _stay(shop, tag, night)
        except HeelstampError:
            unread.append(tag)
            continue
        if stay is not None:
            stays.append(stay)
    places = tuple(sums_on(stays, cover))
    alarms = [told for one in places for told in _alarms(one, night)] if cover.place else []
    return CoverView(cover, night, places, tuple(alarms), tuple(unread))


def _stay(shop: OpenShop, tag: str, night: str) -> Stay | None:
    """Where a dossier's instrument is on a night; remembered while the dossier stands as it is."""
    return shop.remembered(
        ("stay", night), tag, lambda: stay_on(shop.standing(tag)[0], night, shop.currency)
    )


def nights(shop: OpenShop, last: str, count: int) -> list[CoverView]:
    """What lay where on each of some nights, the newest first."""
    day = date.fromisoformat(last)
    return [cover_view(shop, (day - timedelta(days=n)).isoformat()) for n in range(count)]


def _alarms(one: PlaceSum, night: str) -> list[str]:
    place = one.place.capitalize()
    told = []
    if one.limit is None:
        told.append(about.uncovered.say(tags=list(one.tags)))
    elif one.over:
        told.append(about.over.say(place=place, sum_=str(one.sum), limit=str(one.limit)))
    elif one.near:
        told.append(
            about.near.say(place=place, sum_=str(one.sum), left=str(one.left), limit=str(one.limit))
        )
    if one.unvalued and one.limit is not None:
        told.append(about.unvalued.say(place=place, tags=list(one.unvalued)))
    if one.until:
        left = (date.fromisoformat(one.until) - date.fromisoformat(night)).days
        if left <= ENDS_AHEAD:
            told.append(about.ends.say(place=place, until=one.until))
    return told

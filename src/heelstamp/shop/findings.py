"""Findings laid out: the date without some observations, change-overs seen, doubts as papers tell.

The finding itself is `OpenShop.finding`, what does not fit `OpenShop.doubts`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from heelstamp.shop.census import points_at
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.subjects import Subject, names_of, said_of

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.papers.doubt_section import DoubtSection
    from heelstamp.casework.papers.said import Said
    from heelstamp.chronology.change_view import ChangeView


def finding_without(shop: OpenShop, tag: str, aside: Sequence[str]) -> tuple[Subject, DateFinding]:
    """Return subject and date without the observations in *aside*; nothing is entered.

    Raises
    ------
    InputError
        One of them is no observation that stands.
    """
    from heelstamp.casework.weighing import set_aside

    subject = shop.subject(tag)
    if not aside:
        return subject, shop.finding(tag)
    left = replace(subject, state=set_aside(subject.state, aside))
    key = f"finding without {' '.join(sorted(aside))}"
    return left, shop.remembered(key, tag, lambda: shop.dated(left))


def said_without(shop: OpenShop, tag: str, aside: Sequence[str]) -> Said:
    """Say what the finding without the observations in *aside* comes down to.

    Raises
    ------
    InputError
        One of them is no observation that stands.
    """
    if not aside:
        return shop.said(tag)
    left, finding = finding_without(shop, tag, aside)
    key = f"said without {' '.join(sorted(aside))}"
    return shop.remembered(key, tag, lambda: said_of(left, finding, shop.tried(left, finding)))


def change_overs_seen(shop: OpenShop, tag: str) -> tuple[ChangeView, ...]:
    """Lay out the change-overs of the features seen on an instrument, with the census beside.

    The instrument itself stands among the points with its own range, which rests on the curve too:
    it is marked as one that teaches nothing.
    """
    from heelstamp.casework.weighing import features_seen, nearest_first, own_points
    from heelstamp.chronology.change_view import change_views

    subject, finding = shop.subject(tag), shop.finding(tag)
    chronology = subject.chronology
    own = own_points(subject.state, chronology, finding.data())
    points = {
        id_: (*points_at(shop, chronology.id, id_), *own.get(id_, ()))
        for id_ in features_seen(subject.state, chronology)
    }
    views = change_views(chronology, points, only=tuple(points))
    return nearest_first(views, finding.data())


def doubts_told(shop: OpenShop, tag: str) -> DoubtSection:
    """Lay out what does not fit and what the answer hangs on, as the papers tell it."""
    from heelstamp.casework.papers.doubt_section import doubt_section

    subject = shop.subject(tag)
    finding, doubts = shop.finding(tag).data(), shop.doubts(tag)
    return doubt_section(subject.state, subject.tree, names_of(subject.chronology), finding, doubts)

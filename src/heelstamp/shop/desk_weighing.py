"""Weigh-up at the desk: the finding without some observations, remembered, and the stories."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from heelstamp.shop.opened import OpenShop
from heelstamp.shop.census import points_at
from heelstamp.shop.desk_papers import doubts_at
from heelstamp.shop.subjects import Subject, terms_of

if TYPE_CHECKING:
    from heelstamp.chronology.change_view import ChangeView
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.papers.doubt_section import DoubtSection


def finding_without(desk: OpenShop, tag: str, aside: Sequence[str]) -> tuple[Subject, DateFinding]:
    """Give subject and date without the observations in *aside*; nothing is entered.

    Raises
    ------
    InputError
        One of them is no observation that stands.
    """
    from heelstamp.casework.weighing import set_aside

    subject = desk.subject(tag)
    if not aside:
        return subject, desk.finding(tag)
    left = replace(subject, state=set_aside(subject.state, aside))
    key = f"finding without {' '.join(sorted(aside))}"
    return left, desk.remembered(key, tag, lambda: desk.dated(left))


def curves_at(desk: OpenShop, tag: str) -> tuple[ChangeView, ...]:
    """Lay out the change-overs of the features seen on an instrument, with the census beside.

    The instrument itself stands among the points with its own range, which rests on the curve too:
    it is marked as one that teaches nothing.
    """
    from heelstamp.casework.weighing import features_seen, nearest_first, own_points
    from heelstamp.chronology.change_view import change_views

    subject, finding = desk.subject(tag), desk.finding(tag)
    chronology = subject.chronology
    own = own_points(subject.state, chronology, finding.data())
    points = {
        id_: (*points_at(desk, chronology.id, id_), *own.get(id_, ()))
        for id_ in features_seen(subject.state, chronology)
    }
    views = change_views(chronology, points, only=tuple(points))
    return nearest_first(views, finding.data())


def doubt_section_at(desk: OpenShop, tag: str) -> DoubtSection:
    """Give what does not fit and what the answer hangs on, as the papers tell it."""
    from heelstamp.casework.papers.doubt_section import doubt_section

    subject = desk.subject(tag)
    finding, doubts = desk.finding(tag).data(), doubts_at(desk, tag)
    return doubt_section(subject.state, subject.tree, terms_of(subject.chronology), finding, doubts)

"""Photographs of one slot on two visits, compared; remembered by their files."""

from __future__ import annotations

from collections.abc import Hashable
from typing import TYPE_CHECKING

from heelstamp.errors import NotFoundError
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.photographs import photo_plan

if TYPE_CHECKING:
    from heelstamp.casework.condition.watch import FramePair, Watched
    from heelstamp.catalogue import Photograph
    from heelstamp.luminescence.linear import Bytes


def pairs_of(shop: OpenShop, tag: str) -> tuple[FramePair, ...]:
    """List photographs of one slot on following visits."""
    from heelstamp.casework.condition.watch import frame_pairs

    return frame_pairs(shop.subject(tag).state, photo_plan())


def watch(shop: OpenShop, tag: str) -> tuple[Watched, ...]:
    """Compare every pair of a dossier; it takes seconds a pair, so ask where it is not ready."""
    return tuple(watch_one(shop, tag, one) for one in pairs_of(shop, tag))


def watch_ready(shop: OpenShop, tag: str) -> bool:
    """Whether all pairs of a dossier as it stands are remembered."""
    return all(_key(one) in shop.made for one in pairs_of(shop, tag))


def watch_one(shop: OpenShop, tag: str, pair: FramePair) -> Watched:
    """Compare one pair; what the photographs show is remembered by their files."""
    from heelstamp.casework.condition.watch import compare_frames, watched

    def read(one: Photograph) -> Bytes:
        from heelstamp.media.decoding import upright_rgb

        return upright_rgb(shop.files.get(one.file), one.name)

    found = shop.made_once(_key(pair), lambda: compare_frames(pair, read))
    return watched(shop.subject(tag).state, photo_plan(), pair, found)


def pair_named(shop: OpenShop, tag: str, after: str) -> FramePair:
    """Find the pair whose later visit a frame is of.

    Raises
    ------
    NotFoundError
        There is none.
    """
    for one in pairs_of(shop, tag):
        if after in {frame.id for frame in one.after}:
            return one
    raise NotFoundError(
        "no earlier photograph of this slot",
        where=tag,
        received=after,
        remedy="Name a frame whose slot was photographed before.",
    )


def _key(pair: FramePair) -> Hashable:
    return ("frames compared", *(one.file for one in (*pair.before, *pair.after)), len(pair.before))

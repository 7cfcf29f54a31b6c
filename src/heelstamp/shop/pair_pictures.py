"""Pictures of a pair for looking closely: the UV-A frame laid over the visible one, whole and cut.

A photograph is decoded once and its pieces are cut from it as they are asked for.
"""

from __future__ import annotations

import numpy as np
from PIL import Image

from heelstamp.catalogue import Photograph
from heelstamp.errors import NotFoundError
from heelstamp.report import lamp_views
from heelstamp.shop.opened import OpenShop

BASE_PX = 1600
"""Longer side of the picture that a view begins with."""

Transform = tuple[tuple[float, ...], ...]


def whole_over(shop: OpenShop, visible: Photograph, uv: Photograph, transform: Transform) -> bytes:
    """Lay the whole UV-A photograph over the visible one; JPEG, remembered."""
    shrink = min(1.0, BASE_PX / max(visible.width, visible.height))
    size = (round(visible.width * shrink), round(visible.height * shrink))
    whole = (0.0, 0.0, float(visible.width), float(visible.height))

    def make() -> bytes:
        return _over(shop, uv, transform, whole, size)

    return shop.pieces.get((visible.file, uv.file, transform, "whole"), make)


def piece(
    shop: OpenShop,
    visible: Photograph,
    over: tuple[Photograph, Transform] | None,
    place: tuple[int, int, int],
) -> bytes:
    """Cut a square of the visible photograph, or of the UV-A one laid over it; JPEG, remembered.

    Parameters
    ----------
    over
        The UV-A photograph and its transform; None for the visible one.
    place
        How often the picture is halved, column and row of the square.

    Raises
    ------
    NotFoundError
        It lies outside the photograph.
    """
    level, column, row = place
    size = (visible.width, visible.height)
    deepest = lamp_views.levels(size, lamp_views.PIECE)
    box = lamp_views.box_of(size, level, column, row) if 0 <= level <= deepest else None
    if box is None:
        raise NotFoundError(
            "no such piece of the picture",
            where=visible.id,
            received=place,
            remedy="Ask within the photograph.",
        )

    def make() -> bytes:
        if over is None:
            return lamp_views.jpeg(lamp_views.cut(_image(shop, visible), box, level))
        side = 1 << level
        wide = max(1, round((box[2] - box[0]) / side))
        tall = max(1, round((box[3] - box[1]) / side))
        return _over(shop, *over, box, (wide, tall))

    other = (over[0].file, over[1]) if over is not None else None
    return shop.pieces.get((visible.file, other, place), make)


def _over(
    shop: OpenShop,
    uv: Photograph,
    transform: Transform,
    box: tuple[float, float, float, float],
    size: tuple[int, int],
) -> bytes:
    image = _image(shop, uv)
    gain = shop.made.get(("gain", uv.file), lambda: lamp_views.gain_of(image))
    return lamp_views.jpeg(lamp_views.laid(image, np.array(transform), box, size), gain)


def _image(shop: OpenShop, photograph: Photograph) -> Image.Image:
    """Decode a photograph, or take it as it was decoded; one thread decodes, others wait."""
    from heelstamp.media.decoding import upright_rgb

    return shop.decoded.get(
        photograph.file,
        lambda: Image.fromarray(upright_rgb(shop.files.get(photograph.file), photograph.name)),
    )

"""Photographs of a pair held open for looking closely: two at a time, their pieces remembered.

A photograph is decoded once and its pieces are cut from it as they are asked for; two decoded
photographs are held, which is one pair, some 75 MB each at 18 megapixels.
"""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

import numpy as np
from PIL import Image

from heelstamp.catalogue import Photograph
from heelstamp.errors import InputError
from heelstamp.report import lamp_views
from heelstamp.shop.kept_bytes import KeptBytes
from heelstamp.shop.opened import OpenShop

HELD = 2
PIECES_MAX = 48_000_000
"""Bytes of pieces that are remembered."""
BASE_PX = 1600
"""Longer side of the picture that a view begins with."""

Transform = tuple[tuple[float, ...], ...]


class LampPictures:
    """The pictures of one shop's pairs."""

    def __init__(self) -> None:
        self._pieces = KeptBytes(PIECES_MAX)
        self._open: OrderedDict[str, Image.Image] = OrderedDict()
        self._gains: dict[str, float] = {}
        self._lock = Lock()

    def laid(
        self, desk: OpenShop, visible: Photograph, uv: Photograph, transform: Transform
    ) -> bytes:
        """Give the whole UV-A photograph laid over the visible one."""
        shrink = min(1.0, BASE_PX / max(visible.width, visible.height))
        size = (round(visible.width * shrink), round(visible.height * shrink))

        def make() -> bytes:
            image = self._image(desk, uv)
            whole = (0.0, 0.0, float(visible.width), float(visible.height))
            over = lamp_views.laid(image, np.array(transform), whole, size)
            return lamp_views.jpeg(over, self._gain(uv, image))

        return self._pieces.get((visible.file, uv.file, transform, "whole"), make)

    def piece(
        self,
        desk: OpenShop,
        visible: Photograph,
        over: tuple[Photograph, Transform] | None,
        place: tuple[int, int, int],
    ) -> bytes:
        """Give a square of the visible photograph, or of the UV-A one laid over it.

        Parameters
        ----------
        over
            The UV-A photograph and its transform; None for the visible one.
        place
            How often the picture is halved, column and row of the square.

        Raises
        ------
        InputError
            It lies outside the photograph.
        """
        level, column, row = place
        size = (visible.width, visible.height)
        deepest = lamp_views.levels(size, lamp_views.PIECE)
        box = lamp_views.box_of(size, level, column, row) if 0 <= level <= deepest else None
        if box is None:
            raise InputError(
                "no such piece of the picture",
                where=visible.id,
                received=place,
                remedy="Ask within the photograph.",
            )

        def make() -> bytes:
            if over is None:
                return lamp_views.jpeg(lamp_views.cut(self._image(desk, visible), box, level))
            uv, transform = over
            image = self._image(desk, uv)
            side = 1 << level
            wide = max(1, round((box[2] - box[0]) / side))
            tall = max(1, round((box[3] - box[1]) / side))
            piece = lamp_views.laid(image, np.array(transform), box, (wide, tall))
            return lamp_views.jpeg(piece, self._gain(uv, image))

        other = (over[0].file, over[1]) if over is not None else None
        return self._pieces.get((visible.file, other, place), make)

    def _gain(self, uv: Photograph, image: Image.Image) -> float:
        if uv.file not in self._gains:
            self._gains[uv.file] = lamp_views.gain_of(image)
        return self._gains[uv.file]

    def _image(self, desk: OpenShop, photograph: Photograph) -> Image.Image:
        """Give a photograph decoded; one thread decodes, others wait for it."""
        from heelstamp.media.decoding import upright_rgb

        with self._lock:
            held = self._open.get(photograph.file)
            if held is None:
                data = desk.shop.files.get(photograph.file)
                held = Image.fromarray(upright_rgb(data, photograph.name))
                self._open[photograph.file] = held
            self._open.move_to_end(photograph.file)
            while len(self._open) > HELD:
                self._open.popitem(last=False)
            return held

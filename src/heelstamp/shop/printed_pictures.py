"""Photographs as papers print them: reduced, upright, stripped, their boxes filled; kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from heelstamp.catalogue import PictureBox

if TYPE_CHECKING:
    from heelstamp.casework.ports import Shop
    from heelstamp.catalogue import DossierState
    from heelstamp.report.pictures import Box


PICTURE_PX = 1800
"""Longer edge of the copies that papers are made of: twice what is printed."""


def boxes_of(state: DossierState) -> dict[str, tuple[Box, ...]]:
    """The boxes that were drawn on each photograph."""
    found: dict[str, tuple[Box, ...]] = {}
    for one in state.of(PictureBox).values():
        box = (one.x, one.y, one.width, one.height)
        found[one.frame] = (*found.get(one.frame, ()), box)
    return found


def print_facts(shop: Shop, file: str, frame: str, boxes: tuple[Box, ...] = ()) -> dict[str, Any]:
    """Describe the print of one photograph, which its file and boxes decide; remembered."""
    from heelstamp.archive import sha256
    from heelstamp.report.pictures import PRINTED_AS, print_size
    from heelstamp.shop.opened import OpenShop

    def make() -> dict[str, Any]:
        made = printed(shop, file, frame, boxes)
        width, height = print_size(made)
        return {"file": sha256(made), "media_type": PRINTED_AS, "width": width, "height": height}

    return shop.made_once(("print", file, boxes), make) if isinstance(shop, OpenShop) else make()


def printed_all(
    shop: Shop, files: Mapping[str, str], boxes: Mapping[str, tuple[Box, ...]]
) -> dict[str, bytes]:
    """Return photographs as a paper prints them, by frame; made on the machine's cores."""
    from concurrent.futures import ThreadPoolExecutor

    from heelstamp.report.pictures import WORKERS

    with ThreadPoolExecutor(WORKERS) as workers:
        made = workers.map(
            lambda one: printed(shop, one[1], one[0], boxes.get(one[0], ())), files.items()
        )
        return dict(zip(files, made, strict=True))


def printed(shop: Shop, file: str, frame: str, boxes: tuple[Box, ...] = ()) -> bytes:
    """Return a photograph as a paper prints it, its boxes filled; kept for the next paper."""
    from heelstamp.report.pictures import PICTURE_PX, PICTURE_QUALITY, print_picture
    from heelstamp.shop.opened import OpenShop

    def made() -> bytes:
        return print_picture(outgoing(shop, file, boxes), where=f"frame {frame}")

    key = ("print", file, PICTURE_PX, PICTURE_QUALITY, boxes)
    return shop.prints.get(key, made) if isinstance(shop, OpenShop) else made()


def outgoing(
    shop: Shop, file: str, boxes: tuple[Box, ...] = (), longest_px: int = PICTURE_PX
) -> bytes:
    """Return a photograph reduced, upright and stripped for a paper, its boxes filled."""
    from heelstamp.report.pictures import covered
    from heelstamp.shop.opened import OpenShop

    def made() -> bytes:
        return shop.photographs.outgoing(shop.files.get(file), file[:12], longest_px)

    if isinstance(shop, OpenShop) and longest_px <= PICTURE_PX:
        key = (file, longest_px)
        copied = shop.copies.get(key, lambda: shop.prints.get(("copy", *key), made))
    else:
        copied = made()
    return covered(copied, boxes, where=file[:12])

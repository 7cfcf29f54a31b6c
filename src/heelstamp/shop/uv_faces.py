"""The faces of an instrument under UV-A: what was covered of each, and two looks at one face."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heelstamp.casework.finish import unpacked
from heelstamp.casework.papers.finish_section import looks_with_findings
from heelstamp.casework.uv_lamp.coverage import FaceCovered, faces_covered
from heelstamp.casework.uv_lamp.later_look import TwoLooks, compare_looks
from heelstamp.casework.uv_lamp.pairs import Pairing, look_before
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.photographs import photo_plan

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from heelstamp.catalogue import Photograph


@dataclass(frozen=True, slots=True, eq=False)
class EarlierLook:
    """An earlier look at the same face: its entry, its day, what both come to.

    ``found`` is None where the two photographs in ordinary light cannot be laid on one another.
    """

    observation: str
    day: str
    found: TwoLooks | None


def covered_at(shop: OpenShop, tag: str) -> tuple[FaceCovered, ...]:
    """Return every face that the plan wants under UV-A, with what was covered of it."""
    subject = shop.subject(tag)
    looks = {one.id: one.file for one in looks_with_findings(subject.state)}
    kept = {id_: kept_finding(shop, tag, id_, file) for id_, file in looks.items() if file}
    return faces_covered(subject.state, photo_plan(), subject.tree, kept)


def against_earlier(shop: OpenShop, tag: str, pair: Pairing) -> EarlierLook | None:
    """Return the look of a pair against the last one before it at the same face.

    None where there is no earlier look, or one of them assessed nothing.
    """
    state = shop.subject(tag).state
    before = look_before(state, pair)
    if before is None or pair.look is None or pair.look.file is None or before.file is None:
        return None
    frames = [state.photographs.get(one.frames[0]) for one in (before, pair.look)]
    then, now = frames
    if then is None or now is None:
        return None
    kept = [
        kept_finding(shop, tag, one.id, file)
        for one, file in ((before, before.file), (pair.look, pair.look.file))
    ]
    onto = shop.made_once(
        ("visible on visible", then.file, now.file), lambda: _onto(shop, then, now, kept[1])
    )
    found = None if onto is None else compare_looks(kept[0], kept[1], onto)
    if found is None and onto is not None:
        return None
    return EarlierLook(before.id, state.entered[before.id].at[:10], found)


def _onto(
    shop: OpenShop, then: Photograph, now: Photograph, data: Mapping[str, Any]
) -> NDArray[np.float64] | None:
    """The map from an earlier photograph in ordinary light to a later one; None if it fails."""
    import numpy as np

    from heelstamp.luminescence import gates, registration
    from heelstamp.luminescence.drawn import Drawn
    from heelstamp.media.decoding import upright_rgb

    earlier, later = (upright_rgb(shop.files.get(one.file), one.name) for one in (then, now))
    masks = data["masks"]
    drawn = None
    if masks is not None:
        parts = tuple(np.asarray(one["polygon"], float) for one in masks["parts"])
        drawn = Drawn(np.asarray(masks["outline"], float), parts)
    found = registration.register(later, earlier, drawn=drawn)
    if found is None or gates.position(found, max(later.shape)) is not None:
        return None
    return np.asarray(found.transform, dtype=float)


def kept_finding(shop: OpenShop, tag: str, id_: str, file: str) -> Mapping[str, Any]:
    """The finding that was kept of a look, read once and remembered."""

    def read() -> Mapping[str, Any]:
        return unpacked(shop.files.get(file), where=id_).data

    return shop.remembered(f"lamp finding {file}", tag, read)

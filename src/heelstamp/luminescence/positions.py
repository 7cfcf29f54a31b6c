"""Where the UV-A frames of one face lie on its visible photograph, and whether they agree.

Each is laid over the visible photograph, and each further one over the first UV-A frame, by the
same search and gates (``registration``). Where all hold they must close: the way through the first
UV-A frame and the straight one may differ by 1.2 mm over the body, which is what masks are drawn
in by. UV-A on UV-A is the finer of both, so that it is used. Where one fit to the visible
photograph fails, the frame goes by the other; where UV-A on UV-A fails, both go straight.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import exact, registration, structure
from heelstamp.luminescence.findings import Reason
from heelstamp.luminescence.linear import Bytes
from heelstamp.luminescence.structure import Matrix
from heelstamp.luminescence.uv_frame import Placed as OnePlaced
from heelstamp.luminescence.uv_frame import UvFrame

NAMES = ("UV photograph", "second UV photograph", "third UV photograph")
MOST_LOOP_MM = 1.2


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """Positions of all frames.

    ``transforms`` maps each to visible pixels; ``straight`` the further ones by their own fit to
    the visible photograph, None where only one way holds. ``registration`` is that of the first.
    """

    registration: registration.Registration | None
    reason: Reason | None
    transforms: tuple[Matrix, ...] = ()
    straight: tuple[Matrix | None, ...] = ()


def place(
    frames: Sequence[UvFrame],
    points: Sequence[registration.PointPair] | None,
    *,
    coarse_done: Callable[[Matrix], None] | None = None,
) -> Placed:
    """Find the positions of one to three frames."""
    first = frames[0].placed(points, coarse_done)
    if len(frames) == 1:
        found, reason = first
        if reason is not None or found is None:
            return Placed(found, reason)
        return Placed(found, None, (found.transform,))
    others = [one.placed(None) for one in frames[1:]]
    between = [UvFrame(frames[0].uv, one.uv).placed(None) for one in frames[1:]]
    base = first if first[1] is None else _by_way_of(first, others, between)
    if base[1] is not None or base[0] is None:
        return Placed(first[0], first[1])
    transforms, straight = [base[0].transform], []
    for name, own, middle in zip(NAMES[1:], others, between, strict=False):
        direct = own[0].transform if own[0] is not None and own[1] is None else None
        chained = None
        if middle[0] is not None and middle[1] is None:
            chained = base[0].transform @ middle[0].transform
        if direct is None and chained is None:
            return Placed(base[0], of_frame(own[1] or NOT_PLACED, name, len(frames)))
        chosen = chained if chained is not None else direct
        assert chosen is not None
        transforms.append(exact.homography(chosen))
        straight.append(direct if chained is not None and first[1] is None else None)
    return Placed(base[0], None, tuple(transforms), tuple(straight))


def _by_way_of(
    first: OnePlaced, others: Sequence[OnePlaced], between: Sequence[OnePlaced]
) -> OnePlaced:
    """The position of the first frame by way of a further one, where its own fit fails."""
    for own, middle in zip(others, between, strict=True):
        if own[0] is None or own[1] is not None or middle[0] is None or middle[1] is not None:
            continue
        chained = own[0].transform @ np.linalg.inv(middle[0].transform)
        return replace(own[0], transform=exact.homography(chained)), None
    return first


def loop(placed: Placed, outline: NDArray[np.float64], px_per_mm: float) -> Reason | None:
    """Refuse frames whose positions do not close over the body."""
    corners = np.asarray(outline, dtype=float)
    for straight, chained in zip(placed.straight, placed.transforms[1:], strict=False):
        if straight is None:
            continue
        there = structure.apply(np.linalg.inv(straight), corners)
        off = structure.apply(chained, there) - corners
        error = float(np.sqrt((off**2).sum(axis=1).mean())) / px_per_mm
        if error > MOST_LOOP_MM:
            return Reason(
                "positions do not close",
                f"two ways to lay the UV photographs down differ by {error:.1f} mm over the body",
                "Leave camera and body where they are between all frames, and take them again.",
            )
    return None


def sizes(frames: Sequence[Bytes], flats: Sequence[Bytes]) -> Reason | None:
    """Refuse UV-A frames or flat frames of another size than the first UV-A frame."""
    wanted = frames[0].shape
    named = [*zip(NAMES[1:], frames[1:], strict=False), *(("flat frame", one) for one in flats)]
    for name, one in named:
        if one.shape != wanted:
            return Reason(
                "other size",
                f"the {name} has {one.shape[1]} × {one.shape[0]} pixels, the UV photograph "
                f"{wanted[1]} × {wanted[0]}",
                "Take all UV-A frames and flat frames with one camera, as one kind of file; crop "
                "none.",
            )
    return None


def of_frame(reason: Reason, name: str, count: int) -> Reason:
    """A reason that says which of several UV photographs it is about."""
    if count == 1:
        return reason
    return replace(reason, found=f"{name}: {reason.found}")


NOT_PLACED = Reason(
    "not registered",
    "the search for the position did not converge",
    "Leave camera and body where they are between the frames, and take them again.",
)

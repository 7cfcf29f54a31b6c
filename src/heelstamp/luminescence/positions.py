"""Where the UV-A frames of one face lie on its visible photograph.

Each is laid over the visible photograph alone. Two frames with the lamp on opposite sides have
hardly an edge in common: the rim that one shows ends in shade in the other, and so does the coat
beside every part. In the visible photograph both are seen. So no frame is laid over another, and
how far two frames lie apart says nothing of either.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from heelstamp.luminescence import registration
from heelstamp.luminescence.drawn import Drawn
from heelstamp.luminescence.findings import Reason
from heelstamp.luminescence.linear import Bytes
from heelstamp.luminescence.structure import Matrix
from heelstamp.luminescence.uv_frame import UvFrame

NAMES = ("UV photograph", "second UV photograph", "third UV photograph")


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """Positions of all frames.

    ``transforms`` maps each to visible pixels. ``registration`` is that of the first.
    """

    registration: registration.Registration | None
    reason: Reason | None
    transforms: tuple[Matrix, ...] = ()


def place(
    frames: Sequence[UvFrame],
    points: Sequence[registration.PointPair] | None,
    *,
    drawn: Drawn | None = None,
    coarse_done: Callable[[Matrix], None] | None = None,
) -> Placed:
    """Find the positions of one to three frames.

    Parameters
    ----------
    points
        Marked by a person in the first frame.
    drawn
        Outline and parts in the visible photograph, when known.
    """
    first, reason = frames[0].placed(points, coarse_done, drawn)
    if reason is not None or first is None:
        return Placed(first, of_frame(reason or NOT_PLACED, NAMES[0], len(frames)))
    transforms = [first.transform]
    for name, frame in zip(NAMES[1:], frames[1:], strict=False):
        found, reason = frame.placed(None, None, drawn)
        if reason is not None or found is None:
            return Placed(first, of_frame(reason or NOT_PLACED, name, len(frames)))
        transforms.append(found.transform)
    return Placed(first, None, tuple(transforms))


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

"""Examining a pair: photographs decoded through a port, judged by the engine, kept with a digest.

Nothing is read from or written to a disk here; the files themselves are never altered. The digest
is that of everything the answer depends on: both files, the request, the program's version.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from heelstamp import __version__
from heelstamp.archive import digest_of, sha256
from heelstamp.casework.finish.capture import Frames
from heelstamp.casework.finish.finding import FinishFinding
from heelstamp.casework.finish.request import PairRequest
from heelstamp.casework.ports import NamedFile
from heelstamp.luminescence import Stage, assess

Pixels = NDArray[np.uint8]


class ReadsPixels(Protocol):
    """Decodes a photograph to an upright array."""

    def __call__(self, data: bytes, name: str) -> Pixels:
        """Height × width × 3 code values of sRGB.

        Raises
        ------
        InputError
            Not a photograph of a known kind, too large, or cut short.
        """
        ...


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A finding with photographs as arrays, for those who draw it; ``uv`` is the first."""

    finding: FinishFinding
    visible: Pixels
    uv: Pixels


def examine_pair(
    visible: NamedFile,
    uv: NamedFile,
    request: PairRequest,
    *,
    read: ReadsPixels,
    tell: Callable[[Stage], None] | None = None,
) -> Face:
    """Judge a pair of photographs of one face; see `examine_face`."""
    return examine_face(Frames(visible, uv), request, read=read, tell=tell)


def examine_face(
    frames: Frames,
    request: PairRequest,
    *,
    read: ReadsPixels,
    settings: Sequence[str] = (),
    tell: Callable[[Stage], None] | None = None,
) -> Face:
    """Judge the photographs of one face: a pair, or UV-A frames with the lamp moved.

    Parameters
    ----------
    read
        Decoder of photographs.
    settings
        The camera's for each UV-A frame, as the files tell; for the record.
    tell
        Called with each stage of the work.

    Raises
    ------
    InputError
        A photograph cannot be decoded, or masks, scale, standards or points are impossible.
    """
    first, second, *rest = (
        read(one.data, one.name)
        for one in (frames.visible, frames.uv, *frames.further, *frames.flats)
    )
    assessment = assess(
        first,
        second,
        further=rest[: len(frames.further)],
        flats=rest[len(frames.further) :],
        brushed=request.brushed,
        masks=request.masks,
        px_per_mm=request.scale,
        greys=request.greys,
        points=request.points or None,
        progress=tell,
    )
    inputs = {
        "visible": sha256(frames.visible.data),
        "uv": sha256(frames.uv.data),
        "further": [sha256(one.data) for one in frames.further],
        "flats": [sha256(one.data) for one in frames.flats],
        "request": request.data(),
        "program": __version__,
    }
    further = tuple(one.name for one in frames.further)
    finding = FinishFinding(
        frames.visible.name,
        frames.uv.name,
        assessment,
        digest_of(inputs),
        further,
        request.lamp,
        tuple(settings),
    )
    return Face(finding, first, second)

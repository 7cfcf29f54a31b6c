"""Examining a pair: photographs decoded through a port, judged by the engine, kept with a digest.

Nothing is read from or written to a disk here; the files themselves are never altered. The digest
is that of everything the answer depends on: both files, the request, the program's version.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from heelstamp import __version__
from heelstamp.archive import digest_of, sha256
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
    """A finding with both photographs as arrays, for those who draw it."""

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
    """Judge a pair of photographs of one face.

    Parameters
    ----------
    read
        Decoder of photographs.
    tell
        Called with each stage of the work.

    Raises
    ------
    InputError
        A photograph cannot be decoded, or masks, scale, standards or points are impossible.
    """
    first, second = read(visible.data, visible.name), read(uv.data, uv.name)
    assessment = assess(
        first,
        second,
        masks=request.masks,
        px_per_mm=request.scale,
        greys=request.greys,
        points=request.points or None,
        progress=tell,
    )
    inputs = {
        "visible": sha256(visible.data),
        "uv": sha256(uv.data),
        "request": request.data(),
        "program": __version__,
    }
    finding = FinishFinding(visible.name, uv.name, assessment, digest_of(inputs))
    return Face(finding, first, second)

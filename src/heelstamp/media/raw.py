"""Camera raw files as code values: demosaiced plainly, with no curve but that of sRGB.

LibRaw through rawpy, which comes with the extra ``raw``. Nothing that a camera's program does to
please is done here: no brightening, no sharpening, no denoising, no automatic balance. Bilinear
demosaic; the daylight multipliers of the camera for every frame alike, so that the balance of a UV
frame is not bent towards grey; matrix to sRGB primaries; the curve of IEC 61966-2-1. Kinds are told
by their first bytes or, inside a TIFF, by DNGVersion (DNG 1.4, tag 50706) or colour filter array
data (TIFF/EP, ISO 12234-2, photometric interpretation 32803). Stops holding for cameras that LibRaw
has no matrix for: then colours are the sensor's.
"""

from __future__ import annotations

import io
import struct
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from heelstamp.errors import InputError, LimitError
from heelstamp.media.bounds import LARGEST_BYTES, bound_pixels

MOST_PIXELS = 60_000_000
_STARTS = (b"FUJIFILMCCD-RAW", b"IIRO", b"IIRS", b"MMOR", b"IIU\x00", b"FOVb")
_INSTALL = (
    "Install the extra with: pip install 'heelstamp[raw]'. Or hand in the TIFF or JPEG that a "
    "converter makes of it, with nothing enhanced."
)
_PHOTOMETRIC, _SUB_IFDS, _DNG_VERSION, _CFA, _LINEAR_RAW = 262, 330, 50706, 32803, 34892
_SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 7: 1, 13: 4}
_MOST_TAGS, _MOST_IFDS = 400, 12


def is_raw(data: bytes) -> bool:
    """Say whether a file holds a sensor's values, by its content."""
    if data.startswith(_STARTS) or data[4:12] == b"ftypcrx ":
        return True
    if data[:4] == b"II*\x00":
        return data[8:10] == b"CR" or _tiff_holds_raw(data, "<")
    return data[:4] == b"MM\x00*" and _tiff_holds_raw(data, ">")


def raw_rgb(
    data: bytes, name: str, *, bits: int = 8, most_pixels: int = MOST_PIXELS
) -> NDArray[Any]:
    """Decode a camera raw file to height × width × 3 code values of sRGB, upright.

    Parameters
    ----------
    data
        The whole file; it is only read.
    name
        File name used in errors.
    bits
        8 or 16 a channel.
    most_pixels
        Bound looked at before anything is decoded.

    Raises
    ------
    InputError
        The reader is not installed, or the file is damaged, too large, or of an unknown camera.
    """
    if len(data) > LARGEST_BYTES:
        raise LimitError(
            "a larger file than any photograph",
            where=name,
            received=f"{len(data)} bytes",
            remedy=f"Stay under {LARGEST_BYTES} bytes.",
        )
    try:
        rawpy = import_module("rawpy")
    except ImportError:
        raise InputError(
            "a camera raw file, and the reader for these is not installed",
            where=name,
            remedy=_INSTALL,
        ) from None
    try:
        with rawpy.imread(io.BytesIO(data)) as raw:
            bound_pixels(raw.sizes.raw_width, raw.sizes.raw_height, name, most_pixels)
            return np.asarray(
                raw.postprocess(
                    demosaic_algorithm=rawpy.DemosaicAlgorithm.LINEAR,
                    use_camera_wb=False,
                    use_auto_wb=False,
                    no_auto_bright=True,
                    gamma=(2.4, 12.92),
                    output_color=rawpy.ColorSpace.sRGB,
                    output_bps=bits,
                    highlight_mode=rawpy.HighlightMode.Clip,
                )
            )
    except InputError:
        raise
    except (rawpy.LibRawError, OSError, ValueError) as error:
        raise InputError(
            "the camera raw file cannot be decoded; it is damaged or of an unknown camera",
            where=name,
            received=str(error),
            remedy=_INSTALL.split(". ", 1)[1],
        ) from None


def _tiff_holds_raw(data: bytes, order: str) -> bool:
    """Look through the directories of a TIFF, a bounded number of them, for what marks raw data."""
    pending = [_number(data, 4, order + "I")]
    seen: set[int] = set()
    while pending and len(seen) < _MOST_IFDS:
        at = pending.pop()
        if at is None or at in seen:
            continue
        seen.add(at)
        count = _number(data, at, order + "H")
        for k in range(min(count or 0, _MOST_TAGS)):
            entry = at + 2 + 12 * k
            tag, kind = _number(data, entry, order + "H"), _number(data, entry + 2, order + "H")
            many = _number(data, entry + 4, order + "I")
            if tag is None or kind is None or many is None:
                break
            if tag == _DNG_VERSION:
                return True
            if tag == _PHOTOMETRIC and _number(data, entry + 8, order + "H") in {_CFA, _LINEAR_RAW}:
                return True
            if tag == _SUB_IFDS and kind in _SIZES:
                inline = many * _SIZES[kind] <= 4
                first = entry + 8 if inline else _number(data, entry + 8, order + "I")
                pending += [
                    _number(data, (first or 0) + 4 * n, order + "I") for n in range(min(many, 8))
                ]
        pending.append(_number(data, at + 2 + 12 * (count or 0), order + "I") or None)
    return False


def _number(data: bytes, at: int, form: str) -> int | None:
    try:
        return int(struct.unpack_from(form, data, at)[0])
    except struct.error:
        return None

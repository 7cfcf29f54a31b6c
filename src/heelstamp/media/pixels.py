"""A photograph as an array: upright, sRGB, 8 bits a channel; the file itself is only read.

What a camera or a scanner may write comes out alike: Exif orientation applied (CIPA DC-008, tag
274), CMYK and other colour spaces turned by their profile or, without one, by the picture library's
plain rule, 16 bits a channel reduced to 8, opacity laid over white. Camera raw files go
through ``media.raw``. Numbers of light measured on
the result hold for sRGB files; a camera's own tone curve stays in.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from heelstamp.media.exif import upright
from heelstamp.media.outgoing import plain_rgb
from heelstamp.media.photographs import decoded
from heelstamp.media.raw import is_raw, raw_rgb

MOST_PIXELS = 60_000_000
"""Bound for photographs that are computed on: two of them as arrays take 360 MB."""


def upright_rgb(data: bytes, name: str, *, most_pixels: int = MOST_PIXELS) -> NDArray[np.uint8]:
    """Decode a photograph to height × width × 3.

    Parameters
    ----------
    data
        The whole file.
    name
        File name used in errors.
    most_pixels
        Bound looked at before anything is decoded.

    Raises
    ------
    InputError
        Not a photograph of a known kind, too large, cut short, or camera raw without its reader.
    """
    if is_raw(data):
        return np.asarray(raw_rgb(data, name, most_pixels=most_pixels), dtype=np.uint8)
    image = plain_rgb(upright(decoded(data, name, most_pixels=most_pixels)))
    return np.asarray(image, dtype=np.uint8)

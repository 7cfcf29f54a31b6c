"""From code values to light and to colours: sRGB decoding, CIE Lab, CIEDE2000.

Sources: IEC 61966-2-1 (1999) for sRGB; CIE 15 for Lab with illuminant D65, 2°; Sharma, Wu and
Dalal, Color Research and Application 30(1) (2005) 21-30 for CIEDE2000 and its test pairs. Stops
holding where a camera applied a tone curve of its own: then only ratios within one photograph
between similar brightnesses mean anything.
"""

from __future__ import annotations

from typing import Any

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from heelstamp.errors import InputError

Float = NDArray[np.float32]
Bytes = NDArray[np.uint8]

TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
"""Linear sRGB to CIE XYZ, D65 (IEC 61966-2-1, primaries of ITU-R BT.709)."""

D65 = TO_XYZ.sum(axis=1)
LUMA = TO_XYZ[1].astype(np.float32)
_DELTA = 6.0 / 29.0
_POW_25_7 = 25.0**7


class PhotographError(InputError):
    """An array that is no photograph this engine can read."""


def as_code_values(image: object, where: str) -> Bytes:
    """*image* as RGB code values of 8 bits.

    Parameters
    ----------
    image
        Array (h, w), (h, w, 1), (h, w, 3) RGB or (h, w, 4) RGB and opacity, which is dropped;
        uint8, uint16 (scaled by 1/257) or floating point from 0 to 1.
    where
        What the photograph is called in an error.

    Returns
    -------
    ndarray
        (h, w, 3), uint8. A uint8 RGB array comes back as it is, not copied.

    Raises
    ------
    PhotographError
        Another shape or type, or numbers that are not finite.
    """
    try:
        array: NDArray[Any] = np.asarray(image)
    except ValueError:
        array = np.empty(0)
    received = f"{array.dtype} array of shape {array.shape}"
    if array.ndim == 2:
        array = array[:, :, None]
    if array.ndim != 3 or array.shape[2] not in {1, 3, 4} or min(array.shape[:2]) < 1:
        raise PhotographError(
            "an array that is no photograph",
            where=where,
            received=received,
            remedy="Hand in height × width × 3 values, red, green and blue.",
        )
    array = array[:, :, :3]
    if array.shape[2] == 1:
        array = np.repeat(array, 3, axis=2)
    if array.dtype == np.uint8:
        return np.ascontiguousarray(array, dtype=np.uint8)
    if array.dtype == np.uint16:
        return np.asarray((array.astype(np.uint32) + 128) // 257, dtype=np.uint8)
    if array.dtype.kind == "f" and bool(np.isfinite(array).all()):
        return np.asarray(np.round(np.clip(array, 0.0, 1.0) * 255.0), dtype=np.uint8)
    raise PhotographError(
        "values of a kind that photographs do not have",
        where=where,
        received=received,
        remedy="Hand in 8 or 16 bits a channel, or fractions from 0 to 1.",
    )


def srgb_decode(code: ArrayLike) -> NDArray[np.float64]:
    """Linear light for sRGB code values from 0 to 1 (IEC 61966-2-1)."""
    v = np.asarray(code, dtype=float)
    curve = np.asarray(((np.clip(v, 0.0, None) + 0.055) / 1.055) ** 2.4, dtype=float)
    return np.where(v <= 0.04045, v / 12.92, curve)


_DECODE_8_BIT = srgb_decode(np.arange(256) / 255.0).astype(np.float32)


def decode(code: Bytes) -> Float:
    """Linear light, 0 to 1, for an image of 8-bit sRGB code values."""
    return np.asarray(cv2.LUT(code, _DECODE_8_BIT), dtype=np.float32)


def luminance(linear: Float) -> Float:
    """Relative luminance Y of linear sRGB (h, w, 3)."""
    return np.asarray(linear @ LUMA, dtype=np.float32)


def lab(linear: ArrayLike) -> NDArray[np.float32]:
    """CIE L*, a*, b* (D65, 2°) of linear sRGB, last axis three."""
    xyz = np.asarray(linear, dtype=np.float32) @ (TO_XYZ / D65[:, None]).T.astype(np.float32)
    f = np.where(
        xyz > _DELTA**3,
        np.cbrt(np.maximum(xyz, 1e-9)),
        xyz / np.float32(3 * _DELTA**2) + np.float32(4 / 29),
    )
    parts = (116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2]))
    return np.stack(parts, axis=-1).astype(np.float32)


def ciede2000(first: ArrayLike, second: ArrayLike) -> NDArray[np.float64]:
    """The colour difference ΔE00 of two arrays of L*, a*, b* (last axis three).

    Parametric factors kL, kC, kH are one. Follows Sharma, Wu and Dalal (2005), equations 2 to 22.
    """
    one, two = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    l1, a1, b1 = one[..., 0], one[..., 1], one[..., 2]
    l2, a2, b2 = two[..., 0], two[..., 1], two[..., 2]
    mean_c7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - np.sqrt(mean_c7 / (mean_c7 + _POW_25_7)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = np.degrees(np.arctan2(b1, a1)) % 360, np.degrees(np.arctan2(b2, a2)) % 360
    grey = c1 * c2 == 0
    turn = h2 - h1
    turn = np.where(turn > 180, turn - 360, np.where(turn < -180, turn + 360, turn))
    dh = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(np.where(grey, 0.0, turn)) / 2)
    total = h1 + h2
    far = np.abs(h1 - h2) > 180
    mean_h = np.where(far, np.where(total < 360, total + 360, total - 360), total) / 2
    mean_h = np.where(grey, total, mean_h)
    t = (
        1
        - 0.17 * np.cos(np.radians(mean_h - 30))
        + 0.24 * np.cos(np.radians(2 * mean_h))
        + 0.32 * np.cos(np.radians(3 * mean_h + 6))
        - 0.20 * np.cos(np.radians(4 * mean_h - 63))
    )
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / np.sqrt(20 + (mean_l - 50) ** 2)
    s_c, s_h = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * t
    angle = 30 * np.exp(-(((mean_h - 275) / 25) ** 2))
    r_c = 2 * np.sqrt(mean_c**7 / (mean_c**7 + _POW_25_7))
    r_t = -np.sin(np.radians(2 * angle)) * r_c
    dl, dc, dh = (l2 - l1) / s_l, (c2 - c1) / s_c, dh / s_h
    return np.asarray(np.sqrt(dl**2 + dc**2 + dh**2 + r_t * dc * dh), dtype=float)

"""What a photograph's Exif says, read so that no damage in it costs the picture.

Exif 2.32 (CIPA DC-008): orientation 274, times 306 and 36867 with offset 36881, position 34853,
exposure time 33434, aperture 33437, sensitivity 34855, white balance 41987 (0 automatic). A
directory that cannot be read says nothing; whether there is a position by the pointer to it.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from PIL import ExifTags, Image

_TIME = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)", re.ASCII)
_OFFSET = re.compile(r"[+-]\d\d:\d\d", re.ASCII)
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


@dataclass(frozen=True, slots=True)
class ExifFacts:
    """What is used of it.

    Attributes
    ----------
    orientation
        1 to 8; 1 when there is none.
    taken
        ISO 8601, with offset when the camera wrote one; None without a time in the calendar.
    has_position
        Whether the file holds a GPS position; the position itself is not read.
    settings
        Such as ``2 s, f/8, ISO 200``; automatic balance is named, since it changes with the
        picture. Empty when the file does not tell all three.
    """

    orientation: int = 1
    taken: str | None = None
    has_position: bool = False
    settings: str = ""


def exif_facts(image: Image.Image) -> ExifFacts:
    """Read the Exif of a picture."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            exif = image.getexif()
            outer = dict(exif)
        except Exception:  # noqa: BLE001 - the library raises what the damaged part makes it raise
            return ExifFacts()
        inner = _directory(exif, ExifTags.IFD.Exif)
    orientation = outer.get(ExifTags.Base.Orientation)
    known = isinstance(orientation, int) and orientation in range(1, 9)
    return ExifFacts(
        orientation=int(orientation) if known and orientation is not None else 1,
        taken=_taken(outer, inner),
        has_position=ExifTags.IFD.GPSInfo in outer,
        settings=_settings(inner),
    )


def upright(image: Image.Image) -> Image.Image:
    """A picture as it is displayed, turned or mirrored as its Exif asks."""
    turn = _TURNS.get(exif_facts(image).orientation)
    return image if turn is None else image.transpose(turn)


def _directory(exif: Image.Exif, which: ExifTags.IFD) -> dict[int, Any]:
    """A directory inside; empty when it is damaged."""
    try:
        return dict(exif.get_ifd(which))
    except Exception:  # noqa: BLE001 - as above
        return {}


def _taken(outer: Mapping[int, Any], inner: Mapping[int, Any]) -> str | None:
    for text in (inner.get(ExifTags.Base.DateTimeOriginal), outer.get(ExifTags.Base.DateTime)):
        match = _TIME.match(text) if isinstance(text, str) else None
        if match is None:
            continue
        try:
            moment = datetime(*map(int, match.groups()))  # type: ignore[arg-type]  # noqa: DTZ001
        except ValueError:  # a camera whose clock was never set writes 0000:00:00
            continue
        offset = inner.get(ExifTags.Base.OffsetTimeOriginal)
        told = offset.strip("\0 ") if isinstance(offset, str) else ""
        return moment.isoformat() + (told if _OFFSET.fullmatch(told) else "")
    return None


def _settings(inner: Mapping[int, Any]) -> str:
    try:
        time = float(inner[ExifTags.Base.ExposureTime])
        aperture = float(inner[ExifTags.Base.FNumber])
        speed = inner[ExifTags.Base.ISOSpeedRatings]
        speed = int(speed[0] if isinstance(speed, tuple) else speed)
    except (KeyError, TypeError, ValueError, ArithmeticError, IndexError):
        return ""
    if not (time > 0 and aperture > 0 and speed > 0):
        return ""
    automatic = inner.get(ExifTags.Base.WhiteBalance) == 0
    return f"{time:.4g} s, f/{aperture:.3g}, ISO {speed}" + (
        ", automatic balance" if automatic else ""
    )

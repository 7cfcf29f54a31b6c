"""The camera's settings of a photograph, as one text that is alike when they are alike.

Exif 2.32 (CIPA DC-008): exposure time 33434, aperture 33437, sensitivity 34855, white balance 41987
(0 automatic). Automatic balance is named, since it changes with the picture.
"""

from __future__ import annotations

from PIL import ExifTags

from heelstamp.media.photographs import decoded, exif_of


def camera_settings(data: bytes, name: str) -> str:
    """Give settings such as ``2 s, f/8, ISO 200``; empty when the file does not tell all three.

    Raises
    ------
    InputError
        Not a photograph of a known kind, too large, or cut short.
    """
    inner = exif_of(decoded(data, name)).get_ifd(ExifTags.IFD.Exif)
    try:
        time = float(inner[ExifTags.Base.ExposureTime])
        aperture = float(inner[ExifTags.Base.FNumber])
        speed = inner[ExifTags.Base.ISOSpeedRatings]
        speed = int(speed[0] if isinstance(speed, tuple) else speed)
    except (KeyError, TypeError, ValueError, ZeroDivisionError, IndexError):
        return ""
    if not (time > 0 and aperture > 0 and speed > 0):
        return ""
    automatic = inner.get(ExifTags.Base.WhiteBalance) == 0
    return f"{time:.4g} s, f/{aperture:.3g}, ISO {speed}" + (
        ", automatic balance" if automatic else ""
    )

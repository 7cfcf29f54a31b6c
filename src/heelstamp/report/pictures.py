"""Photographs made ready for print: upright, reduced, and stripped of everything but pixels.

A camera's file carries the place, the time and the camera's own number; none of it goes into a
paper. Orientation is applied first (CIPA DC-008, Exif 2.32, tag 0x0112), then only the pixels are
kept. Colour is taken as sRGB: a wide-gamut picture loses its profile and looks slightly dull.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor

from PIL import Image, ImageDraw, ImageOps, UnidentifiedImageError

from heelstamp.errors import InputError

PICTURE_PX = 1000
"""Longer edge of an embedded photograph: 122 mm at 208 dpi, the largest that a page shows."""
PICTURE_QUALITY = 84
PRINTED_AS = "image/jpeg"
WORKERS = 2
"""Pictures worked on at a time, which bounds the memory to two of them decoded."""
PIXELS_MAX = 300_000_000
"""Larger pictures are refused before they are decoded."""


def print_picture(content: bytes, *, where: str) -> bytes:
    """Make the picture that is embedded: upright, at most 1000 pixels, sRGB, pixels only.

    Raises
    ------
    InputError
        The bytes are no picture that can be read, or one of more than 300 million pixels.
    """
    try:
        with _open(content) as opened:
            if opened.width * opened.height > PIXELS_MAX:
                raise InputError(
                    "a picture too large to print",
                    where=where,
                    received=f"{opened.width} × {opened.height} pixels",
                    remedy="Reduce it.",
                )
            opened.draft("RGB", (PICTURE_PX, PICTURE_PX))  # a JPEG decodes at a fraction
            picture = opened if opened.mode == "RGB" else opened.convert("RGB")
            picture.thumbnail((PICTURE_PX, PICTURE_PX), Image.Resampling.BICUBIC)
            picture = ImageOps.exif_transpose(picture)  # the reduced one: a fraction of the work
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as error:
        raise InputError(
            "not a picture that can be read",
            where=where,
            received=error,
            remedy="Take the file again from the camera.",
        ) from error
    clean = Image.frombytes("RGB", picture.size, picture.tobytes())
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=PICTURE_QUALITY)
    return out.getvalue()


def print_size(made: bytes) -> tuple[int, int]:
    """Width and height, in pixels, of what `print_picture` made."""
    with Image.open(io.BytesIO(made)) as opened:
        return opened.size


Box = tuple[float, float, float, float]
"""Upper left corner, width and height, as shares of the picture as displayed."""
COVER = (128, 132, 134)
COVER_QUALITY = 92
_BLEED = 4
"""Pixels beyond a box that are filled too, for what a coder smears over its edge."""


def covered(content: bytes, boxes: Sequence[Box], *, where: str) -> bytes:
    """Fill boxes of a picture with one grey, which no sharpening undoes; pixels only, upright.

    Raises
    ------
    InputError
        The bytes are no picture that can be read.
    """
    if not boxes:
        return content
    try:
        with _open(content) as opened:
            picture = ImageOps.exif_transpose(opened).convert("RGB")
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as error:
        raise InputError(
            "not a picture that can be read",
            where=where,
            received=error,
            remedy="Take the file again from the camera.",
        ) from error
    pen = ImageDraw.Draw(picture)
    for x, y, width, height in boxes:
        pen.rectangle(
            (
                x * picture.width - _BLEED,
                y * picture.height - _BLEED,
                (x + width) * picture.width + _BLEED,
                (y + height) * picture.height + _BLEED,
            ),
            fill=COVER,
        )
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=COVER_QUALITY)
    return out.getvalue()


def print_pictures(pictures: Sequence[tuple[str, bytes]]) -> list[bytes]:
    """Make several, each named for errors, on the machine's cores: decoding leaves Python free.

    Raises
    ------
    InputError
        As `print_picture` does, for the first that cannot be read.
    """
    with ThreadPoolExecutor(WORKERS) as workers:
        return list(workers.map(lambda one: print_picture(one[1], where=one[0]), pictures))


def _open(content: bytes) -> Image.Image:
    try:
        return Image.open(io.BytesIO(content))
    except UnidentifiedImageError:
        import pillow_heif  # noqa: PLC0415 - only a phone's own format needs it

        pillow_heif.register_heif_opener()
        return Image.open(io.BytesIO(content))

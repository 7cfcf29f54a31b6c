r"""Photographs in: known by their content, bounded before they are decoded, decoded to the end.

Kinds are told by their first bytes, never by name: JPEG (ISO/IEC 10918-1: FF D8 FF), PNG
(ISO/IEC 15948, 5.2), TIFF 6.0 (II*\0 or MM\0*), HEIF with HEVC (ISO/IEC 23008-12, 10.2). Time and
orientation are those of Exif 2.32 (CIPA DC-008), tags 274, 306, 36867, 36881. A whole decode finds
every file cut short, a JPEG also when only its end mark is lost; of a PNG, whose decoder stops
once it has the pixels, the last chunk is asked for. Damage that still decodes is not found here:
the digest finds it later.
"""

from __future__ import annotations

import io
import re
import struct
import warnings
from datetime import datetime

from PIL import ExifTags, Image, UnidentifiedImageError

from heelstamp.casework.ports import PhotographFacts
from heelstamp.errors import InputError

LARGEST_BYTES = 200_000_000
LARGEST_PIXELS = 160_000_000
"""Bounds: above any camera a shop uses, below what brings a small machine down; pixels also below
the 179 million at which the picture library itself refuses."""

_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")
_MEDIA_TYPES = {
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
    "HEIF": "image/heic",
}
_REMEDY = "Give a JPEG, PNG, TIFF or HEIC photograph."
_EXIF_TIME = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)")
_EXIF_OFFSET = re.compile(r"[+-]\d\d:\d\d")
_PNG_END = b"IEND\xaeB`\x82"  # ISO/IEC 15948, 11.2.5, with its CRC


def kind_of(data: bytes) -> str | None:
    """Tell the kind of picture from its first bytes; None when it is none of those known."""
    if data.startswith(b"\xff\xd8\xff"):
        return "JPEG"
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return "PNG"
    if data[:4] in {b"II*\x00", b"MM\x00*"}:
        return "TIFF"
    if data[4:8] == b"ftyp" and data[8:12] in _HEIF_BRANDS:
        return "HEIF"
    return None


def decoded(
    data: bytes, name: str, *, most_pixels: int | None = None, about_px: int | None = None
) -> Image.Image:
    """Decode a photograph within bounds, to its end.

    Parameters
    ----------
    data
        The whole file.
    name
        File name used in errors.
    most_pixels
        Bound looked at before anything is decoded; that of all photographs when None.
    about_px
        Longest side that will do: a JPEG is then decoded at a half, quarter or eighth of its size,
        not below this one (Pillow's draft mode); for small copies only.

    Raises
    ------
    InputError
        Empty, not a known kind, too large, or cut short.
    """
    kind = _sniffed(data, name)
    bound = LARGEST_PIXELS if most_pixels is None else most_pixels
    if kind == "HEIF":
        import pillow_heif  # noqa: PLC0415 - only for the files that need it

        pillow_heif.register_heif_opener()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of odd metadata, and of a size that is bounded here
            image = Image.open(io.BytesIO(data), formats=[kind])
            _bound_pixels(image, name, bound)
            if about_px is not None:
                image.draft(None, (about_px, about_px))
            image.load()
    except InputError:
        raise
    except Image.DecompressionBombError:
        raise _too_many_pixels(name, "over 179 million", bound) from None
    except UnidentifiedImageError:
        raise InputError(
            f"a {kind} file whose beginning is damaged", where=name, remedy=_REMEDY
        ) from None
    except (OSError, SyntaxError, ValueError, EOFError, RuntimeError) as error:
        raise _cut_short(name, error) from None
    if kind == "PNG" and _PNG_END not in data[-65536:]:
        raise _cut_short(name, "the last chunk is missing")
    return image


def read_photograph(data: bytes, name: str) -> PhotographFacts:
    """Read what a photograph says of itself.

    Parameters
    ----------
    data
        The whole file.
    name
        File name used in errors; it decides nothing.

    Raises
    ------
    InputError
        Empty, not a known kind, too large, or cut short.
    """
    image = decoded(data, name)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        exif = exif_of(image)
        orientation = exif.get(ExifTags.Base.Orientation, 1)
        orientation = orientation if orientation in range(1, 9) else 1
        width, height = image.size
        if orientation >= 5:  # Exif 2.32, tag 274: rows and columns change places
            width, height = height, width
        return PhotographFacts(
            media_type=_MEDIA_TYPES[_sniffed(data, name)],
            width=width,
            height=height,
            orientation=orientation,
            taken=_taken(exif),
            has_position=bool(exif.get_ifd(ExifTags.IFD.GPSInfo)),
        )


def _sniffed(data: bytes, name: str) -> str:
    if not data:
        raise InputError("an empty file", where=name, remedy="Copy it from the camera again.")
    if len(data) > LARGEST_BYTES:
        raise InputError(
            "a larger file than any photograph",
            where=name,
            received=f"{len(data)} bytes",
            remedy=f"Stay under {LARGEST_BYTES} bytes.",
        )
    kind = kind_of(data)
    if kind is None:
        raise InputError("not a photograph", where=name, received=_begins(data), remedy=_REMEDY)
    return kind


def _begins(data: bytes) -> str:
    start = data[:12]
    if all(32 <= byte < 127 or byte in b"\r\n\t" for byte in start):
        return f"begins with the text {start.decode('ascii')!r}"
    return f"begins with the bytes {start.hex(' ')}"


def _bound_pixels(image: Image.Image, name: str, most_pixels: int) -> None:
    width, height = image.size
    if width * height > most_pixels:
        raise _too_many_pixels(name, f"{width} × {height}", most_pixels)


def _too_many_pixels(name: str, received: str, most_pixels: int) -> InputError:
    return InputError(
        "more pixels than are read here"
        if most_pixels < LARGEST_PIXELS
        else "more pixels than any photograph",
        where=name,
        received=received,
        remedy=f"Stay under {most_pixels // 1_000_000} million pixels.",
    )


def _cut_short(name: str, received: object) -> InputError:
    return InputError(
        "the photograph cannot be decoded to its end; it is cut short or damaged",
        where=name,
        received=received,
        remedy="Copy it from the camera again.",
    )


def exif_of(image: Image.Image) -> Image.Exif:
    """Give a photograph's Exif; damaged Exif is none, the picture may still be whole."""
    try:
        exif = image.getexif()
        for inner in (ExifTags.IFD.Exif, ExifTags.IFD.GPSInfo):
            exif.get_ifd(inner)
    except (OSError, SyntaxError, ValueError, KeyError, TypeError, struct.error):
        return Image.Exif()
    return exif


def _taken(exif: Image.Exif) -> str | None:
    inner = exif.get_ifd(ExifTags.IFD.Exif)
    for text in (inner.get(ExifTags.Base.DateTimeOriginal), exif.get(ExifTags.Base.DateTime)):
        match = _EXIF_TIME.match(text) if isinstance(text, str) else None
        if match is None:
            continue
        try:
            moment = datetime(*map(int, match.groups()))  # type: ignore[arg-type]  # noqa: DTZ001
        except ValueError:  # a camera whose clock was never set writes 0000:00:00
            continue
        offset = inner.get(ExifTags.Base.OffsetTimeOriginal)
        known = isinstance(offset, str) and _EXIF_OFFSET.fullmatch(offset.strip("\0 "))
        return moment.isoformat() + (str(offset).strip("\0 ") if known else "")
    return None

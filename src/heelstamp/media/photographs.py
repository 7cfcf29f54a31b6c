r"""Photographs in: known by their content, bounded before they are decoded, decoded to the end.

Kinds are told by their first bytes, never by name: JPEG (ISO/IEC 10918-1: FF D8 FF), PNG
(ISO/IEC 15948, 5.2), TIFF 6.0 (II*\0 or MM\0*), HEIF with HEVC (ISO/IEC 23008-12, 10.2). Frames
are walked first (`media.bounds`). A whole decode then finds every file cut short, a JPEG also when
only its end mark is lost; of a PNG, whose decoder stops once it has the pixels, the last chunk is
asked for. Damage that still decodes is not found here: the digest finds it later.
"""

from __future__ import annotations

import io
import warnings

from PIL import Image, UnidentifiedImageError

from heelstamp.casework.ports import PhotographFacts
from heelstamp.errors import HeelstampError, InputError, LimitError
from heelstamp.media.bounds import (
    LARGEST_BYTES,
    LARGEST_PIXELS,
    bound_jpeg,
    bound_pixels,
    bound_png,
    bound_tightness,
)
from heelstamp.media.exif import exif_facts

_HEIF_BRANDS = (b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1")
_MEDIA_TYPES = {
    "JPEG": "image/jpeg",
    "PNG": "image/png",
    "TIFF": "image/tiff",
    "HEIF": "image/heic",
}
_REMEDY = "Give a JPEG, PNG, TIFF or HEIC photograph."
_FRAMES = {"JPEG": bound_jpeg, "PNG": bound_png}
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
    if kind in _FRAMES:  # TIFF and HEIF tell their size when opened, which decodes nothing
        _FRAMES[kind](data, name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of odd metadata, and of a size that is bounded here
            image = Image.open(io.BytesIO(data), formats=[kind])
            bound_pixels(*image.size, name, bound)
            bound_tightness(image.width * image.height * len(image.getbands()), len(data), name)
            if about_px is not None:
                image.draft(None, (about_px, about_px))
            image.load()
    except (HeelstampError, MemoryError):
        raise
    except Image.DecompressionBombError:
        raise LimitError(
            "more pixels than any photograph",
            where=name,
            received="over 179 million",
            remedy=f"Stay under {bound // 1_000_000} million pixels.",
        ) from None
    except UnidentifiedImageError:
        raise InputError(
            f"a {kind} file whose beginning is damaged", where=name, remedy=_REMEDY
        ) from None
    except Exception as error:  # noqa: BLE001 - a decoder raises what the damage makes it raise
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
    told = exif_facts(image)
    width, height = image.size
    if told.orientation >= 5:  # Exif 2.32, tag 274: rows and columns change places
        width, height = height, width
    return PhotographFacts(
        media_type=_MEDIA_TYPES[_sniffed(data, name)],
        width=width,
        height=height,
        orientation=told.orientation,
        taken=told.taken,
        has_position=told.has_position,
    )


def camera_settings(data: bytes, name: str) -> str:
    """The camera's settings as one text, alike when they are alike: `ExifFacts.settings`.

    Raises
    ------
    InputError
        Not a photograph of a known kind, too large, or cut short.
    """
    return exif_facts(decoded(data, name)).settings


def _sniffed(data: bytes, name: str) -> str:
    if not data:
        raise InputError("an empty file", where=name, remedy="Copy it from the camera again.")
    if len(data) > LARGEST_BYTES:
        raise LimitError(
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


def _cut_short(name: str, received: object) -> InputError:
    return InputError(
        "the photograph cannot be decoded to its end; it is cut short or damaged",
        where=name,
        received=received,
        remedy="Copy it from the camera again.",
    )

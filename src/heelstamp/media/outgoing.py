"""Photographs out: a copy for papers, turned upright, with nothing in it but the picture.

The copy is made from pixels, not by removing fields: what is not written cannot leak. Position,
camera, names, comments, thumbnails, XMP, IPTC and colour profile stay behind; colours are brought
to sRGB (IEC 61966-2-1) first when the original names another profile. What the picture itself
shows is not looked at: a name on a label in the frame stays in the frame.
"""

from __future__ import annotations

import io

from PIL import Image, ImageCms

from heelstamp.errors import InputError
from heelstamp.media.exif import upright
from heelstamp.media.photographs import decoded

LONGEST_PX = 2400
QUALITY = 88


def outgoing_copy(
    data: bytes, name: str, longest_px: int = LONGEST_PX, *, draft: bool = False
) -> bytes:
    """A JPEG of the photograph for papers.

    Parameters
    ----------
    data
        The original file; it is not altered.
    name
        File name used in errors.
    longest_px
        Longest side of the copy in pixels; a smaller original is not enlarged.

    draft
        Decode no larger than the copy needs: ten times as quick for a small copy of a large JPEG,
        with pixels that differ by a code value or two.

    Raises
    ------
    InputError
        The original cannot be decoded, or the bound is not positive.
    """
    if longest_px < 1:
        raise InputError(
            "a copy needs a size", received=longest_px, remedy="Give the longest side in pixels."
        )
    plain = plain_rgb(upright(decoded(data, name, about_px=longest_px if draft else None)))
    plain.thumbnail((longest_px, longest_px), Image.Resampling.LANCZOS)
    bare = Image.frombytes("RGB", plain.size, plain.tobytes())
    written = io.BytesIO()
    small = longest_px <= LONGEST_PX  # a full copy is written four times as quick, 6 % larger
    bare.save(written, "JPEG", quality=QUALITY, optimize=small)
    return written.getvalue()


def plain_rgb(image: Image.Image) -> Image.Image:
    """A decoded picture in sRGB with 8 bits a channel: CMYK, 16 bits, opacity, profiles."""
    return _in_srgb(_eight_bit(image))


def _eight_bit(image: Image.Image) -> Image.Image:
    if image.mode.startswith("I;16"):
        return image.point(lambda level: level * (1 / 256)).convert("L")
    if image.mode in {"I", "F"}:
        low, high = image.getextrema()
        span = max(float(high) - float(low), 1.0)  # type: ignore[arg-type]
        scale, shift = 255.0 / span, -float(low) * 255.0 / span  # type: ignore[arg-type]
        return image.convert("F").point(lambda level: level * scale + shift).convert("L")
    return image


def _in_srgb(image: Image.Image) -> Image.Image:
    profile = image.info.get("icc_profile")
    if image.mode in {"RGBA", "LA", "PA"} or "transparency" in image.info:
        over = image.convert("RGBA")
        image = Image.new("RGB", over.size, "white")
        image.paste(over, mask=over.getchannel("A"))
    if profile and image.mode in {"RGB", "CMYK"}:
        try:
            source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            target = ImageCms.createProfile("sRGB")
            turned = ImageCms.profileToProfile(image, source, target, outputMode="RGB")
        except (ImageCms.PyCMSError, OSError):  # a damaged profile: the pixels as they are
            turned = None
        if turned is not None:
            return turned
    return image if image.mode == "RGB" else image.convert("RGB")

"""Photographs out: upright, bounded, and with nothing in them but the picture."""

import io
from typing import Any

import pillow_heif
import pytest
from PIL import ExifTags, Image, ImageCms, ImageDraw, PngImagePlugin

from heelstamp.archive import sha256
from heelstamp.errors import InputError
from heelstamp.media.outgoing import outgoing_copy
from heelstamp.media.photographs import read_photograph

pillow_heif.register_heif_opener()
SECRETS = (b"A CONSIGNOR", b"SERIAL 4711", b"GPSLatitude", b"xmpmeta", b"ICC_PROFILE", b"Exif")


def quarters(width: int = 160, height: int = 120) -> Image.Image:
    """Red top left, green top right, blue bottom left, white bottom right."""
    image = Image.new("RGB", (width, height), "white")
    draw = ImageDraw.Draw(image)
    draw.rectangle((0, 0, width // 2 - 1, height // 2 - 1), fill="red")
    draw.rectangle((width // 2, 0, width, height // 2 - 1), fill="lime")
    draw.rectangle((0, height // 2, width // 2 - 1, height), fill="blue")
    return image


def telltale(kind: str, orientation: int = 1, *, profile: bool = True) -> bytes:
    """A photograph that tells everything a file can tell."""
    made = Image.Exif()
    made[ExifTags.Base.Orientation] = orientation
    made[ExifTags.Base.Artist] = "A CONSIGNOR"
    made[ExifTags.Base.Make] = "SERIAL 4711"
    made[ExifTags.IFD.GPSInfo] = {1: "N", 2: (52.0, 30.0, 0.0), 3: "E", 4: (13.0, 24.0, 0.0)}
    whole = Image.Exif()
    whole.load(made.tobytes())  # as read from a file, so that every format can write it
    xmp = b"<x:xmpmeta xmlns:x='adobe:ns:meta/'><GPSLatitude>52</GPSLatitude></x:xmpmeta>"
    options: dict[str, Any] = {"exif": whole}
    if profile:
        made_profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB"))
        options["icc_profile"] = made_profile.tobytes()
    if kind == "JPEG":
        options |= {"comment": b"A CONSIGNOR", "xmp": xmp}
    if kind == "PNG":
        options["pnginfo"] = PngImagePlugin.PngInfo()
        options["pnginfo"].add_text("Author", "A CONSIGNOR")
        options["pnginfo"].add_itxt("XML:com.adobe.xmp", xmp.decode())
    buffer = io.BytesIO()
    quarters().save(buffer, kind, **options)
    return buffer.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF", "HEIF"])
@pytest.mark.parametrize("profile", [True, False])
def test_nothing_leaves_but_the_picture(kind: str, profile: bool) -> None:
    original = telltale(kind, profile=profile)
    assert read_photograph(original, "a").has_position
    assert b"A CONSIGNOR" in original
    copy = outgoing_copy(original, "a")
    assert not any(secret in copy for secret in SECRETS)
    with Image.open(io.BytesIO(copy)) as image:
        assert image.format == "JPEG"
        assert dict(image.getexif()) == {}
        assert set(image.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
    facts = read_photograph(copy, "copy.jpg")
    assert not facts.has_position
    assert facts.taken is None


def test_only_the_segments_a_bare_jpeg_needs_are_written() -> None:
    copy = outgoing_copy(telltale("JPEG"), "a")
    at, segments = 2, []
    while copy[at + 1] != 0xDA:
        segments.append(copy[at + 1])
        at += 2 + int.from_bytes(copy[at + 2 : at + 4], "big")
    # APP0 (JFIF), DQT, SOF0/SOF2, DHT: ISO/IEC 10918-1, table B.1. No other APPn, no COM.
    assert set(segments) <= {0xE0, 0xDB, 0xC0, 0xC2, 0xC4}


def near(found: Any, wanted: tuple[int, int, int]) -> bool:
    return all(abs(a - b) < 40 for a, b in zip(found, wanted, strict=True))


# Exif 2.32, tag 274: where the picture's first row and first column go; the corner colours below
# are those at (top left, top right, bottom left) of the upright picture.
RED, LIME, BLUE, WHITE = (255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 255)
UPRIGHT = {
    1: (RED, LIME, BLUE),
    2: (LIME, RED, WHITE),
    3: (WHITE, BLUE, LIME),
    4: (BLUE, WHITE, RED),
    5: (RED, BLUE, LIME),
    6: (BLUE, RED, WHITE),
    7: (WHITE, LIME, BLUE),
    8: (LIME, WHITE, RED),
}


@pytest.mark.parametrize("orientation", UPRIGHT)
def test_the_copy_is_upright_without_a_tag(orientation: int) -> None:
    copy = outgoing_copy(telltale("JPEG", orientation), "a")
    with Image.open(io.BytesIO(copy)) as image:
        width, height = image.size
        assert (width, height) == ((160, 120) if orientation < 5 else (120, 160))
        corners = ((10, 10), (width - 10, 10), (10, height - 10))
        for place, colour in zip(corners, UPRIGHT[orientation], strict=True):
            assert near(image.getpixel(place), colour), (place, image.getpixel(place), colour)


@pytest.mark.parametrize(
    ("longest", "size"), [(80, (80, 60)), (160, (160, 120)), (999, (160, 120))]
)
def test_the_longest_side_is_bounded_and_nothing_is_enlarged(
    longest: int, size: tuple[int, int]
) -> None:
    with Image.open(io.BytesIO(outgoing_copy(telltale("JPEG"), "a", longest))) as image:
        assert image.size == size


def test_the_original_is_not_altered() -> None:
    original = telltale("JPEG")
    before = sha256(original)
    outgoing_copy(original, "a")
    assert sha256(original) == before


def test_the_same_original_gives_the_same_copy() -> None:
    original = telltale("JPEG")
    assert outgoing_copy(original, "a") == outgoing_copy(original, "b")


@pytest.mark.parametrize("mode", ["L", "LA", "RGBA", "P", "1", "CMYK", "I;16", "I", "F"])
def test_every_kind_of_pixel_comes_out_as_colour(mode: str) -> None:
    ramp = Image.linear_gradient("L")
    image = ramp.point(lambda level: level * 257, "I") if mode.startswith("I") else ramp
    buffer = io.BytesIO()
    image.convert(mode).save(buffer, "TIFF" if mode in {"CMYK", "F", "I", "I;16"} else "PNG")
    with Image.open(io.BytesIO(outgoing_copy(buffer.getvalue(), "a"))) as copy:
        assert copy.mode == "RGB"
        top, bottom = copy.getpixel((128, 3)), copy.getpixel((128, 252))
        assert near(top, (0, 0, 0))
        assert near(bottom, (255, 255, 255))


def test_a_damaged_colour_profile_does_not_cost_the_picture() -> None:
    buffer = io.BytesIO()
    quarters().save(buffer, "JPEG", icc_profile=b"not a profile")
    with Image.open(io.BytesIO(outgoing_copy(buffer.getvalue(), "a"))) as copy:
        assert near(copy.getpixel((10, 10)), RED)


def test_what_cannot_be_read_cannot_leave() -> None:
    with pytest.raises(InputError):
        outgoing_copy(telltale("JPEG")[:500], "a")
    with pytest.raises(InputError, match="a copy needs a size"):
        outgoing_copy(telltale("JPEG"), "a", 0)

"""Photographs in: known by content, bounded, decoded to the end, and nothing else taken."""

import io
from typing import Any

import pillow_heif
import pytest
from PIL import ExifTags, Image, ImageDraw

from heelstamp.errors import InputError
from heelstamp.media import photographs
from heelstamp.media.photographs import kind_of, read_photograph

pillow_heif.register_heif_opener()
FORMATS = {"JPEG": "image/jpeg", "PNG": "image/png", "TIFF": "image/tiff", "HEIF": "image/heic"}


def picture(width: int = 160, height: int = 120, mode: str = "RGB") -> Image.Image:
    """A picture with something in every corner, so that no part of the file is empty."""
    image = Image.effect_noise((width, height), 60).convert(mode)
    ImageDraw.Draw(image).rectangle((0, 0, width // 4, height // 4), fill=1)
    return image


def exif(**tags: Any) -> Image.Exif:
    """Exif of a phone: time, orientation, position, as asked."""
    made = Image.Exif()
    inner: dict[int, Any] = {}
    if "taken" in tags:
        inner[ExifTags.Base.DateTimeOriginal] = tags["taken"]
    if "offset" in tags:
        inner[ExifTags.Base.OffsetTimeOriginal] = tags["offset"]
    if "changed" in tags:
        made[ExifTags.Base.DateTime] = tags["changed"]
    if "orientation" in tags:
        made[ExifTags.Base.Orientation] = tags["orientation"]
    if inner:
        made[ExifTags.IFD.Exif] = inner
    if tags.get("position"):
        made[ExifTags.IFD.GPSInfo] = {1: "N", 2: (52.0, 30.0, 0.0), 3: "E", 4: (13.0, 24.0, 0.0)}
    whole = Image.Exif()
    whole.load(made.tobytes())  # as read from a file, so that every format can write it
    return whole


def written(image: Image.Image, kind: str = "JPEG", **options: Any) -> bytes:
    buffer = io.BytesIO()
    image.save(buffer, kind, **options)
    return buffer.getvalue()


@pytest.mark.parametrize("kind", FORMATS)
def test_each_kind_is_known_by_its_content(kind: str) -> None:
    data = written(picture(), kind)
    assert kind_of(data) == kind
    facts = read_photograph(data, "wrong-name.txt")
    assert (facts.media_type, facts.width, facts.height) == (FORMATS[kind], 160, 120)
    assert facts.taken is None
    assert not facts.has_position


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.9, 0.99])
def test_a_photograph_cut_short_is_refused(kind: str, share: float) -> None:
    data = written(picture(), kind)
    with pytest.raises(InputError) as caught:
        read_photograph(data[: int(len(data) * share)], "heel.jpg")
    assert caught.value.where == "heel.jpg"
    assert caught.value.remedy


@pytest.mark.parametrize("kind", FORMATS)
@pytest.mark.parametrize("lost", [1, 2, 12])
def test_a_photograph_that_lost_only_its_last_bytes_is_refused(kind: str, lost: int) -> None:
    with pytest.raises(InputError, match=r"cut short|beginning is damaged"):
        read_photograph(written(picture(), kind)[:-lost], "heel.jpg")


def test_a_progressive_jpeg_is_held_to_the_same() -> None:
    data = written(picture(), progressive=True)
    assert read_photograph(data, "a.jpg").width == 160
    with pytest.raises(InputError, match="cut short"):
        read_photograph(data[:-2], "a.jpg")


def test_the_end_mark_of_a_thumbnail_is_not_taken_for_the_photographs() -> None:
    made = exif(taken="2026:11:02 09:14:00")
    data = written(picture(), exif=made.tobytes() + written(picture(16, 12)))
    assert read_photograph(data, "a.jpg").width == 160
    with pytest.raises(InputError, match="cut short"):
        read_photograph(data[:-2], "a.jpg")


def test_what_a_camera_puts_behind_the_picture_does_no_harm() -> None:
    assert read_photograph(written(picture()) + b"\0" * 5000, "a.jpg").width == 160


@pytest.mark.parametrize(
    ("data", "received"),
    [
        (b"%PDF-1.7 and more", "begins with the text '%PDF-1.7 and'"),
        (b"plain words", "begins with the text 'plain words'"),
        (b"\x00\x01\x02\xff" * 9, "begins with the bytes 00 01 02 ff"),
        (b"GIF89a\x01\x00\x01\x00", "begins with the bytes"),
        (b"<svg onload='x'/>", "begins with the text"),
    ],
)
def test_a_file_that_is_not_a_photograph_says_what_it_begins_with(
    data: bytes, received: str
) -> None:
    with pytest.raises(InputError, match="not a photograph") as caught:
        read_photograph(data, "front.jpg")
    assert caught.value.received.startswith(received)
    assert caught.value.remedy == "Give a JPEG, PNG, TIFF or HEIC photograph."


def test_an_empty_file() -> None:
    with pytest.raises(InputError, match=r"front\.jpg: an empty file"):
        read_photograph(b"", "front.jpg")


@pytest.mark.parametrize(
    "data", [b"\xff\xd8\xff" + b"junk" * 50, b"\x89PNG\r\n\x1a\n" + b"junk" * 50, b"II*\x00junk"]
)
def test_the_right_first_bytes_with_junk_behind_them_are_refused(data: bytes) -> None:
    with pytest.raises(InputError):
        read_photograph(data, "front.jpg")


def test_a_decompression_bomb_is_refused_before_it_is_decoded() -> None:
    header = bytearray(written(Image.new("L", (8, 8)), "PNG"))
    header[16:24] = (40_000).to_bytes(4, "big") * 2  # IHDR's width and height
    import zlib

    header[29:33] = zlib.crc32(bytes(header[12:29])).to_bytes(4, "big")
    with pytest.raises(InputError, match="more pixels than any photograph"):
        read_photograph(bytes(header), "bomb.png")


def test_bounds_hold_for_pixels_and_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    data = written(picture())
    monkeypatch.setattr(photographs, "LARGEST_PIXELS", 160 * 120 - 1)
    with pytest.raises(InputError, match=r"more pixels .*received: 160 × 120"):
        read_photograph(data, "a.jpg")
    monkeypatch.setattr(photographs, "LARGEST_BYTES", len(data) - 1)
    with pytest.raises(InputError, match="a larger file"):
        read_photograph(data, "a.jpg")


@pytest.mark.parametrize("orientation", range(1, 9))
def test_size_is_that_of_the_picture_as_displayed(orientation: int) -> None:
    facts = read_photograph(written(picture(), exif=exif(orientation=orientation)), "a.jpg")
    assert facts.orientation == orientation
    assert (facts.width, facts.height) == ((160, 120) if orientation < 5 else (120, 160))


@pytest.mark.parametrize("orientation", [0, 9, 200])
def test_an_orientation_that_does_not_exist_is_none(orientation: int) -> None:
    facts = read_photograph(written(picture(), exif=exif(orientation=orientation)), "a.jpg")
    assert (facts.orientation, facts.width) == (1, 160)


@pytest.mark.parametrize(
    ("tags", "taken"),
    [
        ({"taken": "2026:11:02 09:14:00"}, "2026-11-02T09:14:00"),
        ({"taken": "2026:11:02 09:14:00", "offset": "+01:00"}, "2026-11-02T09:14:00+01:00"),
        ({"taken": "2026:11:02 09:14:00", "offset": "   :  "}, "2026-11-02T09:14:00"),
        ({"changed": "2026:11:03 09:14:00"}, "2026-11-03T09:14:00"),
        ({"taken": "0000:00:00 00:00:00"}, None),
        ({"taken": "2026:13:02 09:14:00", "changed": "2026:11:03 09:14:00"}, "2026-11-03T09:14:00"),
        ({"taken": "yesterday"}, None),
        ({}, None),
    ],
)
@pytest.mark.parametrize("kind", ["JPEG", "TIFF", "HEIF"])
def test_the_time_is_the_cameras(kind: str, tags: Any, taken: str | None) -> None:
    made = exif(orientation=1, **tags)
    assert read_photograph(written(picture(), kind, exif=made), "a").taken == taken


def test_a_position_is_noticed_but_not_read() -> None:
    facts = read_photograph(written(picture(), exif=exif(position=True)), "a.jpg")
    assert facts.has_position
    assert not any("52" in str(value) for value in vars_of(facts))


def vars_of(facts: Any) -> list[Any]:
    return [getattr(facts, name) for name in facts.__slots__]


def test_damaged_exif_does_not_cost_the_picture() -> None:
    data = written(picture(), exif=b"Exif\0\0" + b"II*\0\xff\xff\xff\xff")
    assert read_photograph(data, "a.jpg").orientation == 1

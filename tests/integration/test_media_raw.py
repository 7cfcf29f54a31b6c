"""Camera raw: a DNG written here value by value, read back linear; refusals in words.

DNG 1.4 (Adobe 2012) for the tags; with the colour matrix of sRGB the sensor's values are linear
sRGB, so the code values follow from IEC 61966-2-1 alone.
"""

import hashlib
import importlib
import struct

import numpy as np
import pytest

from heelstamp.errors import InputError
from heelstamp.media import raw
from heelstamp.media.pixels import upright_rgb
from heelstamp.media.raw import is_raw, raw_rgb

BLACK, WHITE = 256, 4095 * 4
# CIE XYZ to linear sRGB, D65 (IEC 61966-2-1)
MATRIX = (
    3.2404542,
    -1.5371385,
    -0.4985314,
    -0.9692660,
    1.8760108,
    0.0415560,
    0.0556434,
    -0.2040259,
    1.0572252,
)


def dng(light, *, orientation=1):
    """Write linear light (h, w, 3) as a DNG with an RGGB filter array, 16 bits, not compressed."""
    h, w = light.shape[:2]
    mosaic = light[..., 1].copy()
    mosaic[0::2, 0::2], mosaic[1::2, 1::2] = light[0::2, 0::2, 0], light[1::2, 1::2, 2]
    values = np.round(BLACK + mosaic * (WHITE - BLACK)).astype("<u2").tobytes()
    rational = b"".join(struct.pack("<ii", round(v * 1e6), 1_000_000) for v in MATRIX)
    tags = [
        (254, 4, [0]),
        (256, 4, [w]),
        (257, 4, [h]),
        (258, 3, [16]),
        (259, 3, [1]),
        (262, 3, [32803]),
        (271, 2, b"Bench\0"),
        (272, 2, b"Drawn\0"),
        (273, 4, [None]),
        (274, 3, [orientation]),
        (277, 3, [1]),
        (278, 4, [h]),
        (279, 4, [len(values)]),
        (284, 3, [1]),
        (33421, 3, [2, 2]),
        (33422, 1, bytes([0, 1, 1, 2])),
        (50706, 1, bytes([1, 4, 0, 0])),
        (50707, 1, bytes([1, 1, 0, 0])),
        (50708, 2, b"Bench Drawn\0"),
        (50714, 3, [BLACK]),
        (50717, 4, [WHITE]),
        (50721, 10, rational),
        (50728, 5, struct.pack("<6I", 1, 1, 1, 1, 1, 1)),
        (50778, 3, [21]),
    ]
    size = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 10: 8}
    extra_at = 8 + 2 + 12 * len(tags) + 4
    extra, rows = b"", []
    for tag, kind, value in tags:
        if isinstance(value, bytes):
            packed, count = value, len(value) // size[kind]
        else:
            form = {3: "H", 4: "I"}[kind]
            packed = struct.pack(f"<{len(value)}{form}", *[v or 0 for v in value])
            count = len(value)
        rows.append([tag, kind, count, packed])
    for row in rows:
        if len(row[3]) > 4:
            place = struct.pack("<I", extra_at + len(extra))
            extra += row[3] + b"\0" * (len(row[3]) % 2)
            row[3] = place
    for row in rows:
        if row[0] == 273:
            row[3] = struct.pack("<I", extra_at + len(extra))
    body = b"".join(struct.pack("<HHI", *row[:3]) + row[3].ljust(4, b"\0") for row in rows)
    head = b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", len(tags))
    return head + body + struct.pack("<I", 0) + extra + values


def patches():
    light = np.full((480, 640, 3), 0.18)
    light[60:220, 60:260] = (0.50, 0.20, 0.05)
    light[260:420, 60:260] = (0.02, 0.04, 0.08)
    light[60:220, 360:560] = (0.72, 0.72, 0.72)
    return light


def coded(linear):
    v = np.asarray(linear, float)
    return np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)


@pytest.mark.parametrize(("bits", "top"), [(8, 255), (16, 65535)])
def test_patches_come_back_as_linear_light_under_the_srgb_curve(bits, top):
    light = patches()
    data = dng(light)
    before = hashlib.sha256(data).hexdigest()
    found = raw_rgb(data, "drawn.dng", bits=bits)
    assert found.dtype == (np.uint8 if bits == 8 else np.uint16)
    assert found.shape == (480, 640, 3)
    for y, x in ((140, 160), (340, 160), (140, 460), (20, 20)):
        seen = found[y - 10 : y + 10, x - 10 : x + 10].mean(axis=(0, 1)) / top
        assert seen == pytest.approx(coded(light[y, x]), abs=0.008)
    assert hashlib.sha256(data).hexdigest() == before


def test_it_is_read_wherever_photographs_are_computed_on_and_turned_upright():
    assert upright_rgb(dng(patches(), orientation=6), "drawn.dng").shape == (640, 480, 3)


def test_raw_is_told_by_its_content():
    data = dng(patches())
    assert is_raw(data)
    assert is_raw(b"FUJIFILMCCD-RAW 0201")
    assert is_raw(b"\0\0\0\x18ftypcrx \0\0\0\1")
    assert not is_raw(b"\xff\xd8\xff\xe0" + bytes(40))
    assert not is_raw(b"II*\0" + struct.pack("<I", 8) + b"\0\0" + bytes(4))
    assert not is_raw(b"MM\0*")
    # a directory that names itself as the next one ends
    assert not is_raw(b"II*\0" + struct.pack("<IHI", 8, 0, 8))


def test_without_the_reader_the_refusal_says_what_to_do(monkeypatch):
    def missing(name):
        raise ImportError(name)

    monkeypatch.setattr(raw, "import_module", missing)
    with pytest.raises(InputError, match="reader for these is not installed") as told:
        upright_rgb(dng(patches()), "drawn.dng")
    assert "heelstamp[raw]" in str(told.value.remedy)
    assert importlib.import_module("rawpy")


def test_a_damaged_one_and_one_too_large_are_refused():
    data = dng(patches())
    with pytest.raises(InputError, match="damaged"):
        raw_rgb(data[: len(data) // 4], "short.dng")
    with pytest.raises(InputError, match="damaged"):
        raw_rgb(b"FUJIFILMCCD-RAW 0201" + bytes(5000), "junk.raf")
    with pytest.raises(InputError, match="more pixels"):
        raw_rgb(data, "drawn.dng", most_pixels=100_000)

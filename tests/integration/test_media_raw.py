"""Camera raw: a DNG written here value by value, read back linear; refusals in words.

DNG 1.4 (Adobe 2012) for the tags; with the colour matrix of sRGB the sensor's values are linear
sRGB, so the code values follow from IEC 61966-2-1 alone.
"""

import hashlib
import importlib
import struct

import numpy as np
import pytest

from fakes.raw_files import dng
from heelstamp.errors import InputError
from heelstamp.media import raw
from heelstamp.media.pixels import upright_rgb
from heelstamp.media.raw import is_raw, raw_rgb


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

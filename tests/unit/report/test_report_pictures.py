import io

import pytest
from PIL import Image

from fakes.demo_dossier import picture
from heelstamp.errors import InputError
from heelstamp.report import pictures
from heelstamp.report.pictures import PICTURE_PX, print_picture


def encoded(image: Image.Image, form: str = "PNG", **more: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **more)
    return out.getvalue()


def test_place_and_camera_are_gone() -> None:
    source = picture("f01")
    assert b"Camera of a person" in source
    made = print_picture(source, where="f01")
    with Image.open(io.BytesIO(made)) as opened:
        assert not opened.getexif()
        assert "icc_profile" not in opened.info
    assert b"Exif" not in made
    assert b"Camera of a person" not in made


def test_a_picture_is_turned_upright_and_reduced() -> None:
    image = Image.new("RGB", (4000, 3000), (200, 10, 10))
    exif = Image.Exif()
    exif[0x0112] = 6  # turned a quarter
    made = print_picture(encoded(image, "JPEG", exif=exif), where="f")
    with Image.open(io.BytesIO(made)) as opened:
        assert opened.height == PICTURE_PX
        assert opened.width == PICTURE_PX * 3 // 4


def test_a_small_picture_is_not_enlarged() -> None:
    made = print_picture(encoded(Image.new("RGBA", (40, 30))), where="f")
    with Image.open(io.BytesIO(made)) as opened:
        assert (opened.width, opened.height, opened.mode) == (40, 30, "RGB")


def test_a_phones_own_format_is_read() -> None:
    pillow_heif = pytest.importorskip("pillow_heif")
    pillow_heif.register_heif_opener()
    source = encoded(Image.new("RGB", (64, 48), (10, 90, 10)), "HEIF")
    assert print_picture(source, where="f")[:2] == b"\xff\xd8"


@pytest.mark.parametrize("content", [b"", b"no picture", picture("f01")[:400]])
def test_what_is_no_picture_is_refused_with_its_frame(content: bytes) -> None:
    with pytest.raises(InputError, match="frame f07"):
        print_picture(content, where="frame f07")


def test_too_many_pixels_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pictures, "PIXELS_MAX", 100)
    with pytest.raises(InputError, match="too large"):
        print_picture(encoded(Image.new("RGB", (20, 20))), where="f")


def test_equal_bytes_in_equal_bytes_out() -> None:
    assert print_picture(picture("f02"), where="f") == print_picture(picture("f02"), where="f")

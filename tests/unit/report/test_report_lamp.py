"""What is drawn over a pair, and the squares it is looked at by."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import numpy as np
import pytest
from PIL import Image

from heelstamp.casework.finish.borders import Drawn, Said
from heelstamp.casework.papers.document_rows import RegionRow
from heelstamp.casework.uv_lamp.regions import RegionLine
from heelstamp.report.lamp_overlay import overlay_svg, sample_svg
from heelstamp.report.lamp_views import PIECE, box_of, cut, gain_of, laid, levels

SVG = "{http://www.w3.org/2000/svg}"
SQUARE = ((100.0, 100.0), (200.0, 100.0), (200.0, 200.0), (100.0, 200.0))


def line(number: int, kind: str, *, visible: bool, said: Said | None = None) -> RegionLine:
    row = RegionRow(
        number=number,
        kind=kind,
        how="Darker",
        area="1.00 ± 0.02 cm²",
        ratio="0.50",
        seen="visible",
        causes="touch-up 1.00",
        deciding="the border",
        confidence="98 %",
    )
    return RegionLine(row, SQUARE, (150.0, 150.0), visible, said or Said())


def test_a_region_is_told_apart_without_colour() -> None:
    kinds = ("darker", "brighter", "other hue", "gradual")
    lines = [line(k, kind, visible=k % 2 == 0) for k, kind in enumerate(kinds, start=1)]
    root = ET.fromstring(overlay_svg((1000, 800), lines, words="4 <regions>"))
    assert root.get("aria-label") == "4 <regions>"
    fills = [one.get("fill") for one in root.iter(f"{SVG}polygon") if one.get("fill")]
    assert fills == [
        "url(#hatch-darker)",
        "url(#hatch-brighter)",
        "url(#hatch-other-hue)",
        "url(#hatch-gradual)",
    ]
    patterns = [
        "".join(path.get("d", "") for path in one.iter(f"{SVG}path"))
        for one in root.iter(f"{SVG}pattern")
    ]
    assert len(set(patterns)) == 4
    dashed = [
        "unseen-by-eye" in one.get("class", "")
        for one in root.iter(f"{SVG}polygon")
        if "line" in one.get("class", "")
    ]
    assert dashed == [True, False, True, False]
    numbers = [one.text for one in root.iter(f"{SVG}text")]
    assert numbers == ["1", "2", "3", "4"]
    assert len({sample_svg(kind) for kind in kinds}) == 4
    assert "style=" not in overlay_svg((1000, 800), lines, words="")  # the page's policy forbids it


def test_what_a_person_said_is_drawn_and_the_programs_border_stays() -> None:
    border = Drawn(((0.0, 0.0), (50.0, 0.0), (50.0, 50.0)), "examiner A", "scratch", 1.0, 0.1)
    lines = [
        line(1, "darker", visible=True, said=Said(aside=True, by="examiner A", reason="dust")),
        line(2, "darker", visible=True, said=Said(border=border)),
    ]
    root = ET.fromstring(overlay_svg((1000, 800), lines, words=""))
    groups = [one for one in root.iter(f"{SVG}g") if "region" in one.get("class", "").split()]
    assert [one.get("class") for one in groups] == ["region aside", "region"]
    assert [one.get("fill") for one in groups[0].iter(f"{SVG}polygon")] == [None, None]
    drawn = [one.get("points") for one in groups[1].iter(f"{SVG}polygon")]
    assert drawn.count("0,0 50,0 50,50") == 3  # pattern, white edge and line
    assert drawn.count("100,100 200,100 200,200 100,200") == 2


def picture(width: int, height: int) -> Image.Image:
    ys, xs = np.indices((height, width))
    rgb = np.stack([xs * 255 / width, ys * 255 / height, (xs + ys) % 256], axis=2)
    return Image.fromarray(rgb.astype(np.uint8))


def test_squares_cover_the_picture_once() -> None:
    size = (1300, 900)
    covered = np.zeros(size[::-1], int)
    for level in (0, 1):
        covered[:] = 0
        for row in range(4):
            for column in range(4):
                box = box_of(size, level, column, row)
                if box is not None:
                    left, top, right, bottom = (int(edge) for edge in box)
                    covered[top:bottom, left:right] += 1
        assert (covered == 1).all()
    assert box_of(size, 0, 3, 0) is None
    assert box_of(size, 0, -1, 0) is None
    assert (levels(size, PIECE), levels((512, 100), PIECE)) == (2, 0)
    image = picture(*size)
    piece = cut(image, (512, 0, 1024, 512), 1)
    assert piece.size == (256, 256)
    whole = np.asarray(image, dtype=float)[:512, 512:1024]
    assert np.asarray(piece)[..., 0].mean() == pytest.approx(whole[..., 0].mean(), abs=1.0)


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_a_laid_square_is_where_the_transform_says(scale: float) -> None:
    """A frame moved by whole pixels, or twice as large, comes back to its place."""
    image = picture(1200, 900)
    moved = np.array([[1 / scale, 0, 30.0], [0, 1 / scale, -20.0], [0, 0, 1]])
    uv = image.resize((round(1200 * scale), round(900 * scale)), Image.Resampling.BICUBIC)
    box = (400.0, 300.0, 656.0, 556.0)
    piece = np.asarray(laid(uv, moved, box, (256, 256)), dtype=float)
    # visible pixel x holds what UV shows at (x − 30) · scale
    true = np.asarray(image, dtype=float)[320:576, 370:626]
    assert np.abs(piece - true)[..., :2].mean() < 1.5
    half = np.asarray(laid(uv, moved, box, (128, 128)), dtype=float)
    assert half[..., 0].mean() == pytest.approx(true[..., 0].mean(), abs=1.0)


def test_a_dark_picture_is_shown_brighter_within_bounds() -> None:
    assert gain_of(Image.new("RGB", (600, 400), (10, 10, 10))) == 4.0
    assert gain_of(Image.new("RGB", (600, 400), (250, 250, 250))) == 1.0
    assert gain_of(Image.new("RGB", (600, 400), (100, 100, 100))) == pytest.approx(2.25)

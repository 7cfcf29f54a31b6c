"""Pictures of a pair: in the visible frame, patterns told apart without colour, always the same."""

import io
import itertools

import numpy as np
import pytest
from PIL import Image

from heelstamp.casework.finish import Face, FinishFinding
from heelstamp.luminescence import Assessment, Kind, Masks, Region
from heelstamp.report.finish_drawing import bar_length, dashes, strokes
from heelstamp.report.finish_pictures import map_png, picture_jpg, preview_jpg

HEIGHT, WIDTH = 150, 200
SQUARE = np.array([(120.0, 40.0), (150.0, 40.0), (150.0, 80.0), (120.0, 80.0)])


def face(transform: np.ndarray | None = None, **changes: object) -> Face:
    labels = np.zeros((HEIGHT, WIDTH), np.uint16)
    labels[40:80, 120:150] = 1
    region = Region(
        1,
        SQUARE,
        (135.0, 60.0),
        1200.0,
        75.0,
        3.0,
        Kind.DARKER,
        0.5,
        0.0,
        0.9,
        1.0,
        0.1,
        0.5,
        0.0,
        bool(changes.get("visible", False)),
        0.95,
        {"touch-up": 1.0},
    )
    none = bool(changes.get("even", False))
    outline = np.array([(10.0, 10.0), (190.0, 10.0), (190.0, 140.0), (10.0, 140.0)])
    made = Assessment(
        "assessed",
        (),
        transform=np.eye(3) if transform is None else transform,
        px_per_mm=4.0,
        masks=Masks(outline),
        regions=() if none else (region,),
        labels=np.zeros_like(labels) if none else labels,
        frame=(HEIGHT, WIDTH),
    )
    visible = np.full((HEIGHT, WIDTH, 3), 90, np.uint8)
    uv = np.zeros((HEIGHT, WIDTH, 3), np.uint8)
    uv[60:100, 40:80] = 200
    return Face(FinishFinding("a.jpg", "b.jpg", made, "cd" * 32), visible, uv)


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


def test_the_map_has_a_number_in_every_pixel_of_the_visible_frame() -> None:
    labels = np.asarray(opened(map_png(face())))
    assert labels.shape == (HEIGHT, WIDTH)
    assert np.count_nonzero(labels == 1) == 40 * 30
    assert set(np.unique(labels)) == {0, 1}


def test_the_same_finding_gives_the_same_bytes() -> None:
    assert picture_jpg(face()) == picture_jpg(face())
    assert picture_jpg(face()) != picture_jpg(face(visible=True))
    assert picture_jpg(face()) != picture_jpg(face(even=True))


def test_the_uv_photograph_is_laid_over_the_visible_one() -> None:
    moved = np.array([(1.0, 0.0, 50.0), (0.0, 1.0, 20.0), (0.0, 0.0, 1.0)])
    picture = np.asarray(opened(picture_jpg(face(moved)))).astype(int)
    top, panel = 34 + 16, (1920 - 32) // 3
    uv = picture[top : top + round(panel * HEIGHT / WIDTH), 32 + panel : 32 + 2 * panel]
    ys, xs = np.nonzero(uv.sum(axis=2) > 300)
    factor = WIDTH / panel
    assert (xs.min() * factor, xs.max() * factor) == pytest.approx((90, 130), abs=1.5)
    assert (ys.min() * factor, ys.max() * factor) == pytest.approx((80, 120), abs=1.5)


def test_patterns_differ_in_black_and_white() -> None:
    inked = {kind: strokes((140, 140), kind)[0] for kind in Kind}
    for one, other in itertools.combinations(Kind, 2):
        assert np.mean(inked[one] != inked[other]) > 0.1, (one, other)
    for kind, black in inked.items():
        assert 0.05 < black.mean() < 0.4, kind


def test_dashes_leave_gaps_of_the_stated_length() -> None:
    ring = [(0.0, 0.0), (100.0, 0.0), (100.0, 50.0)]
    pieces = dashes(ring)
    drawn = sum(
        float(np.hypot(b[0] - a[0], b[1] - a[1]))
        for piece in pieces
        for a, b in itertools.pairwise(piece)
    )
    assert drawn == pytest.approx(150 * 12 / 21, abs=12)
    assert pieces[0] == [(0.0, 0.0), (12.0, 0.0)]
    assert pieces[1][0] == pytest.approx((21.0, 0.0))


@pytest.mark.parametrize(
    ("px_per_mm", "millimetres"), [(3.84, 50), (19.2, 10), (9.6, 20), (0.96, 200), (345.0, 1)]
)
def test_a_scale_bar_has_a_round_length(px_per_mm: float, millimetres: int) -> None:
    assert bar_length(px_per_mm, 1920) == millimetres


def test_a_preview_is_a_small_photograph() -> None:
    assert opened(preview_jpg(np.zeros((30, 40, 3), np.uint8))).size == (40, 30)

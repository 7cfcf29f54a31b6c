"""How a subject lies in its picture: drawn ones, of which everything is known."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image, ImageDraw

from heelstamp.media.framing import framing_of

SIZE = (800, 600)


def drawn(box: tuple[int, int, int, int], *, fall: float = 0.0, noise: float = 0.0) -> Image.Image:
    """A dark block on a grey ground whose light falls off by *fall* code values to the right."""
    picture = Image.new("RGB", SIZE, (170, 168, 160))
    ImageDraw.Draw(picture).rectangle(box, fill=(70, 40, 20))
    pixels = np.asarray(picture, dtype=float)
    pixels = pixels - fall * np.linspace(0, 1, SIZE[0])[None, :, None]
    pixels = pixels + np.random.default_rng(5).normal(0, noise, pixels.shape)
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))


@pytest.mark.parametrize(("fall", "noise"), [(0.0, 0.0), (60.0, 0.0), (60.0, 6.0)])
def test_a_block_is_found_where_it_was_drawn(fall: float, noise: float) -> None:
    found = framing_of(drawn((160, 150, 639, 449), fall=fall, noise=noise))
    assert found.plain
    assert found.wide == pytest.approx(0.6, abs=0.03)
    assert found.high == pytest.approx(0.5, abs=0.03)
    assert found.area == pytest.approx(0.3, abs=0.02)
    assert found.crosses == ()


@pytest.mark.parametrize(
    ("box", "edges"),
    [
        ((0, 200, 500, 400), ("left",)),
        ((300, 200, 799, 400), ("right",)),
        ((300, 0, 400, 599), ("top", "bottom")),
    ],
)
def test_what_runs_out_of_the_picture_is_told_by_its_edges(
    box: tuple[int, int, int, int], edges: tuple[str, ...]
) -> None:
    assert framing_of(drawn(box)).crosses == edges


def test_specks_beside_it_do_not_count() -> None:
    picture = drawn((300, 200, 500, 400))
    for x, y in ((20, 20), (760, 560), (40, 500)):
        ImageDraw.Draw(picture).ellipse((x, y, x + 12, y + 12), fill=(10, 10, 10))
    found = framing_of(picture)
    assert found.wide == pytest.approx(0.25, abs=0.03)
    assert found.crosses == ()


def test_an_empty_ground_has_no_subject_and_a_busy_one_says_nothing() -> None:
    assert framing_of(Image.new("RGB", SIZE, (90, 90, 90))).area == 0.0
    busy = np.random.default_rng(7).integers(0, 255, (75, 100, 3)).astype(np.uint8)
    patches = Image.fromarray(busy).resize(SIZE, Image.Resampling.NEAREST)
    assert not framing_of(patches).plain
    assert not framing_of(Image.new("RGB", (20, 20))).plain

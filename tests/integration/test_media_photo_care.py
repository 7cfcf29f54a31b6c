"""Photographs measured: known edges, known light, known casts; and one line when one is added."""

import io
import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageFilter

from fakes.commands import Run
from heelstamp.casework.photo_care import GreyRow
from heelstamp.errors import InputError
from heelstamp.media.photo_care import balanced, edge_width, measure_photograph


def written(pixels: Any, kind: str = "PNG", **options: Any) -> bytes:
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, kind, **options)
    return out.getvalue()


def stripes(blur: float, noise: float = 0.0) -> Any:
    """Upright and level edges, 80 pixels apart, smeared by a Gaussian of *blur* pixels."""
    x = np.arange(640)
    edge = np.vectorize(math.erf)
    at = np.arange(40, 640, 80)
    signs = np.where(np.arange(len(at)) % 2 == 0, 1.0, -1.0)
    wave = sum(
        sign * (0.5 + 0.5 * edge((x - place + 0.5) / (max(blur, 1e-3) * math.sqrt(2))))
        for sign, place in zip(signs, at, strict=True)
    )
    picture = 60 + 60 * wave[None, :] + 60 * wave[:, None]
    picture = picture + np.random.default_rng(3).normal(0, noise, picture.shape)
    return np.repeat(np.clip(picture, 0, 255).astype(np.uint8)[:, :, None], 3, axis=2)


@pytest.mark.parametrize("blur", [1.0, 1.5, 2.0])
@pytest.mark.parametrize("noise", [0.0, 1.5])
def test_edge_width_is_that_of_the_error_function(blur: float, noise: float) -> None:
    # greatest slope by central difference: (Φ(1/s) - Φ(-1/s)) / 2 of the contrast, at the edge
    # half a pixel off the grid slightly less; the sharpest fifth lies within a tenth
    expected = 2.0 / math.erf(1.0 / (blur * math.sqrt(2)))
    assert edge_width(stripes(blur, noise)) == pytest.approx(expected, rel=0.10)


def test_a_step_is_two_pixels_and_blur_only_widens() -> None:
    widths = [edge_width(stripes(blur)) for blur in (0.0, 1.0, 2.0, 3.0)]
    assert widths[0] == pytest.approx(2.0, abs=0.05)
    assert widths == sorted(widths)


def test_a_frame_soft_in_one_direction_is_soft() -> None:
    sharp = stripes(0.7)
    moved = np.mean([np.roll(sharp, k, axis=1) for k in range(8)], axis=0).astype(np.uint8)
    assert edge_width(moved) > 2.5 * edge_width(sharp)
    turned = np.ascontiguousarray(np.transpose(moved, (1, 0, 2)))
    assert edge_width(turned) == pytest.approx(edge_width(moved), rel=0.02)


def test_a_blank_wall_is_neither_sharp_nor_soft() -> None:
    noisy = np.random.default_rng(1).normal(120, 2, (400, 400, 3)).astype(np.uint8)
    assert edge_width(noisy) is None
    assert edge_width(np.zeros((2, 2, 3), np.uint8)) is None


def test_light_is_measured_linear_and_clipping_at_full_size() -> None:
    pixels = np.full((100, 200, 3), 188, np.uint8)  # code 188 is 0.5029 of the light
    pixels[:, :10, 0] = 255
    pixels[:, 190:] = 0
    found = measure_photograph(written(pixels), "p.png")
    assert found.middle == pytest.approx(0.5029, abs=0.001)
    assert found.clipped_high == pytest.approx(0.05)
    assert found.clipped_low == pytest.approx(0.05)
    assert (found.width, found.height) == (200, 100)


def target(red: float, blue: float) -> Any:
    """A row of six grey patches under light of that cast, in sRGB."""
    light = np.zeros((60, 320, 3))
    for k, grey in enumerate((0.9, 0.59, 0.36, 0.19, 0.09, 0.03)):
        light[10:50, 10 + 50 * k : 60 + 50 * k] = np.array([red, 1.0, blue]) * grey * 0.9
    code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(np.clip(code, 0, 1) * 255).astype(np.uint8)


def test_a_grey_row_gives_the_cast_and_takes_it_away() -> None:
    row = (10, 10, 310, 50, 6)
    pixels = target(0.8, 1.1)
    found = measure_photograph(written(pixels), "t.png", grey_row=row).grey_row
    assert found is not None
    assert (found.patches, found.used) == (6, 6)
    assert found.red == pytest.approx(1 / 0.8, rel=0.01)
    assert found.blue == pytest.approx(1 / 1.1, rel=0.01)
    assert found.left_over < 0.04
    before = pixels.copy()
    neutral = balanced(pixels, found).astype(int)
    assert np.abs(neutral[30, 15:300:50] - neutral[30, 15:300:50, 1:2]).max() <= 2
    assert (pixels == before).all()


def test_clipped_patches_are_left_out_and_two_lights_disagree() -> None:
    pixels = target(1.0, 1.0)
    pixels[10:50, 10:60] = 255
    found = measure_photograph(written(pixels), "t.png", grey_row=(10, 10, 310, 50, 6)).grey_row
    assert found is not None
    assert found.used == 5
    pixels[:, :160, 0] = pixels[:, :160, 0] // 2
    found = measure_photograph(written(pixels), "t.png", grey_row=(10, 10, 310, 50, 6)).grey_row
    assert found is not None
    assert found.left_over > 0.3
    white = np.full((60, 320, 3), 255, np.uint8)
    burnt = measure_photograph(written(white), "t.png", grey_row=(10, 10, 310, 50, 6)).grey_row
    assert burnt == GreyRow(6, 0, None, None, None)
    with pytest.raises(InputError, match="no patch"):
        balanced(white, burnt)


@pytest.mark.parametrize(
    "row", [(0, 0, 400, 50, 6), (10, 10, 40, 50, 6), (50, 10, 10, 50, 2), (10, 10, 310, 50, 0.5)]
)
def test_a_row_that_is_none_is_refused(row: tuple[float, ...]) -> None:
    with pytest.raises(InputError, match="no row of grey patches"):
        measure_photograph(written(target(1, 1)), "t.png", grey_row=row)


def test_adding_a_photograph_prints_one_line_of_care_and_refuses_none(
    run: Run, typed_shop: Path, tmp_path: Path
) -> None:
    soft = tmp_path / "soft.png"
    Image.fromarray(stripes(0.7)).filter(ImageFilter.GaussianBlur(4)).save(soft)
    code, text, err = run(
        "add",
        "H-0001",
        "photograph",
        "id=F1",
        "slot=pot-tone-code",
        "--file",
        soft,
        "--shop",
        typed_shop,
    )
    assert (code, err) == (0, "")
    told = " ".join(text.split())
    assert "care: soft or shaken" in told
    kept = json.loads(run("show", "H-0001", "--shop", typed_shop, "--json")[1])["photograph"][0]
    assert kept["part"] == "pot_tone"
    assert "too coarse for tone pot, code: about 16.0 px/mm where 40 are wanted" in told
    code, text, _ = run(
        "add",
        "H-0001",
        "photograph",
        "id=F2",
        "--file",
        soft,
        "--shop",
        typed_shop,
        "--grey-row",
        "40,40,600,600,7",
        "--json",
    )
    assert code == 0
    assert json.loads(text)[0]["care"]["grey_row"]["patches"] == 7
    code, _, err = run(
        "add",
        "H-0001",
        "statement",
        "role=owner",
        "about=a",
        "text=b",
        "signed=true",
        "--shop",
        typed_shop,
        "--grey-row",
        "1,1,90,90,1",
    )
    assert code == 2
    assert "only a photograph" in err


def test_gaps_of_the_photo_plan_are_told_before_a_cover_goes_back(
    run: Run, typed_shop: Path
) -> None:
    code, text, _ = run("show", "H-0001", "--shop", typed_shop, "--photos", "--json")
    assert code == 0
    assert {"now", "later"} == {one["when"] for one in json.loads(text)}
    code, text, _ = run("show", "H-0001", "--shop", typed_shop, "--before", "lift guard")
    assert code == 1
    assert "to take first before: lift guard" in text
    assert "guard-screws" in text
    code, text, _ = run("show", "H-0001", "--shop", typed_shop, "--before", "refit guard")
    assert (code, text.strip()) == (0, "Nothing is missing before: refit guard.")


def test_the_lamp_log_ends_with_its_caution(run: Run, typed_shop: Path) -> None:
    code, _, err = run("show", "H-0001", "--shop", typed_shop, "--lamp")
    assert code == 2
    assert "no irradiance" in err
    run(
        "add",
        "H-0001",
        "measurement",
        "quantity=UV-A irradiance",
        "part=finish",
        "value=30",
        "unit=W/m²",
        "stage=found",
        "--shop",
        typed_shop,
    )
    run(
        "add",
        "H-0001",
        "treatment",
        "act=UV-A lamp",
        "part=finish",
        "minutes=6",
        "reason=pairs",
        "reversible=true",
        "--shop",
        typed_shop,
    )
    code, text, _ = run("show", "H-0001", "--shop", typed_shop, "--lamp")
    assert code == 1
    assert "108 % of the limit" in " ".join(text.split())
    assert "goggles" in text

"""Pictures of an assessed pair: side by side, wiped, and overlaid with numbers and a legend.

Regions are told apart by number and hatching, never by colour alone; a region the eye cannot see
has a dashed outline. The UV photograph is laid over the visible one by the transform found, and
shown brighter by a stated factor. Everything follows from the finding: the same one gives the same
bytes with one version of the picture library. Pictures are for looking at; areas come from the map.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from heelstamp.casework.finish import Face
from heelstamp.luminescence import Kind, Region
from heelstamp.report.finish_drawing import (
    BLACK,
    GREY,
    MARGIN,
    WHITE,
    draw_doubt,
    draw_region,
    draw_scale_bar,
    hatched,
    swatch,
)
from heelstamp.report.pictures import Box

WIDE = 1920
"""Width of the overlay in pixels."""
SMALL = (WIDE - 2 * MARGIN) // 3
QUALITY = 90
LINE = 34
TEXT_PX = 24
BRIGHT = 225.0
MOST_GAIN = 4.0
PREVIEW_QUALITY = 80
PAPER_HALF, PAPER_OVERLAY, PAPER_QUALITY = 900, 1280, 85
"""Widths in pixels of one half of a pair, 80 mm on paper, and of the overlay, 122 mm."""

Pixels = NDArray[np.uint8]


def map_png(face: Face) -> bytes:
    """The map of region numbers in the visible frame as a grey PNG; nought is no region."""
    labels = face.finding.assessment.label_map()
    deep = int(labels.max(initial=0)) > 255
    return _written(Image.fromarray(labels if deep else labels.astype(np.uint8)), "PNG")


def preview_jpg(preview: Pixels) -> bytes:
    """The engine's rough preview as a JPEG."""
    return _written(Image.fromarray(preview), "JPEG", quality=PREVIEW_QUALITY)


def picture_jpg(face: Face) -> bytes:
    """One picture of an assessed pair.

    Above: ordinary light, UV-A laid over it, and both with a wipe between them. Below: the visible
    photograph with outlines, patterns, numbers and a scale bar. Then the legend.
    """
    visible, uv, gain = _registered(face)
    overlay = _overlay(face, visible)
    lines = _legend(face, gain)
    small = [_reduced(one, SMALL) for one in (visible, uv, _wiped(visible, uv))]
    top = LINE + MARGIN
    height = top + small[0].height + MARGIN + overlay.height + MARGIN + LINE * (len(lines) + 4)
    sheet = Image.new("RGB", (WIDE + 2 * MARGIN, height), WHITE)
    pen = ImageDraw.Draw(sheet)
    for k, (title, one) in enumerate(
        zip(
            ("ordinary light", f"UV-A, shown × {gain:.1f}", "left | right: wipe"),
            small,
            strict=True,
        )
    ):
        x = MARGIN + k * (SMALL + MARGIN)
        pen.text((x, MARGIN // 2), title, BLACK, font())
        sheet.paste(one, (x, top))
    y = top + small[0].height + MARGIN
    sheet.paste(overlay, (MARGIN, y))
    _write_legend(sheet, y + overlay.height + MARGIN, lines)
    return _written(sheet, "JPEG", quality=QUALITY, subsampling=0)


def pair_jpg(face: Face) -> bytes:
    """Ordinary light and UV-A side by side for a paper; what is which is told beside it."""
    visible, uv, _ = _registered(face, PAPER_HALF)
    sheet = Image.new("RGB", (2 * PAPER_HALF + MARGIN, visible.height), WHITE)
    sheet.paste(visible, (0, 0))
    sheet.paste(uv, (PAPER_HALF + MARGIN, 0))
    return _written(sheet, "JPEG", quality=PAPER_QUALITY)


def overlay_jpg(face: Face) -> bytes:
    """The visible photograph with regions, numbers and a scale bar, for a paper."""
    visible = _reduced(Image.fromarray(face.visible), PAPER_OVERLAY)
    return _written(_overlay(face, visible), "JPEG", quality=PAPER_QUALITY)


def halves(boxes: Sequence[Box]) -> list[Box]:
    """Where boxes of the visible photograph lie in both halves of a pair."""
    whole = 2 * PAPER_HALF + MARGIN
    shrink, step = PAPER_HALF / whole, (PAPER_HALF + MARGIN) / whole
    return [
        (begin + x * shrink, y, width * shrink, height)
        for begin in (0.0, step)
        for x, y, width, height in boxes
    ]


@cache
def font(size: int = TEXT_PX) -> ImageFont.FreeTypeFont:
    """The program's own text face."""
    face = resources.files("heelstamp.report") / "fonts" / "SourceSans3-Regular.otf"
    return ImageFont.truetype(io.BytesIO(face.read_bytes()), size)


def _registered(face: Face, width: int = WIDE) -> tuple[Image.Image, Image.Image, float]:
    """The visible photograph and the UV one laid over it, *width* across, and the gain."""
    visible = _reduced(Image.fromarray(face.visible), width)
    factor = visible.width / face.visible.shape[1]
    transform = face.finding.assessment.transform
    assert transform is not None
    small = _reduced(Image.fromarray(face.uv), width)
    shrink = small.width / face.uv.shape[1]
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    corner = half @ np.asarray(transform, dtype=float) @ np.linalg.inv(half)
    back = np.diag([shrink, shrink, 1]) @ np.linalg.inv(corner) @ np.diag([1 / factor] * 2 + [1])
    back /= back[2, 2]
    laid = small.transform(
        visible.size,
        Image.Transform.PERSPECTIVE,
        tuple(back.ravel()[:8].tolist()),
        Image.Resampling.BILINEAR,
    )
    high = float(np.percentile(np.asarray(laid), 99))
    gain = float(np.clip(BRIGHT / max(high, 1.0), 1.0, MOST_GAIN))
    return visible, laid.point(lambda level: level * gain), gain


def _reduced(image: Image.Image, width: int) -> Image.Image:
    """Bring a picture to a width; a narrower one is enlarged, so that layouts hold."""
    height = max(1, round(image.height * width / image.width))
    return image.resize((width, height), Image.Resampling.LANCZOS, reducing_gap=3.0)


def _wiped(visible: Image.Image, uv: Image.Image) -> Image.Image:
    """Ordinary light on the left and UV-A on the right of a line down the middle."""
    wiped = uv.copy()
    middle = visible.width // 2
    wiped.paste(visible.crop((0, 0, middle, visible.height)), (0, 0))
    pen = ImageDraw.Draw(wiped)
    pen.line((middle, 0, middle, visible.height), WHITE, 6)
    pen.line((middle, 0, middle, visible.height), BLACK, 2)
    return wiped


def _overlay(face: Face, visible: Image.Image) -> Image.Image:
    one = face.finding.assessment
    factor = visible.width / one.frame[1]
    labels = Image.fromarray(one.labels.astype(np.int32)).resize(
        visible.size, Image.Resampling.NEAREST
    )
    numbers = np.asarray(labels)
    pixels = np.array(visible)
    for region in one.regions:
        hatched(pixels, numbers == region.number, region.kind)
    picture = Image.fromarray(pixels)
    pen = ImageDraw.Draw(picture)
    if one.masks is not None:
        outline = [(x * factor, y * factor) for x, y in one.masks.outline.tolist()]
        pen.line([*outline, outline[0]], GREY, 2)
    for k, doubt in enumerate(one.doubts, start=1):
        draw_doubt(pen, picture.size, doubt, factor, label=f"?{k}", face=font(28))
    for region in one.regions:
        draw_region(pen, picture.size, region, factor, font(28))
    if one.px_per_mm is not None:
        draw_scale_bar(pen, picture.size, one.px_per_mm * factor, font())
    return picture


def _legend(face: Face, gain: float) -> list[str]:
    one = face.finding.assessment
    even = "No region: the glow is even (cohesive) where assessed; whose coat it is stays open."
    none = "No region is put down to the finish; whether it is even stays open."
    lines = [_line(region) for region in one.regions] or [none if one.doubts else even]
    if one.doubts:
        lines.append("?  left open: light, shape, dust or an undrawn part could make it.")
    if one.px_per_mm is None:
        lines.append("No scale was given: no areas.")
    lines.append(
        f"UV-A shown {gain:.1f} times brighter. Confidence holds on simulated pairs only. "
        f"Finding {face.finding.digest[:12]}."
    )
    return lines


def _line(region: Region) -> str:
    area = "" if region.area_cm2 is None else f", {region.area_cm2:.2f} cm²"
    seen = "visible" if region.visible else "not visible"
    return (
        f"{region.number}  {region.kind.value}{area}; {seen} in ordinary light; "
        f"confidence {region.confidence:.2f}"
    )


def _write_legend(sheet: Image.Image, y: int, lines: list[str]) -> None:
    pen = ImageDraw.Draw(sheet)
    x = MARGIN
    for kind in Kind:
        sheet.paste(swatch(kind), (x, y))
        pen.text((x + 76, y), kind.value, BLACK, font())
        x += 76 + round(pen.textlength(kind.value, font())) + 40
    y += round(1.4 * LINE)
    for k, (text, seen) in enumerate(
        (("visible in ordinary light", True), ("not visible in ordinary light", False))
    ):
        x = MARGIN + k * 480
        for start in range(0, 64, 64 if seen else 16):
            pen.line((x + start, y + 16, x + start + (64 if seen else 9), y + 16), BLACK, 4)
        pen.text((x + 76, y), text, BLACK, font())
    y += round(1.3 * LINE)
    for line in lines:
        pen.text((MARGIN, y), line, BLACK, font())
        y += LINE


def _written(image: Image.Image, form: str, **options: int) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **options)
    return out.getvalue()

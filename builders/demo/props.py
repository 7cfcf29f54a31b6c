"""What lies beside the subject, and what the camera adds: scale, colours, label, grain, file.

The colour target is a plain set of six greys and six colours made up for this demonstration; its
values are those painted here, not those of a published chart.
"""

from __future__ import annotations

import io
from fractions import Fraction

import numpy as np
from PIL import ExifTags, Image, ImageDraw, ImageFont

from demo.frames import Frame
from demo.grain import Array, View, blur, smooth
from demo.instrument import BLACK
from demo.studio import Material, Stage, paint, plate

CARD = Material(paint(240, 240, 236), 0.05, 0.0, 0.01)
GREYS = (20, 62, 104, 150, 200, 240)
COLOURS = (
    (176, 48, 44),
    (206, 150, 36),
    (70, 132, 62),
    (44, 110, 138),
    (52, 62, 140),
    (142, 66, 120),
)
BYTES_MAX, PAIR_BYTES_MAX = 88_000, 740_000
PAIR_WIDTH = 3000
"""A frame at least so wide is one half of a pair, of which areas are measured."""
TARGET_COMPRESSION = (82, 76, 70, 64, 58, 52)
SIMULATED = "SIMULATED"


def targets(stage: Stage, x: float, y: float) -> None:
    """Lay a scale bar and a colour target down about a place given as share of the picture.

    Parameters
    ----------
    stage
        The stage; the length of the bar follows from its scale.
    x, y
        Share of width and height, from the left and from the top.
    """
    view = stage.view
    unit = view.width / view.scale / 100  # one hundredth of the picture, mm
    length = max(one for one in (1, 2, 5, 10, 20, 50, 100, 200) if one <= 18 * unit)
    centre_x = view.x + (x - 0.5) * view.width / view.scale
    down = view.height / view.scale
    centre_y = view.y + view.upright * (y - 0.5) * down
    up = -view.upright
    stage.lay(
        plate(centre_x, centre_y, length + 3 * unit, 4.6 * unit, 0.4 * unit),
        CARD,
        shadow=0.35 * unit,
    )
    block = length / 10
    for k in range(10):
        left = centre_x - length / 2 + k * block
        offset = up * (0.85 if k % 2 else 1.35) * unit
        stage.lay(plate(left + block / 2, centre_y + offset, block, 0.5 * unit), BLACK)
    stage.letters(
        f"{length} mm", centre_x, centre_y - up * 0.9 * unit, 1.25 * unit, colour=paint(20, 20, 20)
    )
    row_y = centre_y - up * 6.6 * unit
    stage.lay(plate(centre_x, row_y, 17 * unit, 6.4 * unit, 0.4 * unit), CARD, shadow=0.35 * unit)
    for k in range(6):
        place = centre_x + (k - 2.5) * 2.7 * unit
        grey = Material(paint(GREYS[k], GREYS[k], GREYS[k]), 0.03, 0.0, 0.0)
        stage.lay(plate(place, row_y + up * 1.4 * unit, 2.4 * unit, 2.4 * unit), grey)
        hue = Material(paint(*COLOURS[k]), 0.03, 0.0, 0.0)
        stage.lay(plate(place, row_y - up * 1.4 * unit, 2.4 * unit, 2.4 * unit), hue)


def soften(picture: Array, x: float, y: float, reach: float, depth: float) -> Array:
    """Let everything farther than *reach* (share of the width) from a place go out of focus."""
    rows, columns = picture.shape[:2]
    down, across = np.mgrid[0:rows, 0:columns].astype(np.float32)
    far = np.hypot(across / columns - x, (down / columns) - y * rows / columns)
    share = smooth(reach, 1.9 * reach, far)[..., None]
    soft = np.stack([blur(picture[..., k], depth) for k in range(3)], axis=-1)
    return picture * (1 - share) + soft * share


def develop(
    picture: Array,
    *,
    seed: int,
    exposure: float = 1.0,
    noise: float = 0.006,
    measured: bool = False,
) -> Image.Image:
    """Turn linear light into a picture: shoulder, vignette, sensor noise, power 1/2.2.

    With *measured* there is no shoulder, as a camera for UV pairs is set: up to clipping the
    coded value to the power 2.2 is proportional to the light.
    """
    rows, columns = picture.shape[:2]
    down = np.linspace(-1, 1, rows, dtype=np.float32)[:, None]
    across = np.linspace(-1, 1, columns, dtype=np.float32)[None, :]
    vignette = 1 - 0.17 * (across**2 + down**2) ** 1.15
    light = np.clip(picture * exposure * vignette[..., None], 0, None)
    if not measured:
        light = 1.42 * light * (1 + light / 6.0) / (1 + light)
    coded = np.clip(light, 0, 1) ** (1 / 2.2)
    grain = np.random.Generator(np.random.PCG64(seed)).standard_normal((rows, columns), np.float32)
    coded = coded + noise * blur(grain, 0.7)[..., None] * 2.2
    return Image.fromarray((np.clip(coded, 0, 1) * 255 + 0.5).astype(np.uint8))


def label(picture: Image.Image, frame: Frame) -> Image.Image:
    """Print SIMULATED and the frame number into the lower corners."""
    pen = ImageDraw.Draw(picture, "RGBA")
    wide, high = picture.size
    unit = wide / 1600
    font = ImageFont.load_default(size=round(26 * unit))
    for text, left_side in ((SIMULATED, False), (frame.id, True)):
        box = font.getbbox(text)
        width = box[2] - box[0] + 28 * unit
        left = 18 * unit if left_side else wide - 18 * unit - width
        edges = (left, high - 62 * unit, left + width, high - 18 * unit)
        pen.rounded_rectangle(edges, 8 * unit, fill=(18, 18, 18, 150))
        place = (left + 14 * unit, high - 40 * unit)
        pen.text(place, text, font=font, fill=(255, 255, 255, 225), anchor="lm")
    return picture


def exif(frame: Frame) -> Image.Exif:
    """The file data a camera would write; a made-up position where the frame says so."""
    data = Image.Exif()
    data[ExifTags.Base.ImageDescription] = f"{SIMULATED}: no real instrument was photographed"
    data[ExifTags.Base.Software] = "Heelstamp demonstration"
    taken = frame.taken.replace("-", ":").replace("T", " ")
    data[ExifTags.Base.DateTime] = taken
    inner = data.get_ifd(ExifTags.IFD.Exif)
    inner[ExifTags.Base.DateTimeOriginal] = taken
    if frame.located:
        zero = (Fraction(0), Fraction(0), Fraction(0))
        place = data.get_ifd(ExifTags.IFD.GPSInfo)
        place[ExifTags.GPS.GPSVersionID] = b"\x02\x03\x00\x00"
        place[ExifTags.GPS.GPSLatitudeRef] = "N"
        place[ExifTags.GPS.GPSLatitude] = zero
        place[ExifTags.GPS.GPSLongitudeRef] = "E"
        place[ExifTags.GPS.GPSLongitude] = zero
    return data


def jpeg(picture: Image.Image, frame: Frame) -> bytes:
    """Encode: the finest setting of the list that stays within the size allowed for one frame."""
    data = b""
    limit = PAIR_BYTES_MAX if picture.width >= PAIR_WIDTH else BYTES_MAX
    for quality in TARGET_COMPRESSION:
        sink = io.BytesIO()
        picture.save(
            sink,
            "JPEG",
            quality=quality,
            subsampling="4:2:0",
            optimize=True,
            progressive=picture.width < PAIR_WIDTH,
            exif=exif(frame),
        )
        data = sink.getvalue()
        if len(data) <= limit:
            break
    return data


def view_of(scale: float, x: float, y: float, *, behind: bool = False) -> View:
    """The usual view: 1600 × 1200 pixels about a place."""
    return View(1600, 1200, scale, x, y, behind)


GREY_STANDARD = ((-33.0, 9.0, 0.05), (-11.0, 9.0, 0.18), (11.0, 9.0, 0.36), (33.0, 9.0, 0.70))
"""Middle and half width (mm) and reflectance of the greys that lie in a UV pair."""
RULER_MM = 90
RULER = Material(paint(214, 212, 206), 0.04, 0.0, 0.004)
_MARK = Material(paint(24, 24, 24), 0.05, 0.0, 0.0)
_TRAY = Material(paint(60, 60, 62), 0.03, 0.0, 0.004)


def pair_targets(stage: Stage, x: float, y: float) -> None:
    """Lay a ruler with a mark a millimetre and four greys that do not glow about a place in mm."""
    up = -stage.view.upright  # towards the upper edge of the picture, in y
    stage.lay(plate(x + 1.5, y, RULER_MM + 15, 18, 1.0), RULER, shadow=1.2)
    for k in range(RULER_MM + 1):
        long = 7.0 if k % 10 == 0 else 5.0 if k % 5 == 0 else 3.4
        left = x - RULER_MM / 2 + k
        top = y + up * 8.6
        stage.lay([(left, top), (left, top - up * long)], _MARK, width=0.22)
        if k % 10 == 0:
            stage.letters(f"{k}", left, y - up * 4.0, 3.0, colour=paint(24, 24, 24))
    stage.letters("mm", x + RULER_MM / 2 + 5.5, y - up * 4.0, 3.0, colour=paint(24, 24, 24))
    row = y - up * 22
    stage.lay(plate(x, row, 94, 24, 1.5), _TRAY, shadow=1.2)
    for place, half, reflectance in GREY_STANDARD:
        grey = Material((reflectance, reflectance, reflectance), 0.02, 0.0, 0.0)
        stage.lay(plate(x + place, row, 2 * half, 2 * half), grey)

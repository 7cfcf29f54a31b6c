"""A small picture studio in numpy: surfaces laid one on another, then lit once.

A :class:`Stage` keeps, for each pixel, colour (linear light), slope of the surface, gloss, how
metallic it is and how much of the light arrives. Shapes are given in millimetres and cut out by
Pillow at twice the resolution; each lays down its own colour, rounded edge and cast shadow.
:meth:`Stage.lit` then shades the whole with one soft lamp. It is illustration, not optics: no
light bounces, and nothing here may be used to measure how well an image method works.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from demo.grain import Array, Field, View, blur, smooth

Point = tuple[float, float]
Colour = tuple[float, float, float]
Paint = Colour | Array
Window = tuple[slice, slice]


def paint(red: int, green: int, blue: int) -> Colour:
    """Linear light for an sRGB colour (IEC 61966-2-1, power 2.2 for the curve)."""
    return ((red / 255) ** 2.2, (green / 255) ** 2.2, (blue / 255) ** 2.2)


@dataclass(frozen=True, slots=True)
class Material:
    """How a surface answers light."""

    colour: Colour
    gloss: float = 0.15
    metal: float = 0.0
    mottle: float = 0.06
    """Share by which the colour wanders from place to place."""


class Stage:
    """The pixels under construction.

    Parameters
    ----------
    view
        Where millimetres fall on pixels.
    seed
        For the noise of this picture alone.
    lamp
        Direction to the lamp in pixels (x right, y down) and its height; shorter height rakes.
    """

    def __init__(self, view: View, seed: int, lamp: tuple[float, float, float]) -> None:
        self.view = view
        shape = (view.height, view.width)
        self.colour = np.zeros((*shape, 3), np.float32)
        self.slope_x = np.zeros(shape, np.float32)
        self.slope_y = np.zeros(shape, np.float32)
        self.gloss = np.zeros(shape, np.float32)
        self.metal = np.zeros(shape, np.float32)
        self.shade = np.ones(shape, np.float32)
        self.noise = np.random.Generator(np.random.PCG64(seed))
        self.lamp = lamp
        self.wander = Field(9.0, 9.0, seed=41).sample(view)

    # -- cutting out -------------------------------------------------------------------------

    def _window(self, points: Array, margin: float) -> Window | None:
        low = np.floor(points.min(axis=0) - margin).astype(int)
        high = np.ceil(points.max(axis=0) + margin).astype(int) + 1
        left, top = max(0, low[0]), max(0, low[1])
        right, bottom = min(self.view.width, high[0]), min(self.view.height, high[1])
        if right - left < 1 or bottom - top < 1:
            return None
        return slice(top, bottom), slice(left, right)

    def cut(
        self, points: Sequence[Point], margin_mm: float, width_mm: float = 0.0
    ) -> tuple[Window, Array] | None:
        """Cut a polygon (or, with a width, a line) out: its window and its mask, 0 to 1."""
        pixels = self.view.pixels(points)
        reach = margin_mm * self.view.scale + width_mm * self.view.scale + 3
        window = self._window(pixels, reach)
        if window is None:
            return None
        rows, columns = window
        size = (2 * (columns.stop - columns.start), 2 * (rows.stop - rows.start))
        sheet = Image.new("L", size, 0)
        moved = [(2 * (x - columns.start), 2 * (y - rows.start)) for x, y in pixels]
        pen = ImageDraw.Draw(sheet)
        if width_mm:
            thick = max(1, round(2 * width_mm * self.view.scale))
            pen.line(moved, fill=255, width=thick, joint="curve")
            if thick > 4:
                for x, y in (moved[0], moved[-1]):
                    half = thick / 2
                    pen.ellipse((x - half, y - half, x + half, y + half), fill=255)
        else:
            pen.polygon(moved, fill=255)
        small = sheet.resize((size[0] // 2, size[1] // 2), Image.Resampling.BOX)
        return window, np.asarray(small, np.float32) / 255

    # -- laying down -------------------------------------------------------------------------

    def lay(
        self,
        points: Sequence[Point],
        material: Material,
        *,
        edge: float = 0.0,
        shadow: float = 0.0,
        texture: Array | None = None,
        width: float = 0.0,
        round_over: float = 1.0,
    ) -> None:
        """Lay one surface down.

        Parameters
        ----------
        points
            Polygon in millimetres, or a line when *width* is given.
        material
            Its answer to light.
        edge
            Radius of the rounded edge, mm; negative for a hollow.
        shadow
            Height above what lies beneath, mm: reach of the cast shadow. Negative for a recess
            whose own rim shades it.
        texture
            Colour of the whole picture (rows, columns, 3), used instead of the plain colour.
        width
            Width of the line, mm.
        round_over
            Steepness of the rounded edge.
        """
        made = self.cut(points, 2.2 * abs(shadow) + abs(edge) + 0.5, width)
        if made is None:
            return
        window, mask = made
        self.lay_mask(
            window, mask, material, edge=edge, shadow=shadow, texture=texture, round_over=round_over
        )

    def lay_mask(
        self,
        window: Window,
        mask: Array,
        material: Material,
        *,
        edge: float = 0.0,
        shadow: float = 0.0,
        texture: Array | None = None,
        round_over: float = 1.0,
    ) -> None:
        """Lay down what a mask holds; see :meth:`lay`."""
        scale = self.view.scale
        shade = self.shade[window]
        if shadow > 0:
            shade *= 1 - 0.62 * self._fallen(mask, shadow * scale) * (1 - mask)
            shade *= 1 - 0.35 * blur(mask, max(0.8, 0.22 * shadow * scale)) * (1 - mask)
        inside = np.ones_like(mask)
        if shadow < 0:
            rim = 1 - mask
            inside = 1 - 0.72 * self._fallen(rim, -shadow * scale)
            inside *= 1 - 0.4 * blur(rim, max(0.8, -0.4 * shadow * scale))
        self.shade[window] = shade * (1 - mask) + inside * mask
        if texture is None:
            plain = np.asarray(material.colour, np.float32)
            drift = 1 + material.mottle * self.wander[window][..., None]
            coat = plain * drift
        else:
            coat = texture[window]
        self._mix(self.colour, window, mask[..., None], coat)
        self._mix(self.gloss, window, mask, material.gloss)
        self._mix(self.metal, window, mask, material.metal)
        slope_x, slope_y = np.zeros_like(mask), np.zeros_like(mask)
        if edge:
            reach = abs(edge) * scale
            depth = np.clip(2 * blur(mask, max(0.6, 0.55 * reach)) - 1, 0, 1)
            profile = np.sqrt(np.clip(1 - (1 - depth) ** 2, 0, 1)) * reach * round_over
            profile = blur(profile.astype(np.float32), max(0.6, 0.12 * reach))
            slope_y, slope_x = np.gradient(profile * math.copysign(1.0, edge))
        self._mix(self.slope_x, window, mask, slope_x)
        self._mix(self.slope_y, window, mask, slope_y)

    @staticmethod
    def _mix(store: Array, window: Window, mask: Array, new: Array | float) -> None:
        store[window] += mask * (new - store[window])

    def _fallen(self, mask: Array, reach: float) -> Array:
        across, down, height = self.lamp
        length = math.hypot(across, down) or 1.0
        run = reach * min(2.0, 0.9 * length / height)
        shift_x, shift_y = round(-across / length * run), round(-down / length * run)
        moved = np.zeros_like(mask)
        rows, columns = mask.shape
        if abs(shift_x) >= columns or abs(shift_y) >= rows:
            return moved
        to_y = slice(max(0, shift_y), rows + min(0, shift_y))
        from_y = slice(max(0, -shift_y), rows + min(0, -shift_y))
        to_x = slice(max(0, shift_x), columns + min(0, shift_x))
        from_x = slice(max(0, -shift_x), columns + min(0, -shift_x))
        moved[to_y, to_x] = mask[from_y, from_x]
        return blur(moved, max(1.0, 0.45 * reach))

    def disc(self, x: float, y: float, radius: float, material: Material, **how: float) -> None:
        """Lay a round thing down; ``dome`` > 0 bulges it."""
        dome = how.pop("dome", 0.0)
        self.lay(circle(x, y, radius), material, **how)  # type: ignore[arg-type]
        if dome:
            made = self.cut(circle(x, y, radius), 0.5)
            if made is not None:
                window, mask = made
                centre_x, centre_y = self.view.pixels([(x, y)])[0]
                rows, columns = np.mgrid[window]
                reach = radius * self.view.scale
                self.slope_x[window] -= mask * dome * (columns - centre_x) / reach
                self.slope_y[window] -= mask * dome * (rows - centre_y) / reach

    def stain(self, window: Window, mask: Array, colour: Paint, strength: float = 1.0) -> None:
        """Tint what lies there without changing its form."""
        self._mix(self.colour, window, (strength * mask)[..., None], np.asarray(colour, np.float32))

    def letters(
        self,
        text: str,
        x: float,
        y: float,
        height: float,
        *,
        colour: Colour | None = None,
        pressed: float = 0.0,
        turn: float = 0.0,
        worn: float = 0.0,
        fade: Callable[[Array], Array] | None = None,
    ) -> None:
        """Write text about a centre (mm): inked when a colour is given, pressed into the surface.

        *worn* takes ink away in spots; *fade* may change the mask along its length.
        """
        size = max(6, round(1.38 * height * self.view.scale))
        font = ImageFont.load_default(size=2 * size)
        box = font.getbbox(text)
        sheet = Image.new("L", (round(box[2] - box[0]) + 12, round(box[3] - box[1]) + 12), 0)
        ImageDraw.Draw(sheet).text((6 - box[0], 6 - box[1]), text, fill=255, font=font)
        mask = np.asarray(sheet, np.float32) / 255
        if fade is not None:
            mask = fade(mask)
        sheet = Image.fromarray(np.clip(255 * mask, 0, 255).astype(np.uint8))
        sheet = sheet.rotate(turn, resample=Image.Resampling.BICUBIC, expand=True)
        sheet = sheet.resize((max(1, sheet.width // 2), max(1, sheet.height // 2)))
        middle = self.view.pixels([(x, y)])[0]
        left, top = round(middle[0] - sheet.width / 2), round(middle[1] - sheet.height / 2)
        # ink that is worn draws noise over the whole picture, the rest needs its own place only
        reach = max(self.view.width, self.view.height) if worn else 40 + sheet.height
        rows = slice(max(0, top - reach), max(0, min(self.view.height, top + sheet.height + reach)))
        columns = slice(
            max(0, left - reach), max(0, min(self.view.width, left + sheet.width + reach))
        )
        if rows.stop <= rows.start or columns.stop <= columns.start:
            return
        where = (rows, columns)
        canvas = Image.new("L", (columns.stop - columns.start, rows.stop - rows.start))
        canvas.paste(sheet, (left - columns.start, top - rows.start))
        whole = np.asarray(canvas, np.float32) / 255
        if not whole.any():
            return
        if worn:
            spots = self.noise.random(whole.shape, np.float32)
            spots = blur(spots, max(0.7, 0.035 * height * self.view.scale))
            spots = (spots - spots.mean()) / (spots.std() + 1e-6)
            whole = whole * (1 - worn * smooth(0.1, 1.3, spots))
        if colour is not None:
            self.stain(where, whole, colour)
        if pressed:
            soft = blur(whole, max(0.7, 0.03 * height * self.view.scale))
            slope_y, slope_x = np.gradient(soft * pressed * 0.05 * height * self.view.scale)
            self.slope_x[where] -= slope_x
            self.slope_y[where] -= slope_y
            self.shade[where] *= 1 - 0.25 * min(1.0, pressed) * soft

    # -- light -------------------------------------------------------------------------------

    def lit(self, *, ambient: float = 0.42, key: float = 0.72, warmth: float = 0.02) -> Array:
        """Shade everything once; linear light, (rows, columns, 3)."""
        across, down, height = self.lamp
        length = math.sqrt(across**2 + down**2 + height**2)
        lamp = (across / length, down / length, height / length)
        normal_z = 1 / np.sqrt(1 + self.slope_x**2 + self.slope_y**2)
        normal_x, normal_y = -self.slope_x * normal_z, -self.slope_y * normal_z
        towards = normal_x * lamp[0] + normal_y * lamp[1] + normal_z * lamp[2]
        diffuse = np.clip(towards / lamp[2], 0, 1.8)
        rows = np.linspace(-1, 1, self.view.height, dtype=np.float32)[:, None]
        columns = np.linspace(-1, 1, self.view.width, dtype=np.float32)[None, :]
        pool = 1 + 0.16 * (columns * lamp[0] + rows * lamp[1])
        light = (ambient + key * diffuse * self.shade) * (0.45 + 0.55 * self.shade) * pool
        half = np.array([lamp[0], lamp[1], lamp[2] + 1])
        half /= np.linalg.norm(half)
        facing = np.clip(normal_x * half[0] + normal_y * half[1] + normal_z * half[2], 0, 1)
        glint = 0.55 * self.gloss * facing ** (20 + 140 * self.gloss) * self.shade
        # a wide window mirrored in anything glossy: brighter where surface and place lean to it
        lean = 0.9 * normal_x + 1.25 * normal_y + 0.35 * columns + 0.45 * rows
        window = np.exp(-(((lean + 0.55) / 0.33) ** 2))
        glint = glint + 0.085 * self.gloss * window * self.shade
        mirror = np.interp(
            1.5 * normal_y + 0.7 * normal_x + 0.16 * rows + 0.1 * columns,
            [-1.3, -0.6, -0.25, -0.12, 0.0, 0.12, 0.5, 1.3],
            [1.15, 0.95, 0.80, 0.45, 0.58, 0.72, 0.30, 0.12],
        ).astype(np.float32)
        matt = self.colour * light[..., None]
        bright = self.colour * (mirror * (0.35 + 0.65 * self.shade))[..., None] * 1.35
        picture = matt + (bright - matt) * self.metal[..., None] + glint[..., None]
        return picture * np.array([1 + warmth, 1.0, 1 - 1.4 * warmth], np.float32)


def circle(x: float, y: float, radius: float, sides: int = 64) -> list[Point]:
    """A circle as a polygon."""
    turns = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns]


def plate(x: float, y: float, wide: float, high: float, corner: float = 0.0) -> list[Point]:
    """A rectangle about a centre, its corners rounded."""
    corner = min(corner, wide / 2, high / 2)
    if corner <= 0:
        return [
            (x - wide / 2, y - high / 2),
            (x + wide / 2, y - high / 2),
            (x + wide / 2, y + high / 2),
            (x - wide / 2, y + high / 2),
        ]
    points: list[Point] = []
    for sign_x, sign_y, start in ((1, 1, 0), (-1, 1, 90), (-1, -1, 180), (1, -1, 270)):
        centre = (x + sign_x * (wide / 2 - corner), y + sign_y * (high / 2 - corner))
        for step in range(9):
            turn = math.radians(start + 90 * step / 8)
            points.append(
                (centre[0] + corner * math.cos(turn), centre[1] + corner * math.sin(turn))
            )
    return points

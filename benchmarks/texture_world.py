"""Bodies clothed with patches of photographs, under projected shades, before a noisy camera.

A third simulator, of another mechanism than the two others. The outline is a closed spline; the
ground, the cloth, the unevenness of the coat and the forms of what is planted are cut from the two
photographs that scikit-learn carries (a temple and a flower, by other hands, CC BY). Nothing is
cast over heights: parts are prisms whose shade is the union of their base, their projected top and
the quadrilaterals between, from nine points of a lamp; the tilt of rim and carving is given, not
derived. Gloss is the microfacet lobe of Walter et al. (Rendering with Rough Surfaces, EGSR 2007).
The camera is the linear model of EMVA Standard 1288 (2016): photons by Poisson, dark noise,
unevenness of pixels, quantisation, on a Bayer mosaic that is interpolated; then white balance, tone
curve and JPEG with halved colour. A push of the camera is a turn and a slide of a pinhole.
All ranges are wide and from no measurement; figures counted here are figures on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import splev, splprep
from sklearn.datasets import load_sample_images

from finish_world import NUISANCES, World

Image = NDArray[np.float32]
Mask = NDArray[np.bool_]
Points = NDArray[np.float64]
Lamp = NDArray[np.float64]

WIDTH, HEIGHT, PER_MM = 1000, 720, 2.2
DEFECTS = ("touch-up", "wear", "film")
SHAPE = (HEIGHT, WIDTH)


@cache
def _photographs() -> tuple[NDArray[np.uint8], ...]:
    return tuple(load_sample_images().images)


def _patch(rng: np.random.Generator, coarse: float) -> Image:
    """Brightness of a turned patch of a photograph, blurred by *coarse* mm, mean 0 and spread 1."""
    one = _photographs()[int(rng.integers(2))]
    grey = cv2.cvtColor(one, cv2.COLOR_RGB2GRAY).astype(np.float32)
    scale, turn = rng.uniform(1.6, 3.5), rng.uniform(0, 360)
    place = cv2.getRotationMatrix2D((320.0, 213.0), turn, scale)
    place[:, 2] += np.array([WIDTH / 2 - 320, HEIGHT / 2 - 213]) + rng.uniform(-150, 150, 2)
    seen = cv2.warpAffine(grey, place, (WIDTH, HEIGHT), borderMode=cv2.BORDER_REFLECT_101)
    seen = cv2.GaussianBlur(seen, (0, 0), max(0.5, coarse * PER_MM))
    return np.asarray((seen - seen.mean()) / (seen.std() + 1e-6), dtype=np.float32)


def _outline(rng: np.random.Generator) -> Points:
    turn = np.linspace(0, 2 * np.pi, 9, endpoint=False) + rng.uniform(-0.15, 0.15, 9)
    r = rng.uniform(0.72, 1.1, 9)
    x, y = r * np.cos(turn) * 1.3, r * np.sin(turn)
    tck, _ = splprep([np.append(x, x[0]), np.append(y, y[0])], s=0, per=True)
    x, y = splev(np.linspace(0, 1, 300, endpoint=False), tck)
    x, y = x - (x.max() + x.min()) / 2, y - (y.max() + y.min()) / 2
    scale = min(0.41 * WIDTH / np.abs(x).max(), 0.41 * HEIGHT / np.abs(y).max())
    return np.column_stack([WIDTH / 2 + scale * x, HEIGHT / 2 + scale * y])


def _fill(polygons: Sequence[Points]) -> Mask:
    mask = np.zeros(SHAPE, np.uint8)
    for one in polygons:
        cv2.fillPoly(mask, [np.round(one * 16).astype(np.int32)], 1, shift=4)
    return mask > 0


def _oblong(x: float, y: float, w: float, h: float, corner: float) -> Points:
    """A rectangle with rounded corners, all in mm from the middle of the frame."""
    turn = np.linspace(0, 2 * np.pi, 32, endpoint=False)
    cx, cy = np.sign(np.cos(turn)) * (w / 2 - corner), np.sign(np.sin(turn)) * (h / 2 - corner)
    ring = np.column_stack([x + cx + corner * np.cos(turn), y + cy + corner * np.sin(turn)])
    return ring * PER_MM + np.array([WIDTH / 2, HEIGHT / 2])


def _parts(rng: np.random.Generator, body: Mask, tall: float) -> list[tuple[str, Points, float]]:
    """Names, polygons and heights in mm of what stands on the body."""
    found = [("neck", _oblong(190, 0, 240, 55, 3), rng.uniform(6, 12))]
    for k in range(int(rng.integers(1, 4))):
        wide = rng.uniform(18, 40)
        found.append((f"pickup_{k}", _oblong(45 - 50 * k, 0, wide, rng.uniform(70, 90), 4), 7.0))
    plate = rng.uniform(15, 60)
    found.append(("bridge", _oblong(-115, 0, plate, rng.uniform(70, 95), 2), 0.6 * tall))
    deep = cv2.distanceTransform(body.astype(np.uint8), cv2.DIST_L2, 5)
    for k in range(int(rng.integers(1, 5))):
        for _ in range(40):
            at = np.array([rng.uniform(-150, 120), rng.uniform(50, 120)])
            x, y = (at * PER_MM + np.array([WIDTH / 2, HEIGHT / 2])).astype(int)
            taken = _fill([p for _, p, _ in found])
            near = cv2.dilate(taken.astype(np.uint8), np.ones((81, 81)))
            if y < HEIGHT and deep[y, x] > 14 * PER_MM and not near[y, x]:
                size = rng.uniform(14, 24)
                found.append((f"knob_{k}", _oblong(*at, size, size, size / 2 - 0.01), tall))
                break
    return found


def _tilt(rng: np.random.Generator, body: Mask, *, contour: bool) -> tuple[Image, Image]:
    """Slopes of the surface, tangents along x and y."""
    rim = cv2.distanceTransform(body.astype(np.uint8), cv2.DIST_L2, 5) / PER_MM
    calm = cv2.GaussianBlur(rim, (0, 0), 2.5)
    gx, gy = cv2.Sobel(calm, cv2.CV_32F, 1, 0), cv2.Sobel(calm, cv2.CV_32F, 0, 1)
    size = np.hypot(gx, gy) + 1e-6
    radius = rng.uniform(1.5, 6.0)
    inward = np.clip(rim / radius, 0.02, 1)
    slope = (1 - inward) / np.sqrt(np.maximum(1 - (1 - inward) ** 2, 1e-4))
    tx, ty = slope * gx / size, slope * gy / size
    if contour:
        ys, xs = np.mgrid[0:HEIGHT, 0:WIDTH]
        x, y = (xs - WIDTH / 2) / PER_MM, (ys - HEIGHT / 2) / PER_MM
        kind = int(rng.integers(3))
        turn = rng.uniform(0, 2 * np.pi)
        along = x * np.cos(turn) + y * np.sin(turn)
        if kind == 0:  # a bevel: flat, then tilted
            begins, soft = np.percentile(along[body], rng.uniform(75, 90)), rng.uniform(3, 15)
            share = 1 / (1 + np.exp(-np.clip((along - begins) / soft, -30, 30)))
            lean = np.tan(np.radians(rng.uniform(8, 25)))
            tx, ty = tx - lean * share * np.cos(turn), ty - lean * share * np.sin(turn)
        elif kind == 1:  # an arched top: tilts outwards, most at a third of the way in
            reach = rng.uniform(20, 50)
            lean = np.tan(np.radians(rng.uniform(5, 14))) * rim / reach * np.exp(1 - rim / reach)
            tx, ty = tx + lean * gx / size, ty + lean * gy / size
        else:  # a wave across
            lean = np.tan(np.radians(rng.uniform(4, 12)))
            wave = lean * np.sin(along / rng.uniform(15, 40))
            tx, ty = tx + wave * np.cos(turn), ty + wave * np.sin(turn)
    return tx.astype(np.float32), ty.astype(np.float32)


def _shade(points: Lamp, prisms: Sequence[tuple[Points, float, float]]) -> Image:
    """The share of the lamp's points seen past prisms (polygon, base and top in mm)."""
    lit = np.zeros(SHAPE, np.float32)
    for lamp in points:
        dark = np.zeros(SHAPE, np.uint8)
        for polygon, base, top in prisms:
            reach = (top - base) / (lamp[2] - top)
            far = polygon + (polygon - lamp[:2]) * reach
            sides = np.stack([polygon, np.roll(polygon, -1, 0), np.roll(far, -1, 0), far], axis=1)
            for one in (polygon, far, *sides):
                cv2.fillPoly(dark, [np.round(one * 16).astype(np.int32)], 1, shift=4)
        lit += (1 - dark) / np.float32(len(points))
    return cv2.GaussianBlur(lit, (0, 0), 0.6)


class _Scene:
    """What stands before the camera, and its light."""

    def __init__(self, rng: np.random.Generator, has: set[str]) -> None:
        self.rng, self.has = rng, has
        self.outline = _outline(rng)
        self.body = _fill([self.outline])
        tall = rng.uniform(15, 24) if "shadow" in has else rng.uniform(3, 8)
        self.things = _parts(rng, self.body, tall)
        self.over = _fill([p for _, p, _ in self.things])
        self.slopes = _tilt(rng, self.body, contour="contour" in has)
        ripple = _patch(rng, 0.8) * np.float32(rng.uniform(0.002, 0.02))
        self.peel = cv2.Sobel(ripple, cv2.CV_32F, 1, 0), cv2.Sobel(ripple, cv2.CV_32F, 0, 1)

    def lit(self, degrees: float, gloss: float, rough: float) -> tuple[Image, Image]:
        """Irradiance and mirrored light of one lamp."""
        rng = self.rng
        up, far = np.radians(rng.uniform(35, 60)), rng.uniform(450, 900) * PER_MM
        turn = np.radians(degrees)
        away = np.array([np.cos(turn), np.sin(turn)])
        middle = np.array([WIDTH / 2, HEIGHT / 2]) + far * np.cos(up) * away
        side, size = np.array([-away[1], away[0]]), rng.uniform(10, 60) * PER_MM
        high = far * np.sin(up) / PER_MM
        points = np.array(
            [
                [*(middle + size * (a * side + 0.4 * b * away)), high]
                for a in (-1, 0, 1)
                for b in (-1, 0, 1)
            ]
        )
        on = [(p, 0.0, h) for _, p, h in self.things]
        seen = _shade(points, on)
        cloth = _shade(points, [(self.outline, 0.0, 40.0)])
        lit = np.where(self.body | self.over, np.where(self.over, 1.0, seen), cloth)
        ys, xs = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
        dx, dy = (middle[0] - xs) / PER_MM, (middle[1] - ys) / PER_MM
        length = np.sqrt(dx**2 + dy**2 + high**2)
        on_coat = (self.body & ~self.over).astype(np.float32)
        tx, ty = (one * on_coat for one in self.slopes)
        size_n = np.sqrt(tx**2 + ty**2 + 1)
        facing = np.clip((-tx * dx - ty * dy + high) / (size_n * length), 0, 1)
        light = lit * facing * (far / PER_MM / length) ** 2
        hx, hy, hz = dx / length, dy / length, high / length + 1
        px, py = tx + self.peel[0], ty + self.peel[1]
        cosine = (-px * hx - py * hy + hz) / np.sqrt((px**2 + py**2 + 1) * (hx**2 + hy**2 + hz**2))
        square = np.clip(cosine, 0, 1) ** 2
        lobe = rough**2 / (np.pi * (square * (rough**2 - 1) + 1) ** 2)
        return light.astype(np.float32), (gloss * lit * lobe * on_coat * 0.04).astype(np.float32)

    def form(self, x: float, y: float, mm: float) -> Image:
        """A place of about *mm* radius whose border a photograph drew; 1 inside, 0 outside."""
        ys, xs = np.mgrid[0:HEIGHT, 0:WIDTH]
        squash = self.rng.uniform(0.6, 1)
        away = np.hypot(xs - x, (ys - y) / squash) / PER_MM / mm
        level = away + 0.25 * np.clip(_patch(self.rng, 0.15 * mm + 0.5), -2, 2)
        inside = ((level < 1) & (away < 1.6)).astype(np.uint8)
        count, labels, stats, _ = cv2.connectedComponentsWithStats(inside)
        if count < 2:
            return np.zeros(SHAPE, np.float32)
        largest = 1 + int(stats[1:, cv2.CC_STAT_AREA].argmax())
        return (labels == largest).astype(np.float32)

    def plant(self, labels: NDArray[np.uint8], glow: Image, ground: Image) -> list[str]:
        """Plant one place of each kind where it fits, into all three in place; name the kinds."""
        rng, kinds = self.rng, []
        coat = self.body & ~self.over
        free = cv2.distanceTransform(coat.astype(np.uint8), cv2.DIST_L2, 5) / PER_MM
        sizes = {"touch-up": (3.5, 10), "wear": (5, 16), "film": (14, 26)}
        for kind in DEFECTS:
            mm = rng.uniform(*sizes[kind])
            ys, xs = np.nonzero((free > mm + 4) & (labels == 0))
            if not len(ys):
                continue
            k = int(rng.integers(len(ys)))
            shape = self.form(xs[k], ys[k], mm) * coat * (labels == 0)
            if np.count_nonzero(shape) < 12:
                continue
            soft = {"touch-up": 0.3, "wear": rng.uniform(0.3, 2), "film": rng.uniform(2, 6)}[kind]
            share = cv2.GaussianBlur(shape, (0, 0), max(0.6, soft * PER_MM / 2))[..., None]
            ratio = {
                "touch-up": rng.uniform(0.25, 0.7) * np.array([1, 1, rng.uniform(0.9, 1.6)]),
                "wear": rng.uniform(0.1, 0.5) * np.array([rng.uniform(0.9, 1.1), 1, 1]),
                "film": rng.uniform(0.70, 0.86) * np.array([1, 1, rng.uniform(1, 1.15)]),
            }[kind].astype(np.float32)
            glow *= 1 + share * (ratio - 1)
            if kind == "wear" and rng.random() < 0.6:
                wood = np.array([0.5, 0.37, 0.22], np.float32) * rng.uniform(0.7, 1.1)
                ground += share * (wood.astype(np.float32) - ground)
            kinds.append(kind)
            labels[shape > 0] = len(kinds)
        return kinds


def _lint(rng: np.random.Generator, count: int) -> Image:
    canvas = np.zeros((*SHAPE, 3), np.float32)
    for _ in range(count):
        points = np.cumsum(rng.normal(0, 1, (5, 2)), axis=0) * rng.uniform(2, 9) * PER_MM
        points += rng.uniform((0, 0), (WIDTH, HEIGHT))
        tck, _ = splprep(points.T, s=0, k=3)
        curve = np.column_stack(splev(np.linspace(0, 1, 60), tck))
        colour = rng.uniform(0.3, 2.5) * np.array([0.5, 0.65, 1.0]) * rng.uniform(0.8, 1.2, 3)
        drawn = np.zeros(SHAPE, np.uint8)
        cv2.polylines(drawn, [np.round(curve * 16).astype(np.int32)], False, 255, 1, cv2.LINE_AA, 4)
        canvas += (drawn / np.float32(255))[..., None] * colour.astype(np.float32)
    return cv2.GaussianBlur(canvas, (0, 0), rng.uniform(0.4, 0.8))


def _pose(rng: np.random.Generator, most: float) -> NDArray[np.float64]:
    """Visible → UV: a pinhole of 2 to 4 half widths that turned, slid and came nearer a little."""
    f = rng.uniform(2, 4) * WIDTH / 2
    k = np.array([(f, 0, WIDTH / 2), (0, f, HEIGHT / 2), (0, 0, 1)])
    tilt = rng.normal(0, most / 2 / f, 2)
    spin, _ = cv2.Rodrigues(np.array([tilt[0], tilt[1], rng.normal(0, most / WIDTH)]))
    near = np.diag([1 + rng.normal(0, most / 2 / WIDTH)] * 2 + [1.0])
    slide = np.eye(3)
    slide[:2, 2] = rng.uniform(-most, most, 2)
    return slide @ k @ near @ spin @ np.linalg.inv(k)


def _camera(rng: np.random.Generator, light: Image, level: float, curve: float) -> NDArray:
    """EMVA 1288 on a Bayer mosaic; the 98th percentile of the light at *level* of the range."""
    ys, xs = np.mgrid[-1 : 1 : HEIGHT * 1j, -1 : 1 : WIDTH * 1j]
    fade = (1 / (1 + rng.uniform(0, 0.12) * (xs**2 + ys**2)) ** 2).astype(np.float32)
    seen = cv2.GaussianBlur(light, (0, 0), rng.uniform(0.5, 0.9)) * fade[..., None]
    seen = seen * np.float32(level / np.percentile(seen.max(axis=2), 98))
    balance = np.array([rng.uniform(1.6, 2.4), 1.0, rng.uniform(1.3, 1.9)])
    mosaic = np.empty(SHAPE)
    for y, x, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        mosaic[y::2, x::2] = seen[y::2, x::2, channel] / balance[channel]
    well = rng.uniform(8_000, 40_000)
    uneven = 1 + rng.uniform(0.003, 0.01) * rng.standard_normal(SHAPE)
    electrons = rng.poisson(np.clip(mosaic, 0, None) * uneven * well).astype(float)
    electrons += rng.normal(0, rng.uniform(2, 8), SHAPE) + rng.normal(0, 1, (HEIGHT, 1))
    bits = 2 ** int(rng.choice([12, 14])) - 1
    raw = np.clip(np.round(electrons / well * 0.95 * bits + 0.03 * bits), 0, bits)
    even = np.clip((raw / bits - 0.03) / 0.95, 0, 1)
    whole = cv2.demosaicing(np.round(even * 65535).astype(np.uint16), cv2.COLOR_BayerRGGB2RGB_EA)
    found = np.clip(whole / 65535 * balance, 0, 1)
    found = found * (1 - curve) + curve * (3 * found**2 - 2 * found**3)
    code = np.where(found <= 0.0031308, 12.92 * found, 1.055 * found ** (1 / 2.4) - 0.055)
    pixels = np.round(255 * code).astype(np.uint8)[..., ::-1]
    _, data = cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(88, 98))])
    return np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])


def make(seed: int, nuisance: str, *, defects: bool, places: int = 2) -> World:
    """Draw a body; *places* UV frames with the lamp turned by about 180 degrees each."""
    rng = np.random.default_rng([seed, 3])
    has = {nuisance} if nuisance != "all" else set(NUISANCES)
    scene = _Scene(rng, has)
    coat = scene.body & ~scene.over
    hue = rng.uniform((0.1, 0.05, 0.02), (0.75, 0.55, 0.4)).astype(np.float32)
    figure = 1 + np.float32(rng.uniform(0, 0.12)) * _patch(rng, 0.4)
    ground = np.full((*SHAPE, 3), rng.uniform(0.02, 0.4), np.float32)
    ground *= (1 + 0.15 * np.clip(_patch(rng, 0.3), -2, 2))[..., None]
    ground[scene.body] = np.clip(hue * figure[..., None], 0.005, 0.95)[scene.body]
    uneven = 1 + rng.uniform(0.003, 0.015) * _patch(rng, 6) + 0.008 * _patch(rng, 20)
    tint = np.array([0.65, 0.72, 0.38]) * rng.uniform(0.8, 1.2, 3)
    glow = np.full((*SHAPE, 3), 0.008, np.float32)
    glow[coat] = (tint * (1 + ground.mean(axis=2, keepdims=True)) / 2 * uneven[..., None])[coat]
    labels = np.zeros(SHAPE, np.uint8)
    kinds = scene.plant(labels, glow, ground) if defects else []
    for _, polygon, _ in scene.things:
        here = _fill([polygon])
        ground[here] = rng.uniform(0.02, 0.8) * rng.uniform(0.8, 1.0, 3)
        glow[here] = rng.choice([0.008, 0.03, 0.8], p=[0.5, 0.3, 0.2]) * np.array([0.6, 0.7, 1.0])
    cut = (slice(HEIGHT - 64, HEIGHT - 14), slice(14, 64))
    ground[cut], glow[cut] = 0.18, 0.0
    soft = cv2.GaussianBlur(scene.over.astype(np.float32), (0, 0), 4 * PER_MM)
    slope = 1 + rng.normal(0, 0.1) * (np.mgrid[0:HEIGHT, 0:WIDTH][1] / WIDTH - 0.5)
    steep = sum(t**2 for t in scene.slopes) * coat
    day = slope * (1 - 0.35 * soft * ~scene.over) / np.sqrt(1 + steep)
    visible = _camera(rng, ground * day[..., None].astype(np.float32), rng.uniform(0.55, 0.9), 0.0)
    azimuth, curve, leak = rng.uniform(0, 360), rng.uniform(0, 0.15), rng.uniform(0, 0.02)
    exposure, rough = rng.uniform(0.45, 0.75), rng.uniform(0.05, 0.3)
    frames, turned, back = [], [], []
    for k in range(places):
        at = azimuth + 180 * k + rng.uniform(-12, 12)
        gloss = rng.uniform(0.2, 1.2) if "gloss" in has else rng.uniform(0, 0.03)
        light, shine = scene.lit(at, gloss, rough)
        if "two lamps" in has:
            for extra in range(int(rng.integers(1, 3))):
                more, shone = scene.lit(at + 150 + 60 * extra, gloss, rough)
                share = np.float32(rng.uniform(0.3, 1.0))
                light, shine = light + share * more, shine + share * shone
        count = int(rng.integers(25, 70)) if "fibre" in has else int(rng.integers(0, 3))
        emitted = (glow + _lint(rng, count) + leak * ground) * light[..., None]
        emitted = emitted + shine[..., None] * np.array([0.25, 0.2, 1.0], np.float32)
        place = _pose(rng, 3.0)
        moved = cv2.warpPerspective(
            emitted.astype(np.float32), place, (WIDTH, HEIGHT), borderMode=cv2.BORDER_REPLICATE
        )
        frames.append(_camera(rng, moved, exposure * rng.uniform(0.85, 1.15), curve))
        turned.append(at % 360)
        back.append(np.linalg.inv(place))
    return World(
        visible,
        frames,
        turned,
        scene.outline,
        [(name, polygon) for name, polygon, _ in scene.things],
        (18.0, HEIGHT - 60.0, 60.0, HEIGHT - 18.0),
        labels,
        PER_MM,
        kinds,
        back,
    )

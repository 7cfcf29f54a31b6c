"""Bodies as height maps under lamps at stated places: what falls where is cast, not drawn.

A second simulator, of another mechanism than ``tests/fakes/finish_simulator.py`` and written apart
from it; no setting of the engine was chosen on it. A height map (slab with a rounded rim, arm
bevel, carved arch, dish; pickups, bridge, knobs, neck, strings) is lit by one to three lamps of
finite size: distance, Lambert's cosine, cast shadow with penumbra, gloss (Blinn 1977), one bounce
from bright parts, fibres and dust, vignetting, camera noise (photons and reading), tone curve,
JPEG. All ranges are wide and from no measurement: figures counted on it are figures on it.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from finish_world import NUISANCES, World

Image = NDArray[np.float32]
Mask = NDArray[np.bool_]

WIDTH, HEIGHT, PER_MM = 1000, 720, 2.2
DEFECTS = ("touch-up", "wear", "film")
STRAW = np.array([0.62, 0.70, 0.36], np.float32)


def _smooth(rng: np.random.Generator, shape: tuple[int, int], cells: int) -> Image:
    small = rng.standard_normal((cells + 2, round(cells * shape[1] / shape[0]) + 2))
    big = cv2.resize(small.astype(np.float32), shape[::-1], interpolation=cv2.INTER_CUBIC)
    return np.asarray((big - big.mean()) / (big.std() + 1e-6), dtype=np.float32)


def _outline(rng: np.random.Generator) -> NDArray[np.float64]:
    turn = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    r = np.ones_like(turn)
    for k in range(2, 6):
        r += rng.normal(0, 0.16 / k) * np.cos(k * turn + rng.uniform(0, 2 * np.pi))
    x, y = 1.25 * r * np.cos(turn), 0.85 * r * np.sin(turn)
    scale = min(0.40 * WIDTH / np.abs(x).max(), 0.40 * HEIGHT / np.abs(y).max())
    return np.column_stack([WIDTH / 2 + scale * x, HEIGHT / 2 + scale * y])


def _fill(polygon: NDArray[np.float64]) -> Mask:
    mask = np.zeros((HEIGHT, WIDTH), np.uint8)
    cv2.fillPoly(mask, [np.round(polygon * 16).astype(np.int32)], 1, shift=4)
    return mask > 0


def _box(x: float, y: float, w: float, h: float, turn: float = 0.0) -> NDArray[np.float64]:
    return np.asarray(cv2.boxPoints(((x, y), (w, h), turn)), dtype=float)


def _round(x: float, y: float, r: float) -> NDArray[np.float64]:
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    return np.column_stack([x + r * np.cos(turn), y + r * np.sin(turn)])


def _parts(rng: np.random.Generator, body: Mask, tall: float) -> list[tuple[str, NDArray, float]]:
    """Names, polygons and heights in mm of what stands on the body."""
    mm, cx, cy = PER_MM, WIDTH / 2, HEIGHT / 2
    found = [("neck", _box(cx + 0.42 * WIDTH, cy, 0.55 * WIDTH, 56 * mm), 9.0)]
    found += [
        (f"pickup_{k}", _box(cx + (10 - 62 * k) * mm, cy, 36 * mm, 88 * mm), 8.0)
        for k in range(int(rng.integers(1, 3)))
    ]
    bridge = cx - rng.uniform(88, 105) * mm
    found.append(("bridge", _box(bridge, cy, 24 * mm, 96 * mm), tall * rng.uniform(0.6, 0.9)))
    deep = cv2.distanceTransform(body.astype(np.uint8), cv2.DIST_L2, 5)
    for k in range(int(rng.integers(2, 5))):
        for _ in range(40):
            x, y = rng.uniform(0.15, 0.85) * WIDTH, cy + rng.uniform(60, 110) * mm
            near = any(
                cv2.pointPolygonTest(p.astype(np.float32), (x, y), measureDist=True) > -24 * mm
                for _, p, _ in found
            )
            if 0 <= y < HEIGHT and deep[int(y), int(x)] > 16 * mm and not near:
                found.append((f"knob_{k}", _round(x, y, rng.uniform(8, 12) * mm), tall))
                break
    return found


def _strings() -> list[tuple[str, NDArray, float]]:
    rows = HEIGHT / 2 + np.linspace(-26, 26, 6) * PER_MM
    left = WIDTH / 2 - 95 * PER_MM
    return [
        (f"string_{k}", _box((left + WIDTH) / 2, y, WIDTH - left, 0.9 * PER_MM), 12.0)
        for k, y in enumerate(rows)
    ]


def _relief(
    rng: np.random.Generator, body: Mask, outline: NDArray, contour: bool
) -> tuple[Image, Image]:
    """Heights of the bare body in mm, and the distance to the rim in mm."""
    rim = cv2.distanceTransform(body.astype(np.uint8), cv2.DIST_L2, 5).astype(np.float32) / PER_MM
    radius = rng.uniform(1.5, 5.0)
    inward = np.clip(rim / radius, 0, 1)
    h = 40.0 - radius + radius * np.sqrt(np.clip(1 - (1 - inward) ** 2, 0, 1))
    ys, xs = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    if contour:
        kind = rng.choice(["bevel", "arch", "dish", "bevel and dish"])
        if "bevel" in kind:
            angle, tilt = rng.uniform(0, 2 * np.pi), np.tan(np.radians(rng.uniform(8, 25)))
            along = np.cos(angle) * xs + np.sin(angle) * ys
            edge = np.percentile(along[body], rng.uniform(78, 90))
            soft = rng.uniform(2, 12)
            h -= tilt * soft * np.logaddexp(0, np.clip((along - edge) / PER_MM / soft, -40, 40))
        if kind == "arch":
            high, reach = rng.uniform(5, 14), rng.uniform(40, 90)
            h += high * (1 - np.exp(-((rim / reach) ** 2)))
        if "dish" in kind:
            spot = outline[int(rng.integers(len(outline)))] * 0.75
            spot += 0.25 * np.array([WIDTH / 2, HEIGHT / 2])
            away = np.hypot(xs - spot[0], ys - spot[1]) / PER_MM
            h -= rng.uniform(1.0, 4.0) * np.exp(-((away / rng.uniform(15, 45)) ** 2))
    return np.where(body, h, 0).astype(np.float32), rim


def _cast(heights: Image, lamp: NDArray, most: float) -> Image:
    """One where a point sees the lamp at (x, y in pixels, z in mm); at half size, then enlarged."""
    small = cv2.resize(heights, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)
    ys, xs = np.mgrid[0 : small.shape[0], 0 : small.shape[1]].astype(np.float32)
    dx, dy = lamp[0] / 2 - xs, lamp[1] / 2 - ys
    flat = np.hypot(dx, dy) + 1e-3
    rise = (lamp[2] - small) / (flat * 2 / PER_MM)
    reach = int(most / float(np.percentile(rise, 5)) * PER_MM / 2) + 2
    lit = np.ones(small.shape, np.float32)
    ux, uy = (dx / flat).astype(np.float32), (dy / flat).astype(np.float32)
    for step in np.arange(1.0, reach, 1.0, dtype=np.float32):
        beyond = cv2.remap(small, xs + step * ux, ys + step * uy, cv2.INTER_LINEAR)
        lit[beyond > small + rise * step * 2 / PER_MM + 0.05] = 0
    return np.asarray(cv2.resize(lit, (WIDTH, HEIGHT), interpolation=cv2.INTER_LINEAR))


def _light(
    rng: np.random.Generator, heights: Image, azimuth: float, gloss: float
) -> tuple[Image, Image]:
    """Irradiance and mirrored light of one lamp in *azimuth* degrees."""
    elevation, far = np.radians(rng.uniform(35, 60)), rng.uniform(450, 900)
    turn = np.radians(azimuth)
    centre = np.array(
        [
            WIDTH / 2 + far * np.cos(elevation) * np.cos(turn) * PER_MM,
            HEIGHT / 2 + far * np.cos(elevation) * np.sin(turn) * PER_MM,
            40 + far * np.sin(elevation),
        ]
    )
    ys, xs = np.mgrid[0:HEIGHT, 0:WIDTH].astype(np.float32)
    calm = cv2.GaussianBlur(heights, (0, 0), 1.0)
    nx = -cv2.Sobel(calm, cv2.CV_32F, 1, 0, scale=1 / 8) * PER_MM
    ny = -cv2.Sobel(calm, cv2.CV_32F, 0, 1, scale=1 / 8) * PER_MM
    size = np.sqrt(nx**2 + ny**2 + 1)
    total = np.zeros((HEIGHT, WIDTH), np.float32)
    shine = np.zeros_like(total)
    tube, count = rng.uniform(15, 60), 5
    power = rng.uniform(30, 150)
    for k in np.linspace(-1, 1, count):
        lamp = centre + np.array([-np.sin(turn), np.cos(turn), 0]) * k * tube * PER_MM
        dx, dy = (lamp[0] - xs) / PER_MM, (lamp[1] - ys) / PER_MM
        dz = lamp[2] - heights
        away = np.sqrt(dx**2 + dy**2 + dz**2)
        facing = np.clip((nx * dx + ny * dy + dz) / (size * away), 0, 1)
        lit = _cast(heights, lamp, float(heights.max() - np.median(heights[heights > 5])))
        total += lit * facing * (far / away) ** 2 / count
        half = np.sqrt((dx / away) ** 2 + (dy / away) ** 2 + (dz / away + 1) ** 2)
        mirror = (nx * dx / away + ny * dy / away + dz / away + 1) / (size * half)
        shine += gloss * lit * np.clip(mirror, 0, 1) ** power / count
    return total, shine


def _blob(rng: np.random.Generator, x: float, y: float, mm: float) -> NDArray[np.float64]:
    turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    r = np.ones_like(turn)
    for k in range(2, 5):
        r += rng.normal(0, 0.2 / k) * np.cos(k * turn + rng.uniform(0, 6))
    squash = rng.uniform(0.6, 1.0)
    return np.column_stack(
        [x + mm * PER_MM * r * np.cos(turn), y + squash * mm * PER_MM * r * np.sin(turn)]
    )


def _lint(rng: np.random.Generator, count: int) -> Image:
    """The glow of *count* fibres and as many specks of dust."""
    canvas = np.zeros((HEIGHT, WIDTH, 3), np.uint8)
    for _ in range(count):
        at = rng.uniform((0, 0), (WIDTH, HEIGHT))
        walk = np.cumsum(rng.normal(0, 3.5, (int(rng.integers(2, 14)), 2)), axis=0) * PER_MM + at
        bright = 85 * rng.uniform(0.5, 3.0) * np.array([0.54, 0.62, 1.0])
        points, wide = np.round(walk * 8).astype(np.int32), int(rng.integers(1, 3))
        cv2.polylines(canvas, [points], False, bright.tolist(), wide, cv2.LINE_AA, 3)
        spot = tuple(np.round(8 * rng.uniform((0, 0), (WIDTH, HEIGHT))).astype(int).tolist())
        radius = round(8 * rng.uniform(0.3, 1.3) * PER_MM)
        speck = (85 * rng.uniform(0.3, 1.5) * np.array([0.5, 0.6, 1.0])).tolist()
        cv2.circle(canvas, spot, radius, speck, -1, cv2.LINE_AA, 3)
    return cv2.GaussianBlur(canvas.astype(np.float32) / 85, (0, 0), 0.6)


def _photograph(
    rng: np.random.Generator, light: Image, level: float, curve: float
) -> NDArray[np.uint8]:
    """Linear light as a JPEG that was read again; the 98th percentile at *level* of the range."""
    ys, xs = np.mgrid[-1 : 1 : HEIGHT * 1j, -1 : 1 : WIDTH * 1j]
    seen = light * (1 - rng.uniform(0, 0.2) * (xs**2 + ys**2) / 2).astype(np.float32)[..., None]
    seen = cv2.GaussianBlur(seen, (0, 0), rng.uniform(0.5, 0.8))
    seen = seen * np.float32(level / np.percentile(seen.max(axis=2), 98))
    electrons = rng.uniform(4000, 20000)
    spread = np.sqrt(np.maximum(seen, 0) / electrons + rng.uniform(0.0005, 0.002) ** 2)
    seen = np.clip(seen + spread * rng.standard_normal(seen.shape), 0, 1)
    seen = seen * (1 - curve) + curve * (3 * seen**2 - 2 * seen**3)
    code = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    pixels = np.round(255 * code).astype(np.uint8)
    quality = int(rng.integers(88, 97))
    _, data = cv2.imencode(".jpg", pixels[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])


def _knocked(
    rng: np.random.Generator, light: Image, most: float
) -> tuple[Image, NDArray[np.float64]]:
    """What a camera sees that was pushed by up to *most* pixels, and the way back."""
    corners = np.array([(0, 0), (WIDTH, 0), (WIDTH, HEIGHT), (0, HEIGHT)], np.float32)
    shift = rng.uniform(-most, most, 2)
    moved = corners + (shift + rng.uniform(-most / 8, most / 8, (4, 2))).astype(np.float32)
    place = cv2.getPerspectiveTransform(corners, moved.astype(np.float32))
    seen = cv2.warpPerspective(light, place, (WIDTH, HEIGHT), borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(seen), np.linalg.inv(place)


def _plant(
    rng: np.random.Generator, coat: Mask, labels: NDArray, glow: Image, ground: Image
) -> list[str]:
    """Plant one place of each kind where it fits, into all three in place; name the kinds."""
    kinds: list[str] = []
    free = cv2.distanceTransform(coat.astype(np.uint8), cv2.DIST_L2, 5) / PER_MM
    for kind in DEFECTS:
        size = {
            "touch-up": rng.uniform(3, 10),
            "wear": rng.uniform(5, 16),
            "film": rng.uniform(14, 26),
        }[kind]
        ys, xs = np.nonzero((free > size + 4) & (labels == 0))
        if not len(ys):
            continue
        k = int(rng.integers(len(ys)))
        shape = _fill(_blob(rng, xs[k], ys[k], size)) & coat & (labels == 0)
        soft = {"touch-up": 0.4, "wear": rng.uniform(0.4, 3), "film": rng.uniform(3, 9)}[kind]
        share = cv2.GaussianBlur(shape.astype(np.float32), (0, 0), soft * PER_MM / 2)[..., None]
        ratio = {
            "touch-up": rng.uniform(0.3, 0.7) * np.array([1, 1, rng.uniform(0.9, 1.5)]),
            "wear": np.full(3, rng.uniform(0.1, 0.45)),
            "film": rng.uniform(0.72, 0.86) * np.array([1, 1, rng.uniform(1, 1.1)]),
        }[kind].astype(np.float32)
        glow *= 1 + share * (ratio - 1)
        if kind == "wear" and rng.random() < 0.6:
            wood = np.array([0.55, 0.40, 0.24], np.float32)
            ground += share * (wood - ground)
        labels[shape] = len(kinds) + 1
        kinds.append(kind)
    return kinds


def make(  # noqa: PLR0915 - one scene from ground to picture, in the order of light
    seed: int, nuisance: str, *, defects: bool, places: int = 2, brushed: bool = True
) -> World:
    """Draw a body; *places* UV frames with the lamp turned by about 180 degrees each."""
    rng = np.random.default_rng(seed)
    has = {nuisance} if nuisance != "all" else set(NUISANCES)
    outline = _outline(rng)
    body = _fill(outline)
    bare, _ = _relief(rng, body, outline, "contour" in has)
    tall = rng.uniform(16, 24) if "shadow" in has else rng.uniform(4, 8)
    things = _parts(rng, body, tall)
    strings = _strings()
    heights, material = bare.copy(), np.zeros((HEIGHT, WIDTH), np.uint8)
    for k, (_, polygon, high) in enumerate(things, start=1):
        mask = _fill(polygon)
        top = float(np.median(bare[mask & body])) + high if (mask & body).any() else 40 + high
        heights[mask] = top
        material[mask] = k
    for _, polygon, _ in strings:
        material[_fill(polygon)] = 255
    coat = body & (material == 0)
    # ordinary light
    hue = rng.uniform((0.15, 0.08, 0.03), (0.7, 0.5, 0.35)).astype(np.float32)
    grain = 1 + rng.uniform(0, 0.08) * _smooth(rng, (HEIGHT, WIDTH), 90)
    ground = np.full((HEIGHT, WIDTH, 3), rng.uniform(0.02, 0.2), np.float32)
    ground[body] = (hue * grain[..., None])[body]
    # glow of the coat
    mottle = 1 + 0.012 * _smooth(rng, (HEIGHT, WIDTH), 7) + 0.01 * _smooth(rng, (HEIGHT, WIDTH), 40)
    glow = np.full((HEIGHT, WIDTH, 3), 0.01, np.float32)
    tint = STRAW * rng.uniform(0.85, 1.15, 3).astype(np.float32)
    glow[body] = (tint * mottle[..., None])[body]
    labels = np.zeros((HEIGHT, WIDTH), np.uint8)
    kinds = _plant(rng, coat, labels, glow, ground) if defects else []
    for k in range(1, len(things) + 1):
        here = material == k
        ground[here] = rng.uniform(0.02, 0.75)
        glow[here] = rng.choice([0.01, 0.03, 0.9], p=[0.5, 0.35, 0.15]) * np.array([0.6, 0.7, 1.0])
    glow[material == 255], ground[material == 255] = 0.02, 0.45
    card = (12.0, 12.0, 60.0, 60.0)
    cut = (slice(12, 60), slice(12, 60))
    ground[cut], glow[cut] = 0.18, 0.0
    # photographs
    begun = rng.uniform(0, 360)
    day = sum(_light(rng, heights, begun + 180 * k, 0.0)[0] for k in range(2)) / 2
    visible = _photograph(rng, ground * (0.6 + 0.4 * day)[..., None], rng.uniform(0.6, 0.9), 0.0)
    azimuth = float(rng.uniform(0, 360))
    curve, leak = rng.uniform(0, 0.15), rng.uniform(0, 0.02)
    frames, turned, back = [], [], []
    for k in range(places):
        at = azimuth + 180 * k + rng.uniform(-12, 12)
        gloss = rng.uniform(0.2, 1.2) if "gloss" in has else rng.uniform(0, 0.03)
        light, shine = _light(rng, heights, at, gloss)
        if "two lamps" in has:
            for extra in range(int(rng.integers(1, 3))):
                more, shone = _light(rng, heights, at + 150 + 60 * extra, gloss)
                share = rng.uniform(0.3, 1.0)
                light, shine = light + share * more, shine + share * shone
        fibres = int(rng.integers(25, 70)) if "fibre" in has else int(rng.integers(0, 3))
        dirty = glow + _lint(rng if brushed else np.random.default_rng(seed + 1), fibres)
        emitted = dirty * light[..., None]
        thrown = cv2.GaussianBlur(
            emitted * ((material > 0) & (material < 255))[..., None], (0, 0), 9 * PER_MM
        )
        emitted = emitted + rng.uniform(0, 0.15) * thrown * (material == 0)[..., None]
        emitted = emitted + leak * ground * light[..., None]
        emitted = emitted + 0.25 * shine[..., None] * np.array([0.25, 0.2, 1.0], np.float32)
        knocked, way = _knocked(rng, emitted, 3.0)
        frames.append(_photograph(rng, knocked, rng.uniform(0.45, 0.75), curve))
        back.append(way)
        turned.append(at % 360)
    masks = [(n, p) for n, p, _ in (*things, *strings)]
    return World(
        visible, frames, turned, outline, masks, card, labels, PER_MM, kinds, to_visible=back
    )

"""What lies on a simulated body: colour coats, clear lacquer, defects, dirt.

The glow of clear lacquer over a ground of reflectance R is taken as E (1 + R) / 2: half the light
is emitted upwards at once, half goes down and comes back by R. Wear lowers the lacquer's thickness,
a touch-up covers it with a coat of another glow, film and grime veil it. These are arguments from
optics with figures from memory, not measurements of lacquer.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import linear

Image = NDArray[np.float32]
Mask = NDArray[np.bool_]

FINISHES = ("sunburst", "solid light", "solid dark", "transparent")
KINDS = ("touch-up", "fill", "wear", "thinned", "overspray", "shade", "film")
HARD_KINDS = ("touch-up", "fill", "wear", "thinned", "shade")


@dataclass(frozen=True)
class Defect:
    """One planted difference; ``label`` is its number in the label map.

    ``seen`` is CIEDE2000 between the mean colour of its place with and without it.
    """

    label: int
    kind: str
    ratio: float
    area_mm2: float
    seen: float


@dataclass(frozen=True)
class Planted:
    """A defect asked for by hand: place and size in millimetres of the body frame."""

    kind: str
    centre: tuple[float, float]
    size: tuple[float, float]
    ratio: float
    hue: float = 0.0
    visible: float = 0.0
    edge: float = 0.3
    outline: str = "round"


def cloud(shape: tuple[int, int], cells: float, rng: np.random.Generator) -> Image:
    """A smooth random field of unit spread with about *cells* lumps on the long side."""
    h, w = shape
    n = (max(3, round(cells * h / max(h, w))) + 3, max(3, round(cells * w / max(h, w))) + 3)
    small = rng.standard_normal(n).astype(np.float32)
    big = cv2.resize(small, (w, h), interpolation=cv2.INTER_CUBIC)
    return ((big - big.mean()) / (big.std() + 1e-6)).astype(np.float32)


def grain(shape: tuple[int, int], per_mm: float, rng: np.random.Generator) -> Image:
    """Wood grain along the frame's long side: lines about 1.5 mm apart, slowly wavering."""
    w, h = shape
    shape = (h, w)
    small = rng.standard_normal((max(4, int(h / per_mm / 60)), max(4, int(w / per_mm / 1.5))))
    lines = cv2.resize(small.astype(np.float32), (w, h), interpolation=cv2.INTER_CUBIC)
    bend = cloud(shape, 6, rng) * 4 * per_mm
    xs = np.arange(w, dtype=np.float32)[None, :] + bend
    ys = np.broadcast_to(np.arange(h, dtype=np.float32)[:, None], (h, w))
    lines = cv2.remap(
        lines, xs.astype(np.float32), ys.copy(), cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
    )
    return np.ascontiguousarray(lines.T)


def colour_coat(
    finish: str, depth: Image, per_mm: float, rng: np.random.Generator
) -> tuple[Image, Image]:
    """The ground's linear reflectance (h, w, 3) and the bare wood under it.

    *depth* is the distance to the outline in mm.
    """
    shape = depth.shape
    wood_colour = np.array([0.55, 0.36, 0.18], np.float32) * rng.uniform(0.8, 1.15)
    lines = grain(shape, per_mm, rng)[..., None]
    wood = wood_colour * (1 + 0.12 * lines) * (1 + 0.04 * cloud(shape, 5, rng)[..., None])
    if finish == "sunburst":
        reach = rng.uniform(45, 75)
        u = np.clip(depth / reach + 0.06 * cloud(shape, 7, rng), 0, 1)[..., None]
        middle = wood * np.array([1.0, rng.uniform(0.75, 0.95), 0.45], np.float32)
        red = np.array([0.22, 0.035, 0.015], np.float32) * (1 + 0.06 * lines)
        black = np.array([0.013, 0.010, 0.009], np.float32)
        low = black + (red - black) * np.clip(u / 0.45, 0, 1) ** 1.3
        return np.clip(low + (middle - low) * np.clip((u - 0.3) / 0.7, 0, 1) ** 1.2, 0, 1), wood
    if finish == "transparent":
        dye = np.array([rng.uniform(0.5, 1), rng.uniform(0.25, 0.8), rng.uniform(0.1, 0.7)])
        return np.clip(wood * dye.astype(np.float32), 0.004, 1), wood
    level = rng.uniform(0.35, 0.8) if finish == "solid light" else rng.uniform(0.02, 0.09)
    tint = np.array([rng.uniform(0.6, 1.1), rng.uniform(0.5, 1.1), rng.uniform(0.4, 1.1)])
    base = np.clip(level * tint, 0.008, 0.9).astype(np.float32)
    fade = 1 + 0.05 * cloud(shape, 3, rng)[..., None]
    return np.clip(base * fade, 0, 1).astype(np.float32), wood


def blob(
    xy: tuple[Image, Image],
    centre: tuple[float, float],
    size: tuple[float, float],
    outline: str,
    rng: np.random.Generator,
) -> Image:
    """A signed distance-like field in mm, positive within the shape."""
    turn = rng.uniform(-0.6, 0.6) if outline == "ragged" else 0.0
    dx, dy = xy[0] - centre[0], xy[1] - centre[1]
    u = (dx * np.cos(turn) + dy * np.sin(turn)).astype(np.float32)
    v = (dy * np.cos(turn) - dx * np.sin(turn)).astype(np.float32)
    a, b = size[0] / 2, size[1] / 2
    if outline == "straight":
        return np.minimum(a - np.abs(u), b - np.abs(v)).astype(np.float32)
    rho = np.sqrt((u / a) ** 2 + (v / b) ** 2)
    if outline == "ragged":
        angle = np.arctan2(v / b, u / a)
        for k in range(2, 7):
            rho = rho + 0.22 / k * np.sin(k * angle + rng.uniform(0, 6.28))
    return ((1 - rho) * min(a, b)).astype(np.float32)


_RATIO = {  # glow against the sound coat: easy, medium, hard
    "touch-up": ((0.25, 0.42), (0.35, 0.55), (0.45, 0.68)),
    "fill": ((1.7, 2.1), (1.5, 1.9), (1.35, 1.7)),
    "wear": ((0.10, 0.22), (0.15, 0.3), (0.2, 0.4)),
    "thinned": ((0.40, 0.52), (0.48, 0.62), (0.55, 0.70)),
    "overspray": ((0.55, 0.68), (0.6, 0.76), (0.68, 0.82)),
    "shade": ((1.3, 1.45), (1.22, 1.38), (1.18, 1.3)),
    "film": ((0.66, 0.76), (0.72, 0.82), (0.78, 0.86)),
}
_SIZE = {
    "touch-up": (9, 40),
    "fill": (7, 18),
    "wear": (22, 70),
    "thinned": (28, 80),
    "overspray": (50, 120),
    "shade": (22, 55),
    "film": (60, 130),
}


def choose_defects(
    level: int, body: Mask, xy: tuple[Image, Image], depth: Image, rng: np.random.Generator
) -> list[Planted]:
    """Draw one to four defects with places on the coat."""
    ys, xs = np.nonzero(body & (depth > 6))
    chosen = []
    weights = np.array([0.28, 0.12, 0.17, 0.12, 0.14, 0.09, 0.08])
    for kind in map(str, rng.choice(KINDS, size=int(rng.integers(1, 5)), p=weights)):
        i = int(rng.integers(len(ys)))
        place = (float(xy[0][ys[i], xs[i]]), float(xy[1][ys[i], xs[i]]))
        low, high = _SIZE[kind]
        longest = np.exp(rng.uniform(np.log(low), np.log(high)))
        size = (longest, longest * rng.uniform(0.45, 1.0))
        edge = {"overspray": (5, 12), "film": (8, 18), "wear": (0.8, 3), "thinned": (1, 3)}
        width = rng.uniform(*edge.get(kind, (0.25, 0.25)))
        ratio = rng.uniform(*_RATIO[kind][level])
        if kind == "overspray" and rng.random() < 0.3:
            ratio = 1 / ratio
        hue = {"touch-up": 0.4, "fill": 0.6, "overspray": 0.3, "film": 0.15}.get(kind, 0.0)
        hue *= rng.uniform(0.3 if kind == "fill" else 0.0, 1.0)
        seen = {"touch-up": 0.06, "thinned": 0.1, "shade": 0.2, "film": 0.06}.get(kind, 0.0)
        seen = 1.0 if kind == "wear" else seen * rng.uniform(0.2, 1.0)
        form = {"shade": "straight", "fill": "round"}.get(kind, "ragged")
        chosen.append(Planted(kind, place, size, ratio, hue, seen, width, form))
    return chosen


def apply_defect(
    one: Planted,
    xy: tuple[Image, Image],
    per_mm: float,
    layers: dict[str, Image],
    rng: np.random.Generator,
) -> tuple[Mask, float]:
    """Change ``albedo`` and ``glow`` in place; give the truth mask and how far its colour moved."""
    inner = blob(xy, one.centre, one.size, one.outline, rng)
    if one.kind in {"wear", "thinned"}:
        inner = inner + 0.5 * one.edge * cloud(inner.shape, 90, rng)
    soft = np.clip(0.5 + inner / (2 * max(one.edge, 0.5 / per_mm)), 0, 1)
    soft = soft * soft * (3 - 2 * soft)
    if one.kind == "thinned":
        streaks = cv2.resize(
            rng.standard_normal((max(4, int(one.size[1] / 1.5)), 4)).astype(np.float32),
            inner.shape[::-1],
            interpolation=cv2.INTER_CUBIC,
        )
        soft = soft * np.clip(0.92 + 0.08 * streaks, 0.5, 1)
    m = soft[..., None].astype(np.float32)
    before = layers["albedo"].copy()
    tint = np.array([1 - 0.5 * one.hue, 1.0, 1 + 1.6 * one.hue], np.float32)
    tint /= tint @ np.array([0.2126, 0.7152, 0.0722], np.float32)
    if one.kind == "wear":
        layers["albedo"] += m * one.visible * (layers["wood"] * 0.85 - layers["albedo"])
    elif one.kind == "film":
        layers["albedo"] += m * one.visible * (0.5 - layers["albedo"])
    elif one.kind in {"shade", "thinned"}:
        layers["albedo"] *= 1 + m * one.visible
    else:
        layers["albedo"] *= 1 + m * one.visible * rng.choice([-1.0, 1.0])
    layers["glow"] *= 1 + m * (one.ratio * tint - 1)
    truth = soft > 0.5
    if not truth.any():
        return truth, 0.0
    was, now = (linear.lab(image[truth].mean(axis=0)) for image in (before, layers["albedo"]))
    return truth, float(linear.ciede2000(was, now))


def dirt(layers: dict[str, Image], level: int, per_mm: float, rng: np.random.Generator) -> None:
    """Lay grime, wax haze, small scratches and lint over the whole face, in place."""
    shape = layers["glow"].shape[:2]
    amount = (0.015, 0.03, 0.05)[level]
    layers["glow"] *= np.exp(amount * cloud(shape, rng.uniform(2.5, 5), rng))[..., None]
    layers["glow"] *= np.exp(0.4 * amount * cloud(shape, 40, rng))[..., None]
    haze = np.clip(cloud(shape, 4, rng), 0, 3)[..., None]
    layers["glow"] += (
        layers["glow"].mean()
        * (0, 0.008, 0.015)[level]
        * haze
        * np.array([0.6, 0.8, 1.4], np.float32)
    )
    marks = np.zeros(shape, np.float32)
    for _ in range(int(rng.integers(4, 14)) * (level + 1)):
        x, y = rng.uniform(0, shape[1]), rng.uniform(0, shape[0])
        a, n = rng.uniform(0, 6.28), rng.uniform(2, 9) * per_mm
        bend = a + rng.uniform(-0.8, 0.8)
        mid = (x + n * np.cos(a), y + n * np.sin(a))
        end = (mid[0] + n * np.cos(bend), mid[1] + n * np.sin(bend))
        line = np.array([(x, y), mid, end]).round().astype(np.int32)
        cv2.polylines(marks, [line[:, None]], False, float(rng.uniform(0.3, 1.0)), 1, cv2.LINE_AA)
    marks *= min(1.0, 0.12 * per_mm)  # a fibre is thinner than a pixel
    layers["lint"] = marks

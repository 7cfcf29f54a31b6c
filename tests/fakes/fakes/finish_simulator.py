"""Pairs of photographs, visible and UV-A, of bodies that do not exist, with the truth beside them.

A face is laid out in millimetres (``finish_shapes``), clothed (``finish_surfaces``), lit by two
lamps in the visible and by one or two UV lamps with inverse-square fall-off and a hot spot, seen by
a camera that moved a little between the two, and sent through vignetting, blur, shot and read
noise, sRGB and JPEG. Left out: strings, lens distortion, moiré, interreflection between parts.
Everything follows from the seed. Images are RGB, uint8.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from fakes.finish_shapes import TUNING_STYLES, Body, Hardware, Points, make_body
from fakes.finish_surfaces import (
    FINISHES,
    HARD_KINDS,
    Defect,
    Image,
    Planted,
    apply_defect,
    choose_defects,
    cloud,
    colour_coat,
    dirt,
)

LEVELS = {"easy": 0, "medium": 1, "hard": 2}
FRAME_MM = 500.0
LUMA = np.array([0.2126, 0.7152, 0.0722], np.float32)


@dataclass(frozen=True)
class Pair:
    """A simulated pair and its truth, all in pixels of the visible photograph."""

    visible: NDArray[np.uint8]
    uv: NDArray[np.uint8]
    labels: NDArray[np.uint8]
    defects: tuple[Defect, ...]
    transform: NDArray[np.float64]
    px_per_mm: float
    outline: Points
    parts: tuple[tuple[str, Points], ...]
    grey: tuple[float, float, float, float]
    grey_reflectance: float
    style: str
    finish: str
    side: str


@dataclass(frozen=True)
class Faults:
    """What the photographer did wrong; the defaults are a careful one."""

    leak: float | None = None
    blur: float = 0.0
    shake: float = 0.0
    overexposed: float = 1.0
    fall_off: float = 1.0
    moved: float | None = None
    uv_turned: bool = False


def simulate(
    seed: int,
    *,
    difficulty: str = "medium",
    style: str | None = None,
    finish: str | None = None,
    clean: bool = False,
    width: int = 2000,
    side: str | None = None,
    planted: Sequence[Planted] | None = None,
    faults: Faults | None = None,
) -> Pair:
    """The pair that belongs to *seed* and the settings."""
    rng = np.random.default_rng([seed, LEVELS[difficulty]])
    level, faults = LEVELS[difficulty], faults or Faults()
    style = style or str(rng.choice(TUNING_STYLES))
    finish = finish or str(rng.choice(FINISHES))
    side = side or ("back" if rng.random() < 0.35 else "front")
    body = make_body(style, side, rng)
    height, per_mm = round(width * 0.75), width / FRAME_MM
    placed = _place(body, width, height, per_mm, rng)
    xy, to_px = placed
    outline = to_px(body.outline)
    inside = _fill((height, width), outline)
    depth = (cv2.distanceTransform(inside, cv2.DIST_L2, 5) / per_mm).astype(np.float32)
    layers: dict[str, Image] = {}
    layers["albedo"], layers["wood"] = colour_coat(finish, depth, per_mm, rng)
    layers["glow"] = _sound_coat(layers["albedo"], rng)
    hidden = np.zeros((height, width), bool)
    for part in body.hardware:
        hidden |= _fill((height, width), to_px(part.polygon)) > 0
    coat = (inside > 0) & ~hidden
    if planted is None:
        planted = [] if clean else choose_defects(level, coat, xy, depth, rng)
    labels, defects = np.zeros((height, width), np.uint8), []
    for number, one in enumerate(planted, start=1):
        truth, seen = apply_defect(one, xy, per_mm, layers, rng)
        labels[truth & coat] = number
        area = float(np.count_nonzero(truth & coat)) / per_mm**2
        defects.append(Defect(number, one.kind, one.ratio, area, seen))
    dirt(layers, level, per_mm, rng)
    normals = _normals(depth, rng)
    grey = _dress(layers, body.hardware, (to_px, inside), (width, height, per_mm), rng)
    visible = _visible_light(layers["albedo"], normals, level, rng)
    uv, transform = _uv_light(layers, normals, (xy, coat), level=level, faults=faults, rng=rng)
    if faults.uv_turned:
        uv = np.ascontiguousarray(uv[::-1, ::-1])
        turn = np.array([[-1, 0, width - 1], [0, -1, height - 1], [0, 0, 1]], float)
        transform = transform @ turn
    parts = tuple((part.name, to_px(part.polygon)) for part in body.hardware)
    return Pair(
        visible,
        uv,
        labels,
        tuple(d for d in defects if d.area_mm2 > 0),
        transform,
        per_mm,
        outline,
        parts,
        grey,
        0.18,
        style,
        finish,
        side,
    )


def _place(body: Body, width: int, height: int, per_mm: float, rng: np.random.Generator):
    """Lay the body's long side along the frame; give coordinates in mm and the map to pixels."""
    middle = (body.outline.max(0) + body.outline.min(0)) / 2
    turn = np.radians(-90 + rng.normal(0, 1.0))
    c, s = np.cos(turn), np.sin(turn)
    centre = np.array([width / 2 + rng.normal(0, 3) * per_mm, height / 2])
    spin = np.array([(c, -s), (s, c)])

    def to_px(points: Points) -> Points:
        return (points - middle) @ spin.T * per_mm + centre

    ys, xs = np.mgrid[0:height, 0:width].astype(np.float32)
    u, v = (xs - centre[0]) / per_mm, (ys - centre[1]) / per_mm
    x = (c * u + s * v + middle[0]).astype(np.float32)
    y = (-s * u + c * v + middle[1]).astype(np.float32)
    return (x, y), to_px


def _fill(shape: tuple[int, int], points: Points) -> NDArray[np.uint8]:
    mask = np.zeros(shape, np.uint8)
    cv2.fillPoly(mask, [np.round(points * 16).astype(np.int32)], 255, cv2.LINE_8, 4)
    return mask


def _sound_coat(albedo: Image, rng: np.random.Generator) -> Image:
    """E (1 + R) / 2 for aged lacquer, greenish to straw."""
    straw = np.array([rng.uniform(0.55, 0.9), rng.uniform(0.75, 0.9), rng.uniform(0.3, 0.6)])
    return (straw.astype(np.float32) * (1 + albedo) / 2).astype(np.float32)


def _normals(depth: Image, rng: np.random.Generator) -> tuple[Image, Image, Image]:
    """The surface normal: flat, with an edge rounded over some millimetres."""
    radius = rng.uniform(3, 9)
    smooth = cv2.GaussianBlur(depth, (0, 0), 1.5)
    gx, gy = cv2.Sobel(smooth, cv2.CV_32F, 1, 0), cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    size = np.sqrt(gx**2 + gy**2) + 1e-6
    tilt = np.sin(np.radians(65) * np.clip(1 - depth / radius, 0, 1) ** 1.5).astype(np.float32)
    tilt *= cv2.GaussianBlur((depth > 0).astype(np.float32), (0, 0), 0.6)
    return -gx / size * tilt, -gy / size * tilt, np.sqrt(1 - tilt**2)


def _dress(
    layers: dict[str, Image], hardware: Sequence[Hardware], scene, frame, rng
) -> tuple[float, float, float, float]:
    """Put background, hardware and a grey standard into albedo and glow; give the grey's box."""
    width, height, per_mm = frame
    to_px, inside = scene
    shape = (height, width)
    cloth = rng.choice([0.03, 0.12, 0.45]) * rng.uniform(0.8, 1.2, 3)
    weave = 1 + 0.10 * rng.standard_normal(shape).astype(np.float32)
    soft = cv2.GaussianBlur(weave, (0, 0), max(0.6, per_mm * 0.15)) * (
        1 + 0.05 * cloud(shape, 5, rng)
    )
    around = (soft[..., None] * cloth.astype(np.float32)).astype(np.float32)
    edge = cv2.GaussianBlur(inside.astype(np.float32) / 255, (0, 0), 0.6)[..., None]
    shadow = cv2.GaussianBlur(inside.astype(np.float32) / 255, (0, 0), 5 * per_mm)[..., None]
    around *= 1 - 0.5 * shadow
    layers["albedo"] = layers["albedo"] * edge + around * (1 - edge)
    layers["glow"] = layers["glow"] * edge + 0.02 * around * (1 - edge)
    for part in hardware:
        blur = max(0.5, 0.12 * part.height * per_mm)
        mask = _fill(shape, to_px(part.polygon))
        shade = 1 + 0.04 * cloud(shape, 12, rng)[..., None]
        box = _reached(mask, blur)  # beyond it nothing is changed
        cover = mask[box].astype(np.float32) / 255
        albedo, glow = layers["albedo"][box], layers["glow"][box]
        cast = cv2.GaussianBlur(cover, (0, 0), blur)[..., None]
        albedo *= 1 - 0.35 * cast
        glow *= 1 - 0.25 * cast
        on = cv2.GaussianBlur(cover, (0, 0), 0.6)[..., None]
        albedo += on * (np.float32(part.albedo) * shade[box] - albedo)
        glow += on * (np.float32(part.glow) * shade[box] - glow)
    side = 22 * per_mm
    x0, y0 = width - side - 4 * per_mm, 4 * per_mm
    x1, y1 = x0 + side, y0 + side
    rows, columns = slice(int(y0), int(y1)), slice(int(x0), int(x1))
    layers["albedo"][rows, columns] = 0.18
    layers["glow"][rows, columns] = 0.0
    trim = 0.15 * side
    return (x0 + trim, y0 + trim, x1 - trim, y1 - trim)


def _reached(mask: NDArray[np.uint8], blur: float) -> tuple[slice, slice]:
    """The box that a blur of the mask reaches, wide enough for it to end at nothing."""
    x, y, width, height = cv2.boundingRect(mask)
    # kernels of OpenCV reach four spreads; twice that keeps what is mirrored at the border empty
    margin = 2 * (int(np.ceil(4 * max(blur, 0.6))) + 2)
    rows = slice(max(0, y - margin), y + height + margin)
    return rows, slice(max(0, x - margin), x + width + margin)


def _visible_light(albedo: Image, normals, level: int, rng) -> NDArray[np.uint8]:
    nx, ny, nz = normals
    h, w = nz.shape
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float32)
    slope = rng.normal(0, 0.08, 2) * (1 + level)
    light = (0.75 * nz + 0.25 + 0.15 * (nx * rng.normal() + ny * rng.normal())) * (
        1 + slope[0] * (xs / w - 0.5) + slope[1] * (ys / w - 0.4)
    )
    shine = np.clip(nx * rng.normal() + ny * rng.normal() - 0.5, 0, 1) * 0.15
    image = 0.85 * albedo * np.clip(light, 0.1, 2)[..., None] + shine[..., None]
    image += (0.0, 0.002, 0.006)[level]
    return _camera(image, 0.5 + 0.15 * level, (0.00004, 0.00012, 0.0003)[level], level, rng)


def _lamp(xy, strength: float, rng) -> tuple[Image, Image, Image, Image]:
    """Irradiance of one UV lamp and the direction from which it comes (image axes)."""
    x, y = xy
    a = rng.uniform(0, 6.28)
    far, high = rng.uniform(150, 450), rng.uniform(420, 850)
    dx, dy = far * np.cos(a) - x, far * np.sin(a) - y
    r = np.sqrt(dx**2 + dy**2 + high**2)
    aim = rng.normal(0, 60, 2)
    spread = rng.uniform(200, 420)
    spot = 1 + rng.uniform(0.1, 0.7) * strength * np.exp(
        -((x - aim[0]) ** 2 + (y - aim[1]) ** 2) / (2 * spread**2)
    )
    power = spot * (high / r) ** (2 * strength)
    return (
        power.astype(np.float32),
        (dx / r).astype(np.float32),
        (dy / r).astype(np.float32),
        (high / r).astype(np.float32),
    )


def _uv_light(layers, normals, scene, *, level: int, faults: Faults, rng):
    xy, coat = scene
    lint = layers["lint"]
    nx, ny, nz = normals
    h, w = nz.shape
    lit = np.zeros((h, w), np.float32)
    for _ in range(int(rng.integers(1, 3))):
        power, lx, ly, lz = _lamp(xy, faults.fall_off * (0.8 + 0.2 * level), rng)
        # the body's long side lies along the frame: image x is body y
        lit += power * np.clip(nx * ly - ny * lx + nz * lz, 0.02, None)
    leak = rng.uniform(0, (0.006, 0.012, 0.02)[level])
    leak = leak if faults.leak is None else faults.leak
    violet = np.array([0.5, 0.25, 1.6], np.float32)
    image = layers["glow"] * lit[..., None]
    mean = float((image @ LUMA)[coat].mean())
    image = image + leak * mean / 0.2 * violet * layers["albedo"] * lit[..., None] / lit.mean()
    image += lint[..., None] * mean * np.array([0.4, 0.6, 1.2], np.float32)
    bright = float(np.percentile(image[coat].max(axis=1), 99.5))
    image *= rng.uniform(0.45, 0.8) * faults.overexposed / bright
    pose = _pose(w, h, (6, 10, 20)[level] * w / 2000 if faults.moved is None else faults.moved, rng)
    image = cv2.warpPerspective(
        image, pose, (w, h), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT
    )
    if faults.shake:
        n = max(3, int(faults.shake) | 1)
        kernel = np.zeros((n, n), np.float32)
        a = rng.uniform(0, 3.14)
        mid = np.array([n // 2, n // 2])
        reach = (n // 2) * np.array([np.cos(a), np.sin(a)])
        ends = np.round(np.array([mid - reach, mid + reach])).astype(int)
        cv2.line(kernel, tuple(ends[0]), tuple(ends[1]), 1.0, 1)
        image = cv2.filter2D(image, -1, kernel / kernel.sum())
    soft = np.hypot(0.6 + 0.2 * level, faults.blur)
    noise = (0.00015, 0.0004, 0.0009)[level]
    return _camera(image, soft, noise, level, rng), np.linalg.inv(pose)


def _pose(w: int, h: int, size: float, rng) -> NDArray[np.float64]:
    """A homography visible → UV: a shift, a turn, a breath of perspective."""
    shift = rng.normal(0, size, 2)
    corners = np.array([(0, 0), (w, 0), (w, h), (0, h)], float)
    a = np.radians(rng.normal(0, 0.02 * size * 2000 / w))
    middle = np.array([w / 2, h / 2])
    scale = 1 + rng.normal(0, 0.0004 * size)
    spin = scale * np.array([(np.cos(a), -np.sin(a)), (np.sin(a), np.cos(a))])
    moved = (corners - middle) @ spin.T + middle + shift + rng.normal(0, 0.2 * size, (4, 2))
    return cv2.getPerspectiveTransform(corners.astype(np.float32), moved.astype(np.float32)).astype(
        float
    )


def _camera(image: Image, soft: float, noise: float, level: int, rng) -> NDArray[np.uint8]:
    """Vignetting, blur, noise correlated as after demosaicing, sRGB, JPEG."""
    h, w = image.shape[:2]
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float32)
    off = ((xs - w / 2) ** 2 + (ys - h / 2) ** 2) / (w / 2) ** 2
    image = image * (1 / (1 + rng.uniform(0.05, 0.2) * off) ** 2)[..., None]
    image = cv2.GaussianBlur(image.astype(np.float32), (0, 0), soft)
    grainy = rng.standard_normal(image.shape, dtype=np.float32)
    grainy = cv2.GaussianBlur(grainy, (0, 0), 0.6) * 1.9
    image = image + grainy * np.sqrt(np.clip(image, 0, 1) * noise + noise * 0.02)
    image = np.clip(image, 0, 1)
    code = np.where(image <= 0.0031308, 12.92 * image, 1.055 * image ** (1 / 2.4) - 0.055)
    rgb = np.round(code * 255).astype(np.uint8)
    quality = int(rng.integers((92, 88, 84)[level], 98))
    ok, data = cv2.imencode(
        ".jpg", np.ascontiguousarray(rgb[..., ::-1]), [cv2.IMWRITE_JPEG_QUALITY, quality]
    )
    if not ok:
        raise RuntimeError("the JPEG could not be written")
    return np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])


def truth_box(pair: Pair, label: int) -> tuple[int, int, int, int]:
    """X0, y0, x1, y1 of one planted defect in the visible photograph."""
    ys, xs = np.nonzero(pair.labels == label)
    return int(xs.min()), int(ys.min()), int(xs.max()), int(ys.max())


def soft_edged(defect: Defect) -> bool:
    """Say whether the kind fades out, so that its area is a matter of convention."""
    return defect.kind not in HARD_KINDS


def of_another(pair: Pair, other: Pair) -> Pair:
    """The visible photograph of *pair* with the UV photograph of *other*."""
    return replace(pair, uv=other.uv)

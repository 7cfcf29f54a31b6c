"""Photographs of one face on two visits, drawn: other lamp, other camera place, marks planted.

A face of 130 by 100 mm (burst, natural, opaque or dark coat; checking, old marks; guard, cover and
knobs that stand up) is photographed by hand: the lamp comes from anywhere, throws shadows of what
stands up, mirrors a window with bars in the coat and in metal; the camera is shifted, turned and
tilted and sees what stands up displaced (parallax); white balance, tone curve, lens blur, noise
and JPEG follow. Shadows and mirrors are drawn, not cast: it is the world on which settings of the
comparison were chosen. All ranges are from no measurement. Everything follows from the seed.
"""

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

Image = NDArray[np.float32]
Photo = NDArray[np.uint8]

PER_MM = 7.0
WIDE, TALL = 130.0, 100.0
ROOM = 14.0
"""Millimetres drawn around the frame, so that a moved camera still sees the face."""
COATS = ("burst", "natural", "opaque", "dark")
MARKS = ("chip", "scratch", "stain", "ding")


@dataclass(frozen=True)
class Part:
    """What stands on the face: outline in mm of the drawn face, height in mm, colour, mirror."""

    polygon: NDArray[np.float64]
    high: float
    colour: tuple[float, float, float]
    metal: bool = False


@dataclass(frozen=True)
class Mark:
    """A planted mark: kind, centre and length in mm, and its contrast in log luminance."""

    kind: str
    x: float
    y: float
    length: float
    contrast: float


@dataclass
class Face:
    """Reflectance, bumps (mm) and parts of one face."""

    albedo: Image
    height: Image
    parts: list[Part]
    marks: list[Mark] = field(default_factory=list)

    def copy(self) -> "Face":
        """Another of the same, to be marked."""
        return Face(self.albedo.copy(), self.height.copy(), list(self.parts), list(self.marks))


def _grid() -> tuple[Image, Image]:
    rows, columns = round((TALL + 2 * ROOM) * PER_MM), round((WIDE + 2 * ROOM) * PER_MM)
    ys, xs = np.mgrid[0:rows, 0:columns].astype(np.float32)
    return xs / np.float32(PER_MM), ys / np.float32(PER_MM)


def _wander(rng: np.random.Generator, shape, cells: float) -> Image:
    small = rng.standard_normal((max(3, int(cells)), max(3, int(cells * 1.3)))).astype(np.float32)
    return np.asarray(cv2.resize(small, shape[::-1], interpolation=cv2.INTER_CUBIC))


def _line(shape, points, wide_mm: float) -> Image:
    mask = np.zeros(shape, np.uint8)
    at = np.round(np.asarray(points) * PER_MM * 16).astype(np.int32)
    cv2.polylines(mask, [at[:, None]], False, 255, 1, cv2.LINE_AA, 4)
    soft = mask.astype(np.float32) / 255
    wide = wide_mm * PER_MM
    if wide <= 1:
        return soft * np.float32(wide)
    return np.clip(cv2.GaussianBlur(soft, (0, 0), wide / 2.4) * np.float32(wide), 0, 1)


def _blob(grid, at: tuple[float, float], long: float, rng, soft: float) -> Image:
    (xs, ys), (x, y) = grid, at
    turn, squash = rng.uniform(0, 3.14), rng.uniform(0.5, 1.0)
    u = (xs - x) * np.cos(turn) + (ys - y) * np.sin(turn)
    v = ((ys - y) * np.cos(turn) - (xs - x) * np.sin(turn)) / squash
    angle, r = np.arctan2(v, u), np.hypot(u, v)
    edge = long / 2 * np.ones_like(r)
    for k in range(2, 6):
        edge = edge * (1 + 0.16 / k * np.sin(k * angle + rng.uniform(0, 6.28)))
    return np.clip(0.5 + (edge - r) / soft, 0, 1).astype(np.float32)


def make_face(seed: int, coat: str | None = None) -> Face:
    """Draw the face of a seed."""
    rng = np.random.default_rng([seed, 17])
    grid = _grid()
    shape = grid[0].shape
    coat = coat or str(rng.choice(COATS))
    lines = _wander(rng, shape, 60)
    lines = cv2.GaussianBlur(lines, (0, 0), sigmaX=40, sigmaY=0.8)
    lines /= lines.std()
    wood = np.array([0.50, 0.32, 0.15], np.float32) * (1 + 0.14 * lines[..., None])
    if coat == "natural":
        albedo = wood.copy()
    elif coat == "burst":
        away = np.hypot(grid[0] - 75, grid[1] - 60) / 75
        share = np.clip(1.25 - away, 0.03, 1)[..., None]
        albedo = wood * share + np.array([0.03, 0.012, 0.008], np.float32) * (1 - share)
    else:
        base = rng.uniform(0.3, 0.7, 3) if coat == "opaque" else rng.uniform(0.015, 0.05, 3)
        albedo = np.broadcast_to(base.astype(np.float32), (*shape, 3)).copy()
        albedo *= 1 + 0.03 * _wander(rng, shape, 5)[..., None]
    albedo = np.clip(albedo, 0.008, 1).astype(np.float32)
    face = Face(albedo, np.zeros(shape, np.float32), _parts(rng))
    for _ in range(int(rng.integers(0, 9))):  # checking: fine cracks across the grain
        x, step = rng.uniform(0, WIDE + 2 * ROOM), rng.normal(0, 1.2, 12)
        crack = np.column_stack([x + np.cumsum(step), np.linspace(0, TALL + 2 * ROOM, 12)])
        face.albedo *= 1 - 0.35 * _line(shape, crack, 0.12)[..., None]
    for _ in range(int(rng.integers(2, 8))):  # old marks
        plant(face, rng, str(rng.choice(MARKS)), kept=False)
    return face


def _parts(rng: np.random.Generator) -> list[Part]:
    turn = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    ring = np.column_stack([np.cos(turn), np.sin(turn)])
    found = []
    if rng.random() < 0.5:
        radius = 1 + 0.15 * np.sin(3 * turn + rng.uniform(0, 6))
        centre = np.array([rng.uniform(40, 80), rng.uniform(100, 115)])
        pale = (0.75, 0.72, 0.62) if rng.random() < 0.5 else (0.03, 0.03, 0.035)
        found.append(Part(centre + ring * radius[:, None] * (35, 18), 2.0, pale))
    if rng.random() < 0.9:
        box = np.array([(-8, -30), (8, -30), (8, 30), (-8, 30)], float)
        at = (rng.uniform(30, 60), 55)
        found.append(Part(box + at, 6.0, (0.55, 0.54, 0.52), metal=True))
    for _ in range(int(rng.integers(1, 3))):
        at = (rng.uniform(95, 135), rng.uniform(80, 110))
        found.append(Part(ring * rng.uniform(8, 11) + at, 14.0, (0.03, 0.03, 0.03)))
    return found


def free_places(face: Face, clear_mm: float) -> NDArray[np.bool_]:
    """Where the coat lies bare and *clear_mm* away from what stands up and from the frame."""
    taken = np.zeros(face.height.shape, np.uint8)
    for part in face.parts:
        cv2.fillPoly(taken, [np.round(part.polygon * PER_MM).astype(np.int32)], 1)
    away = cv2.distanceTransform(1 - taken, cv2.DIST_L2, 5) > clear_mm * PER_MM
    inner = np.zeros_like(taken, bool)
    rim = round((ROOM + 17) * PER_MM)
    inner[rim:-rim, rim:-rim] = True
    return np.asarray(away & inner)


def plant(
    face: Face, rng: np.random.Generator, kind: str, *, kept: bool = True, clear_mm: float = 8.0
) -> None:
    """Put one mark of 3 to 10 mm on the bare coat; an old one (not *kept*) lies anywhere."""
    grid, shape = _grid(), face.height.shape
    free = free_places(face, clear_mm if kept else 1.0)
    for old in face.marks:  # one mark does not hide another
        free &= np.hypot(grid[0] - old.x, grid[1] - old.y) > 16
    ys, xs = np.nonzero(free)
    if not len(ys):
        return
    k = int(rng.integers(len(ys)))
    x, y = float(xs[k] / PER_MM), float(ys[k] / PER_MM)
    long = float(rng.uniform(3, 10))
    before = face.albedo.copy()
    if kind == "scratch":
        a = rng.uniform(0, 3.14)
        t = np.linspace(-0.5, 0.5, 6)
        bow = rng.normal(0, 0.06) * long * (0.25 - t**2) * 4
        path = np.column_stack(
            [x + long * t * np.cos(a) - bow * np.sin(a), y + long * t * np.sin(a) + bow * np.cos(a)]
        )
        mask = _line(shape, path, rng.uniform(0.15, 0.4))
        colour = np.array([0.7, 0.62, 0.5]) if face.albedo.mean() < 0.25 else np.full(3, 0.05)
        face.albedo += (0.8 * mask[..., None] * (colour - face.albedo)).astype(np.float32)
    elif kind == "chip":
        mask = _blob(grid, (x, y), long, rng, 0.25)
        bare = np.array([0.62, 0.45, 0.26]) * rng.uniform(0.75, 1.1)
        face.albedo += mask[..., None] * (bare.astype(np.float32) - face.albedo)
        face.height -= 0.25 * cv2.GaussianBlur(mask, (0, 0), 1.0)
    elif kind == "stain":
        mask = _blob(grid, (x, y), long, rng, rng.uniform(0.5, 2.0))
        tint = rng.uniform(0.55, 0.85) * np.array([1.0, rng.uniform(0.85, 1), rng.uniform(0.7, 1)])
        face.albedo *= 1 + mask[..., None] * (tint.astype(np.float32) - 1)
    else:
        mask = _blob(grid, (x, y), long, rng, long / 2)
        face.height -= np.float32(rng.uniform(0.1, 0.5)) * cv2.GaussianBlur(mask, (0, 0), 3.0)
    if kept:
        light = np.log(cv2.GaussianBlur(face.albedo, (0, 0), 1.1).mean(axis=2) + 0.01)
        dark = np.log(cv2.GaussianBlur(before, (0, 0), 1.1).mean(axis=2) + 0.01)
        contrast = float(np.abs(light - dark).max())
        face.marks.append(Mark(kind, x, y, long, contrast))


@dataclass(frozen=True)
class Shot:
    """One photograph, and the map from mm of the drawn face to its pixels."""

    picture: Photo
    place: NDArray[np.float64]

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Where a point of the coat lies in it."""
        u, v, w = self.place @ np.array([x, y, 1.0])
        return float(u / w), float(v / w)


def photograph(face: Face, rng: np.random.Generator, *, azimuth: float | None = None) -> Shot:
    """Photograph the face by hand, the lamp from *azimuth* degrees or from anywhere."""
    shape = face.height.shape
    azimuth = float(rng.uniform(0, 360)) if azimuth is None else azimuth
    a, high = np.radians(azimuth), np.radians(rng.uniform(30, 65))
    lamp = np.array([np.cos(a) * np.cos(high), np.sin(a) * np.cos(high), np.sin(high)])
    camera = rng.normal(0, 40, 2) + np.array([WIDE / 2 + ROOM, TALL / 2 + ROOM])
    far = rng.uniform(500, 800)
    xs, ys = _grid()
    away = np.hypot(xs - camera[0] - 350 * lamp[0], ys - camera[1] - 350 * lamp[1]) / 600
    light = (1 / (0.5 + away**2)).astype(np.float32)
    light /= light.mean()
    gy, gx = np.gradient(face.height * PER_MM)
    facing = np.clip((lamp[2] - gx * lamp[0] - gy * lamp[1]) / lamp[2], 0.1, 2.2)
    ambient = rng.uniform(0.2, 0.5)
    shade = np.ones(shape, np.float32)
    cover = np.zeros(shape, np.float32)
    picture = face.albedo.copy()
    for part in face.parts:
        standing = part.polygon + part.high * (part.polygon - camera) / far
        mask = np.zeros(shape, np.uint8)
        cv2.fillPoly(mask, [np.round(standing * PER_MM * 16).astype(np.int32)], 255, 8, 4)
        thrown = np.zeros(shape, np.uint8)
        cast = part.polygon - part.high * lamp[:2] / lamp[2]
        hull = cv2.convexHull(np.vstack([part.polygon, cast]).astype(np.float32))
        cv2.fillPoly(thrown, [np.round(hull * PER_MM * 16).astype(np.int32)], 255, 8, 4)
        soft = rng.uniform(0.3, 3.0) * PER_MM
        shade *= 1 - 0.75 * cv2.GaussianBlur(thrown.astype(np.float32) / 255, (0, 0), soft)
        on = cv2.GaussianBlur(mask.astype(np.float32) / 255, (0, 0), 0.6)
        coat = np.asarray(part.colour, np.float32)
        if part.metal:
            mirror = 0.7 + 0.6 * _wander(rng, shape, 7)
            coat = coat * np.clip(mirror, 0.15, 1.6)[..., None]
        picture += on[..., None] * (coat - picture)
        cover = np.maximum(cover, on)
    lit = ambient + (1 - ambient) * light * (shade * facing * (1 - cover) + cover)
    picture = picture * lit[..., None]
    picture += _window(rng, xs, ys)[..., None] * np.float32(rng.uniform(0.0, 0.35))
    picture *= np.array([rng.uniform(0.94, 1.06), 1.0, rng.uniform(0.9, 1.1)], np.float32)
    place = _pose(rng)
    size = (round(WIDE * PER_MM), round(TALL * PER_MM))
    seen = cv2.warpPerspective(
        picture, place @ np.diag([1 / PER_MM, 1 / PER_MM, 1.0]), size, flags=cv2.INTER_LINEAR
    )
    return Shot(_develop(seen, rng), place)


def _window(rng: np.random.Generator, xs: Image, ys: Image) -> Image:
    """A window with bars mirrored in the coat."""
    x, y = rng.uniform(0, WIDE + 2 * ROOM), rng.uniform(0, TALL + 2 * ROOM)
    turn, wide, tall = rng.uniform(-0.5, 0.5), rng.uniform(20, 60), rng.uniform(20, 50)
    u = (xs - x) * np.cos(turn) + (ys - y) * np.sin(turn)
    v = (ys - y) * np.cos(turn) - (xs - x) * np.sin(turn)
    soft = rng.uniform(1.0, 6.0)
    pane = np.clip((wide / 2 - np.abs(u)) / soft, 0, 1) * np.clip(
        (tall / 2 - np.abs(v)) / soft, 0, 1
    )
    bars = np.clip(np.abs(u) / soft, 0, 1) * np.clip(np.abs(v) / soft, 0, 1)
    return (pane * bars).astype(np.float32)


def _pose(rng: np.random.Generator) -> NDArray[np.float64]:
    """Millimetres of the drawn face to pixels of the photograph: a camera held by hand."""
    turn, scale = np.radians(rng.normal(0, 3)), PER_MM * (1 + rng.normal(0, 0.04))
    spin = scale * np.array([(np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))])
    centre = np.array([WIDE / 2 + ROOM, TALL / 2 + ROOM])
    middle = np.array([WIDE, TALL]) * PER_MM / 2 + rng.normal(0, 0.025 * WIDE * PER_MM, 2)
    place = np.eye(3)
    place[:2, :2] = spin
    place[:2, 2] = middle - spin @ centre
    tilt = np.eye(3)
    tilt[2, :2] = rng.normal(0, 2e-5, 2)
    return np.asarray(tilt @ place)


def _develop(light: Image, rng: np.random.Generator) -> Photo:
    h, w = light.shape[:2]
    ys, xs = np.mgrid[-1 : 1 : h * 1j, -1 : 1 : w * 1j]
    seen = light * (1 - rng.uniform(0, 0.2) * (xs**2 + ys**2) / 2).astype(np.float32)[..., None]
    seen = cv2.GaussianBlur(seen, (0, 0), rng.uniform(0.5, 0.9))
    seen = seen * np.float32(rng.uniform(0.65, 0.95) / np.percentile(seen.max(axis=2), 98))
    noise = np.sqrt(np.maximum(seen, 0) * 1e-4 + 4e-6)
    seen = np.clip(seen + noise * rng.standard_normal(seen.shape, dtype=np.float32), 0, 1)
    curve = rng.uniform(-0.1, 0.35)
    seen = np.clip(seen * (1 - curve) + curve * (3 * seen**2 - 2 * seen**3), 0, 1)
    code = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    pixels = np.round(255 * code).astype(np.uint8)
    _, data = cv2.imencode(
        ".jpg", pixels[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(86, 96))]
    )
    return np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])


def outlines(face: Face, shot: Shot) -> list[NDArray[np.float64]]:
    """The outlines of the parts in pixels of a photograph, as a person draws them."""
    return [np.array([shot.at(x, y) for x, y in part.polygon]) for part in face.parts]


def visit(
    face: Face, rng: np.random.Generator, lights: int = 2, *, turned: float = 120.0
) -> list[Shot]:
    """Photographs of one visit, the lamp turned between them."""
    first = float(rng.uniform(0, 360))
    return [photograph(face, rng, azimuth=first + k * turned) for k in range(lights)]

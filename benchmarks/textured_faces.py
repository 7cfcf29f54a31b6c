"""Two visits of one face made of real photographs: textures, relief and what is mirrored.

A third world for ``change_watch.py``, of another mechanism than the drawn faces (settings were
chosen on those) and the cast bodies. The coat is a piece of one photograph, its relief the
brightness of another; light comes from a third, taken as the sky over the face: its brightest
places are lamps with colours that throw the shadows of what stands up, and the picture itself,
more or less blurred, is mirrored in the coat. The camera moves: what stands up is displaced, the
lens bends, the sensor adds noise, JPEG follows. By default the two photographs that scikit-learn
carries; ``--textures FOLDER`` takes others (the pictures that scikit-image carries were used for
the figures in ``docs/methods/condition.md``). All ranges are from no measurement.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

Image = NDArray[np.float32]
Photo = NDArray[np.uint8]

WIDE, TALL, STEP = 1000, 720, 5.0
"""Pixels of the frame, and pixels of one of the 200 steps of its longer side."""
ROOM = 60
"""Pixels made around the frame, so that a moved camera still sees the face."""
LAMPS = 7
BARE = np.array([0.60, 0.45, 0.27], np.float32)


@cache
def _pictures(folder: str) -> tuple[Image, ...]:
    if folder:
        paths = sorted(one for end in ("png", "jpg") for one in Path(folder).glob(f"*.{end}"))
        read = [cv2.imread(str(one), cv2.IMREAD_COLOR) for one in paths]
        codes = [one[..., ::-1] for one in read if one is not None and min(one.shape[:2]) >= 300]
    else:
        from sklearn.datasets import load_sample_images

        codes = load_sample_images().images
    return tuple((np.asarray(one, np.float32) / 255) ** np.float32(2.2) for one in codes)


def _crop(rng: np.random.Generator, folder: str, shape: tuple[int, int]) -> Image:
    """A piece of a photograph, turned, mirrored and enlarged at random; linear light."""
    pictures = _pictures(folder)
    whole = pictures[int(rng.integers(len(pictures)))]
    high, wide = whole.shape[:2]
    share = rng.uniform(0.5, 1.0)
    h, w = int(share * high), int(share * wide)
    y, x = int(rng.integers(high - h + 1)), int(rng.integers(wide - w + 1))
    piece = np.rot90(whole[y : y + h, x : x + w], int(rng.integers(4)))
    piece = piece[:, ::-1] if rng.random() < 0.5 else piece
    return np.asarray(cv2.resize(piece, shape[::-1], interpolation=cv2.INTER_CUBIC)).clip(0, 1)


def _normal_log(picture: Image) -> Image:
    log = np.log(picture.mean(axis=2) + 0.02)
    return np.asarray((log - log.mean()) / (log.std() + 1e-3), np.float32)


@dataclass
class Part:
    """What stands up: outline in pixels, height in steps, its look."""

    outline: NDArray[np.float64]
    high: float
    look: Image


@dataclass
class Face:
    """Coat, relief in pixels, gloss, and what stands up."""

    coat: Image
    relief: Image
    gloss: float
    parts: list[Part]


def make_face(rng: np.random.Generator, folder: str) -> Face:
    """One face."""
    shape = (TALL + 2 * ROOM, WIDE + 2 * ROOM)
    piece = _crop(rng, folder, shape)
    hue = rng.uniform((0.12, 0.08, 0.04), (0.6, 0.5, 0.4)).astype(np.float32)
    tone = np.exp(np.float32(rng.uniform(0.03, 0.3)) * _normal_log(piece))
    coat = hue * tone[..., None]
    if rng.random() < 0.4:  # its own colours
        coat = coat * (piece + 0.05) / (piece.mean(axis=2, keepdims=True) + 0.05)
    relief = _normal_log(_crop(rng, folder, shape))
    relief = cv2.GaussianBlur(relief, (0, 0), rng.uniform(1.5, 5)) * np.float32(rng.uniform(0, 0.5))
    parts = []
    for _ in range(int(rng.integers(1, 5))):
        at = rng.uniform((ROOM, ROOM), (WIDE + ROOM, TALL + ROOM))
        a, b = rng.uniform(25, 150, 2)
        turn = np.linspace(0, 2 * np.pi, 48, endpoint=False)
        power = rng.choice([1.0, 0.3])  # round or boxlike
        ring = np.column_stack([np.cos(turn), np.sin(turn)])
        ring = np.sign(ring) * np.abs(ring) ** power * (a, b)
        s = rng.uniform(0, np.pi)
        spin = np.array([(np.cos(s), -np.sin(s)), (np.sin(s), np.cos(s))])
        look = _crop(rng, folder, shape) * np.float32(rng.uniform(0.1, 1.0))
        parts.append(Part(ring @ spin.T + at, rng.uniform(1, 14), look))
    if rng.random() < 0.5:  # wires over the face
        y0, gap, s = rng.uniform(0.25, 0.6) * TALL, rng.uniform(30, 55), rng.normal(0, 0.03)
        for k in range(6):
            y, thick = ROOM + y0 + gap * k, rng.uniform(0.8, 2.6)
            box = [(0, y), (shape[1], y + s * shape[1])]
            outline = np.array([*box, *[(x, v + thick) for x, v in box[::-1]]])
            wire = np.full((*shape, 3), rng.uniform(0.2, 0.6), np.float32)
            parts.append(Part(outline, rng.uniform(5, 12), wire))
    face = Face(np.clip(coat, 0.006, 1).astype(np.float32), relief, rng.uniform(0, 0.2), parts)
    for _ in range(int(rng.integers(2, 9))):  # old marks
        plant(rng, face, [], str(rng.choice(("chip", "scratch", "stain"))))
    return face


def _filled(polygon: NDArray[np.float64], shape: tuple[int, ...]) -> Image:
    mask = np.zeros(shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.round(polygon * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    return mask.astype(np.float32) / 255


Mark = tuple[str, float, float, float, float]


def plant(rng: np.random.Generator, face: Face, taken: list[Mark], kind: str) -> Mark | None:
    """Put a mark of 3 to 10 steps on the coat: kind, place and length in pixels, contrast."""
    shape = face.coat.shape[:2]
    free = np.ones(shape, np.uint8)
    for part in face.parts:
        free[_filled(part.outline, shape) > 0] = 0
    free = (cv2.distanceTransform(free, cv2.DIST_L2, 5) > 8 * STEP).astype(np.uint8)
    rim = ROOM + round(0.13 * TALL)
    free[:rim], free[-rim:], free[:, :rim], free[:, -rim:] = 0, 0, 0, 0
    for _, x, y, _, _ in taken:
        cv2.circle(free, (int(x), int(y)), int(14 * STEP), 0, -1)
    ys, xs = np.nonzero(free)
    if not len(ys):
        return None
    k = int(rng.integers(len(ys)))
    x, y, long = float(xs[k]), float(ys[k]), float(rng.uniform(3, 10) * STEP)
    before = face.coat.copy()
    turn = rng.uniform(0, np.pi)
    along = np.array([np.cos(turn), np.sin(turn)])
    if kind == "scratch":
        t = np.linspace(-0.5, 0.5, 9)[:, None]
        side = np.array([-along[1], along[0]]) * rng.normal(0, 0.08)
        path = (x, y) + long * (t * along + 4 * (0.25 - t**2) * side)
        thick = rng.uniform(0.2, 0.5) * STEP / 2
        edge = np.array([-along[1], along[0]]) * thick * (1 - (1.6 * t) ** 2)
        share = _filled(np.vstack([path + edge, (path - edge)[::-1]]), shape)
        to = BARE * 1.2 if before.mean() < 0.22 else BARE * 0.12
        share *= np.float32(rng.uniform(0.6, 1.0))
    else:
        corners = int(rng.integers(6, 12))
        angle = np.sort(rng.uniform(0, 2 * np.pi, corners))
        reach = long / 2 * rng.uniform(0.55, 1.0, corners)
        ring = np.column_stack([np.cos(angle), np.sin(angle)]) * reach[:, None]
        share = _filled(ring * (1, rng.uniform(0.6, 1)) + (x, y), shape)
        to = BARE * np.float32(rng.uniform(0.8, 1.2))
        if kind == "stain":
            share = cv2.GaussianBlur(share, (0, 0), rng.uniform(0.5, 1.8) * STEP)
            tint = rng.uniform(0.5, 0.85) * np.array([1, rng.uniform(0.85, 1), rng.uniform(0.7, 1)])
            to = before * tint.astype(np.float32)
    face.coat = np.asarray(before + share[..., None] * (to - before), np.float32)
    logs = [
        np.log(cv2.GaussianBlur(one, (0, 0), 0.22 * STEP).mean(axis=2) + 0.01)
        for one in (face.coat, before)
    ]
    return kind, x, y, long, float(np.abs(logs[0] - logs[1]).max())


def photograph(
    rng: np.random.Generator, face: Face, folder: str
) -> tuple[Photo, NDArray[np.float64]]:
    """One photograph, and the map from pixels of the face to its pixels (lens left out)."""
    shape = face.coat.shape[:2]
    sky = _crop(rng, folder, (256, 256))
    grey = sky.mean(axis=2, keepdims=True)
    sky = np.minimum((grey + 0.25 * (sky - grey)) / (grey.mean() + 1e-3), 4)
    eye = rng.normal(0, 0.25, 2) * (WIDE, TALL) + np.array(shape[::-1]) / 2
    far = rng.uniform(2.2, 4.0) * WIDE
    light = _lit(rng, face, sky)
    picture = face.coat.copy()
    for part in sorted(face.parts, key=lambda one: one.high):
        standing = part.outline + part.high * STEP * (part.outline - eye) / far
        on = _filled(standing, shape)[..., None]
        picture = picture + on * (part.look - picture)
    picture = picture * light
    picture = picture + np.float32(face.gloss) * _mirrored(rng, face, sky)
    place = _pose(rng)
    seen = cv2.warpPerspective(picture, place, (WIDE, TALL), flags=cv2.INTER_CUBIC)
    return _developed(rng, seen.clip(0, None)), place


def _lit(rng: np.random.Generator, face: Face, sky: Image) -> Image:
    """Light on the face: lamps where the sky is bright, their shadows, and what is everywhere."""
    shape = face.coat.shape[:2]
    small = cv2.resize(sky, (16, 16), interpolation=cv2.INTER_AREA)
    ys, xs = np.mgrid[-1:1:16j, -1:1:16j]
    power = small.mean(axis=2) ** 2 * (np.hypot(xs, ys) < 1)
    chosen = rng.choice(256, LAMPS, p=(power / power.sum()).ravel())
    gx = cv2.Sobel(face.relief, cv2.CV_32F, 1, 0, scale=1 / 8)
    gy = cv2.Sobel(face.relief, cv2.CV_32F, 0, 1, scale=1 / 8)
    total = np.zeros((*shape, 3), np.float32)
    grown = {id(one): cv2.convexHull(one.outline.astype(np.float32))[:, 0] for one in face.parts}
    for k in chosen:
        d = np.array([xs.ravel()[k], ys.ravel()[k]]) * 0.85
        up = np.sqrt(1 - d @ d)
        colour = small.reshape(-1, 3)[k]
        colour = 0.5 + 0.5 * colour / colour.mean()
        shade = np.ones((shape[0] // 2, shape[1] // 2), np.float32)
        for part in face.parts:
            thrown = grown[id(part)] - part.high * STEP * d / up
            both = cv2.convexHull(np.vstack([grown[id(part)], thrown]).astype(np.float32))[:, 0]
            shade *= 1 - _filled(both.astype(float) / 2, shade.shape)
        shade = cv2.GaussianBlur(shade, (0, 0), rng.uniform(0.6, 6))
        facing = np.clip((up - gx * d[0] - gy * d[1]) / np.sqrt(1 + gx**2 + gy**2), 0, 1)
        lit = cv2.resize(shade, shape[::-1]) * facing
        fall = np.linspace(1 + 0.25 * d[0], 1 - 0.25 * d[0], shape[1], dtype=np.float32)
        total += (lit * fall)[..., None] * colour.astype(np.float32)
    total /= total.mean()
    around = np.float32(rng.uniform(0.2, 0.6))
    return np.asarray(around + (1 - around) * total, np.float32)


def _mirrored(rng: np.random.Generator, face: Face, sky: Image) -> Image:
    """The sky seen in the coat, where the relief bends it."""
    shape = face.coat.shape[:2]
    soft = cv2.GaussianBlur(sky, (0, 0), rng.uniform(0.6, 5))
    scale = rng.uniform(0.25, 0.8) * 256 / shape[1]
    ys, xs = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    gx = cv2.Sobel(face.relief, cv2.CV_32F, 1, 0, scale=1 / 8)
    gy = cv2.Sobel(face.relief, cv2.CV_32F, 0, 1, scale=1 / 8)
    x0, y0 = rng.uniform(0, 256 - scale * shape[1]), rng.uniform(0, 100)
    bent = np.float32(rng.uniform(20, 120))
    return np.asarray(
        cv2.remap(
            soft,
            np.float32(x0) + np.float32(scale) * xs + bent * gx,
            np.float32(y0) + np.float32(scale) * ys + bent * gy,
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REFLECT,
        )
    )


def _pose(rng: np.random.Generator) -> NDArray[np.float64]:
    corners = np.array([(0, 0), (WIDE, 0), (WIDE, TALL), (0, TALL)], np.float32)
    turn, grown = np.radians(rng.normal(0, 2)), 1 + rng.normal(0, 0.025)
    spin = grown * np.array([(np.cos(turn), -np.sin(turn)), (np.sin(turn), np.cos(turn))])
    middle = np.array([WIDE, TALL]) / 2
    to = (corners - middle) @ spin.T + middle + rng.normal(0, 14, 2) + rng.normal(0, 3, (4, 2))
    return np.asarray(
        cv2.getPerspectiveTransform((corners + ROOM).astype(np.float32), to.astype(np.float32))
    )


def _developed(rng: np.random.Generator, light: Image) -> Photo:
    ys, xs = np.mgrid[-1 : 1 : TALL * 1j, -1 : 1 : WIDE * 1j].astype(np.float32)
    r = xs**2 + ys**2
    bend = np.float32(rng.normal(0, 0.0015))
    seen = cv2.remap(
        light,
        (xs * (1 + bend * r) + 1) / 2 * (WIDE - 1),
        (ys * (1 + bend * r) + 1) / 2 * (TALL - 1),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REFLECT,
    )
    seen = seen * (1 - np.float32(rng.uniform(0, 0.15)) * r)[..., None]
    seen = cv2.GaussianBlur(seen, (0, 0), rng.uniform(0.5, 0.9))
    seen *= rng.uniform((0.93, 1, 0.9), (1.07, 1, 1.1)).astype(np.float32)
    seen *= np.float32(rng.uniform(0.6, 0.95) / np.percentile(seen.max(axis=2), 97))
    noise = cv2.GaussianBlur(rng.standard_normal(seen.shape, dtype=np.float32), (0, 0), 0.6)
    seen += noise * np.sqrt(np.maximum(seen, 0) * np.float32(2e-4) + np.float32(8e-6))
    seen = seen.clip(0, 1) ** np.float32(1 / rng.uniform(1.9, 2.5))
    quality = [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(85, 97))]
    pixels = np.round(255 * seen).astype(np.uint8)
    _, data = cv2.imencode(".jpg", pixels[..., ::-1], quality)
    return np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])

"""Laying a photograph of a later visit over one of an earlier visit, both in ordinary light.

The starts are the map of edges (``luminescence.registration``) and matched points of the texture
(SIFT: Lowe, IJCV 60 (2004) 91-110; four nearest, ratio .85, of which only those count that obey
the rule of framing; MAGSAC: Barath et al. 2020, as in OpenCV). The start with the better agreement
of edges is refined by dense flow (DIS: Kroeger et al., ECCV 2016), forth and back, weighted by
agreement and texture, smoothed by 3 mm, at most 3 mm, twice; references from memory. Stops holding
where the camera stood elsewhere, and beside what stands up.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence import structure
from heelstamp.luminescence.linear import LUMA, Bytes, Float, decode
from heelstamp.luminescence.registration import register
from heelstamp.luminescence.structure import Matrix

Mask = NDArray[np.bool_]

MOST_TURN, MOST_SCALE, MOST_SHIFT = 20.0, 1.25, 0.15
"""Framed alike: degrees turned, factor of scale, shift as a share of the width."""
SAME_POINTS, POINTS_AGREE, EDGES_AGREE = 25, 0.3, 0.7
"""One face: so many points of the texture found again, and edges that correlate by the second; or,
on a plain face, edges alone that correlate by the third. Chosen on drawn faces, of which other
faces never had over 20 points that obey one map."""
SATURATED = 250
FLOW_PER_MM = 3.0
STAYS = 2.0
"""Weight with which a place stays where the first map put it; texture that agrees has 10 to 40."""
SMOOTH_MM, FARTHEST_MM = 3.0, 3.0
NEAREST, RATIO = 4, 0.85
MOST_POINTS, LEAST_POINTS = 2500, 20


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A later photograph in the pixels of the first.

    Attributes
    ----------
    light
        Linear light, (h, w, 3).
    seen
        Where it shows the face, within its frame and not saturated.
    agreement
        Correlation of edges with the first, -1 to 1.
    points
        Points of the texture found again under one map; nought where edges alone laid it.
    """

    light: Float
    seen: Mask
    agreement: float
    points: int = 0

    @property
    def same(self) -> bool:
        """Whether it is taken for a photograph of the same face."""
        least = POINTS_AGREE if self.points >= SAME_POINTS else EDGES_AGREE
        return self.agreement >= least


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """The photograph over which others are laid, with what is found of it once.

    Attributes
    ----------
    photo
        RGB code values.
    flat
        Its texture without its wander of light, as bytes.
    points, described
        Where its texture is told by, pixels (n, 2), and how, (n, 128).
    """

    photo: Bytes
    flat: Bytes
    points: Matrix
    described: Float

    @classmethod
    def of(cls, photo: Bytes) -> Ground:
        """Prepare a photograph."""
        flat = _flattened(photo)
        return cls(photo, flat, *_described(flat))


def first(photo: Bytes) -> Laid:
    """The photograph over which the others are laid, as it is."""
    return Laid(decode(photo), photo.max(axis=2) < SATURATED, 1.0)


def lay(ground: Ground, there: Bytes, px_per_mm: float) -> Laid | None:
    """Lay *there* over *ground*.

    Parameters
    ----------
    there
        RGB code values at the working size of *ground*, of which *px_per_mm* is told.

    Returns
    -------
    Laid or None
        None where no map that obeys the rule of framing was found.
    """
    here = ground.photo
    tried = []
    by_points = _by_points(ground, there)
    if by_points is not None:
        tried.append(by_points)
    if by_points is None or by_points[1] < SAME_POINTS:  # edges cost more; raised parts lead them
        by_edges = _by_edges(here, there)
        if by_edges is not None:
            tried.append((by_edges, 0))
    if not tried:
        return None
    fields = [(_field(warp, here.shape), points) for warp, points in tried]
    field, points = max(fields, key=lambda one: agreement(here, _pulled(there, one[0])))
    field = _flowed(ground.flat, there, field, px_per_mm)
    found = agreement(here, _pulled(there, field))
    # beyond its frame the edge goes on: darkness there would be seen far into the frame
    light = np.asarray(
        cv2.remap(
            decode(there),
            field[..., 0],
            field[..., 1],
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        ),
        dtype=np.float32,
    )
    clear = (there.max(axis=2) < SATURATED).astype(np.uint8)
    clear = np.asarray(cv2.erode(clear, np.ones((3, 3), np.uint8)), dtype=np.uint8)
    seen = np.asarray(
        cv2.remap(clear, field[..., 0], field[..., 1], cv2.INTER_NEAREST, borderValue=0)
    )
    return Laid(light, seen > 0, found, points)


def agreement(here: Bytes, there: Bytes) -> float:
    """Correlation of the edges of two photographs that lie on one another."""
    one, two = (
        structure.edges(structure.grey(structure.reduce_to(photo, 500)[0]), blur=1.0)
        for photo in (here, there)
    )
    inner = cv2.erode(
        (structure.reduce_to(there, 500)[0].max(axis=2) > 0).astype(np.uint8),
        np.ones((3, 3), np.uint8),
    )
    a, b = one[inner > 0], two[inner > 0]
    if len(a) < 100 or not a.std() > 0 or not b.std() > 0:
        return 0.0
    return float(np.corrcoef(a, b)[0, 1])


def framed_alike(warp: Matrix, shape: tuple[int, ...]) -> bool:
    """Whether a map here → there keeps to the rule of framing."""
    h, w = shape[:2]
    points = np.array([(w / 2, h / 2), (w / 2 + w / 4, h / 2), (w / 2, h / 2 + w / 4)])
    centre, right, down = structure.apply(warp, points)
    across, along = (right - centre) / (w / 4), (down - centre) / (w / 4)
    turn = abs(np.degrees(np.arctan2(across[1], across[0])))
    scales = np.array([np.hypot(*across), np.hypot(*along)])
    upright = across[0] * along[1] - across[1] * along[0] > 0
    return bool(
        upright
        and turn < MOST_TURN
        and np.all(scales < MOST_SCALE)
        and np.all(scales > 1 / MOST_SCALE)
        and np.abs(centre - (w / 2, h / 2)).max() < MOST_SHIFT * w
    )


def _by_edges(here: Bytes, there: Bytes) -> Matrix | None:
    found = register(here, there)
    if found is None:
        return None
    warp = np.linalg.inv(found.transform)
    return warp if framed_alike(warp, here.shape) else None


def _described(flat: Bytes) -> tuple[Matrix, Float]:
    sift = cv2.SIFT_create(MOST_POINTS, contrastThreshold=0.01)  # type: ignore[attr-defined]
    points, described = sift.detectAndCompute(flat, None)
    if described is None:
        return np.empty((0, 2)), np.empty((0, 128), np.float32)
    return np.array([one.pt for one in points]), np.asarray(described, np.float32)


def _by_points(ground: Ground, there: Bytes) -> tuple[Matrix, int] | None:
    a, da = ground.points, ground.described
    b, db = _described(_flattened(there))
    if min(len(a), len(b)) < LEAST_POINTS:
        return None
    h, w = ground.photo.shape[:2]
    own, other, best = [], [], []
    for k, row in enumerate(cv2.BFMatcher(cv2.NORM_L2).knnMatch(da, db, k=NEAREST)):
        off = np.abs(b[[one.trainIdx for one in row]] - a[k]).max(axis=1)
        near = [one for one, far in zip(row, off, strict=True) if far < (MOST_SHIFT + 0.18) * w]
        if not near:
            continue
        rival = next((one.distance for one in row if one not in near), None)
        second = near[1].distance if len(near) > 1 else rival
        if second is None or near[0].distance < RATIO * second:
            own.append(a[k])
            other.append(b[near[0].trainIdx])
            best.append(near[0].distance)
    if len(own) < 12:
        return None
    order = np.argsort(best)[:1500]
    cv2.setRNGSeed(17)
    matrix, inliers = cv2.findHomography(
        np.array(own)[order], np.array(other)[order], cv2.USAC_MAGSAC, 3.0, None, 3000, 0.999
    )
    if matrix is None or inliers is None or int(inliers.sum()) < 12:
        return None
    warp = np.asarray(matrix, dtype=float)
    return (warp, int(inliers.sum())) if framed_alike(warp, (h, w)) else None


def _flattened(photo: Bytes) -> Bytes:
    """Log luminance with its own wander of light taken out, as bytes."""
    log = np.log(decode(photo) @ LUMA + 0.01).astype(np.float32)
    calm = log - structure.wide_blur(log, 15)
    spread = np.sqrt(structure.wide_blur(calm * calm, 30)) + 0.02
    return np.asarray(np.clip(128 + 42 * calm / spread, 0, 255), dtype=np.uint8)


def _field(warp: Matrix, shape: tuple[int, ...]) -> NDArray[np.float32]:
    h, w = shape[:2]
    ys, xs = np.mgrid[0:h, 0:w].astype(np.float64)
    m = np.asarray(warp, dtype=float)
    z = m[2, 0] * xs + m[2, 1] * ys + m[2, 2]
    x = (m[0, 0] * xs + m[0, 1] * ys + m[0, 2]) / z
    y = (m[1, 0] * xs + m[1, 1] * ys + m[1, 2]) / z
    return np.stack([x, y], axis=2).astype(np.float32)


def _within(field: NDArray[np.float32], shape: tuple[int, ...]) -> NDArray[np.uint8]:
    """One where a map reaches into a photograph, and a little way from its edge."""
    inside = (
        (field[..., 0] >= 1)
        & (field[..., 0] <= shape[1] - 2)
        & (field[..., 1] >= 1)
        & (field[..., 1] <= shape[0] - 2)
    )
    return np.asarray(cv2.erode(inside.astype(np.uint8), np.ones((9, 9), np.uint8)), np.uint8)


def _pulled(image: NDArray[Any], field: NDArray[np.float32]) -> NDArray[Any]:
    return np.asarray(
        cv2.remap(image, field[..., 0], field[..., 1], cv2.INTER_LINEAR, borderValue=0)
    )


def _flowed(
    flat: Bytes, there: Bytes, field: NDArray[np.float32], px_per_mm: float
) -> NDArray[np.float32]:
    """Add the small shifts that no homography holds, twice."""
    share = min(1.0, FLOW_PER_MM / px_per_mm)
    size = (round(flat.shape[1] * share), round(flat.shape[0] * share))
    one = cv2.resize(flat, size, interpolation=cv2.INTER_AREA)
    dis = cv2.DISOpticalFlow_create(cv2.DISOPTICAL_FLOW_PRESET_MEDIUM)  # type: ignore[attr-defined]
    for _ in range(2):
        shown = cv2.resize(_within(field, there.shape), size, interpolation=cv2.INTER_NEAREST) > 0
        two = cv2.resize(_flattened(_pulled(there, field)), size, interpolation=cv2.INTER_AREA)
        two = np.where(shown, two, one)  # beyond its frame nothing is known, so nothing moves
        forth, back = dis.calc(one, two, None), dis.calc(two, one, None)
        ys, xs = np.mgrid[0 : size[1], 0 : size[0]].astype(np.float32)
        again = cv2.remap(back, xs + forth[..., 0], ys + forth[..., 1], cv2.INTER_LINEAR)
        off = np.hypot(*np.moveaxis(forth + again, 2, 0))
        float_one = one.astype(np.float32)
        texture = cv2.GaussianBlur(np.abs(cv2.Laplacian(float_one, cv2.CV_32F)), (0, 0), 3)
        weight = np.exp(-((off / 1.0) ** 2)) * (texture + 0.5)
        weight *= shown & (np.hypot(forth[..., 0], forth[..., 1]) < 2 * FARTHEST_MM * FLOW_PER_MM)
        weight = weight.astype(np.float32)
        sigma = SMOOTH_MM * px_per_mm * share
        below = structure.wide_blur(weight, sigma) + np.float32(STAYS)
        smooth = np.stack(
            [structure.wide_blur(forth[..., k] * weight, sigma) / below for k in (0, 1)], 2
        )
        far = FARTHEST_MM * px_per_mm * share
        length = np.maximum(np.hypot(smooth[..., 0], smooth[..., 1]), 1e-6)[..., None]
        smooth = smooth * np.minimum(1.0, far / length)
        full = cv2.resize(
            smooth.astype(np.float32), flat.shape[1::-1], interpolation=cv2.INTER_LINEAR
        ) / np.float32(share)
        ys, xs = np.mgrid[0 : flat.shape[0], 0 : flat.shape[1]].astype(np.float32)
        field = np.asarray(
            cv2.remap(
                field,
                xs + full[..., 0],
                ys + full[..., 1],
                cv2.INTER_LINEAR,
                borderMode=cv2.BORDER_REPLICATE,
            ),
            dtype=np.float32,
        )
    return field

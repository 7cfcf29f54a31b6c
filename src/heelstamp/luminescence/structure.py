"""What a visible and a UV photograph have in common: where edges are, not how bright they are.

The magnitude of the gradient divided by its own local root mean square: an edge counts as much in
the dark corner as under the lamp, and inverted contrast does not matter. Stops holding in places
without edges, where it is noise; ``floor`` keeps those low.
"""

from __future__ import annotations

from typing import Any, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

from heelstamp.luminescence.linear import LUMA, Bytes, Float, decode

Matrix = NDArray[np.floating[Any]]
STRIP = 512
Pixel = TypeVar("Pixel", np.uint8, np.float32)


def blurred(image: Float, sigma: float) -> Float:
    """A Gaussian blur of *sigma* pixels."""
    return np.asarray(cv2.GaussianBlur(image, (0, 0), sigma), dtype=np.float32)


def wide_blur(image: Float, sigma: float) -> Float:
    """A Gaussian blur of *sigma* pixels, worked out at a half or a quarter of the size if wide."""
    step = next((one for one in (4, 2) if sigma / one >= 3.5), 1)
    if step == 1:
        return blurred(image, sigma)
    small = cv2.resize(image, None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), sigma / step)
    return np.asarray(cv2.resize(soft, image.shape[1::-1], interpolation=cv2.INTER_LINEAR))


def grey(code: Bytes) -> Float:
    """The brightness of 8-bit code values as float32, 0 to 1."""
    return np.asarray(cv2.cvtColor(code, cv2.COLOR_RGB2GRAY), dtype=np.float32) / 255.0


def light(code: Bytes, longest: int) -> Float:
    """Relative luminance of 8-bit code values, reduced to *longest* in linear light."""
    linear = np.empty(code.shape[:2], np.float32)
    for top in range(0, code.shape[0], STRIP):
        linear[top : top + STRIP] = cv2.transform(decode(code[top : top + STRIP]), LUMA[None])
    return np.asarray(reduce_to(linear, longest)[0], dtype=np.float32)


def edges(image: Float, *, blur: float = 1.0, floor: float = 1.0) -> Float:
    """The locally normalised gradient magnitude of a brightness image.

    Parameters
    ----------
    image
        (h, w), float32.
    blur
        Standard deviation of the smoothing before the gradient, pixels.
    floor
        Share of the frame's mean gradient below which a place counts as empty.
    """
    smooth = cv2.GaussianBlur(image, (0, 0), blur)
    gx = cv2.Sobel(smooth, cv2.CV_32F, 1, 0, ksize=3)
    gy = cv2.Sobel(smooth, cv2.CV_32F, 0, 1, ksize=3)
    size = cv2.magnitude(gx, gy)
    window = max(image.shape) / 16.0
    step = 4 if max(image.shape) > 400 else 1
    squared = cv2.resize(size * size, None, fx=1 / step, fy=1 / step, interpolation=cv2.INTER_AREA)
    local = cv2.GaussianBlur(squared, (0, 0), window / step)
    local = cv2.resize(local, size.shape[::-1], interpolation=cv2.INTER_LINEAR)
    level = floor * float(size.mean()) + 1e-6
    normal = size / np.sqrt(np.maximum(local, 0.0) + level**2)
    return np.asarray(np.minimum(normal, 4.0), dtype=np.float32)


def reduce_to(image: NDArray[Pixel], longest: int) -> tuple[NDArray[Pixel], float]:
    """*image* with its long side at most *longest*, and the factor applied."""
    factor = reduction(image.shape, longest)
    if factor == 1.0:
        return image, 1.0
    size = (max(1, round(image.shape[1] * factor)), max(1, round(image.shape[0] * factor)))
    small = cv2.resize(image, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, dtype=image.dtype), factor


def reduction(shape: tuple[int, ...], longest: int) -> float:
    """The factor by which an image of this shape is reduced: 1 where it is small enough."""
    return min(1.0, longest / max(shape[:2]))


def resized(factor_x: float, factor_y: float) -> Matrix:
    """The map of pixel centres when an image is resized by these factors."""
    return np.array(
        [
            [factor_x, 0.0, 0.5 * factor_x - 0.5],
            [0.0, factor_y, 0.5 * factor_y - 0.5],
            [0.0, 0.0, 1.0],
        ]
    )


def between(shape_from: tuple[int, ...], shape_to: tuple[int, ...]) -> Matrix:
    """The map of pixel centres from an image of one shape to its resized copy."""
    return resized(shape_to[1] / shape_from[1], shape_to[0] / shape_from[0])


def apply(matrix: Matrix, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Map points (n, 2) by a homography."""
    mapped = np.column_stack([points, np.ones(len(points))]) @ matrix.T
    return np.asarray(mapped[:, :2] / mapped[:, 2:], dtype=float)

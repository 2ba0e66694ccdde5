"""Plane geometry of pictures: perspective maps, and grey levels taken on the grid of a symbol.

Pictures are two-dimensional arrays of grey levels, 0 black to 255 white, one byte a pixel. Places are (x, y)
in pixels from the outer corner of the top left pixel, x to the right, y down: the middle of that pixel is
(0.5, 0.5).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Grey = NDArray[np.uint8]
Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

UNIT_SQUARE: Final[Floats] = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
"""The corners of a symbol in its own frame: top left, top right, bottom right, bottom left."""


def homography(source: Floats, target: Floats) -> Floats:
    """Return the perspective map that takes four points to four points.

    Args:
        source: 4 x 2, no three on one line.
        target: 4 x 2, no three on one line.

    Returns:
        3 x 3, its last element 1.

    Raises:
        numpy.linalg.LinAlgError: three of the points lie on one line.
    """
    rows = []
    for (x, y), (u, v) in zip(source.tolist(), target.tolist(), strict=True):
        rows.append([x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y])
        rows.append([0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y])
    solved = np.linalg.solve(np.array(rows), target.reshape(8))
    return np.append(solved, 1.0).reshape(3, 3)


def project(matrix: Floats, points: Floats) -> Floats:
    """Map points, shape (..., 2), by a perspective map.

    >>> project(np.diag([2.0, 2.0, 1.0]), np.array([1.0, 3.0])).tolist()
    [2.0, 6.0]
    """
    mapped: Floats = points @ matrix[:, :2].T + matrix[:, 2]
    projected: Floats = mapped[..., :2] / mapped[..., 2:]
    return projected


def levels_at(image: Grey, points: Floats) -> Floats:
    """Return the grey levels at places, shape (..., 2), between pixels by bilinear interpolation.

    A place outside the picture has the level of the nearest pixel.
    """
    height, width = image.shape
    x = np.clip(points[..., 0] - 0.5, 0.0, width - 1.0)
    y = np.clip(points[..., 1] - 0.5, 0.0, height - 1.0)
    left, top = x.astype(np.intp), y.astype(np.intp)
    right, bottom = np.minimum(left + 1, width - 1), np.minimum(top + 1, height - 1)
    dx, dy = x - left, y - top
    upper = image[top, left] * (1 - dx) + image[top, right] * dx
    lower = image[bottom, left] * (1 - dx) + image[bottom, right] * dx
    levels: Floats = upper * (1 - dy) + lower * dy
    return levels


def module_levels(image: Grey, corners: Floats, modules: int, *, taps: int = 1, border: int = 0) -> Floats:
    """Return grey levels inside every module of a symbol.

    Args:
        image: the picture.
        corners: 4 x 2, corners of the symbol without its quiet zone, clockwise from its own top left.
        modules: modules along a side.
        taps: places along a side of a module; they lie in the middle 70 % of it.
        border: modules of the surroundings to be taken along on every side.

    Returns:
        (rows, columns, taps x taps).
    """
    inside = (np.arange(taps) - (taps - 1) / 2) * (0.7 / taps)
    along = (np.arange(-border, modules + border)[:, None] + 0.5 + inside) / modules
    count = modules + 2 * border
    flat = along.reshape(-1)
    places = np.stack(np.broadcast_arrays(flat[None, :], flat[:, None]), axis=-1)
    levels = levels_at(image, project(homography(UNIT_SQUARE, corners), places))
    blocks = levels.reshape(count, taps, count, taps).transpose(0, 2, 1, 3)
    return blocks.reshape(count, count, taps * taps)


def side_length(corners: Floats) -> float:
    """Return the mean side of a quadrangle, in pixels.

    >>> side_length(3 * UNIT_SQUARE)
    3.0
    """
    return float(np.linalg.norm(corners - np.roll(corners, -1, axis=0), axis=1).mean())


def holds(corners: Floats, point: Floats) -> bool:
    """Say whether a clockwise convex quadrangle holds a point.

    >>> holds(UNIT_SQUARE, np.array([0.5, 0.5])), holds(UNIT_SQUARE, np.array([1.5, 0.5]))
    (True, False)
    """
    edges = np.roll(corners, -1, axis=0) - corners
    away = point - corners
    return bool((edges[:, 0] * away[:, 1] - edges[:, 1] * away[:, 0] > 0).all())

"""The few picture filters that the readers need, on grey levels of one byte a pixel."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from labelkit.proof.grid import Floats, Grey

# Weights of four neighbours for a place a quarter of a pixel beyond the second; the mirror image serves the
# other quarter. Source: R. Keys, cubic convolution interpolation (1981), a = -1/2.
_QUARTER: Final = (-0.0703125, 0.8671875, 0.2265625, -0.0234375)

# Comparators that leave the median of nine in the middle. Source: common practice (J. L. Smith's network),
# checked against sorting.
_MEDIAN_OF_NINE: Final = (
    (1, 2), (4, 5), (7, 8), (0, 1), (3, 4), (6, 7), (1, 2), (4, 5), (7, 8), (0, 3),
    (5, 8), (4, 7), (3, 6), (1, 4), (2, 5), (4, 7), (4, 2), (6, 4), (4, 2),
)  # fmt: skip


def enlarged(image: Grey) -> Grey:
    """Return the picture at twice its size, by cubic interpolation."""
    return _doubled(_doubled(image).T).T.copy()


def halved(image: Grey) -> Grey:
    """Return the picture at half its size, each pixel the mean of four; an odd last row or column is lost."""
    height, width = image.shape[0] // 2 * 2, image.shape[1] // 2 * 2
    even, odd = image[0:height:2].astype(np.uint16), image[1:height:2].astype(np.uint16)
    rows = even + odd
    return ((rows[:, 0:width:2] + rows[:, 1:width:2] + 2) >> 2).astype(np.uint8)


def median(image: Grey) -> Grey:
    """Return the median of each pixel and its eight neighbours; at the edge of the picture, pixels repeat."""
    height, width = image.shape
    padded = np.pad(image, 1, mode="edge")
    nine = [padded[y : y + height, x : x + width] for y in range(3) for x in range(3)]
    for low, high in _MEDIAN_OF_NINE:
        nine[low], nine[high] = np.minimum(nine[low], nine[high]), np.maximum(nine[low], nine[high])
    return nine[4]


def closed(image: Grey) -> Grey:
    """Return the picture without dark specks and lines less than three pixels wide (grey closing, 3 x 3)."""
    return ~_widest(~_widest(image))


def local_means(image: Grey, radius: int) -> NDArray[np.float32]:
    """Return the mean of 2 x radius + 1 pixels square around each pixel; at the edge, of what there is."""
    sums = np.pad(image, ((1, 0), (1, 0))).astype(np.int32).cumsum(axis=0, dtype=np.int32).cumsum(axis=1)
    height, width = image.shape
    (top, bottom), (left, right) = (_span(length, radius) for length in (height, width))
    rows = sums[bottom] - sums[top]
    total = (rows[:, right] - rows[:, left]).astype(np.float32)
    counts = ((bottom - top)[:, None] * (right - left)[None, :]).astype(np.float32)
    means: NDArray[np.float32] = total / counts
    return means


def local_contrast(image: Grey, *, tiles: int = 8, limit: float = 6.0) -> Grey:
    """Spread the grey levels of each neighbourhood over the whole range, but no slope steeper than `limit`.

    Source: K. Zuiderveld, Contrast Limited Adaptive Histogram Equalization (Graphics Gems IV, 1994).

    Args:
        image: the picture.
        tiles: neighbourhoods along each side; the curves of neighbours are blended.
        limit: steepest slope of a curve, against 1 for a picture left as it is.
    """
    height, width = image.shape
    rows, columns = (np.linspace(0, length, tiles + 1).astype(int) for length in (height, width))
    curves = np.empty((tiles, tiles, 256), np.float32)
    for y in range(tiles):
        for x in range(tiles):
            curves[y, x] = _curve(image[rows[y] : rows[y + 1], columns[x] : columns[x + 1]], limit)
    (above, down), (before, across) = (_blend(length, tiles) for length in (height, width))
    below, after = np.minimum(above + 1, tiles - 1), np.minimum(before + 1, tiles - 1)

    def row_of(tile: NDArray[np.intp]) -> NDArray[np.float32]:
        left, right = curves[tile[:, None], before, image], curves[tile[:, None], after, image]
        blended: NDArray[np.float32] = left + (right - left) * across
        return blended

    upper = row_of(above)
    return (upper + (row_of(below) - upper) * down[:, None] + 0.5).astype(np.uint8)


def middle_threshold(levels: Floats) -> float:
    """Return the level that parts dark from light best.

    Source: N. Otsu, A threshold selection method from gray-level histograms (1979).

    Args:
        levels: any shape, at least one; where all are equal, that level is returned.
    """
    ordered = np.sort(levels, axis=None)
    count = np.arange(1, ordered.size)
    if not count.size:
        return float(ordered[0])
    below = ordered.cumsum()[:-1]
    gap = below / count - (ordered.sum() - below) / (ordered.size - count)
    best = int(np.argmax(count * (ordered.size - count) * gap**2))
    return float(ordered[best] + ordered[best + 1]) / 2


def _doubled(image: Grey) -> Grey:
    """Double the rows of a picture."""
    height = image.shape[0]
    padded = np.pad(image, ((2, 2), (0, 0)), mode="edge").astype(np.float32)
    near = [padded[n : n + height] for n in range(5)]
    result = np.empty((2 * height, image.shape[1]), np.float32)
    a, b, c, d = _QUARTER
    result[0::2] = near[3] * a + near[2] * b + near[1] * c + near[0] * d
    result[1::2] = near[1] * a + near[2] * b + near[3] * c + near[4] * d
    return (np.clip(result, 0, 255) + 0.5).astype(np.uint8)


def _widest(image: Grey) -> Grey:
    """Return the lightest of each pixel and its eight neighbours."""
    padded = np.pad(image, 1, mode="edge")
    rows = np.maximum(np.maximum(padded[:-2], padded[1:-1]), padded[2:])
    widest: Grey = np.maximum(np.maximum(rows[:, :-2], rows[:, 1:-1]), rows[:, 2:])
    return widest


def _span(length: int, radius: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    places = np.arange(length)
    return np.maximum(places - radius, 0), np.minimum(places + radius + 1, length)


def _curve(tile: Grey, limit: float) -> NDArray[np.float32]:
    """Return the new grey level of each of the 256 levels in a tile."""
    counts = np.bincount(tile.reshape(-1), minlength=256).astype(np.float32)
    total = max(tile.size, 1)
    most = limit * total / 256
    cut = np.minimum(counts, most)
    cut += (total - cut.sum()) / 256
    return (cut.cumsum() * (255 / total)).astype(np.float32)


def _blend(length: int, tiles: int) -> tuple[NDArray[np.intp], NDArray[np.float32]]:
    """Return for each pixel the tile whose middle lies before it, and the weight of the next tile."""
    place = np.clip((np.arange(length) + 0.5) * tiles / length - 0.5, 0, tiles - 1)
    before = place.astype(np.intp)
    return before, (place - before).astype(np.float32)

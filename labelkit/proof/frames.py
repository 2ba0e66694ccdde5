"""Find square frames in a picture: the line around a label's symbol and its quiet zone.

Dark pixels that hang together are gathered; where such a piece is large enough to be a frame, straight edges
with light on their inner side are voted for along its rim, and four of them that close to a quadrangle make a
candidate. So grease on the frame, letters that run into it and another frame that is joined to it do no harm,
as long as a good part of each inner edge is seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Final

import numpy as np
from numpy.typing import NDArray

from labelkit.proof.filters import local_means
from labelkit.proof.grid import Flags, Floats, Grey, levels_at

Integers = NDArray[np.intp]

_SMALLEST_PX: Final = 56  # a side of a frame; a smaller one has less than 2 pixels a module
_SLIMMEST: Final = 0.4  # shorter side against the longer one, of a frame seen askew
_PIECES: Final = 24  # dark pieces looked at, the largest first
_LINES: Final = 20  # edges voted for in one piece
_QUADS: Final = 3  # candidates taken from one piece
_RIM: Final = 4000  # rim pixels of one piece that vote
_FAN_DEG: Final = 7  # a rim pixel votes for directions so far to either side of its own


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A candidate.

    Attributes:
        corners: 4 x 2, pixels, of the inner edge, clockwise from any of them.
        seen: share of the four inner edges that is seen, 0 to 1.
    """

    corners: Floats
    seen: float


@dataclass(frozen=True, slots=True, eq=False)
class _Rim:
    """Rim pixels of one dark piece: places, and unit vectors towards the light."""

    places: Floats
    towards: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Edges:
    """Straight edges: a point p lies on the light side of edge n where normals[n] · p > offsets[n]."""

    normals: Floats
    offsets: Floats
    lit: Integers  # a row an edge: how many pixels' lengths of it are seen up to each pixel along it
    starts: Floats


def find_frames(image: Grey) -> Iterator[Frame]:
    """Yield candidates for frames; none is an answer too.

    First those that dark pieces draw, the best seen first, then those that the light inside them draws: a
    frame that dirt joins to much else is seen from inside only. One frame may come twice, and a candidate
    need not be a frame: who uses it looks inside.
    """
    smooth = local_means(image, 1)
    around = local_means(image, max(20, min(image.shape) // 24))
    dark: Flags = smooth < around * 0.86 - 2
    for mask in (dark, ~dark):
        found = [frame for rim in _rims(mask, smooth) for frame in _frames_of(rim)]
        for frame in sorted(found, key=lambda frame: -frame.seen):
            yield _sharpened(image, frame)


def alike(one: Floats, other: Floats, reach: float) -> bool:
    """Say whether two quadrangles have the same corners to within `reach`, whichever of them comes first."""
    apart = np.abs(one[:, None, :] - other[None, :, :]).max(axis=2)
    return bool((apart.min(axis=1) < reach).all())


def pieces(dark: Flags) -> tuple[NDArray[np.int32], Integers]:
    """Number the pieces of dark pixels that hang together, also over corners.

    Returns:
        For each pixel the number of its piece, 0 where it is light; and one row a piece, from 1 on: left,
        top, right and bottom, the last two exclusive.
    """
    height, width = dark.shape
    steps = np.diff(np.pad(dark, ((0, 0), (1, 1))).astype(np.int8).reshape(-1))
    starts, ends = np.flatnonzero(steps == 1), np.flatnonzero(steps == -1)
    stride = width + 2
    rows, left, right = starts // stride, starts % stride, ends % stride
    piece = _joined(rows, left, right, height)
    numbers = np.zeros(dark.shape, np.int32)
    numbers[dark] = np.repeat(piece + 1, right - left)
    count = int(piece.max(initial=-1)) + 1
    boxes = np.empty((count, 4), np.intp)
    boxes[:, :2], boxes[:, 2:] = max(height, width), 0
    for column, (values, extreme) in enumerate(
        ((left, np.minimum), (rows, np.minimum), (right, np.maximum), (rows + 1, np.maximum))
    ):
        extreme.at(boxes[:, column], piece, values)
    return numbers, boxes


def _joined(rows: Integers, left: Integers, right: Integers, height: int) -> Integers:
    """Number runs of dark pixels, given in reading order, so that runs that touch have one number, from 0."""
    first = np.searchsorted(rows, np.arange(height + 1))
    stride = int(right.max(initial=0)) + 2
    key_left, key_right = rows * stride + left, rows * stride + right
    # The runs of the row below that reach from one pixel before the start to one pixel behind the end.
    low = np.searchsorted(key_right, (rows + 1) * stride + left, side="left")
    high = np.searchsorted(key_left, (rows + 1) * stride + right, side="right")
    low = np.maximum(low, first[rows + 1])
    high = np.minimum(high, first[np.minimum(rows + 2, height)])
    counts = np.maximum(high - low, 0)
    upper = np.repeat(np.arange(len(rows)), counts)
    lower = np.arange(counts.sum()) - np.repeat(counts.cumsum() - counts, counts) + np.repeat(low, counts)
    piece = np.arange(len(rows))
    while True:
        one, other = piece[upper], piece[lower]
        open_ = one != other
        if not open_.any():
            break
        upper, lower, one, other = upper[open_], lower[open_], one[open_], other[open_]
        np.minimum.at(piece, np.maximum(one, other), np.minimum(one, other))
        while (piece[piece] != piece).any():
            piece = piece[piece]
    return np.unique(piece, return_inverse=True)[1]


def _rims(mask: Flags, smooth: NDArray[np.float32]) -> Iterator[_Rim]:
    """Yield the rims of pieces that may hold a frame, the largest first."""
    numbers, boxes = pieces(mask)
    sizes = boxes[:, 2:] - boxes[:, :2]
    large = np.flatnonzero(sizes.min(axis=1, initial=10**9) >= _SMALLEST_PX)
    order = large[np.argsort(-sizes[large].prod(axis=1), kind="stable")]
    for number in islice(order, _PIECES):
        left, top, right, bottom = boxes[number].tolist()
        yield _rim_of(numbers[top:bottom, left:right] == number + 1, smooth, left, top)


def _rim_of(piece: Flags, smooth: NDArray[np.float32], left: int, top: int) -> _Rim:
    padded = np.pad(piece, 1)
    inner = padded[:-2, 1:-1] & padded[2:, 1:-1] & padded[1:-1, :-2] & padded[1:-1, 2:]
    rows, columns = np.nonzero(piece & ~inner)
    rows, columns = rows + top, columns + left
    height, width = smooth.shape
    inside = (rows > 0) & (columns > 0) & (rows < height - 1) & (columns < width - 1)
    rows, columns = rows[inside], columns[inside]
    every = -(-len(rows) // _RIM) or 1
    rows, columns = rows[::every], columns[::every]
    across = smooth[rows, columns + 1] - smooth[rows, columns - 1]
    down = smooth[rows + 1, columns] - smooth[rows - 1, columns]
    towards = np.stack((across, down), axis=1).astype(np.float64)
    steep = np.linalg.norm(towards, axis=1)
    clear = steep > 4
    places = np.stack((columns, rows), axis=1)[clear] + 0.5
    return _Rim(places, towards[clear] / steep[clear, None])


def _frames_of(rim: _Rim) -> list[Frame]:
    """Return the quadrangles that the rim of one piece draws, the best seen first."""
    if len(rim.places) < 2 * _SMALLEST_PX:
        return []
    edges = _edges(rim)
    corners, seen = _quadrangles(edges)
    result: list[Frame] = []
    for number in np.argsort(-seen, kind="stable"):
        if len(result) == _QUADS:
            break
        if not any(alike(corners[number], other.corners, 4.0) for other in result):
            result.append(Frame(corners[number], float(seen[number])))
    return result


def _edges(rim: _Rim) -> _Edges:
    """Vote for straight edges, each rim pixel for those that run through it about across its direction."""
    low = rim.places.min(axis=0)
    places = rim.places - low
    reach = int(np.hypot(*places.max(axis=0))) + 2
    width = max(1.5, reach / 250)
    bins = int(reach / width) + 2
    own = np.degrees(np.arctan2(rim.towards[:, 1], rim.towards[:, 0]))
    angles = (np.round(own)[:, None].astype(int) + np.arange(-_FAN_DEG, _FAN_DEG + 1)) % 360
    turned = np.radians(np.arange(360))
    rays = np.stack((np.cos(turned), np.sin(turned)), axis=1)
    offsets = (places[:, None, :] * rays[angles]).sum(axis=2)
    cells = angles * 2 * bins + np.round(offsets / width).astype(int) + bins
    votes = np.bincount(cells.reshape(-1), minlength=360 * 2 * bins).reshape(360, 2 * bins)
    votes[:, 1:] += votes[:, :-1].copy()  # an edge may lie between two cells
    normals, levels = [], []
    least = max(12.0, 0.15 * votes.max())
    for _ in range(_LINES):
        angle, cell = divmod(int(votes.argmax()), 2 * bins)
        if votes[angle, cell] < least:
            break
        votes[np.arange(angle - 8, angle + 9) % 360, max(cell - 3, 0) : cell + 4] = 0
        normals.append(rays[angle])
        levels.append((cell - 0.5 - bins) * width)
    return _fitted(rim, low, np.array(normals).reshape(-1, 2), np.array(levels), width)


def _fitted(rim: _Rim, low: Floats, normals: Floats, levels: Floats, width: float) -> _Edges:
    """Lay each edge through the rim pixels that voted for it, and note where along it they are."""
    offsets = levels + normals @ low
    starts = np.zeros(len(normals))
    seen = np.zeros((len(normals), int(np.ptp(rim.places, axis=0).sum()) + 5), bool)
    for number in range(len(normals)):
        for reach in (1.5 * width, 1.5):
            near = _near(rim, normals[number], offsets[number], reach)
            if near.sum() < 8:
                break
            middle = rim.places[near].mean(axis=0)
            away = rim.places[near] - middle
            _, axes = np.linalg.eigh(away.T @ away)
            normal = axes[:, 0] if axes[:, 0] @ normals[number] > 0 else -axes[:, 0]
            normals[number], offsets[number] = normal, normal @ middle
        near = _near(rim, normals[number], offsets[number], 1.8)
        along = rim.places[near] @ _direction(normals[number])
        if len(along):
            starts[number] = along.min() - 1
            cells = (along - starts[number]).astype(int)
            for aside in (-1, 0, 1):
                seen[number, cells + aside] = True
    lit = np.pad(seen.cumsum(axis=1), ((0, 0), (1, 0)))
    return _Edges(normals, offsets, lit, starts)


def _near(rim: _Rim, normal: Floats, offset: float, reach: float) -> Flags:
    near: Flags = (np.abs(rim.places @ normal - offset) < reach) & (rim.towards @ normal > 0.9)
    return near


def _direction(normal: Floats) -> Floats:
    """Return the direction, shape (..., 2), in which an edge runs with the light on its right as seen."""
    return np.stack((normal[..., 1], -normal[..., 0]), axis=-1)


def _quadrangles(edges: _Edges) -> tuple[Floats, Floats]:
    """Return the quadrangles with light inside: corners, N x 4 x 2, clockwise, and the shares seen."""
    normals, offsets = edges.normals, edges.offsets
    cosines = normals @ normals.T
    facing = np.argwhere(np.triu(cosines < -0.8))
    if len(facing) < 2:
        return np.empty((0, 4, 2)), np.empty(0)
    one, other = (part.reshape(-1) for part in np.triu_indices(len(facing), 1))
    a, c = facing[one].T
    b, d = facing[other].T
    square = (np.abs(cosines[a, b]) < 0.5) & (np.abs(cosines[c, d]) < 0.5)
    a, b, c, d = a[square], b[square], c[square], d[square]
    # Clockwise on the picture: the second edge's light side lies towards where the first one runs.
    swapped = normals[a, 0] * normals[b, 1] - normals[a, 1] * normals[b, 0] < 0
    b, d = np.where(swapped, d, b), np.where(swapped, b, d)
    ring = np.stack((a, b, c, d), axis=1)
    corners = np.stack([_crossing(normals, offsets, ring[:, n - 1], ring[:, n]) for n in range(4)], axis=1)
    sides = np.roll(corners, -1, axis=1) - corners
    lengths = (sides * np.stack([_direction(normals[ring[:, n]]) for n in range(4)], axis=1)).sum(axis=2)
    shortest, longest = lengths.min(axis=1), lengths.max(axis=1)
    fair = (longest >= _SMALLEST_PX) & (shortest >= _SLIMMEST * np.maximum(longest, _SMALLEST_PX))
    ring, corners, lengths = ring[fair], corners[fair], lengths[fair]
    shares = _shares(edges, ring, corners, lengths)
    seen = shares.mean(axis=1)
    good = (np.sort(shares, axis=1)[:, 1] > 0.25) & (seen > 0.4)
    return corners[good], seen[good]


def _crossing(normals: Floats, offsets: Floats, one: Integers, other: Integers) -> Floats:
    """Return where edges cross, N x 2."""
    (ax, ay), (bx, by) = normals[one].T, normals[other].T
    area = ax * by - ay * bx
    x = (offsets[one] * by - offsets[other] * ay) / area
    y = (ax * offsets[other] - bx * offsets[one]) / area
    return np.stack((x, y), axis=1)


def _shares(edges: _Edges, ring: Integers, corners: Floats, lengths: Floats) -> Floats:
    """Return for each side of quadrangles, N x 4, which share of it is seen."""
    first = (corners * _direction(edges.normals[ring])).sum(axis=2) - edges.starts[ring]
    ends = np.clip((first, first + lengths), 0, edges.lit.shape[1] - 1).astype(int)
    shares: Floats = (edges.lit[ring, ends[1]] - edges.lit[ring, ends[0]]) / lengths
    return shares


def _sharpened(image: Grey, frame: Frame) -> Frame:
    """Fit the inner edges to a fraction of a pixel, from grey levels across them."""
    corners = frame.corners
    for _ in range(2):
        sides = [_sharp_side(image, corners[n], corners[(n + 1) % 4]) for n in range(4)]
        normals = np.array([normal for normal, _ in sides])
        offsets = np.array([offset for _, offset in sides])
        order = np.arange(4)
        corners = _crossing(normals, offsets, np.roll(order, 1), order)
    return Frame(corners, frame.seen)


def _sharp_side(image: Grey, start: Floats, end: Floats) -> tuple[Floats, float]:
    """Return the line, as normal and offset, on which the levels pass from dark to light."""
    length = float(np.linalg.norm(end - start))
    run = (end - start) / length
    normal = np.array([-run[1], run[0]])
    reach = max(3.0, length / 24)
    depth = np.arange(-reach, reach + 0.25, 0.25)
    along = np.linspace(0.04, 0.96, 80) * length
    places = start + along[:, None, None] * run + depth[None, :, None] * normal
    levels = levels_at(image, places)
    half = len(depth) // 2
    low, high = levels[:, :half].min(axis=1), levels[:, half:].max(axis=1)
    rising = levels - ((low + high) / 2)[:, None]
    steps = (rising[:, :-1] < 0) & (rising[:, 1:] >= 0)
    nearest = np.where(steps, np.abs(depth[:-1])[None, :], np.inf)
    at = nearest.argmin(axis=1)
    row = np.arange(len(along))
    good = steps[row, at] & (high - low > 0.4 * np.median(high - low))
    before, after = rising[row, at], rising[row, at + 1]
    height = depth[at] + 0.25 * before / np.where(after > before, before - after, -1.0)
    slope, level = _straight(along[good], height[good])
    turned = normal - slope * run
    turned /= np.linalg.norm(turned)
    return turned, float(turned @ (start + level * normal))


def _straight(x: Floats, y: Floats) -> tuple[float, float]:
    """Return slope and level at 0 of a straight line through most of the points; flat where there are few."""
    if len(x) < 8:
        return 0.0, 0.0
    keep = np.abs(y - np.median(y)) < 3.0
    slope, level = 0.0, float(np.median(y))
    for reach in (1.5, 0.8, 0.5):
        if keep.sum() < 8:
            break
        slope, level = np.polyfit(x[keep], y[keep], 1).tolist()
        keep = np.abs(y - slope * x - level) < reach
    return slope, level

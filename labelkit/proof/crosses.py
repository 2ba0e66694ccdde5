"""Find the check crosses of a page in a picture, and measure how far apart they are.

One cross stands 140 mm along the page's x axis from a corner cross, one 140 mm along its y axis; on a check sheet a
fourth completes the square. Each has four arms of 4 mm, 0.12 mm wide. They are looked for in a coarse copy, by what a
cross has and neither a corner, a tick nor a letter has: four dark arms and light between them. Pages of a tray have
other crosses, to lay them on each other; the check crosses are the outermost ones. They are measured in the picture
itself: the middle of every arm is taken across it at many places, and two straight lines through these meet in the
middle of the cross.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from labelkit.calc.printscale import is_true
from labelkit.model.printer import CHECK_MM, LEAST_SCALE, MOST_SCALE
from labelkit.proof.filters import halved, local_means
from labelkit.proof.grid import Flags, Floats, Grey, levels_at
from labelkit.units import MM_PER_INCH

Dpi = tuple[float, float]
Levels = NDArray[np.float32]

_COARSE_DPI: Final = 100.0  # the copy has at least this, at most the double
_ARM_FROM: Final = 0.8  # mm from the middle: from there
_ARM_TO: Final = 3.5  # to there an arm is looked at
_ARM_HALF: Final = 0.35  # mm to either side of it, so that a page may be turned by some degrees
_LIGHT_FROM: Final = 0.9  # mm from the arms: where the quarters between them begin
_LEAST_SCORE: Final = 6.0  # grey levels; below, it is noise
_MOST: Final = 150  # places that look like a cross; letters do so too
_SEEN: Final = 0.8  # of every arm
_STRAIGHT: Final = 0.06  # mm; of letters, half of the places are further from a straight line
_APART: Final = 2.5  # mm between two of them
_SPAN: Final = (0.85 * CHECK_MM, 1.10 * CHECK_MM)  # also what a print dialog scaled is measured
_OWN: Final = (float(LEAST_SCALE), float(MOST_SCALE))  # what a printer may do by itself
_UNIFORM: Final = 0.03  # the two distances differ by no more, whatever the printer and the dialog do
_TURN: Final = 0.08  # most that a page may be turned, rise over run
_ASKEW: Final = 0.008  # most that its axes may differ from a right angle in a scan
_FOURTH: Final = 1.0  # mm by which the fourth may be beside its place
_OUTSIDE: Final = 1.5  # mm by which another cross may lie outside of the check crosses
_REACHES: Final = (0.9, 0.5)  # mm across an arm, coarse and then fine
_FLAT: Final = 0.0025  # opposite sides of a flat sheet in a scan differ by no more


@dataclass(frozen=True, slots=True, eq=False)
class CheckCrosses:
    """The check crosses as measured.

    Attributes:
        x_mm: distance along the picture's rows, of four crosses the mean of both pairs.
        y_mm: the same along its columns.
        flat: the angle is a right one and opposite sides are equally long, as in a scan; a photograph's are not.
    """

    x_mm: float
    y_mm: float
    flat: bool

    @property
    def true(self) -> bool:
        """Whether both are 140.0 mm to 0.2 mm, as a print must be that is put together from pages."""
        return is_true(self.x_mm, self.y_mm)

    @property
    def scale_x(self) -> float:
        """Length along the rows against the true one."""
        return self.x_mm / CHECK_MM

    @property
    def scale_y(self) -> float:
        """Length along the columns against the true one."""
        return self.y_mm / CHECK_MM


def find_crosses(image: Grey, dpi: Dpi) -> CheckCrosses | None:
    """Find and measure the check crosses; None where they are not all there.

    Args:
        image: grey levels, two-dimensional, any edge of the page at its top, turned by a few degrees at most.
        dpi: its true dots per inch across and down; a scanner's own error cannot be told from the printer's.
    """
    per_mm = np.array(dpi) / MM_PER_INCH
    seen = (_middle(image, per_mm, place) for place in _candidates(image, dpi))
    height, width = image.shape
    middles = _check_crosses([middle for middle in seen if middle is not None], np.array([width, height]) / per_mm)
    return None if middles is None else _measured(middles)


def _measured(middles: Floats) -> CheckCrosses:
    end, corner, other = middles[:3]
    across, down = [float(np.linalg.norm(end - corner))], [float(np.linalg.norm(other - corner))]
    if len(middles) == 4:
        across.append(float(np.linalg.norm(middles[3] - other)))
        down.append(float(np.linalg.norm(middles[3] - end)))
    x_mm, y_mm = sum(across) / len(across), sum(down) / len(down)
    lean = abs(float((end - corner) @ (other - corner))) / (across[0] * down[0])
    unlike = max((max(pair) - min(pair)) / min(pair) for pair in (across, down))
    return CheckCrosses(x_mm, y_mm, max(lean, unlike) <= _FLAT)


def _candidates(image: Grey, dpi: Dpi) -> list[Floats]:
    """Return the places, mm, of what looks most like a cross, the best first."""
    while min(dpi) >= 2 * _COARSE_DPI:
        image, dpi = halved(image), (dpi[0] / 2, dpi[1] / 2)
    per_mm = np.array(dpi) / MM_PER_INCH
    margin = np.ceil((_ARM_TO + 1) * per_mm).astype(int)
    if (np.array(image.shape[::-1]) <= 2 * margin + 1).any():
        return []
    found: list[Floats] = []
    for row, column in _peaks(_scores(image, per_mm, margin), round(float(per_mm.mean()) * _APART)):
        place = (np.array([column, row]) + margin + 0.5) / per_mm
        if all(np.linalg.norm(place - other) > _APART for other in found):
            found.append(place)
        if len(found) == _MOST:
            break
    return found


def _peaks(score: Levels, side: int) -> list[tuple[int, int]]:
    """Return row and column of the best place of every square of some pixels, the best first."""
    rows, columns = (-(-length // side) for length in score.shape)
    height, width = score.shape
    padded = np.pad(score, ((0, rows * side - height), (0, columns * side - width)), constant_values=-np.inf)
    squares = padded.reshape(rows, side, columns, side).swapaxes(1, 2).reshape(rows * columns, side * side)
    best, inside = squares.max(axis=1), squares.argmax(axis=1)
    order = np.argsort(-best, kind="stable")[: int((best >= _LEAST_SCORE).sum())]
    return [(int(n // columns * side + inside[n] // side), int(n % columns * side + inside[n] % side)) for n in order]


def _scores(image: Grey, per_mm: Floats, margin: NDArray[np.int_]) -> Levels:
    """Return how much darker the lightest of four arms is than the darkest of the quarters between them."""
    dark = local_means(image, round(float(per_mm.mean()) * 5)) - image
    sums = np.pad(dark, ((1, 0), (1, 0))).cumsum(axis=0, dtype=np.float64).cumsum(axis=1)
    height, width = (length - 2 * edge for length, edge in zip(image.shape, margin[::-1].tolist(), strict=True))

    def mean(left: float, top: float, right: float, bottom: float) -> Levels:
        """Return the mean over a rectangle around every place, given in mm from it."""
        x0, x1 = round(left * per_mm[0]), round(right * per_mm[0]) + 1
        y0, y1 = round(top * per_mm[1]), round(bottom * per_mm[1]) + 1

        def corner(y: int, x: int) -> Floats:
            return sums[margin[1] + y :, margin[0] + x :][:height, :width]

        total = corner(y1, x1) - corner(y0, x1) - corner(y1, x0) + corner(y0, x0)
        level: Levels = (total / ((x1 - x0) * (y1 - y0))).astype(np.float32)
        return level

    near, far, half, free = _ARM_FROM, _ARM_TO, _ARM_HALF, _LIGHT_FROM
    score = mean(near, -half, far, half)
    for arm in ((-far, -half, -near, half), (-half, near, half, far), (-half, -far, half, -near)):
        np.minimum(score, mean(*arm), out=score)
    quarters = np.zeros_like(score)
    for (left, right), (top, bottom) in product(((-far, -free), (free, far)), repeat=2):
        np.maximum(quarters, mean(left, top, right, bottom), out=quarters)
    score -= quarters
    return score


def _check_crosses(crosses: list[Floats], size_mm: Floats) -> Floats | None:
    """Return the middles of the check crosses, 3 x 2 or 4 x 2, mm; None where they are not all there.

    First one end of the rows' pair, then the corner, the end of the columns' pair, and the fourth where there is one.
    Where others stand so too, those that no dialog scaled count, then those whose corner is nearest to the picture's.
    """
    places = np.array(crosses).reshape(-1, 2)
    best: tuple[bool, float, list[int]] | None = None
    for corner, place in enumerate(places):
        away = places - place
        size = np.abs(away)
        level = np.flatnonzero((size[:, 1] <= _TURN * size[:, 0]) & _spanned(size[:, 0]))
        upright = np.flatnonzero((size[:, 0] <= _TURN * size[:, 1]) & _spanned(size[:, 1]))
        edge = float(np.linalg.norm(np.minimum(place, size_mm - place)))
        for end, other in product(level.tolist(), upright.tolist()):
            lengths = np.linalg.norm(away[[end, other]], axis=1) / CHECK_MM
            scaled = not (_OWN[0] <= lengths.min() and lengths.max() <= _OWN[1])
            if best is not None and best[:2] <= (scaled, edge):
                continue
            if _square(away[end], away[other]) and _outermost(away, away[end], away[other]):
                best = (scaled, edge, [end, corner, other])
    if best is None:
        return None
    end, corner, other = best[2]
    gaps = np.linalg.norm(places - (places[end] + places[other] - places[corner]), axis=1)
    fourth = [int(gaps.argmin())] if gaps.min() <= _FOURTH else []
    middles: Floats = places[[*best[2], *fourth]]
    return middles


def _spanned(lengths: Floats) -> Flags:
    return (lengths >= _SPAN[0]) & (lengths <= _SPAN[1])


def _square(across: Floats, down: Floats) -> bool:
    """Say whether two sides are equally long and at a right angle, to what printers and scanners do."""
    lengths = np.linalg.norm(across), np.linalg.norm(down)
    return bool(
        abs(across @ down) <= _ASKEW * lengths[0] * lengths[1] and abs(lengths[0] - lengths[1]) <= _UNIFORM * lengths[0]
    )


def _outermost(away: Floats, across: Floats, down: Floats) -> bool:
    """Say whether no other cross lies beyond the two sides of a corner, seen from within."""
    within = (away @ (side / np.linalg.norm(side)) >= -_OUTSIDE for side in (across, down))
    return all(bool(each.all()) for each in within)


def _middle(image: Grey, per_mm: Floats, place: Floats) -> Floats | None:
    """Return the middle of a cross, mm; None where there is none after all."""
    along = np.array([1.0, 0.0])
    for reach in _REACHES:
        across = np.array([-along[1], along[0]])
        level = _line(image, per_mm, place, along, across, reach)
        upright = _line(image, per_mm, place, across, along, reach)
        if level is None or upright is None:
            return None
        # down = a + b x along on the level line, along = c + d x down on the upright one
        (a, b), (c, d) = level, upright
        x = (c + d * a) / (1 - b * d)
        place = place + x * along + (a + b * x) * across
        along = (along + b * across) / np.hypot(1, b)
    return place


def _line(
    image: Grey, per_mm: Floats, place: Floats, along: Floats, across: Floats, reach: float
) -> tuple[float, float] | None:
    """Return the straight line through the two arms that lie along one direction.

    Args:
        image: the picture.
        per_mm: pixels to the mm, across and down.
        place: about the middle of the cross, mm.
        along: unit vector of the arms.
        across: unit vector across them.
        reach: how far to look to either side of an arm, mm.

    Returns:
        Offset (mm) at the place, and slope; None where there is no fine straight line.
    """
    step = 0.5 / float(per_mm.mean())
    arm = np.arange(_ARM_FROM, _ARM_TO, 2 * step)
    t = np.concatenate((-arm[::-1], arm))
    s = np.arange(-reach, reach + step / 2, step)
    places = place + t[:, None, None] * along + s[None, :, None] * across
    levels = levels_at(image, places * per_mm)
    edge = max(2, s.size // 5)
    paper = np.median(np.concatenate((levels[:, :edge], levels[:, -edge:]), axis=1), axis=1)
    dark = np.clip(paper[:, None] - levels, 0.0, None)
    dark[dark < 0.3 * np.median(dark.max(axis=1))] = 0.0  # noise of the paper
    ink = dark.sum(axis=1)
    seen = ink > 0.3 * np.median(ink)
    if not ink.any() or min(seen[: arm.size].mean(), seen[arm.size :].mean()) < _SEEN:
        return None
    t, offset = t[seen], (dark[seen] @ s) / ink[seen]
    line = np.polyfit(t, offset, 1)
    away = np.abs(offset - np.polyval(line, t))
    near = away <= 3 * np.median(away) + 1e-9
    if np.median(away) > _STRAIGHT:
        return None
    slope, at_zero = np.polyfit(t[near], offset[near], 1).tolist()
    return at_zero, slope

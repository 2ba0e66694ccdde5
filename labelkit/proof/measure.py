"""Figures from a read-back sheet: its true scale and shear, module size in dots, contrast."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from labelkit.errors import UsageError
from labelkit.proof.filters import middle_threshold
from labelkit.proof.grid import UNIT_SQUARE, Floats, Grey, homography, levels_at, module_levels, project
from labelkit.units import MM_PER_INCH

Grade = Literal["A", "B", "C", "D", "F"]

_MIRRORED: Final = [0, 3, 2, 1]  # corners of a symbol with its rows for columns
_ROUNDS: Final = 2
_BORDER_TAPS: Final = 8  # places across a border, from the middle of one module to that of the next
_FEWEST_BORDERS: Final = 40
# Lowest symbol contrast of each grade, percent. Source: ISO/IEC 15415, grading of symbol contrast.
_GRADES: Final[tuple[tuple[float, Grade], ...]] = ((70.0, "A"), (55.0, "B"), (40.0, "C"), (20.0, "D"))


@dataclass(frozen=True, slots=True)
class SheetFit:
    """How a sheet lies in a picture, by least squares over all corners.

    Attributes:
        scale_x: length along the sheet's x axis against the nominal one; 1 is true.
        scale_y: the same along the y axis.
        shear_deg: by how much the angle between the axes differs from a right one.
        residual_mm: root of the mean squared distance between measured and fitted corners.
        matrix: 2 x 3, nominal mm to pixels.
    """

    scale_x: float
    scale_y: float
    shear_deg: float
    residual_mm: float
    matrix: Floats

    def to_mm(self, points_px: Floats) -> Floats:
        """Map places in the picture, shape (..., 2), pixels, to nominal places on the sheet."""
        places: Floats = (points_px - self.matrix[:, 2]) @ np.linalg.inv(self.matrix[:, :2]).T
        return places


def fit_sheet(nominal_mm: Floats, measured_px: Floats, dpi: tuple[float, float]) -> SheetFit:
    """Fit the affine map from nominal places to places in a picture.

    A scanner's own scale cannot be told from the printer's: the figures are those of both together.

    Args:
        nominal_mm: N x 2, N at least 3, not all on one line.
        measured_px: N x 2, in the same order.
        dpi: dots per inch of the picture, across and down.

    Raises:
        UsageError: too few places, or all on one line.
    """
    design = np.column_stack((nominal_mm, np.ones(len(nominal_mm))))
    solution, _, rank, _ = np.linalg.lstsq(design, measured_px)
    if rank < 3:
        raise UsageError(f"the scale of a sheet needs three places not in line; given: {len(nominal_mm)}")
    per_mm = np.array(dpi) / MM_PER_INCH
    axes = solution[:2] / per_mm  # the rows are the sheet's axes, as measured
    (x_across, x_down), (y_across, y_down) = axes.tolist()
    between = math.atan2(y_down, y_across) - math.atan2(x_down, x_across)
    away = (design @ solution - measured_px) / per_mm
    return SheetFit(
        scale_x=math.hypot(x_across, x_down),
        scale_y=math.hypot(y_across, y_down),
        shear_deg=90.0 - math.degrees(between) % 360.0,
        residual_mm=float(np.sqrt((away**2).sum(axis=1).mean())),
        matrix=solution.T.astype(np.float64),
    )


def refined_corners(image: Grey, corners: Floats, modules: int) -> Floats:
    """Return the corners of a symbol to a small fraction of a module, from all borders between its modules.

    A decoder gives corners in whole pixels, taken from a finder pattern each. Here every border between a dark and a
    light module is measured where it is; ink that spreads moves borders both ways and does not count. Borders that
    are far from their places are dirt and are left out.

    Args:
        image: the picture.
        corners: 4 x 2, pixels, right to half a module.
        modules: modules along a side.
    """
    for _ in range(_ROUNDS):
        across = _border_shifts(image, corners, modules)
        down = _border_shifts(image, corners[_MIRRORED], modules)
        if across is None or down is None:
            break
        shift = np.stack((across, down[_MIRRORED]), axis=1)
        corners = project(homography(UNIT_SQUARE, corners), UNIT_SQUARE + shift / modules)
    return corners


def _border_shifts(image: Grey, corners: Floats, modules: int) -> Floats | None:
    """Return how far the corners should move along the rows, in modules; None where too few borders are seen."""
    levels = module_levels(image, corners, modules, taps=2).mean(axis=2)
    dark = levels < middle_threshold(levels)
    row, column = np.nonzero(dark[:, 1:] != dark[:, :-1])
    before, after = levels[row, column], levels[row, column + 1]
    taps = (np.arange(_BORDER_TAPS) + 0.5) / _BORDER_TAPS - 0.5
    x, y = (column + 1.0) / modules, (row + 0.5) / modules
    places = np.stack(np.broadcast_arrays(x[:, None] + taps / modules, y[:, None]), axis=2)
    passed = levels_at(image, project(homography(UNIT_SQUARE, corners), places)).mean(axis=1) - before
    shifts = 0.5 - passed / (after - before)
    # Each corner moves on its own; the last unknown is the spread of the ink.
    corner_shares = ((1 - x) * (1 - y), x * (1 - y), x * y, (1 - x) * y)
    design = np.column_stack((*corner_shares, np.where(dark[row, column], 1.0, -1.0)))
    near = np.abs(shifts) < 0.6
    solution = np.zeros(5)
    for reach in (0.3, 0.2):
        if near.sum() < _FEWEST_BORDERS:
            return None
        solution = np.linalg.lstsq(design[near], shifts[near])[0].astype(np.float64)
        near = np.abs(shifts - design @ solution) < reach
    return solution[:4]


def symbol_contrast(levels: Floats) -> float:
    """Return the symbol contrast in percent: the lightest less the darkest, against full white.

    The picture's white and black stand for full and no reflectance. A picture is not a calibrated verifier,
    so this compares sheets read by the same device; it is no certificate.

    Source: ISO/IEC 15415, symbol contrast SC = Rmax - Rmin.

    Args:
        levels: mean grey levels of the modules, any shape.

    >>> symbol_contrast(np.array([0.0, 51.0, 204.0]))
    80.0
    """
    return float(levels.max() - levels.min()) / 255 * 100


def contrast_grade(contrast: float) -> Grade:
    """Return the grade of a symbol contrast in percent.

    >>> contrast_grade(70), contrast_grade(69.9), contrast_grade(19)
    ('A', 'B', 'F')
    """
    return next((grade for least, grade in _GRADES if contrast >= least), "F")

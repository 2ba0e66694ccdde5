"""Scale, rotation, shear, corners and contrast: against constructed maps and the standard's grades."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image, ImageFilter

from labelkit.errors import UsageError
from labelkit.proof.measure import contrast_grade, fit_sheet, refined_corners, symbol_contrast

TEXT = "http://192.168.1.20:8080/7K3M9Q2XF41"
PLACES = np.array([[10.0, 10.0], [200.0, 12.0], [195.0, 280.0], [15.0, 270.0], [100.0, 140.0]])


def mapped(scale_x: float, scale_y: float, turn_deg: float, shear_deg: float, dpi: tuple[float, float]) -> NDArray:
    """Lay places on a sheet, in a picture, by the definitions of scale, rotation and shear."""
    turn, shear = np.radians([turn_deg, shear_deg])
    x_axis = scale_x * np.array([np.cos(turn), np.sin(turn)])
    y_axis = scale_y * np.array([-np.sin(turn - shear), np.cos(turn - shear)])
    return (PLACES @ np.array([x_axis, y_axis]) + [3.0, -2.0]) * np.array(dpi) / 25.4


@pytest.mark.parametrize("turn", [0.0, 0.7, -1.2, 90.0, 180.0])
@pytest.mark.parametrize("dpi", [(300.0, 300.0), (204.0, 196.0)])
def test_a_known_map_is_measured_back(turn: float, dpi: tuple[float, float]) -> None:
    """Exact corners give the exact figures, any way up, and where the dots are not square."""
    fit = fit_sheet(PLACES, mapped(1.004, 0.997, turn, 0.2, dpi), dpi)

    assert (fit.scale_x, fit.scale_y) == pytest.approx((1.004, 0.997))
    assert fit.shear_deg == pytest.approx(0.2)
    assert fit.residual_mm == pytest.approx(0, abs=1e-9)


def test_places_in_the_picture_map_back_to_the_sheet() -> None:
    """The fitted map, backwards."""
    picture = mapped(1.0, 1.0, 30.0, 0.0, (300.0, 300.0))
    fit = fit_sheet(PLACES, picture, (300.0, 300.0))

    assert np.allclose(fit.to_mm(picture), PLACES)


def test_the_residual_is_what_the_map_cannot_explain() -> None:
    """Corners of a square, two moved 0.05 mm right and two left, in a way that no map of a plane sheet makes."""
    square = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    moved = square + np.array([[0.05, 0.0], [-0.05, 0.0], [0.05, 0.0], [-0.05, 0.0]])

    assert fit_sheet(square, moved, (25.4, 25.4)).residual_mm == pytest.approx(0.05)


def test_places_in_line_have_no_scale() -> None:
    """One axis cannot be seen."""
    line = np.array([[0.0, 0.0], [10.0, 0.0], [20.0, 0.0]])

    with pytest.raises(UsageError, match="not in line"):
        fit_sheet(line, line, (300.0, 300.0))


@pytest.mark.parametrize("blur", [0.5, 1.2])
@pytest.mark.parametrize("spread", [0, 9])
def test_corners_are_refined_whatever_ink_and_focus_do(draw: Callable[..., NDArray], blur: float, spread: int) -> None:
    """From a pixel off to less than a tenth; ink that spreads by 0.13 of a module to each side does not count."""
    fine = Image.fromarray(draw(TEXT, px=30, around_px=0))
    if spread:
        fine = fine.filter(ImageFilter.MinFilter(spread))  # every border moves by half of it
    side = 45 * 4 + 1  # a module is not a whole number of pixels
    coarse = fine.resize((side, side), Image.Resampling.BOX)
    image = np.asarray(coarse.filter(ImageFilter.GaussianBlur(blur)))
    low, high = side * 4 / 45, side * 41 / 45
    square = np.array([(low, low), (high, low), (high, high), (low, high)])
    given = square + np.array([[0.9, -0.5], [0.4, 0.9], [-0.8, 0.7], [0.6, 0.8]])

    assert np.abs(refined_corners(image, given, 37) - square).max() < 0.1


def test_corners_of_blank_paper_stay() -> None:
    """Where no border is seen nothing is known better."""
    corners = np.array([[10.0, 10.0], [90.0, 10.0], [90.0, 90.0], [10.0, 90.0]])

    assert (refined_corners(np.full((100, 100), 200, np.uint8), corners, 21) == corners).all()


def test_contrast_is_the_difference_of_the_extremes() -> None:
    """SC = Rmax - Rmin. Source: ISO/IEC 15415, symbol contrast."""
    assert symbol_contrast(np.array([[25.5, 229.5], [100.0, 30.0]])) == pytest.approx(80.0)


@pytest.mark.parametrize(
    ("contrast", "grade"), [(70, "A"), (69, "B"), (55, "B"), (54, "C"), (40, "C"), (39, "D"), (20, "D"), (19, "F")]
)
def test_grades_of_contrast(contrast: float, grade: str) -> None:
    """Source: ISO/IEC 15415, table of symbol contrast grades (from memory)."""
    assert contrast_grade(contrast) == grade

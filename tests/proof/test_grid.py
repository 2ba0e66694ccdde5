"""Perspective maps and grey levels between pixels, against OpenCV."""

import cv2
import numpy as np

from labelkit.proof.grid import UNIT_SQUARE, holds, homography, levels_at, module_levels, project, side_length

QUAD = np.array([[20.0, 10.0], [90.0, 25.0], [80.0, 95.0], [5.0, 70.0]])


def test_homography_is_the_one_opencv_finds() -> None:
    """Four points determine a perspective map, whoever solves for it."""
    expected = cv2.getPerspectiveTransform(UNIT_SQUARE.astype(np.float32), QUAD.astype(np.float32))

    assert np.allclose(homography(UNIT_SQUARE, QUAD), expected, atol=1e-3)


def test_project_takes_corners_to_corners() -> None:
    """A map made from four pairs of points maps them exactly."""
    assert np.allclose(project(homography(UNIT_SQUARE, QUAD), UNIT_SQUARE), QUAD)


def test_levels_between_pixels_are_the_ones_of_opencv() -> None:
    """Bilinear interpolation, with the middle of the first pixel at one half."""
    image = np.random.default_rng(1).integers(0, 256, (40, 50), dtype=np.uint8)
    places = np.random.default_rng(2).uniform(1, 38, (100, 1, 2))
    expected = cv2.remap(image.astype(np.float32), (places - 0.5).astype(np.float32), None, cv2.INTER_LINEAR)

    # OpenCV interpolates in steps of 1/32 pixel.
    assert np.abs(levels_at(image, places) - expected).max() < 255 / 32


def test_a_place_outside_has_the_level_of_the_nearest_pixel() -> None:
    """Nothing is read beyond the picture's edge."""
    image = np.array([[10, 20], [30, 40]], np.uint8)

    assert levels_at(image, np.array([[-5.0, -5.0], [9.0, 9.0]])).tolist() == [10.0, 40.0]


def test_module_levels_lie_inside_their_modules() -> None:
    """Taps of one module never touch its neighbours; the border is what lies around the symbol."""
    modules = np.random.default_rng(3).integers(0, 2, (21, 21), dtype=np.uint8) * 255
    image = np.kron(np.pad(modules, 2, constant_values=128), np.ones((6, 6), np.uint8))
    corners = UNIT_SQUARE * 126 + 12

    levels = module_levels(image, corners, 21, taps=3, border=1)

    assert levels.shape == (23, 23, 9)
    assert (levels[1:-1, 1:-1] == modules[:, :, None]).all()
    assert (levels[0] == 128).all()


def test_side_and_inside_of_a_quadrangle() -> None:
    """A square turned by 45 degrees has its side, holds its middle, and not the corner of its box."""
    diamond = np.array([[5.0, 0.0], [10.0, 5.0], [5.0, 10.0], [0.0, 5.0]])

    assert np.isclose(side_length(diamond), 5 * np.sqrt(2))
    assert holds(diamond, np.array([5.0, 5.0]))
    assert not holds(diamond, np.array([1.0, 1.0]))

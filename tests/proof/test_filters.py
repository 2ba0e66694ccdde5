"""Picture filters, against OpenCV and Pillow."""

import cv2
import numpy as np
import pytest
from PIL import Image

from labelkit.proof.filters import (
    closed,
    enlarged,
    halved,
    local_contrast,
    local_means,
    median,
    middle_threshold,
)

NOISE = np.random.default_rng(4).integers(0, 256, (48, 64), dtype=np.uint8)
ACROSS, DOWN = np.meshgrid(np.arange(640), np.arange(640))
SHADED = (ACROSS / 8 + 60 + 20 * np.sin(DOWN / 3)).astype(np.uint8)


def test_enlarged_is_the_bicubic_picture_of_pillow() -> None:
    """Pillow's bicubic filter has a = -1/2 as well; both round twice, so two levels apart is the same."""
    noise = NOISE // 2 + 60  # far enough from black and white for the overshoot
    expected = np.asarray(Image.fromarray(noise).resize((128, 96), Image.Resampling.BICUBIC), dtype=int)

    assert np.abs(enlarged(noise)[4:-4, 4:-4] - expected[4:-4, 4:-4]).max() <= 2


def test_halved_is_the_area_mean_of_opencv() -> None:
    """Each pixel is the mean of four; odd rows and columns at the end are lost."""
    expected = cv2.resize(NOISE[:46, :62], (31, 23), interpolation=cv2.INTER_AREA)

    assert np.abs(halved(NOISE[:47, :63]).astype(int) - expected).max() <= 1


def test_median_is_the_one_of_opencv() -> None:
    """The median of nine, at the edge with repeated pixels."""
    assert (median(NOISE) == cv2.medianBlur(NOISE, 3)).all()


def test_closed_is_the_one_of_opencv() -> None:
    """Grey closing with a square of three."""
    expected = cv2.morphologyEx(NOISE, cv2.MORPH_CLOSE, np.ones((3, 3)), borderType=cv2.BORDER_REPLICATE)

    assert (closed(NOISE) == expected).all()


def test_local_means_are_the_ones_of_opencv() -> None:
    """The mean of a square, away from the edge of the picture."""
    expected = cv2.blur(NOISE.astype(np.float32), (11, 11))[5:-5, 5:-5]

    assert np.allclose(local_means(NOISE, 5)[5:-5, 5:-5], expected, atol=1e-2)


def test_local_means_at_the_edge_are_of_what_there_is() -> None:
    """The corner of the picture sees a quarter of the square."""
    assert np.isclose(local_means(NOISE, 5)[0, 0], NOISE[:6, :6].mean())


def test_local_contrast_is_near_the_one_of_opencv() -> None:
    """Same tiles and limit; OpenCV hands out what was cut in whole pixels, hence a few levels."""
    expected = cv2.createCLAHE(clipLimit=3.0, tileGridSize=(8, 8)).apply(SHADED).astype(int)

    difference = np.abs(local_contrast(SHADED, limit=3.0) - expected)

    assert difference.mean() < 2
    assert difference.max() <= 8


def test_local_contrast_of_a_picture_smaller_than_its_tiles() -> None:
    """A few pixels are a picture too."""
    assert local_contrast(np.full((3, 2), 90, np.uint8)).shape == (3, 2)


def test_middle_threshold_parts_like_the_one_of_opencv() -> None:
    """Otsu's level may lie anywhere in the gap; which values are dark must be the same."""
    rng = np.random.default_rng(5)
    levels = np.append(rng.normal(60, 15, 600), rng.normal(170, 20, 900)).clip(0, 255).astype(np.uint8)
    expected, _ = cv2.threshold(levels[None, :], 0, 255, cv2.THRESH_OTSU)

    assert ((levels < middle_threshold(levels.astype(np.float64))) == (levels <= expected)).all()


@pytest.mark.parametrize("values", [[7.0], [7.0, 7.0, 7.0]])
def test_middle_threshold_of_equal_levels_is_that_level(values: list[float]) -> None:
    """Where nothing differs there is nothing to part."""
    assert middle_threshold(np.array(values)) == 7.0

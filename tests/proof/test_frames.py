"""Frames in pictures: pieces against OpenCV, corners against what was drawn."""

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter

from labelkit.proof.frames import alike, find_frames, pieces

INNER = np.array([[62.0, 48.0], [201.0, 74.0], [182.0, 203.0], [41.0, 190.0]])


def drawn(
    *extra: tuple[tuple[float, float], tuple[float, float], int], corners: NDArray[np.float64] = INNER
) -> Image.Image:
    """Draw a frame, light inside, 5 pixels wide, smooth edges; and strokes from place to place of a width."""
    middle = corners.mean(axis=0)
    outer = corners + 7 * np.sign(corners - middle)
    over = 4
    image = Image.new("L", (280 * over, 260 * over), 210)
    draw = ImageDraw.Draw(image)
    draw.polygon([tuple(point) for point in outer * over], fill=40)
    draw.polygon([tuple(point) for point in corners * over], fill=210)
    for start, end, width in extra:
        draw.line([tuple(over * v for v in start), tuple(over * v for v in end)], fill=40, width=width * over)
    return image.reduce(over).filter(ImageFilter.GaussianBlur(0.8))


def best_miss(image: Image.Image) -> float:
    """Greatest distance of a corner, for the candidate that misses least."""
    misses = [
        np.linalg.norm(frame.corners[:, None] - INNER[None, :], axis=2).min(axis=0).max()
        for frame in find_frames(np.asarray(image))
    ]
    return float(min(misses, default=np.inf))


def test_pieces_are_the_ones_of_opencv() -> None:
    """Pixels that touch, also over corners, are one piece; each has its box."""
    dark = np.random.default_rng(6).random((60, 80)) < 0.35
    count, expected, stats, _ = cv2.connectedComponentsWithStats(dark.astype(np.uint8), connectivity=8)

    numbers, boxes = pieces(dark)

    pairs = set(zip(numbers[dark].tolist(), expected[dark].tolist(), strict=True))
    assert len(boxes) == count - 1 == len(pairs)
    for ours, theirs in pairs:
        left, top, width, height = stats[theirs, :4]
        assert boxes[ours - 1].tolist() == [left, top, left + width, top + height]


def test_a_picture_without_dark_pixels_has_no_piece() -> None:
    """None is an answer too."""
    numbers, boxes = pieces(np.zeros((5, 7), bool))

    assert numbers.max() == 0
    assert len(boxes) == 0


def test_inner_corners_are_found_to_a_fraction_of_a_pixel() -> None:
    """A module of a symbol is hardly three pixels: its grid cannot be a pixel off."""
    assert best_miss(drawn()) < 0.4


def test_letters_that_run_into_the_frame_do_no_harm() -> None:
    """Strokes that end on the outer edge, as of a line of text set too long."""
    strokes = [((205.0 + 3 * n, 90.0 + 12 * n), (275.0, 90.0 + 12 * n), 3) for n in range(-1, 8)]

    assert best_miss(drawn(*strokes)) < 0.5


def test_grease_across_a_side_does_no_harm() -> None:
    """A stroke over two sides and a corner of the inside."""
    assert best_miss(drawn(((20.0, 120.0), (150.0, 20.0), 22))) < 0.6


def test_a_frame_joined_to_everything_around_is_seen_from_inside() -> None:
    """Two strokes that tie it to dark ground on both sides."""
    ground = ((0.0, 5.0), (280.0, 5.0), 40), ((0.0, 255.0), (280.0, 255.0), 60)
    ties = ((100.0, 0.0), (130.0, 60.0), 9), ((120.0, 260.0), (120.0, 190.0), 9)

    assert best_miss(drawn(*ground, *ties)) < 0.6


def test_blank_paper_and_noise_have_no_frame() -> None:
    """No candidate is made of nothing."""
    noise = np.random.default_rng(7).normal(200, 8, (300, 400)).astype(np.uint8)

    assert list(find_frames(np.full((300, 400), 255, np.uint8))) == []
    assert list(find_frames(noise)) == []


def test_alike_does_not_ask_which_corner_comes_first() -> None:
    """The same quadrangle from another corner is the same; one moved by more than the reach is not."""
    assert alike(INNER, np.roll(INNER, 2, axis=0), 0.5)
    assert not alike(INNER, INNER + np.array([0.0, 0.6]), 0.5)

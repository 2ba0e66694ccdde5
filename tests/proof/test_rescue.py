"""Symbols whose finder patterns are gone, read by their frame; pictures of dirt are simulated."""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from labelkit.proof.decode import read_symbols
from labelkit.proof.patterns import function_patterns
from labelkit.proof.rescue import rescued
from tests.bench.dirt import Scene, read_label, shoot

TEXT = "http://192.168.1.20:8080/7K3M9Q2XF41"
Draw = Callable[..., NDArray[np.uint8]]


def without_finder(image: NDArray[np.uint8], px: int, start: int) -> NDArray[np.uint8]:
    """Cover the top left finder pattern, quiet zone included, with grey grease."""
    spoiled = image.copy()
    spoiled[start : start + 13 * px, start : start + 13 * px] = 50
    return spoiled


@pytest.mark.parametrize("length", [1, 20, 36, 60, 100])
@pytest.mark.parametrize("px", [3, 8])
def test_a_symbol_without_a_finder_pattern_is_read_by_its_frame(draw: Draw, length: int, px: int) -> None:
    """Any version that a label has, of any size in pixels, and any way up."""
    text = (TEXT * 3)[:length] + "0"
    image = np.rot90(without_finder(draw(text, px=px, frame_px=4, around_px=30), px, 34), length % 4).copy()

    assert read_symbols(image, thorough=False) == []
    assert [reading.text for reading in rescued(image)] == [text]


def test_a_rescued_reading_says_where_and_how(draw: Draw) -> None:
    """Corners from the symbol's own top left, the side of a module, and the step."""
    (reading,) = rescued(without_finder(draw(TEXT, px=5, frame_px=7, around_px=30), 5, 37))

    assert np.allclose(reading.corners[[0, 2]], [[57, 57], [57 + 37 * 5, 57 + 37 * 5]], atol=0.2)
    assert reading.module_px == pytest.approx(5, abs=0.02)
    assert reading.how.startswith("frame")


def test_a_text_that_is_not_accepted_is_not_returned(draw: Draw) -> None:
    """Whoever knows which texts there are has the last word."""
    image = without_finder(draw(TEXT, px=4, frame_px=5, around_px=30), 4, 35)

    assert rescued(image, accept=lambda text: text != TEXT) == []


def test_a_frame_whose_symbol_was_read_is_passed_over(draw: Draw) -> None:
    """What is known costs nothing again."""
    image = draw(TEXT, frame_px=5, around_px=30)
    known = read_symbols(image, thorough=False)

    assert len(known) == 1
    assert rescued(image, known=known) == []


def test_neighbours_are_read_each_by_its_own_frame(draw: Draw) -> None:
    """Three frames that share their sides, all without a finder pattern."""
    texts = [f"{TEXT}{number}" for number in range(3)]
    images = [without_finder(draw(text, px=4, frame_px=5, around_px=0), 4, 5) for text in texts]
    row = np.pad(np.hstack(images), 25, constant_values=255)

    assert sorted(reading.text for reading in rescued(row)) == texts


def test_a_symbol_of_noise_in_a_frame_says_nothing() -> None:
    """Right function patterns and random data: every step of the rescue runs, and the error correction says no."""
    for seed in range(2):
        rng = np.random.default_rng(seed)
        version = int(rng.integers(2, 8))
        known, pattern = function_patterns(version)
        dark = np.where(known, pattern, rng.random(known.shape) < 0.5)
        symbol = np.kron(np.pad(~dark, 4, constant_values=True), np.ones((4, 4), np.uint8)) * np.uint8(255)
        image = np.pad(np.pad(symbol, 5, constant_values=0), 30, constant_values=255)

        assert rescued(image) == []


@pytest.mark.parametrize(
    ("scene", "least"),
    [
        (Scene(), 4),
        (Scene(spatter=0.05), 3),
        (Scene(smear=0.10), 3),
        (Scene(spatter=0.05, smear=0.05, neighbours=True, touching=True), 3),
        (Scene(strokes=2, symbols=2), 3),
    ],
    ids=["no dirt", "spatter", "smear", "neighbours", "two symbols"],
)
def test_dirty_labels_are_read_and_never_wrongly(scene: Scene, least: int) -> None:
    """Four simulated pictures a scene; the bench runs thousands."""
    shots = [shoot(scene, seed) for seed in range(1000, 1004)]
    texts = [{reading.text for reading in read_label(shot.image)} for shot in shots]

    assert all(found <= {shot.text, *shot.others} for found, shot in zip(texts, shots, strict=True))
    assert sum(bool(found) for found in texts) >= least


def test_a_large_photograph_is_searched_in_smaller_copies_first(draw: Draw) -> None:
    """A phone's picture of one label: 16 pixels a module, more than two megapixels."""
    image = np.pad(without_finder(draw(TEXT, px=16, frame_px=22, around_px=60), 16, 82), 250, constant_values=180)

    assert image.size > 1_500_000
    assert [reading.text for reading in rescued(image)] == [TEXT]

"""Reading symbols: drawn by segno, so that encoder and decoder are strangers to each other."""

from collections.abc import Callable

import numpy as np
import pytest
import segno
from numpy.typing import NDArray
from PIL import Image

from labelkit.proof.decode import merged, read_modules, read_symbols

TEXT = "http://192.168.1.20:8080/7K3M9Q2XF41"
Draw = Callable[..., NDArray[np.uint8]]


def steps_that_read(image: NDArray[np.uint8]) -> list[str]:
    """Name the step that read each symbol."""
    return [reading.how for reading in read_symbols(image, thorough=True)]


def test_a_clean_symbol_is_read_and_measured(draw: Draw) -> None:
    """Text, step, module and contrast of a symbol as it was drawn."""
    (reading,) = read_symbols(draw(TEXT, px=5), thorough=False)

    assert (reading.text, reading.how) == (TEXT, "plain, local threshold")
    assert reading.module_px == pytest.approx(5, abs=0.01)
    assert reading.contrast == pytest.approx(100)


@pytest.mark.parametrize("turns", range(4))
def test_corners_begin_at_the_symbols_own_top_left(draw: Draw, turns: int) -> None:
    """However the picture is turned, the corners go round with it."""
    image = np.rot90(draw(TEXT, px=4, around_px=10), turns)
    low, high = 10 + 16, image.shape[0] - 26
    square = np.array([(low, low), (high, low), (high, high), (low, high)])

    (reading,) = read_symbols(np.ascontiguousarray(image), thorough=False)

    assert np.allclose(reading.corners, np.roll(square, turns, axis=0), atol=0.05)


def test_several_symbols_are_each_read_once(draw: Draw) -> None:
    """Two symbols of one text are two, and no step reads one again."""
    image = np.hstack([draw(TEXT), draw(TEXT), draw(TEXT + "Z")])

    texts = sorted(reading.text for reading in read_symbols(image, thorough=True))

    assert texts == [TEXT, TEXT, TEXT + "Z"]


def test_a_symbol_too_small_for_the_decoder_is_enlarged(draw: Draw) -> None:
    """1.15 pixels a module, pale and noisy: too few as they are."""
    fine = Image.fromarray(draw(TEXT, px=16, around_px=64)).rotate(3, fillcolor=255)
    levels = np.asarray(fine.resize([round(side * 1.15 / 16) for side in fine.size], Image.Resampling.BOX))
    small = (levels / 2 + 60 + np.random.default_rng(1).normal(0, 4, levels.shape)).astype(np.uint8)

    assert read_symbols(small, thorough=False) == []
    assert steps_that_read(small) == ["enlarged, local threshold"]


def test_a_faint_symbol_on_unevenly_lit_paper_is_read(draw: Draw) -> None:
    """20 of 255 levels between light and dark, less than the light itself varies."""
    symbol = draw(TEXT)
    light = 40 + 100 * np.linspace(0, 1, symbol.shape[1]) ** 2
    noise = np.random.default_rng(0).normal(0, 0.5, symbol.shape)
    image = (light + symbol / 255 * 20 + noise).round().astype(np.uint8)

    assert read_symbols(image, thorough=False) == []
    assert steps_that_read(image) == ["local contrast, local threshold"]


def test_single_dark_and_light_specks_are_taken_out(draw: Draw) -> None:
    """5 % of all pixels black, 5 % white."""
    chance = np.random.default_rng(1).random(draw(TEXT).shape)
    image = np.where(chance < 0.05, 0, np.where(chance > 0.95, 255, draw(TEXT))).astype(np.uint8)

    assert read_symbols(image, thorough=False) == []
    assert steps_that_read(image) == ["median, local threshold"]


def test_thin_scratches_of_ink_are_taken_out(draw: Draw) -> None:
    """A dark line every nine pixels."""
    image = draw(TEXT)
    image[::9] = 0

    assert read_symbols(image, thorough=False) == []
    assert steps_that_read(image) == ["closed, local threshold"]


def test_only_model_2_is_read() -> None:
    """Micro QR is another symbology: a decoder that is asked for QR of any kind finds it in dirt."""
    micro = np.array(segno.make("12345", micro=True).matrix, dtype=bool)
    image = np.kron(np.pad(~micro, 6, constant_values=True), np.ones((6, 6), np.uint8)) * np.uint8(255)

    assert read_symbols(image, thorough=True) == []


def test_a_symbol_beyond_repair_is_not_read(draw: Draw) -> None:
    """Half of the data gone: no text is better than a wrong one."""
    image = draw(TEXT)
    image[50:-50, 60:120] = 0

    assert read_symbols(image, thorough=True) == []


@pytest.mark.parametrize("text", ["Прокладка 5", "H₂O µm ±0,5", "TORQUE\n25 N·m"])
def test_texts_beyond_ascii_come_back(draw: Draw, text: str) -> None:
    """Cards carry any language, and more than one line."""
    assert [reading.text for reading in read_symbols(draw(text), thorough=False)] == [text]


def test_modules_are_read_without_a_picture() -> None:
    """A matrix is enough; one whose error correction does not come out gives nothing."""
    dark = np.array(segno.make(TEXT, error="h", boost_error=False).matrix, dtype=bool)
    noise = np.random.default_rng(8).random(dark.shape) < 0.5
    noise[:9, :9], noise[:9, -8:], noise[-8:, :9] = dark[:9, :9], dark[:9, -8:], dark[-8:, :9]

    assert read_modules(dark) == TEXT
    assert read_modules(noise) is None


def test_of_readings_at_one_place_the_first_stays(draw: Draw) -> None:
    """What the picture itself says goes before what a changed copy says."""
    first, second = read_symbols(draw(TEXT), thorough=False), read_symbols(draw(TEXT + "Z"), thorough=False)

    assert merged(first, second) == first
    assert merged([], []) == []


@pytest.mark.parametrize("shape", [(1, 1), (2, 9), (30, 30)])
def test_a_tiny_picture_holds_nothing(shape: tuple[int, int]) -> None:
    """None is an answer too."""
    assert read_symbols(np.full(shape, 255, np.uint8), thorough=True) == []

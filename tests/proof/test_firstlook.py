"""The first look at a page on which nothing was read; dirt is simulated."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from labelkit.proof.firstlook import may_hold_symbols
from tests.bench.dirt import Scene, shoot

Draw = Callable[..., NDArray[np.uint8]]
CARD = "7 Input-cover screw M12 x 35 x 8 DANGER Brake springs push the cover up with 7.6 kN. " * 3


@pytest.mark.parametrize(
    ("scene", "start"),
    [
        (Scene(spatter=0.1), 0),
        (Scene(smear=0.15), 4),
        (Scene(spatter=0.1, touching=True, neighbours=True), 8),
        (Scene(smear=0.1, scale=(11, 12)), 0),
    ],
)
def test_a_dirty_label_is_worth_every_means(scene: Scene, start: int) -> None:
    """Spatter and smears, askew and out of focus: four pictures each, and none is given up."""
    assert all(may_hold_symbols(shoot(scene, seed).image) for seed in range(start, start + 4))


@pytest.mark.parametrize("text", ["http://10.0.0.5:8080/7K3M9Q2XF41", CARD])
def test_one_label_on_a_whole_page_is_seen(draw: Draw, text: str) -> None:
    """A sheet at 300 dpi with a single symbol, a small or a dense one, one corner under grease."""
    page = np.full((3508, 2481), 245, np.uint8)
    label = draw(text, px=5, frame_px=8)
    label[:120, :120] = 60
    page[900 : 900 + label.shape[0], 700 : 700 + label.shape[1]] = label

    assert may_hold_symbols(page)


def test_nothing_is_seen_where_nothing_is() -> None:
    """White paper, noise of paper, and a grey one."""
    noise = np.random.default_rng(3).normal(240, 6, (1200, 900)).clip(0, 255).astype(np.uint8)

    for page in (np.full((1200, 900), 255, np.uint8), noise, np.full((60, 40), 128, np.uint8)):
        assert not may_hold_symbols(page)


def test_frames_round_text_and_drawings_are_none() -> None:
    """A box with lines of letters' size, a box with a solid fill and an empty one: what maps and lists are made of."""
    page = np.full((1200, 900), 255, np.uint8)
    for top, inside in ((100, "lines"), (450, "solid"), (800, "empty")):
        page[top : top + 250, 300:550] = 0
        page[top + 8 : top + 242, 308:542] = 255
        if inside == "lines":
            for row in range(top + 30, top + 230, 24):
                page[row : row + 8, 330:520:9] = 0
        elif inside == "solid":
            page[top + 60 : top + 190, 360:490] = 0

    assert not may_hold_symbols(page)

"""References and titles of the exploded view and of the section: circles, ends of leaders, scales, which way is up."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from labelkit.drawing.page import BLACK, WHITE, Box, Command, Group, Item, Path, Pen, circle_path, closed, moved, opened
from labelkit.drawing.text import cap_height
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.sheets.explodedrows import BAR_GAP, LEAD, NAME, bar_length, bar_words
from labelkit.sheets.explodedslots import BALLOON, CAP, OPENS, balloon_width, step_size
from labelkit.sheets.legible import em

CHAIN: Final = Pen(0.18, dash=(7.0, 1.2, 1.2, 1.2))
# A leader ends in a dot inside a part that holds one, else in an arrowhead on its outline (ISO 128-22, from memory).
HOLDS_DOT: Final = 1.8
_DOT: Final = 0.5
_PEN: Final = Pen(0.35)
_DOUBTFUL: Final = Pen(0.35, dash=(1.2, 0.8))


def circle(step: str, label: str, x: float, middle: float, *, doubtful: bool = False) -> Group:
    """Return the circle round a reference, drawn out where that is long.

    Args:
        step: names the group, as `circle 12`.
        label: what stands in it.
        x: of its middle, mm.
        middle: y of its middle, mm.
        doubtful: it is drawn dashed.
    """
    half, size = balloon_width(label) / 2, step_size(label)
    words = text_line(label, x, middle + size * cap_height("bold") / 2, size, "bold", "middle")
    room = Box(x - half, middle - BALLOON, 2 * half, 2 * BALLOON)
    outline = Path(_capsule(x, middle, half), _DOUBTFUL if doubtful else _PEN, WHITE)
    return Group((outline, words), f"circle {step}", room)


def leader_end(x: float, y: float, *, dot: bool) -> Path:
    """Return the end of a leader that comes from above: a dot inside a part, or an arrowhead on its outline."""
    if dot:
        return Path(circle_path(x, y, _DOT), None, BLACK)
    return Path(closed([(x, y), (x - 0.45, y - 1.9), (x + 0.45, y - 1.9)]), None, BLACK)


def title(words: str, scale_words: str, scale: float | None) -> Iterator[Item]:
    """Yield what is shown, its scale and a bar of a round length; no bar where there is nothing to scale."""
    yield text_line(words, 0, NAME, em(NAME, "bold"), "bold")
    y = NAME + 3.6
    written = text_line(scale_words, 0, y, em(CAP, "bold"), "bold")
    yield written
    if scale is None:
        return
    length = bar_length(scale)
    x, drawn = written.box.right + BAR_GAP, length * scale
    yield Path(opened([(x, y - 1.6), (x, y), (x + drawn, y), (x + drawn, y - 1.6)]), Pen(0.25))
    yield text_line(bar_words(length), x + drawn + BAR_GAP / 2, y, em(OPENS), "regular")


def up_arrow(y: float) -> Iterator[Item]:
    """Yield the arrow at the left end of an axis, with the word."""
    yield Path(closed([(0.0, y), (2.6, y - 1.1), (2.6, y + 1.1)]), None, BLACK)
    word = text_line(_("UP"), 0.0, 0.0, em(CAP, "bold"), "bold")
    # A long one is turned a quarter to the left, where the first part would be in its way.
    turned = word.width > LEAD - 0.5
    yield Group((word,), "up", None, (0.0, -1.0, 1.0, 0.0, CAP, y - 2.0) if turned else moved(0.0, y - 2.0))


def _capsule(x: float, y: float, half: float) -> tuple[Command, ...]:
    """Return a circle drawn out to this half width."""
    straight = half - BALLOON
    if straight <= 0:
        return circle_path(x, y, BALLOON)
    k = BALLOON * 4 / 3
    left, right, top, bottom = x - straight, x + straight, y - BALLOON, y + BALLOON
    return (
        ("M", left, top),
        ("L", right, top),
        ("C", right + k, top, right + k, bottom, right, bottom),
        ("L", left, bottom),
        ("C", left - k, bottom, left - k, top, left, top),
        ("Z",),
    )

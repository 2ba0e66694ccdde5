"""A sign-in label: whoever scans it at the bench is signed in under the name on it."""

from __future__ import annotations

from typing import Final

from labelkit.drawing import symbol as symbols
from labelkit.drawing.page import Box, Item, Page, Pen, rectangle
from labelkit.drawing.text import cap_for_size, fit_line, size_for_cap, wrap
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.sheets.legible import em

_PAPER: Final = (210.0, 297.0)
# The size of a bank card, ISO/IEC 7810 ID-1, so that it fits a badge holder; where it stands on the sheet, mm.
_CARD: Final = Box(20, 20, 85.6, 53.98)
_MARGIN: Final = 4.0
_SYMBOL: Final = 38.0
_NAME: Final = (size_for_cap(5.0, "bold"), em(3.0, "bold"))
_WORDS: Final = 2.4
_PITCH: Final = 4.2
_TOLD: Final = noop(
    "Sign-in label of the bench. Scan it into the PIN field. It counts like the PIN, until the PIN is changed: "
    "keep it as you keep a key."
)


def sign_in_label(text: str, name: str, *, dpi: float) -> Page:
    """Return a sheet with one label, to be cut out.

    Args:
        text: what its symbol says.
        name: who signs in with it.
        dpi: dots per inch of the printer.

    Raises:
        CapacityError: the text is too long for a symbol that can be printed and read.
    """
    plan = symbols.fit_symbol(text, side=_SYMBOL, dpi=dpi)
    inner = Box(_CARD.x + _MARGIN, _CARD.y + _MARGIN, _CARD.width - 2 * _MARGIN, _CARD.height - 2 * _MARGIN)
    symbol = symbols.on_grid(plan, text, inner.right - plan.side, inner.bottom - plan.side, inner, dpi)
    items: list[Item] = [rectangle(_CARD, Pen(0.15)), symbol]
    # A name is long: it has the width of the card, and the words stand beside the symbol.
    shown = fit_line(name, inner.width, _NAME, "bold")
    items.append(shown.at(inner.x, inner.y + cap_for_size(shown.size, "bold")))
    base = symbol.box.y + _WORDS
    for number, words in enumerate(wrap(_(_TOLD), symbol.box.x - inner.x - 3, em(_WORDS), 9).lines):
        items.append(text_line(words, inner.x, base + number * _PITCH, em(_WORDS)))
    return Page(*_PAPER, tuple(items), "sign-in label")

"""The loud rows of a label, each in all of its variants: name, how the part sits, and what is shouted."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final

from labelkit.drawing.page import BLACK, WHITE, Box, Item, rectangle
from labelkit.drawing.text import fit_line
from labelkit.model.part import Part
from labelkit.sheets import waywords, wording
from labelkit.sheets.labelrows import Rank, Row, Variant
from labelkit.sheets.labeltext import BOLD, Setting, block, first_that_fits, setting, stacked, words_on
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.orientation import dial, orientation

# Shares of the wanted height of letters: 15 minutes of arc at arm's length instead of the preferred 20, and 11.
_ARM: Final = 0.75
_NEAR: Final = 0.55
# A drawing of how a part sits is told from another down to this height, mm; below, words alone say it.
_SMALLEST_DRAWING: Final = 5.5
_LARGEST_DRAWING: Final = 45.0
# Black round the words of the band, in heights of a capital.
_PAD: Final = 0.32
_BETWEEN_FACTS: Final = " · "
# Nothing is set larger than this share of the step number, the loudest of a label.
_BELOW_STEP: Final = 0.75


@dataclass(frozen=True, slots=True)
class Measures:
    """What the rows of one label are made to.

    Attributes:
        letters: wanted height of the letters that must be read, mm.
        grown: how much larger than that a tall label may set everything.
        widths: what a row may have, mm: beside a symbol and, where that is more, below it.
        cut: is told every text that had to be cut.
        step: gives the height of the step number's letters, once it is drawn, mm.
    """

    letters: float
    grown: float
    widths: tuple[float, ...]
    cut: Callable[[str], None]
    step: Callable[[], float]

    def cap(self, share: float) -> float:
        """Return a height of letters, mm: a share of the wanted one, never below what can be read."""
        return max(LEAST, self.letters * share)

    def quieter(self, cap: float) -> float:
        """Return a height of letters, mm, or what leaves the step number clearly the loudest."""
        return max(LEAST, min(cap, _BELOW_STEP * self.step()))

    def words(self, choices: Sequence[Setting], box: Box, cap: float) -> list[Item]:
        """Set words in a box, and tell when they had to be cut."""
        lines, shortened = block(choices, box, self.quieter(cap))
        if shortened:
            self.cut(" ".join(choices[0].lines))
        return [*lines]


def name_row(words: str, to: Measures) -> Row:
    """Return the variants of the name: on one line where it fits, else on two; larger below a symbol."""
    shares = {Rank.NAME: 0.0, Rank.NAME_NEAR: _NEAR, Rank.NAME_ARM: _ARM, Rank.NAME_LARGE: to.grown}
    choices = [words_on(words, lines) for lines in (1, 2)]
    variants = []
    for rank, share in shares.items():
        # One line is taken also where it is a little smaller than a tall label would have two.
        used = first_that_fits(choices, to.widths[0], min(to.cap(share), to.cap(1.0 + (share - 1.0) / 3)))
        reached = used.cap_in(to.widths[0])
        least = used.height_at(max(LEAST, min(to.cap(share), reached)))
        largest = to.letters * 1.4 * to.grown
        most, ample = (max(least, used.height_at(min(largest, used.cap_in(to.widths[k])))) for k in (0, -1))
        draw = partial(_words, used=used, to=to)
        variants.append(Variant(rank, least, most, draw, full=used.width_at(largest), ample=ample))
    return tuple(variants)


def _words(box: Box, *, used: Setting, to: Measures) -> list[Item]:
    return to.words([used], box, box.height)


# --- which way and at what hour --------------------------------------------------------------------------------------


def sits_row(part: Part, other: Part | None, to: Measures) -> Row:
    """Return the variants of how the part sits: words alone, then with drawing and dial.

    Args:
        part: the part.
        other: what it sits on, None when that is not recorded.
        to: the measures of the label.
    """
    short, full = waywords.sits_words(part)
    variants = [
        *_sits_words(Rank.WAY, short, 0.0, to),
        *_sits_words(Rank.WAY_NEAR, full, _NEAR, to),
        *_sits_words(Rank.WAY_ARM, full, _ARM, to),
    ]
    for rank, share in ((Rank.DRAWN, 1.4), (Rank.DRAWN_LARGE, 2.0 * min(to.grown, 1.5))):
        least = max(_SMALLEST_DRAWING, to.letters * share)
        most = max(least, min(_LARGEST_DRAWING, to.letters * 3.6 * to.grown))
        draw = partial(_drawn, part=part, other=other, to=to)
        variants.append(Variant(rank, least, most, draw, _drawn_width(part, least, to), _drawn_width(part, most, to)))
    return tuple(variants)


def _sits_words(rank: Rank, facts: tuple[str, ...], share: float, to: Measures) -> list[Variant]:
    words = " ".join(facts)
    choices = [words_on(words, 1), setting(facts, 2), words_on(words, 2), words_on(words, 3)]
    variants = []
    if rank == Rank.WAY:  # the smallest label cuts them, and says so
        variants = [_words_variant(rank, each, 0.0, to.widths[0], to, must=True) for each in (choices[0], choices[2])]
    for width in to.widths:
        used = first_that_fits(choices, width, to.cap(share))
        variants.append(_words_variant(rank, used, share, width, to))
    return variants


def _words_variant(
    rank: Rank, used: Setting, share: float, width: float, to: Measures, *, must: bool = False
) -> Variant:
    cap = max(LEAST, min(to.cap(share), used.cap_in(width)))
    least = used.height_at(cap)
    largest = min(to.letters * 1.2 * to.grown, used.cap_in(width))
    needed = 0.0 if must else used.width_at(cap)
    draw = partial(_words, used=used, to=to)
    return Variant(rank, least, max(least, used.height_at(largest)), draw, needed, used.width_at(largest))


def _hour_cap(height: float, to: Measures) -> float:
    """Return the height of the hour's letters, at least, beside a dial of this height."""
    return max(LEAST, min(to.letters, height * 0.42), height * 0.3)


def _drawn_parts(height: float, to: Measures) -> tuple[float, float, float]:
    """Return the gap, the width of the drawing and that of dial and hour, mm."""
    pad = max(to.letters * 0.38, height * 0.12)
    return pad, height * 1.25, height + pad * 0.7 + words_on("12:00", 1).width_at(_hour_cap(height, to))


def _drawn_width(part: Part, height: float, to: Measures) -> float:
    pad, drawing, clock = _drawn_parts(height, to)
    return drawing + pad + words_on(waywords.printed_way(part), 2).width_at(to.cap(0.5)) + pad + clock


def _drawn(box: Box, *, part: Part, other: Part | None, to: Measures) -> list[Item]:
    """Draw the part on what it lies on, its way in words, the dial and the hour; the words must not get lost beside."""
    way = [words_on(waywords.printed_way(part), lines) for lines in (1, 2, 3)]
    hour = [words_on(waywords.hour_words(part), lines) for lines in (1, 2)]

    def columns(height: float) -> tuple[float, float, float]:
        pad, drawing, clock = _drawn_parts(height, to)
        words_x = box.x + drawing + pad
        least = words_x + way[1].width_at(to.cap(0.5)) + pad
        clock_x = min(box.right - clock, max(box.x + box.width * 0.58, least))
        return words_x, clock_x - pad, clock_x

    def speaks(height: float) -> bool:
        start, end, _ = columns(height)
        return max(each.cap_in(end - start, height) for each in way) >= max(LEAST, height * 0.25)

    heights = [min(box.height, box.width * 0.18 + 2) * 0.95**k for k in range(40)]
    smallest = min(_SMALLEST_DRAWING, heights[0])
    height = max(smallest, next(filter(speaks, heights), smallest))
    words_x, words_end, clock_x = columns(height)
    hour_x = clock_x + height + _drawn_parts(height, to)[0] * 0.7
    top = box.y + (box.height - height) / 2
    return [
        orientation(part, Box(box.x, top, height * 1.25, height), other),
        dial(part, Box(clock_x, top, height, height)),
        *to.words(way, Box(words_x, top, words_end - words_x, height), max(to.letters, height * 0.33)),
        *to.words(hour, Box(hour_x, top, box.right - hour_x, height), max(to.letters, height * 0.33)),
    ]


# --- what is shouted -------------------------------------------------------------------------------------------------


def loud_row(facts: Sequence[wording.Loud], to: Measures) -> Row:
    """Return the variants of the loud band, white on black.

    Each fact stays on one line where it fits there. Only a label that has room for nothing else says them in short,
    the very smallest on one line, which has as many of them as it holds.
    """
    shares = {Rank.LOUD_WHOLE: 0.0, Rank.LOUD_NEAR: _NEAR, Rank.LOUD_ARM: _ARM, Rank.LOUD_LARGE: min(to.grown, 1.5)}
    whole, short = tuple(each.words for each in facts), tuple(each.short for each in facts)
    choices = [setting(whole, lines, _BETWEEN_FACTS) for lines in range(1, len(facts) + 1)]
    words = _BETWEEN_FACTS.join(whole).replace(_BETWEEN_FACTS, f"\u00a0{_BETWEEN_FACTS.strip()} ")
    broken = [words_on(words, lines) for lines in (2, 3)]
    room = to.widths[0] - 2 * _PAD * LEAST
    held = [setting(short[:count], 1, _BETWEEN_FACTS) for count in range(len(short), 0, -1)]
    line = first_that_fits(held, room, LEAST)
    left = whole[len(short) - held.index(line) :]
    in_short = first_that_fits(
        [setting(short, lines, _BETWEEN_FACTS) for lines in range(1, len(short) + 1)], room, LEAST
    )
    variants = [
        _band_variant(Rank.LOUD, line, LEAST, to, left=left, must=True),
        _band_variant(Rank.LOUD_SHORT, in_short, LEAST, to),
    ]
    for rank, share in shares.items():
        for width in to.widths:
            cap = to.cap(share)
            used = first_that_fits([*choices, *(broken if not share else [])], width - 2 * _PAD * cap, cap)
            variants.append(_band_variant(rank, used, min(cap, _band_cap(used, width=width)), to))
    return tuple(variants)


def _band_variant(
    rank: Rank, used: Setting, cap: float, to: Measures, *, left: Sequence[str] = (), must: bool = False
) -> Variant:
    """Return a variant of the band; `left`: the facts for which it has no room; `must`: whatever its width."""
    least = _band_height(used, max(LEAST, cap))
    most = max(least, _band_height(used, min(to.letters * 1.1 * to.grown, _band_cap(used, width=to.widths[-1]))))
    needed = 0.0 if must else used.width_at(max(LEAST, cap)) + 2 * _PAD * max(LEAST, cap)
    return Variant(rank, least, most, partial(_band, used=used, left=left, to=to), needed)


def _band_height(used: Setting, cap: float) -> float:
    return used.height_at(cap) + 2 * _PAD * cap


def _band_cap(used: Setting, *, width: float, height: float | None = None) -> float:
    """Return the height of the capitals in a band; the black round them grows with them."""
    by_width = width / (used.width_at(1.0) + 2 * _PAD)
    return by_width if height is None else min(by_width, height / _band_height(used, 1.0))


def _band(box: Box, *, used: Setting, left: Sequence[str], to: Measures) -> list[Item]:
    cap = to.quieter(_band_cap(used, width=box.width, height=box.height))
    size = em(cap, BOLD)
    lines = []
    for words in used.lines:
        line = fit_line(words, box.width - 2 * _PAD * cap + 1e-6, (size, size), BOLD)
        lines.append(line.string)
        if line.shortened:
            to.cut(words)
    for fact in left:
        to.cut(fact)
    top = box.y + (box.height - used.height_at(cap)) / 2
    return [rectangle(box, fill=BLACK), *stacked(tuple(lines), box.x + _PAD * cap, top, size, WHITE)]

"""The face of one bin label: what it says, loudest first, in whatever room the stock gives.

A label carries a symbol at its top right and rows of words beside and below it. A wide one carries a second symbol at
its bottom left: then step, name and the drawing of how the part sits stand above that symbol, and all else beside it.
Each row is made in several variants; `labelkit.sheets.labelrows` grants them in a fixed order of importance. A small
label leaves out the last rows, and nothing is ever set smaller than can be read.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Final

from labelkit.calc.assembly import partners
from labelkit.calc.codes import grouped
from labelkit.calc.steps import Bin, condition
from labelkit.drawing import symbol as symbols
from labelkit.drawing.page import Box, Group, Item, Symbol, Text
from labelkit.drawing.text import cap_height, fit_line, measure, size_for_cap
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labelparts import Measures, loud_row, name_row, sits_row
from labelkit.sheets.labelrows import Rank, Room, Row, Variant, fitting, placed, standing
from labelkit.sheets.labeltext import BOLD
from labelkit.sheets.legible import LEAST, MUST, em
from labelkit.sheets.seat import neighbour
from labelkit.units import MM_PER_INCH

_LARGEST_SYMBOL: Final = 42.0
_LARGEST_STEP: Final = 32.0
# What rows above the second symbol want, gaps included, in heights of a letter: the name, the drawing of how the part
# sits at its smallest, and drawing and loud band on a label so tall that both are large.
_NAME_ROW: Final = 1.55
_SITS_ROW: Final = 1.6
_BOTH_ROWS: Final = 12.0
# As wide as codes get, so that those of one stock all stand on one line with the job, or none does.
_WIDE_CODE: Final = "8W8M-8W8M-8W8"
# The last rows of a label, by the height of their letters, mm.
Foot = Callable[[float], Sequence[Row]]


@dataclass
class Face:
    """Builds the face of one label.

    Attributes:
        view: the job.
        each: the bin.
        text: what the symbol says.
        box: the printable area of the label, mm.
        dpi: dots per inch of the printer.
        card: the symbol carries the card's own words.
        shortened: what had to be cut, for the warnings.
    """

    view: JobView
    each: Bin
    text: str
    box: Box
    dpi: float
    card: bool = False
    shortened: list[str] = field(default_factory=list)
    _step_em: float = 0.0
    _line_em: float = math.inf

    def group(self) -> Group:
        """Return everything on the label as a group named for its step."""
        side, two = self._symbol_side()
        side = min(side, self.box.height - MM_PER_INCH / self.dpi)  # a dot to move it to the dot grid
        plan = symbols.fit_symbol(self.text, side=side, dpi=self.dpi, card=self.card)
        found = [self._symbol(plan, self.box.right - plan.side, self.box.y)]
        if two:
            found.append(self._symbol(plan, self.box.x, self.box.bottom - plan.side))
        items = (*found, *self._rows([symbol.box for symbol in found]))
        return Group(items, f"label {self.each.step}", self.box)

    @cached_property
    def _letters(self) -> float:
        """Height of the letters that must be read, mm: for arm's length where the label is large enough."""
        by_size = min(self.box.height * 0.14, self.box.width * 0.062)
        return max(LEAST * 1.3, min(by_size, MUST))

    @cached_property
    def _small(self) -> float:
        return max(LEAST, self._letters * 0.56)

    @cached_property
    def _further(self) -> float:
        """Wanted height of the letters of further lines, mm: on a tall label they are read from as far as the rest."""
        return min(self._small * self._grown, MUST)

    @cached_property
    def _gap(self) -> float:
        return max(0.3, self._letters * 0.15 * min(self._grown, 1.5))

    @cached_property
    def _clear(self) -> float:
        """What stays free beside a symbol, mm."""
        return max(0.65, self._letters * 0.6 - 0.65)

    @cached_property
    def _grown(self) -> float:
        """How much larger a tall label may set everything."""
        return max(1.0, min(self.box.height / 50, 2.4))

    @cached_property
    def _step_height(self) -> float:
        """Wanted height of the step number, mm."""
        return max(self._letters * 1.5, min(12.0, self.box.height * 0.27))

    # --- the symbols

    def _symbol_side(self) -> tuple[float, bool]:
        """Return the side of a symbol, and whether there are two: only where rows still fit above the second one."""
        height, width = self.box.height, self.box.width
        if height < 22:
            return min(height, width * 0.43), False
        least = 32.0 if self.card else 17.2
        both = max(least, min(height * 0.43, width * 0.34, _LARGEST_SYMBOL))
        if symbols.two_symbols(width + 5) and both <= height * 0.55:
            return both, True
        return min(max(height * 0.5, least), height, width * 0.46, _LARGEST_SYMBOL), False

    def _symbol(self, plan: symbols.SymbolPlan, x: float, y: float) -> Symbol:
        return symbols.on_grid(plan, self.text, x, y, self.box, self.dpi)

    # --- the rows

    def _rows(self, found: list[Box]) -> list[Item]:
        """Return the rows of words and drawings: above and beside the second symbol, or all below each other."""
        beside = found[0].x - self._clear - self.box.x
        to = Measures(self._letters, self._grown, (beside,), self.shortened.append, self._loudest)
        wide = replace(to, widths=(beside, self.box.width))
        facts, foot = tuple(self._further_lines()), partial(self._foot, found)
        if len(found) == 1:
            rows = [*self._head(self.box.height * 0.32, wide), *self._sits(wide), *self._loud(wide)]
            kept, left = self._kept(self.box, found, rows, facts, foot)
            return self._with_place(self._placed(self.box, found, kept), left)
        second = found[1].y
        above = second - self._clear * 0.6
        free = above - self.box.y - self._step_height - _NAME_ROW * self._letters
        sits_above, loud_above = free >= _SITS_ROW * self._letters, free >= _BOTH_ROWS * self._letters
        rows = [
            *self._head((above - self.box.y) * 0.5, wide),
            *(self._sits(wide) if sits_above else ()),
            *(self._loud(wide) if loud_above else ()),
        ]
        upper = replace(self.box, height=above - self.box.y)
        lower = replace(self.box, y=second, height=self.box.bottom - second)
        # The symbols stand on the grid of dots: beside the second one there may be a dot less than beside the first.
        low = replace(to, widths=(self._beside(found, second, lower.height).width,))
        loud = [*(() if sits_above else self._sits(low)), *(() if loud_above else self._loud(low))]
        below, left = self._kept(lower, found, loud, facts, foot)
        kept, left = self._kept(upper, found[:1], rows, left, lambda _cap: ())
        return self._with_place([*self._placed(upper, found[:1], kept), *self._placed(lower, found, below)], left)

    def _kept(
        self, zone: Box, found: Sequence[Box], rows: Sequence[Row], facts: Sequence[str], foot: Foot
    ) -> tuple[list[Variant], list[str]]:
        """Return what stands in a zone, from its top, and the further facts for which it has no room.

        Each fact has a line of its own as long as there is height for one, and stands behind another where there is
        none. On a tall label these lines are large where all facts have room so.
        """
        kept, said, left = self._said(zone, found, rows, facts, foot, self._further)
        if left and self._further > self._small:
            kept, said, left = self._said(zone, found, rows, facts, foot, self._small)
        if any(row[0].rank == Rank.LOUD and not set(map(id, row)) & set(map(id, kept)) for row in rows):
            self.shortened.append(" · ".join(fact.words for fact in self._facts()))
        # Further lines are of one size, that of the longest of them.
        ems = (width / measure(words, "regular", 1.0)[0] for words, width in said.values())
        self._line_em = max(em(self._small), min((self._line_em, *ems)))
        return kept, left

    def _said(
        self, zone: Box, found: Sequence[Box], rows: Sequence[Row], facts: Sequence[str], foot: Foot, cap: float
    ) -> tuple[list[Variant], dict[int, tuple[str, float]], list[str]]:
        """Return what stands in a zone, its further lines by their place with their widths, and what has no room.

        `cap`: the letters of further lines, mm; other arguments as for `_kept`.
        """
        lines = [(self._line_row(Rank.FURTHER + place, words, cap),) for place, words in enumerate(facts)]
        room = partial(self._beside, found)
        kept = self._fitting(zone, [*rows, *lines, *foot(cap)], room)
        boxes = standing(kept, zone.y, self._gap, room)
        said = {
            k: (facts[each.rank - Rank.FURTHER], boxes[k].width)
            for k, each in enumerate(kept)
            if each.rank >= Rank.FURTHER
        }
        left, shown = [], {words for words, _width in said.values()}
        for words in (each for each in facts if each not in shown):
            joined = ((k, f"{others} · {words}", width) for k, (others, width) in reversed(said.items()))
            fits = (each for each in joined if measure(each[1], "regular", em(cap))[0] <= each[2])
            if (longer := next(fits, None)) is None:
                left.append(words)
            else:
                k, line, width = longer
                kept[k], said[k] = self._line_row(kept[k].rank, line, cap), (line, width)
        return kept, said, left

    def _fitting(self, zone: Box, rows: Sequence[Row], room: Room) -> list[Variant]:
        """Return what fits in a zone.

        Where the largest band keeps out the first further line, and all rows together leave the height of that line
        empty, the band is as large as the line lets it be.
        """
        kept = fitting(rows, zone.y, zone.height, self._gap, room)
        line = next((row[0].least for row in rows if row[0].rank >= Rank.FURTHER), math.inf)
        filled = math.fsum(max(each.most, each.ample) for each in kept) + self._gap * (len(kept) - 1)
        if any(each.rank >= Rank.FURTHER for each in kept) or zone.height - filled < line:
            return kept
        smaller = [tuple(each for each in row if each.rank != Rank.LOUD_LARGE) for row in rows]
        with_line = fitting(smaller, zone.y, zone.height, self._gap, room)
        return with_line if any(each.rank >= Rank.FURTHER for each in with_line) else kept

    def _placed(self, zone: Box, found: Sequence[Box], kept: Sequence[Variant]) -> list[Item]:
        edges = [box.bottom + self._clear * 0.6 for box in found]
        return placed(kept, zone.y, zone.height, self._gap, partial(self._beside, found), edges)

    def _with_place(self, items: list[Item], left: Sequence[str]) -> list[Item]:
        """Return what is drawn with the place below the quantity, where no row has it and there is room."""
        words = self._place()
        step, quantity = (*items, None, None)[:2]
        if words not in left or not isinstance(step, Text) or not isinstance(quantity, Text):
            return items
        line = text_line(words, quantity.box.right, step.y, em(self._small), "regular", "end")
        line = replace(line, y=line.y - line.descent)
        clear = line.box.x >= step.box.right + self._clear and line.box.y >= quantity.box.bottom + self._gap
        return [*items, line] if clear else items

    def _beside(self, found: Sequence[Box], y: float, height: float) -> Box:
        """Return the room that the symbols leave between y and y + height."""
        left, right = self.box.x, self.box.right
        for box in found:
            if y < box.bottom + self._clear * 0.6 and box.y - self._clear * 0.6 < y + height:
                if box.x > self.box.x + self.box.width / 2:
                    right = min(right, box.x - self._clear)
                else:
                    left = max(left, box.right + self._clear)
        return Box(left, y, right - left, height)

    def _head(self, most: float, wide: Measures) -> list[Row]:
        """Return the rows of step and name; the step number is `most` tall at most, mm."""
        step = self._step_height
        widest = (
            wide.widths[0] - measure(wording.quantity_words(self.each.part), BOLD, em(self._quantity(most), BOLD))[0]
        )
        by_width = widest / measure(self.each.step_words, BOLD, size_for_cap(1.0, BOLD))[0]
        most = max(step, min(_LARGEST_STEP, most, by_width))
        steps = ((Rank.STEP, self._letters * 1.5), (Rank.STEP_LARGE, step))
        name = wording.short_name(self.each.part)
        if self.each.copies > 1:
            copy = _("{copy} of {copies}").format(copy=self.each.copy, copies=self.each.copies)
            name += " (" + copy.replace(" ", "\u00a0") + ")"
        return [
            tuple(Variant(rank, min(height, most), most, self._step) for rank, height in steps),
            name_row(name, wide),
        ]

    def _loudest(self) -> float:
        """Return the height of the step number, once it is drawn, mm."""
        return self._step_em * cap_height(BOLD)

    def _quantity(self, height: float) -> float:
        """Return the height of the quantity's letters beside a step number of this height, mm."""
        return max(LEAST, min(self._letters * 1.3, height), min(height * 0.4, self._letters * 1.8))

    def _step(self, box: Box) -> list[Item]:
        quantity = wording.quantity_words(self.each.part)
        quantity_cap = self._quantity(box.height)
        quantity_em = em(quantity_cap, BOLD)
        room = box.width - measure(quantity, BOLD, quantity_em)[0] - quantity_cap * 0.8
        largest = size_for_cap(box.height, BOLD)
        step = fit_line(self.each.step_words, room, (largest, min(largest, em(LEAST, BOLD))), BOLD)
        self._step_em = step.size
        quantity_em = min(quantity_em, max(em(LEAST, BOLD), step.size * 0.75))  # the step stays the loudest
        return [
            _hung(step.at(box.x, box.y)),
            _hung(text_line(quantity, box.right, box.y, quantity_em, BOLD, "end")),
        ]

    def _sits(self, to: Measures) -> list[Row]:
        return [sits_row(self.each.part, neighbour(self.view, self.each), to)]

    def _loud(self, to: Measures) -> list[Row]:
        facts = self._facts()
        return [loud_row(facts, to)] if facts else []

    def _facts(self) -> tuple[wording.Loud, ...]:
        """Return what must be shouted."""
        return wording.loud_facts(self.each.part, self.view.parts_inside(self.each))

    # --- the lines that a larger label adds, and the last ones

    def _further_lines(self) -> Iterator[str]:
        """Yield the lines that a larger label adds, the most useful first."""
        part, view = self.each.part, self.view
        together = part.out.together if part.out else None
        if self.each.doubtful:
            when = condition(view.profile, view.teardown, self.each)
            yield _("Only if {condition}").format(condition=when)
        if part.wash != "before" and (wash := wording.wash_words(part, view.parts_inside(self.each))):
            yield _("Wash: {how}").format(how=wash)
        for alike in part.look_alike:
            for other in partners(view.teardown, self.each, alike.part):
                yield _("Unlike step {step}").format(step=other.step)
        if place := self._place():
            yield place
        for other in partners(view.teardown, self.each, together or ""):
            yield _("Comes out with step {step}").format(step=other.step)
        if self.each.parent:
            yield _("Belongs to step {step}").format(step=self.each.parent)
        yield from filter(None, (wording.size_words(part.form), view.option_words()))

    def _place(self) -> str:
        place = self.view.place_words(self.each)
        return _("Place {place}").format(place=place) if place else ""

    def _line_row(self, rank: int, words: str, cap: float) -> Variant:
        width = measure(words, "regular", em(LEAST))[0] if rank >= Rank.FURTHER else 0.0
        return Variant(rank, cap * 1.35, self._small * 1.62 * self._grown, lambda box: self._line(box, words), width)

    def _line(self, box: Box, words: str, face: str = "regular") -> list[Item]:
        largest = max(em(LEAST, face), min(em(box.height / 1.35, face), self._line_em))
        set_line = fit_line(words, box.width, (largest, em(LEAST, face)), face)
        if set_line.shortened:
            self.shortened.append(words)
        return [set_line.at(box.x, box.y + box.height * 0.78)]

    def _foot(self, found: Sequence[Box], cap: float) -> list[Row]:
        """Return the code and whose label it is, on one line where there is room for both, or for most of it."""
        height = cap * 1.35
        room = self._beside(found, self.box.bottom - height, height).width
        code, whose = grouped(self.view.code(self.each)), self._identity()
        widest = measure(_WIDE_CODE, BOLD, em(LEAST, BOLD))[0]
        begin, _, end = whose.rpartition(" · ")
        for words, rest in ((whose, ""), (begin, end)):
            if widest + measure(words, "regular", em(LEAST))[0] + LEAST * 1.5 <= room:
                draw = partial(self._code_and_identity, code=code, whose=words)
                both = Variant(Rank.CODE, height, max(height, self._small * 1.62 * self._grown), draw)
                return [(both,), *([(self._line_row(Rank.WHOSE, rest, cap),)] if rest else [])]
        parts = [whose] if measure(whose, "regular", em(LEAST))[0] <= room else [begin, end]
        line = Variant(
            Rank.CODE, height, max(height, self._small * 1.55 * self._grown), lambda box: self._code(box, code)
        )
        return [(line,), *((self._line_row(Rank.WHOSE, words, cap),) for words in parts)]

    def _code(self, box: Box, code: str) -> list[Item]:
        return self._line(box, code, BOLD if measure(code, BOLD, em(LEAST, BOLD))[0] <= box.width else "regular")

    def _identity(self) -> str:
        return wording.brief_words(self.view.profile.unit, wording.job_words(self.view.job.number))

    def _code_and_identity(self, box: Box, *, code: str, whose: str) -> list[Item]:
        code_width = measure(code, BOLD, size_for_cap(1, BOLD))[0]
        whose_width = measure(whose, "regular", size_for_cap(1))[0]
        cap = min(box.height / 1.35, box.width / (code_width + whose_width + 1.5))
        baseline = box.y + box.height * 0.78
        code_line = text_line(code, box.x, baseline, em(cap, BOLD), BOLD)
        identity = fit_line(whose, box.width - code_line.width - cap, (em(cap), em(LEAST)))
        return [code_line, identity.at(box.right, baseline, "end")]


def _hung(text: Text) -> Text:
    """Return a line lowered from its baseline until its tallest letter touches that height from below."""
    return replace(text, y=text.y + text.ascent)

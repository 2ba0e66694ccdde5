"""The face of one bin label: what it says, loudest first, in whatever room the stock gives.

A label is a symbol at its top right, a second one at its bottom left where it is wide, and rows of words that flow
round them. Rows are wanted in a fixed order of importance; a small label leaves out the last ones, and nothing is ever
set smaller than can be read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import Final

from labelkit.calc.codes import grouped
from labelkit.calc.steps import Bin, condition
from labelkit.drawing import symbol as symbols
from labelkit.drawing.page import BLACK, WHITE, Box, Group, Item, Symbol, Text, rectangle
from labelkit.drawing.text import Wrapped, cap_height, fit_line, measure, size_for_cap, wrap
from labelkit.drawing.text import line as text_line
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, MUST, em
from labelkit.sheets.orientation import dial, orientation

_LEADING: Final = 1.5
# A label this much taller than its symbol has room for rows beside and below it.
_ROUND_THE_SYMBOL: Final = 1.3
_LARGEST_SYMBOL: Final = 42.0
# The largest size at which words fit is found by halving the range this often: to a sixtieth of it.
_HALVINGS: Final = 6
_LARGEST_STEP: Final = 26.0
# Rows from this rank on are left out before any other row gets smaller.
_FURTHER: Final = 5


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a label.

    Attributes:
        rank: how soon it is left out: the lowest stays longest.
        least, most: the height it can use, mm.
        draw: draws it in the box it gets.
        smaller: what to try where it does not fit.
    """

    rank: int
    least: float
    most: float
    draw: Callable[[Box], list[Item]]
    smaller: Row | None = None

    def variants(self) -> Iterator[Row]:
        """Yield the row as wanted, then its smaller forms."""
        row: Row | None = self
        while row is not None:
            yield row
            row = row.smaller

    def smallest(self) -> Row:
        """Return its smallest form."""
        *_, last = self.variants()
        return last


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
        loudest: em of the step number, once it is drawn, mm.
    """

    view: JobView
    each: Bin
    text: str
    box: Box
    dpi: float
    card: bool = False
    shortened: list[str] = field(default_factory=list)
    loudest: float = 0.0

    def items(self) -> list[Item]:
        """Return everything on the label."""
        plan = symbols.fit_symbol(self.text, side=self._symbol_side(), dpi=self.dpi, card=self.card)
        found: list[Symbol] = [self._symbol(plan, self.box.right - plan.side, self.box.y)]
        if symbols.two_symbols(self.box.width + 5):
            found.append(self._symbol(plan, self.box.x, self.box.bottom - plan.side))
        return [*found, *self._flow(self._rows(found), found)]

    @property
    def _letters(self) -> float:
        """Least height of the letters that must be read, mm: for arm's length where the label is large enough."""
        by_size = min(self.box.height * 0.14, self.box.width * 0.062)
        return max(LEAST * 1.3, min(by_size, MUST))

    @property
    def _small(self) -> float:
        return max(LEAST, self._letters * 0.56)

    def _symbol_side(self) -> float:
        height, width = self.box.height, self.box.width
        if height < 22:
            return min(height, width * 0.43)
        least = 32.0 if self.card else 17.2
        return min(max(height * 0.5, least), height, width * 0.46, _LARGEST_SYMBOL)

    def _symbol(self, plan: symbols.SymbolPlan, x: float, y: float) -> Symbol:
        """Put a symbol on the dot grid of the page, so that every module is a whole number of whole dots."""
        dot = 25.4 / self.dpi

        def snapped(value: float, low: float, high: float) -> float:
            near = symbols.snap(value, self.dpi)
            if near < low - 1e-9:
                return near + dot
            return near - dot if near > high + 1e-9 else near

        x = snapped(x, self.box.x, self.box.right - plan.side)
        y = snapped(y, self.box.y, self.box.bottom - plan.side)
        return Symbol(x, y, plan.matrix, plan.module, plan.frame, self.text)

    def _flow(self, rows: list[Row], found: list[Symbol]) -> list[Item]:
        """Place rows from the top, beside and below the symbols."""
        gap = self._letters * 0.27
        kept = self._fitting(rows, gap)
        used = sum(row.least for row in kept) + gap * (len(kept) - 1)
        spare = max(0.0, self.box.height - used)
        airy = min(spare, self._letters * 0.2 * (len(kept) - 1))  # some air between the rows before they grow
        if len(kept) > 1:
            gap, spare = gap + airy / (len(kept) - 1), spare - airy
        growth = sum(row.most - row.least for row in kept)
        share = min(1.0, spare / growth) if growth else 0.0
        if share == 1.0 and len(kept) > 1:
            gap += (spare - growth) / (len(kept) - 1)
        items: list[Item] = []
        y = self.box.y
        for row in kept:
            height = row.least + (row.most - row.least) * share
            items += row.draw(self._beside(found, y, height))
            y += height + gap
        return items

    def _fitting(self, rows: list[Row], gap: float) -> list[Row]:
        """Return the rows that fit, in their order on the label.

        The rows that every label has are taken first, by rank, each as small as it can be; then the room that is left
        makes them larger, by rank; what is left after that goes to the further lines.
        """
        room = self.box.height + gap + 1e-6
        by_rank = sorted(range(len(rows)), key=lambda place: rows[place].rank)
        kept: dict[int, Row] = {}

        def take(places: Iterable[int]) -> None:
            nonlocal room
            for place in places:
                row = rows[place].smallest()
                if row.least + gap <= room:
                    kept[place] = row
                    room -= row.least + gap

        take(place for place in by_rank if rows[place].rank < _FURTHER)
        for place in filter(kept.__contains__, by_rank):
            row = next(row for row in rows[place].variants() if row.least - kept[place].least <= room)
            room -= row.least - kept[place].least
            kept[place] = row
        take(place for place in by_rank if rows[place].rank >= _FURTHER)
        return [kept[place] for place in sorted(kept)]

    def _beside(self, found: list[Symbol], y: float, height: float) -> Box:
        """Return the room that the symbols leave between y and y + height."""
        left, right = self.box.x, self.box.right
        clear = self._letters * 0.5
        for symbol in found:
            box = symbol.box
            if y < box.bottom + clear * 0.6 and box.y - clear * 0.6 < y + height:
                if box.x > self.box.x + self.box.width / 2:
                    right = min(right, box.x - clear)
                else:
                    left = max(left, box.right + clear)
        return Box(left, y, right - left, height)

    def _rows(self, found: list[Symbol]) -> list[Row]:
        """Return the rows in their order on the label."""
        letters, small = self._letters, self._small
        width = self.box.width - sum(symbol.side + letters * 0.5 for symbol in found)
        step = max(letters * 1.5, min(12.0, self.box.height * 0.27))
        most_step = max(step, min(_LARGEST_STEP, self.box.height * 0.3))
        grown = max(1.0, min(self.box.height / 50, 2.4))  # how much larger a tall label may set everything
        one = Row(1, letters * 1.3, letters * 1.5 * grown, lambda box: self._name(box, 1))
        long_name = measure(self._name_words(), "bold", em(letters * 0.72, "bold"))[0] > width
        both = letters * (1 + _LEADING)
        two = Row(1, both * 0.95, both * grown, lambda box: self._name(box, 2), one)
        words_only = Row(3, letters * 1.1, letters * 1.2, self._way_words)
        drawn = max(letters * 1.75, 5.5)
        rows = [
            Row(0, step, most_step, self._step, Row(0, min(step, letters * 1.55), most_step, self._step)),
            two if long_name else one,
            Row(3, drawn, max(drawn, min(45.0, drawn * 2.1 * grown)), self._way_and_clock, words_only),
        ]
        if self._loud():
            rows.append(Row(4, small * 1.8, letters * 1.7 * grown, self._loud_band))
        for rank, words in enumerate(self._small_lines(), start=_FURTHER):
            rows.append(self._line_row(rank, words, grown))
        return rows + self._bottom_rows(found, width, grown)

    def _bottom_rows(self, found: list[Symbol], width: float, grown: float) -> list[Row]:
        """Return the code and whose label it is, on one line where there is room for both."""
        small, bottom = self._small, self.box.bottom
        # Below a symbol that ends early enough, the last line runs across the whole label.
        below = len(found) == 1 and found[0].box.bottom + self._letters * 0.3 <= bottom - small * 1.5
        last = self.box.width if below else width
        code = measure(self._code_words(), "bold", em(LEAST * 1.1, "bold"))[0]
        identity = measure(self._identity(), "regular", em(LEAST * 1.1))[0]
        if identity + code + small * 2 <= last:
            return [Row(2, small * 1.5, small * 1.7 * grown, self._code_and_identity)]
        whose = [self._identity()] if identity <= last else self._identity().split(" · invented")
        lines = [self._line_row(2, words or "invented", grown) for words in whose]
        return [Row(2, small * 1.4, small * 1.6 * grown, self._code), *lines]

    def _line_row(self, rank: int, words: str, grown: float) -> Row:
        height = self._small * 1.4
        return Row(rank, height, height * 1.15 * grown, lambda box: self._small_line(box, words))

    # --- what the rows show

    def _step(self, box: Box) -> list[Item]:
        words = self.each.step + ("?" if self.each.doubtful else "")
        quantity = wording.quantity_words(self.each.part)
        quantity_cap = max(LEAST, min(self._letters * 1.3, box.height), box.height * 0.4)
        quantity_em = em(quantity_cap, "bold")
        room = box.width - measure(quantity, "bold", quantity_em)[0] - quantity_cap * 0.8
        largest = size_for_cap(box.height, "bold")
        step = fit_line(words, room, (largest, min(largest, em(LEAST, "bold"))), "bold")
        self.loudest = step.size
        quantity_em = min(quantity_em, max(em(LEAST, "bold"), step.size * 0.75))  # the step stays the loudest
        return [
            _hung(step.at(box.x, box.y)),
            _hung(text_line(quantity, box.right, box.y, quantity_em, "bold", "end")),
        ]

    def _name_words(self) -> str:
        copy = f" {self.each.copy}/{self.each.copies}" if self.each.copies > 1 else ""
        return wording.short_name(self.each.part) + copy

    def _name(self, box: Box, lines: int) -> list[Item]:
        cap = min(box.height, 0.9 * self.loudest * cap_height("bold"))  # never as loud as the step
        return self._block(box, self._name_words(), cap, lines)

    def _block(self, box: Box, words: str, cap: float, most_lines: int) -> list[Item]:
        """Set words in bold as large as their box allows, on as many lines as that takes."""
        size, wrapped = self._largest(box, words, cap, most_lines)
        if wrapped.shortened:
            self.shortened.append(words)
        if not wrapped.lines:
            return []
        pitch = size * cap_height("bold") * _LEADING
        top = box.y + max(0.0, (box.height - _ink(wrapped.lines, size)) / 2)
        first = top + measure(wrapped.lines[0], "bold", size)[1]
        return [text_line(text, box.x, first + k * pitch, size, "bold") for k, text in enumerate(wrapped.lines)]

    def _largest(self, box: Box, words: str, cap: float, most_lines: int) -> tuple[float, Wrapped]:
        smallest = em(LEAST, "bold")
        largest = max(smallest, size_for_cap(min(cap, box.height), "bold"))

        def at(size: float) -> tuple[bool, Wrapped]:
            lines = int((box.height / (size * cap_height("bold")) - 1) / _LEADING + 1 + 1e-6)
            wrapped = wrap(words, box.width, size, max(1, min(most_lines, lines)), "bold")
            return not wrapped.shortened and _ink(wrapped.lines, size) <= box.height + 1e-6, wrapped

        fits, wrapped = at(largest)
        if fits:
            return largest, wrapped
        size, best = smallest, at(smallest)[1]
        for _ in range(_HALVINGS):
            middle = (size + largest) / 2
            fits, wrapped = at(middle)
            if fits:
                size, best = middle, wrapped
            else:
                largest = middle
        return size, best

    def _way_and_clock(self, box: Box) -> list[Item]:
        part = self.each.part
        side = min(box.height, box.width * 0.2)
        pad = min(self._letters * 0.5, box.width * 0.02)
        way_box = Box(box.x, box.y + (box.height - side) / 2, side * 1.25, side)
        clock_x = box.x + box.width * 0.58
        dial_box = Box(clock_x, way_box.y, side, side)
        words_x, hour_x = way_box.right + pad, dial_box.right + pad
        cap = max(self._letters, box.height * 0.3)
        return [
            orientation(part, way_box),
            dial(part, dial_box),
            *self._block(Box(words_x, box.y, clock_x - pad - words_x, box.height), wording.way(part).text, cap, 3),
            *self._block(Box(hour_x, box.y, box.right - hour_x, box.height), self._clock_words(), cap, 2),
        ]

    def _clock_words(self) -> str:
        sits = self.each.part.sits
        if sits is None or sits.clock is None:
            return "NOT REC."
        return str(sits.clock).upper()

    def _way_words(self, box: Box) -> list[Item]:
        """Set way and clock as words alone, where there is no room for drawings."""
        words = wording.way(self.each.part).text
        if wording.clock_words(self.each.part)[1] == "known":
            words += f", {self._clock_words()}"
        return self._block(box, words, box.height, 1)

    def _loud(self) -> str:
        holds = len(self.view.inside.get(self.each.step, ()))
        return " · ".join(wording.loud_words(self.each.part, holds=holds))

    def _loud_band(self, box: Box) -> list[Item]:
        """Set the loud words white on black."""
        cap = box.height * 0.6
        words = self._loud()
        largest = em(cap, "bold")
        set_line = fit_line(words, box.width - cap, (largest, min(largest, em(LEAST, "bold"))), "bold")
        if set_line.shortened:
            self.shortened.append(words)
        baseline = box.y + (box.height + set_line.size * cap_height("bold")) / 2
        return [rectangle(box, fill=BLACK), set_line.at(box.x + cap / 2, baseline, fill=WHITE)]

    def _small_lines(self) -> list[str]:
        """Return the lines that a larger label adds, the most useful first."""
        part, view = self.each.part, self.view
        together = part.out.together if part.out else None
        lines = [f"Only if {condition(view.profile, part)}"] if self.each.doubtful else []
        if part.wash and part.wash != "before":
            lines.append(f"Wash: {wording.WASH[part.wash].lower()}")
        lines += [f"NOT step {other.step}" for alike in part.look_alike for other in view.teardown.of(alike.part)]
        lines += [f"Comes out with step {other.step}" for other in view.teardown.of(together or "")]
        if self.each.parent:
            lines.append(f"Belongs to step {self.each.parent}")
        lines += [words for words in (wording.size_words(part.form), view.option_words()) if words]
        return lines

    def _identity(self) -> str:
        header = self.view.profile.unit
        words = f"{header.mark} r{header.revision} · job {self.view.job.number}"
        return words + (" · invented" if header.invented else "")

    def _identity_width(self) -> float:
        return measure(self._identity(), "regular", em(self._small))[0]

    def _small_line(self, box: Box, words: str) -> list[Item]:
        size = em(box.height / 1.4)
        set_line = fit_line(words, box.width, (size, em(LEAST)))
        if set_line.shortened:
            self.shortened.append(words)
        return [set_line.at(box.x, box.y + box.height * 0.76)]

    def _code_words(self) -> str:
        return grouped(self.view.code(self.each))

    def _code(self, box: Box) -> list[Item]:
        face = "bold" if measure(self._code_words(), "bold", em(LEAST, "bold"))[0] <= box.width else "regular"
        size = em(box.height / 1.4, face)
        set_line = fit_line(self._code_words(), box.width, (size, em(LEAST, face)), face)
        if set_line.shortened:
            self.shortened.append(self._code_words())
        return [set_line.at(box.x, box.y + box.height * 0.8)]

    def _code_and_identity(self, box: Box) -> list[Item]:
        code_width = measure(self._code_words(), "bold", size_for_cap(1, "bold"))[0]
        whose_width = measure(self._identity(), "regular", size_for_cap(1))[0]
        cap = min(box.height / 1.5, box.width / (code_width + whose_width + 1.6))
        baseline = box.y + box.height * 0.8
        code = text_line(self._code_words(), box.x, baseline, em(cap, "bold"), "bold")
        room = box.width - code.width - cap * 1.5
        identity = fit_line(self._identity(), room, (em(cap), em(LEAST)))
        return [code, identity.at(box.right, baseline, "end")]


def _hung(text: Text) -> Text:
    """Return a line lowered from its baseline until its tallest letter touches that height from below."""
    return replace(text, y=text.y + text.ascent)


def _ink(lines: tuple[str, ...], size: float) -> float:
    """Return the height of lines in bold, from the tallest letter of the first to the deepest of the last, mm."""
    if not lines:
        return 0.0
    pitch = size * cap_height("bold") * _LEADING
    return measure(lines[0], "bold", size)[1] + pitch * (len(lines) - 1) + measure(lines[-1], "bold", size)[2]


def face_group(face: Face) -> Group:
    """Return a label's face as a group named for its step."""
    return Group(tuple(face.items()), f"label {face.each.step}", face.box)

"""The map of a tray on one page: the tray reduced, what lies where, how it is read, how it is lifted."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from labelkit.calc.lifting import DEFERRAL, advice
from labelkit.calc.standing import Standing
from labelkit.calc.trays import LaidTray, Place, TrayPlan
from labelkit.drawing.page import BLACK, WHITE, Box, Group, Item, Page, Path, Pen, closed, line, rectangle
from labelkit.drawing.text import fit_line, measure, size_for_cap, wrap
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.media import Paper
from labelkit.sheets import waywords, wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.sheethead import HEAD, head, whose
from labelkit.sheets.traydrawing import Pens, doubts, pattern, place_words, shared_grounds, tray_drawing
from labelkit.sheets.worksheet import HEADING, LEADING, MARGIN, NAME, RULE, SMALL, STEP, THICK, WORDS, lying, page_words

# Reductions that a person can take off with a rule.
_REDUCTIONS: Final = (1, 1.5, 2, 2.5, 3, 3.5, 4, 5, 6, 8, 10, 12, 15, 20)
_HEAD: Final = 31.0
_LIST: Final = 77.0
_FOOT: Final = 29.0
_GAP: Final = 4.0
_LETTER: Final = 97.0  # width of which tray it is, at most
_KEY_ROW: Final = 5.4
_KEY: Final = 4.0  # height of a key of patterns
# Capitals of the advice on lifting, mm: the largest that says all of it is taken.
_ADVICE: Final = (2.0, 1.8, 1.65)
# Height of a row of the list, at least and at most, and from which on a detail stands below the name, in lines.
_ROW: Final = (4.1, 8.2)
_TWO: Final = 6.6
_LINE: Final = 3.1
# Shares of a side by which the centre of mass may be off the middle before it is said. Common practice, no source.
_OFF_THE_MIDDLE: Final = 0.15

_READING: Final = (
    noop(
        "Lay down from the left, line by line; inside a column from its top; then the next column, then the next band."
    ),
    noop(
        "Put back the same way backwards, from the last place to the first, and as the cards say what must be in first."
    ),
)


class TrayMaps:
    """The maps of a job's trays, and the list of what goes on none.

    Args:
        view: the job.
        plan: its trays.
        paper: what they are printed on, lying.

    Raises:
        CapacityError: the paper is too small.
    """

    def __init__(self, view: JobView, plan: TrayPlan, paper: Paper) -> None:
        self.view, self.plan = view, plan
        self.width, self.height = lying(paper, "the map of a tray")
        self.page = Box(0, 0, self.width, self.height).inset(MARGIN)

    def pages(self) -> Iterator[Page]:
        """Yield a page for each tray, more where its list is long, and one for the floor."""
        for tray in self.plan.trays:
            yield from self._tray(tray)
        yield from self._floor()

    def _tray(self, tray: LaidTray) -> Iterator[Page]:
        column = Box(self.page.right - _LIST, self.page.y + _HEAD, _LIST, self.page.height - _HEAD)
        holds = int((column.height - 6) / _ROW[0])
        items: list[Item] = [*self._head(tray), *self._map(tray)]
        rest = list(tray.places)
        number = 1
        while True:
            here, rest = rest[:holds], rest[holds:]
            yield Page(self.width, self.height, (*items, *_table(here, column)), f"map {tray.letter} {number}")
            if not rest:
                return
            number, items = number + 1, list(self._head(tray))

    def _head(self, tray: LaidTray) -> Iterator[Item]:
        """Yield the title block: which tray of which job, what it weighs, how it is lifted."""
        header, page = self.view.profile.unit, self.page
        cap, sizes = 15.0, (size_for_cap(15.0, "bold"), em(LEAST, "bold"))
        name, count = _("TRAY {letter}").format(letter=tray.letter), _("of {count}").format(count=len(self.plan.trays))
        letter = fit_line(name, _LETTER, sizes, "bold").at(page.x, page.y + cap)
        yield letter
        many = text_line(count, letter.box.right + 3, page.y + cap, size_for_cap(5))
        yield many
        left = max(letter.box.right + 24, many.box.right + 3, page.x + 100)
        advised = page.right - _LIST
        y = page.y
        for text, face, size in (
            (header.name, "bold", NAME),
            (whose(self.view), "regular", SMALL),
            (self.view.option_names(), "regular", SMALL),
        ):
            for words in wrap(text, advised - 5 - left, em(size, face), 3, face).lines if text else ():
                y += size
                yield text_line(words, left, y, em(size, face), face)
                y += size * (LEADING - 1)
        yield from self._lift(tray, Box(advised, page.y, page.right - advised, _HEAD - 4))
        base = page.y + _HEAD - 3
        yield line(page.x, base, page.right, base, THICK)

    def _lift(self, tray: LaidTray, room: Box) -> Iterator[Item]:
        size = 6.0
        nothing = len(tray.unweighed) == len(tray.places)
        mass = "" if nothing else f"{_kg(float(tray.mass))} kg"
        found = text_line(mass, room.x, room.y + size, size_for_cap(size, "bold"), "bold")
        yield found
        unknown = _("{count} NOT RECORDED").format(count=len(tray.unweighed)) if tray.unweighed else ""
        unknown = f"+ {unknown}" if mass and unknown else unknown
        yield text_line(unknown, found.box.right + 2, room.y + size, em(WORDS, "bold"), "bold")
        said = f"{_lift_words(tray)} {_(DEFERRAL)}"
        if off := _off_the_middle(tray):
            said = f"{off} {said}"
        top = room.y + size + 3.0
        tries = [(cap, wrap(said, room.width, em(cap), int((room.bottom - top) / (cap * 1.5)))) for cap in _ADVICE]
        cap, wrapped = next((each for each in tries if not each[1].shortened), tries[-1])
        for number, words in enumerate(wrapped.lines):
            yield text_line(words, room.x, top + cap * (1 + 1.5 * number), em(cap))

    def _map(self, tray: LaidTray) -> Iterator[Item]:
        width, depth = tray.stock.size_mm
        room = Box(self.page.x, self.page.y + _HEAD, self.page.width - _LIST - _GAP, self.page.height - _HEAD - _FOOT)
        reduced = next(
            (each for each in _REDUCTIONS if width / each <= room.width and depth / each <= room.height),
            math.ceil(max(width / room.width, depth / room.height)),
        )
        scale = 1 / reduced
        yield Group(tray_drawing(tray, scale), f"tray {tray.letter}", None, (scale, 0, 0, scale, room.x, room.y))
        foot = Box(room.x, room.y + depth * scale + 3, width * scale, self.page.bottom - room.y - depth * scale - 3)
        yield from self._scale_bar(reduced, foot)
        yield from self._keys(tray, Box(foot.x, foot.y + 8, room.width, foot.height - 8))

    def _scale_bar(self, reduced: float, foot: Box) -> Iterator[Item]:
        name = _("MAP 1:{scale}").format(scale=f"{reduced:g}")
        yield text_line(name, foot.x, foot.y + 2.6, em(NAME, "bold"), "bold")
        step = 100 / reduced
        x = foot.x + 26
        for number in range(2):
            box = Box(x + number * step, foot.y + 0.6, step, 2.0)
            yield rectangle(box, Pen(0.25), WHITE if number else BLACK)
        for number in range(2):
            yield text_line(f"{number * 100}", x + number * step, foot.y + 4.8, em(SMALL), "regular", "middle")
        yield text_line("200 mm", x + 2 * step + 1.2, foot.y + 2.4, em(SMALL))

    def _keys(self, tray: LaidTray, room: Box) -> Iterator[Item]:
        """Yield how the tray is read, and what the signs and patterns mean."""
        size = em(SMALL)
        y = room.y
        for words in (*map(_, _READING), *self._exceptions(tray)):
            for each in wrap(words, room.width, size, 2).lines:
                y += 1.8
                yield text_line(each, room.x, y, size)
                y += 1.5
        y += 2.6
        yield from _signs(room.x, y, size)
        y += 1.6
        grounds = shared_grounds(tray)
        names = {step: f"{step} {wording.short_name(self.view.teardown.at(step).part)}" for step in grounds}
        rows = _in_rows(list(names.values()), size, room.width)
        if y + (len(rows) - 1) * _KEY_ROW + _KEY > room.bottom:
            # Steps alone are short, and the list beside the map has their names.
            names = {step: step for step in grounds}
            rows = _in_rows(list(names.values()), size, room.width)
        shown = iter(grounds.values())
        for row in rows:
            for x, words in row:
                yield Group(tuple(_swatch(next(shown))), "", None, (1 / 3, 0, 0, 1 / 3, room.x + x, y))
                yield text_line(words, room.x + x + 9.2, y + 2.9, size)
            y += _KEY_ROW

    def _exceptions(self, tray: LaidTray) -> Iterator[str]:
        """Yield where plain backwards is wrong for a part of this tray."""
        here = {place.bin.step for place in tray.places}
        pairs = [pair for pair in self.view.out_of_turn if here & {pair.first, pair.then}]
        if pairs:
            told = (_("{first} goes in before {then}").format(first=pair.first, then=pair.then) for pair in pairs)
            yield _("NOT BACKWARDS: {pairs}.").format(pairs=", ".join(told))

    def _floor(self) -> Iterator[Page]:
        holds = int((self.page.height - _HEAD - 6) / 9)
        rest = list(self.plan.floor)
        number = 1
        count = math.ceil(len(rest) / holds)
        while rest:
            here, rest = rest[:holds], rest[holds:]
            items = self._standing(here, page_words(number, count))
            yield Page(self.width, self.height, tuple(items), f"floor {number}")
            number += 1

    def _standing(self, entries: Sequence[Standing], turn: str) -> Iterator[Item]:
        page = self.page
        options = self.view.option_names(), self.view.option_words()
        yield from head(self.view, _("ON NO TRAY"), page, turn, more=options)
        said = _("Give each its own place on the floor, a pallet or the bench, with its bin label on it.")
        said = f"{said} {_(DEFERRAL)}"
        yield fit_line(said, page.width, (em(WORDS), em(LEAST))).at(page.x, page.y + HEAD + 5)
        y = page.y + _HEAD - 6
        for entry in entries:
            yield line(page.x, y, page.right, y, RULE)
            base = y + 6
            yield text_line(entry.bin.step, page.x, base, em(STEP, "bold"), "bold")
            name = fit_line(entry.bin.name, 80, (em(HEADING, "bold"), em(LEAST, "bold")), "bold")
            yield name.at(page.x + 24, base)
            reasons = wrap(entry.reason, page.width - 110, em(WORDS), 2)
            for number, words in enumerate(reasons.lines):
                top = base - (1.8 if len(reasons.lines) > 1 else 0)
                yield text_line(words, page.x + 110, top + number * 3.6, em(WORDS))
            y += 9
        yield line(page.x, y, page.right, y, RULE)


def _signs(x: float, y: float, size: float) -> Iterator[Item]:
    """Yield the signs of a tray on one line, each with what it says; `y` is the baseline."""
    arrow = [(0.0, 0.0), (1.8, -1.0), (0.0, -2.0)]
    wedge = [(0.0, 0.0), (1.0, -2.0), (2.0, 0.0)]
    for shape, words in (
        (arrow, _("a line begins")),
        (wedge, _("clock position of the part, 12 at the back; at the walls: centre of mass")),
        (None, _("?  not recorded, or an option is open")),
    ):
        if shape:
            yield Path(closed([(x + dx, y + dy) for dx, dy in shape]), None, BLACK)
            x += 3.2
        said = text_line(words, x, y, size)
        yield said
        x = said.box.right + 6


def _in_rows(texts: Sequence[str], size: float, width: float) -> list[list[tuple[float, str]]]:
    """Return where keys of patterns stand, row by row: their left edges and texts."""
    rows: list[list[tuple[float, str]]] = []
    x = width
    for text in texts:
        taken = 9.2 + measure(text, "regular", size)[0]
        if not rows or x + taken > width:
            rows.append([])
            x = 0.0
        rows[-1].append((x, text))
        x += taken + 6
    return rows


def _swatch(number: int) -> Iterator[Item]:
    """Yield a piece of a pattern, three times as large as it is shown."""
    box = Box(0, 0, 6 * _KEY, 3 * _KEY)
    yield rectangle(box, Pens(1 / 3).edge, WHITE)
    yield pattern(box, number, Pens(1 / 3).pattern)


def _table(places: Sequence[Place], column: Box) -> Iterator[Item]:
    """Yield the list of what lies where."""
    if not places:
        return
    x, y = column.x, column.y
    step_at, name_at = x + 9.5, x + 24
    wide = column.right - name_at
    told = [wrap(_detail(place), wide, em(SMALL), 2).lines for place in places]
    room = column.height - 6
    # A detail has a second line where that takes it from no other part.
    more = [_LINE * (len(lines) > 1) for lines in told]
    if room < _TWO * len(places) + math.fsum(more):
        more = [0.0] * len(places)
    row = max(_ROW[0], min(_ROW[1], (room - math.fsum(more)) / len(places)))
    two = row >= _TWO
    for words, at in ((_("PLACE"), x), (_("STEP"), step_at), (_("PART"), name_at)):
        yield text_line(words, at, y + 2, em(LEAST, "bold"), "bold")
    y += 3.4
    for place, lines, taller in zip(places, told, more, strict=True):
        yield line(x, y, column.right, y, RULE)
        base = y + (3.4 if two else (row + 2.3) / 2)
        part = place.bin.part
        yield text_line(place.name, x, base, em(WORDS))
        step = place.bin.step_words
        yield fit_line(step, 12, (em(NAME, "bold"), em(LEAST, "bold")), "bold").at(step_at, base)
        count = "" if part.qty == 1 else wording.quantity_words(part)
        taken = measure(count, "bold", em(WORDS, "bold"))[0]
        yield text_line(count, column.right, base, em(WORDS, "bold"), "bold", "end")
        name = fit_line(wording.short_name(part), column.right - name_at - taken - 2, (em(WORDS), em(LEAST)))
        yield name.at(name_at, base)
        if two:
            for number, words in enumerate(lines if taller else [_detail(place)]):
                yield fit_line(words, wide, (em(SMALL), em(LEAST))).at(name_at, base + _LINE * (1 + number))
        elif len(doubts(place)) > place.bin.doubtful:  # the step itself says it of an open option
            yield text_line("?", name_at - 2.2, base, em(WORDS, "bold"), "bold")
        y += row + taller
    yield line(x, y, column.right, y, RULE)


def _detail(place: Place) -> str:
    """Return how a part lies, and what is not known of it."""
    known = waywords.way(place.bin.part).known != "missing"
    faces = waywords.printed_way(place.bin.part) if known else ""  # else told by `doubts`
    return ", ".join(filter(None, (place_words(place), faces, *doubts(place))))


def _lift_words(tray: LaidTray) -> str:
    """Say how a tray is lifted, as far as the recorded masses tell."""
    if len(tray.unweighed) == len(tray.places):
        return _("No mass is recorded: weigh the tray before it is lifted.")
    told = advice(float(tray.mass), tray.stock.size_mm[1]).partition(": ")[2]
    known = _("By the recorded masses alone: {advice}").format(advice=told) if tray.unweighed else wording.capital(told)
    return _("{advice} The tray itself is not counted.").format(advice=known)


def _off_the_middle(tray: LaidTray) -> str:
    """Say which way a tray tips when it is far out of balance; empty when it is not."""
    if tray.centre is None:
        return ""
    (x, y), (width, depth) = tray.centre, tray.stock.size_mm
    across, along = x / width - 0.5, y / depth - 0.5
    sides = []
    if abs(across) > _OFF_THE_MIDDLE:
        sides.append(_("right") if across > 0 else _("left"))
    if abs(along) > _OFF_THE_MIDDLE:
        sides.append(_("front") if along > 0 else _("back"))
    return _("Heavy at the {sides}: keep it level.").format(sides=_(" and ").join(sides)) if sides else ""


def _kg(mass: float) -> str:
    return f"{math.ceil(mass * 10 - 1e-9) / 10:g}"

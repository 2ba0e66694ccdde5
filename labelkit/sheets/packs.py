"""Plate packs: the plates of a stack side by side in their order, each kind by its letter, thick ones thick.

The drawing shows order and kind, not size: along the pack thicknesses keep their proportions as far as the thinnest
stays visible; across it outer and inner edges are where they belong, teeth at the inner edge, lugs at the outer one.
"""

from __future__ import annotations

import math
from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import count
from typing import Final

from labelkit.calc.assembly import partners
from labelkit.calc.steps import Bin
from labelkit.drawing.hatch import hatch
from labelkit.drawing.page import (
    BLACK,
    WHITE,
    Box,
    Command,
    Group,
    Item,
    Page,
    Path,
    Pen,
    Text,
    line,
    moved,
    opened,
    rectangle,
)
from labelkit.drawing.text import fit_line, size_for_cap
from labelkit.drawing.text import line as text_line
from labelkit.forms.shapes import mm
from labelkit.language import gettext as _
from labelkit.model.form import size
from labelkit.model.media import Paper
from labelkit.model.part import Part
from labelkit.model.ringform import FlatSpring, FrictionPlate, SteelPlate
from labelkit.sheets import waywords, wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.worksheet import MARGIN, NAME, SMALL, THICK

# Least width of a plate and of the gap to the next one, mm.
_THINNEST: Final = 1.3
_APART: Final = 0.9
_LETTERS: Final = 2.6  # height of the capitals that name the kinds
_THICKNESS: Final = 2.2  # and of the figures on thick plates
_END: Final = 11.0  # what the pack lies against
_STEEL: Final = Pen(0.6)
# Thicknesses are drawn this much larger than they are at most.
_LARGEST: Final = 4.0
_FINE: Final = Pen(0.15)
_ABSENT: Final = Pen(0.25, dash=(0.6, 0.6))


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of plate in a pack: its letter, its bin, and how many there are."""

    letter: str
    bin: Bin
    number: int

    @property
    def words(self) -> str:
        """Name, size and which way up."""
        part = self.bin.part
        return ", ".join(
            filter(None, (wording.short_name(part), wording.size_words(part.form), waywords.printed_way(part)))
        )


def is_pack(part: Part) -> bool:
    """Say whether a part is a pack of plates."""
    return bool(part.stack)


def pack_drawing(view: JobView, each: Bin, box: Box) -> Group:
    """Return a pack with its letters and the list of its kinds.

    Args:
        view: the job.
        each: the bin of the pack.
        box: where to draw it, mm; about twice as wide as it is high or wider.
    """
    kinds = kinds_of(view, each)
    rows = len(kinds) * 5.2
    plates = Box(box.x, box.y, box.width, box.height - rows - 3)
    items: list[Item] = [plates_drawing(each.part, kinds, plates)]
    y = plates.bottom + 3
    for kind in kinds:
        items += _entry(kind, Box(box.x, y, box.width, 5.2))
        y += 5.2
    return Group(tuple(items), f"pack {each.step}", box)


def plates_drawing(pack: Part, kinds: Sequence[Kind], box: Box, laid: Container[int] | None = None) -> Group:
    """Return the plates of a pack in their order, each with the letter of its kind, and what the first lies against.

    Args:
        pack: the pack.
        kinds: of its plates, as from `kinds_of`.
        box: where to draw it, mm; a pack of many plates takes more of its width than is right.
        laid: places in the stack, from 0, of the plates that are in, the others only outlined; None: all are.
    """
    return Group((*_plates(pack, {kind.bin.part.id: kind for kind in kinds}, box, laid),), "plates", box)


def plates_width(pack: Part) -> float:
    """Return the least width of a drawing in which every plate of a pack is seen, mm."""
    return _END + 2 + len(pack.stack) * (_THINNEST + _APART)


def pack_pages(view: JobView, paper: Paper) -> Iterator[Page]:
    """Yield the sheets of all packs of a job, two on a sheet, to cut apart; none where there is no pack."""
    packs = [each for each in view.teardown.bins if is_pack(each.part)]
    short, long = sorted(paper.size_mm)
    half = short / 2
    for start in range(0, len(packs), 2):
        items: list[Item] = []
        for place, each in enumerate(packs[start : start + 2]):
            room = Box(0, 0, long, half).inset(MARGIN)
            items.append(Group(tuple(_sheet(view, each, room)), f"sheet {each.step}", None, moved(0, place * half)))
        items.append(line(0, half, long, half, Pen(0.1, dash=(1.2, 1.2))))
        yield Page(long, short, tuple(items), f"packs {start // 2 + 1}")


def _sheet(view: JobView, each: Bin, room: Box) -> Iterator[Item]:
    step = text_line(each.step_words, room.x, room.y + 12, size_for_cap(12, "bold"), "bold")
    yield step
    left = step.box.right + 5
    name = fit_line(each.name, room.right - left - 60, (size_for_cap(5, "bold"), em(LEAST, "bold")), "bold")
    yield name.at(left, room.y + 5)
    against = each.part.stack_from or wording.not_recorded()
    told = _("{count} plates in the order they come out; the first lies against: {end}")
    said = told.format(count=len(each.part.stack), end=against)
    yield fit_line(said, room.right - left, (em(NAME), em(LEAST))).at(left, room.y + 11)
    whose = wording.whose_words(
        view.profile.unit, wording.job_words(view.job.number), wording.source_words(view.profile.unit)
    )
    yield text_line(whose, room.right, room.y + 5, em(SMALL), "regular", "end")
    yield line(room.x, room.y + 14.5, room.right, room.y + 14.5, THICK)
    yield pack_drawing(view, each, Box(room.x, room.y + 17.5, room.width, room.height - 17.5))


def kinds_of(view: JobView, each: Bin) -> list[Kind]:
    """Return the kinds of plate of a pack in the order in which the first of each comes out."""
    found = []
    letters = (chr(ord("A") + number) for number in count())
    for name in dict.fromkeys(each.part.stack):
        for other in partners(view.teardown, each, name)[:1]:
            found.append(Kind(next(letters), other, each.part.stack.count(name)))
    return found


def _entry(kind: Kind, room: Box) -> Iterator[Item]:
    """Yield a kind's line: letter, step, name, how many."""
    base = room.y + 3.6
    yield text_line(kind.letter, room.x, base, size_for_cap(_LETTERS, "bold"), "bold")
    yield text_line(f"× {kind.number}", room.x + 7, base, size_for_cap(_LETTERS, "bold"), "bold")
    yield fit_line(kind.bin.step_words, 16, (size_for_cap(_LETTERS), em(LEAST))).at(room.x + 20, base)
    yield fit_line(kind.words, room.width - 38, (em(NAME), em(LEAST))).at(room.x + 38, base)


def _plates(pack: Part, kinds: Mapping[str, Kind], box: Box, laid: Container[int] | None = None) -> Iterator[Item]:
    places = [place for place, name in enumerate(pack.stack) if name in kinds]
    shown = [kinds[pack.stack[place]].bin.part for place in places]
    if not shown:
        return
    top, bottom = box.y + 1.5, box.bottom - _LETTERS - 2.5
    widths = _widths([_thickness(part) for part in shown], box.width - _END - 2)
    edges = [_edges(part) for part in shown]
    outer, inner = max(high for high, _ in edges), min(low for _, low in edges)
    span = (outer - inner) or 1.0

    def level(r: float) -> float:
        return top + (outer - r) / span * (bottom - top)

    yield from _against(pack, Box(box.x, top, _END - 2, bottom - top))
    x = box.x + _END
    for place, part, width, (high, low) in zip(places, shown, widths, edges, strict=True):
        room = Box(x, level(high), width, level(low) - level(high))
        if laid is None or place in laid:
            yield from _plate(part, room)
            yield from _thick(part, x, width, (top + bottom) / 2)
        else:
            yield Group((rectangle(room, _ABSENT),), f"not in {place}")
        yield text_line(
            kinds[part.id].letter,
            x + width / 2,
            bottom + 1.6 + _LETTERS,
            size_for_cap(_LETTERS, "bold"),
            "bold",
            "middle",
        )
        x += width + _APART


def _thick(part: Part, x: float, width: float, middle: float) -> Iterator[Item]:
    """Yield how thick a plate is, on one wide enough to bear it: those are what is mixed up at a cost."""
    if isinstance(part.form, SteelPlate) and width >= 2 * _THICKNESS:
        yield _upwards(
            text_line(str(part.form.t), 0, 0, em(_THICKNESS, "bold"), "bold", "middle"), x + width / 2, middle
        )


def _upwards(text: Text, x: float, y: float) -> Group:
    """Return a line that reads upwards, its middle at a point."""
    return Group((text,), "", None, (0, -1, 1, 0, x + text.ascent / 2, y))


def _against(pack: Part, box: Box) -> Iterator[Item]:
    """Yield what the first plate lies against, its name reading upwards."""
    yield rectangle(box, Pen(0.5), WHITE)
    words = (pack.stack_from or wording.not_recorded()).upper()
    fitted = fit_line(words, box.height - 4, (size_for_cap(3.6, "bold"), em(LEAST, "bold")), "bold")
    yield _upwards(fitted.at(0, 0, "middle"), box.x + box.width / 2, box.y + box.height / 2)


def _plate(part: Part, box: Box) -> Iterator[Item]:
    if isinstance(part.form, FlatSpring):
        yield Path(_zigzag(box), Pen(0.6))
        return
    if isinstance(part.form, FrictionPlate):
        # The core with its teeth at the inner edge, the linings on both sides of it.
        teeth = min(box.height * 0.14, 4.0)
        lining = Box(box.x, box.y, box.width, box.height - teeth)
        core = Box(box.x + box.width * 0.35, box.y, box.width * 0.3, box.height)
        yield rectangle(core, None, BLACK)
        for half in (Box(box.x, lining.y, box.width * 0.35, lining.height), _right(lining, box.width * 0.35)):
            corners = [(half.x, half.y), (half.right, half.y), (half.right, half.bottom), (half.x, half.bottom)]
            yield rectangle(half, None, WHITE)
            yield Path(hatch([corners], 1.1, 45.0), _FINE)
            yield rectangle(half, _FINE)
        return
    yield rectangle(box, _STEEL, WHITE)


def _right(box: Box, width: float) -> Box:
    return Box(box.right - width, box.y, width, box.height)


def _zigzag(box: Box) -> tuple[Command, ...]:
    steps = 7
    points = [(box.x if k % 2 else box.right, box.y + box.height * k / steps) for k in range(steps + 1)]
    return opened(points)


def _thickness(part: Part) -> float:
    """Return how thick a plate is, mm; 1 where it is not recorded."""
    found = size(part.form, "h", "t")
    return mm(found) if found else 1.0


def _edges(part: Part) -> tuple[float, float]:
    """Return outer and inner radius of a plate, mm; a ring of any size where it is not recorded."""
    outer, inner = size(part.form, "od"), size(part.form, "id")
    return (mm(outer) / 2, mm(inner) / 2) if outer and inner else (50.0, 40.0)


def _widths(thicknesses: Sequence[float], room: float) -> list[float]:
    """Return widths in proportion to thicknesses that fill the room, none below the thinnest that is seen."""
    room -= _APART * (len(thicknesses) - 1)
    scale = min(room / math.fsum(thicknesses), _LARGEST)
    room = min(room, scale * math.fsum(thicknesses))
    thin = [each for each in thicknesses if each * scale < _THINNEST]
    wide = math.fsum(each for each in thicknesses if each * scale >= _THINNEST)
    rest = max(0.0, room - _THINNEST * len(thin)) / wide if wide else 0.0
    return [_THINNEST if each * scale < _THINNEST else each * rest for each in thicknesses]

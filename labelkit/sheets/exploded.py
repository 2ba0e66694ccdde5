"""The exploded view: the unit coming apart along its axis in removal order, from left to right.

Every part has its own stretch of the axis, so that no two touch; its step stands in a circle straight above it, so that
the steps are read in order and no leader crosses another (ISO 6433). Screws and other small hardware are drawn off the
axis, with an arrow to what they belong to. A sub-assembly is bracketed and shown again, opened, in a row of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.drawing.page import BLACK, WHITE, Box, Command, Group, Item, Page, Path, Pen, line, moved
from labelkit.drawing.text import cap_height, fit_line, measure, size_for_cap
from labelkit.drawing.text import line as text_line
from labelkit.model.media import Paper
from labelkit.sheets import wording
from labelkit.sheets.axialview import Axis, Extent, axial_view, extent, middle_reach
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.orientation import circle_path

MARGIN: Final = 8.0
# Scales of ISO 5455, and 1:2.5, which the trade has always used beside them.
_SCALES: Final = (
    (5, "5:1"),
    (2, "2:1"),
    (1, "1:1"),
    (0.5, "1:2"),
    (0.4, "1:2.5"),
    (0.2, "1:5"),
    (0.1, "1:10"),
    (0.05, "1:20"),
    (0.02, "1:50"),
)
_HEAD: Final = 15.0
_TITLE: Final = 6.0  # above a strip: what it shows and its scale
_BALLOON: Final = 4.6  # radius
_ABOVE: Final = 2 * _BALLOON + 7.0  # balloons and the least length of a leader
_BELOW: Final = 9.0  # quantities and brackets
_APART: Final = 2.0  # balloons
_BETWEEN: Final = 5.0
_STRIPS: Final = 9.0  # between strips side by side
_TALLEST: Final = 112.0
_TALLEST_INNER: Final = 56.0
_CHAIN: Final = Pen(0.18, dash=(7.0, 1.2, 1.2, 1.2))
_THIN: Final = Pen(0.18)
_OFF_AXIS: Final = frozenset(("bolt", "plug", "pin", "key", "ball", "block", "lever", "coil_spring"))
_OFF_AXIS_IF_SEVERAL: Final = frozenset(("gear", "nut"))
# A part without a form is a dashed box of this size on paper.
_UNKNOWN: Final = Extent(8.0, 6.0)


@dataclass(frozen=True, slots=True)
class _Slot:
    """A part's stretch of the axis: its view's extent at 1:1, and whether it lies on the axis."""

    bin: Bin
    size: Extent
    central: bool


@dataclass(frozen=True)
class _Strip:
    """Parts in a row, at one scale: all that come out of one sub-assembly, or a piece of them."""

    title: str
    scale: float
    slots: tuple[_Slot, ...]
    goes_on: bool = False
    went_on: bool = False

    def stretch(self, slot: _Slot) -> float:
        """Return the length of a part's stretch on paper."""
        scale = self.scale if slot.bin.part.form else 1.0
        return max(slot.size.length * scale + _BETWEEN, _balloon_width(slot.bin.step) + _APART)

    @cached_property
    def width(self) -> float:
        """Its width on paper, its title included."""
        return max(sum(map(self.stretch, self.slots)), measure(self.title, "bold", size_for_cap(2.6, "bold"))[0])

    @cached_property
    def reach(self) -> float:
        """How far its parts reach from the axis on paper."""
        return max(slot.size.reach * (self.scale if slot.bin.part.form else 1.0) for slot in self.slots)

    @property
    def height(self) -> float:
        """Its height on paper."""
        return _TITLE + _ABOVE + 2 * self.reach + _BELOW


class ExplodedView:
    """The exploded view of a job.

    Args:
        view: the job.
        paper: what its pages are printed on, lying.
    """

    def __init__(self, view: JobView, paper: Paper) -> None:
        self.view = view
        short, long = sorted(paper.size_mm)
        self.width, self.height = long, short
        self.room = Box(MARGIN, MARGIN + _HEAD, long - 2 * MARGIN, short - 2 * MARGIN - _HEAD)

    def pages(self) -> Iterator[Page]:
        """Yield the strips, then the parts list."""
        sheets = [*self._sheets(), *self._lists()]
        for number, items in enumerate(sheets, 1):
            head = self._head(f"sheet {number} of {len(sheets)}")
            yield Page(self.width, self.height, (*head, *items), f"exploded {number}")

    def whole(self) -> Page:
        """Return all strips on one page as long as the unit, none of them broken."""
        strips = list(self._strips())
        width = max(strip.width for strip in strips) + 2 * MARGIN
        height = MARGIN
        items: list[Item] = []
        for strip in strips:
            items.append(Group(tuple(self._drawn(strip)), strip.title, None, moved(MARGIN, height)))
            height += strip.height + _BETWEEN
        return Page(width, height + MARGIN, tuple(items), "exploded")

    def _strips(self) -> Iterator[_Strip]:
        """Yield the unit, then every sub-assembly that is opened, in removal order."""
        inside: dict[str | None, list[Bin]] = {}
        for each in self.view.teardown.bins:
            inside.setdefault(each.parent, []).append(each)
        for parent, bins in inside.items():
            slots = tuple(_slot(each) for each in bins)
            tallest = _TALLEST if parent is None else _TALLEST_INNER
            scale, words = _scale(slots, tallest, self.room.width)
            holder = self.view.teardown.at(parent) if parent else None
            name = f"{holder.step} {wording.short_name(holder.part)}, opened" if holder else self.view.profile.unit.name
            yield _Strip(f"{name}   {words}", scale, slots)

    def _sheets(self) -> Iterator[list[Item]]:
        """Yield what stands on each sheet: strips side by side as far as they go."""
        items: list[Item] = []
        x, y, tallest = self.room.x, self.room.y, 0.0
        for strip in self._strips():
            for piece in _broken(strip, self.room.width):
                if x > self.room.x and x + piece.width > self.room.right:
                    x, y, tallest = self.room.x, y + tallest + _BETWEEN, 0.0
                if y > self.room.y and y + max(tallest, piece.height) > self.room.bottom:
                    yield items
                    items, x, y, tallest = [], self.room.x, self.room.y, 0.0
                items.append(Group(tuple(self._drawn(piece)), piece.title, None, moved(x, y)))
                x, tallest = x + piece.width + _STRIPS, max(tallest, piece.height)
        yield items

    def _head(self, sheet: str) -> Iterator[Item]:
        header, job = self.view.profile.unit, self.view.job
        x, y = MARGIN, MARGIN
        title = text_line("EXPLODED VIEW", x, y + 7, size_for_cap(7, "bold"), "bold")
        yield title
        where = (
            f"{header.name}, {header.mark} revision {header.revision or wording.NOT_RECORDED}, {header.source or ''}"
        )
        words = fit_line(where.rstrip(", "), self.width - title.box.right - 60, (size_for_cap(2.8), em(LEAST)))
        yield words.at(title.box.right + 6, y + 3.4)
        yield text_line(
            f"job {job.number}   {sheet}", self.width - MARGIN, y + 3.4, size_for_cap(2.8), "regular", "end"
        )
        up = f"LEFT = UP ({header.up}): parts come off from the left and go back from the right"
        yield fit_line(up, self.width - title.box.right - 20, (size_for_cap(2.2), em(LEAST))).at(
            title.box.right + 6, y + 7
        )
        yield line(x, y + 10, self.width - MARGIN, y + 10, Pen(0.5))

    def _drawn(self, strip: _Strip) -> Iterator[Item]:
        """Yield a strip in its own frame: title, axis, parts, circles with the steps."""
        yield text_line(strip.title, 0, 2.6, size_for_cap(2.6, "bold"), "bold")
        axis = _TITLE + _ABOVE + strip.reach
        length = sum(map(strip.stretch, strip.slots))
        yield from _axis(strip, axis, length)
        x = 0.0
        for number, slot in enumerate(strip.slots):
            stretch = strip.stretch(slot)
            yield Group(tuple(self._part(strip, slot, number, x, axis)), f"part {slot.bin.step}")
            x += stretch

    def _part(self, strip: _Strip, slot: _Slot, number: int, x: float, axis: float) -> Iterator[Item]:
        part, stretch = slot.bin.part, strip.stretch(slot)
        scale = strip.scale if part.form else 1.0
        length, reach = slot.size.length * scale, slot.size.reach * scale
        left, middle = x + (stretch - length) / 2, x + stretch / 2
        y = axis
        if not slot.central and (holder := self._holder(strip, slot)):
            y = axis - min(max(holder.size.reach * strip.scale * 0.72, reach), strip.reach - reach)
            yield from _to_holder(strip, slot, holder, x, y)
        if part.form is None:
            yield Path(_box(Box(left, y - reach, length, 2 * reach)), Pen(0.25, dash=(1.2, 0.8)), WHITE)
            yield text_line("?", middle, y + 2, size_for_cap(4, "bold"), "bold", "middle")
        else:
            way = wording.way(part)
            yield Group(
                tuple(axial_view(part.form, Axis(left, y, scale, way.opens == "down", 45.0 if number % 2 else -45.0))),
                f"view {slot.bin.step}",
            )
        top = reach if part.form is None else middle_reach(part.form) * scale
        yield from _balloon(slot.bin.step, middle, y - top)
        yield from self._foot(slot.bin, Box(x, axis + strip.reach + 1.5, stretch, _BELOW - 1.5))

    def _holder(self, strip: _Strip, slot: _Slot) -> _Slot | None:
        """Return the part of the same strip that a part lies on, else the next one on the axis."""
        sits = slot.bin.part.sits
        places = {each.bin.part.id: each for each in strip.slots if each.central}
        if sits and sits.on in places:
            return places[sits.on]
        after = strip.slots[strip.slots.index(slot) + 1 :]
        return next((each for each in after if each.central), None)

    def _foot(self, each: Bin, room: Box) -> Iterator[Item]:
        """Yield how many there are, and the bracket of a sub-assembly that is opened further on."""
        inner = [other.step for other in self.view.teardown.bins if other.parent == each.step]
        middle, y = room.x + room.width / 2, room.y
        if inner:
            half = room.width / 2 - 1
            corners = [(middle - half, y), (middle - half, y + 1.4), (middle + half, y + 1.4), (middle + half, y)]
            (x0, y0), *rest = corners
            yield Path((("M", x0, y0), *(("L", a, b) for a, b in rest)), _THIN)
            words = inner[0] if len(inner) == 1 else f"{inner[0]}-{inner[-1].rpartition('.')[2]}"
            yield fit_line(words, room.width, (em(1.9), em(LEAST))).at(middle, y + 4.0, "middle")
            y += 4.4
        if each.part.qty != 1:
            count = wording.quantity_words(each.part)
            yield text_line(count, middle, y + 2.2, em(2.0, "bold"), "bold", "middle")

    def _lists(self) -> Iterator[list[Item]]:
        """Yield the parts list in two columns a sheet."""
        bins = self.view.teardown.bins
        row = 4.7
        rows = int((self.room.height - 6) / row)
        gap = 8.0
        width = (self.room.width - gap) / 2
        for start in range(0, len(bins), 2 * rows):
            items: list[Item] = []
            for column in range(2):
                here = bins[start + column * rows : start + (column + 1) * rows]
                items += self._list(here, Box(self.room.x + column * (width + gap), self.room.y, width, row))
            yield items

    def _list(self, bins: Sequence[Bin], room: Box) -> Iterator[Item]:
        columns = (0.0, 13.0, 0.50, 0.58, 0.82, 0.91)
        at = [room.x + (each if each > 1 or each == 0 else each * room.width) for each in columns]
        ends = [*at[1:], room.right]
        size = em(1.9)

        def cells(texts: Iterable[str], base: float, face: str = "regular") -> Iterator[Item]:
            for text, x, end in zip(texts, at, ends, strict=True):
                if text:
                    yield fit_line(text, end - x - 1.5, (em(1.9, face), em(LEAST, face)), face).at(x, base)

        if not bins:
            return
        yield from cells(("STEP", "PART", "QTY", "SIZE", "PLACE", "NEW"), room.y + size * cap_height(), "bold")
        y = room.y + 3.6
        for each in bins:
            yield line(room.x, y, room.right, y, Pen(0.12))
            part = each.part
            count = "set" if part.qty == "set" else str(part.qty)
            place = self.view.tray_words(each) or "floor"
            new = {"always": "NEW", "if_worn": "if worn"}.get(part.renew, "") if isinstance(part.renew, str) else "with"
            yield fit_line(each.step, 11.5, (em(2.1, "bold"), em(LEAST, "bold")), "bold").at(at[0], y + 3.4)
            yield from cells(
                ("", wording.short_name(part), count, wording.size_words(part.form), place, new if part.renew else ""),
                y + 3.4,
            )
            y += room.height


def _slot(each: Bin) -> _Slot:
    form = each.part.form
    if form is None:
        return _Slot(each, _UNKNOWN, central=True)
    several = each.part.qty not in (1, "set")
    central = form.kind not in _OFF_AXIS and not (several and form.kind in _OFF_AXIS_IF_SEVERAL)
    return _Slot(each, extent(form), central)


def _scale(slots: Sequence[_Slot], tallest: float, width: float) -> tuple[float, str]:
    """Return the largest scale at which every part fits, as a number and as it is written."""
    drawn = [slot.size for slot in slots if slot.bin.part.form]
    reach, length = max((each.reach for each in drawn), default=1.0), max((each.length for each in drawn), default=1.0)
    fitting = [each for each in _SCALES if 2 * reach * each[0] <= tallest and length * each[0] + _BETWEEN <= width]
    return fitting[0] if fitting else _SCALES[-1]


def _broken(strip: _Strip, width: float) -> Iterator[_Strip]:
    """Yield a strip in pieces that fit a sheet, the axis going on from one to the next."""
    pieces: list[list[_Slot]] = [[]]
    taken = 0.0
    for slot in strip.slots:
        stretch = strip.stretch(slot)
        if pieces[-1] and taken + stretch > width:
            pieces.append([])
            taken = 0.0
        pieces[-1].append(slot)
        taken += stretch
    for number, piece in enumerate(pieces):
        title = strip.title if number == 0 else f"{strip.title}, continued"
        yield _Strip(title, strip.scale, tuple(piece), number + 1 < len(pieces), number > 0)


def _axis(strip: _Strip, y: float, length: float) -> Iterator[Item]:
    """Yield the axis, with a break where it goes on."""
    yield line(0, y, length, y, _CHAIN)
    for goes_on, x in ((strip.went_on, 0.6), (strip.goes_on, length - 0.6)):
        if goes_on:
            yield Path(
                (
                    ("M", x, y - 5),
                    ("L", x, y - 1.5),
                    ("L", x - 1.2, y - 0.6),
                    ("L", x + 1.2, y + 0.6),
                    ("L", x, y + 1.5),
                    ("L", x, y + 5),
                ),
                _THIN,
            )


def _to_holder(strip: _Strip, slot: _Slot, holder: _Slot, x: float, y: float) -> Iterator[Item]:
    """Yield the centre line of a part off the axis, with an arrow towards what it belongs to."""
    stretch = strip.stretch(slot)
    right = strip.slots.index(holder) > strip.slots.index(slot)
    yield line(x + 0.6, y, x + stretch - 0.6, y, Pen(0.15, dash=(3.0, 0.8, 0.8, 0.8)))
    tip, foot = (x + stretch - 0.2, x + stretch - 2.0) if right else (x + 0.2, x + 2.0)
    yield Path((("M", tip, y), ("L", foot, y - 0.7), ("L", foot, y + 0.7), ("Z",)), None, BLACK)


def _balloon(step: str, x: float, top: float) -> Iterator[Item]:
    """Yield the circle with the step, longer where the step is long, and the leader down to a dot on the part."""
    middle, half = _TITLE + _BALLOON, _balloon_width(step) / 2
    yield line(x, middle + _BALLOON, x, top + 0.6, _THIN)
    yield Path(circle_path(x, top + 0.6, 0.55), None, BLACK)
    yield Path(_capsule(x, middle, half), Pen(0.35), WHITE)
    size = _step_size(step)
    yield text_line(step, x, middle + size * cap_height("bold") / 2, size, "bold", "middle")


def _step_size(step: str) -> float:
    """Return the em of a step in its circle: 12 larger than 25.10.1."""
    return size_for_cap(3.6 if len(step) <= 2 else 3.0 if len(step) <= 4 else 2.4, "bold")


def _balloon_width(step: str) -> float:
    return max(2 * _BALLOON, measure(step, "bold", _step_size(step))[0] + 3.2)


def _capsule(x: float, y: float, half: float) -> tuple[Command, ...]:
    """Return a circle drawn out to this half width."""
    straight = half - _BALLOON
    if straight <= 0:
        return circle_path(x, y, _BALLOON)
    k = _BALLOON * 4 / 3
    left, right, top, bottom = x - straight, x + straight, y - _BALLOON, y + _BALLOON
    return (
        ("M", left, top),
        ("L", right, top),
        ("C", right + k, top, right + k, bottom, right, bottom),
        ("L", left, bottom),
        ("C", left - k, bottom, left - k, top, left, top),
        ("Z",),
    )


def _box(box: Box) -> tuple[Command, ...]:
    corners = ((box.right, box.y), (box.right, box.bottom), (box.x, box.bottom))
    return (("M", box.x, box.y), *(("L", x, y) for x, y in corners), ("Z",))

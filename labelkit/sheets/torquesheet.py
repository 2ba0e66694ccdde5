"""The torque sheet: every group of screws with its pattern, numbered in tightening order, and a box for each pass."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.calc.tightening import order as tightening_order
from labelkit.drawing.page import WHITE, Group, Item, Path, Pen, closed
from labelkit.drawing.text import line as text_line
from labelkit.drawing.text import size_for_cap
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext, noop
from labelkit.model.part import Part
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.worksheet import RULE, SMALL, TICK, WRITE, Sheet, Strip, note_strip
from labelkit.sheets.worksheetcells import Boxes, Drawing, Piece, Say, bold
from labelkit.sheets.worksheetfacts import MOST_BOXES, part_pieces, step_cautions, step_pieces
from labelkit.sheets.worksheettable import Column, Table
from labelkit.units import Quantity

_WIDE: Final = 56.0  # of a pattern
# Radius of a pattern on a circle, at least and at most.
_ROUND: Final = (11.0, 17.6)
# Radius of a screw in a drawing, at least (its number must be read) and at most.
_RADII: Final = (2.2, 3.8)
_APART: Final = 1.2  # between two of them
_EDGE: Final = 0.2  # from the outermost to the edge of the drawing
_SPREAD: Final = 12.0  # from one to the next in a row, at most
_PLACE: Final = 2.4  # from the edge of a screw to the middle of its place number
_WRENCH: Final = (noop("wrench no."), noop("set to"), noop("unit"), noop("paint mark, by"))
_TURNED: Final = noop("turned by, °")
_WRENCH_BOX: Final = (26.0, WRITE[1])
_OWN: Final = noop("Places as the unit's own list numbers them")
_TORQUE: Final = noop("torque {unknown}: write it at set to")
_NUMBERED: Final = {
    "circle": noop(
        "Places are counted round the circle, seen as the cover is screwed on; 1 is where you like: mark it"
    ),
    "row": noop("Places are counted from one end"),
    "two_rows": noop("Places are counted along the first row, then along the second from the same end"),
}


def torque_sheet(view: JobView, width: float) -> Sheet:
    """Return the groups of screws in the order of assembly; no strip where the unit has none."""
    columns = (
        Column(_("STEP"), 16.5),
        Column(_("SCREWS"), 62),
        Column(_("PATTERN: BIG NUMBERS ARE THE ORDER, SMALL ONES THE PLACES"), _WIDE + 4),
        Column(_("PASSES: A TICK FOR EACH SCREW, IN THIS ORDER"), 0),
    )
    table = Table(columns, width, "torque")
    strips: list[Strip] = []
    for placed in view.order:
        if placed.bin.part.tightened:
            strips += _group(view, table, placed.bin)
    if not strips:
        return Sheet(_("TORQUE"), [])
    told = _(
        "In the order of assembly. The wrench's unit is read before it is set; N·m, lbf·ft and lbf·in are three "
        "different scales. A pattern in the unit's own manual comes before the one drawn here."
    )
    return Sheet(_("TORQUE"), [note_strip(told, width), table.head, *strips, table.line_strip()])


def order_of(part: Part) -> tuple[int, ...]:
    """Return the places of a group of screws in tightening order; empty where there is no pattern that suits."""
    pattern = part.fasten.pattern if part.fasten else None
    if pattern is None or part.qty == "set" or part.qty == 1:
        return ()
    try:
        return tightening_order(pattern, part.qty)
    except UsageError:
        return ()


def _group(view: JobView, table: Table, each: Bin) -> Iterator[Strip]:
    part = each.part
    hazards = step_cautions(view, each, table, "assembly")
    yield from hazards
    cells: list[list[Piece]] = [step_pieces(each), _screws(view, each), _pattern(part), list(_passes(part))]
    yield from table.row(each.step, cells, rule=not hazards)


def _screws(view: JobView, each: Bin) -> list[Piece]:
    part, fasten = each.part, each.part.fasten
    pieces = part_pieces(view, each)
    if part.thread == "left":
        pieces.append(bold(_("turn counter-clockwise to tighten")))
    if part.new_only:
        pieces.append(bold(_("an old one is never used again")))
    if words := wording.size_words(part.form):
        pieces.append(Say(words))
    if fasten is None or fasten.torque is None:
        pieces.append(bold(_("torque {unknown}").format(unknown=wording.not_recorded())))
    else:
        pieces.append(bold(wording.torque_words(fasten.torque)))
    if fasten and fasten.angle and fasten.angle.value:
        degrees, flats = wording.plain(fasten.angle.value), round(fasten.angle.base / 60, 2)
        told = ngettext(
            "then {degrees}° further: {flats} flat of a hexagon",
            "then {degrees}° further: {flats} flats of a hexagon",
            1 if flats == 1 else 2,
        )
        pieces.append(bold(told.format(degrees=degrees, flats=wording.plain(flats))))
    oiled = fasten.oiled if fasten else None
    unknown = _("dry or oiled: {unknown}").format(unknown=wording.not_recorded())
    return [*pieces, bold(unknown if oiled is None else _("OILED") if oiled else _("DRY"))]


def _pattern(part: Part) -> list[Piece]:
    pattern = part.fasten.pattern if part.fasten else None
    if part.qty == 1:
        return []
    order = order_of(part)
    if not order:
        if pattern is None:
            return [Say(_("order of tightening: {unknown}").format(unknown=wording.not_recorded()))]
        told = pattern if isinstance(pattern, str) else "-".join(map(str, pattern))
        wrong = _("pattern {pattern} does not suit {count} screws: ask")
        return [bold(wrong.format(pattern=told.replace("_", " "), count=part.qty))]
    pieces: list[Piece] = []
    kind = pattern if isinstance(pattern, str) else "own"
    drawn = pattern_drawing(kind, order)
    if drawn:
        pieces.append(drawn)
    pieces.append(bold(_("places: {places}").format(places="-".join(map(str, order))), SMALL))
    pieces.append(Say(_(_NUMBERED.get(kind, _OWN)), SMALL))
    return pieces


def pattern_drawing(kind: str, order: Sequence[int]) -> Drawing | None:
    """Return a pattern with its screws numbered in tightening order, small numbers for their places.

    Args:
        kind: `circle`, `row`, `two_rows`; anything else, an own list, is drawn as lines of places.
        order: the places in tightening order.

    Returns:
        None where there are more screws than can be drawn with numbers that are read.
    """
    points, outward, height = _points(kind, len(order))
    near = min((math.dist(a, b) for k, a in enumerate(points) for b in points[:k]), default=2 * _RADII[1] + _APART)
    radius = min(_RADII[1], (near - _APART) / 2)
    if radius < _RADII[0] - 1e-6:
        return None
    items: list[Item] = []
    if kind == "circle":
        items.append(_ring(_WIDE / 2, height / 2, _round(len(order))))
    for turn, place in enumerate(order, start=1):
        (x, y), (dx, dy) = points[place - 1], outward[place - 1]
        cap = min(2.6, radius * (0.75 if turn < 10 else 0.66))
        number = text_line(str(turn), x, y + cap / 2, size_for_cap(max(cap, LEAST), "bold"), "bold", "middle")
        items.append(Group((_ring(x, y, radius, 0.4), number), f"screw {place}"))
        away = radius + _PLACE
        items.append(text_line(str(place), x + dx * away, y + dy * away + LEAST / 2, em(LEAST), "regular", "middle"))
    return Drawing(height, tuple(items))


def _round(count: int) -> float:
    """Return the radius on which so many screws stand apart, as far as there is room."""
    return max(_ROUND[0], min(_ROUND[1], count * (2 * _RADII[1] + _APART) / math.tau))


def _points(kind: str, count: int) -> tuple[list[tuple[float, float]], list[tuple[float, float]], float]:
    """Return the middle of each place, the way its number stands off it, and the height of the drawing."""
    if kind == "circle":
        r = _round(count)
        middle = r + _RADII[1] + _PLACE + LEAST
        ways = [(math.sin(k * math.tau / count), -math.cos(k * math.tau / count)) for k in range(count)]
        return [(_WIDE / 2 + r * x, middle + r * y) for x, y in ways], ways, 2 * middle
    columns = count // 2 if kind == "two_rows" else count
    # As far apart as the width allows when the first and the last stand at its edges.
    step = min(_SPREAD, (_WIDE + _APART - 2 * _EDGE) / max(1, columns))
    if kind == "own":
        step = 2 * _RADII[0] + _APART
        columns = int((_WIDE - 2 * _EDGE + _APART) / step)
    edge = _EDGE + min(_RADII[1], (step - _APART) / 2)
    places = [(k % columns, k // columns) for k in range(count)]
    between = 14.0 if kind == "two_rows" else 12.5
    # The numbers of the upper one of two rows stand above it.
    first = 8.0 if kind == "two_rows" else edge
    points = [(edge + step * x, first + between * y) for x, y in places]
    outward = [(0.0, -1.0 if kind == "two_rows" and not y else 1.0) for _, y in places]
    return points, outward, points[-1][1] + _RADII[1] + _PLACE + LEAST


def _ring(x: float, y: float, radius: float, width: float = 0.0) -> Path:
    sides = 48
    points = [
        (x + radius * math.cos(k * math.tau / sides), y + radius * math.sin(k * math.tau / sides)) for k in range(sides)
    ]
    return Path(closed(points), Pen(width) if width else RULE, WHITE if width else None)


def share_words(torque: Quantity, share: Decimal) -> str:
    """Return a pass as its share and its torque: `70 %: 33.6 N·m (...)`."""
    value = Quantity(Decimal(wording.plain(torque.value * share)), torque.unit)
    return f"{wording.plain(share * 100)} %: {wording.torque_words(value)}"


def _passes(part: Part) -> Iterator[Piece]:
    """Yield the passes of a group, each with its torque and a box for each screw, then one for the angle."""
    fasten = part.fasten
    torque = fasten.torque if fasten else None
    shares = fasten.passes if fasten else ()
    turned = fasten is not None and fasten.angle is not None and bool(fasten.angle.value)
    if part.qty == 1 and len(shares) <= 1 and not turned:
        yield bold(wording.torque_words(torque) if torque else _(_TORQUE).format(unknown=wording.not_recorded()))
        yield Boxes((_("tight"), *map(_, _WRENCH)), _WRENCH_BOX)
        return
    for number, share in enumerate(shares or (None,), start=1):
        if torque is None:
            told = _(_TORQUE).format(unknown=wording.not_recorded())
        elif share is None:
            told = wording.torque_words(torque)
        else:
            told = share_words(torque, share)
        yield bold(_("pass {number}: {torque}").format(number=number, torque=told) if len(shares) > 1 else told)
        yield _ticks(part, f"pass {number}")
    if turned and fasten and fasten.angle:
        degrees = wording.plain(fasten.angle.value)
        yield bold(_("then {degrees}° each, in the same order").format(degrees=degrees))
        yield _ticks(part, "angle")
    yield Boxes(tuple(map(_, (*_WRENCH[:-1], *[_TURNED] * turned, _WRENCH[-1]))), _WRENCH_BOX)


def _ticks(part: Part, name: str) -> Boxes:
    count = 0 if part.qty == "set" else part.qty
    if not 1 <= count <= MOST_BOXES:
        return Boxes((_("all of them"),), (WRITE[0], TICK), name)
    labels = tuple(map(str, range(1, count + 1))) if count > 1 else (_("tight"),)
    return Boxes(labels, (TICK, TICK), name)

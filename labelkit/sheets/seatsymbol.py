"""The symbol of a part on its seat: black, on the white outline of what it sits on, whose mating face is heavy.

It is told at arm's length and on a printer of 203 dpi, where no line is thinner than two dots. Where both ends of a
part look nearly alike, its `way` end alone is black; what leans is drawn steeper. Turned over, every symbol differs in
a quarter of its dots at least.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from labelkit import forms
from labelkit.drawing.hatch import hatch
from labelkit.drawing.page import BLACK, WHITE, Box, Group, Item, Path, Pen, closed, line, opened
from labelkit.forms.edges import crossings
from labelkit.forms.geometry import Point
from labelkit.forms.shapes import Material, mm
from labelkit.model.form import Carrier, Toothed
from labelkit.model.formbase import Form
from labelkit.model.hardwareform import Screw
from labelkit.model.ringform import DiscSpring, SnapRing, TaperCone, TaperCup
from labelkit.sheets.seat import Seat, below, rings, sizes, torn
from labelkit.sheets.seatlayout import Laid, Manner, lay

# Beyond these proportions the height is stretched or pressed. Where both ends are alike there is less to see, and a
# flat part may look flat. The cut of a thin ring at its true proportions would be two dots far apart.
MANNER: Final = Manner(
    share=0.62, flattest=0.4, flattest_alike=0.16, tallest=1.2, gap=0.05, depth=0.22, even=True, clear=0.56
)
# What is below is hatched with lines this far apart, mm and parts of the height, whichever is more.
_PITCH: Final = (1.0, 0.13)
# Two dots at 203 dpi, mm.
_THINNEST: Final = 0.25
# Of a wheel and a retaining ring, whose ends look much alike, only the `way` end is black: so much of the height.
_BAND: Final = 0.36
# Another is one of them, and half of it black, where turned over it differs from itself by less than this part,
# measured at so many levels.
_ALIKE: Final = 0.34
_LEVELS: Final = 24
# How much of its breadth the narrow end of a taper has, and of its height the sheet of a disc spring has at most.
_CONE_END: Final = 0.4
_CUP_END: Final = 0.2
_SHEET: Final = 0.5

_HAIR: Final = 1e-6

Polygon = list[Point]


def _pens(box: Box) -> tuple[Pen, Pen]:
    return Pen(max(_THINNEST, box.height * 0.02)), Pen(max(2 * _THINNEST, box.height * 0.045))


def alone(form: Form, box: Box, *, down: bool) -> Iterator[Item]:
    """Yield a part on a thick line."""
    thin, thick = _pens(box)
    lifted = box.height * 0.04 + thin.width / 2
    room = Box(box.x, box.y + thin.width / 2, box.width, box.height - thick.width - lifted - thin.width / 2)
    laid = lay(form, None, room.inset(box.width * 0.06, 0.0), MANNER)
    floor = laid.part(0.0) + lifted + thick.width / 2
    yield line(box.x, floor, box.right, floor, thick)
    yield from _behind(form, laid, thin, down=down)
    yield from _faces(form, laid, thin, down=down)


def seated(seat: Seat, box: Box) -> Iterator[Item]:
    """Yield a part on its seat."""
    thin, thick = _pens(box)
    laid = lay(seat.form, seat, box.inset(thin.width / 2), MANNER)
    yield from _behind(seat.form, laid, thin, down=seat.down)
    under: list[Item] = []
    pitch = max(_PITCH[0], _PITCH[1] * box.height)
    for ring, _ in below(seat):
        points = [(laid.x(x), laid.under(z)) for x, z in ring]
        under.append(Path(closed(points), None if seat.beside else thin, WHITE))
        if lines := hatch([points], pitch, 45.0, laid.window):
            under.append(Path(lines, thin))
    under += [Path(opened([(laid.x(x), laid.under(z)) for x, z in edge]), thin) for edge in torn(seat)]
    yield Group((*under, *_mating(seat, laid, thick)), "below", None, clip=laid.window)
    yield from _faces(seat.form, laid, thin, down=seat.down)


def _mating(seat: Seat, laid: Laid, pen: Pen) -> Iterator[Item]:
    """Yield the heavy lines of the faces on which the part sits."""
    for low, high, z in seat.faces:
        y = laid.under(z) + pen.width / 2
        for one, other in _sided(low, high):
            yield line(laid.x(one), y, laid.x(other), y, pen)
    for r, low, high in seat.walls:
        for x in (-r, r):
            yield line(laid.x(x), laid.under(low), laid.x(x), laid.under(high), pen)


def _sided(low: float, high: float) -> Iterator[tuple[float, float]]:
    """Yield a stretch of the radius on both sides of the axis; one stretch where it reaches the axis."""
    if low < _HAIR:
        yield -high, high
    else:
        yield -high, -low
        yield low, high


def _behind(form: Form, laid: Laid, pen: Pen, *, down: bool) -> Iterator[Item]:
    """Yield the edges behind the cut."""
    height = sizes(form).height
    for edge in forms.section(form).whole().lines:
        yield Path(opened([(laid.x(x), laid.part(height - z if down else z)) for x, z in edge]), pen)


def _faces(form: Form, laid: Laid, pen: Pen, *, down: bool) -> Iterator[Item]:
    """Yield the cut faces of a part: metal black, rubber and linings white, and what turns by itself too."""
    cut = [([(laid.x(x), laid.part(z)) for x, z in ring], material) for ring, material in _shown(form, down=down)]
    ends = laid.part(sizes(form).height), laid.part(0.0)
    black = _black(form, [ring for ring, _ in cut], ends, laid)
    for number, (ring, material) in enumerate(cut):
        light = black < 1.0 or material != "metal" or (isinstance(form, Carrier) and number > 3)
        yield Path(closed(ring), pen, WHITE if light else BLACK)
    if black < 1.0:
        top, bottom = ends
        limit = bottom - black * (bottom - top) if down else top + black * (bottom - top)
        yield from (Path(closed(kept), None, BLACK) for ring, _ in cut if (kept := _beyond(ring, limit, lower=down)))


def _black(form: Form, cut: Sequence[Polygon], ends: tuple[float, float], laid: Laid) -> float:
    """Return how much of the height of a part is black, from its `way` end: all of it where the ends look different."""
    if isinstance(form, Toothed | SnapRing):
        return _BAND
    if isinstance(form, Screw):
        shank = laid.across(mm(form.d) / 2) + _HAIR
        head = [y for ring in cut for x, y in ring if abs(x - laid.middle) > shank]
        return (max(head) - min(head)) / (ends[1] - ends[0]) if head else 0.5
    if not form.stepped or not forms.sided(form):
        return 1.0
    top, bottom = ends
    levels = [top + (bottom - top) * (k + 0.5) / _LEVELS for k in range(_LEVELS)]
    widths = [_solid(cut, y) for y in levels]
    pairs = [*zip(widths, reversed(widths), strict=True)]
    differ, all_of_it = math.fsum(abs(a - b) for a, b in pairs), math.fsum(max(a, b) for a, b in pairs)
    return 0.5 if differ < _ALIKE * all_of_it else 1.0


def _solid(cut: Sequence[Polygon], y: float) -> float:
    """Return how much of a level line lies in material."""
    crossed = (sorted(crossings(ring, y)) for ring in cut)
    return math.fsum(math.fsum(xs[1::2]) - math.fsum(xs[::2]) for xs in crossed)


def _beyond(points: Polygon, limit: float, *, lower: bool) -> Polygon:
    """Return what of a polygon lies above a height, or below it (Sutherland-Hodgman)."""
    sign = 1.0 if lower else -1.0
    kept: Polygon = []
    for (x1, y1), (x2, y2) in zip([points[-1], *points[:-1]], points, strict=True):
        inside, was = (y2 - limit) * sign >= 0, (y1 - limit) * sign >= 0
        if inside != was:
            kept.append((x1 + (limit - y1) / (y2 - y1) * (x2 - x1), limit))
        if inside:
            kept.append((x2, y2))
    return kept


def _shown(form: Form, *, down: bool) -> Sequence[tuple[Sequence[Point], Material]]:
    """Return the cut faces as they are shown: what leans leans clearly, whatever its sizes."""
    own = sizes(form)
    bore, reach, height = own.bore, own.reach, own.height
    if isinstance(form, TaperCup):
        mouth = reach - _CUP_END * (reach - bore)
        return _both([(bore, 0.0), (reach, 0.0), (reach, height), (mouth, height)], height, down=down)
    if isinstance(form, DiscSpring):
        sheet = min(mm(form.t), _SHEET * height)
        return _both([(bore, 0.0), (reach, height - sheet), (reach, height), (bore, sheet)], height, down=down)
    if not isinstance(form, TaperCone):
        return rings(form, down=down)

    def drawn_in(x: float, z: float) -> Point:
        share = 1 - (1 - _CONE_END) * ((height - z) if down else z) / height
        return math.copysign(bore + (abs(x) - bore) * share, x), z

    return [([drawn_in(*point) for point in ring], material) for ring, material in rings(form, down=down)]


def _both(half: Polygon, height: float, *, down: bool) -> list[tuple[Polygon, Material]]:
    """Return both halves of a metal face as it sits."""
    return [([(side * r, height - z if down else z) for r, z in half], "metal") for side in (1, -1)]

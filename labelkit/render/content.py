"""The drawing operators of one PDF page.

Lengths stay mm: one matrix at the beginning of the page turns it upside down and scales it to points, so that
every number after it is a length of the page model, rounded to 0.001 mm.

Source: ISO 32000-1, tables of graphics state, path construction, path painting and text operators.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache, lru_cache
from typing import Final

from labelkit.drawing.page import IDENTITY, Affine, Command, Group, Item, Page, Path, Pen, Symbol, Text
from labelkit.drawing.qr import QUIET_ZONE, Matrix, runs
from labelkit.render.numbers import number, outline_text
from labelkit.units import MM_PER_INCH

MM: Final = 72 / MM_PER_INCH
"""Points in a millimetre. Source: ISO 32000-1, default user space: 1/72 inch."""

# Shows letters of a face: the name of a font resource and the string of its codes, as often as the font
# changes.
Shower = Callable[[str, str], list[tuple[str, bytes]]]
# Keeps what is in a group that stands on several pages, and gives the name of the resource.
Keeper = Callable[[Group], str]

# A module is drawn as this many units, so that its corners are whole numbers, and one unit smaller than it
# is: a renderer that paints every dot it touches would otherwise paint a row too many. Half of that unit
# lies on each side.
_UNITS: Final = 100
_OPERATORS: Final = {"M": "%.9g %.9g m\n", "L": "%.9g %.9g l\n", "C": f"{'%.9g ' * 6}c\n", "Z": "h\n"}
# Inside a string the backslash is the escape, a bare parenthesis closes it, a carriage return would become a
# line feed, and of two line feeds Ghostscript, through which many printers print, makes one.
_ESCAPES: Final = str.maketrans({"\\": r"\\", "(": r"\(", ")": r"\)", "\r": r"\r", "\n": r"\n"})


class _Writer:
    """Writes operators and keeps in mind what the page is set to, so that nothing is set twice."""

    def __init__(self, show: Shower, keep: Keeper) -> None:
        self._show, self._keep = show, keep
        self._fill: str | None = None
        self._pen: Pen | None = None
        self._font: tuple[str, float] | None = None
        self.code: list[str] = []

    def items(self, items: Iterable[Item]) -> None:
        for item in items:
            match item:
                case Path():
                    self._path(item)
                case Text():
                    self._text(item)
                case Symbol():
                    self._symbol(item)
                case Group():
                    self._group(item)

    def _group(self, group: Group) -> None:
        if group.matrix == IDENTITY and group.clip is None and not group.repeated:
            self.items(group.items)
            return
        before = self._fill, self._pen, self._font
        self.code.append(f"q {_matrix(group.matrix)} cm")
        if group.clip:
            box = group.clip
            self.code.append(f"{' '.join(map(number, (box.x, box.y, box.width, box.height)))} re W n")
        if group.repeated:
            self.code.append(f"{self._keep(group)} Do")
        else:
            self.items(group.items)
        self.code.append("Q")
        self._fill, self._pen, self._font = before

    def _path(self, path: Path) -> None:
        if not path.d or (path.pen is None and path.fill is None):
            return
        if path.fill is not None:
            self._set_fill(path.fill)
        if path.pen is not None:
            self._set_pen(path.pen)
        paint = "S" if path.fill is None else "f*" if path.pen is None else "B*"
        self.code += (_operators(path.d), paint)

    def _text(self, text: Text) -> None:
        self._set_fill(text.fill)
        self.code.append(f"BT 1 0 0 -1 {number(text.left)} {number(text.y)} Tm")
        for run in text.runs:
            for font, codes in self._show(run.face, run.text):
                self._set_font(font, text.size)
                self.code.append(f"({codes.decode('latin-1').translate(_ESCAPES)}) Tj")
        self.code.append("ET")

    def _symbol(self, symbol: Symbol) -> None:
        inner, unit = symbol.inner, symbol.module / _UNITS
        quiet = _UNITS * QUIET_ZONE
        side = _UNITS * symbol.matrix.size + 2 * quiet
        line = symbol.frame / unit
        whole = _square(-quiet - line - 0.5, side + 2 * line)
        self.code += [
            f"q {unit:.8g} 0 0 {unit:.8g} {inner.x + unit / 2:.7g} {inner.y + unit / 2:.7g} cm",
            f"1 g {whole} f 0 g",
        ]
        if symbol.frame:
            self.code += [whole, _square(-quiet - 0.5, side)]
        self.code += [_modules(symbol.matrix), "f* Q"]

    def _set_fill(self, colour: str) -> None:
        if colour != self._fill:
            self.code.append(_colour(colour).lower())
            self._fill = colour

    def _set_pen(self, pen: Pen) -> None:
        old = self._pen
        if pen == old:
            return
        if old is None or pen.width != old.width:
            self.code.append(f"{number(pen.width)} w")
        if old is None or pen.colour != old.colour:
            self.code.append(_colour(pen.colour))
        if (old.dash if old else ()) != pen.dash:
            self.code.append(f"[{' '.join(map(number, pen.dash))}] 0 d")
        self._pen = pen

    def _set_font(self, font: str, size: float) -> None:
        if (font, size) != self._font:
            self.code.append(f"{font} {number(size)} Tf")
            self._font = (font, size)


def content(page: Page, show: Shower, keep: Keeper) -> bytes:
    """Return the operators of a page, not compressed.

    Lines have butt ends and round joins.

    Args:
        page: what to draw.
        show: gives the font resources and codes of the letters of a face.
        keep: keeps a group that stands on several pages, and gives the name of its resource.
    """
    writer = _Writer(show, keep)
    writer.code.append(f"{MM:.10g} 0 0 {-MM:.10g} 0 {page.height * MM:.10g} cm 1 j")
    return _bytes(writer, page.items)


def kept_content(group: Group, show: Shower, keep: Keeper) -> bytes:
    """Return the operators of what is in a group that is kept once, in the group's own frame; not compressed."""
    writer = _Writer(show, keep)
    writer.code.append("[] 0 d")  # whatever dashes are set where it stands
    return _bytes(writer, group.items)


def _bytes(writer: _Writer, items: Iterable[Item]) -> bytes:
    writer.items(items)
    return "\n".join([*writer.code, ""]).encode("latin-1")


@lru_cache(maxsize=4096)
def _operators(d: tuple[Command, ...]) -> str:
    """Return the operators of a path; a drawing that is cut into sheets has the same paths on several of them."""
    return outline_text(d, _OPERATORS).rstrip("\n")


def _matrix(matrix: Affine) -> str:
    a, b, c, d, e, f = matrix
    # A turn acts on lengths of up to a page: nine decimals of it are more than 0.001 mm.
    return " ".join([*(f"{round(value, 9):.10g}" for value in (a, b, c, d)), number(e), number(f)])


def _square(corner: float, side: float) -> str:
    return f"{corner:.8g} {corner:.8g} {side:.8g} {side:.8g} re"


@lru_cache(maxsize=64)
def _modules(matrix: Matrix) -> str:
    places, lengths = _module_numbers(matrix.size)
    return "\n".join(
        [f"{places[x]} {places[y]} {lengths[width]} {lengths[height]} re" for x, y, width, height in runs(matrix)]
    )


@cache
def _module_numbers(size: int) -> tuple[list[str], list[str]]:
    """Return where modules begin and how long runs of them are, in units, as written."""
    modules = range(size + 1)
    return [str(count * _UNITS) for count in modules], [str(count * _UNITS - 1) for count in modules]


@lru_cache(maxsize=256)
def _colour(colour: str) -> str:
    """Return the operator that sets a line colour; in small letters it sets the fill."""
    parts = [number(int(colour[place : place + 2], 16) / 255) for place in (1, 3, 5)]
    return f"{parts[0]} G" if len(set(parts)) == 1 else f"{' '.join(parts)} RG"

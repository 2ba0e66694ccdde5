"""Pages of primitives in millimetres: what a sheet builds and a writer writes.

The origin is the top left corner of the page, x to the right, y down. Everything is frozen: a page can be asked for
its things by name, measured and tested before anything is written. Writers know these classes and nothing else.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final, Literal

from labelkit.drawing.qr import Matrix

Command = (
    tuple[Literal["M"], float, float]
    | tuple[Literal["L"], float, float]
    | tuple[Literal["C"], float, float, float, float, float, float]
    | tuple[Literal["Z"]]
)
Affine = tuple[float, float, float, float, float, float]
Anchor = Literal["start", "middle", "end"]

BLACK: Final = "#000000"
WHITE: Final = "#ffffff"
IDENTITY: Final[Affine] = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
# A quarter of a circle as one cubic curve is true to 0.03 % with handles of this length.
_QUARTER_HANDLE: Final = 4 / 3 * math.tan(math.pi / 8)


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the page: left top corner and size, mm."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Its right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """Its lower edge."""
        return self.y + self.height

    def inset(self, dx: float, dy: float | None = None) -> Box:
        """Return the box with `dx` taken off left and right, `dy` (default `dx`) off top and bottom."""
        dy = dx if dy is None else dy
        return Box(self.x + dx, self.y + dy, self.width - 2 * dx, self.height - 2 * dy)

    def holds(self, other: Box, slack: float = 1e-6) -> bool:
        """Say whether `other` lies inside, edges included."""
        return (
            other.x >= self.x - slack
            and other.y >= self.y - slack
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )

    def overlaps(self, other: Box, slack: float = 1e-6) -> bool:
        """Say whether the two share some area; touching edges do not."""
        return (
            self.x < other.right - slack
            and other.x < self.right - slack
            and self.y < other.bottom - slack
            and other.y < self.bottom - slack
        )


@dataclass(frozen=True, slots=True)
class Pen:
    """A line: width in mm, colour as #rrggbb, dash lengths in mm (empty: solid)."""

    width: float
    colour: str = BLACK
    dash: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Path:
    """Straight lines and cubic curves, stroked, filled (even-odd), or both."""

    d: tuple[Command, ...]
    pen: Pen | None = None
    fill: str | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """Letters of one face, as named by `labelkit.drawing.fonts`."""

    face: str
    text: str


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text on its baseline.

    Attributes:
        x: start, middle or end of the line, by `anchor`.
        y: the baseline.
        runs: the letters, split where the face changes.
        size: the em, mm.
        width: measured length, mm.
        ascent: height of its tallest letter above the baseline, mm.
        descent: depth of its deepest letter below the baseline, mm, not negative.
        anchor: which end of the line is at `x`.
        fill: colour as #rrggbb.
    """

    x: float
    y: float
    runs: tuple[Run, ...]
    size: float
    width: float
    ascent: float
    descent: float
    anchor: Anchor = "start"
    fill: str = BLACK

    @property
    def string(self) -> str:
        """All its letters."""
        return "".join(run.text for run in self.runs)

    @property
    def left(self) -> float:
        """Its left end."""
        return self.x - {"start": 0.0, "middle": self.width / 2, "end": self.width}[self.anchor]

    @property
    def box(self) -> Box:
        """The box of its ink in height and of its advance in width."""
        return Box(self.left, self.y - self.ascent, self.width, self.ascent + self.descent)


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR symbol.

    Attributes:
        x: left edge of the whole, quiet zone and frame included.
        y: top edge of the whole.
        matrix: its modules.
        module: size of a module, mm.
        frame: width of the line round the quiet zone, mm; 0 for none.
        text: what it says.
    """

    x: float
    y: float
    matrix: Matrix
    module: float
    frame: float
    text: str

    @property
    def side(self) -> float:
        """Width and height of the whole: modules, quiet zone of four modules, frame."""
        return (self.matrix.size + 8) * self.module + 2 * self.frame

    @property
    def box(self) -> Box:
        """The square of the whole."""
        return Box(self.x, self.y, self.side, self.side)

    @property
    def inner(self) -> Box:
        """The square of the modules alone."""
        margin = self.frame + 4 * self.module
        return Box(self.x + margin, self.y + margin, self.matrix.size * self.module, self.matrix.size * self.module)


@dataclass(frozen=True, slots=True)
class Group:
    """Things that move together.

    Attributes:
        items: what it holds, in its own frame.
        name: how a test or the manifest finds it, as in `label 12`.
        box: the area it may use, in its own frame.
        matrix: (a, b, c, d, e, f): x' = a x + c y + e, y' = b x + d y + f takes its frame to its parent's.
        clip: nothing outside this is shown, in its own frame.
        repeated: the same group stands on several pages, and a writer may keep what is in it once; it has a box.
    """

    items: tuple[Item, ...]
    name: str = ""
    box: Box | None = None
    matrix: Affine = IDENTITY
    clip: Box | None = None
    repeated: bool = False


Item = Path | Text | Symbol | Group


@dataclass(frozen=True, slots=True)
class Page:
    """One sheet of paper: size in mm and what is on it."""

    width: float
    height: float
    items: tuple[Item, ...]
    name: str = ""

    def walk(self) -> Iterator[tuple[Item, Affine]]:
        """Yield every item with the matrix that takes its frame to the page's, parents before children."""
        yield from _walk(self.items, IDENTITY)

    def find(self, name: str) -> tuple[Group, Affine]:
        """Return the group of this name and the matrix of its frame; KeyError when there is none."""
        for item, matrix in self.walk():
            if isinstance(item, Group) and item.name == name:
                return item, matrix
        raise KeyError(name)


def _walk(items: Iterable[Item], matrix: Affine) -> Iterator[tuple[Item, Affine]]:
    for item in items:
        if isinstance(item, Group):
            inner = compose(matrix, item.matrix)
            yield item, inner
            yield from _walk(item.items, inner)
        else:
            yield item, matrix


def compose(outer: Affine, inner: Affine) -> Affine:
    """Return the matrix that does `inner` first, then `outer`."""
    a, b, c, d, e, f = outer
    p, q, r, s, t, u = inner
    return (a * p + c * q, b * p + d * q, a * r + c * s, b * r + d * s, a * t + c * u + e, b * t + d * u + f)


def moved(dx: float, dy: float) -> Affine:
    """Return the matrix of a shift by (dx, dy) mm."""
    return (1.0, 0.0, 0.0, 1.0, dx, dy)


def rectangle(box: Box, pen: Pen | None = None, fill: str | None = None) -> Path:
    """Return the outline of a box as a path."""
    d: tuple[Command, ...] = (
        ("M", box.x, box.y),
        ("L", box.right, box.y),
        ("L", box.right, box.bottom),
        ("L", box.x, box.bottom),
        ("Z",),
    )
    return Path(d, pen, fill)


def line(x1: float, y1: float, x2: float, y2: float, pen: Pen) -> Path:
    """Return one straight line from (x1, y1) to (x2, y2), mm."""
    return Path((("M", x1, y1), ("L", x2, y2)), pen)


def opened(points: Iterable[tuple[float, float]]) -> tuple[Command, ...]:
    """Return a line through these points, at least one."""
    (x, y), *rest = points
    return (("M", x, y), *(("L", a, b) for a, b in rest))


def closed(points: Iterable[tuple[float, float]]) -> tuple[Command, ...]:
    """Return a closed line through these points, at least one."""
    return (*opened(points), ("Z",))


def circle_path(x: float, y: float, radius: float) -> tuple[Command, ...]:
    """Return a circle as four curves."""
    k = radius * _QUARTER_HANDLE
    return (
        ("M", x + radius, y),
        ("C", x + radius, y + k, x + k, y + radius, x, y + radius),
        ("C", x - k, y + radius, x - radius, y + k, x - radius, y),
        ("C", x - radius, y - k, x - k, y - radius, x, y - radius),
        ("C", x + k, y - radius, x + radius, y - k, x + radius, y),
        ("Z",),
    )

"""What all stock has in common: a name and a size; and one view of everything that is printed piece by piece.

Places are in mm, origin at the top left corner of the page, y down.
"""

from __future__ import annotations

from abc import abstractmethod
from decimal import Decimal
from typing import Annotated, Any, Final, Literal, NamedTuple

from pydantic import (
    AfterValidator,
    PlainValidator,
    PrivateAttr,
    ValidationInfo,
    WithJsonSchema,
)

from labelkit.errors import allowed_text
from labelkit.model.scalars import IDENT, Count, Length, LengthOrZero, Model, Words, as_text, fault, written
from labelkit.units import MM_PER_INCH, Quantity

StockKind = Literal["labels", "stickers", "roll", "paper", "tray"]

# Coarser is no label printer, finer no printer: a figure outside is a slip.
_COARSEST: Final = 150
_FINEST: Final = 2400


class Piece(NamedTuple):
    """The place of one label on its page: left top corner and size, mm."""

    x: float
    y: float
    width: float
    height: float


def _of_a_printer(dpi: int) -> int:
    if not _COARSEST <= dpi <= _FINEST:
        raise fault(f'found "{dpi}"; allowed: the dots per inch of a printer, {_COARSEST} to {_FINEST}')
    return dpi


Pair = Annotated[tuple[Length, Length], written("[across, down]")]
PairOrZero = Annotated[tuple[LengthOrZero, LengthOrZero], written("[across, down]")]
Dpi = Annotated[Count, AfterValidator(_of_a_printer)]


def mm(text: str) -> Quantity:
    """Return a length in mm, for a default."""
    return Quantity(Decimal(text), "mm")


def floats(pair: tuple[Quantity, Quantity]) -> tuple[float, float]:
    """Return a pair of lengths as coordinates, mm."""
    return float(pair[0].mm), float(pair[1].mm)


class Stock(Model):
    """Base of all stock. Its name is its key in the file; the loader passes it as pydantic context."""

    kind: StockKind
    _name: str = PrivateAttr(default="")

    def model_post_init(self, context: Any, /) -> None:
        """Take over the name from the context; stock built in Python without one has an empty name."""
        self._name = context.get("name", "") if isinstance(context, dict) else ""

    @property
    def name(self) -> str:
        """Its key in the file."""
        return self._name

    @property
    @abstractmethod
    def size_mm(self) -> tuple[float, float]:
        """Width and height of what one gets: a sheet, one label, a tray's inside."""


class Paper(Stock):
    """A sheet of plain paper, upright: [width, height]."""

    kind: Literal["paper"]
    size: Pair

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the sheet, upright."""
        return floats(self.size)


def _known_paper(value: Any, info: ValidationInfo) -> Paper:
    """Find the paper that a file names among those the context knows; None there: a paper with faults."""
    if isinstance(value, Paper):
        return value
    name = as_text(value)
    known: dict[str, Paper | None] = (info.context or {}).get("papers", {})
    if name not in known:
        raise fault(f'found "{name}"; there is no paper of that name; {allowed_text(name, known, most=40)}')
    if (paper := known[name]) is None:
        raise fault(f'found "{name}"; the paper of that name has faults itself, correct them first')
    return paper


PaperByName = Annotated[
    Paper,
    PlainValidator(_known_paper),
    WithJsonSchema({"type": "string", "pattern": f"^{IDENT}$"}),
]


class Printable(Stock):
    """What is printed piece by piece.

    Attributes:
        margin: blank border inside every piece: what the printer cannot reach, and how far prints wander.
        dpi: dots per inch of the printer it is meant for.
        material: what it is made of, for people.
    """

    margin: LengthOrZero = mm("2")
    dpi: Dpi = 600
    material: Words | None = None

    @property
    @abstractmethod
    def page_size(self) -> tuple[float, float]:
        """Width and height of a page, mm."""

    @property
    @abstractmethod
    def piece_size(self) -> tuple[float, float]:
        """Width and height of one label, mm."""

    @abstractmethod
    def positions(self) -> tuple[Piece, ...]:
        """Return the place of every label on a page, in reading order."""

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of one label, mm."""
        return self.piece_size

    @property
    def per_page(self) -> int:
        """How many labels a page holds."""
        return 1

    @property
    def margin_mm(self) -> float:
        """The blank border inside every piece."""
        return float(self.margin.mm)

    @property
    def dot_mm(self) -> float:
        """Distance of the printer's dots, mm.

        Source: common practice, no source: "203 dpi" print heads have 8 dots to the millimetre (203.2 dpi).
        """
        return 0.125 if self.dpi == 203 else MM_PER_INCH / self.dpi

    @property
    def true_dpi(self) -> float:
        """The printer's dots in an inch, as many as there are: 203.2 at "203 dpi"."""
        return MM_PER_INCH / self.dot_mm

    def leave_room(self) -> None:
        """Refuse a margin that leaves nothing of a label to print on."""
        width, height = self.piece_size
        if 2 * self.margin_mm >= min(width, height):
            label = f"{width:g} x {height:g} mm"
            raise fault(f"margin {self.margin} on both sides leaves nothing of a label of {label}")

"""Stock: paper, sheets of labels and stickers, label rolls and trays, as the files in `layouts/` say it."""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any, Final, Literal, Self

from pydantic import Discriminator, Field, ValidationInfo, field_validator, model_validator

from labelkit.model.media import (
    Dpi,
    Pair,
    PairOrZero,
    Paper,
    PaperByName,
    Piece,
    Printable,
    Stock,
    StockKind,
    floats,
    mm,
)
from labelkit.model.scalars import Count, Ident, Length, LengthOrZero, Mass, Model, fault
from labelkit.units import Quantity

Quantities = tuple[Quantity, Quantity]


class LabelSheet(Printable):
    """A sheet of labels or stickers in columns and rows.

    Attributes:
        paper: the sheet they are on, upright.
        label: width and height of one label.
        columns: how many labels stand side by side.
        rows: how many below each other.
        pitch: from the corner of a label to that of its right and of its lower neighbour.
        first: from the sheet's top left corner to that of the first label.
        corner: radius of a label's corners.
        reading: `rows` fills row by row from the left, `columns` column by column from the top.
    """

    # The order of the fields is that of the checks: each looks at those above it and speaks at its own place.
    kind: Literal["labels", "stickers"]
    paper: PaperByName
    label: Pair
    columns: Count
    rows: Count
    pitch: Pair
    first: PairOrZero
    corner: LengthOrZero = mm("0")
    reading: Literal["rows", "columns"] = "rows"

    @property
    def page_size(self) -> tuple[float, float]:
        """Width and height of the sheet, mm."""
        return self.paper.size_mm

    @property
    def piece_size(self) -> tuple[float, float]:
        """Width and height of one label, mm."""
        return floats(self.label)

    @property
    def per_page(self) -> int:
        """How many labels a sheet holds."""
        return self.columns * self.rows

    @property
    def corner_mm(self) -> float:
        """Radius of a label's corners."""
        return float(self.corner.mm)

    def positions(self) -> tuple[Piece, ...]:
        """Return the place of every label on a sheet, in reading order."""
        across = [float(self.first[0].mm + self.pitch[0].mm * column) for column in range(self.columns)]
        down = [float(self.first[1].mm + self.pitch[1].mm * row) for row in range(self.rows)]
        if self.reading == "rows":
            return tuple(Piece(x, y, *self.piece_size) for y in down for x in across)
        return tuple(Piece(x, y, *self.piece_size) for x in across for y in down)

    @field_validator("pitch")
    @classmethod
    def _no_overlap(cls, pitch: Quantities, info: ValidationInfo) -> Quantities:
        data = info.data
        if not {"label", "columns", "rows"} <= data.keys():
            return pitch  # their faults are told at their own places
        faults = [
            f"found {step} {way}, less than the label's {side} {size}: neighbours overlap by {size.mm - step.mm} mm"
            for step, size, count, way, side in (
                (pitch[0], data["label"][0], data["columns"], "across", "width"),
                (pitch[1], data["label"][1], data["rows"], "down", "height"),
            )
            if count > 1 and step.mm < size.mm
        ]
        if faults:
            raise fault("; ".join(faults))
        return pitch

    @field_validator("first")
    @classmethod
    def _inside_the_paper(cls, first: Quantities, info: ValidationInfo) -> Quantities:
        data = info.data
        if not {"paper", "label", "columns", "rows", "pitch"} <= data.keys():
            return first
        faults = []
        for axis, (line, side) in enumerate((("column", "wide"), ("row", "high"))):
            steps = (data["columns"], data["rows"])[axis] - 1
            start, pitch, label, room = (
                pair[axis] for pair in (first, data["pitch"], data["label"], data["paper"].size)
            )
            end = start.mm + steps * pitch.mm + label.mm
            if end > room.mm:
                sheet = f"the paper {data['paper'].name}".strip()
                most = room.mm - (end - start.mm)
                allowed = f"allowed: at most {most} mm" if most >= 0 else f"so many {line}s do not fit"
                faults.append(
                    f"found {start}: with {steps} x pitch {pitch} and the label's {label} the last {line} "
                    f"ends at {end} mm, but {sheet} is {room.mm} mm {side}; {allowed}"
                )
        if faults:
            raise fault("; ".join(faults))
        return first

    @field_validator("corner")
    @classmethod
    def _fits_the_label(cls, corner: Quantity, info: ValidationInfo) -> Quantity:
        label = info.data.get("label")
        if label and 2 * corner.mm > min(side.mm for side in label):
            size = f"{label[0]} x {label[1]}"
            raise fault(f"found {corner}; allowed: at most half the smaller side of the label, {size}")
        return corner

    @model_validator(mode="after")
    def _prints_something(self) -> Self:
        self.leave_room()
        return self


class Cut(Model):
    """How long the pieces of a continuous roll may be cut, and how long they are unless stated."""

    min: Length
    max: Length
    default: Length

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not self.min.mm <= self.default.mm <= self.max.mm:
            found = f"min {self.min}, default {self.default}, max {self.max}"
            raise fault(f"found {found}; allowed: default from min to max")
        return self


class Roll(Printable):
    """A roll of labels for a label printer: one label is one page.

    Attributes:
        width: of the roll, across the paper path.
        cut: of a continuous roll.
        label: of a die-cut roll: width across, height along the paper path.
        gap: of a die-cut roll: between two labels, along the paper path.
    """

    kind: Literal["roll"]
    width: Length
    cut: Cut | None = None
    label: Pair | None = None
    gap: Length | None = None
    margin: LengthOrZero = mm("1.5")
    dpi: Dpi = 203

    @field_validator("label")
    @classmethod
    def _narrower_than_the_roll(cls, label: Quantities | None, info: ValidationInfo) -> Quantities | None:
        width = info.data.get("width")
        if label and width and label[0].mm > width.mm:
            raise fault(f"found a label {label[0]} wide; allowed: at most the roll's width, {width}")
        return label

    @model_validator(mode="after")
    def _one_kind(self) -> Self:
        if (self.cut is None) == (self.label is None):
            kinds = "continuous, {cut: {min, max, default}}, or die-cut, {label: [w, h], gap}"
            raise fault(f"a roll is either {kinds}")
        if (self.label is None) != (self.gap is None):
            raise fault("a die-cut roll needs both label and gap, a continuous one has neither")
        self.leave_room()
        return self

    @property
    def die_cut(self) -> bool:
        """Whether its labels are cut already."""
        return self.label is not None

    @property
    def page_size(self) -> tuple[float, float]:
        """Width and height of one label, mm: a label is a page."""
        return self.piece_size

    @property
    def piece_size(self) -> tuple[float, float]:
        """Width and height of one label, mm; of a continuous roll at its default length."""
        if self.cut is not None:
            return floats((self.width, self.cut.default))
        return floats(self.label or (self.width, self.width))

    def positions(self) -> tuple[Piece, ...]:
        """Return the place of the one label on its page."""
        return (Piece(0.0, 0.0, *self.piece_size),)


class Tray(Stock):
    """A tray.

    Attributes:
        inside: width, and depth from front to back.
        depth: height of its wall inside; None when it is not recorded.
        limit: greatest mass of what lies in it.
    """

    kind: Literal["tray"]
    inside: Pair
    depth: Length | None = None
    limit: Mass = Quantity(Decimal(10), "kg")

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and depth from front to back, inside."""
        return floats(self.inside)

    @property
    def depth_mm(self) -> float | None:
        """Height of the wall inside; None when it is not recorded."""
        return None if self.depth is None else float(self.depth.mm)

    @property
    def limit_kg(self) -> float:
        """Greatest mass of what lies in it."""
        return float(self.limit.kg)


AnyStock = Annotated[LabelSheet | Roll | Paper | Tray, Discriminator("kind")]

STOCK: Final[dict[StockKind, type[Stock]]] = {
    "labels": LabelSheet,
    "stickers": LabelSheet,
    "roll": Roll,
    "paper": Paper,
    "tray": Tray,
}


class StockHead(Model):
    """A file of stock, format 1, before its entries are read."""

    format: Literal["1"]
    stock: Annotated[dict[Ident, Any], Field(min_length=1)]


class StockFile(Model):
    """A whole file of stock, format 1, as editors see it."""

    format: Literal["1"]
    stock: Annotated[dict[Ident, AnyStock], Field(min_length=1)]

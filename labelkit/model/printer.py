"""What is known of printers: how far their prints are from true, by paper and page orientation."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Any, Final, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field

from labelkit.errors import UsageError
from labelkit.model.media import Pair
from labelkit.model.scalars import IDENT, Ident, Model, as_text, fault
from labelkit.units import Quantity

Orientation = Literal["portrait", "landscape"]

CHECK_MM: Final = 140
"""Distance of the check crosses on both axes, mm: what a 150 mm caliper spans."""
LEAST_SCALE: Final = Decimal("0.985")
MOST_SCALE: Final = Decimal("1.015")
"""A print further from true was scaled by a setting: "fit to page" on the paper that a page is for makes 98 % at most.

Nearer it may be the printer itself, or the scanner: neither can be told from a setting. What is put together from pages
is corrected by what was measured; labels bear it: at 1.5 percent half a sheet is off by 2 mm, their blank border.
"""


@dataclass(frozen=True, slots=True)
class Factors:
    """What every length of a drawing is multiplied by, along the page's x and y axis, so that its print is true."""

    x: float = 1.0
    y: float = 1.0

    @property
    def matrix(self) -> tuple[float, float, float, float, float, float]:
        """The same as the matrix of a drawing group; the page's top left corner stays where it is."""
        return (self.x, 0.0, 0.0, self.y, 0.0, 0.0)

    def window(self, width: float, height: float) -> tuple[float, float]:
        """Return the room for a drawing whose scaled copy must fit these sides, mm."""
        return width / self.x, height / self.y

    def __str__(self) -> str:
        return f"x {self.x:.4f} y {self.y:.4f}"


def printer_name(text: str) -> str:
    """Return the name that a shop gives a printer.

    Raises:
        UsageError: not written as a name.
    """
    if not re.fullmatch(IDENT, text):
        raise UsageError(f'the printer "{text}"; allowed: up to 48 of a-z, 0-9 and -, as in laser-2')
    return text


def orientation(landscape: bool) -> Orientation:
    """Return what print dialogs call it.

    >>> orientation(False), orientation(True)
    ('portrait', 'landscape')
    """
    return "landscape" if landscape else "portrait"


@dataclass(frozen=True, slots=True)
class CheckMark:
    """What a check sheet says about itself in its symbol.

    Attributes:
        paper: name of the paper.
        landscape: the page lies on its long side.
        printer: whose factors it was drawn with; None: drawn true, for a first reading.
        factors: these factors.
    """

    paper: str
    landscape: bool
    printer: str | None = None
    factors: Factors = Factors()

    @property
    def text(self) -> str:
        """The same in letters of a QR symbol's alphanumeric mode."""
        words = ["LABELKIT CHECK", self.paper, orientation(self.landscape)]
        if self.printer is not None:
            words += [self.printer, f"{self.factors.x:.4f}", f"{self.factors.y:.4f}"]
        return " ".join(words).upper()

    @classmethod
    def of(cls, text: str) -> Self | None:
        """Read the text of a symbol; None when it is not that of a check sheet.

        >>> CheckMark.of("LABELKIT CHECK A4 LANDSCAPE")
        CheckMark(paper='a4', landscape=True, printer=None, factors=Factors(x=1.0, y=1.0))
        """
        match = _MARK.fullmatch(text)
        if match is None:
            return None
        paper, page, printer, x, y = match.groups()
        factors = Factors(float(x), float(y)) if printer else Factors()
        return cls(paper.lower(), page == "LANDSCAPE", printer and printer.lower(), factors)


_MARK: Final = re.compile(
    r"LABELKIT CHECK ([A-Z0-9-]+) (PORTRAIT|LANDSCAPE)(?: ([A-Z0-9-]+) (\d\.\d{4}) (\d\.\d{4}))?", re.ASCII
)


def _in_range(read: tuple[Quantity, Quantity]) -> tuple[Quantity, Quantity]:
    for each in read:
        if not LEAST_SCALE <= each.mm / CHECK_MM <= MOST_SCALE:
            least, most = (scale * CHECK_MM for scale in (LEAST_SCALE, MOST_SCALE))
            raise fault(f"found {each}; allowed: {least.normalize()} to {most.normalize()} mm")
    return read


def _day(value: Any) -> datetime.date:
    if isinstance(value, datetime.date):
        return value  # built in Python
    text = as_text(value)
    try:
        if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", text, re.ASCII):
            raise ValueError(text)
        return datetime.date.fromisoformat(text)
    except ValueError as error:
        raise fault(f'found "{text}"; allowed: a day as in 2026-03-31') from error


Day = Annotated[datetime.date, BeforeValidator(_day)]


class CheckReading(Model):
    """One check sheet, measured.

    Attributes:
        read: distances of the check crosses along the page's x and y axis, of a sheet that was drawn true.
        measured: the day of it.
        confirmed: the day on which a corrected print was found true; None: not yet.
    """

    read: Annotated[Pair, AfterValidator(_in_range)]
    measured: Day
    confirmed: Day | None = None

    @property
    def factors(self) -> Factors:
        """What makes the print true: 140 mm against what was read."""
        return Factors(*(float(CHECK_MM / each.mm) for each in self.read))


# By name of the paper, then by page orientation.
Readings = dict[Ident, Annotated[dict[Orientation, CheckReading], Field(min_length=1)]]


class PrinterFile(Model):
    """The shop's file of printers, format 1: readings by printer, paper and page orientation."""

    format: Literal["1"]
    printers: dict[Ident, Readings]

"""One cell of a table of parts: figures with either decimal sign, counts, clock times, lists and the format's words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from labelkit.load.partcolumns import Column, word_of
from labelkit.load.table import Row
from labelkit.model.catalogue import DecimalSign, is_doubtful
from labelkit.model.formwords import folded

_SIGNED: Final = re.compile(r"(?<![\d.,])(\d{0,9}[.,]\d+)(?![\d.,])", re.ASCII)
_GROUPED: Final = re.compile(r"\d{1,3}(?:[.,]\d{3})+[.,]\d+|\d{1,3}(?:[.,]\d{3}){2,}|\d+(?:[.,]\d+){2,}", re.ASCII)
_PIECES: Final = (
    "pcs pc pce pieces piece off each ea stk stck stueck st pzas pza pz piezas pieza uds ud unidades unidad x"
)
_SETS: Final = frozenset(["set", "satz", "juego", "a r", "as required", "nach bedarf", "n b", "segun necesidad"])
_CLOCK: Final = re.compile(
    r"(?:a las? |at )?0?(\d{1,2})(?:[:.h]\s?(\d{2})(?::00)?)?\s*(?:o\W?clock|uhr|h|hrs?|en punto)?", re.IGNORECASE
)
_WITH: Final = re.compile(r"(?:with|mit|con)\s*:?\s+(.+)|with:(.+)", re.IGNORECASE)
_FIGURES: Final = ("figure", "size", "sizes", "list")


class CellError(ValueError):
    """Report a cell that cannot be read; the text of the error is for the user."""


@dataclass(slots=True)
class Cells:
    """What is known of the figures of a table.

    Attributes:
        decimal: its decimal sign, as was said or as the first figure shows without doubt.
    """

    decimal: DecimalSign | None

    def look_at(self, row: Row, columns: Mapping[str, tuple[int, Column, str]]) -> None:
        """Learn the decimal sign from a row, where nobody has said it."""
        for index, column, _ in columns.values():
            if self.decimal is None and column.kind in _FIGURES and index < len(row.cells):
                sure = (text for text in _SIGNED.findall(row.cells[index]) if not is_doubtful(text))
                shown = next(sure, None)
                self.decimal = None if shown is None else "," if "," in shown else "."

    def pointed(self, text: str) -> str:
        """Return a text of figures with decimal points.

        Raises:
            CellError: thousands are set apart, the other sign is used, or nobody can tell.
        """
        if found := _GROUPED.search(text):
            raise CellError(
                f'found "{found[0]}"; thousands are not set apart; write 1250.5, or 1250,5 with a decimal comma'
            )
        for figure in _SIGNED.findall(text):
            sign = "," if "," in figure else "."
            if self.decimal is None and is_doubtful(figure):
                asked = "no figure in the file shows it; say --decimal . or --decimal ,"
                raise CellError(f"found {figure}: is the sign for decimals or for thousands? {asked}")
            if self.decimal not in (None, sign):
                name = "comma" if self.decimal == "," else "point"
                meant = figure.replace(sign, str(self.decimal))
                raise CellError(f"found {figure}; the decimal sign of this file is the {name}; did you mean {meant}?")
        return _SIGNED.sub(lambda match: match[0].replace(",", "."), text)


def read_cell(column: Column, text: str, unit: str, cells: Cells) -> Any:
    """Return what a cell says, as a profile's file has it; what it cannot be is left for the profile's own checks.

    Args:
        column: of the cell.
        text: not empty.
        unit: that the heading names, empty for none.
        cells: what is known of the figures.

    Raises:
        CellError: a figure that cannot be read in one way.
    """
    if column.kind in ("figure", "size"):
        figure = cells.pointed(text)
        return f"{figure} {unit}" if unit and re.fullmatch(r"[\d./ +-]+", figure) else figure
    if column.kind == "sizes":
        figures = cells.pointed(text)
        return (
            f"{figures} {unit}" if unit and re.search(r"\d$", figures) and not re.search("[=:]", figures) else figures
        )
    reader = _READERS.get(column.kind)
    if reader is not None:
        return reader(text)
    if column.kind == "list":
        return [piece for piece in re.split(r"[\s;|]+", cells.pointed(text)) if piece]
    word = word_of(column.name, text)
    if column.name == "pattern" and re.fullmatch(r"\d+([\s,;|-]+\d+)*", word):
        return re.findall(r"\d+", word)
    return word


def _qty(text: str) -> str:
    """Return a count: `4 pcs`, `x4`, `set`."""
    if folded(text) in _SETS:
        return "set"
    plain = text.casefold().replace("ü", "ue").strip()
    match = re.fullmatch(rf"[x×]?\s*(\d+)(?:[.,]0+)?\s*(?:×|{_PIECES.replace(' ', '|')})?\.?", plain)
    return match[1] if match else text


def _clock(text: str) -> str:
    """Return a position on the dial: `6`, `06:00`, `6 o'clock`, `6 Uhr`, `free`."""
    match = _CLOCK.fullmatch(text.strip())
    return f"{match[1]}:{match[2] or '00'}" if match else word_of("clock", text)


def _renew(text: str) -> Any:
    match = _WITH.fullmatch(text.strip())
    return {"with": (match[1] or match[2]).strip()} if match else word_of("renew", text)


def _list(text: str) -> list[str]:
    """Return ids or names: apart by comma, semicolon or bar, or ids by spaces."""
    pieces = [piece.strip() for piece in re.split("[,;|]", text) if piece.strip()]
    ids = len(pieces) == 1 and re.fullmatch(r"[a-z0-9-]+(\s+[a-z0-9-]+)+", pieces[0])
    return pieces[0].split() if ids else pieces


def _only(text: str) -> Any:
    """Return versions: `output=splined; brake=b12|b16`."""
    found: dict[str, Any] = {}
    for piece in re.split("[;,]", text):
        group, equals, choices = piece.partition("=" if "=" in piece else ":")
        if not equals:
            raise CellError(f'found "{piece.strip()[:40]}"; write GROUP=CHOICE, as in output=splined; brake=b12|b16')
        wanted = [choice.strip() for choice in choices.split("|")]
        found[group.strip()] = wanted if len(wanted) > 1 else wanted[0]
    return found


_READERS: Final[Mapping[str, Callable[[str], Any]]] = {
    "qty": _qty,
    "clock": _clock,
    "renew": _renew,
    "idents": _list,
    "only": _only,
}

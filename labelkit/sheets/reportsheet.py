"""The report of a job on paper, in the look of the worksheets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from labelkit.drawing.page import Page
from labelkit.model.media import Paper
from labelkit.sheets.jobreport import Report, ReportTable
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheet import SMALL, STEP, Frame, Sheet, Strip, note_strip, sheet_pages, title_strip
from labelkit.sheets.worksheetcells import Piece, Say, bold
from labelkit.sheets.worksheettable import Column, Table, pieces_strip

_LABEL = 34.0  # width of the labels of the facts, mm


def report_pages(view: JobView, report: Report, paper: Paper) -> Iterator[Page]:
    """Yield the pages of a report.

    Raises:
        CapacityError: the paper is too small.
    """
    frame = Frame.of(paper)
    yield from sheet_pages(view, [Sheet("REPORT", list(_strips(report, frame.body.width)))], frame)


def _strips(report: Report, width: float) -> Iterator[Strip]:
    facts = Table((Column("", _LABEL), Column("", 0)), width, "fact")
    for number, (label, text) in enumerate(report.facts):
        yield from facts.row(label, [[bold(label)], [Say(text)]], rule=bool(number))
    yield from pieces_strip(_signature(report), width, name="signature")
    for table in report.tables:
        yield from _table(table, width)


def _signature(report: Report) -> Sequence[Piece]:
    first, *rest = report.signature
    pieces: list[Piece] = [bold(first, STEP)]
    return [*pieces, *(Say(each) for each in rest)]


def _table(table: ReportTable, width: float) -> Iterator[Strip]:
    yield title_strip(table.title, width, f"title {table.title}")
    if not table.rows:
        yield note_strip(table.empty, width, kept=False)
        return
    columns = tuple(Column(head, wide) for head, wide in zip(table.heads, table.widths, strict=True))
    laid = Table(columns, width, table.title)
    yield laid.head
    for number, row in enumerate(table.rows, start=1):
        yield from laid.row(str(number), [_cell(text, strong=not place) for place, text in enumerate(row)])
    yield laid.line_strip()


def _cell(text: str, *, strong: bool) -> list[Piece]:
    """Return a cell: its first line as it is read, the others smaller."""
    first, *rest = text.split("\n")
    pieces: list[Piece] = [bold(first) if strong else Say(first)] if first else []
    return [*pieces, *(Say(each, SMALL) for each in rest)]

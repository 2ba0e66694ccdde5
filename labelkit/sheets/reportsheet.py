"""The report of a job on paper, in the look of the worksheets."""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from labelkit.calc.record import Record
from labelkit.drawing.page import Page
from labelkit.language import gettext as _
from labelkit.model.media import Paper
from labelkit.render import write
from labelkit.sheets.jobreport import OPEN_TITLE, Report, job_report
from labelkit.sheets.jobview import JobView
from labelkit.sheets.reportreadings import ReportTable
from labelkit.sheets.worksheet import (
    SMALL,
    STEP,
    WORDS,
    Frame,
    Sheet,
    Strip,
    note_strip,
    sheet_pages,
    text_width,
    titled,
)
from labelkit.sheets.worksheetcells import Line, Piece, Say, bold
from labelkit.sheets.worksheettable import Column, Table, pieces_strip

_LABEL: Final = 34.0  # width of the labels of the facts, mm
_ROW: Final = 4.0  # nothing is written in by hand


def report_pdf(view: JobView, record: Record, paper: Paper) -> bytes:
    """Return the report of a job as PDF, as its record stands.

    Raises:
        CapacityError: the paper is too small.
    """
    stream = io.BytesIO()
    title = _("Report, job {number}").format(number=view.job.number)
    pages = report_pages(view, job_report(view, record), paper)
    write(pages, ".pdf", stream, title=title, subject=view.profile.unit.name)
    return stream.getvalue()


def report_pages(view: JobView, report: Report, paper: Paper) -> Iterator[Page]:
    """Yield the pages of a report.

    Raises:
        CapacityError: the paper is too small.
    """
    frame = Frame.of(paper)
    filled = {"BY": report.signer, "DATE": report.signed_when}
    yield from sheet_pages(view, [Sheet(_("REPORT"), list(_strips(report, frame.body.width)))], frame, filled)


def _strips(report: Report, width: float) -> Iterator[Strip]:
    yield from pieces_strip(_signature(report), width, name="signature")
    facts = Table((Column("", _LABEL), Column("", 0)), width, "fact", _ROW)
    for number, (label, text) in enumerate(report.facts):
        yield from facts.row(label, [[bold(label)], [Whole(text)]], rule=bool(number))
    for table in report.tables:
        yield from titled(table.title, _table(table, width), width, f"title {table.title}")
    if report.points:
        points = pieces_strip([Whole(f"– {point}") for point in report.points], width, name="points")
        yield from titled(_(OPEN_TITLE), points, width, "title points")


def _signature(report: Report) -> Sequence[Piece]:
    first, *rest = report.signature
    pieces: list[Piece] = [Whole(first, STEP, "bold")]
    return [*pieces, *(Whole(each) for each in rest)]


def _table(table: ReportTable, width: float) -> Iterator[Strip]:
    if not table.rows:
        yield note_strip(table.empty, width, kept=False)
        return
    columns = tuple(Column(head, wide) for head, wide in zip(table.heads, table.widths, strict=True))
    laid = Table(columns, width, table.title, _ROW)
    yield laid.head
    for number, row in enumerate(table.rows, start=1):
        yield from laid.row(str(number), [_cell(text, strong=not place) for place, text in enumerate(row)])
    yield laid.line_strip()


def _cell(text: str, *, strong: bool) -> list[Piece]:
    """Return a cell: its first line as it is read, the others smaller."""
    first, *rest = text.split("\n")
    pieces: list[Piece] = [Whole(first, WORDS, "bold" if strong else "regular")] if first else []
    return [*pieces, *(Whole(each, SMALL) for each in rest)]


@dataclass(frozen=True, slots=True)
class Whole:
    """Words that somebody typed, wrapped; one that is longer than a line is parted, nothing of a record is cut."""

    text: str
    cap: float = WORDS
    face: str = "regular"

    def lines(self, width: float) -> Iterable[Line]:
        """Return them in lines."""
        told = " ".join(piece for word in self.text.split() for piece in self._pieces(word, width))
        return Say(told, self.cap, self.face).lines(width)

    def _pieces(self, word: str, width: float) -> Iterator[str]:
        while text_width(word, self.cap, self.face) > width:
            fit = next(n for n in range(len(word), -1, -1) if text_width(word[:n], self.cap, self.face) <= width)
            yield word[: fit or 1]
            word = word[fit or 1 :]
        yield word

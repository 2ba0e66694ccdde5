"""All worksheets of a job in the order in which they are needed: paper for a shop that wants no screen."""

from __future__ import annotations

from collections.abc import Iterator

from labelkit.drawing.page import Page
from labelkit.model.media import Paper
from labelkit.sheets.assemblysheet import assembly_sheet
from labelkit.sheets.fitsheet import fit_sheets
from labelkit.sheets.inspectionsheet import inspection_sheet
from labelkit.sheets.jobview import JobView
from labelkit.sheets.measuresheet import measure_sheet
from labelkit.sheets.packsheet import pack_sheet
from labelkit.sheets.seatsheet import seat_sheet
from labelkit.sheets.signoffsheet import sign_off_sheet
from labelkit.sheets.torquesheet import torque_sheet
from labelkit.sheets.travellersheet import start_sheet, traveller_sheet
from labelkit.sheets.washsheet import wash_sheet
from labelkit.sheets.worksheet import Frame, Sheet, sheet_pages


def worksheets(view: JobView, width: float) -> Iterator[Sheet]:
    """Yield the worksheets of a job; one without a line has no page."""
    yield start_sheet(view, width)
    yield traveller_sheet(view, width)
    yield measure_sheet(view, width)
    yield wash_sheet(view, width)
    yield inspection_sheet(view, width)
    yield pack_sheet(view, width)
    yield from fit_sheets(view, width)
    yield seat_sheet(view, width)
    yield assembly_sheet(view, width)
    yield torque_sheet(view, width)
    yield sign_off_sheet(view, width)


def worksheet_pages(view: JobView, paper: Paper) -> Iterator[Page]:
    """Yield the pages of all worksheets.

    Raises:
        CapacityError: the paper is too small.
    """
    frame = Frame.of(paper)
    yield from sheet_pages(view, worksheets(view, frame.body.width), frame)

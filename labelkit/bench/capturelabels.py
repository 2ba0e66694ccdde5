"""Labels of a capture: of one part as soon as it is told, or of all in one go, through the ordinary label sheets."""

from __future__ import annotations

import io

from labelkit.calc.steps import Bin, select_steps
from labelkit.errors import NotFoundError
from labelkit.language import gettext as _
from labelkit.load.stock import PRINTABLE, all_stock, find_stock
from labelkit.model.media import Printable
from labelkit.model.stock import Roll
from labelkit.render import write
from labelkit.sheets.jobview import JobView
from labelkit.sheets.labels import LabelSheets


class Untrayed(JobView):
    """A job whose trays are not laid out yet: what is captured later may move every place on them."""

    def place_words(self, each: Bin) -> str:  # noqa: ARG002  # whatever the bin
        """Return no place."""
        return ""


def label_stocks() -> tuple[str, ...]:
    """Return the names of the stock that labels can be printed on, rolls first."""
    found = {name: stock for name, stock in all_stock().items() if isinstance(stock, Printable)}
    return tuple(sorted(found, key=lambda name: (not isinstance(found[name], Roll), list(found).index(name))))


def labels_pdf(view: JobView, steps: str | None, stock: str, first: int = 1) -> bytes:
    """Return labels as a PDF file. They name no tray: that is laid out when all parts are told.

    Args:
        view: the job.
        steps: `5`, or `5-9,12`; a step brings its parts. None: all.
        stock: name of label sheets or a roll.
        first: place of the first label on a started sheet, from 1.

    Raises:
        NotFoundError: no such stock.
        UsageError: no such step, or place on the sheet.
    """
    plain = Untrayed(view.job, view.profile, view.secret)
    bins = plain.teardown.bins if steps is None else select_steps(plain.teardown.bins, steps)
    return _pdf(plain, bins, stock, first)


def label_pdf(view: JobView, number: int, stock: str, first: int = 1) -> bytes:
    """Return the label of the part that was captured under a number as a PDF file; the rest as for `labels_pdf`."""
    plain = Untrayed(view.job, view.profile, view.secret)
    # As the job has it: a revision may have given the part another place than the capture did.
    bins = tuple(each for each in plain.teardown.bins if view.job.indices[each.ordinal] == number - 1)
    if not bins:
        raise NotFoundError(_("this part is not in the capture any more: somebody took it out, or undid it"))
    return _pdf(plain, bins, stock, first)


def _pdf(view: JobView, bins: tuple[Bin, ...], stock: str, first: int) -> bytes:
    sheets = LabelSheets(
        view, bins, find_stock(stock, PRINTABLE), first=first, texts={each.step: view.url(each) for each in bins}
    )
    written = io.BytesIO()
    title = _("{mark}: bin labels of job {number}").format(mark=view.profile.unit.mark, number=view.job.number)
    write(sheets.pages(), ".pdf", written, title=title)
    return written.getvalue()

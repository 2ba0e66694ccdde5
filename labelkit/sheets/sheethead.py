"""The head of sheets that are read, not filled in: title, whose it is and which page, as worksheets have them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from labelkit.drawing.page import Box, Item, line
from labelkit.drawing.text import fit_fullest, fit_line, measure, size_for_cap
from labelkit.drawing.text import line as text_line
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.worksheet import HEADING, NAME, SMALL, THICK, TITLE, WORDS

HEAD: Final = 10.0  # height of the head, down to its line, mm
# Share of the width that a title may have, and what stands above the page's number.
_TITLE: Final = 0.34
_RANGE: Final = 0.36
_APART: Final = 6.0
_LINES: Final = (2.9, 5.8, 8.4)


def whose(view: JobView) -> str:
    """Return of which profile and job a sheet is, in full: `KR2, revision 5, job 3, serial A-17`."""
    header, job = view.profile.unit, view.job
    return wording.whose_words(header, wording.job_words(job.number, job.serial), wording.source_words(header))


def head(
    view: JobView,
    title: str,
    page: Box,
    turn: str,
    *,
    more: Sequence[str] = (),
    shows: str = "",
    titles: Sequence[str] = (),
) -> Iterator[Item]:
    """Yield the head of a sheet.

    Args:
        view: the job.
        title: of the sheet, in capitals.
        page: what may be printed on; the head takes `HEAD` of its height.
        turn: which page it is, in words.
        more: a line below whose it is, options or how it is read: ways to say it, the fullest first.
        shows: what the sheet shows, above its number.
        titles: of all sheets of the document, which are set in one size.
    """
    widest = max(measure(each, "bold", size_for_cap(1.0, "bold"))[0] for each in (title, *titles))
    cap = min(TITLE, _TITLE * page.width / widest)
    name = text_line(title, page.x, page.y + TITLE, size_for_cap(cap, "bold"), "bold")
    yield name
    number = text_line(turn, page.right, page.y + TITLE, em(HEADING, "bold"), "bold", "end")
    yield number
    span = fit_line(shows, _RANGE * page.width, (em(WORDS), em(LEAST))).at(page.right, page.y + _LINES[0], "end")
    if shows:
        yield span
    left = name.box.right + _APART
    right = min(number.box.x, span.box.x if shows else number.box.x) - 3
    for words, cap, face, base in (
        ([view.profile.unit.name], NAME, "bold", _LINES[0]),
        ([whose(view)], SMALL, "regular", _LINES[1]),
        (more, SMALL, "regular", _LINES[2]),
    ):
        if words:
            yield fit_fullest(words, right - left, (em(cap, face), em(LEAST, face)), face).at(left, page.y + base)
    yield line(page.x, page.y + HEAD, page.right, page.y + HEAD, THICK)

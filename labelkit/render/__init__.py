"""Writers: each turns pages of primitives into one kind of file and knows nothing else.

`WRITERS` maps a file ending to its writer. Another kind of file is one module beside these and one row of the
table.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import BinaryIO, Final, Protocol

from labelkit.drawing.page import Page
from labelkit.errors import UsageError, allowed_text


class Writer(Protocol):
    """Turns pages into one kind of file."""

    def __call__(self, pages: Iterable[Page], stream: BinaryIO, *, title: str, subject: str = "") -> None:
        """Write the pages; `title` and `subject` say what they are."""


def _pdf(pages: Iterable[Page], stream: BinaryIO, *, title: str, subject: str = "") -> None:
    from labelkit.render.pdf import write_pdf  # loads reportlab: not for who only wants SVG

    write_pdf(pages, stream, title=title, subject=subject)


def _svg(pages: Iterable[Page], stream: BinaryIO, *, title: str, subject: str = "") -> None:
    from labelkit.render.svg import write_svg

    several = iter(pages)
    page = next(several, None)
    if page is None or next(several, None) is not None:
        found = "none" if page is None else "more"
        raise UsageError(f"{title}: an .svg file holds exactly one page, found {found}; write a .pdf, or page by page")
    write_svg(page, stream, title=title, subject=subject)


WRITERS: Final[dict[str, Writer]] = {".pdf": _pdf, ".svg": _svg}


def write(pages: Iterable[Page], ending: str, stream: BinaryIO, *, title: str, subject: str = "") -> None:
    """Write pages as the kind of file that a file ending names.

    Args:
        pages: the pages, taken one by one.
        ending: `.pdf` or `.svg`, in any case.
        stream: where the bytes go.
        title: what a viewer shows as the name of the document.
        subject: one line more about it; may be empty.

    Raises:
        UsageError: there is no writer for this ending, or the kind of file cannot hold so many pages.
    """
    writer = WRITERS.get(ending.lower())
    if writer is None:
        raise UsageError(f"{title}: no writer for the file ending {ending!r}; {allowed_text(ending, WRITERS)}")
    writer(pages, stream, title=title, subject=subject)

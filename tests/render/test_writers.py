"""The table of writers: a file ending chooses the kind of file."""

import io

import pytest

from labelkit.drawing.page import Page
from labelkit.errors import UsageError
from labelkit.render import WRITERS, write

PAGE = Page(50, 20, ())


@pytest.mark.parametrize(("ending", "start"), [(".pdf", b"%PDF-1."), (".PDF", b"%PDF-1."), (".svg", b"<?xml ")])
def test_the_ending_chooses_the_writer(ending, start):
    """Each kind of file begins as its kind does, whatever the case of the ending."""
    stream = io.BytesIO()
    write([PAGE], ending, stream, title="Test")

    assert stream.getvalue().startswith(start)


def test_every_writer_writes_one_page():
    """Every row of the table takes the same arguments."""
    for ending in WRITERS:
        stream = io.BytesIO()
        write(iter([PAGE]), ending, stream, title="Test", subject="one page")

        assert len(stream.getvalue()) > 100


def test_an_unknown_ending_is_refused():
    """The error says which file, what was given, what is allowed and what was meant."""
    with pytest.raises(UsageError, match=r"Labels: .*'\.pfd'; allowed: \.pdf, \.svg; did you mean \.pdf\?"):
        write([PAGE], ".pfd", io.BytesIO(), title="Labels")


@pytest.mark.parametrize(("pages", "found"), [([], "none"), ([PAGE, PAGE], "more")])
def test_an_svg_file_holds_one_page(pages, found):
    """Two pages in one picture would lose one in silence; the error says what to do."""
    with pytest.raises(UsageError, match=f"Labels: an .svg file holds exactly one page, found {found}"):
        write(pages, ".svg", io.BytesIO(), title="Labels")

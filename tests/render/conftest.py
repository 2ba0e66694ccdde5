"""A sheet of rich labels, and pages read back by pdfium."""

import io

import pypdfium2
import pytest

from labelkit.drawing import qr, text
from labelkit.drawing.page import Box, Group, Page, Pen, Symbol, moved, rectangle
from labelkit.render.pdf import write_pdf

MM = 72 / 25.4


def rich_label(number):
    """Return 66 x 33.9 mm with six lines of text and a symbol; numbers and symbol differ each time."""
    matrix = qr.encode(f"http://192.168.1.20:8080/7K3M9Q2X{number:04d}", "H")
    items = (
        rectangle(Box(0, 0, 66, 33.9), Pen(0.2)),
        Symbol(44, 1, matrix, 0.508, 0.35, "card"),
        text.line(str(number), 2, 18, text.size_for_cap(12, "bold"), "bold"),
        text.fit_line("Selective shim, input bearing", 40, (5, 3)).at(2, 23),
        text.line(f"{number} pcs  LIP DOWN – Ø 72 × 2.{number % 100:02d}", 2, 27, 3, "bold"),
        text.line(f"Прокладка {number} Ωαβ °±", 2, 31, 3),
        text.line("basket wash", 30, 10, 3),
        text.line(f"KR2 · rev 5 · job 17 · {number}", 64, 32, 2, anchor="end"),
    )
    return Group(items, f"label {number}", Box(0, 0, 66, 33.9))


def rich_page(first=1):
    """Return an A4 sheet of 24 labels, numbered from `first`."""
    places = [(6 + 66 * column, 13 + 33.9 * row) for row in range(8) for column in range(3)]
    labels = [Group((rich_label(first + place),), matrix=moved(x, y)) for place, (x, y) in enumerate(places)]
    return Page(210, 297, tuple(labels))


def pdf_of(*pages):
    """Return the bytes of a PDF."""
    stream = io.BytesIO()
    write_pdf(pages, stream, title="Test", subject="of the writer")
    return stream.getvalue()


class Reader:
    """A PDF read back by pdfium, an independent implementation; lengths in mm, origin top left."""

    def __init__(self, *pages):
        self.data = pdf_of(*pages)
        self.document = pypdfium2.PdfDocument(self.data)
        self.page = self.document[0]

    def size(self):
        return tuple(length / MM for length in self.page.get_size())

    def boxes(self):
        """Return (left, top, right, bottom) of every object on the page, in drawing order."""
        height = self.page.get_height()
        found = []
        for thing in self.page.get_objects():
            left, bottom, right, top = thing.get_bounds()
            found.append((left / MM, (height - top) / MM, right / MM, (height - bottom) / MM))
        return found

    def dots(self, dpi):
        """Return the page as an array of grey values, 0 black, 255 white."""
        return self.page.render(scale=dpi / 72, grayscale=True).to_numpy().squeeze()

    def colours(self, dpi):
        """Return the page as an array of (red, green, blue)."""
        return self.page.render(scale=dpi / 72, rev_byteorder=True).to_numpy()

    def colour_at(self, x, y):
        """Return the colour of a point given in mm."""
        return tuple(int(part) for part in self.colours(254)[int(y * 10), int(x * 10)][:3])


@pytest.fixture
def read_back():
    """Return what writes pages as PDF and reads them back."""
    return Reader


@pytest.fixture
def sheet():
    """Return what makes a sheet of 24 rich labels, numbered from its argument."""
    return rich_page

"""Pages as a PDF: the only module that knows `reportlab`.

`reportlab` keeps the objects of the file and embeds the parts of the fonts that are used; the drawing
operators are written by `labelkit.render.content`. Pages are compressed as they come, so that a thousand of
them need little room.
The same pages give the same bytes: the file holds no date and no person's name.
"""

from __future__ import annotations

import math
import threading
import zlib
from collections.abc import Iterable
from typing import Any, BinaryIO, Final

from reportlab.pdfbase import pdfdoc
from reportlab.pdfbase.ttfonts import TTFont

from labelkit.drawing.fonts import clean, font_file
from labelkit.drawing.page import Box, Group, Page
from labelkit.errors import OutputError
from labelkit.language import spoken
from labelkit.render.content import MM, content, kept_content
from labelkit.render.numbers import number

# The first version that knows /PrintScaling. Source: ISO 32000-1, table of viewer preferences.
_VERSION: Final = (1, 6)


class _Info(pdfdoc.PDFInfo):  # type: ignore[misc]
    """What the file says about itself: what it is, and no more."""

    def __init__(self, title: str, subject: str) -> None:
        super().__init__()
        self.title, self.subject = title, subject

    def format(self, document: Any) -> bytes:
        said = {
            "Title": self.title,
            "Subject": self.subject,
            "Creator": "labelkit",
            "Producer": self.producer,
        }
        entries = {key: pdfdoc.PDFString(text) for key, text in said.items() if text}
        return bytes(pdfdoc.PDFDictionary(entries).format(document))


class _Faces(threading.local):
    """The faces that were loaded, for all files; each thread has its own, as a face keeps in mind where it is read."""

    def __init__(self) -> None:
        self._loaded: dict[str, TTFont] = {}

    def face(self, name: str) -> TTFont:
        font = self._loaded.get(name)
        if font is None:
            # Not "asciiReadable": that would embed all letters of ASCII whether they are used or not.
            font = self._loaded[name] = TTFont(name, str(font_file(name)), asciiReadable=False, shapable=False)
        return font


_FACES: Final = _Faces()


class _Fonts:
    """The letters of one file."""

    def __init__(self, document: Any) -> None:
        self._document = document

    def show(self, face: str, text: str) -> list[tuple[str, bytes]]:
        font = _FACES.face(face)
        parts = font.splitString(text, self._document)
        return [(font.getSubsetInternalName(subset, self._document), codes) for subset, codes in parts]


class _Kept:
    """Groups that stand on several pages of one file: each is a form XObject, drawn wherever it stands."""

    def __init__(self, document: Any, resources: Any, fonts: _Fonts) -> None:
        self._document, self._fonts = document, fonts
        self._resources = resources
        # The groups are held, so that no other one gets the identity of one that is gone.
        self._names: dict[int, tuple[str, Group]] = {}

    def keep(self, group: Group) -> str:
        found = self._names.get(id(group))
        if found is None:
            found = self._names[id(group)] = (f"/K{len(self._names) + 1}", group)
            self._resources.XObject[found[0][1:]] = self._document.Reference(self._form(group))
        return found[0]

    def _form(self, group: Group) -> Any:
        box = group.box or Box(0, 0, 0, 0)
        form = pdfdoc.PDFDictionary(
            {
                "Type": pdfdoc.PDFName("XObject"),
                "Subtype": pdfdoc.PDFName("Form"),
                "BBox": pdfdoc.PDFArray([number(side) for side in (box.x, box.y, box.right, box.bottom)]),
                "Resources": self._document.Reference(self._resources),
                "Filter": pdfdoc.PDFName("FlateDecode"),
            }
        )
        return pdfdoc.PDFStream(form, zlib.compress(kept_content(group, self._fonts.show, self.keep)))


def write_pdf(pages: Iterable[Page], stream: BinaryIO, *, title: str, subject: str = "") -> None:
    """Write pages as a PDF that a viewer prints at its true size.

    Args:
        pages: the pages, taken one by one; at least one.
        stream: where the bytes go, all at the end.
        title: what a viewer shows as the name of the document.
        subject: one line more about it; may be empty.

    Raises:
        OutputError: there is no page.
    """
    document = pdfdoc.PDFDocument(compression=1, invariant=1, pdfVersion=_VERSION, lang=spoken())
    document.info = _Info(clean(title), clean(subject))
    preferences = pdfdoc.ViewerPreferencesPDFDictionary()
    preferences["PrintScaling"] = "None"
    preferences["DisplayDocTitle"] = "true"
    document.Catalog.ViewerPreferences = preferences
    resources = pdfdoc.PDFResourceDictionary()
    resources.basicFonts()
    shared = document.Reference(resources)
    fonts = _Fonts(document)
    kept = _Kept(document, resources, fonts)
    for page in pages:
        _add(document, page, content(page, fonts.show, kept.keep), shared)
    if not document.Pages.pages:
        raise OutputError(f"{title}: there is no page to write")
    stream.write(document.GetPDFData(None))


def _add(document: Any, page: Page, operators: bytes, resources: Any) -> None:
    """Put a page into the document, its operators compressed."""
    packed = zlib.compress(operators)
    document.updateSignature(packed)
    leaf = pdfdoc.PDFPage()
    # Rounded down: a page of a whole number of dots must not become one dot larger.
    size = [f"{math.floor(length * MM * 1e5) / 1e5:.5f}" for length in (page.width, page.height)]
    leaf.MediaBox = pdfdoc.PDFArray(["0", "0", *size])
    leaf.Contents = pdfdoc.PDFStream(pdfdoc.PDFDictionary({"Filter": pdfdoc.PDFName("FlateDecode")}), packed)
    leaf.Resources = resources
    document.addPage(leaf)

"""Pictures of pages: the only module that knows the PDF renderer (pypdfium2) and the picture reader (Pillow).

Both get files that were made elsewhere, damaged on the way or named wrongly; whatever they make of them, the
user reads one sentence with the name of the file and what is allowed.
"""

from __future__ import annotations

import io
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
import pypdfium2
from PIL import Image, ImageOps, UnidentifiedImageError

from labelkit.errors import InputError
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.proof.grid import Grey

_ALLOWED: Final = "allowed: PDF, and PNG, JPEG or TIFF pictures"
PRINT_DPI: Final = 300.0
MOST_PIXELS: Final = 150_000_000
"""Pixels of one page: A3 at 600 dpi has 70 million. More is an error, or a trap."""
MOST_BYTES: Final = 500_000_000
_PHOTO_SIDE: Final = 2000
"""Pixels of the longer side of a photograph that is kept."""

_LONGEST_SIDE: Final = 32_000
"""Pixels; the decoder takes twice as many, which is what small pictures are enlarged to."""

_MOST: Final = f"allowed: up to {MOST_PIXELS / 1e6:.0f} million"
_POINTS_PER_INCH: Final = 72
_PICTURES: Final = ("PNG", "JPEG", "TIFF")
_PHOTOS: Final = ("JPEG", "PNG", "WEBP")
_PHOTOS_ALLOWED: Final = noop("allowed: JPEG, PNG and WebP pictures")
_MOST_PHOTO: Final = 50_000_000  # pixels of one that is decoded whole
_QUALITY: Final = 85
# What programs write when they know nothing is 72 or 96: no scan that a symbol is read from is that coarse.
_DPI: Final = (100.0, 4800.0)
_RENDERER: Final = threading.Lock()  # pdfium must not be entered by two threads
# First bytes of files that people take for one of ours. Source: the formats' own signatures.
_OTHERS: Final = (
    (0, b"<svg", noop("this is an SVG drawing: print it to PDF first")),
    (4, b"ftyphei", noop("this is a HEIC picture: set the camera to JPEG")),
    (4, b"ftypmif1", noop("this is a HEIC picture: set the camera to JPEG")),
    (8, b"WEBP", noop("this is a WebP picture: save it as PNG")),
    (0, b"GIF8", noop("this is a GIF picture: save it as PNG")),
    (0, b"BM", noop("this is a BMP picture: save it as PNG")),
)


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """One page as a picture.

    Attributes:
        name: of the file, as the user gave it.
        page: number of the page in the file, from 1.
        pixels: grey levels, rows x columns, 0 black to 255 white.
        dpi: dots per inch across and down; None where the file does not say, as in a photograph.
    """

    name: str
    page: int
    pixels: Grey
    dpi: tuple[float, float] | None


def read_pictures(path: Path, *, dpi: float = PRINT_DPI) -> Iterator[Picture]:
    """Read a file page by page.

    Args:
        path: a PDF, or a PNG, JPEG or TIFF picture; what it is, is told by its content.
        dpi: at which a PDF is drawn; pictures have their own.

    Raises:
        InputError: no such file, empty, damaged, too large, locked, or something else.
    """
    yield from pictures_of(_content(path), str(path), dpi=dpi)


def pictures_of(content: bytes, name: str, *, dpi: float = PRINT_DPI) -> Iterator[Picture]:
    """Read the content of a file page by page; errors as for `read_pictures`.

    Args:
        content: all bytes of the file.
        name: to be used in messages.
        dpi: at which a PDF is drawn.
    """
    if not content:
        raise InputError(f"{name}: the file is empty; {_ALLOWED}")
    if b"%PDF-" in content[:1024]:
        yield from _pdf_pages(content, name, dpi)
    else:
        yield from _frames(content, name)


def page_count(path: Path) -> int:
    """Return the number of pages of a PDF, without drawing them.

    Raises:
        InputError: no PDF, or one that cannot be read.
    """
    content = _content(path)
    with _RENDERER:
        document = _opened(content, str(path))
        try:
            return len(document)
        finally:
            document.close()


def photo_jpeg(content: bytes, name: str) -> bytes:
    """Return a photograph as a JPEG picture without anything that the camera wrote beside it: place, time, maker.

    It is turned as the camera was held, and made smaller where a side has over 2000 pixels.

    Args:
        content: all bytes of a JPEG, PNG or WebP picture; what it is, is told by decoding it.
        name: to be used in messages.

    Raises:
        InputError: empty, damaged, too many pixels, or something else.
    """
    if not content:
        raise _unreadable(name, noop("the file is empty"), _PHOTOS_ALLOWED)
    with _decoding(content, name, name, _PHOTOS_ALLOWED), Image.open(io.BytesIO(content), formats=_PHOTOS) as opened:
        small = opened.format == "JPEG"  # the decoder makes it smaller on its way
        most = MOST_PIXELS if small else _MOST_PHOTO
        width, height = opened.size
        if width * height > most:
            told = _("{name}: {width} x {height} pixels are too many; allowed: {most} million")
            values = {"name": name, "width": width, "height": height, "most": f"{most / 1e6:.0f}"}
            raise InputError(told.format(**values))
        opened.draft("RGB", (_PHOTO_SIDE, _PHOTO_SIDE))
        turned = ImageOps.exif_transpose(opened)
        turned.thumbnail((_PHOTO_SIDE, _PHOTO_SIDE))
        if "A" in turned.getbands() or "transparency" in turned.info:
            turned = turned.convert("RGBA")
            turned = Image.alpha_composite(Image.new("RGBA", turned.size, "white"), turned)
        bare = Image.new("RGB", turned.size)
        bare.paste(turned.convert("RGB"))
        written = io.BytesIO()
        bare.save(written, "JPEG", quality=_QUALITY)
        return written.getvalue()


@contextmanager
def _decoding(content: bytes, name: str, where: str, allowed: str) -> Iterator[None]:
    """Tell what is wrong with a picture that does not come out of its decoder inside the block."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of damaged files; they would go to stderr
            yield
    except InputError:
        raise
    except Image.DecompressionBombError as error:
        raise InputError(f"{name}: too many pixels; {_MOST}") from error
    except UnidentifiedImageError as error:
        raise _unreadable(name, _what_it_is(content), allowed) from error
    except Exception as error:  # the decoders raise whatever they like on a damaged file
        raise _unreadable(where, noop("this picture is damaged or cut short"), allowed, f" ({error})") from error


def _unreadable(where: str, what: str, allowed: str, cause: str = "") -> InputError:
    return InputError(f"{where}: {what}{cause}; {allowed}", told=f"{where}: {_(what)}; {_(allowed)}")


def _content(path: Path) -> bytes:
    if path.is_dir():
        raise InputError(f"{path}: this is a folder, not a file; {_ALLOWED}")
    try:
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise InputError(f"{path}: {size / 1e6:.0f} MB; allowed: up to {MOST_BYTES / 1e6:.0f} MB")
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"{path}: cannot be read: {error.strerror or error}; {_ALLOWED}") from error


def _opened(content: bytes, name: str) -> pypdfium2.PdfDocument:
    try:
        document = pypdfium2.PdfDocument(content)
        if len(document):
            return document
    except pypdfium2.PdfiumError as error:
        if "password" in str(error).lower():
            raise InputError(f"{name}: this PDF is locked by a password; save it without one") from error
        raise InputError(f"{name}: not a PDF, or a damaged one ({error}); {_ALLOWED}") from error
    raise InputError(f"{name}: this PDF has no page")


def _pdf_pages(content: bytes, name: str, dpi: float) -> Iterator[Picture]:
    with _RENDERER:
        document = _opened(content, name)
        count = len(document)
    try:
        for number in range(count):
            with _RENDERER:
                picture = _pdf_page(document, number, name, dpi)
            yield picture
    finally:
        with _RENDERER:
            document.close()


def _pdf_page(document: pypdfium2.PdfDocument, number: int, name: str, dpi: float) -> Picture:
    where = f"{name}, page {number + 1}"
    scale = dpi / _POINTS_PER_INCH
    try:
        page = document[number]
        width, height = page.get_size()
        _check_pixels(where, width * scale, height * scale, f"at {dpi:g} dpi")
        bitmap = page.render(scale=scale, grayscale=True)
        pixels = bitmap.to_numpy()
    except pypdfium2.PdfiumError as error:
        raise InputError(f"{where}: this page is damaged ({error})") from error
    grey = np.ascontiguousarray(pixels.reshape(pixels.shape[:2]))
    # The renderer rounds the page up to whole pixels and stretches it to them.
    across = grey.shape[1] / width * _POINTS_PER_INCH
    down = grey.shape[0] / height * _POINTS_PER_INCH
    return Picture(name, number + 1, grey, (across, down))


def _frames(content: bytes, name: str) -> Iterator[Picture]:
    """Read a picture file: all pages of a TIFF, the first picture of any other."""
    number, count = 0, 1
    while number < count:
        number += 1
        where = f"{name}, page {number}" if number > 1 else name
        with _decoding(content, name, where, _ALLOWED), Image.open(io.BytesIO(content), formats=_PICTURES) as opened:
            if number == 1 and opened.format == "TIFF":
                count = getattr(opened, "n_frames", 1)
            opened.seek(number - 1)
            picture = _frame(opened, name, number)
        yield picture


def _frame(frame: Image.Image, name: str, number: int) -> Picture:
    _check_pixels(name, *frame.size, "")
    turned = frame.getexif().get(0x0112, 1) >= 5  # EXIF orientations 5 to 8 swap the sides
    dpi = _dpi(frame.info.get("dpi"), turned)
    return Picture(name, number, _grey(ImageOps.exif_transpose(frame)), dpi)


def _grey(image: Image.Image) -> Grey:
    """Return grey levels of a picture of any mode; what is transparent is white, as on paper."""
    if image.mode.startswith("I;16"):
        return (np.asarray(image, dtype=np.uint16) >> 8).astype(np.uint8)
    if image.mode in {"I", "F"}:
        levels = np.asarray(image, dtype=np.float64)
        most = max(float(levels.max()), 255.0 if image.mode == "I" else 1.0)
        return np.clip(levels * (255 / most), 0, 255).astype(np.uint8)
    if "A" in image.getbands() or "transparency" in image.info:
        image = image.convert("RGBA")
        paper = Image.new("RGBA", image.size, "white")
        image = Image.alpha_composite(paper, image)
    return np.asarray(image.convert("L"))


def _dpi(given: object, turned: bool) -> tuple[float, float] | None:
    if not isinstance(given, tuple) or len(given) != 2:
        return None
    across, down = (float(value) for value in (reversed(given) if turned else given))
    low, high = _DPI
    return (across, down) if low <= across <= high and low <= down <= high else None


def _check_pixels(where: str, width: float, height: float, how: str) -> None:
    if max(width, height) > _LONGEST_SIDE:
        raise InputError(f"{where}: {width:.0f} x {height:.0f} pixels; allowed: {_LONGEST_SIDE} on a side")
    if width * height > MOST_PIXELS:
        size = f"{width:.0f} x {height:.0f} pixels {how}".rstrip()
        raise InputError(f"{where}: {size} are too many; {_MOST}")


def _what_it_is(content: bytes) -> str:
    for start, signature, words in _OTHERS:
        if content[start : start + len(signature)] == signature:
            return words
    return noop("this is no picture, or a damaged one")

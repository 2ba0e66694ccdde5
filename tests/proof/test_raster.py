"""Files become pictures, or one sentence that says what is wrong with them."""

import zlib
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from labelkit.errors import InputError
from labelkit.proof import raster
from labelkit.proof.raster import page_count, pictures_of, read_pictures

# Two rows of three pixels, of which each has its own level.
SIX = np.array([[0, 50, 100], [150, 200, 250]], np.uint8)
ORIENTATION = 0x0112  # Source: EXIF 2.3, tag 274


def file_of(image: Image.Image, kind: str, **options: object) -> bytes:
    """Return what a picture is as a file."""
    stream = BytesIO()
    image.save(stream, kind, **options)
    return stream.getvalue()


def noise_picture() -> Image.Image:
    """Return a picture that does not pack small."""
    return Image.fromarray(np.random.default_rng(9).integers(0, 256, (40, 60, 3), dtype=np.uint8))


def pixels_of(image: Image.Image, kind: str, **options: object) -> list[list[int]]:
    """Write a picture and read it."""
    (picture,) = pictures_of(file_of(image, kind, **options), "x")
    return picture.pixels.tolist()


@pytest.mark.parametrize(("dpi", "pixels"), [(25.4, (40, 100)), (254, (400, 1000))])
def test_a_pdf_page_is_drawn_at_the_dpi_asked_for(dpi: float, pixels: tuple[int, int]) -> None:
    """100 x 40 mm; a mark of 10 x 5 mm, 20 mm from the left and 10 mm from the top, is where it belongs."""
    mm = 72 / 25.4
    stream = BytesIO()
    canvas = Canvas(stream, pagesize=(100 * mm, 40 * mm))
    canvas.rect(20 * mm, 25 * mm, 10 * mm, 5 * mm, stroke=0, fill=1)
    canvas.showPage()
    canvas.showPage()
    canvas.save()

    first, second = pictures_of(stream.getvalue(), "x.pdf", dpi=dpi)

    per_mm = dpi / 25.4
    rows, columns = np.nonzero(first.pixels < 128)
    assert first.pixels.shape == pytest.approx(pixels, abs=1)
    assert (first.pixels.shape[1] / first.dpi[0], first.pixels.shape[0] / first.dpi[1]) == pytest.approx(
        (100 / 25.4, 40 / 25.4)
    )
    assert (columns.min() / per_mm, rows.min() / per_mm) == pytest.approx((20, 10), abs=1.01 / per_mm)
    assert ((columns.max() + 1) / per_mm, (rows.max() + 1) / per_mm) == pytest.approx((30, 15), abs=1.01 / per_mm)
    assert (second.page, second.pixels.min()) == (2, 255)


def test_the_pages_of_a_pdf_are_counted(tmp_path: Path) -> None:
    """Without drawing them; each page may have its own size."""
    canvas = Canvas(str(tmp_path / "x.pdf"), pagesize=(210 / 25.4 * 72, 297 / 25.4 * 72))
    canvas.showPage()
    canvas.setPageSize((62 / 25.4 * 72, 29 / 25.4 * 72))
    canvas.showPage()
    canvas.save()

    assert page_count(tmp_path / "x.pdf") == 2


@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_pictures_without_loss_come_in_as_they_are(kind: str) -> None:
    """Grey levels of one byte are kept."""
    assert pixels_of(Image.fromarray(SIX), kind) == SIX.tolist()


@pytest.mark.parametrize(
    ("image", "expected"),
    [
        (Image.fromarray(SIX > 99), [[0, 0, 255], [255, 255, 255]]),
        (Image.fromarray(SIX).convert("RGB"), SIX.tolist()),
        (Image.fromarray(SIX).convert("P"), SIX.tolist()),
        (Image.fromarray(SIX.astype(np.uint16) * 256 + 99), SIX.tolist()),
        (Image.merge("LA", [Image.new("L", (3, 2)), Image.fromarray(255 - SIX)]), SIX.tolist()),
    ],
    ids=["1 bit", "colour", "palette", "16 bits", "transparent"],
)
def test_every_kind_of_pixel_becomes_grey(image: Image.Image, expected: list[list[int]]) -> None:
    """Black stays black, white stays white, and what is transparent shows white paper."""
    assert pixels_of(image, "PNG") == expected


# Where the first row and the first column of the stored picture lie. Source: EXIF 2.3, table of orientations.
@pytest.mark.parametrize(
    ("orientation", "expected"),
    [
        (1, SIX),
        (2, SIX[:, ::-1]),  # top, right
        (3, SIX[::-1, ::-1]),  # bottom, right
        (4, SIX[::-1]),  # bottom, left
        (5, SIX.T),  # left, top
        (6, SIX.T[:, ::-1]),  # right, top
        (7, SIX.T[::-1, ::-1]),  # right, bottom
        (8, SIX.T[::-1]),  # left, bottom
    ],
)
@pytest.mark.parametrize("kind", ["PNG", "TIFF"])
def test_a_picture_is_turned_as_its_camera_says(kind: str, orientation: int, expected: np.ndarray) -> None:
    """Dots per inch across and down go round with it."""
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    content = file_of(Image.fromarray(SIX), kind, exif=exif, dpi=(300, 200))

    (picture,) = pictures_of(content, "x")

    assert picture.pixels.tolist() == expected.tolist()
    assert picture.dpi == pytest.approx((300, 200) if orientation < 5 else (200, 300), abs=0.1)


@pytest.mark.parametrize(("stated", "expected"), [(300, 300), (1200, 1200), (72, None), (96, None), (0, None)])
def test_dots_per_inch_are_believed_where_somebody_knew_them(stated: int, expected: int | None) -> None:
    """72 and 96 are what programs write that know nothing (common practice, no source)."""
    (picture,) = pictures_of(file_of(noise_picture(), "JPEG", dpi=(stated, stated)), "x.jpg")

    assert picture.dpi == (None if expected is None else (expected, expected))


def test_a_tiff_has_pages() -> None:
    """A scanner puts a whole batch into one file."""
    batch = [Image.new("L", (8, 8), level) for level in (10, 20, 30)]
    content = file_of(batch[0], "TIFF", save_all=True, append_images=batch[1:])

    pictures = list(pictures_of(content, "batch.tif"))

    assert [(picture.page, picture.pixels[0, 0]) for picture in pictures] == [(1, 10), (2, 20), (3, 30)]


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("a.png", b"", "the file is empty"),
        ("a.png", b"hello", "no picture"),
        ("a.jpg", b"\0\0\0\x18ftypheic" + bytes(40), "HEIC picture"),
        ("a.gif", file_of(Image.new("L", (4, 4)), "GIF"), "GIF picture"),
        ("a.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>", "SVG drawing"),
        ("a.pdf", b"%PDF-1.4\nnothing more", "damaged"),
    ],
)
def test_what_is_no_picture_is_named_and_what_is_allowed_is_said(name: str, content: bytes, said: str) -> None:
    """The kind is told by the content, not by the ending."""
    with pytest.raises(InputError, match=f"{name}: .*{said}.*allowed: PDF, and PNG, JPEG or TIFF"):
        list(pictures_of(content, name))


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF"])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_a_picture_cut_short_is_reported_with_its_name(kind: str, share: float) -> None:
    """As after a broken copy from a phone."""
    content = file_of(noise_picture(), kind)

    with pytest.raises(InputError, match=r"cut\.img: .*damaged"):
        list(pictures_of(content[: int(len(content) * share)], "cut.img"))


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF", "PDF"])
def test_a_damaged_file_never_gives_anything_but_a_picture_or_a_sentence(
    kind: str, print_sheet: Callable[..., bytes]
) -> None:
    """Bytes changed at random, sixty times."""
    whole = print_sheet(["A"], [(20, 20)]) if kind == "PDF" else file_of(noise_picture(), kind)
    rng = np.random.default_rng(10)
    said = []
    for _ in range(60):
        content = bytearray(whole)
        for place in rng.integers(0, len(content), 8):
            content[place] = rng.integers(256)
        try:
            kinds = {picture.pixels.dtype for picture in pictures_of(bytes(content), "x", dpi=50)}
        except InputError as error:
            said.append(str(error))
        else:
            assert kinds == {np.dtype(np.uint8)}

    assert said
    assert all(sentence.startswith("x") for sentence in said)


def test_a_locked_pdf_says_so() -> None:
    """A password is nothing that can be asked for here."""
    stream = BytesIO()
    canvas = Canvas(stream, encrypt="secret")
    canvas.showPage()
    canvas.save()

    with pytest.raises(InputError, match=r"x\.pdf: this PDF is locked by a password"):
        list(pictures_of(stream.getvalue(), "x.pdf"))


def test_a_page_that_would_fill_the_memory_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """By its stated size, before anything is unpacked: a picture, and a PDF page at too many dpi."""
    monkeypatch.setattr(raster, "MOST_PIXELS", 1000)
    stream = BytesIO()
    canvas = Canvas(stream, pagesize=(720, 720))
    canvas.showPage()
    canvas.save()

    with pytest.raises(InputError, match=r"x.png: 60 x 40 pixels are too many; allowed: up to"):
        list(pictures_of(file_of(noise_picture(), "PNG"), "x.png"))
    with pytest.raises(InputError, match=r"x.pdf, page 1: 1000 x 1000 pixels at 100 dpi are too many"):
        list(pictures_of(stream.getvalue(), "x.pdf", dpi=100))


def test_a_picture_that_is_longer_than_the_decoder_takes_is_refused() -> None:
    """Few pixels, all in one line: zxing-cpp takes no side above 65,535, by its message; small ones are enlarged."""
    ribbon = file_of(Image.new("1", (32_001, 1)), "PNG")
    with pytest.raises(InputError, match=r"x.png: 32001 x 1 pixels; allowed: 32000 on a side"):
        list(pictures_of(ribbon, "x.png"))


def test_a_picture_of_a_billion_pixels_in_few_bytes_is_refused() -> None:
    """A decompression bomb: a header that promises 40,000 x 40,000."""
    content = bytearray(file_of(Image.new("1", (8, 8)), "PNG"))
    content[16:24] = (40_000).to_bytes(4, "big") * 2  # width and height. Source: PNG specification, IHDR
    content[29:33] = zlib.crc32(content[12:29]).to_bytes(4, "big")

    with pytest.raises(InputError, match=r"bomb.png: .*allowed: up to 150 million"):
        list(pictures_of(bytes(content), "bomb.png"))


def test_files_that_cannot_be_opened_are_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not there, a folder, and too many bytes."""
    large = tmp_path / "large.png"
    large.write_bytes(b"123456")
    monkeypatch.setattr(raster, "MOST_BYTES", 5)

    with pytest.raises(InputError, match=r"none\.png: cannot be read: No such file"):
        list(read_pictures(tmp_path / "none.png"))
    with pytest.raises(InputError, match="this is a folder"):
        list(read_pictures(tmp_path))
    with pytest.raises(InputError, match=r"large\.png: .*allowed: up to"):
        list(read_pictures(large))


def test_a_file_is_read_by_its_path(tmp_path: Path) -> None:
    """The picture carries the name as it was given."""
    Image.fromarray(SIX).save(tmp_path / "six.png")

    (picture,) = read_pictures(tmp_path / "six.png")

    assert (picture.name, picture.page, picture.pixels.tolist()) == (str(tmp_path / "six.png"), 1, SIX.tolist())

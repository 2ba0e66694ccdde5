"""Pictures, PDFs and archives that are bent: lies in heads, ends cut off, small bombs."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from functools import cache
from random import Random

import numpy as np
from PIL import Image

from labelkit.load.archive import pack, unpack
from labelkit.load.profile import parse_profile
from labelkit.load.stock import find_stock
from labelkit.proof.decode import read_symbols
from labelkit.proof.raster import photo_jpeg, pictures_of
from labelkit.proof.rescue import rescued
from labelkit.render import write
from labelkit.sheets.labels import LabelSheets
from tests.bench.hostility.mutate import INTERESTING, bent, text
from tests.bench.hostility.watch import Broken, Target
from tests.bench_app.workshop import FITTED, png, pump
from tests.shop import view_of

_READ_UP_TO = 400_000  # pixels of a picture whose symbols are looked for by all means


def _saved(picture: Image.Image, kind: str, **how: object) -> bytes:
    written = io.BytesIO()
    picture.save(written, kind, **how)
    return written.getvalue()


@cache
def _pdf() -> bytes:
    view = view_of(pump(FITTED))
    bins = view.teardown.bins[:2]
    texts = {each.step: view.url(each) for each in bins}
    stream = io.BytesIO()
    stock = find_stock("a4-2x5-99x56", ("labels",))
    write(LabelSheets(view, bins, stock, texts=texts).pages(), ".pdf", stream, title="labels")
    return stream.getvalue()


@cache
def sources() -> tuple[bytes, ...]:
    """Return small pictures of every kind, one of them with a symbol, and a PDF."""
    symbol = next(iter(pictures_of(_pdf(), "labels.pdf", dpi=150))).pixels[:340, :620]
    grey = Image.fromarray(symbol)
    colours = grey.convert("RGB")
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "maker"
    noise = Image.fromarray(np.arange(64 * 48 * 3, dtype=np.uint32).astype(np.uint8).reshape(48, 64, 3))
    return (
        _saved(grey, "PNG"), _saved(colours, "JPEG", exif=exif, dpi=(300, 300)), _saved(colours, "WEBP"),
        _saved(noise, "JPEG", progressive=True), _saved(noise.convert("CMYK"), "JPEG"),
        _saved(noise.convert("P"), "PNG", transparency=3), _saved(noise.convert("RGBA"), "PNG"),
        _saved(noise.convert("L").convert("I;16"), "PNG"), _saved(noise.convert("1"), "PNG", dpi=(72, 72)),
        _saved(noise.convert("RGBA"), "WEBP", lossless=True), _saved(noise, "GIF"), _saved(noise, "BMP"),
        _saved(noise, "TIFF", save_all=True, append_images=[noise, noise]),
        _saved(noise.convert("F"), "TIFF"), _saved(noise, "TIFF", compression="tiff_lzw"), _pdf(),
    )  # fmt: skip


def _checked(data: bytes) -> bytes:
    """Return a PNG picture with the check sums of its chunks made right again, so that its lies are believed."""
    out, at = bytearray(data[:8]), 8
    while at + 12 <= len(data):
        size = struct.unpack(">I", data[at : at + 4])[0]
        body = data[at + 4 : at + 8 + size]
        out += data[at : at + 4] + body + struct.pack(">I", zlib.crc32(body))
        at += 12 + size
    return bytes(out) + data[at:]


def make(random: Random) -> bytes:
    """Return a picture that is damaged or lies."""
    data = random.choice(sources())
    way = random.random()
    if way < 0.05:
        other = random.choice(sources())
        return data[: random.randrange(1, 300)] + other[random.randrange(300) :]
    if way < 0.1 and data[:4] == b"\x89PNG":
        size = struct.pack(">II", random.choice(INTERESTING) & 0x7FFFFFFF, random.choice(INTERESTING) & 0xFFFF)
        return _checked(data[:16] + size + data[24:])
    if way < 0.13:
        side = random.choice((3000, 9000, 20_000))
        return _saved(Image.new("1", (side, side)), random.choice(("PNG", "TIFF")))
    if way < 0.15:
        return _saved(Image.new("L", (8, 8)), "PNG", pnginfo=None) + random.randbytes(random.randrange(2000))
    data = bent(random, data, random.choice((1, 1, 2, 4, 12)))
    return _checked(data) if data[:4] == b"\x89PNG" and random.random() < 0.8 else data


def tries(case: bytes) -> None:
    """Read it as a photo of the bench, and as a scan."""
    refused: Exception | None = None
    for reads in (_photo, _scan):
        try:
            reads(case)
        except Exception as error:
            if refused is None or not _is_ours(error):
                refused = error
    if refused is not None:
        raise refused


def _is_ours(error: Exception) -> bool:
    from labelkit.errors import LabelkitError

    return isinstance(error, LabelkitError)


def _photo(case: bytes) -> None:
    made = photo_jpeg(case, "photo.jpg")
    with Image.open(io.BytesIO(made)) as opened:
        opened.load()
        if opened.format != "JPEG" or max(opened.size) > 2000 or opened.getexif():
            raise Broken(f"the photo that is kept is {opened.format} of {opened.size}")


def _scan(case: bytes) -> None:
    for count, picture in enumerate(pictures_of(case, "scan.png", dpi=100)):
        if picture.pixels.ndim != 2 or picture.pixels.dtype != np.uint8:
            raise Broken(f"a picture of {picture.pixels.dtype} and {picture.pixels.shape}")
        read_symbols(picture.pixels, thorough=False)
        if picture.pixels.size <= _READ_UP_TO and count < 2:
            rescued(picture.pixels, known=read_symbols(picture.pixels, thorough=True))
        if count > 5:
            return


@cache
def _archives() -> tuple[bytes, ...]:
    source = FITTED.encode()
    return (
        pack("pump.yaml", source, {"photos/cover.png": png()}),
        pack("pump.yml", source, {}),
        pack("pump.yaml", source, {f"photos/{number}.jpg": b"x" * 30 for number in range(30)}),
    )


def make_archive(random: Random) -> bytes:
    """Return an archive that is damaged, lies or leads elsewhere."""
    if random.random() < 0.6:
        return bent(random, random.choice(_archives()), random.choice((1, 1, 2, 4)))
    written = io.BytesIO()
    with zipfile.ZipFile(
        written, "w", random.choice((zipfile.ZIP_DEFLATED, zipfile.ZIP_STORED, zipfile.ZIP_LZMA))
    ) as z:
        z.writestr("pump.yaml", FITTED)
        for _ in range(random.randrange(4)):
            name = random.choice(("photos/", "../", "", "/", "a/b/")) + text(random)[:200].replace("\x00", "")
            entry = zipfile.ZipInfo(
                name.encode("utf-8", "replace").decode() + random.choice((".jpg", ".png", "", ".yaml"))
            )
            entry.external_attr = random.choice((0, 0o120777 << 16, 0o60777 << 16, 0o100644 << 16, 0x10))
            z.writestr(entry, b"\0" * random.choice((0, 10, 1000, 13_000_000)), zipfile.ZIP_DEFLATED)
    data = written.getvalue()
    return bent(random, data) if random.random() < 0.3 else data


def tries_archive(case: bytes) -> None:
    """Unpack it; what comes out leads nowhere else."""
    found = unpack(case, "kr2.zip")
    for path in found:
        if path.startswith("/") or ".." in path.split("/") or "\\" in path:
            raise Broken(f"leads elsewhere: {path!r}")
    parse_profile(next(iter(found.values())), "pump.yaml", None)


TARGETS = (Target("pictures", make, tries, 2.5), Target("archives", make_archive, tries_archive, 0.7))

"""Read the QR symbols of a picture: the only module that knows the decoder, zxing-cpp.

What a shop's picture needs is tried in steps, the cheap ones first: the picture as it is, at twice its size,
with local contrast, through a median, without dark specks; each with a local threshold and with one for all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Final, cast

import numpy as np
import zxingcpp

from labelkit.proof.filters import closed, enlarged, local_contrast, median
from labelkit.proof.grid import Flags, Floats, Grey, module_levels, side_length
from labelkit.proof.measure import refined_corners, symbol_contrast

# Modules of a larger picture are large enough as they are: 12 megapixels and more come from cameras.
_ENLARGE_UP_TO: Final = 6_000_000
_MODEL_2: Final = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCodeModel2)
# The decoder finds no pure symbol when it is asked for model 2 alone.
_PURE: Final = zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)
_read: Final = partial(zxingcpp.read_barcodes, try_invert=False, text_mode=zxingcpp.TextMode.Plain)
_THRESHOLDS: Final = (
    ("local", zxingcpp.Binarizer.LocalAverage),
    ("global", zxingcpp.Binarizer.GlobalHistogram),
)


@dataclass(frozen=True, slots=True, eq=False)
class Reading:
    """One symbol that was read.

    Attributes:
        text: what it says.
        corners: 4 x 2, pixels: corners of the symbol without its quiet zone, clockwise from its own top left.
        module_px: mean side of a module, pixels.
        contrast: symbol contrast, percent (see `labelkit.proof.measure.symbol_contrast`).
        how: the step that read it, as "plain, local threshold".
    """

    text: str
    corners: Floats
    module_px: float
    contrast: float
    how: str

    @property
    def middle(self) -> Floats:
        """Middle of the symbol, pixels."""
        middle: Floats = self.corners.mean(axis=0)
        return middle


def read_symbols(image: Grey, *, thorough: bool) -> list[Reading]:
    """Read all QR symbols (model 2) of a picture.

    Args:
        image: grey levels, two-dimensional.
        thorough: take all steps and gather what each of them reads; without it, only the first step is taken.

    Returns:
        The readings in the order in which they were found, each symbol once; none is an answer too.
    """
    readings: list[Reading] = []
    for found in _steps(image) if thorough else (_read_at(image, image, 1, "plain"),):
        readings = merged(readings, found)
    return readings


def _steps(image: Grey) -> Iterator[list[Reading]]:
    """Take one step after the other and yield what each of them reads."""
    yield _read_at(image, image, 1, "plain")
    scale = 2 if image.size <= _ENLARGE_UP_TO else 1
    larger = enlarged(image) if scale == 2 else image
    if scale == 2:
        yield _read_at(larger, image, scale, "enlarged")
    for name, changed in (("local contrast", local_contrast), ("median", median), ("closed", closed)):
        yield _read_at(changed(larger), image, scale, name)


def read_modules(dark: Flags) -> str | None:
    """Decode the modules of one symbol, function patterns intact.

    Args:
        dark: square, one element a module, without the quiet zone; True is dark.

    Returns:
        Its text, or None where the error correction does not come out.
    """
    picture = np.pad(np.where(dark, np.uint8(0), np.uint8(255)), 4, constant_values=255)
    large = np.kron(picture, np.ones((4, 4), np.uint8))
    for symbol in _read(large, _PURE, try_rotate=False, is_pure=True):
        if symbol.valid and _version(symbol) == (len(dark) - 17) // 4:
            return symbol.text
    return None


def reading(image: Grey, text: str, corners: Floats, *, version: int, how: str) -> Reading:
    """Measure corners, module and contrast of a symbol that was read, and put all together.

    Args:
        image: the picture.
        text: what the symbol says.
        corners: as for `Reading`, right to half a module.
        version: of the symbol, 1 to 40.
        how: the step that read it.
    """
    modules = 17 + 4 * version
    corners = refined_corners(image, corners, modules)
    contrast = symbol_contrast(module_levels(image, corners, modules, taps=3, border=1).mean(axis=2))
    return Reading(text, corners, side_length(corners) / modules, contrast, how)


def merged(readings: Iterable[Reading], more: Iterable[Reading]) -> list[Reading]:
    """Join readings; of those that lie at one place, the first stays."""
    result: list[Reading] = []
    for new in (*readings, *more):
        if not _lies_on(new.corners, result):
            result.append(new)
    return result


def _lies_on(corners: Floats, readings: Iterable[Reading]) -> bool:
    middle = corners.mean(axis=0)
    return any(np.linalg.norm(middle - old.middle) < side_length(old.corners) / 2 for old in readings)


def _read_at(changed: Grey, image: Grey, scale: int, name: str) -> list[Reading]:
    """Read a changed copy of a picture; corners are given in the picture itself."""
    found: list[Reading] = []
    for threshold, binarizer in _THRESHOLDS:
        how = f"{name}, {threshold} threshold"
        for symbol in _read(changed, _MODEL_2, binarizer=binarizer):
            corners = _corners(symbol.position) / scale
            if symbol.valid and not _lies_on(corners, found):
                found.append(reading(image, symbol.text, corners, version=_version(symbol), how=how))
    return found


def _version(symbol: zxingcpp.Barcode) -> int:
    return int(cast(dict[str, str], symbol.extra)["Version"])


def _corners(position: zxingcpp.Position) -> Floats:
    points = (position.top_left, position.top_right, position.bottom_right, position.bottom_left)
    return np.array([(point.x, point.y) for point in points], dtype=np.float64)

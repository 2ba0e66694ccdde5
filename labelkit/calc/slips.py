"""Figures that look like a slip: a point in the wrong place, or inches taken for millimetres. Asked about, no limit.

What is odd is told in English, as the record keeps it where somebody said that it stands (`sheets.keptnotes`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from itertools import pairwise
from typing import Final

from labelkit.calc.figures import rounded
from labelkit.language import noop
from labelkit.model.form import size
from labelkit.model.part import Check, CheckTime, Part
from labelkit.model.profile import Fit, Series
from labelkit.units import Quantity

_TIMES: Final = noop("{large} is {times} times {small}")
_MIXED: Final = noop("{large} is {times} times {small}: inches and millimetres mixed up?")
_UNLISTED: Final = noop("{size} is none of the sizes that there are: {sizes}")
ODD: Final = (_TIMES, _MIXED, _UNLISTED)

# From here on a figure is asked about; wear and play that condemn a part mostly stay below. Own choice.
_FAR: Final = 8
# Whoever takes inches for millimetres, or the other way round, is off by 25.4; a part that is not as new by this
# much more or less.
_INCHES: Final = (20, 32)
# A piece without a tolerance is of its size within this share of the least step of its series. Own choice.
_OF_A_STEP: Final = Decimal("0.2")


def slip(read: Quantity, low: Quantity | None, high: Quantity | None) -> str:
    """Return how many times a figure is what it should be, or the other way round; empty where it may be right.

    Args:
        read: what was typed.
        low: the least that is right; None: nothing is too small.
        high: the most that is right; None: `low` is what it is held against.

    >>> mm = lambda text: Quantity(Decimal(text), "mm")
    >>> slip(mm("80.0"), mm("8.0"), mm("8.0")), slip(mm("1.41"), mm("0.30"), mm("0.60"))
    ('80.0 mm is 10 times 8.0 mm', '')
    >>> slip(mm("0.315"), mm("8.0"), None)
    '8.0 mm is 25 times 0.315 mm: inches and millimetres mixed up?'
    """
    top = high or low
    pairs = [(read, top)] if top is not None else []
    if low is not None:
        pairs.append((low, read))
    for large, small in pairs:
        if large.kind != small.kind or small.base <= 0 or large.base < _FAR * small.base:
            continue
        times = large.base / small.base
        mixed = large.kind == "length" and _INCHES[0] <= times <= _INCHES[1]
        return (_MIXED if mixed else _TIMES).format(large=large, times=rounded(times, 0), small=small)
    return ""


def odd_at_point(part: Part, check: Check, series: Series | None, read: Iterable[Quantity]) -> Iterator[str]:
    """Yield what looks like a slip at a point.

    What feeds the fits is held against the thickness of the part, or the sizes of its series: worn or not, a graded
    piece is not far off them. Of several pieces the sum may be among the figures.
    """
    figures = tuple(read)
    low, high = check.min, check.max
    if low is None and high is None and check.keep:
        if series is not None:
            far = [each for each in figures if each.kind == "length" and _is_far(series, each.mm, part.qty == 1)]
            yield from unlisted(series, far)
        low = size(part.form, "t") if series is None else None
    yield from filter(None, (slip(each, low, high) for each in figures))


def _is_far(series: Series, mm: Decimal, single: bool) -> bool:
    """Say whether a piece is further outside a series than its widest step, or a tenth of a lone size; own choice."""
    listed = sorted(series.thicknesses())
    room = max((thick - thin for thin, thick in pairwise(listed)), default=listed[0] / 10)
    return mm < listed[0] - room or (single and mm > listed[-1] + room)


def odd_play(fit: Fit, at: CheckTime, read: Iterable[Quantity]) -> Iterator[str]:
    """Yield what looks like a slip beside the target of a fit; what is read to choose a piece may lie anywhere."""
    if at != "apart":
        yield from filter(None, (slip(each, *fit.target) for each in read))


def unlisted(series: Series | None, pieces: Iterable[Quantity]) -> Iterator[str]:
    """Yield which pieces are of no size of their series, and what sizes there are."""
    listed = sorted(series.thicknesses()) if series else []
    near = series.tol.mm if series and series.tol else of_a_step(listed) or Decimal(0)
    for each in pieces:
        if series and all(abs(each.mm - one) > near for one in listed):
            yield _UNLISTED.format(size=each, sizes=series_words(series))


def of_a_step(sizes: Iterable[Decimal]) -> Decimal | None:
    """Return how far a piece may be from its size where other sizes lie close, mm; None where there is one only.

    >>> of_a_step([Decimal("0.10"), Decimal("0.30"), Decimal("0.15")])
    Decimal('0.010')
    """
    least = min((thick - thin for thin, thick in pairwise(sorted(sizes))), default=None)
    return None if least is None else least * _OF_A_STEP


def series_words(series: Series) -> str:
    """Return the sizes that there are, their unit once where they share it: `2.00, 2.15 mm`."""
    listed = series.listed()
    if len({size.unit for size in listed}) > 1:
        return ", ".join(map(str, listed))
    return f"{', '.join(str(size.value) for size in listed)} {listed[0].unit}"

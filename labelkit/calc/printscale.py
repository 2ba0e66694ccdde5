"""What the distances of a check sheet's crosses say: the printer, or a setting that scaled the page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from labelkit.errors import UsageError
from labelkit.model.printer import CHECK_MM, LEAST_SCALE, MOST_SCALE
from labelkit.units import MM_PER_INCH

SECOND_MM: Final = 0.2
"""How far a corrected print may be from true: what a tray of 600 mm, put together from pages, can bear."""

Size = tuple[float, float]

# Source: ISO 216 and ANSI/ASME Y14.1; Legal is a trade size.
_OFFICE: Final[dict[str, Size]] = {
    "A4": (210, 297),
    "Letter": (215.9, 279.4),
    "A3": (297, 420),
    "Tabloid": (279.4, 431.8),
    "Legal": (215.9, 355.6),
}
# What printers leave free round a page, mm. Source: common practice, no source.
_MARGINS: Final = (3.0, 4.2, 5.0, 6.35)
# A reading belongs to a case when it is as near as this, and its two axes to each other.
_NEAR: Final = 0.004
_UNIFORM: Final = 0.01
# Outside of these nobody measured between two crosses, mm.
_ANY_PRINT: Final = (70.0, 260.0)
_ROUNDING: Final = 1e-10  # of floats, at the ends of what is allowed


def check_scale(x_mm: float, y_mm: float, *, paper: str, size: Size) -> None:
    """Refuse readings that are not the printer's own doing, and say what most likely is.

    Args:
        x_mm: distance of the crosses along the page's x axis; they are 140 mm apart.
        y_mm: the same along the y axis.
        paper: name of the paper.
        size: of the paper, upright, mm.

    Raises:
        UsageError: outside 98.5 to 101.5 percent on an axis.
    """
    scales = x_mm / CHECK_MM, y_mm / CHECK_MM
    if all(float(LEAST_SCALE) - _ROUNDING <= scale <= float(MOST_SCALE) + _ROUNDING for scale in scales):
        return
    found = f"the crosses were read as {x_mm:.2f} and {y_mm:.2f} mm apart"
    if not all(_ANY_PRINT[0] <= each <= _ANY_PRINT[1] for each in (x_mm, y_mm)):
        inches = all(_ANY_PRINT[0] <= each * MM_PER_INCH <= _ANY_PRINT[1] for each in (x_mm, y_mm))
        hint = f'; for inches write "{x_mm:g} in" "{y_mm:g} in"' if inches else ""
        raise UsageError(f"{found}; allowed: the two distances in mm, near {CHECK_MM}{hint}")
    raise UsageError(
        f"{found}, {scales[0]:.1%} and {scales[1]:.1%} of {CHECK_MM} mm: {_cause(scales, paper, size)} Nothing is "
        f"kept; allowed: {LEAST_SCALE:.1%} to {MOST_SCALE:.1%}. Print the sheet again at 100 % "
        '("actual size") and measure again'
    )


def is_true(x_mm: float, y_mm: float) -> bool:
    """Say whether both distances are 140.0 mm to 0.2 mm.

    >>> is_true(140.2, 139.8), is_true(140.2, 139.79)
    (True, False)
    """
    return all(abs(each - CHECK_MM) <= SECOND_MM + _ROUNDING for each in (x_mm, y_mm))


def fit_cases(paper: str, size: Size) -> Iterator[tuple[float, str]]:
    """Yield the scales that settings of print dialogs make of a page of this paper, with what they are.

    Source: computed, as the largest scale at which the page fits.
    """
    for margin in _MARGINS:
        yield _fit(size, size, margin), f'"fit to page" on {paper} with margins of {margin:g} mm'
    for other, sheet in _OFFICE.items():
        if sheet != size:
            for margin in (0.0, *_MARGINS):
                inside = f" inside margins of {margin:g} mm" if margin else ""
                yield _fit(size, sheet, margin), f"a page for {paper} fitted to {other}{inside}"


def _fit(page: Size, sheet: Size, margin: float) -> float:
    return min((sheet[0] - 2 * margin) / page[0], (sheet[1] - 2 * margin) / page[1])


def _cause(scales: tuple[float, float], paper: str, size: Size) -> str:
    if abs(scales[0] - scales[1]) > _UNIFORM:
        return "no setting of a print dialog and no printer in order scales one axis so much more than the other."
    scale = sum(scales) / 2
    said = "the print dialog scaled the page; a printer itself is never so far off."
    nearest = sorted((abs(case - scale), words) for case, words in fit_cases(paper, size))
    if likely := [words for away, words in nearest if away <= _NEAR][:2]:
        return f"{said} {scale:.1%} is what comes of {' or '.join(likely)}."
    if scale > 1:
        return f'{said} Borderless printing and "fill page" enlarge it so.'
    return f'{said} Look for "fit", "shrink" or a scale in percent.'

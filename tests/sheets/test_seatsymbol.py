"""Symbols of seats as a thermal printer of 203 dpi prints them at 12 mm; pdfium rasterises."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

import numpy as np
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from labelkit import forms
from labelkit.drawing.page import BLACK, Box, Group, Item, Page, Path
from labelkit.model.form import FORMS
from labelkit.model.formbase import Form
from labelkit.model.part import Part, Sits
from labelkit.render import write
from labelkit.sheets.orientation import orientation
from labelkit.sheets.seat import neighbour, seat_of
from tests.forms.strategies import forms_of
from tests.shop import DEMO_UNITS, demo, view_of

# The printer's dots at 203.2 dpi, a millimetre.
DOTS = 8
WIDE, HIGH = 15.0, 12.0
MEND = (
    "both ends look alike: labelkit/sheets/seatsymbol.py draws them; _black says how much of a part is black from its "
    "`way` end, _shown draws steeper what leans; or forms.sided says of the form that its ends differ where they do not"
)
SIDED = [kind for kind in FORMS if FORMS[kind].way is not None or kind == "shaft"]


def turned(part: Part, way: Any) -> Part:
    sits = part.sits or Sits()
    return part.model_copy(update={"sits": sits.model_copy(update={"up": "x", "opens": way})})


def dots(pairs: Sequence[tuple[Part, Part | None]]) -> list[NDArray[np.bool_]]:
    """Return what a printer blackens for each symbol; all are on one page, each in a cell of its own."""
    cell = (int(WIDE) + 1, int(HIGH) + 1)
    items = tuple(
        orientation(part, Box(k * cell[0] + 0.5, 0.5, WIDE, HIGH), other) for k, (part, other) in enumerate(pairs)
    )
    stream = io.BytesIO()
    write([Page(cell[0] * len(pairs), cell[1], items)], ".pdf", stream, title="symbols")
    document = pypdfium2.PdfDocument(stream.getvalue())
    picture = document[0].render(scale=DOTS * 25.4 / 72, grayscale=True, may_draw_forms=False).to_numpy().squeeze()
    document.close()
    return [np.asarray(picture[:, k * cell[0] * DOTS : (k + 1) * cell[0] * DOTS] < 128) for k in range(len(pairs))]


def differences(pairs: Sequence[tuple[Part, Part | None]]) -> list[float]:
    """Return which part of the dots of a symbol, up and down together, differs between up and down."""
    both = dots([(turned(part, way), other) for part, other in pairs for way in ("up", "down")])
    return [float((up ^ down).sum() / (up | down).sum()) for up, down in zip(both[::2], both[1::2], strict=True)]


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_up_and_down_cannot_be_mistaken(unit: str) -> None:
    """Of every part with a direction, alone and on its seat, a quarter of the dots differ at least."""
    job = view_of(demo(unit))
    pairs: dict[Any, tuple[Part, Part | None]] = {}
    for each in job.teardown.bins:
        part = each.part
        if part.form is not None and forms.sided(part.form):
            for other in (None, neighbour(job, each)):
                pairs[part.form, other.form if other else None, part.qty] = (part, other)
    found = dict(
        zip(
            ((part.id, other and other.id) for part, other in pairs.values()),
            differences([*pairs.values()]),
            strict=True,
        )
    )

    assert len(found) > 30
    assert {} == {names: share for names, share in found.items() if share < 0.25}, MEND


# Each example prints every form, so that few must do, always the same: a benchmark of odd sizes this is not.
@settings(max_examples=3, deadline=None, derandomize=True)
@given(st.tuples(*(forms_of(kind) for kind in SIDED)))
def test_no_sizes_make_up_look_like_down(drawn: tuple[Form, ...]) -> None:
    """Every form of the catalogue that has a direction, at odd sizes too: a fifth, where real parts keep a quarter."""
    pairs = [(Part(id="a", name="A", form=form), None) for form in drawn if forms.sided(form)]
    found = {str(part.form): share for (part, _), share in zip(pairs, differences(pairs), strict=True)}

    assert {} == {form: share for form, share in found.items() if share < 0.2}, MEND


def lines(item: Item) -> list[float]:
    """Return the widths of all lines of a drawing."""
    if isinstance(item, Group):
        return [width for inner in item.items for width in lines(inner)]
    return [item.pen.width] if isinstance(item, Path) and item.pen else []


@pytest.mark.parametrize("height", [5.5, 8.0, 12.0])
def test_no_line_is_thinner_than_two_dots(height: float) -> None:
    """Thermal printers of 203 dpi lose single dots."""
    for unit in DEMO_UNITS:
        job = view_of(demo(unit))
        for each in job.teardown.bins:
            widths = lines(orientation(each.part, Box(0, 0, height * 1.25, height), neighbour(job, each)))
            assert min(widths, default=1.0) >= 2 / DOTS - 1e-9, each.step


def test_the_part_is_black_and_what_it_sits_on_is_not() -> None:
    """At a glance: the black one is the one in the bin. Only its mating faces are heavy on the other."""
    for unit in DEMO_UNITS:
        job = view_of(demo(unit))
        for each in job.teardown.bins:
            other = neighbour(job, each)
            seat = seat_of(each.part, other)
            drawn = orientation(each.part, Box(0, 0, WIDE, HIGH), other)
            under = [item for item in drawn.items if isinstance(item, Group) and item.name == "below"]
            if seat is None or not under:
                continue
            paths = [item for item in under[0].items if isinstance(item, Path)]
            heavy = [path for path in paths if path.pen and path.pen.width >= 0.5]
            assert [] == [path for path in paths if path.fill == BLACK]
            assert bool(heavy) == bool(seat.faces or seat.walls)

"""How long the exploded view and the section of large units take. By hand: `python -m tests.bench.bench_exploded`.

Wanted is less than 1 s for a unit of 200 parts. Three kinds of unit: random parts of every form, three deep;
a pile, where each part lies on the one before it; the same pile inside a housing, where all are told beside each other.
"""

from __future__ import annotations

import io
import time
from collections.abc import Iterator
from functools import partial
from typing import Any, Final

from labelkit.calc.seating import in_order, seating
from labelkit.render import write
from labelkit.sheets.jobview import JobView
from tests.bench.rows import Row
from tests.explodedsheets import random_unit, unit_of, view_on
from tests.forms.strategies import build

PARTS: Final = 200
MOST: Final = 1.0


def pile(count: int) -> JobView:
    """Return a unit of washers and bearings, each on the one below it, in a drum."""
    parts: list[dict[str, Any]] = [
        {"id": "drum", "name": "Drum", "form": build("drum", od=200, h=1500, wall=10), "sits": {"opens": "up"}}
    ]
    for number in range(count - 1):
        sits = {"up": "free", "on": parts[-1]["id"]}
        form = build("ring", od=170 - number % 7, id=60, t=5) if number % 4 else build("bush", od=170, id=50, l=12)
        parts.append({"id": f"p{number}", "name": f"Part {number}", "form": form, "sits": sits})
    return unit_of(parts[::-1])


def rows(quick: bool) -> Iterator[Row]:
    """Yield processor seconds for each unit, from the laid-out job to the bytes of PDF and SVG."""
    units = {f"random {seed}": partial(random_unit, seed, PARTS) for seed in ((1,) if quick else (1, 2, 3))}
    units["a pile in a drum"] = partial(pile, PARTS)
    # What is worked out once for a process: letters, forms of the first unit.
    [*view_on(random_unit(9, 20), "a4").pages()]
    for name, made in units.items():
        view = made()
        view.trays  # noqa: B018 - laid out before, as the kit does; it is not part of the drawing
        start = time.process_time()
        found = seating(view.teardown, in_order(view.profile, view.teardown))
        seated = time.process_time()
        drawing = view_on(view, "a3")
        pages = [*drawing.pages()]
        drawn = time.process_time()
        write(pages, ".pdf", io.BytesIO(), title="t", subject="s")
        write([drawing.whole()], ".svg", io.BytesIO(), title="t", subject="s")
        done = time.process_time()
        together = sum(len(axis.seated) for axis in found.axes)
        print(
            f"{name}: {len(view.teardown.bins)} bins, {together} pieces together on {len(found.axes)} axes; "
            f"seating {seated - start:.2f} s, {len(pages)} pages {drawn - seated:.2f} s, "
            f"PDF and SVG {done - drawn:.2f} s"
        )
        sample = f"{name}, {PARTS} parts, {len(pages)} pages, processor time"
        yield Row("exploded view and section, PDF and SVG", done - seated, "s", MOST, sample=sample)


def main() -> None:
    """Print seconds for each unit: seating, pages, PDF with SVG, and the row."""
    for row in rows(quick=False):
        print(f"  all {row.measured}, {row.wanted}: {row.verdict}")


if __name__ == "__main__":
    main()

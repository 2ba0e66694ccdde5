"""How an exploded view is laid out: which scales, and what stands on which sheet.

The axis of the unit runs on from row to row. What is opened from a row is shown again behind it, or behind the whole
unit, whichever fills the sheets better; always in order.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from labelkit.calc.steps import Bin
from labelkit.drawing.page import Box
from labelkit.drawing.text import fit_line
from labelkit.errors import CapacityError, UsageError
from labelkit.language import gettext as _
from labelkit.sheets import wording
from labelkit.sheets.explodedpacking import Inner, Packing, Sheet, spread
from labelkit.sheets.explodedrows import CONTINUED, LEAD, NAME, TAIL, Row, Strip, broken
from labelkit.sheets.explodedstands import slots_of
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import em

# Scales of ISO 5455, and 1:2.5, which the trade has always used beside them.
SCALES: Final = (
    (10, "10:1"),
    (5, "5:1"),
    (2, "2:1"),
    (1, "1:1"),
    (0.5, "1:2"),
    (0.4, "1:2.5"),
    (0.2, "1:5"),
    (0.1, "1:10"),
    (0.05, "1:20"),
    (0.02, "1:50"),
    (0.01, "1:100"),
    (0.005, "1:200"),
    (0.002, "1:500"),
    (0.001, "1:1000"),
)
# Parts of a sub-assembly are drawn at twice their size at most.
_LARGEST: Final = 2
# How many of the unit's parts must be seen well.
_SEEN: Final = 0.8
# How many scales are tried, from the largest that fits, and how tall the tallest part of a sub-assembly is at least, mm
# on paper.
_TRIED: Final = 4
_TALL: Final = (16.0, 24.0, 36.0, 50.0)
# How much a large scale counts against few sheets: twice as large is worth 1.83 times the sheets.
_LARGE: Final = 0.87


@dataclass(frozen=True)
class Choice:
    """How to draw.

    Attributes:
        scale: of the unit.
        tall: how tall the tallest part of a sub-assembly should be on paper, mm.
        first: all rows of the unit come first; else what a row of it opens follows that row.
    """

    scale: tuple[float, str]
    tall: float
    first: bool


class Layout:
    """The rows of a job's exploded view.

    Args:
        view: the job.
        room: what a sheet has to give.
        paper: what it is called.

    Raises:
        CapacityError: a sheet is too small even for the smallest scale.
        UsageError: there is no part.
    """

    def __init__(self, view: JobView, room: Box, paper: str) -> None:
        self._view, self._room, self._paper = view, room, paper
        inside: dict[str | None, list[Bin]] = {}
        for each in view.teardown.bins:
            inside.setdefault(each.parent, []).append(each)
        if not inside:
            number = view.job.number
            raise UsageError(f"exploded view: the options of job {number} leave no part to draw; choose others")
        self._slots = {parent: slots_of(view, bins) for parent, bins in inside.items()}
        self._strips: dict[tuple[str | None, float], Strip] = {}
        self._rows: dict[tuple[str | None, float, float], list[Row]] = {}
        self._scales: dict[str | None, list[tuple[float, str]]] = {}

    def sheets(self) -> list[Sheet]:
        """Return the rows on sheets, at the scales that fill them best."""
        return [spread(sheet, self._room) for sheet in self._packed(self._best)]

    def unbroken(self) -> tuple[Sheet, float, float]:
        """Return all rows on one sheet, none of them broken, at the scales of the sheets; with its width and height."""
        main, inner = self._queues(self._best, math.inf)
        width = max(row.width for row in [*main, *(each.row for each in inner)])
        (sheet,) = Packing(Box(self._room.x, self._room.y, width, math.inf)).run(main, inner, first=True)
        return sheet, width, max(placed.y + placed.row.height for placed in sheet) - self._room.y

    def _packed(self, choice: Choice) -> list[Sheet]:
        return Packing(self._room).run(*self._queues(choice, self._room.width), first=choice.first)

    @cached_property
    def _best(self) -> Choice:
        """The best of the largest scales at which the unit fits, and of what sub-assemblies may take beside it."""
        fitting = self._fitting(None)
        scales = [scale for scale in fitting if self._strip(None, scale).seen >= _SEEN] or fitting[:1]
        choices = [Choice(scale, tall, first) for scale in scales[:_TRIED] for tall in _TALL for first in (False, True)]
        return max(choices, key=self._merit)

    def _fitting(self, parent: str | None) -> list[tuple[float, str]]:
        """Return the scales at which every part of a strip fits a row, the largest first."""
        found = self._scales.get(parent)
        if found is None:
            found = self._scales[parent] = [each for each in SCALES if self._fits(parent, each)]
        if not found:
            within = f"inside step {parent}" if parent else "of the unit"
            raise CapacityError(
                f"{self._paper}: too small for the exploded view {within}; allowed: a larger one, as a4"
            )
        return found

    def _merit(self, choice: Choice) -> float:
        """Say how good a layout is: large, on few sheets, and these well filled; the last need not be."""
        sheets = self._packed(choice)
        used = [max(placed.y + placed.row.height for placed in sheet) - self._room.y for sheet in sheets]
        full = used[:-1] or used
        return float(choice.scale[0] ** _LARGE) * math.fsum(full) / len(full) / len(sheets)

    def _queues(self, choice: Choice, width: float) -> tuple[list[Row], list[Inner]]:
        """Return the rows of the unit, and those of everything that is opened, both in order."""
        rows = self._broken(None, choice.scale, width)
        inner = [
            Inner(each, whole, number)
            for number, row in enumerate(rows)
            for slot in row.slots
            for each, whole in self._opened(slot.bin.step, choice, width)
        ]
        return rows, inner

    def _opened(self, step: str, choice: Choice, width: float) -> Iterator[tuple[Row, bool]]:
        """Yield the rows of a sub-assembly and of those in it, and whether the strip is whole; none of a plain part."""
        if step not in self._slots:
            return
        rows = self._broken(step, self._scale(step, choice), width)
        for row in rows:
            yield row, len(rows) == 1
        for row in rows:
            for slot in row.slots:
                yield from self._opened(slot.bin.step, choice, width)

    def _scale(self, parent: str, choice: Choice) -> tuple[float, str]:
        """Return the scale of a sub-assembly: that of the unit, or a larger one where its parts are small."""
        fitting = [each for each in self._fitting(parent) if each[0] <= _LARGEST]
        larger = [each for each in fitting if each[0] >= choice.scale[0]]
        tall = [each for each in larger if self._strip(parent, each).tallest >= choice.tall]
        return tall[-1] if tall else fitting[0]

    def _strip(self, parent: str | None, scale: tuple[float, str]) -> Strip:
        key = (parent, scale[0])
        if key not in self._strips:
            holder = self._view.teardown.at(parent) if parent else None
            words = self._view.profile.unit.name
            if holder:
                words = _("{part}, opened").format(part=f"{holder.step} {wording.short_name(holder.part)}")
            title = fit_line(words, self._room.width - CONTINUED, (em(NAME, "bold"), em(NAME, "bold")), "bold").string
            self._strips[key] = Strip(title, holder, self._slots[parent], *scale)
        return self._strips[key]

    def _broken(self, parent: str | None, scale: tuple[float, str], width: float) -> list[Row]:
        key = (parent, scale[0], width)
        if key not in self._rows:
            self._rows[key] = broken(self._strip(parent, scale), width)
        return self._rows[key]

    def _fits(self, parent: str | None, scale: tuple[float, str]) -> bool:
        """Say whether every part fits a row of the sheets, beside every other."""
        strip = self._strip(parent, scale)
        if max(strip.stretches) + LEAD + TAIL > self._room.width:
            return False
        return Row(strip, 0, strip.sides).height <= self._room.height

"""Plays and shims from depths: depth gauge, straightedge, retainer, gasket, and tables of rows.

Each form is a sum of depths and thicknesses. What a depth micrometer gives is the mean of several places; the gauge is
set to zero on a surface plate, and no burr lies under its base.

Source: the forms are geometry, in general terms. Three places, zero on a plate: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from labelkit.calc.answers import Answer, Value, Verdict, shown
from labelkit.calc.readings import Taken, judged
from labelkit.calc.selecting import Asked, selection_notes, sum_lines, told_selection
from labelkit.calc.selective import Gap, Pieces, Target, select
from labelkit.calc.showing import USUAL_SHOW, Show
from labelkit.errors import UsageError
from labelkit.units import FACTORS, Quantity

_NO_ROOM: Final = "nothing is left for a shim: are the depths of the same two faces, and which are swapped?"
_ZERO_NOTE: Final = "zero the gauge on a surface plate, no burr under its base, three places"


@dataclass(frozen=True, slots=True)
class Term:
    """A signed length of a sum.

    Attributes:
        name: what it is: `depth to the seat`.
        length: mm; of several places their mean.
        sign: 1 or -1.
    """

    name: str
    length: Decimal
    sign: int = 1


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table that gives a part for a band of measurements.

    Attributes:
        part: what the row gives: a thickness, a number.
        bands: its columns, lower and upper end, both included; one for each unit that is printed.
    """

    part: str
    bands: tuple[tuple[Quantity, Quantity], ...]


def summed(terms: Sequence[Term], show: Show = USUAL_SHOW) -> tuple[Decimal, str]:
    """Return a signed sum of lengths, mm, and its line: `41.27 mm - 6.35 mm = 34.92 mm`.

    >>> summed([Term("depth", Decimal("41.27")), Term("bar", Decimal("6.35"), -1)])
    (Decimal('34.92'), '41.27 mm (depth) - 6.35 mm (bar) = 34.92 mm')
    """
    total = sum((term.length * term.sign for term in terms), Decimal(0))
    words = " ".join(f"{'+' if term.sign > 0 else '-'} {show.text(term.length)} ({term.name})" for term in terms)
    return total, f"{words.removeprefix('+ ')} = {show.text(total)}"


def depth_gauge(
    to_seat: Decimal, to_ring: Decimal, target: Target | None, resolution: Decimal, show: Show = USUAL_SHOW
) -> Answer:
    """Return the play between a ring and its seat, from the depth to either.

    Args:
        to_seat: depth to the seat, mm.
        to_ring: depth to the ring, mm.
        target: where the play must lie; None: nobody says.
        resolution: the smallest step of the gauge, mm.
        show: how to tell it.
    """
    play, line = summed([Term("depth to the seat", to_seat), Term("depth to the ring", to_ring, -1)], show)
    values: dict[str, Value] = {"unit": show.unit, "play": show.value(play)}
    sums: tuple[str, ...] = (f"play = {line}",)
    if play < 0:
        swapped = "the ring is deeper than its seat: are the two depths swapped, or was the gauge not set to zero?"
        return Answer("depth_gauge", "refused", values, sums, (swapped,))
    if target is None:
        return Answer("depth_gauge", "no_limit", values, sums, ("no limit given, nothing is judged", _ZERO_NOTE))
    verdict: Verdict = judged(play, target.low, target.high, resolution)
    low, high = show.limits(target.low, target.high)
    sums += (f"play {show.apart(play, target.low, target.high)}, allowed {low} ... {high} {show.unit}",)
    notes: tuple[str, ...] = (_ZERO_NOTE,)
    if target.outside(play):
        notes = (f"{show.signed(target.outside(play))} outside: change the shim by as much and measure again", *notes)
    values |= {"target": (low, high), "outside": show.value(target.outside(play))}
    return Answer("depth_gauge", verdict, values, sums, notes)


def straightedge(
    over_bar: Decimal, bar: Decimal, other: Decimal, rows: Sequence[Row], show: Show = USUAL_SHOW
) -> Answer:
    """Return the shim of a table from two depths, one of them read over a straightedge.

    Args:
        over_bar: depth from the top of the bar, D, mm.
        bar: thickness of the bar, E, mm.
        other: the other height, C, mm.
        rows: the table; empty: only the sum is wanted.
        show: how to tell it.

    Raises:
        UsageError: the bar is thicker than the depth over it.
    """
    if bar >= over_bar:
        raise UsageError(f"the bar of {bar} mm is not less than the {over_bar} mm over it; are the two swapped?")
    below, first = summed([Term("D, over the bar", over_bar), Term("E, bar", bar, -1)], show)
    gap, second = summed([Term("C", other), Term("F", below, -1)], show)
    sums = (f"F = {first}", f"G = {second}")
    values: dict[str, Value] = {"unit": show.unit, "below_bar": show.value(below), "gap": show.value(gap)}
    if gap <= 0:
        notes = ("nothing is left for a shim: are C and D of the same two faces, and was the gasket in?",)
        return Answer("straightedge", "refused", values, sums, notes)
    if not rows:
        return Answer("straightedge", "no_limit", values, sums, ("no table given, nothing is chosen", _ZERO_NOTE))
    found = row_of(Quantity(gap, "mm"), rows)
    return Answer(
        "straightedge", found.verdict, values | dict(found.values), (*sums, *found.sums), (*found.notes, _ZERO_NOTE)
    )


def row_of(measured: Quantity, rows: Sequence[Row]) -> Answer:
    """Return the row of a table that a measurement falls in, looked up in every unit that is printed.

    Printed tables are rounded, so that a column can have holes between its rows; the other column may have none. A
    measurement that falls in two rows, or in different rows by different columns, is never settled in silence.

    Args:
        measured: as read.
        rows: the table.

    Raises:
        UsageError: no rows.
    """
    if not rows:
        raise UsageError("the table has no rows; allowed: at least one, as 4.844:5.113=3.60")
    hits: dict[str, list[Row]] = {}
    for row in rows:
        for low, high in row.bands:
            found = hits.setdefault(low.unit, [])
            if low.base <= measured.base <= high.base:
                found.append(row)
    notes, sums = [], []
    for unit, found in hits.items():
        value = _in_unit(measured, unit)
        sums.append(f"{value} {unit}: {' and '.join(f'row {row.part}' for row in found) or 'no row'}")
        if not found:
            notes.append(f"no row has {value} {unit}: it lies between two, which are rounded, or beyond the last")
    parts = tuple(dict.fromkeys(row.part for found in hits.values() for row in found))
    values: dict[str, Value] = {"row": parts[0] if len(parts) == 1 else None, "rows": parts}
    if len(parts) > 1:
        notes.append("the columns or rows disagree: measure again, in the finer unit, and ask which is right")
        return Answer("rows", "borderline", values, tuple(sums), tuple(notes))
    if not parts:
        notes.append("no row: thinner or thicker than the table goes, or between two rows; nothing is chosen")
    return Answer("rows", "ok" if parts else "none", values, tuple(sums), tuple(notes))


def shim_for(
    terms: Sequence[Term], target: Target, pieces: Pieces | None, asked: Asked, notes: Sequence[str] = ()
) -> Answer:
    """Return the shim that leaves the wanted play in a space: the retainer and the gasket form.

    With the shim t, play = space - t. A wanted play below zero is a squeeze: the shim stands out by as much.

    Args:
        terms: what makes up the space, without the shim.
        target: the play that is wanted.
        pieces: the shims there are; None: only the thickness is wanted.
        asked: how to tell it.
        notes: what to tell besides, as the state of the gasket.
    """
    show = asked.show
    space, line = summed(terms, show)
    gap = Gap(space)
    values: dict[str, Value] = {"unit": show.unit, "space": show.value(space)}
    sums: tuple[str, ...] = (f"space = {line}",)
    told = (*notes, _ZERO_NOTE)
    if gap.thickness_for(target.aim) <= 0:
        return Answer(asked.fit, "refused", values, sums, (_NO_ROOM, *told))
    if pieces is None:
        low, high = show.limits(*gap.window(target))
        wanted = show.text(gap.thickness_for(target.aim))
        values |= {"window": (low, high), "wanted": show.value(gap.thickness_for(target.aim))}
        sums += (
            f"shim = {show.text(space)} - {show.text(target.aim)} = {wanted}, allowed {low} ... {high} {show.unit}",
        )
        return Answer(asked.fit, "ok", values, sums, told)
    selection = select(gap, target, pieces)
    return Answer(
        asked.fit,
        selection.verdict,
        values | told_selection(selection, pieces, target, show),
        (*sums, *sum_lines(gap, target, pieces, selection, asked)),
        (*selection_notes(gap, target, pieces, selection, asked), *told),
    )


def thickness(terms: Sequence[Term], fit: str, show: Show = USUAL_SHOW) -> Answer:
    """Return the one thickness that a sum gives: depth less thickness of a retainer and what is added.

    Args:
        terms: of the sum.
        fit: which sum it is.
        show: how to tell it.
    """
    total, line = summed(terms, show)
    values: dict[str, Value] = {"unit": show.unit, "wanted": show.value(total)}
    if total <= 0:
        return Answer(fit, "refused", values, (f"shim = {line}",), (_NO_ROOM,))
    return Answer(fit, "ok", values, (f"shim = {line}",), (_ZERO_NOTE,))


def mean_of_places(taken: Taken) -> Decimal:
    """Return the mean of a depth that was read at several places, mm.

    Raises:
        UsageError: the places lie further apart than their spread allows.
    """
    if taken.refused:
        raise UsageError(taken.notes[-1])
    return taken.mean


def _in_unit(measured: Quantity, unit: str) -> Decimal:
    if measured.unit == unit:
        return measured.value
    return shown(measured.base / FACTORS[unit][1], 4 if unit == "in" else 3)

"""Clearance of a plate pack: by feeler, by step gauge, by the height of the stack; which ring, plate or steel sets it.

A wave or cushion plate that is free takes up more than one pressed flat. Which of the two a limit means, and how the
pack was measured, is asked and never assumed.

Source: the sums are geometry. Four places, clearance for each friction plate: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Final, Literal

from labelkit.calc.answers import Answer, Value, Verdict
from labelkit.calc.readings import Taken
from labelkit.calc.selecting import (
    NOTHING_CHOSEN,
    Asked,
    allowed_line,
    selection_notes,
    selective,
    sum_lines,
    told_selection,
)
from labelkit.calc.selective import Gap, Pieces, Target, select
from labelkit.calc.showing import USUAL_SHOW, Show
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.model.profile import READ

Wave = Literal["free", "flat", "none"]
"""State of the wave or cushion plate: not pressed, pressed flat, or the pack has none."""

PLACES: Final = READ["clearance"].least
# Clearance for each friction plate, mm: 0.010 to 0.015 in. A hint and never a limit. Common practice, no source.
_PER_FRICTION: Final = (Decimal("0.254"), Decimal("0.381"))
# Share of its thickness by which a plate may differ from the profile before it may be another plate. Own choice.
_UNLIKE: Final = Decimal("0.04")


@dataclass(frozen=True, slots=True)
class Plates:
    """Equal plates of a pack.

    Attributes:
        name: `friction`.
        count: how many.
        thickness: of one, mm.
        nominal: of one as the profile has it, mm; None: it is the same, or nobody says.
        by_profile: whether the thickness is the profile's, and nobody measured it.
    """

    name: str
    count: int
    thickness: Decimal
    nominal: Decimal | None = None
    by_profile: bool = False


def places_wanted(readings: int | None) -> int:
    """Return at how many places a pack is read: at as many as somebody asks for, but four at least."""
    return max(readings or 0, PLACES)


def wave_question(measured: Wave | None, meant: Wave | None, apart: Decimal | None, show: Show) -> str | None:
    """Return what must be asked of the wave plate before anything is chosen; None where all is said.

    Args:
        measured: how it was when the pack was measured; None: not said.
        meant: how the limit means it; None: not said.
        apart: height of the wave plate free less flat, mm; None: not known.
        show: how to tell it.
    """
    question = _question(measured, meant)
    if question is None or apart is None:
        return question
    return _("{question}; free and flat are {apart} apart").format(question=question, apart=show.text(apart))


def _question(measured: Wave | None, meant: Wave | None) -> str | None:
    if measured is None and meant != "none":
        return _("how was it measured: wave or cushion plate free, pressed flat, or is there none?")
    if measured == "free" and meant is None:
        return _("measured with the wave plate free: does the limit mean it free or flat? Look in the manual")
    if measured == "flat" and meant is None:
        return _("measured with the wave plate flat: does the limit mean it free or flat? Look in the manual")
    if measured is not None and meant is not None and measured != meant:
        told = _("measured with the wave plate {measured}, the limit means it {meant}: which is it?")
        return told.format(measured=_state(measured), meant=_state(meant))
    return None


def clearance(
    taken: Taken,
    target: Target,
    gap: Gap | None,
    pieces: Pieces | None,
    asked: Asked,
    resolution: Decimal,
    *,
    question: str | None = None,
    frictions: int | None = None,
) -> Answer:
    """Return what sets a clearance that was read at several places: chosen by the mean, judged at each place.

    Args:
        taken: readings, one for each place.
        target: where all of them must lie.
        gap: the mean and what was in when it was read; None: nothing is to be chosen.
        pieces: what there is to choose from.
        asked: how to tell it.
        resolution: the smallest step of the gauge, mm.
        question: of the wave plate, by `wave_question`.
        frictions: how many friction plates the pack has; None: not said.
    """
    show, least, most = asked.show, min(taken.values), max(taken.values)
    if question is not None:
        return Answer(asked.fit, "ask", taken.told(show) | NOTHING_CHOSEN, taken.sums, (question, *taken.notes))
    answer = selective(taken, target, gap, pieces, asked, resolution)
    if taken.refused:
        return answer
    moved = Decimal(0)
    if gap is not None and pieces is not None:
        chosen = select(gap, target, pieces).chosen
        if chosen is None:
            return answer
        moved = chosen.predicted - gap.play
    ends = least + moved, most + moved
    out = [end for end in ends if target.outside(end)]
    verdict: Verdict = answer.verdict
    notes, sums = answer.notes, answer.sums
    if len(taken.values) > 1:
        low, high = show.limits(target.low, target.high)
        told = _("least {least}, most {most}, allowed {limits} at every place")
        sums += (
            told.format(
                least=show.apart(ends[0], target.low),
                most=show.apart(ends[1], target.high),
                limits=f"{low} ... {high} {show.unit}",
            ),
        )
    if out and verdict == "ok":
        verdict = "borderline"
        notes += (
            _(
                "the mean is inside, {size} at one place is not: turn the pack, look for a burr or a warped plate, "
                "measure again"
            ).format(size=show.text(out[0])),
        )
    if frictions:
        notes += friction_notes(taken.mean + moved, frictions, show)
    values: dict[str, Value] = dict(answer.values) | {"least": show.value(ends[0]), "most": show.value(ends[1])}
    return replace(answer, verdict=verdict, values=values, sums=sums, notes=notes)


def friction_notes(play: Decimal, frictions: int, show: Show) -> tuple[str, ...]:
    """Return a note where a clearance is unusual for so many friction plates; a hint, never a limit."""
    each, (low, high) = play / frictions, _PER_FRICTION
    if low <= each <= high:
        return ()
    rule = "-".join(str(show.value(end)) for end in (low, high))
    told = _(
        "{size} for each of {count} friction plates, {rule} is usual (common practice, no source): "
        "a hint, the limit of the manual counts"
    )
    return (told.format(size=show.text(each), count=frictions, rule=f"{rule} {show.unit}"),)


def step_gauge(first: Decimal, second: Decimal, goes: tuple[bool, bool], show: Show = USUAL_SHOW) -> Answer:
    """Return what a step gauge says: in or out, and no number.

    Args:
        first: the thin step, which must go, mm.
        second: the thick step, which must not go, mm.
        goes: whether each goes.
        show: how to tell it.

    Raises:
        UsageError: the steps are the wrong way round, or the thick one goes where the thin one does not.
    """
    if first >= second:
        found = f"found {show.text(first)}, then {show.text(second)}"
        raise UsageError(f"the first step is not thinner than the second: {found}; write the thin one first")
    if goes == (False, True):
        raise UsageError("the thick step goes and the thin one does not: that cannot be, try again")
    low, high = show.limits(first, second)
    found = f"{low} {show.unit} {'goes' if goes[0] else 'does not go'}, {high} {show.unit} "
    found += "goes" if goes[1] else "does not go"
    inside = goes == (True, False)
    where = "inside" if inside else "too wide" if goes[1] else "too tight"
    values: dict[str, Value] = {"unit": show.unit, "target": (low, high), "where": where}
    notes = ("a step gauge tells in or out; to choose a size measure with a feeler at four places",)
    return Answer("step_gauge", "ok" if inside else "out", values, (f"{found}: {where}",), notes)


def stack(
    depth: Decimal,
    plates: Sequence[Plates],
    target: Target,
    pieces: Pieces | None,
    asked: Asked,
    *,
    question: str | None = None,
    frictions: int | None = None,
    uncertainty: Decimal = Decimal(0),
) -> Answer:
    """Return which selective plate sets the clearance, from the depth of the housing and the height of the stack.

    Args:
        depth: from the ring face or stop to the piston face, mm.
        plates: all that is in the stack but the selective plate.
        target: where the clearance must lie.
        pieces: the selective plates there are; None: the stack is complete, only its clearance is wanted.
        asked: how to tell it.
        question: of the wave plate, by `wave_question`.
        frictions: how many friction plates the pack has; None: not said.
        uncertainty: of depth and stack together, mm.

    Raises:
        UsageError: no plates.
    """
    if not plates:
        raise UsageError("the stack has no plates; allowed: at least one, as --plate friction=5x2.52")
    show, unit = asked.show, asked.show.unit
    height = sum((each.thickness * each.count for each in plates), Decimal(0))
    rest = depth - height
    terms = " + ".join(
        (f"{each.count} × " if each.count > 1 else "") + f"{show.size(each.thickness)} {unit} ({each.name})"
        for each in plates
    )
    sums: tuple[str, ...] = (
        _("stack = {sum}").format(sum=f"{terms} = {show.text(height)}"),
        _("rest = {sum}").format(sum=f"{show.text(depth)} - {show.text(height)} = {show.text(rest)}"),
    )
    values: dict[str, Value] = {"unit": unit, "stack": show.value(height), "rest": show.value(rest)}
    notes = _unlike_nominal(plates, show)
    if question is not None:
        return Answer(asked.fit, "ask", values | NOTHING_CHOSEN, sums, (question, *notes))
    if rest < 0:
        told = _("the stack is {size} higher than the housing is deep: is a plate in twice, or a depth wrong?")
        higher = told.format(size=show.text(-rest))
        return Answer(asked.fit, "refused", values | NOTHING_CHOSEN, sums, (higher, *notes))
    if pieces is None:
        low, high = show.limits(target.low, target.high)
        outside = target.outside(rest)
        values |= {"target": (low, high), "predicted": show.value(rest), "outside": show.value(outside)}
        seen = show.apart(rest, target.low, target.high)
        sums += (allowed_line(asked, seen, f"{low} ... {high} {unit}"),)
        notes += friction_notes(rest, frictions, show) if frictions else ()
        return Answer(asked.fit, "out" if outside else "ok", values, sums, notes)
    gap = Gap(rest, uncertainty=uncertainty)
    selection = select(gap, target, pieces)
    notes = (*notes, *selection_notes(gap, target, pieces, selection, asked))
    if selection.chosen is not None and frictions:
        notes += friction_notes(selection.chosen.predicted, frictions, show)
    sums += tuple(sum_lines(gap, target, pieces, selection, asked))
    return Answer(asked.fit, selection.verdict, values | told_selection(selection, pieces, target, show), sums, notes)


def swaps(
    play: Decimal, count: int, change: Decimal, target: Target, show: Show = USUAL_SHOW, *, added: Decimal | None = None
) -> Answer:
    """Return what each number of steels swapped for thicker ones gives, and what one more plate would.

    Args:
        play: the clearance as it is, mm.
        count: how many may be swapped.
        change: thickness of a new one less that of an old one, mm.
        target: where the clearance must lie.
        show: how to tell it.
        added: thickness of one more plate that may be put in, mm; None: none may.

    Raises:
        UsageError: nothing to swap and nothing to add.
    """
    if (count < 1 or not change) and added is None:
        raise UsageError("nothing to swap: the new plates are as thick as the old ones, and none is added")
    rows: list[tuple[str, Decimal]] = [
        (f"{k} swapped: {show.text(play)} - {k} × {show.text(change)}", play - k * change) for k in range(count + 1)
    ]
    if added is not None:
        rows.append((f"one more plate: {show.text(play)} - {show.text(added)}", play - added))
    best = min(rows, key=lambda row: (abs(target.outside(row[1])), abs(row[1] - target.aim)))
    inside = not target.outside(best[1])
    sums = tuple(
        f"{words} = {show.apart(left, target.low, target.high)}{', inside' if not target.outside(left) else ''}"
        for words, left in rows
    )
    chosen = best[0].partition(":")[0]
    values: dict[str, Value] = {
        "unit": show.unit,
        "choice": chosen if inside else None,
        "predicted": show.value(best[1]) if inside else None,
        "others": tuple(
            {
                "choice": words.partition(":")[0],
                "predicted": show.value(left),
                "outside": show.value(target.outside(left)),
            }
            for words, left in rows
        ),
    }
    notes = (
        ("after fitting measure again at four places",)
        if inside
        else (f"none: the nearest, {chosen}, is {show.text(abs(target.outside(best[1])))} outside",)
    )
    allowed = ("one more plate only where the manual allows it",) if added is not None else ()
    return Answer("swap", "ok" if inside else "none", values, sums, (*notes, *allowed))


def _state(wave: Wave) -> str:
    told = {"none": _("left out (the pack has none)"), "free": _("free"), "flat": _("flat")}
    return told[wave]


def _unlike_nominal(plates: Sequence[Plates], show: Show) -> tuple[str, ...]:
    thinner = _(
        "{plate} measures {size}, the profile says {nominal}: {far} thinner; check that these are the right plates"
    )
    thicker = _(
        "{plate} measures {size}, the profile says {nominal}: {far} thicker; check that these are the right plates"
    )
    return tuple(
        (thinner if each.thickness < each.nominal else thicker).format(
            plate=each.name,
            size=f"{show.size(each.thickness)} {show.unit}",
            nominal=show.size(each.nominal),
            far=show.text(abs(each.thickness - each.nominal)),
        )
        for each in plates
        if each.nominal is not None and abs(each.thickness - each.nominal) > _UNLIKE * each.nominal
    )

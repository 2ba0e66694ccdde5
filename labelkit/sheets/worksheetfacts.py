"""What several worksheets say of a part: its step and name, how it sits, its cautions, the boxes of its checks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from labelkit import language
from labelkit.calc.assembly import partners
from labelkit.calc.cautions import LIFT, hazards_at, of_unit, weight_at
from labelkit.calc.profilefit import SHIMS
from labelkit.calc.steps import Bin, Inside, condition
from labelkit.drawing.page import BLACK, WHITE, Box, Item, Pen, line, rectangle
from labelkit.drawing.text import fit_line, wrap
from labelkit.drawing.text import line as text_line
from labelkit.language import gettext as _
from labelkit.model.part import SIGNALS, Check, Hazard, Moment, Part
from labelkit.sheets import waywords, wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.legible import LEAST, em
from labelkit.sheets.worksheet import LEADING, RULE, SMALL, WORDS, WRITE, Strip
from labelkit.sheets.worksheetcells import Boxes, Drawing, Loud, OneLine, Piece, Say, bold, triangle
from labelkit.sheets.worksheettable import Table
from labelkit.units import Quantity

# Boxes for one measurement; more are written on the back.
MOST_BOXES: Final = 60
# Width of the signal words and of the sign before them.
_SIGNAL: Final = 27.0
_SIGN: Final = 5.5


def step_pieces(each: Bin, *, alert: bool = False) -> list[Piece]:
    """Return the step of a bin, with the sign of danger below it."""
    pieces: list[Piece] = [OneLine(each.step_words)]
    if alert:
        pieces.append(Drawing(4.6, triangle(0.2, 0.4, 3.8)))
    return pieces


def part_pieces(view: JobView, each: Bin | Inside, *, count: bool = True, shout: bool = True) -> list[Piece]:
    """Return name, count and what must be shouted of a part, and under which option it is there at all."""
    part = each.part
    many = f" {wording.quantity_words(part)}" if count and part.qty != 1 else ""
    pieces: list[Piece] = [bold(each.name + many)]
    if isinstance(each, Inside):
        pieces.append(Loud((_("STAYS INSIDE"),)))
    elif each.doubtful:
        told = _("only if {condition}: this option is still open")
        told = told.format(condition=condition(view.profile, view.teardown, each))
        pieces.append(Say(told, SMALL))
    # Cautions stand above the row in full, and nothing here is scanned.
    if shout and (loud := wording.loud_words(part)):
        pieces.append(Loud(loud))
    return pieces


def name_of(part: Part) -> str:
    """Return the short name that the profile gives, or else the whole one: paper has room for it."""
    return part.short or part.name


def steps_words(view: JobView, each: Bin | Inside, part: str) -> str:
    """Return the step and name of another part that a bin has to do with, or that it has no bin."""
    found = partners(view.teardown, each, part)
    if not found:
        return view.profile.names.get(part, part)
    steps = ", ".join(other.step_words for other in found)
    return f"{steps} {name_of(found[0].part)}"


def way_pieces(each: Bin | Inside) -> list[Piece]:
    """Return which way a part sits, its clock position, and how to tell."""
    part, sits = each.part, each.part.sits
    words, known = waywords.clock_words(part)
    way = waywords.way(part)
    pieces: list[Piece] = [bold(_("way {way}").format(way=way.text) if way.known == "missing" else way.text)]
    clock = {"known": words, "free": _("clock free"), "missing": _("clock {clock}").format(clock=words)}[known]
    feature = sits.feature if sits else None
    pieces.append(Say(f"{clock}{':' if known == 'known' else ';'} {feature}" if feature else clock))
    if tell := waywords.tell_words(part):
        pieces.append(Say(tell, SMALL))
    if seen := waywords.seen_words(part):
        pieces.append(Say(seen, SMALL))
    return pieces


def limit_pieces(limits: tuple[str, str], cap: float = WORDS) -> list[Piece]:
    """Return limits in their own unit and below that in the other one; `cap`: of the other, mm."""
    own, other = limits
    return [bold(own), Say(f"= {other}" if other else "", cap)]


def seat_pieces(view: JobView, each: Bin | Inside) -> list[Piece]:
    """Return what a part lies on, and what happens if it sits wrongly."""
    sits, pieces = each.part.sits, list[Piece]()
    if sits and sits.on:
        pieces.append(Say(_("on {part}").format(part=steps_words(view, each, sits.on)), SMALL))
    if sits and sits.if_wrong:
        pieces.append(bold(_("if wrong: {what}").format(what=sits.if_wrong), SMALL))
    return pieces


def hazards_of(view: JobView, each: Bin, *moments: Moment) -> list[Hazard]:
    """Return the cautions of a part at some moments, what it weighs and those of none in particular where it is moved.

    Those of what stays inside it are among them, with its name.
    """
    found = hazards_at(each.part, *moments)
    found += [h.model_copy(update={"text": language.said(h.text, (LIFT,))}) for h in weight_at(each.part, *moments)]
    for captured in view.inside.get(each.step, ()):
        for hazard in hazards_at(captured.part, *moments):
            found.append(hazard.model_copy(update={"text": f"{captured.part.name}: {hazard.text}"}))
    return found


def unit_cautions(view: JobView, width: float, *moments: Moment) -> Iterator[Strip]:
    """Yield the cautions of the whole unit at some moments, or at none in particular."""
    yield from cautions(of_unit(view.profile, *moments), width, kept=False)


def is_alert(hazards: Iterable[Hazard]) -> bool:
    """Say whether one of these can hurt somebody: a notice is not about injury."""
    return any(hazard.hurts for hazard in hazards)


def cautions(
    hazards: Sequence[Hazard], width: float, *, head: Strip | None = None, step: str = "", kept: bool = True
) -> Iterator[Strip]:
    """Yield cautions, the worst first, above what they belong to, each with its signal word.

    Those of a step begin with a line.

    Source: meanings of the signal words, and the sign at those about injury only: ANSI Z535.4 (from memory).

    Args:
        hazards: in any order.
        width: mm.
        head: of the table they stand in.
        step: what they belong to; empty for the unit.
        kept: whether the last is not parted from what follows.
    """
    size, pitch = em(WORDS), WORDS * LEADING
    strong = em(WORDS, "bold")
    left = 16.5 if step else 0.0
    for number, hazard in enumerate(sorted(hazards, key=lambda hazard: SIGNALS.index(hazard.signal))):
        told = wrap(hazard.text, width - left - _SIGN - _SIGNAL - 3, size, 999).lines
        height = max(5.2, len(told) * pitch + 1.6)
        items: list[Item] = []
        if step and not number:
            items.append(line(0, 0, width, 0, RULE))
            before = _("before {step}").format(step=step)
            first = fit_line(before, left - 1.5, (em(SMALL, "bold"), em(LEAST, "bold")), "bold")
            items.append(first.at(0.8, 3.7))
        if hazard.hurts:
            items += triangle(left + 0.2, 0.9, 3.7)
        tag = Box(left + _SIGN, 0.8, _SIGNAL - 1, WORDS + 1.6)
        items.append(rectangle(tag, Pen(0.3), BLACK if hazard.hurts else WHITE))
        base = tag.y + (tag.height + WORDS) / 2
        colour = WHITE if hazard.hurts else BLACK
        middle = tag.x + tag.width / 2
        items.append(text_line(wording.signal_word(hazard.signal), middle, base, strong, "bold", "middle", colour))
        for row, words in enumerate(told):
            items.append(text_line(words, left + _SIGN + _SIGNAL + 1, base + row * pitch, size))
        last = number == len(hazards) - 1
        yield Strip(height, tuple(items), f"caution {step}".strip(), head, kept or not last)


def step_cautions(view: JobView, each: Bin, table: Table, *moments: Moment) -> list[Strip]:
    """Return the cautions of a step, to stand right above its row."""
    found = hazards_of(view, each, *moments)
    return list(cautions(found, table.width, head=table.head, step=each.step_words))


def checks_of(view: JobView, *times: str | None) -> Iterator[tuple[Bin | None, Bin | Inside, list[Check]]]:
    """Yield every part with checks at some times, those that stay inside a bin right after it.

    Gives the bin that it lies in (None: none has it), the part's own entry, and the checks.
    """
    for each in view.teardown.bins:
        yield from _with_checks(each, each, times)
        for inside in view.inside.get(each.step, ()):
            yield from _with_checks(each, inside, times)
    for inside in view.inside.get("", ()):
        yield from _with_checks(None, inside, times)


def _with_checks(
    holder: Bin | None, each: Bin | Inside, times: Sequence[str | None]
) -> Iterator[tuple[Bin | None, Bin | Inside, list[Check]]]:
    found = [check for check in each.part.check if check.at in times]
    if found:
        yield holder, each, found


def reading_pieces(check: Check, part: Part) -> list[Piece]:
    """Return the boxes of a check: for every reading of every piece, with mean and spread, or least and most.

    A look gets one to write in: a number, a count, where it was.
    """
    if check.look is not None:
        return [Boxes((_("seen, written down"),), (60.0, WRITE[1]))]
    readings = check.readings or 1
    pieces = check.each or 1
    if part.qty == "set" and check.each is None and readings == 1:
        return [Boxes((*map(str, range(1, SHIMS + 1)), _("sum")))]
    if readings * pieces > MOST_BOXES:
        told = _("{count} pieces").format(count=pieces)
        told += _(", {count} readings of each").format(count=readings) if readings > 1 else ""
        back = _("{what}: write all of them on the back").format(what=told)
        return [Boxes((_("least"), _("most"), _("mean"))), Say(back, SMALL)]
    spread = spread_words(check.spread)
    if pieces == 1:
        return [series_boxes(readings, spread)]
    if readings == 1:
        return [Boxes((*map(str, range(1, pieces + 1)), _("least"), _("most")))]
    found: list[Piece] = []
    for piece in range(1, pieces + 1):
        first, *rest = map(str, range(1, readings + 1))
        found.append(Boxes((_("no. {piece}: {first}").format(piece=piece, first=first), *rest, _("mean"), spread)))
    return found


def spread_words(most: Quantity | None) -> str:
    """Return what stands over the box of a spread; `most`: what it may be, None where nobody says."""
    return _("spread, at most {spread}").format(spread=most) if most else _("spread")


def series_boxes(readings: int, spread: str = "") -> Boxes:
    """Return boxes for readings of one thing, with their mean and spread where there are several."""
    if readings == 1:
        return Boxes((_("reading"),), WRITE)
    return Boxes((*map(str, range(1, readings + 1)), _("mean"), spread or spread_words(None)), WRITE)

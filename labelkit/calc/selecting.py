"""The answer of a selective fit: the choice with its sum, what lies next to it, and what to ask where nothing fits."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final, Literal

from labelkit.calc.answers import Answer, Value, Verdict
from labelkit.calc.readings import Taken, judged
from labelkit.calc.selective import Gap, Pieces, Selection, Solvable, Stack, Target, select, solvable
from labelkit.calc.showing import USUAL_SHOW, Show
from labelkit.language import gettext as _
from labelkit.language import noop

# A change by more steps than this is a suspicion before it is an answer. Common practice, no source.
_FEW_STEPS: Final = 2
_THREE: Final = 3

_SERIES_WORDS: Final[dict[Solvable, str]] = {
    "always": noop("the series has an answer for every play between its ends"),
    "if measured": noop("the series has an answer for every play between its ends only if each piece is measured"),
    "not": noop("the series has no answer for some plays between its ends"),
}

NOTHING_CHOSEN: Final[dict[str, Value]] = {
    "window": None,
    "wanted": None,
    "choice": (),
    "predicted": None,
    "others": (),
}
"""The values of a choice, as `told_selection` tells them, where there can be none."""

What = Literal["play", "clearance"]
"""What is set: the play of a shaft, or the clearance of a pack."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a selective fit is asked for besides the numbers.

    Attributes:
        fit: which sum it is: `end_play`.
        what: is set.
        show: how lengths are told.
        before: play that was read before the teardown, mm; None: nobody did.
        renewed: by how much the new parts in it are together thicker than the old ones, mm.
        stepped: the series was made of steps and not of a list.
    """

    fit: str = "end_play"
    what: What = "play"
    show: Show = USUAL_SHOW
    before: Decimal | None = None
    renewed: Decimal = Decimal(0)
    stepped: bool = False


def selective(
    taken: Taken, target: Target, gap: Gap | None, pieces: Pieces | None, asked: Asked, resolution: Decimal
) -> Answer:
    """Return which pieces set a play; where there is nothing to choose from, what the play itself comes to.

    Args:
        taken: the readings of the play.
        target: where it must lie.
        gap: the play and what was in when it was read; None: nothing is to be chosen.
        pieces: what there is to choose from; None: nothing is to be chosen.
        asked: how to tell it.
        resolution: the smallest step of the gauge, mm.
    """
    if taken.refused:
        return Answer(asked.fit, "refused", taken.told(asked.show) | NOTHING_CHOSEN, taken.sums, taken.notes)
    if gap is None or pieces is None:
        verdict = judged(taken.mean, target.low, target.high, resolution)
        return _judgement(taken, target, asked, verdict)
    selection = select(gap, target, pieces)
    values = taken.told(asked.show) | told_selection(selection, pieces, target, asked.show)
    sums = (*taken.sums, *sum_lines(gap, target, pieces, selection, asked))
    notes = (*taken.notes, *selection_notes(gap, target, pieces, selection, asked))
    return Answer(asked.fit, selection.verdict, values, sums, notes)


def told_selection(selection: Selection, pieces: Pieces, target: Target, show: Show) -> dict[str, Value]:
    """Return the values of a choice from some pieces as an answer tells them."""
    chosen = selection.chosen
    return {
        "window": show.limits(*selection.window),
        "wanted": show.value(selection.wanted),
        "guard": show.value(selection.guard, 1),
        "choice": () if chosen is None else tuple(map(show.size, chosen.stack.pieces)),
        "predicted": None if chosen is None else show.value(chosen.predicted),
        "others": tuple(
            {
                "choice": tuple(map(show.size, each.stack.pieces)),
                "predicted": show.value(each.predicted),
                "outside": show.value(each.outside),
                "risky": each.risky,
            }
            for each in selection.others
        ),
        "series": solvable(pieces, target.width),
    }


def sum_lines(gap: Gap, target: Target, pieces: Pieces, selection: Selection, asked: Asked) -> Iterator[str]:
    """Yield the sum of a choice, line by line, to be checked by hand."""
    show, unit = asked.show, asked.show.unit
    play, fitted = show.text(gap.play), f"{show.size(gap.fitted)!s} {unit}"
    if gap.thicker == "reduces":
        rest = f"{fitted} + {play}" if gap.fitted else play
        thin, wanted, thick = (f"{rest} - {show.text(end)}" for end in (target.high, target.aim, target.low))
    else:
        thin, wanted, thick = (f"{fitted} + {show.text(end)} - {play}" for end in (target.low, target.aim, target.high))
    low, high = show.limits(*selection.window)
    exact = (low, high) == tuple(map(show.converted, selection.window))
    window = _("window = {sum}") if exact else _("window = {sum}, rounded inward")
    yield window.format(sum=f"{thin} ... {thick} = {low!s} ... {high!s} {unit}")
    yield _("wanted = {sum}").format(sum=f"{wanted} = {show.text(selection.wanted)}")
    if selection.guard:
        count = len(selection.chosen.stack.pieces) if selection.chosen else 1
        shares = []
        if gap.uncertainty:
            shares.append(_("{size} of the reading").format(size=show.text(gap.uncertainty, 1)))
        if pieces.tolerance:
            shares.append(_("{size} of the pieces").format(size=f"{count} × {show.text(pieces.tolerance, 1)}"))
        told = _("guard at each end, by which it may be off = {sum}")
        yield told.format(sum=f"{' + '.join(shares)} = {show.text(selection.guard, 1)}")
    yield from _offer_lines(gap, target, selection, asked)


def selection_notes(gap: Gap, target: Target, pieces: Pieces, selection: Selection, asked: Asked) -> Iterator[str]:
    """Yield what is suspicious about a choice, what it assumes and what to ask."""
    show, chosen = asked.show, selection.chosen
    if selection.verdict == "borderline" and chosen is not None:
        yield _doubt(gap, pieces, show, one=len(chosen.stack.pieces) == 1)
    if chosen is None:
        yield from _questions(gap, pieces, selection, asked)
    else:
        edge = min(chosen.predicted - target.low, target.high - chosen.predicted)
        if edge <= target.width / 10:
            yield _("only {size} inside the limit: check that these are the right parts").format(size=show.text(edge))
        if selection.tied and target.tie == "tight":
            yield _("another piece is as near to the wanted size: the tight side is taken")
        elif selection.tied:
            yield _("another piece is as near to the wanted size: the loose side is taken")
        yield from _far_away(gap, pieces, chosen.stack, asked)
        yield _("after fitting measure again; expected {size}").format(size=show.text(chosen.predicted))
    answerable = solvable(pieces, target.width)
    if answerable != "always" and selection.verdict != "ok":
        low, high = (show.size(end) for end in pieces.largest_gap)
        told = _("{answer}: its largest step is {step}, from {low} to {high}, the target is {width} wide")
        yield told.format(
            answer=_(_SERIES_WORDS[answerable]),
            step=show.text(pieces.largest_step),
            low=low,
            high=high,
            width=show.text(target.width),
        )
    if asked.stepped:
        yield _("the series was worked out from steps: check it against the list of sizes that there are")


def _doubt(gap: Gap, pieces: Pieces, show: Show, *, one: bool) -> str:
    """Return that the pieces of a choice must be measured first, and why."""
    off, uncertain = show.text(pieces.tolerance, 1), show.text(gap.uncertainty, 1)
    if pieces.tolerance and gap.uncertainty:
        why = _("each may be {off} off what is stamped on it and the reading is uncertain by {uncertain}")
    elif pieces.tolerance:
        why = _("each may be {off} off what is stamped on it")
    else:
        why = _("the reading is uncertain by {uncertain}")
    told = _("borderline: measure the piece before it goes in; {why}")
    if not one:
        told = _("borderline: measure each piece before it goes in; {why}")
    return told.format(why=why.format(off=off, uncertain=uncertain))


def series(target_width: Decimal, pieces: Pieces, show: Show) -> Answer:
    """Return whether a series has an answer for every play between its ends.

    Args:
        target_width: high end less low end of the target, mm.
        pieces: the series.
        show: how to tell it.
    """
    state = solvable(pieces, target_width)
    tolerance = pieces.tolerance * pieces.most
    low, high = pieces.largest_gap
    narrowed = target_width - 2 * tolerance
    sums = (
        f"largest step = {show.size(high)} {show.unit} - {show.size(low)} {show.unit} "
        f"= {show.text(pieces.largest_step)}",
        f"target width = {show.text(target_width)}",
        f"target width less tolerance at both ends = {show.text(target_width)} - 2 × {show.text(tolerance)} "
        f"= {show.text(narrowed)}",
    )
    values: dict[str, Value] = {
        "unit": show.unit,
        "series": state,
        "largest_step": show.value(pieces.largest_step),
        "width": show.value(target_width),
        "width_unmeasured": show.value(narrowed),
    }
    verdicts: dict[Solvable, Verdict] = {"always": "ok", "if measured": "borderline", "not": "none"}
    return Answer("series", verdicts[state], values, sums, (_SERIES_WORDS[state],))


def _judgement(taken: Taken, target: Target, asked: Asked, verdict: Verdict) -> Answer:
    show = asked.show
    outside = target.outside(taken.mean)
    low, high = show.limits(target.low, target.high)
    # Seen from either limit, so that nobody reads a play that is out as one that is in.
    mean = show.apart(taken.mean, target.low, target.high)
    sums = (*taken.sums, allowed_line(asked, mean, f"{low} ... {high} {show.unit}"))
    notes = taken.notes
    if verdict == "borderline":
        near = min((target.low, target.high), key=lambda limit: abs(limit - taken.mean))
        told = _(
            "{mean} and the limit {limit} differ by less than the gauge shows: "
            "read in the unit of the limit, on a finer gauge, or take three readings"
        )
        if len(taken.values) >= _THREE:
            told = _(
                "{mean} and the limit {limit} differ by less than the gauge shows: "
                "read in the unit of the limit, or on a finer gauge"
            )
        notes += (told.format(mean=mean, limit=show.apart(near, taken.mean)),)
    values = taken.told(show) | {"target": (low, high), "outside": show.value(outside)}
    return Answer(asked.fit, verdict, values, sums, notes)


def allowed_line(asked: Asked, found: str, limits: str) -> str:
    """Return what was found beside what is allowed: `play 0.50 mm, allowed 0.40 ... 0.60 mm`."""
    told = (
        _("clearance {found}, allowed {limits}") if asked.what == "clearance" else _("play {found}, allowed {limits}")
    )
    return told.format(found=found, limits=limits)


def _offer_lines(gap: Gap, target: Target, selection: Selection, asked: Asked) -> Iterator[str]:
    show, unit = asked.show, asked.show.unit
    sign = "-" if gap.thicker == "reduces" else "+"
    told = _("{pieces}: clearance = {sum}") if asked.what == "clearance" else _("{pieces}: play = {sum}")
    before, after = f"{show.text(gap.play)} {sign} ", ""
    if gap.fitted:
        before, after = f"{before}(", f" - {show.size(gap.fitted)!s} {unit})"
    offers = selection.others if selection.chosen is None else (selection.chosen, *selection.others)
    for offer in offers:
        pieces = " + ".join(f"{show.size(each)!s} {unit}" for each in offer.stack.pieces)
        line = f"{before}{pieces}{after} = {show.apart(offer.predicted, target.low, target.high)}"
        if offer.risky:
            line = _("{sum}, inside, but by less than the guard").format(sum=line)
        elif not offer.outside:
            line = _("{sum}, inside").format(sum=line)
        else:
            over = offer.outside > 0
            where = _("{sum}, {far} above {limit}") if over else _("{sum}, {far} below {limit}")
            limit = show.text(target.high if over else target.low)
            line = where.format(sum=line, far=show.distance(abs(offer.outside)), limit=limit)
        yield told.format(pieces=pieces, sum=line)


def _questions(gap: Gap, pieces: Pieces, selection: Selection, asked: Asked) -> Iterator[str]:
    show, nearest = asked.show, selection.others[0]
    size = " + ".join(str(show.size(each)) for each in nearest.stack.pieces)
    over = _("none fits: the nearest, {size}, gives {predicted}, {far} over")
    under = _("none fits: the nearest, {size}, gives {predicted}, {far} under")
    yield (over if nearest.outside > 0 else under).format(
        size=f"{size} {show.unit}", predicted=show.text(nearest.predicted), far=show.distance(abs(nearest.outside))
    )
    if asked.what == "clearance":
        yield _(
            "before buying, ask: are all plates in, the right ones and in order? "
            "A wave plate, where there is one: free or flat?"
        )
    else:
        yield _(
            "before buying, ask: is everything seated, and were the readings taken with the shaft pushed and pulled?"
        )
    if nearest.outside > 0:
        yield _("is a race, a washer, a bearing or a plate missing, or is one in upside down?")
    else:
        yield _("is a part in twice, upside down or not home, or is a burr or dirt under it?")
    if gap.fitted:
        told = _("is {size} really what was in, measured, and of this series?")
        yield told.format(size=f"{show.size(gap.fitted)} {show.unit}")
    if pieces.most == 1:
        yield _("may two pieces be put in together? Only where the manual allows it")


def _far_away(gap: Gap, pieces: Pieces, chosen: Stack, asked: Asked) -> Iterator[str]:
    show, step = asked.show, pieces.largest_size_step
    change = abs(chosen.total - gap.fitted)
    # New plates that are thicker leave less for the piece that sets it: that is no suspicion.
    if step and gap.fitted and min(change, abs(chosen.total - gap.fitted + asked.renewed)) > _FEW_STEPS * step:
        steps = (change / step).to_integral_value()
        told = _(
            "{change} away from what was in, {steps} steps: compare with the reading before the teardown; "
            "a part may be missing, in twice or upside down"
        )
        if asked.before is not None:
            told = _(
                "{change} away from what was in, {steps} steps: compare with the reading before the teardown "
                "({before}); a part may be missing, in twice or upside down"
            )
        before = "" if asked.before is None else show.text(asked.before)
        yield told.format(change=show.text(change), steps=steps, before=before)
    if asked.before is None or not step:
        return
    expected = asked.before - asked.renewed
    if abs(gap.play - expected) > _FEW_STEPS * step:
        told = _(
            "the play was {before} before the teardown and is {now} now: "
            "look for a missing, doubled or inverted part before choosing"
        )
        if asked.what == "clearance":
            told = _(
                "the clearance was {before} before the teardown and is {now} now: "
                "look for a missing, doubled or inverted part before choosing"
            )
        yield told.format(before=show.text(asked.before), now=show.text(gap.play))
        if asked.renewed:
            told = _("new parts in it are {size} thicker together than the old ones: {expected} was to be expected")
            if asked.renewed < 0:
                told = _("new parts in it are {size} thinner together than the old ones: {expected} was to be expected")
            yield told.format(size=show.text(abs(asked.renewed)), expected=show.text(expected))

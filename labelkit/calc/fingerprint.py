"""What a difference between the play that was expected and the play that was found looks like.

A part that is missing or in twice changes the play by its own thickness, two of them by twice that. So does a dial that
lost a turn, by the turn. These are hints: they say where to look, never what is there.

Source: geometry; that such a difference is looked for first: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from labelkit.calc.answers import Answer, Value, Verdict
from labelkit.calc.readings import DIAL_TURNS
from labelkit.calc.selective import Thicker
from labelkit.calc.showing import USUAL_SHOW, Show
from labelkit.language import gettext as _


@dataclass(frozen=True, slots=True)
class ThinPart:
    """A thin part in the chain of a play.

    Attributes:
        name: of the part.
        thickness: of one, mm.
        thicker: what more of it does to the play.
    """

    name: str
    thickness: Decimal
    thicker: Thicker = "reduces"


@dataclass(frozen=True, slots=True)
class Suspect:
    """A part whose thickness is the difference.

    Attributes:
        link: the part.
        pieces: how many of it: one or two.
        missing: less of it is in than was meant; otherwise more.
    """

    link: ThinPart
    pieces: int
    missing: bool

    def words(self, show: Show) -> str:
        """Return it as a question: `1.00 mm is one thrust race: is it missing?`."""
        if self.pieces == 1:
            told = _("{size} is one {part}: is it in once more than it should be, or left in both places?")
            told = _("{size} is one {part}: is it missing?") if self.missing else told
        else:
            told = _(
                "{size} is two times the {part}: are two of them in once more than it should be, "
                "or left in both places?"
            )
            told = _("{size} is two times the {part}: are two of them missing?") if self.missing else told
        size = f"{show.size(self.link.thickness * self.pieces)} {show.unit}"
        return told.format(size=size, part=self.link.name)


def suspects(difference: Decimal, chain: Sequence[ThinPart], tolerance: Decimal) -> Iterator[Suspect]:
    """Yield the parts whose thickness, once or twice, is a difference of play; the nearest first.

    Args:
        difference: play found less play expected, mm.
        chain: the thin parts of the play.
        tolerance: what both plays are uncertain by together, mm.
    """
    found = [(abs(abs(difference) - link.thickness * pieces), pieces, link) for link in chain for pieces in (1, 2)]
    for off, pieces, link in sorted(found, key=lambda each: each[:2]):
        if off <= tolerance:
            yield Suspect(link, pieces, missing=(difference > 0) == (link.thicker == "reduces"))


def fingerprint(
    measured: Decimal, predicted: Decimal, chain: Sequence[ThinPart], tolerance: Decimal, show: Show = USUAL_SHOW
) -> Answer:
    """Return whether a play came out as expected, and what its difference looks like where it did not.

    Args:
        measured: the play as found, mm.
        predicted: the play as expected, mm.
        chain: the thin parts of the play.
        tolerance: what both are uncertain by together, mm.
        show: how to tell it.

    >>> race = ThinPart("thrust race", Decimal("1.0"))
    >>> answer = fingerprint(Decimal("1.41"), Decimal("0.41"), [race], Decimal("0.05"))
    >>> answer.verdict, answer.values["difference"], answer.values["suspects"][0]["missing"]
    ('out', Decimal('1.00'), True)
    """
    difference = measured - predicted
    agree = abs(difference) <= tolerance
    found = () if agree else tuple(suspects(difference, chain, tolerance))
    told: tuple[Value, ...] = tuple(
        {
            "part": each.link.name,
            "thickness": show.size(each.link.thickness),
            "pieces": each.pieces,
            "missing": each.missing,
        }
        for each in found
    )
    values: dict[str, Value] = {
        "unit": show.unit,
        "measured": show.value(measured),
        "expected": show.value(predicted),
        "difference": show.value(difference),
        "tolerance": show.value(tolerance),
        "suspects": told,
    }
    sums = (
        _("difference = {sum}, uncertain by {tolerance}").format(
            sum=f"{show.text(measured)} - {show.text(predicted)} = {show.signed(difference)}",
            tolerance=show.apart(tolerance, abs(difference)),
        ),
    )
    notes = (_("as expected"),) if agree else tuple(_notes(difference, chain, found, tolerance, show))
    return Answer("fingerprint", "ok" if agree else "out", values, sums, notes)


def recheck(
    judgement: Answer, measured: Decimal, expected: Decimal, chain: Sequence[ThinPart], tolerance: Decimal, show: Show
) -> Answer:
    """Return a play that was measured after fitting: against its target, and against what was expected.

    Inside the target but not as expected is unexpected: something is not as it was thought to be.

    Args:
        judgement: the play against its target.
        measured: the play, mm.
        expected: as it was worked out before, mm.
        chain: the thin parts of the play.
        tolerance: what both are uncertain by together, mm.
        show: how to tell it.
    """
    if judgement.verdict in ("refused", "ask"):
        return judgement
    found = fingerprint(measured, expected, chain, tolerance, show)
    verdict: Verdict = "unexpected" if (judgement.verdict, found.verdict) == ("ok", "out") else judgement.verdict
    return Answer(
        judgement.fit,
        verdict,
        {**judgement.values, **found.values},
        (*judgement.sums, *found.sums),
        (*judgement.notes, *found.notes),
    )


def _notes(
    difference: Decimal, chain: Sequence[ThinPart], found: Sequence[Suspect], tolerance: Decimal, show: Show
) -> Iterator[str]:
    yield from (each.words(show) for each in found)
    turn = next((turn for turn in DIAL_TURNS if abs(abs(difference) - turn) <= tolerance), None)
    if turn:
        told = _("{size} is also one turn of a dial: read again and watch the small hand")
        yield told.format(size=f"{show.size(turn)} {show.unit}")
    if not found:
        names = ", ".join(f"{link.name} {show.size(link.thickness)} {show.unit}" for link in chain)
        told = _(
            "no part of the chain has this thickness ({parts}): is a part upside down or not home, or is dirt under it?"
        )
        yield told.format(parts=names or _("the chain names none"))
    yield _("a hint only: look before anything is bought or signed")

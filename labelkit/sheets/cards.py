"""Cards: what a scan opens. One structure, shown as a page, as lines of a terminal and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from typing import Any, Final

from labelkit.calc.codes import grouped
from labelkit.calc.steps import Bin, Inside
from labelkit.errors import NotFoundError
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.part import SIGNALS, Hazard
from labelkit.sheets import waywords, wording
from labelkit.sheets.cardsections import Section, sections_of
from labelkit.sheets.jobview import JobView
from labelkit.sheets.waywords import Known, Way

_DEFER: Final = noop("Local rules, the shop's own rules and trained, licensed people come before this card.")


@dataclass(frozen=True, slots=True)
class Caution:
    """One hazard: its signal word, when it threatens (may be empty), and what it is."""

    signal: str
    when: str
    text: str

    @property
    def word(self) -> str:
        """The signal word, in capitals."""
        return wording.signal_word(self.signal)


@dataclass(frozen=True, slots=True)
class NewPart:
    """What the card of a sticker says besides: which new part it is, its order number, and what to do with the old."""

    name: str
    number: str
    note: str


@dataclass(frozen=True, slots=True)
class Card:
    """One part, as the person at the bench needs it.

    Attributes:
        code: of the bin, or of the sticker that was scanned, without hyphens.
        step: place in the removal order; of a part that stays inside another, that of the bin it stays in.
        doubtful: an option that is still open decides whether the part is there.
        number, total: the bin's place among the bins of this job, from 1, and how many there are; 0: it stays inside.
        unit: the unit's name.
        job: mark of the unit, job and serial number.
        hazards: of this part, the worst first.
        unit_hazards: the same for the whole unit.
        loud: what must be shouted besides.
        way, clock: how it sits; `clock_known` says whether that is known, free or not recorded.
        clock_from: from where a known clock position is read, and what is at 12; may be empty.
        seen: who saw how it sits and when, where the record knows it and not the profile; else empty.
        photo: path of its picture in the profile, None when there is none.
        footer: unit, revision, options, source, and what comes before this card.
        new: the new part whose sticker was scanned; None for the label of the bin.
    """

    code: str
    step: str
    doubtful: bool
    number: int
    total: int
    name: str
    quantity: str
    unit: str
    job: str
    hazards: tuple[Caution, ...]
    unit_hazards: tuple[Caution, ...]
    loud: tuple[str, ...]
    way: Way
    clock: str
    clock_known: Known
    clock_from: str
    seen: str
    sections: tuple[Section, ...]
    photo: str | None
    footer: tuple[str, ...]
    new: NewPart | None = None

    @property
    def turn(self) -> str:
        """The bin's place among the bins, `bin 3 of 53`, or that the part stays inside one."""
        if not self.number:
            return _("inside step {step}").format(step=self.step)
        return _("bin {number} of {total}").format(number=self.number, total=self.total)

    @property
    def step_words(self) -> str:
        """Its step, a question mark where an open option decides whether it is there; `in 16` of what is inside."""
        words = self.step + "?" * self.doubtful
        return words if self.number else _("in {step}").format(step=words)

    @property
    def code_text(self) -> str:
        """The code in groups of four."""
        return grouped(self.code)


def card(view: JobView, each: Bin | Inside) -> Card:
    """Return the card of a bin, or what is known of a part that stays inside one.

    Args:
        view: the job.
        each: what it is of; how it was seen to sit is told where its part says so.

    Raises:
        NotFoundError: it stays inside the unit itself, and no bin has its card.
    """
    part, header = each.part, view.profile.unit
    held = view.bin_holding(each)
    if held is None:
        raise NotFoundError(f"{part.name}: stays inside the unit, in no bin, and has no card")
    clock, clock_known = waywords.clock_words(part)
    facing = _("seen from {end}").format(end=header.clock_from) if header.clock_from else ""
    twelve = _("12 is {where}").format(where=header.twelve) if header.twelve else ""
    inside = view.inside.get(held.step, ()) if held is each else ()
    return Card(
        code=view.code(held),
        step=held.step,
        doubtful=held.doubtful,
        number=view.teardown.places[held.step] + 1 if held is each else 0,
        total=len(view.teardown.bins),
        name=each.name,
        quantity=wording.quantity_words(part),
        unit=header.name,
        job=" · ".join(_job_words(view)),
        hazards=_hazards(part.hazards, inside),
        unit_hazards=_hazards(view.profile.hazards),
        loud=wording.loud_words(part, [i.part for i in inside]),
        way=waywords.way(part),
        clock=clock,
        clock_known=clock_known,
        clock_from=", ".join(filter(None, (facing, twelve))) if clock_known == "known" else "",
        seen=waywords.seen_words(part),
        sections=sections_of(view, each),
        photo=part.photo,
        footer=_footer(view),
    )


def new_card(view: JobView, each: Bin | Inside, number: str = "", *, lost: bool = False) -> Card:
    """Return the card that the sticker of a new part opens; arguments and errors as for `card`.

    Args:
        view: the job.
        each: the part.
        number: its order number as the record has it, of the size that was chosen; empty: as the profile has it.
        lost: no old one is there that could be kept.
    """
    shown, part = card(view, each), each.part
    inside = _("{name}, which goes inside step {step}").format(name=part.name, step=shown.step)
    name = each.name if isinstance(each, Bin) else inside
    number = number or (_("by its size") if part.series else part.number or wording.not_recorded())
    told = _("Its sticker takes the place of the old label. Keep the old part, tagged, to sign-off.")
    if lost:
        told = _("When it lies ready, its sticker takes the place of the old label.")
    elif part.qty != 1:
        told = _(
            "Where all are new, its sticker takes the place of the old label. Keep old parts, tagged, to sign-off."
        )
    return replace(shown, code=view.new_code(each), new=NewPart(name, number, told))


def _job_words(view: JobView) -> Iterator[str]:
    yield view.profile.unit.mark
    yield _("job {number}").format(number=view.job.number)
    if view.job.serial:
        yield _("serial {serial}").format(serial=view.job.serial)


def _footer(view: JobView) -> tuple[str, ...]:
    header = view.profile.unit
    lines = [header.name, _("profile revision {revision}").format(revision=header.revision)]
    if words := view.option_names():
        lines.append(words)
    if source := wording.source_words(header):
        lines.append(_("source: {source}").format(source=source))
    return (*lines, _(_DEFER))


def _hazards(hazards: tuple[Hazard, ...], inside: tuple[Inside, ...] = ()) -> tuple[Caution, ...]:
    """Return cautions, the worst first; those of parts that stay inside have no other card to stand on."""
    found = [(hazard, "") for hazard in hazards]
    found += [(hazard, f"{captured.part.name}: ") for captured in inside for hazard in captured.part.hazards]
    found.sort(key=lambda pair: SIGNALS.index(pair[0].signal))
    return tuple(
        Caution(hazard.signal, _(wording.HAZARD_AT[hazard.at]) if hazard.at else "", whose + hazard.text)
        for hazard, whose in found
    )


def card_data(shown: Card) -> dict[str, Any]:
    """Return a card as plain data for JSON, said in the language that was spoken when the card was made."""
    return asdict(shown, dict_factory=_told)


def _told(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    # These are for who makes other texts of a card.
    return {name: value for name, value in pairs if name not in ("kind", "bin_step")}

"""Cards: what a scan opens. One structure, shown as a page, as terminal lines and as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any, Final

from labelkit.calc.assembly import partners
from labelkit.calc.codes import grouped
from labelkit.calc.steps import Bin, Inside, condition
from labelkit.model.part import SIGNALS, Hazard, Part
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.wording import Known, Way

DEFER: Final = "Local rules, the shop's own rules and trained, licensed people come before this card."
# How many steps before and after in assembly a card names; more would not be read.
NEIGHBOURS: Final = 3
# What a card says it does not know; other facts do not apply to every part.
_ASKED: Final = ("Wash", "New part", "Size", "Mass")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a section: a label, its words, and the card it leads to.

    Attributes:
        label: what it is about.
        text: the words; the name of another card where there is a code.
        note: more about it, may be empty.
        code: the code of another card, None for plain words.
        tone: `loud`, `missing` or plain.
    """

    label: str
    text: str
    note: str = ""
    code: str | None = None
    tone: str = ""

    @property
    def words(self) -> str:
        """All its words on one line."""
        return "; ".join(filter(None, (self.text, self.note)))


@dataclass(frozen=True, slots=True)
class Section:
    """A titled group of lines."""

    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class Caution:
    """One hazard: its signal word, when it threatens (may be empty), and what it is."""

    signal: str
    when: str
    text: str


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
        step: place in the removal order.
        number, total: the bin's place among the bins of this job, from 1, and how many there are.
        unit: the unit's name.
        job: mark of the unit, job and serial number.
        hazards: of this part, the worst first.
        unit_hazards: the same for the whole unit.
        loud: what must be shouted besides.
        way, clock: how it sits; `clock_known` says whether that is known, free or not recorded.
        clock_from: from where a known clock position is read, and what is at 12; may be empty.
        photo: path of its picture in the profile, None when there is none.
        footer: unit, revision, options, source, and what comes before this card.
        new: the new part whose sticker was scanned; None for the label of the bin.
    """

    code: str
    step: str
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
    sections: tuple[Section, ...]
    photo: str | None
    footer: tuple[str, ...]
    new: NewPart | None = None

    @property
    def code_text(self) -> str:
        """The code in groups of four."""
        return grouped(self.code)


def card(view: JobView, each: Bin, new: Bin | Inside | None = None) -> Card:
    """Return the card of a bin; `new`: as the card of the new part of this place, that of the bin or one inside it."""
    part, header = each.part, view.profile.unit
    clock, clock_known = wording.clock_words(part)
    facing = f"seen from {header.clock_from}" if header.clock_from else ""
    twelve = f"12 is {header.twelve}" if header.twelve else ""
    inside = view.inside.get(each.step, ())
    makers = (_sitting, _stack, _watch, _coming_out, _inspection, _fits, _assembly, _tightening, _details)
    sections = tuple(section for maker in makers if (section := maker(view, each)).lines)
    return Card(
        code=view.code(each) if new is None else view.new_code(new),
        step=each.step,
        number=view.teardown.places[each.step] + 1,
        total=len(view.teardown.bins),
        name=each.name,
        quantity=wording.quantity_words(part),
        unit=header.name,
        job=" · ".join(_job_words(view)),
        hazards=_hazards(part.hazards, inside),
        unit_hazards=_hazards(view.profile.hazards),
        loud=wording.loud_words(part, inside=[i.part for i in inside], on_card=True),
        way=wording.way(part),
        clock=clock,
        clock_known=clock_known,
        clock_from=", ".join(filter(None, (facing, twelve))) if clock_known == "known" else "",
        sections=sections,
        photo=part.photo,
        footer=_footer(view),
        new=None if new is None else _new_part(each, new),
    )


def _new_part(each: Bin, new: Bin | Inside) -> NewPart:
    part = new.part
    name = new.name if isinstance(new, Bin) else f"{part.name}, which goes inside step {each.step}"
    number = "by its size" if part.series else part.number or wording.not_recorded()
    return NewPart(
        name, number, "Its sticker takes the place of the old label. Keep the old part, tagged, to sign-off."
    )


def cards(view: JobView) -> tuple[Card, ...]:
    """Return the cards of a job, in removal order."""
    return tuple(card(view, each) for each in view.teardown.bins)


def _job_words(view: JobView) -> Iterator[str]:
    yield view.profile.unit.mark
    yield f"job {view.job.number}"
    if view.job.serial:
        yield f"serial {view.job.serial}"


def _footer(view: JobView) -> tuple[str, ...]:
    header = view.profile.unit
    lines = [header.name, f"profile revision {header.revision}"]
    if words := view.option_words():
        lines.append(words)
    if header.source:
        lines.append(f"source: {header.source}")
    return (*lines, DEFER)


def _hazards(hazards: tuple[Hazard, ...], inside: tuple[Inside, ...] = ()) -> tuple[Caution, ...]:
    """Return cautions, the worst first; those of parts that stay inside have no other card to stand on."""
    found = [(hazard, "") for hazard in hazards]
    found += [(hazard, f"{captured.part.name}: ") for captured in inside for hazard in captured.part.hazards]
    found.sort(key=lambda pair: SIGNALS.index(pair[0].signal))
    return tuple(
        Caution(hazard.signal, wording.HAZARD_AT[hazard.at] if hazard.at else "", whose + hazard.text)
        for hazard, whose in found
    )


def _link(view: JobView, each: Bin, label: str, part: str, note: str = "", tone: str = "") -> Iterator[Line]:
    """Yield one line for each bin of a part id that a bin has to do with, leading to its card."""
    bins = partners(view.teardown, each, part)
    for other in bins:
        yield _bin_line(view, label, other, note, tone)
    if not bins:
        stays = next((i for i in view.teardown.inside if i.part.id == part), None)
        if stays is not None:
            yield Line(label, f"{stays.part.name}, which stays inside", note, tone=tone)
        else:
            name = view.profile.names.get(part, part)
            yield Line(label, f"{name}, which is not in this unit", note, tone=tone)


def _bin_line(view: JobView, label: str, each: Bin, note: str = "", tone: str = "") -> Line:
    return Line(label, f"step {each.step}{'?' * each.doubtful} · {each.name}", note, view.code(each), tone)


def _step_line(view: JobView, label: str, step: str, note: str = "") -> Line:
    return _bin_line(view, label, view.teardown.at(step), note)


def _sitting(view: JobView, each: Bin) -> Section:
    part, sits = each.part, each.part.sits
    lines: list[Line] = []
    if sits:
        if sits.up and sits.up != "free":
            if wording.looks_toward(sits.up):
                lines.append(Line("Faces", sits.up))
            else:
                lines.append(Line("Up", f"{sits.up} ({view.profile.unit.up} is up)"))
        if sits.on:
            lines.extend(_link(view, each, "Lies on", sits.on))
        clock, known = wording.clock_words(part)
        mark = f"At {clock}" if known == "known" else "Lines up"
        for label, text in ((mark, sits.feature), ("Tell", sits.tell)):
            if text:
                lines.append(Line(label, text))
        if sits.if_wrong:
            lines.append(Line("If wrong", sits.if_wrong, tone="loud"))
    return Section("How it sits", tuple(lines))


def _stack(view: JobView, each: Bin) -> Section:
    """Return the plates of a stack, each with the card of its bin."""
    plates = each.part.stack
    lines: list[Line] = []
    for number, name in enumerate(plates, start=1):
        same = [found for found in view.teardown.of(name) if found.copies == 1 or found.copy == each.copy]
        for found in same[:1]:
            words = f"step {found.step} · {wording.short_name(found.part)}"
            lines.append(Line(str(number), words, code=view.code(found)))
    against = each.part.stack_from or "end it came from"
    return Section(f"Stack of {len(plates)}: 1 lies against the {against}", tuple(lines))


def _watch(view: JobView, each: Bin) -> Section:
    part = each.part
    lines: list[Line] = []
    if part.out and part.out.look_under:
        lines.append(Line("Look underneath", part.out.look_under, tone="loud"))
    for other in part.look_alike:
        lines.extend(_link(view, each, "Not the same as", other.part, other.tell or "", tone="loud"))
    for name in part.pair:
        lines.extend(_link(view, each, "Matched with", name))
    for name in part.keep_with:
        lines.extend(_link(view, each, "Keep with", name))
    for captured in view.inside.get(each.step, ()):
        lines.append(Line("Stays inside", captured.part.name, "feel it, do not hunt for it", tone="loud"))
    if each.doubtful:
        lines.append(Line("Only if", condition(view.profile, part), "this option is still open", tone="missing"))
    return Section("Watch out", tuple(lines))


def _coming_out(view: JobView, each: Bin) -> Section:
    part = each.part
    lines: list[Line] = []
    if part.held:
        lines.append(Line("Held", wording.HELD[part.held.by]))
        if part.held.part:
            lines.extend(_link(view, each, "Held by", part.held.part))
    if part.out:
        if part.out.by:
            lines.append(Line("By", part.out.by))
        if part.out.tool:
            lines.append(Line("Tool", view.profile.tools[part.out.tool]))
        if part.out.together:
            lines.extend(_link(view, each, "Comes out with", part.out.together))
        if part.out.note:
            lines.append(Line("Note", part.out.note))
    if each.parent:
        lines.append(_step_line(view, "Belongs to", each.parent))
    return Section("Taking it out", tuple(lines))


def _inspection(view: JobView, each: Bin) -> Section:
    feeds = ", ".join(share.name for share in view.profile.fits_of(each.part.id))
    lines = []
    for check in each.part.check:
        when = wording.CHECK_AT[check.at].capitalize() if check.at else "Check"
        notes = (
            f"for {feeds}" if check.keep and feeds else "",
            f"otherwise: {check.otherwise}" if check.otherwise else "",
        )
        lines.append(Line(when, wording.check_words(check), "; ".join(filter(None, notes))))
    return Section("Inspect", tuple(lines))


def _fits(view: JobView, each: Bin) -> Section:
    """Return the plays, clearances and preloads that the part counts for."""
    lines: list[Line] = []
    for share in view.profile.fits_of(each.part.id):
        sets = "set by this part" if share.sets else ""
        lines.append(
            Line(share.name.capitalize(), wording.fit_words(share.fit), sets, tone="loud" if share.sets else "")
        )
        if share.fit.seat:
            lines.append(Line("Seat it", ", ".join(share.fit.seat)))
    return Section("Set", tuple(lines))


def _assembly(view: JobView, each: Bin) -> Section:
    index, placed = view.placed[each.step]
    lines: list[Line] = []
    if placed.group:
        rules = [rule for rule in view.profile.assembly if each.part.id in rule.join]
        because = "; ".join(rule.because for rule in rules if rule.because)
        lines.append(Line("Goes in as part of", placed.group, because))
        lines.extend(Line("Tool", view.profile.tools[rule.tool]) for rule in rules if rule.tool)
    lines.extend(_step_line(view, "Must be in first", need.step, need.why) for need in placed.needs)
    before = view.order[max(0, index - 1) : index]
    after = view.order[index + 1 : index + 1 + NEIGHBOURS]
    lines.extend(_step_line(view, "Just before", entry.bin.step) for entry in before)
    lines.extend(_step_line(view, "Then" if k else "Next", entry.bin.step) for k, entry in enumerate(after))
    return Section(f"Assembly: {index + 1} of {len(view.order)}", tuple(lines))


def _tightening(_view: JobView, each: Bin) -> Section:
    part = each.part
    lines: list[Line] = []
    if part.thread == "left":
        lines.append(Line("Thread", "LEFT-HAND", "turn clockwise to loosen", tone="loud"))
    if part.fasten:
        lines.append(Line("Tighten", wording.fasten_words(part.fasten, part.qty)))
    return Section("Tighten", tuple(lines))


def _details(view: JobView, each: Bin) -> Section:
    part = each.part
    facts = (
        ("Place", view.place_words(each)),
        ("Wash", wording.WASH[part.wash].lower() if part.wash else ""),
        ("New part", wording.renew_words(part, view.profile.names)),
        ("Number", part.number or ""),
        ("Pack", f"{part.pack} in a pack" if part.pack else ""),
        ("Size", wording.size_words(part.form)),
        ("Mass", wording.mass_words(part)),
        ("Graded", _series_words(view, part)),
    )
    lines = [Line(label, text) for label, text in facts if text]
    missing = [label.lower() for label, text in facts if label in _ASKED and not text]
    if missing:
        lines.append(Line("NOT RECORDED", ", ".join(missing), tone="missing"))
    return Section("Part", tuple(lines))


def _series_words(view: JobView, part: Part) -> str:
    if part.series is None:
        return ""
    sizes = view.profile.series[part.series].listed()
    return f"{', '.join(str(size.value) for size in sizes)} {sizes[0].unit}; measure it, marks are only a hint"


def card_lines(shown: Card) -> list[str]:
    """Return a card as lines for a terminal, the most important first."""
    new = shown.new
    lines = [
        *([f"NEW PART   {new.name}   number {new.number}", new.note, ""] if new else []),
        f"STEP {shown.step}   {shown.name}   {shown.quantity}",
        f"bin {shown.number} of {shown.total} · {shown.job} · {shown.code_text}",
        *_caution_lines(shown.hazards),
        *([" · ".join(shown.loud)] if shown.loud else []),
        "",
        f"Which way up   {shown.way.text}",
        f"Clock          {shown.clock}" + (f" ({shown.clock_from})" if shown.clock_from else ""),
    ]
    for section in shown.sections:
        lines += ["", section.title]
        lines += [f"  {line.label}: {line.words}" for line in section.lines]
    if shown.unit_hazards:
        lines += ["", "For the whole unit", *(f"  {line}" for line in _caution_lines(shown.unit_hazards))]
    return [*lines, "", *shown.footer]


def _caution_lines(cautions: tuple[Caution, ...]) -> Iterator[str]:
    for each in cautions:
        yield f"{each.signal.upper()}" + (f", {each.when}" if each.when else "") + f": {each.text}"


def card_data(shown: Card) -> dict[str, Any]:
    """Return a card as plain data for JSON."""
    return asdict(shown)

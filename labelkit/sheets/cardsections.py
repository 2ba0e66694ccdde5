"""The sections of a card: what somebody at the bench must know of a part, line by line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from labelkit.calc.assembly import captured_first, pack_of, parted_by, partners
from labelkit.calc.steps import Bin, Inside, condition
from labelkit.language import gettext as _
from labelkit.language import pgettext
from labelkit.model.facewords import tells_itself
from labelkit.model.part import Part
from labelkit.model.relations import why_words
from labelkit.sheets import waywords, wording
from labelkit.sheets.jobview import JobView

# How many steps before and after in assembly a card names; more would not be read.
_NEIGHBOURS: Final = 3


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a section: a label, its words, and the card it leads to.

    Attributes:
        label: what it is about.
        text: the words; the name of another card where there is a code.
        note: more about it, may be empty.
        code: the code of another card, None for plain words.
        tone: `loud`, `missing` or plain.
        kind: for who looks for lines of one kind, whatever the language: `tighten`, `first`, `limits`, or plain.
        bin_step: of the bin that it leads to; empty for plain words.
    """

    label: str
    text: str
    note: str = ""
    code: str | None = None
    tone: str = ""
    kind: str = field(default="", compare=False)
    bin_step: str = field(default="", compare=False)

    @property
    def words(self) -> str:
        """All its words on one line."""
        return "; ".join(filter(None, (self.text, self.note)))


@dataclass(frozen=True, slots=True)
class Section:
    """A titled group of lines; `kind` says of what, whatever the language: `sits`, `out` and so on."""

    title: str
    lines: tuple[Line, ...]
    kind: str = field(default="", compare=False)


def sections_of(view: JobView, each: Bin | Inside) -> tuple[Section, ...]:
    """Return the sections that have anything to say of a part, in the order of a card."""
    makers = (_sitting, _stack, _watch, _coming_out, _inspection, _fits, _assembly, _tightening, _details)
    return tuple(section for maker in makers if (section := maker(view, each)).lines)


def _link(view: JobView, each: Bin | Inside, label: str, part: str, note: str = "", tone: str = "") -> Iterator[Line]:
    """Yield one line for each bin of a part id that a bin has to do with, leading to its card."""
    bins = partners(view.teardown, each, part)
    for other in bins:
        yield _bin_line(view, label, other, note, tone)
    if not bins:
        stays = next((i for i in view.teardown.inside if i.part.id == part), None)
        if stays is not None:
            told = _("{name}, which stays inside").format(name=stays.part.name)
            yield Line(label, told, note, tone=tone)
        else:
            name = view.profile.names.get(part, part)
            # The same part stands in the profile once for each version: the one that is here is told already.
            if all(other.name != name for other in view.teardown.bins):
                yield Line(label, _("{name}, which is not in this unit").format(name=name), note, tone=tone)


def _bin_line(view: JobView, label: str, each: Bin, note: str = "", tone: str = "", kind: str = "") -> Line:
    step = _("step {step}").format(step=each.step_words)
    return Line(label, f"{step} · {each.name}", note, view.code(each), tone, kind, each.step_words)


def _step_line(view: JobView, label: str, step: str, note: str = "", kind: str = "") -> Line:
    return _bin_line(view, label, view.teardown.at(step), note, kind=kind)


def _sitting(view: JobView, each: Bin | Inside) -> Section:
    part, sits = each.part, each.part.sits
    lines: list[Line] = []
    if sits:
        if sits.up and sits.up != "free":
            if tells_itself(sits.up):
                lines.append(Line(_("Faces"), sits.up))
            else:
                lines.append(Line(_("Up"), _("{face} ({end} is up)").format(face=sits.up, end=view.profile.unit.up)))
        if sits.on:
            lines.extend(_link(view, each, _("Lies on"), sits.on))
        clock, known = waywords.clock_words(part)
        mark = _("At {clock}").format(clock=clock) if known == "known" else _("Lines up")
        for label, text in ((mark, sits.feature), (_("Tell"), waywords.tell_words(part))):
            if text:
                lines.append(Line(label, text))
        if sits.if_wrong:
            lines.append(Line(_("If wrong"), sits.if_wrong, tone="loud"))
    if isinstance(each, Bin) and (pack := pack_of(view.teardown, each)):
        lines.append(_bin_line(view, _("Plate order"), pack))
    return Section(_("How it sits"), tuple(lines), "sits")


def _stack(view: JobView, each: Bin | Inside) -> Section:
    """Return the plates of a stack, each with the card of its bin."""
    plates = each.part.stack
    lines: list[Line] = []
    for number, name in enumerate(plates, start=1):
        for found in partners(view.teardown, each, name)[:1]:
            words = _("step {step}").format(step=found.step) + f" · {wording.short_name(found.part)}"
            lines.append(Line(str(number), words, code=view.code(found)))
    against = each.part.stack_from or _("end it came from")
    title = _("Stack of {count}: 1 lies against the {end}").format(count=len(plates), end=against)
    return Section(title, tuple(lines), "stack")


def _watch(view: JobView, each: Bin | Inside) -> Section:
    part = each.part
    lines: list[Line] = []
    if part.out and part.out.look_under:
        lines.append(Line(_("Look underneath"), part.out.look_under, tone="loud"))
    for other in part.look_alike:
        lines.extend(_link(view, each, _("Do not mix up with"), other.part, other.tell or "", tone="loud"))
    for name in part.pair:
        lines.extend(_link(view, each, _("Matched with"), name))
    for name in part.keep_with:
        lines.extend(_link(view, each, _("Keep with"), name))
    for captured in view.inside.get(each.step, ()) if isinstance(each, Bin) else ():
        lines.append(Line(_("Stays inside"), captured.part.name, _("feel it, do not hunt for it"), tone="loud"))
    if when := condition(view.profile, view.teardown, each):
        lines.append(Line(_("Only if"), when, _("this option is still open"), tone="missing"))
    return Section(_("Watch out"), tuple(lines), "watch")


def _coming_out(view: JobView, each: Bin | Inside) -> Section:
    part = each.part
    lines = _left_hand(part, _("turn clockwise to loosen"))
    if part.held:
        lines.append(Line(_("Held"), _(wording.HELD[part.held.by])))
        if part.held.part:
            lines.extend(_link(view, each, _("Held by"), part.held.part))
    if part.out:
        if part.out.by:
            lines.append(Line(pgettext("taken out how", "By"), part.out.by))
        if part.out.tool:
            lines.append(Line(_("Tool"), view.profile.tools[part.out.tool]))
        if part.out.together:
            lines.extend(_link(view, each, _("Comes out with"), part.out.together))
        if part.out.note:
            lines.append(Line(_("Note"), part.out.note))
    if each.parent:
        lines.append(_step_line(view, _("Belongs to"), each.parent))
    return Section(_("Taking it out"), tuple(lines), "out")


def _inspection(view: JobView, each: Bin | Inside) -> Section:
    feeds = ", ".join(share.name for share in view.profile.fits_of(each.part.id))
    lines = []
    for check in each.part.check:
        when = wording.capital(_(wording.CHECK_AT[check.at])) if check.at else _("Check")
        notes = (
            _("for {fits}").format(fits=feeds) if check.keep and feeds else "",
            _("otherwise: {what}").format(what=check.otherwise) if check.otherwise else "",
        )
        kind = "limits" if check.measure and (check.min or check.max) else ""
        lines.append(Line(when, wording.check_words(check), "; ".join(filter(None, notes)), kind=kind))
    return Section(_("Inspect"), tuple(lines), "inspect")


def _fits(view: JobView, each: Bin | Inside) -> Section:
    """Return the plays, clearances and preloads that the part counts for."""
    lines: list[Line] = []
    for share in view.profile.fits_of(each.part.id):
        sets = _("set by this part") if share.sets else ""
        tone, kind = ("loud", "limits") if share.sets else ("", "")
        lines.append(Line(share.name.capitalize(), wording.fit_words(share.fit), sets, tone=tone, kind=kind))
        if share.fit.seat:
            lines.append(Line(_("Seat it"), ", ".join(share.fit.seat)))
    return Section(pgettext("fits", "Set"), tuple(lines), "fits")


def _assembly(view: JobView, each: Bin | Inside) -> Section:
    return _order_of(view, each) if isinstance(each, Bin) else _order_inside(view, each)


def _order_inside(view: JobView, each: Inside) -> Section:
    """Return what a captured part, where it is renewed, comes after and goes in before."""
    lines: list[Line] = []
    for step, inner in captured_first(view.order).items():
        for mine in (within for within in inner if within.item.ordinal == each.ordinal):
            for other in (within.item for within in inner if within.item.ordinal in mine.after):
                why = why_words(mine.after[other.ordinal])
                lines.append(Line(_("Must be in first"), other.part.name, why, kind="first"))
            lines.append(_step_line(view, _("Next"), step, why_words(mine.why)))
    return Section(pgettext("putting together", "Assembly"), tuple(lines), "assembly")


def _order_of(view: JobView, each: Bin) -> Section:
    index, placed = view.placed[each.step]
    lines: list[Line] = []
    if placed.group:
        rules = [rule for rule in view.profile.assembly if each.part.id in rule.join]
        because = "; ".join(rule.because for rule in rules if rule.because)
        lines.append(Line(_("Goes in as part of"), placed.group, because))
        lines.extend(Line(_("Tool"), view.profile.tools[rule.tool]) for rule in rules if rule.tool)
    for need in placed.needs:
        label = _("Some of it must be in first") if need.some else _("Must be in first")
        lines.append(_step_line(view, label, need.step, why_words(need.why), "first"))
    for other in parted_by(view.order, each.step):
        lines.append(_step_line(view, _("Not all of it before"), other.step, _("the rest goes in after that")))
    for inner in view.renewed_first(placed):
        told = _("where renewed: {part}").format(part=inner.item.part.name)
        lines.append(Line(_("Must be in first"), told, why_words(inner.why), kind="first"))
    before = view.order[max(0, index - 1) : index]
    after = view.order[index + 1 : index + 1 + _NEIGHBOURS]
    lines.extend(_step_line(view, _("Just before"), entry.bin.step) for entry in before)
    lines.extend(_step_line(view, _("Then") if k else _("Next"), entry.bin.step) for k, entry in enumerate(after))
    title = _("Assembly: {place} of {count}").format(place=index + 1, count=len(view.order))
    return Section(title, tuple(lines), "assembly")


def _left_hand(part: Part, turn: str) -> list[Line]:
    return [Line(_("Thread"), _("LEFT-HAND"), turn, tone="loud")] if part.thread == "left" else []


def _tightening(_view: JobView, each: Bin | Inside) -> Section:
    part = each.part
    lines = _left_hand(part, _("turn counter-clockwise to tighten"))
    if part.fasten:
        lines.append(Line(_("Tighten"), wording.fasten_words(part.fasten, part.qty), kind="tighten"))
    return Section(_("Tighten"), tuple(lines), "tighten")


def _details(view: JobView, each: Bin | Inside) -> Section:
    part = each.part
    # With what a card says it does not know; other facts do not apply to every part.
    facts = (
        (_("Place"), view.place_words(each) if isinstance(each, Bin) else "", ""),
        (_("Wash"), wording.wash_words(part, view.parts_inside(each)), "" if part.new_only else _("wash")),
        (_("New part"), wording.renew_words(part, view.profile.names), _("new part")),
        (_("Number"), part.number or "", ""),
        (_("Pack"), _("{count} in a pack").format(count=part.pack) if part.pack else "", ""),
        (_("Size"), wording.size_words(part.form), _("size")),
        (_("Mass"), wording.mass_words(part), _("mass")),
        (_("Graded"), _series_words(view, part), ""),
    )
    lines = [Line(label, text) for label, text, _unknown in facts if text]
    missing = [unknown for _label, text, unknown in facts if unknown and not text]
    if missing:
        lines.append(Line(wording.not_recorded(), ", ".join(missing), tone="missing"))
    return Section(_("Part"), tuple(lines), "part")


def _series_words(view: JobView, part: Part) -> str:
    if part.series is None:
        return ""
    sizes = view.profile.series[part.series].listed()
    listed = f"{', '.join(str(size.value) for size in sizes)} {sizes[0].unit}"
    return _("{sizes}; measure it, marks are only a hint").format(sizes=listed)

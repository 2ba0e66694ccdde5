"""What stands against an act, one line each: what is missing, and what is allowed now instead."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Final

from labelkit.calc.allowed import Assembly
from labelkit.calc.apart import lies_on, shut_in
from labelkit.calc.assembly import pack_of
from labelkit.calc.closing import keeping
from labelkit.calc.covering import cover_of
from labelkit.calc.facing import unsettled
from labelkit.calc.fitsizes import set_with
from labelkit.calc.grades import another_size, chosen_words
from labelkit.calc.listed import first_of
from labelkit.calc.miscounts import lost_form, not_there
from labelkit.calc.notepieces import hold_words
from labelkit.calc.openpoints import Open, asked_of, outside_words
from labelkit.calc.passes import skipped, wanted_words
from labelkit.calc.placerecord import PlaceRecord, turned_on
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin, Inside, choice_words
from labelkit.calc.usedup import rejected_words, used_again, used_up, why_renewed
from labelkit.calc.washing import wash_refusals, washable
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.act import Gated
from labelkit.model.acts import (
    Closed,
    Inspected,
    Installed,
    Joined,
    Removed,
    Signature,
    TorqueSigned,
    Verified,
    Washed,
    WashStarted,
    of_new,
)
from labelkit.model.profile import fit_words
from labelkit.model.readings import Reading
from labelkit.units import Quantity

# Signed and wanted torque or angle may differ so much: what a scale can be set to. Common practice, no source.
_NEAR: Final = Decimal("0.04")
_POINTS: Final = 4


def refusals(assembly: Assembly, act: Gated, place: int | None, points: tuple[Open, ...]) -> Iterator[str]:
    """Yield what stands against an act, the weightiest first.

    Args:
        assembly: the order of assembly against the record, with everything that was written before.
        act: what somebody is about to record.
        place: the ordinal of its place; None: the job.
        points: what is open, where a signature is asked for.
    """
    record = assembly.record
    if isinstance(act, Inspected | Reading):
        # What is on hold may be looked at: that is how a hold ends.
        yield from _too_early(assembly, act, place)
        if isinstance(act, Inspected) and place is not None:
            yield from _called_good(record, record.at(place), act)
        return
    yield from _on_hold(assembly, act, place)
    if isinstance(act, WashStarted):
        yield from wash_refusals(record, act.places or tuple(washable(record)), all_of_it=True)
    elif isinstance(act, Signature | Closed):
        yield from _end(assembly, act, points)
    if place is None:
        return
    at = record.at(place)
    if isinstance(act, Removed | Joined | Installed):
        yield from _undecided(record, at)
    if isinstance(act, Removed):
        yield from _held_in(record, at)
    elif isinstance(act, Washed):
        yield from wash_refusals(record, (place,), all_of_it=False)
    elif isinstance(act, Joined | Installed):
        yield from _assembly(assembly, at, act)
    elif isinstance(act, Verified):
        yield from _verified(assembly, at)
    elif isinstance(act, TorqueSigned):
        if not at.is_in:
            yield _("NO: {part} is not in. Allowed now: install it").format(part=at.name)
        yield from _torque(at, act)
        yield from _angle(at, act)
        yield from _skipped(at, act)


def _on_hold(assembly: Assembly, act: Gated, place: int | None) -> Iterator[str]:
    """Yield which holds of the job and of the places that an act is about are not over."""
    record = assembly.record
    meant = act.places if isinstance(act, WashStarted) else () if place is None else (place,)
    for hold in (*record.holds, *(hold for each in meant if each in record.places for hold in record.at(each).holds)):
        what = record.at(hold.place).name if hold.place is not None else _("the job")
        told = _("NO: {what} is on hold by {who}: {why}. Allowed now: {now}")
        if hold.place is not None and isinstance(act, Washed | WashStarted):
            told = _("NO: {what} is on hold by {who}: {why}. Allowed now: the rest, without it")
        now = assembly.now_words(without=place)
        yield told.format(what=what, who=hold.who, why=hold_words(hold.act), now=now)


def _too_early(assembly: Assembly, act: Inspected | Reading, place: int | None) -> Iterator[str]:
    """Yield that something is judged which can be judged only when it is together, while it lies on the bench."""
    record = assembly.record
    if place is not None and act.check is not None:
        at = record.at(place)
        check = at.item.part.check[act.check] if act.check < len(at.item.part.check) else None
        if check is None or check.at != "assembled":
            return
        inside = isinstance(at.item, Inside) and at.item.parent
        members = [record.at_step(inside) if inside else at, *unkept(record, at)]
        yield from _still_out(assembly, check.look or check.measure or "", members)
    elif isinstance(act, Reading) and act.fit in record.profile.fits and act.at == "assembled":
        yield from fit_still_out(assembly, act.fit)


def fit_still_out(assembly: Assembly, name: str) -> Iterator[str]:
    """Yield that a fit is not read as assembled yet: some of its parts, or of what closes it, lie on the bench."""
    record = assembly.record
    parts = record.of(*record.profile.fits[name].parts)
    own = {each.item.step for each in parts if isinstance(each.item, Bin)}
    closing = sorted(cover_of(record, name).under - own, key=record.teardown.places.__getitem__)
    yield from _still_out(assembly, fit_words(name), [*parts, *map(record.at_step, closing)])


def _still_out(assembly: Assembly, what: str, members: Iterable[PlaceRecord]) -> Iterator[str]:
    if out := [each.name for each in members if each.is_apart and not each.placed]:
        told = _('Not yet "{what}": it is judged when it is assembled; not in yet: {parts}. Allowed now: {now}')
        yield told.format(what=what, parts=", ".join(out), now=assembly.now_words())


def unkept(record: Record, at: PlaceRecord) -> list[PlaceRecord]:
    """Return what keeps a part in its place, its ring or its screws, and still lies on the bench."""
    keepers = keeping(record.teardown, at.item) if isinstance(at.item, Bin) else ()
    return [each for each in (record.at(keeper.ordinal) for keeper in keepers) if each.is_out and not each.placed]


def _called_good(record: Record, at: PlaceRecord, act: Inspected) -> Iterator[str]:
    """Yield that a part is called good that is renewed in any case, or of which a reading is outside its limits."""
    goes_in_again = act.check is None and act.verdict in ("reuse", "repair")
    if goes_in_again and not act.new and at.item.part.new_only and (why := why_renewed(record, at)):
        told = _("NO: the old {part} does not go in again: {why}. Allowed now: replace it, or ask first")
        yield told.format(part=at.name, why=why)
    if act.verdict == "reuse":
        yield from _outside(at, act.check, new=act.new)


def _outside(at: PlaceRecord, point: int | None = None, *, new: bool) -> Iterator[str]:
    """Yield that a reading of a part is outside its limits and nobody has decided on it.

    Args:
        at: its place.
        point: only at that one; None: at any.
        new: the new part is meant, and not that of the bin.
    """
    for number, check in enumerate(at.item.part.check):
        if point in (None, number) and (read := outside_words(at, number, check, new=new)):
            told = _(
                "NO: {part} is not good: {what}: {outside}. Allowed now: condemn it, or repair it and read it again"
            )
            yield told.format(part=at.name, what=check.look or check.measure or "", outside=read)


def _undecided(record: Record, at: PlaceRecord) -> Iterator[str]:
    """Yield that a part is there only under an option which is open, and nobody has seen it to be so."""
    if not isinstance(at.item, Bin):
        return
    seen = {group: getattr(event.act, "choice", None) for group, event in record.options_seen.items()}
    wanted = record.teardown.undecided(at.item)
    if still := {group: choices for group, choices in wanted.items() if seen.get(group) not in choices}:
        told = _(
            "NO: {part} is there only if {condition}, which is open. "
            "Allowed now: say that it is there, or choose the option"
        )
        yield told.format(part=at.name, condition=choice_words(record.profile, still))


def _held_in(record: Record, at: PlaceRecord) -> Iterator[str]:
    """Yield what must be out before a part can be; also of what stayed in until now, which may be shut in by now."""
    if at.is_out and isinstance(at.item, Bin):
        return
    around = shut_in(record, at) if at.stays_in else None
    if first := (around,) if around else lies_on(record, at.item):
        names = ", ".join(each.name for each in first)
        told = _(
            "Not yet {part}: not out is what lies on it or holds it: {first}. Allowed now: that first, or record it out"
        )
        yield told.format(part=at.name, first=names)


def _assembly(assembly: Assembly, at: PlaceRecord, act: Joined | Installed) -> Iterator[str]:
    item, record = at.item, assembly.record
    if not isinstance(item, Bin):
        yield from used_again(record, at) if act.new else used_up(record, at)
        if before := assembly.before_captured(at):
            yield _("Not yet {part}: {first}").format(part=at.name, first=assembly.words(before))
        return
    if act.new:
        yield from used_again(record, at)
        yield from rejected_words(record, at, _pieces_in(at, act))
    else:
        yield from used_up(record, at)
        yield from _uncounted(record, at, act)
    yield from _outside(at, new=act.new)
    for _number, event, what in asked_of(at):
        if of_new(event.act) == act.new:
            told = _("NO: {part}: {who} wants somebody to be asked first: {what}. Allowed now: ask, record the verdict")
            yield told.format(part=at.name, who=event.who, what=what)
    if at.stage == "in_unit":
        told = _("NO: nobody recorded that {part} came out. Allowed now: record that, or that it was left in")
        yield told.format(part=at.name)
    joining = isinstance(act, Joined)
    if joining and assembly.placed[item.step].group is None:
        told = _("NO: {part} belongs to no group that is joined on the bench. Allowed now: {now}")
        yield told.format(part=at.name, now=assembly.now_words())
    if before := assembly.before(item.step, joining=joining):
        yield _("Not yet {part}: {first}").format(part=at.name, first=assembly.words(before))
    if isinstance(act, Installed):
        yield from _parted(assembly, at, _pieces_in(at, act))
        if item.part.series:
            yield from _graded(record, at, act)


def _parted(assembly: Assembly, at: PlaceRecord, pieces: int) -> Iterator[str]:
    """Yield that what goes in between the pieces of a part would find no way in: all of them are in before it.

    Plates of a pack go in one by one, in its order, and are recorded as the pack.
    """
    item = at.item
    if not isinstance(item, Bin) or (at.placed or 0) + pieces < (at.expected or 0) or (at.expected or 0) < 2:
        return
    if pack_of(assembly.record.teardown, item) is None and (between := assembly.parted_by(item.step)):
        told = _("NO: not all of {part} goes in before {others}. Allowed now: put in fewer, and say how many")
        yield told.format(part=at.name, others=", ".join(each.name for each in between))


def _graded(record: Record, at: PlaceRecord, act: Installed) -> Iterator[str]:
    """Yield why graded pieces do not go in: nobody measured each, or they are of another size than was chosen."""
    ordinal, pieces = at.item.ordinal, _pieces_in(at, act)
    if not act.sizes:
        told = _("NO: {part} is graded: say the size that goes in, not by its mark. Allowed now: measure it")
        fits = set_with(record, ordinal)
        if fits and not record.chosen.get(ordinal):
            told = _(
                "NO: {part} is graded: say the size that goes in, not by its mark. "
                "Allowed now: choose it by measuring {fits}, or say what it measures"
            )
        yield told.format(part=at.name, fits=fits)
    elif len(act.sizes) < pieces:
        told = _("NO: {part}: {pieces} go in, {read} measured. Allowed now: measure each, or say how many go in")
        yield told.format(part=at.name, pieces=pieces, read=len(act.sizes))
    elif 1 < len(record.chosen.get(ordinal, ())) > (at.placed or 0) + len(act.sizes):
        told = _("NO: {part}: {chosen} was chosen for its fit. Allowed now: say the size of each, or choose again")
        yield told.format(part=at.name, chosen=chosen_words(record, ordinal))
    elif (size := another_size(record, ordinal, act.sizes)) is not None:
        told = _("NO: {part} of {size} mm: {chosen} was chosen for its fit. Allowed now: that size, or choose again")
        yield told.format(part=at.name, size=size, chosen=chosen_words(record, ordinal))


def _pieces_in(at: PlaceRecord, act: Joined | Installed) -> int:
    """Return how many pieces go in; 0 where there is no fixed count and nobody says."""
    said = act.pieces if isinstance(act, Installed) else None
    return (at.expected or 0) - (at.placed or 0) if said is None else said


def _uncounted(record: Record, at: PlaceRecord, act: Joined | Installed) -> Iterator[str]:
    """Yield that more pieces go in than came out, where nothing says where the others are from."""
    pieces, lacks = (at.placed or 0) + _pieces_in(at, act), not_there(record, at)
    if lacks and pieces > (at.expected or 0) - lacks:
        told = _(
            "NO: {part}: {count} came out, {pieces} would go in; where is the rest from? "
            "Allowed now: put in {count}, count again, record the rest as lost, so that new ones are ordered ({form}), "
            "or note a deviation"
        )
        yield told.format(part=at.name, count=at.count, pieces=pieces, form=lost_form())


def _verified(assembly: Assembly, at: PlaceRecord) -> Iterator[str]:
    if at.stage not in ("installed", "verified", "left_in"):
        told = _("NO: {part} is not in. Allowed now: {now}")
        yield told.format(part=at.name, now=assembly.now_words())
    if at.stage == "left_in" and at.item.ordinal in assembly.record.to_come_out:
        told = _("NO: {part} was left in and must come out. Allowed now: {now}")
        yield told.format(part=at.name, now=assembly.now_words())
    if at.is_condemned_in:
        told = _("NO: {part} was condemned while it is in. Allowed now: take it out")
        yield told.format(part=at.name)
    if at.stage == "installed" and (torque := wanted_words(at)):
        told = _("NO: {part}: the torque, {torque}, is not signed. Allowed now: sign it")
        yield told.format(part=at.name, torque=torque)
    if seen := unsettled(at):
        told = _("NO: {told}. Allowed now: look again how it sits and record it, or note a deviation")
        yield told.format(told=seen)


def _torque(at: PlaceRecord, act: TorqueSigned) -> Iterator[str]:
    fasten = at.item.part.fasten
    if fasten is None or fasten.torque is None or act.torque is None:
        return
    try:
        signed = Quantity(act.torque, act.unit).newton_metres
    except (KeyError, ValueError):
        told = _('NO: {torque} "{unit}" is no torque. Allowed now: N·m, lbf·ft or lbf·in')
        yield told.format(torque=act.torque, unit=act.unit)
        return
    wanted = fasten.torque.newton_metres * act.share
    if abs(signed - wanted) > wanted * _NEAR:
        off = (signed / wanted - 1) * 100
        # The same torque twice in one line helps nobody.
        given = _("{torque} is") if act.unit == "N·m" else _("{torque} is {signed} N·m,")
        given = given.format(torque=f"{act.torque} {act.unit}", signed=f"{signed:.1f}".removesuffix(".0"))
        over = _(
            "NO: {torque} {share} % over {wanted} N·m. Is the unit of the wrench right? "
            "Allowed now: tighten it again and sign that"
        )
        under = _(
            "NO: {torque} {share} % under {wanted} N·m. Is the unit of the wrench right? "
            "Allowed now: tighten it again and sign that"
        )
        told = f"{wanted:.1f}".removesuffix(".0")
        yield (over if off > 0 else under).format(torque=given, share=f"{abs(off):.0f}", wanted=told)


def _angle(at: PlaceRecord, act: TorqueSigned) -> Iterator[str]:
    """Yield that the fasteners were turned on by another angle than is wanted."""
    wanted = turned_on(at.item)
    if act.angle is None or wanted is None or abs(act.angle - wanted) <= wanted * _NEAR:
        return
    off = (act.angle / wanted - 1) * 100
    over = _(
        "NO: {degrees}° further is {share} % over {wanted}°. "
        "Allowed now: ask whether they must be new, tighten from the first pass and sign that"
    )
    under = _(
        "NO: {degrees}° further is {share} % under {wanted}°. Allowed now: turn them on to it and sign the whole angle"
    )
    yield (over if off > 0 else under).format(degrees=act.angle, share=f"{abs(off):.0f}", wanted=wanted)


def _skipped(at: PlaceRecord, act: TorqueSigned) -> Iterator[str]:
    if before := skipped(at, act):
        told = _("NO: {part}: {passes} not signed yet. Allowed now: sign that first")
        yield told.format(part=at.name, passes=", ".join(each.words for each in before))


def _end(assembly: Assembly, act: Signature | Closed, points: tuple[Open, ...]) -> Iterator[str]:
    signed = assembly.record.signed
    if isinstance(act, Closed) and signed is not None and signed.number not in assembly.record.signed_before:
        return
    if points:
        told = ngettext(
            "NO: {count} point open: {points}. Allowed now: {now}",
            "NO: {count} points open: {points}. Allowed now: {now}",
            len(points),
        )
        first = first_of([point.text for point in _weighty(points)], _POINTS, "; ")
        goes_in = assembly.allowed() or assembly.waiting()
        now = assembly.now_words() if goes_in else _("look or measure what is open, and record it")
        yield told.format(count=len(points), points=first, now=now)
    elif isinstance(act, Closed):
        yield _("NO: the job is not signed. Allowed now: sign it")


def _weighty(points: tuple[Open, ...]) -> list[Open]:
    """Return points with those first that mean a second teardown."""
    kinds = ("fit", "choose", "unread", "still_in", "not_empty", "missing", "hold", "ask", "limit", "seen")
    weight = {kind: place for place, kind in enumerate((*kinds, "count", "torque"))}
    return sorted(points, key=lambda point: weight.get(point.kind, len(weight)))

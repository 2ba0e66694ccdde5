"""Whether the old part of a place goes in again, and what is said where new ones go in instead."""

from __future__ import annotations

from collections.abc import Iterator

from labelkit.calc.grades import chosen_words
from labelkit.calc.oldandnew import rejected
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.renewal import Use, pieces_of
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.act import Act
from labelkit.model.acts import Condemned, Inspected, Installed, of_new


def new_of_some(record: Record, at: PlaceRecord) -> int:
    """Return how many of the pieces of a place are to be new where the others stay; 0 where all or none are."""
    new = pieces_of(record.uses.get(at.item.ordinal, ()))
    return new if 0 < new < (at.expected or 0) else 0


def some_stay(record: Record, at: PlaceRecord) -> bool:
    """Say whether only some of a place are condemned and the others go in again; also where nobody knows what must be
    new."""
    if at.item.ordinal in record.uses:
        return new_of_some(record, at) > 0
    return at.is_condemned and not at.is_gone


def is_retired(at: PlaceRecord) -> bool:
    """Say whether the label of a bin counts no more: new ones for all that it held lie ready, or are in.

    Of a set old pieces may stay.
    """
    if at.expected is None:
        return False
    if at.is_in:
        return at.new >= at.expected
    if at.stage == "joined":
        joined = at.last_of("joined")
        return joined is not None and of_new(joined.act) and (at.is_gone or not at.is_condemned)
    return at.stage == "staged" and (at.staged == 0 or (at.staged or 0) >= at.expected)


def is_used_up(record: Record, at: PlaceRecord) -> bool:
    """Say whether nothing old of a place goes in now: only new is wanted, or is not ready yet, or the old is in."""
    wanted = _wanted_new(record, at)
    if not wanted or at.is_in:
        return False
    if at.expected is None or wanted >= at.expected or max(at.staged or 0, at.new) < wanted:
        return True
    old = at.expected - wanted
    return (at.placed or 0) - at.new >= old


def _wanted_new(record: Record, at: PlaceRecord) -> int:
    """Return how many new pieces a place gets."""
    uses = record.uses.get(at.item.ordinal, ())
    return pieces_of(uses) or (at.expected or 1 if uses else 0)


def why_renewed(record: Record, at: PlaceRecord) -> str:
    """Return why nothing old of a place goes in; empty where some of it does."""
    return _old_words(at, record.uses[at.item.ordinal][0]) if is_used_up(record, at) else ""


def used_up(record: Record, at: PlaceRecord) -> Iterator[str]:
    """Yield why the old part of a bin does not go in again."""
    if not is_used_up(record, at):
        return
    uses, wanted = record.uses[at.item.ordinal], _wanted_new(record, at)
    whole = at.expected is None or wanted >= at.expected
    told = _("NO: not the old {part}: {why}; {new} needed, {supply}. Allowed now: scan the new part's sticker")
    if record.stays.get(at.item.ordinal):
        told = _(
            "NO: not by the old label {part}: {chosen} was chosen, and old and new go in together; "
            "{new} needed, {supply}. Allowed now: scan the new part's sticker"
        )
    elif not whole:
        told = _(
            "Not yet {part}: {new} needed, {supply}; the old ones go in with them. Allowed now: scan the new sticker"
        )
    new = ngettext("{count} new", "{count} new", wanted) if whole else _("{count} of {whole} new")
    yield told.format(
        part=at.name,
        chosen=chosen_words(record, at.item.ordinal),
        why=_old_words(at, uses[0]),
        new=new.format(count=wanted, whole=at.expected),
        supply=_supply(record, at, uses[0].number, wanted),
    )


def used_again(record: Record, at: PlaceRecord) -> Iterator[str]:
    """Yield that the new part of a bin was in, came out again and is used up, while no other one is here."""
    was_in = [e.number for e in at.events if isinstance(e.act, Installed) and e.act.new and e.number < at.since]
    uses = record.uses.get(at.item.ordinal, ())
    if not was_in or all(map(record.lies_for, uses)):
        return
    if at.item.part.one_time:
        told = _(
            "NO: {part}: the new one was in and came out again, it is used once only; {new} needed, {supply}. "
            "Allowed now: receive the next one"
        )
    elif at.is_condemned and at.judged_by and at.judged_by.number > was_in[-1]:
        told = _(
            "NO: {part}: the new one was in and came out again, it was condemned by {who}; {new} needed, {supply}. "
            "Allowed now: receive the next one"
        )
    else:
        return
    wanted, who = _wanted_new(record, at), at.judged_by.who if at.judged_by else ""
    new = ngettext("{count} new", "{count} new", wanted).format(count=wanted)
    yield told.format(part=at.name, who=who, new=new, supply=_supply(record, at, uses[0].number, wanted))


def rejected_words(record: Record, at: PlaceRecord, pieces: int) -> Iterator[str]:
    """Yield that new pieces of a place were condemned or lost before they were in, and too few others are here.

    Args:
        record: of the job.
        at: the place.
        pieces: how many go in of all that it has; 0: nobody can say.
    """
    last, uses = rejected(at), record.uses.get(at.item.ordinal, ())
    wanted = _wanted_new(record, at) or at.expected or 1
    here = record.received.get(at.item.ordinal, 0) + record.loose_for(at.item.ordinal)
    if last is None or here >= max(min(at.new + pieces, wanted), 1):
        return
    told = _(
        "NO: {part}: the new one is out of use: {why} ({who}); {new} needed, {supply}. "
        "Allowed now: receive the next one"
    )
    new = ngettext("{count} new", "{count} new", wanted).format(count=wanted)
    supply = _supply(record, at, uses[0].number if uses else None, wanted)
    yield told.format(part=at.name, who=last.who, why=_why(at, last.act), new=new, supply=supply)


def _why(at: PlaceRecord, act: Act) -> str:
    """Return why new pieces were rejected: in words, or the point at which they are not good."""
    if isinstance(act, Condemned):
        return act.why
    meant = act.check if isinstance(act, Inspected) else None
    points = [each.look or each.measure for number, each in enumerate(at.item.part.check) if number == meant]
    return "; ".join(filter(None, (*points, act.note))) or _("replace")


def _old_words(at: PlaceRecord, use: Use) -> str:
    """Return why the old part is not used again."""
    once = at.item.part.one_time and use.reason == "always"
    told = {
        "always": _("it is used once only") if once else _("it is always renewed"),
        "one_time": _("it was taken out with {causes}") if use.causes else _("it is used once only"),
        "lost": _("it is lost"),
        "size": _("another size was chosen, {size}"),
        "with": _("it is renewed with {causes}"),
        "pair": _("it is renewed as a pair with {causes}"),
        "condemned": _("it was condemned by {who}") if at.judged_by else _("it was condemned"),
    }[use.reason]
    who = at.judged_by.who if at.judged_by else ""
    return told.format(causes=", ".join(use.causes), size=use.size, who=who)


def _supply(record: Record, at: PlaceRecord, number: str | None, wanted: int) -> str:
    known = record.arrivals_of(number)
    here = record.received.get(at.item.ordinal, 0) + known.loose
    if here >= wanted:
        return ngettext("it is here", "they are here", wanted)
    if here:
        return _("{count} here").format(count=here)
    told = ngettext("{count} ordered, not here yet", "{count} ordered, not here yet", known.kept)
    return told.format(count=known.kept) if known.kept else _("not ordered yet")

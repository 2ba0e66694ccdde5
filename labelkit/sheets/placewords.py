"""Where a part of a job is by the record, in words: on its card at the bench, in lists, and on a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from labelkit.calc.assembly import Placed
from labelkit.calc.notepieces import hold_words
from labelkit.calc.openpoints import place_points
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.renewal import pieces_of
from labelkit.calc.washing import is_in_washer
from labelkit.language import gettext as _
from labelkit.language import ngettext, noop, pgettext
from labelkit.model.events import Event
from labelkit.model.profile import Profile
from labelkit.sheets.actwords import act_words

STAGES: Final = {
    "in_unit": noop("in the unit"),
    "left_in": noop("left in"),
    "inside": noop("stays inside"),
    "removed": noop("out, not counted"),
    "binned": noop("out"),
    "in_washer": noop("in the washer"),
    "washed": noop("clean"),
    "inspected": noop("inspected"),
    "staged": noop("new part lies ready"),
    "joined": noop("built into its group"),
    "installed": noop("in, not verified"),
    "verified": noop("in and verified"),
}

# Points that say no more than where the part is, or what holds it.
_TOLD: Final = ("hold", "not_out", "not_empty", "missing")


def stage_of(record: Record, place: PlaceRecord) -> str:
    """Return the key of `STAGES` where a part is: its stage, as long as it is not in the washer."""
    return "in_washer" if is_in_washer(record, place) else place.stage


def stage_words(record: Record, place: PlaceRecord) -> str:
    """Return where a part is: `out, 11 of 12 counted`, `clean, not counted`, `new part lies ready, 1 of 2`."""
    ready = place.stage == "staged"
    words = _(STAGES[stage_of(record, place)])
    if ready:
        # How many old ones were counted says nothing here.
        words += _ready_words(record, place)
    elif place.count is not None and place.is_out:
        told = _(", {count} counted") if place.expected is None else _(", {count} of {expected} counted")
        words += told.format(count=_there(place), expected=place.expected)
    elif place.is_out and place.is_uncounted and place.stage != "removed":  # whose own words say it
        words += _(", not counted")
    if place.finding is not None:
        found = {"ok": _("good"), "lost": _("LOST")}.get(place.finding.verdict, _("CONDEMNED"))
        found += "" if place.finding.pieces is None else f" {place.finding.pieces}"
        if ready or (place.stage == "joined" and place.is_gone):
            words += ": " + _("old part {verdict}").format(verdict=found)
        elif new := place.new_again:
            told = ngettext("{count} new, old part {verdict}", "{count} new, old part {verdict}", new)
            words += ": " + told.format(count=new, verdict=found)
        elif place.is_out or place.stays_in or place.is_condemned_in:
            words += f": {found}"
    if place.item.ordinal in record.to_come_out:
        words += _(", to come out")
    if (place.stays_in or (place.is_uncounted and not ready)) and place.staged is not None:
        words += _(", new part lies ready") + _ready_words(record, place)
    if place.placed and place.is_out:
        words += _(", {count} in already").format(count=place.placed)
    if place.closed:
        words += _(", not opened")
    return words


def _ready_words(record: Record, place: PlaceRecord) -> str:
    """Return how many new pieces lie ready of all that go in; empty where it is one, or nobody counted them."""
    wanted = pieces_of(record.uses.get(place.item.ordinal, ())) or place.expected or 0
    lying = (place.staged or 0) - place.new
    return _(", {count} of {wanted}").format(count=lying, wanted=wanted) if lying > 0 and wanted > 1 else ""


def _there(place: PlaceRecord) -> int:
    """Return how many of the pieces that were counted are there: not what was lost since."""
    count, found, judged = place.count or 0, place.finding, place.judged_by
    if found is None or found.verdict != "lost" or found.pieces is None or place.expected is None:
        return count
    if judged is not None and judged.number < place.since:
        return count
    return min(count, place.expected - found.pieces)


def waits_words(record: Record, place: PlaceRecord) -> str:
    """Say how many new pieces a place waits for, and how many of them are here; empty when it waits for none."""
    if not place.is_apart and place.item.ordinal not in record.to_come_out:
        return ""
    ordinal = place.item.ordinal
    if record.has_new(ordinal):
        return ""
    uses, here = record.uses[ordinal], record.received.get(ordinal, 0)
    if any(use.unsized for use in uses) and not here:
        return _("It waits for its new parts, size to be chosen")
    return _("It waits for its new parts: {here} of {wanted} here").format(here=here, wanted=pieces_of(uses))


def record_lines(record: Record, place: PlaceRecord) -> Iterator[str]:
    """Yield what the record says of a place as lines for a terminal: where it is, holds, notes, what is open."""
    where, held, left = _("Where it is"), _("ON HOLD"), pgettext("of points", "Open")
    yield f"{where}: {stage_words(record, place)}"
    for hold in (*record.holds, *place.holds):
        yield f"{held}: {hold_words(hold.act)} ({by_words(hold)})"
    if waits := waits_words(record, place):
        yield waits
    for event in place.events:
        if event.act.note:
            yield f"{act_words(event.act, place.item.part)} ({by_words(event)})"
    for point in place_points(record, place):
        if point.kind not in _TOLD:
            yield f"{left}: {point.text}"


def by_words(event: Event) -> str:
    """Return who did something, and when."""
    return f"{event.who}, {event.when:%Y-%m-%d %H:%M} UTC"


def together_words(profile: Profile, placed: Placed) -> tuple[str, str]:
    """Return what a part is joined with on the bench and with which tool, and why; empty where it is in no group."""
    if placed.group is None:
        return "", ""
    rules = [rule for rule in profile.assembly if placed.bin.part.id in rule.join]
    tools = "; ".join(profile.tools[rule.tool] for rule in rules if rule.tool)
    told = _("Together: {group}").format(group=placed.group) + (_(", with {tool}").format(tool=tools) if tools else "")
    return told, "; ".join(rule.because for rule in rules if rule.because)

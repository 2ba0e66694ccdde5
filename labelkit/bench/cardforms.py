"""The forms of a card: what each one that was sent asks to be written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any, Final

from labelkit.bench.about import About, Typed, Wanted
from labelkit.bench.acting import Wish, kind_of
from labelkit.bench.points import read_points
from labelkit.bench.serials import lacks, note_of, unlike
from labelkit.bench.sources import source_of, sources
from labelkit.bench.tightened import torque
from labelkit.bench.typed import figures, whole
from labelkit.calc.facing import card_words
from labelkit.calc.fitsizes import otherwise_than_they_came, unlisted_sizes
from labelkit.calc.notepieces import BETWEEN
from labelkit.calc.passes import wanted_words
from labelkit.calc.renewal import pieces_of
from labelkit.calc.steps import Bin
from labelkit.calc.usedup import new_of_some
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import speaking
from labelkit.model.acts import Joined
from labelkit.sheets import waywords
from labelkit.sheets.seen import as_seen

# Verdicts that want something done, by how much: a note beside several is about the one that weighs most.
_WEIGHS: Final = {"borderline": 1, "ask": 1, "repair": 2, "out": 2, "replace": 3}


def wanted(about: About, name: str, form: Typed) -> Wanted:
    """Return what the form of a name asks for.

    Raises:
        UsageError: there is no such form.
    """
    kind = kind_of(name)
    if kind not in _FORMS:
        raise UsageError(_("a card has no form {name}; open the card again").format(name=name[:40]))
    found = _FORMS[kind](about, form)
    found.faults |= unlike(about.record, about.ordinal, form, new=about.new)
    if not found.wishes and not found.faults:
        found.faults[""] = _("nothing was filled in")
    return found


def as_the_card_says(about: About) -> tuple[str, str]:
    """Return which way up and at which clock position a part sits by its card; empty where that is not known."""
    return card_words(as_seen(about.place).part)


def _kept_as_card(about: About) -> tuple[str, str]:
    """Return the same as the record keeps it: in English, whoever ticked it; it is said as the reader speaks."""
    with speaking("en"):
        return as_the_card_says(about)


def _counted(about: About, form: Typed, found: Wanted) -> str:
    """Return how many pieces were counted: what was typed, or all of them by the button that says so."""
    typed, expected = form.get("count", "").strip(), about.place.expected
    if form.get("counted") != "all" or expected is None:
        return typed
    if typed and typed != str(expected):
        both = _("found {typed} and the button for all {count}; which of the two was counted?")
        found.faults["count"] = both.format(typed=typed, count=expected)
    return str(expected)


def _side(about: About, form: Typed, found: Wanted) -> None:
    up, clock = form.get("up", "").strip(), form.get("clock", "").strip()
    if form.get("as_card"):
        says_up, says_clock = _kept_as_card(about)
        up, clock = up or says_up, clock or says_clock
    if up or clock:
        found.wishes.append(about.wish("side_seen", up=up[:60], clock=clock[:60]))


def settles(about: About) -> dict[str, str]:
    """Return the open options that are decided by a part being there, with the choice; empty where none is."""
    item = about.place.item
    wanted = about.record.teardown.undecided(item) if isinstance(item, Bin) else {}
    return {} if any(len(each) != 1 for each in wanted.values()) else {group: each[0] for group, each in wanted.items()}


def _removed(about: About, form: Typed) -> Wanted:
    found = Wanted(options=settles(about) if form.get("settles") else {})
    for option, choice in found.options.items():
        # What was seen is that the part is there, whatever the language.
        found.wishes.append(Wish({"kind": "option_seen", "option": option, "choice": choice, "how": about.place.name}))
    count = _counted(about, form, found)
    found.wishes.append(about.wish("removed", count=count, note=note_of(form)))
    _side(about, form, found)
    found.tells += _not_seen(about, form)
    return found


def _not_seen(about: About, form: Typed) -> list[str]:
    """Say what of how a part sat neither its profile nor anybody says, while somebody still knows it."""
    up, clock = waywords.unrecorded(as_seen(about.place).part)
    ways = (("up", up, _("which face was up")), ("clock", clock, _("what was at which hour")))
    lacks = [words for name, unknown, words in ways if unknown and not form.get(name, "").strip()]
    told = _("{part}: nobody wrote down {what}: say it on its card while you know it")
    return [told.format(part=about.place.name, what=_(" and ").join(lacks))] if lacks else []


def _count(about: About, form: Typed) -> Wanted:
    found = Wanted()
    found.wishes.append(about.wish("count_found", count=_counted(about, form, found), note=form.get("note", "")))
    _side(about, form, found)
    return found


def _sat(about: About, form: Typed) -> Wanted:
    found = Wanted()
    _side(about, form, found)
    return found


def _points(about: About, form: Typed) -> Wanted:
    wishes, tells, faults = read_points(about.record, about.ordinal, about.profile.unit.lengths, form, new=about.of_new)
    if verdict := form.get("verdict", ""):
        wishes.append(about.wish("inspected", verdict=verdict, new=about.of_new))
    if note := note_of(form):
        wishes = _noted(about, wishes, note)
    return Wanted(wishes, tells, faults)


def _noted(about: About, wishes: list[Wish], note: str) -> list[Wish]:
    """Return acts with a note to what was judged, or else read, of several to what weighs most.

    An act of its own without one. The reason of a verdict stays beside it in the record, and so in the report.
    """
    judged = [each for each in wishes if each.data["kind"] == "inspected"] or wishes
    if not judged:
        return [about.wish("noted", note=note)]
    of = max(reversed(judged), key=lambda each: _WEIGHS.get(each.data["verdict"] or "", 0))
    noted = BETWEEN.join(filter(None, (of.data.get("note"), note)))
    return [replace(each, data={**each.data, "note": noted}) if each is of else each for each in wishes]


def _condemned(about: About, form: Typed) -> Wanted:
    data: dict[str, Any] = {name: form.get(name, "").strip() for name in ("why", "pieces", "size")}
    found, of_size = Wanted(), {str(size): pieces for size, pieces in sizes_to_tell(about).items()}
    if data["size"] in of_size:
        data["pieces"] = data["pieces"] or str(of_size[data["size"]])
    elif 0 < (whole(data["pieces"]) or 0) < sum(of_size.values()):
        found.faults["size"] = _("they are of several sizes: which one is meant?")
    found.wishes.append(about.wish("condemned", **data, lost=bool(form.get("lost")), new=about.of_new))
    return found


def sizes_to_tell(about: About) -> dict[Decimal, int]:
    """Return the sizes, mm, of the new pieces that may be condemned, and how many each has; empty but for several."""
    place, stays = about.place, about.record.stays.get(about.ordinal)
    counted = {size: lot.here if about.of_new else 0 if stays else lot.fresh for size, lot in place.lots.items()}
    known = {size: pieces for size, pieces in counted.items() if size is not None and pieces}
    return known if len(known) > 1 else {}


def _staged(about: About, form: Typed) -> Wanted:
    place, uses = about.place, about.record.uses.get(about.ordinal, ())
    left = (pieces_of(uses) or place.expected or 0) - (place.staged or 0)
    pieces = form.get("pieces", "").strip() or str(left if left > 0 else "")
    wish = about.wish("staged", pieces=pieces, note=note_of(form))
    return Wanted([wish], faults=lacks(about.record, about.ordinal, form))


def _joined(about: About, form: Typed) -> Wanted:
    return Wanted([about.wish("joined", new=about.new, note=form.get("note", ""))])


def left_to_go_in(about: About) -> int | None:
    """Return how many still go in by this label of a place of which only some pieces are new; None: all of it goes in.

    Nothing more does once the new ones are in, by their sticker, or the old ones, by the label of the bin.
    """
    place, new = about.place, new_of_some(about.record, about.place)
    if not new:
        return None
    old = (place.expected or 0) - new
    return max(new - place.new if about.new else old + place.new - (place.placed or 0), 0)


def _not_counted(about: About, pieces: int | None) -> int:
    """Return how many of the new pieces that go in nobody counted at their place; `pieces`: None: all that go in."""
    place, left = about.place, left_to_go_in(about)
    all_of_it = (place.expected or 1) - (place.placed or 0) if left is None else left
    new = about.record.count_new(about.ordinal, lambda lot: lot.new)
    return new + (all_of_it if pieces is None else pieces) - about.record.received.get(about.ordinal, 0)


def going_with(about: About) -> tuple[About, ...]:
    """Return the other parts of a group that was built on the bench, which go in, and are verified, in one with this.

    Empty while they are not as far as this one, and where more is to be said of one than that it is in: old and new
    pieces of one place go in by two labels.
    """
    item, stage = about.place.item, about.place.stage
    if not isinstance(item, Bin) or stage not in ("joined", "installed") or left_to_go_in(about) is not None:
        return ()
    assembly, found = about.assembly, []
    for each in assembly.groups.get(assembly.placed[item.step].group or "", ()):
        place = assembly.place(each.bin.step)
        joined = place.last_of("joined")
        if place == about.place or place.stage in ("left_in", "verified"):
            continue
        if place.stage != stage or joined is None or not isinstance(joined.act, Joined):
            return ()
        other = replace(about, place=place, new=joined.act.new)
        sized = place.item.part.series or left_to_go_in(other) is not None or _installed(other, {}).faults
        if sized if stage == "joined" else wanted_words(place):
            return ()
        found.append(other)
    return tuple(found)


def sources_asked(about: About) -> tuple[tuple[str, str], ...]:
    """Return where the new part that goes in may be from, as a choice; nothing where nobody has to say."""
    if not about.new or about.place.is_in:
        return ()
    return sources(about.record, about.ordinal, _not_counted(about, None), about.catalogue)


def _installed(about: About, form: Typed) -> Wanted:
    found = Wanted(faults=lacks(about.record, about.ordinal, form) if about.new else {})
    sizes: tuple[str, ...] = ()
    if text := form.get("sizes", "").strip():
        try:
            read = figures(text, about.profile.unit.lengths)
            sizes = tuple(str(each.mm) for each in read)
            found.tells += unlisted_sizes(about.record, about.ordinal, read)
            if about.new:
                found.tells += otherwise_than_they_came(about.record, about.ordinal, read)
        except UsageError as error:
            found.faults["sizes"] = str(error)
    side = ", ".join(filter(None, _kept_as_card(about))) if form.get("as_card") else form.get("side", "").strip()
    left = left_to_go_in(about)
    pieces = form.get("pieces", "").strip() or str(left or "")
    if left == 0:
        found.faults[""] = _("nothing more goes in by this label: all that does is in")
    data: dict[str, Any] = {"pieces": pieces, "sizes": sizes, "side": side[:60], "note": note_of(form)}
    if about.new:
        try:
            more = _not_counted(about, whole(pieces))
            data["source"] = source_of(about.record, about.ordinal, more, form.get("source", ""), about.catalogue)
        except UsageError as error:
            found.faults["source"] = str(error)
    found.wishes.append(about.wish("installed", new=about.new, **data))
    if form.get("whole"):
        as_cards = {"as_card": form.get("as_cards", "")}
        _with_group(about, found, lambda other: _installed(other, as_cards).wishes)
    return found


def _with_group(about: About, found: Wanted, wishes: Callable[[About], list[Wish]]) -> None:
    """Add what is done with the other parts of the group in one with this."""
    others = going_with(about)
    if not others:
        found.faults[""] = _("the parts of the group are not all as far any more: look at the card again")
    found.wishes += [wish for other in others for wish in wishes(other)]


def _verified(about: About, form: Typed) -> Wanted:
    found = Wanted([about.wish("verified", note=form.get("note", ""))])
    if form.get("whole"):
        _with_group(about, found, lambda other: [other.wish("verified")])
    return found


def _as_typed(kind: str, *names: str) -> Callable[[About, Typed], Wanted]:
    """Return the reader of a form whose fields are those of its act."""

    def read(about: About, form: Typed) -> Wanted:
        data: dict[str, Any] = {name: form.get(name, "") for name in names}
        return Wanted([about.wish(kind, **data)])

    return read


_FORMS: Final[Mapping[str, Callable[[About, Typed], Wanted]]] = {
    "removed": _removed,
    "count": _count,
    "side": _sat,
    "left_in": _as_typed("left_in", "note"),
    "left_closed": _as_typed("left_closed", "note"),
    "washed": _as_typed("washed", "note"),
    "points": _points,
    "condemned": _condemned,
    "staged": _staged,
    "joined": _joined,
    "installed": _installed,
    "verified": _verified,
    "torque": torque,
    "hold": _as_typed("hold", "why"),
    "released": _as_typed("released", "of", "why"),
    "deviation": _as_typed("deviation", "what", "reason", "agreed"),
    "noted": _as_typed("noted", "note"),
}

"""The pick list: every place that gets new pieces, by tray and bench group, with the step that waits for them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from labelkit.calc.listed import first_of
from labelkit.calc.needs import Line, Needs
from labelkit.calc.pulling import Choices, Reason
from labelkit.calc.renewal import Use
from labelkit.calc.shortage import Group, Missing
from labelkit.calc.steps import Bin, Inside
from labelkit.calc.supply import DONE, Progress, State, Supply
from labelkit.language import gettext as _
from labelkit.language import ngettext, noop, pgettext
from labelkit.load.table import Cell, csv_bytes
from labelkit.model.profile import Profile
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView
from labelkit.sheets.wording import not_recorded
from labelkit.units import Quantity

FLOOR: Final = "floor"
AS_NEEDED: Final = noop("as needed")
NO_SIZE: Final = noop("size to be chosen")
_REASONS: Final[Mapping[Reason, str]] = {
    "always": noop("always renewed"),
    "one_time": noop("used once only"),
    "condemned": noop("condemned"),
    "lost": noop("lost"),
    "size": noop("size chosen by measuring"),
    "with": noop("renewed with"),
    "pair": noop("matched with"),
}
_STATES: Final[Mapping[State, str]] = {
    "in": noop("in"),
    "ready": noop("ready"),
    "held": noop("ON HOLD"),
    "here": noop("here"),
    "coming": noop("ordered"),
    "short": noop("TO ORDER"),
    "size": NO_SIZE,
    "as_needed": noop("as needed"),
}
_HEADER: Final = (
    *("picked", "tray", "place", "group", "step", "number", "name", "size", "pieces", "missing", "from", "supplier"),
    *("blocks step", "which is", "why", "only if", "matched with", "serial"),
)


@dataclass(frozen=True, slots=True)
class Pick:
    """New pieces for one place.

    Attributes:
        use: the place.
        line: the line of the order it is part of.
        tray: letter of its tray; `floor` when it lies on none.
        place: letter and number on it, as B7; empty on the floor.
        group: the joined group or sub-assembly it is built into on the bench; empty: it goes into the unit by itself.
        step: of the bin with its label; of the one it stays in for a captured part, empty when none has one.
        sizes: of a part whose size is not chosen, those that are here, where they were measured.
        missing: pieces that are not there, the most under any choice of the open options; None: nobody can say before
            the size is chosen, or there is no fixed count.
        blocks: the step that waits for it, and the name of its part; empty when none does.
        used: new pieces of it that are out of use.
        state: where its pieces are.
        held: its place is on hold.
        here: how many of them came for its place, lie ready there or are in.
        is_here: all of them are at their place, in, or counted at the door.
        on_shelf: some of them are to be fetched from the shelf.
    """

    use: Use
    line: Line
    tray: str
    place: str
    group: str
    step: str
    sizes: tuple[Quantity, ...]
    missing: int | None
    blocks: tuple[str, str]
    used: int
    state: State
    held: bool
    here: int
    is_here: bool
    on_shelf: bool

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to do: it lies ready at its place, or is in."""
        return self.state in DONE

    @property
    def size_words(self) -> str:
        """The size that was chosen, or else those that are here; empty where nobody knows it."""
        return " + ".join(map(str, (self.use.size,) if self.use.size else self.sizes))

    @property
    def name(self) -> str:
        """Its name with its size, where that is known."""
        return ", ".join(filter(None, (self.use.name, self.size_words)))


def picks(view: JobView, at: Supply) -> tuple[Pick, ...]:
    """Return the pick list: by tray, on it by bench group, in the order of assembly.

    Args:
        view: the job.
        at: where its new parts are.
    """
    lacks: dict[int, int | None] = {}  # by the identity of the use, which is the one that the order holds
    for each in at.now.missing:
        more = lacks.get(id(each.use), 0)
        lacks[id(each.use)] = None if None in (each.pieces, more) else max(each.pieces or 0, more or 0)
    found = [_pick(view, at, of, use, lacks.get(id(use), 0)) for of in at.progress for use in of.line.uses]
    found.sort(key=lambda pick: (pick.use.position, pick.use.item.ordinal))
    trays = {tray.letter: number for number, tray in enumerate(view.trays.trays)}
    first: dict[tuple[str, str], int] = {}
    for number, pick in enumerate(found):
        first.setdefault((pick.tray, pick.group), number)
    return tuple(sorted(found, key=lambda pick: (trays.get(pick.tray, len(trays)), first[pick.tray, pick.group])))


def places_of(listed: Sequence[Pick]) -> tuple[int, int]:
    """Return at how many places of a list all pieces lie ready or are in, and how many places it has.

    A place has a row for each size that was chosen for it.
    """
    places = {pick.use.item.ordinal for pick in listed}
    unfinished = {pick.use.item.ordinal for pick in listed if not pick.is_done}
    return len(places - unfinished), len(places)


def _pick(view: JobView, at: Supply, of: Progress, use: Use, missing: int | None) -> Pick:
    step = use.item.step if isinstance(use.item, Bin) else view.teardown.step_holding(use.item)
    tray, place = view.trays.places.get(step, (None, None))
    is_here, state = at.is_here(use), at.state(use)
    unknown = use.pieces is None if not use.unsized else bool(missing)
    return Pick(
        use=use,
        line=of.line,
        tray=tray.letter if tray else FLOOR,
        place=place.name if place else "",
        group=_group(view, use),
        step=step,
        sizes=at.sizes_here(use),
        missing=None if unknown and state not in DONE else missing,
        blocks=(use.step, view.teardown.at(use.step).name) if use.step and state not in DONE else ("", ""),
        used=at.used(use),
        state=state,
        held=at.record.at(use.item.ordinal).is_held,
        here=at.pieces_here(use),
        is_here=is_here,
        on_shelf=of.shelf > 0 and not is_here,
    )


def _group(view: JobView, use: Use) -> str:
    """Return what a part is built into on the bench: the nearest joined group or sub-assembly."""
    if use.step is None:
        return ""
    own = view.placed[use.step][1]
    if own.group:
        return own.group
    if own.bin.part.parts:
        return own.bin.name
    return view.teardown.at(own.bin.parent).name if own.bin.parent else ""


def waited_words(missing: Missing) -> str:
    """Return what a step waits for: the name of the part, that its size is to be chosen, and that it is on hold."""
    use = missing.use
    told = (_(NO_SIZE) if use.unsized and missing.is_short else "", _("ON HOLD") if missing.held else "")
    return ", ".join(filter(None, (use.name, *told)))


def group_words(group: str) -> str:
    """Return what stands over the picks of one group."""
    return _("For {group}").format(group=group) if group else _("Straight into the unit")


def when_words(profile: Profile, when: Iterable[Choices]) -> str:
    """Return choices of open options in words: `Breather = Remote breather`; empty: whatever they are."""
    told = []
    for choices in when:
        options = ((profile.options[group], choice) for group, choice in choices)
        told.append(_(" and ").join(f"{option.name} = {option.choices[choice]}" for option, choice in options))
    return _(" or ").join(filter(None, told))


def short_when(profile: Profile, when: Iterable[Choices]) -> str:
    """Return choices of open options in short, as labels name them: `Remote breather`; empty: whatever they are."""
    told = (", ".join(wording.choice_brief(profile.options[group], choice) for group, choice in each) for each in when)
    return _(" or ").join(told)


def pair_words(view: JobView, use: Use) -> str:
    """Return the parts with which one is ordered as a pair: by step where they have one, else by name."""
    steps = {each.name: each.step for each in view.teardown.bins}
    return ", ".join(steps.get(name, name) for name in use.pairs)


def reason_words(use: Use) -> str:
    """Return why a part is renewed: `renewed with Input bearing`."""
    if use.reason == "one_time" and use.causes:
        return _("used once only, and comes out for {parts}").format(parts=", ".join(use.causes))
    words = " ".join(filter(None, (_(_REASONS[use.reason]), ", ".join(use.causes))))
    pairs = [name for name in use.pairs if name not in use.causes]
    pair = _("order as a pair with {parts}").format(parts=", ".join(pairs))
    return f"{words}; {pair}" if pairs else words


def why_words(pick: Pick) -> str:
    """Return why a part is renewed, and that new pieces of it are out of use: it may be renewed once more."""
    told = ngettext("{count} new one out of use", "{count} new ones out of use", pick.used)
    return "; ".join([reason_words(pick.use), *([told.format(count=pick.used)] if pick.used else [])])


def state_words(pick: Pick) -> str:
    """Return where the pieces of a pick are, with how many where some only are here."""
    pieces, words = pick.use.pieces, _(_STATES[pick.state])
    if pick.state not in (*DONE, "held") and pick.here and pieces is not None:
        some = _("{count} of {total} here").format(count=pick.here, total=pieces)
        words = some if pick.here < pieces else _(_STATES["here"])
    elif pick.state == "here" and not pick.is_here:
        words = _("on the shelf")
    return words + ", " + _("ON HOLD") if pick.held and pick.state != "held" else words


def shelf_words(pick: Pick) -> str:
    """Return where a part lies on the shelf, and who supplies it: `from R1-05, Seals Ltd`.

    Empty where nobody says, and where all of it is here: nothing is fetched twice.
    """
    entry = None if pick.is_here else pick.line.entry
    shelf = ", ".join(filter(None, (entry.location if pick.on_shelf else None, entry.supplier))) if entry else ""
    return pgettext("shelf", "from {shelf}").format(shelf=shelf) if shelf else ""


def build_words(group: Group, most: int | None = None) -> str:
    """Return whether something is built, or can be by now, or what it waits for; `most`: how many it names."""
    if group.built:
        return _("built")
    ways = (
        (_("waits for {parts}"), _waits(group)),
        (_("pieces are not there: {parts}"), [each.full_name for each in group.incomplete]),
        (_("once these are in: {parts}"), group.follows),
    )
    told = [words.format(parts=first_of(names, most)) for words, names in ways if names]
    return "; ".join(told) or _("can be built")


def _waits(group: Group) -> list[str]:
    """Return the names of the new parts that a build waits for, and which of them are on hold."""
    held = _("ON HOLD")
    return list(dict.fromkeys(each.use.name + f" ({held})" * each.held for each in group.missing))


def unjudged_words(needs: Needs) -> Iterator[tuple[str, tuple[Bin | Inside, ...]]]:
    """Yield why an order is not final, with the parts: renewed if worn, or nobody knows when, and not judged."""
    worn = tuple(each for each in needs.unjudged if each.part.renew)
    if count := len(worn):
        told = ngettext(
            "Not final: {count} part that is renewed if worn is not judged yet",
            "Not final: {count} parts that are renewed if worn are not judged yet",
            count,
        )
        yield told.format(count=count), worn
    unknown = tuple(each for each in needs.unjudged if not each.part.renew)
    if count := len(unknown):
        told = ngettext(
            "Not final: {count} part is not judged yet, and when it is renewed is {unknown}",
            "Not final: {count} parts are not judged yet, and when they are renewed is {unknown}",
            count,
        )
        yield told.format(count=count, unknown=not_recorded()), unknown


def number_words(line: Line) -> str:
    """Return a line's order number; where the size decides it, which sizes there are."""
    if not line.sizes:
        return line.number or not_recorded()
    return _("by size: {sizes}").format(sizes=", ".join(sizes_words(line)))


def sizes_words(line: Line) -> list[str]:
    """Return the sizes of which one is chosen later, each with its number."""
    return [f"{size} {number or '?'}" for size, number in line.sizes]


def numbers_of(pick: Pick) -> str:
    """Return the order numbers of what is here and measured where no size is chosen; else that of its line."""
    known = dict(pick.line.sizes)
    here = (known.get(str(size)) or not_recorded() for size in pick.sizes)
    return ", ".join(dict.fromkeys(here)) or number_words(pick.line)


def picklist_csv(view: JobView, listed: Iterable[Pick], needs: Needs, *, delimiter: str = ",") -> bytes:
    """Return picklist.csv: a line for each place and size, with a cell to tick that says where it is, if it is here.

    Spreadsheets take its texts for texts. Its headings are names for programs and English in every language.

    Args:
        view: the job.
        listed: the pick list.
        needs: what it was made from.
        delimiter: comma, semicolon or tab.
    """
    rows: list[Sequence[Cell]] = [_HEADER]
    for pick in listed:
        use, entry = pick.use, pick.line.entry
        rows.append(
            (
                state_words(pick) if pick.is_here else None,
                *(_("On no tray") if pick.tray == FLOOR else pick.tray, pick.place, pick.group, _step(pick.step)),
                *(numbers_of(pick), use.name, pick.size_words),
                _(AS_NEEDED) if use.pieces is None else use.pieces,
                pick.missing,
                *(_location(pick), entry.supplier if entry else None),
                *(_step(pick.blocks[0]), pick.blocks[1], why_words(pick), when_words(view.profile, needs.when(use))),
                *(", ".join(use.pairs), None),
            )
        )
    return csv_bytes(rows, delimiter=delimiter)


def _location(pick: Pick) -> str | None:
    """Return where on the shelf a part is fetched; None where all is here, or nothing is left of what was counted."""
    entry = pick.line.entry
    if entry is None or pick.is_here or (entry.shelf is not None and not pick.on_shelf):
        return None
    return entry.location


def _step(step: str) -> str:
    """Return a step as a text that no spreadsheet takes for a figure or a day: 7.10 is not 7.1."""
    return _("step: {step}").format(step=step) if step else ""

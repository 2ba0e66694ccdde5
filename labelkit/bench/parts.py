"""The new parts of a job: what to order, what came, what lies ready on each tray, what waits for it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any, Final

from flask import Flask, Response, jsonify, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench import acting
from labelkit.bench.acting import Asked, Wish
from labelkit.bench.openlist import place_address
from labelkit.bench.web import Bench
from labelkit.calc.record import Record
from labelkit.calc.supply import DONE, Progress, Supply, supply
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.acts import Ordered
from labelkit.model.catalogue import Catalogue, as_listed, order_numbers
from labelkit.model.events import Event
from labelkit.sheets.actwords import act_words, in_one_line
from labelkit.sheets.jobview import JobView
from labelkit.sheets.picklist import (
    FLOOR,
    Pick,
    build_words,
    group_words,
    number_words,
    numbers_of,
    picks,
    places_of,
    shelf_words,
    state_words,
    unjudged_words,
    waited_words,
    when_words,
    why_words,
)
from labelkit.sheets.picklistdata import needs_data, pick_data, shortage_data

_NAMED: Final = 3  # parts that a group waits for, by name


@dataclass(frozen=True, slots=True)
class Row:
    """One place that gets new pieces, as a line of the list.

    Attributes:
        pick: the place.
        number: its order number; where its size decides it, that it does.
        code: of its sticker.
        words: where the pieces are, and how many.
        source: where it lies on the shelf, and who supplies it; empty: nobody says.
        why: why it is renewed.
        when: the choices of open options under which it is; empty: whatever they are.
    """

    pick: Pick
    number: str
    code: str
    words: str
    source: str
    why: str
    when: str


@dataclass(frozen=True, slots=True)
class Tray:
    """The places of one tray under what they are built into, in words; `ready` of `wanted` of them have all.

    `floor`: they lie on none, each in a place of its own.
    """

    name: str
    groups: tuple[tuple[str, tuple[Row, ...]], ...]
    ready: int
    wanted: int
    floor: bool

    @property
    def complete(self) -> bool:
        """Whether every need of it is staged."""
        return self.ready == self.wanted


@dataclass(frozen=True, slots=True)
class Number:
    """One order number as a line of the list: what it is called, how to order it, its notes, its form's name."""

    progress: Progress
    number: str
    counts: tuple[str, ...]
    notes: tuple[str, ...]
    form: str


@dataclass(frozen=True, slots=True)
class Coming:
    """A number that is on its way: as it is written, what it is or was ordered for, pieces, its form, its orders."""

    number: str
    name: str
    coming: int
    ordered: int
    taken: int
    form: str
    orders: tuple[Event, ...]


def add_parts(app: Flask, bench: Bench, catalogue: Catalogue) -> None:
    """Add the list of new parts, and the orders and deliveries that are recorded by number.

    Args:
        app: the application.
        bench: what pages share.
        catalogue: of the parts counter.
    """

    @app.get("/job/<int:number>/parts")
    def parts(number: int) -> str:
        return _page(bench, bench.lookup.view(number), catalogue)

    @app.get("/job/<int:number>/parts.json")
    def parts_data(number: int) -> Response:
        view = bench.lookup.view(number)
        found = supply(bench.record(view), catalogue)
        told = [pick_data(pick, found.needs) for pick in picks(view, found)]
        return jsonify({"job": number, **needs_data(found.needs), "picks": told, **shortage_data(found.now)})

    @app.post("/job/<int:number>/parts")
    def order(number: int) -> AnyResponse:
        view = bench.lookup.view(number)
        name = request.form.get("form", "")
        try:
            wishes = _wishes(supply(bench.record(view), catalogue), name)
            faults: dict[str, str] = {}
        except UsageError as error:
            wishes, faults = [], {"": str(error)}
        told = ngettext("{count} number ordered", "{count} numbers ordered", len(wishes)).format(count=len(wishes))
        then = url_for("parts", number=number)
        answer = acting.send(
            bench, view, wishes, form=name, then=then, told=told if name == "all" else "", faults=faults
        )
        return acting.answered(answer, lambda asked: _page(bench, view, catalogue, asked))


def tray_of(view: JobView, found: Supply, ordinal: int) -> Tray | None:
    """Return the tray on which the new pieces of a place belong; None when the place gets none."""
    return next(
        (
            tray
            for tray in _trays(view, found)
            if any(row.pick.use.item.ordinal == ordinal for _, rows in tray.groups for row in rows)
        ),
        None,
    )


def _page(bench: Bench, view: JobView, catalogue: Catalogue, asked: Asked | None = None) -> str:
    record, number = bench.record(view), view.job.number
    shared: dict[str, Any] = {
        "title": _("New parts, job {number}").format(number=number),
        "job": number,
        "here_name": "parts",
        "asked": asked or acting.nothing_asked(record),
        "closed": record.closed is not None,
        "words": act_words,
    }
    try:
        found = supply(record, catalogue)
    except UsageError as error:  # so many options are open that nobody can say
        return bench.fill("parts.html", unclear=str(error), coming=_coming(record, [], catalogue), **shared)
    numbers = [_number(view, each) for each in found.progress]
    trays = _trays(view, found)
    first = next(iter(found.now.missing), None)
    totals = [(when_words(view.profile, [each.when]), each) for each in found.needs.totals]
    return bench.fill(
        "parts.html",
        unclear="",
        buy=[each for each in numbers if each.progress.to_order],
        orderable=bool(_to_buy(found)),
        numbers=numbers,
        coming=_coming(record, numbers, catalogue),
        besides=[(number, each.loose) for number, each in found.besides.items() if each.loose],
        trays=trays,
        ready=sum(tray.ready for tray in trays),
        wanted=sum(tray.wanted for tray in trays),
        first=first.use if first else None,
        first_words=waited_words(first) if first else "",
        first_name=view.teardown.at(first.use.step).name if first and first.use.step else "",
        groups=[(group, build_words(group, _NAMED)) for group in found.now.groups],
        unjudged=[
            (why, [(record.at(each.ordinal).name, place_address(view, each.ordinal)) for each in parts])
            for why, parts in unjudged_words(found.needs)
            if not record.signed and not record.closed
        ],
        by_file=any(each.line.shelf for each in found.progress),
        no_file=not catalogue.entries,
        totals=[(when, each) for when, each in totals if each.cost is not None and each.cost.amount],
        notes=found.needs.notes,
        state=found.state,
        done=DONE,
        **shared,
    )


def _coming(record: Record, numbers: Sequence[Number], catalogue: Catalogue) -> list[Coming]:
    """Return what is on its way: of the list, and then what was ordered besides."""
    orders: dict[str, list[Event]] = {}
    for event in record.standing:
        if isinstance(event.act, Ordered):
            orders.setdefault(event.act.number, []).append(event)
    found = []
    for each in numbers:
        of_it = each.progress
        if of_it.coming and not of_it.is_over and (number := of_it.line.number):
            mine, ordered = tuple(orders.get(number, ())), of_it.arrivals.ordered
            found.append(Coming(number, of_it.line.name, of_it.coming, ordered, of_it.taken, each.form, mine))
    listed = {each.progress.line.number for each in numbers}
    for place, (number, told) in enumerate(orders.items()):
        known, entry = record.arrivals_of(number), catalogue.get(number)
        shelf = (entry.shelf if entry else None) or 0
        if number not in listed and (left := known.coming(shelf)):
            what_for = in_one_line(dict.fromkeys(event.act.note or "" for event in told))
            taken, form = known.taken(shelf), f"other-{place}"
            found.append(Coming(number, what_for, left, known.ordered, taken, form, tuple(told)))
    return found


def _number(view: JobView, progress: Progress) -> Number:
    line = progress.line
    counts = []
    for way in progress.to_order:
        when = when_words(view.profile, [way.when])
        packs = str(way.packs)
        if line.pack > 1 and way.packs is not None:
            packs = ngettext("{count} pack of {size}", "{count} packs of {size}", way.packs)
        told = _("order {packs}: {need} needed").format(
            packs=packs.format(count=way.packs, size=line.pack), need=way.need
        )
        back, used, spare = progress.arrivals.returned, progress.arrivals.used, progress.arrivals.spare
        former, formerly = progress.arrivals.former, _(" and ").join(progress.arrivals.formerly)
        known = (
            (former, ngettext(", {count} came as {number}", ", {count} came as {number}", former)),
            (progress.shelf, _(", {count} on the shelf")),
            (progress.taken, _(", {count} from the shelf")),
            (back, ngettext(", {count} sent back", ", {count} sent back", back)),
            (used, ngettext(", {count} out of use", ", {count} out of use", used)),
            (spare, ngettext(", {count} not wanted any more", ", {count} not wanted any more", spare)),
        )
        told += "".join(words.format(count=count, number=formerly) for count, words in known if count)
        told += f", {way.cost}" if way.cost else ""
        counts.append(_("if {choice}: {order}").format(choice=when, order=told) if when else told)
    notes = [*line.notes, *_matched(line.uses)]
    slug = re.sub(r"[^A-Za-z0-9]+", "-", line.number or line.uses[0].part.id)
    return Number(progress, number_words(line), tuple(counts), tuple(notes), slug)


def _matched(uses: Iterable[Any]) -> list[str]:
    pairs = dict.fromkeys(name for use in uses for name in use.pairs)
    told = _("matched: order it as a pair with {parts}, write down its serial number")
    return [told.format(parts=", ".join(pairs))] if pairs else []


def _trays(view: JobView, found: Supply) -> list[Tray]:
    rows = [_row(view, found, pick) for pick in picks(view, found)]
    trays = []
    for letter, on_it in groupby(rows, key=lambda row: row.pick.tray):
        listed = list(on_it)
        into = groupby(listed, key=lambda row: row.pick.group)
        groups = tuple((group_words(group), tuple(some)) for group, some in into)
        name = _("On no tray") if letter == FLOOR else _("Tray {letter}").format(letter=letter)
        trays.append(Tray(name, groups, *places_of([row.pick for row in listed]), letter == FLOOR))
    return trays


def _row(view: JobView, found: Supply, pick: Pick) -> Row:
    use, when = pick.use, when_words(view.profile, found.needs.when(pick.use))
    number = _("by its size") if pick.line.sizes and not pick.sizes else numbers_of(pick)
    return Row(pick, number, view.new_code(use.item), state_words(pick), shelf_words(pick), why_words(pick), when)


def _wishes(found: Supply, name: str) -> list[Wish]:
    """Return what a form of the page asks for.

    Raises:
        UsageError: there is no such form, or the list has changed since it was shown.
    """
    form = request.form
    if name == "all":
        listed = [f"{each.buy} × {each.line.number}" for each in _to_buy(found)]
        if not listed:
            raise UsageError(_("nothing is to be ordered any more: look at the list again"))
        if listed != form.getlist("listed"):
            raise UsageError(_("somebody has changed what is to be ordered meanwhile: look at the list again"))
        return [
            Wish({"kind": "ordered", "number": each.line.number, "pieces": str(each.buy)}) for each in _to_buy(found)
        ]
    kind = "received" if name.startswith("came-") else "ordered"
    if not name.startswith(("came-", "order-")) and name != "other":
        raise UsageError(_("this page has no form {name}; open it again").format(name=name[:40]))
    number = as_listed(form.get("number", ""), order_numbers(found.record.profile))
    return [Wish({"kind": kind, "number": number, "pieces": form.get("pieces", ""), "note": form.get("note")})]


def _to_buy(found: Supply) -> Sequence[Progress]:
    """Return what can be ordered by its number."""
    return [each for each in found.progress if each.to_order and each.line.number is not None]

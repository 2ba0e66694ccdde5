"""What comes next: taking apart, what comes out, how, and what must be measured before; then the wash, what goes in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain
from typing import Final

from flask import Flask, request, url_for

from labelkit.bench.about import About
from labelkit.bench.acting import nothing_asked
from labelkit.bench.cardnext import going_together
from labelkit.bench.cardview import card_state
from labelkit.bench.openlist import listed_points, place_address
from labelkit.bench.web import Bench
from labelkit.bench.whereabouts import Row, rows_of
from labelkit.calc.allowed import Assembly
from labelkit.calc.apart import before_wash, loosened, measure_now, next_out, readable_now
from labelkit.calc.openpoints import next_to_inspect, open_points
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin
from labelkit.calc.supply import supply
from labelkit.calc.washing import is_washed
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.acts import Removed
from labelkit.model.catalogue import Catalogue
from labelkit.model.profile import fit_words
from labelkit.sheets.cardpages import TRIANGLE
from labelkit.sheets.jobview import JobView
from labelkit.sheets.seen import as_seen

_SHOWN: Final = ("watch", "out")


def add_teardown(app: Flask, bench: Bench, catalogue: Catalogue) -> None:
    """Add the page that leads through the teardown; `catalogue`: of the parts counter, as for the page of parts."""

    @app.get("/job/<int:number>/next")
    def next_part(number: int) -> str:
        view = bench.lookup.view(number)
        record = bench.record(view)
        wanted = request.args.get("step", "")
        first = view.teardown.at(wanted) if wanted in view.teardown.places else next_out(record)
        measured = _to_measure(view, record, request.args.get("later", ""))
        each = measured or first
        shared = {"job": number, "here_name": "next", "asked": nothing_asked(record), "last": _last_out(view, record)}
        if each is None:
            return bench.fill("next_done.html", **shared, **_after_teardown(view, record, catalogue))
        state = card_state(About(Assembly(record), record.at(each.ordinal)), bench.people.name or "")
        if measured:
            state = replace(state, points=tuple(point for point in state.points if point.now))
        shown = bench.entry(view, as_seen(record.at(each.ordinal)))
        return bench.fill(
            "next.html",
            title=(_("Measure: {part}") if measured else _("Next: {part}")).format(part=each.full_name),
            measuring=measured is not None,
            each=each,
            entry=shown,
            sections=[section for section in shown.card.sections if section.kind in _SHOWN],
            state=state,
            holds=(*record.holds, *state.holds),
            place=view.place_words(each),
            code=view.code(each),
            action=f"/{view.code(each)}/act",
            inside="",
            triangle=TRIANGLE,
            whole=_next_whole(view, record, each),
            unread=[] if measured else _to_read(record),
            lengths=view.profile.unit.lengths,
            torque_unit=view.profile.unit.torques,
            closed=record.closed is not None,
            **shared,
        )


def _after_teardown(view: JobView, record: Record, catalogue: Catalogue) -> dict[str, object]:
    """Return what the page shows that leads on once everything is out: to the wash, then what goes in, one by one."""
    assembly, number = Assembly(record), view.job.number
    together, points = going_together(record), open_points(record)
    doable = assembly.doable()
    rows = rows_of(view, assembly, doable)
    # What jumps over something that lies there is no first choice; that it waits for a new part is.
    first = next((place for place, each in enumerate(doable) if not assembly.jumps(each)), 0)
    left = [
        Row(point.text, point.address or url_for("job", number=number))
        for listed in listed_points(view, () if rows else points)
        for point in listed.points
    ]
    before = None if together else next(chain(_to_wash(view, record), _to_inspect(view, record)), None)
    to_order = None if before else _to_order(view, record, catalogue)
    if not together:
        before = before or to_order
    # In time is by now where nothing else is to be done.
    waiting = [to_order] if to_order and doable and doable[first].what == "wait" else []
    done = Row(_("Sign-off"), url_for("sign_off", number=number))
    title = _("Job {number}: putting together") if together else _("Job {number}: everything is out")
    return {
        "title": title.format(number=number),
        "together": together,
        "now": before or next(iter((*waiting, *rows[first:], *left, done))),
        "wrong": [
            (point.text, url_for("fit", number=number, name=point.fit))
            for point in points
            if point.kind in ("fit", "choose")
        ],
        "passed": "" if before or not doable else assembly.jumps(doable[first]),
        "rows": len(assembly.allowed()),
        "waiting": len(assembly.waiting()),
        "left": len(left),
        "before": before is not None,
        "to_order": to_order,
        "uninspected": sum(point.kind == "check" for point in points),
        "closed": record.closed,
        "signed": record.signed,
    }


def _to_wash(view: JobView, record: Record) -> Iterator[Row]:
    """Yield that the wash is not over."""
    if not is_washed(record):
        words = _("out before the wash") if before_wash(record) else _("wash")
        yield Row(words, url_for("wash", number=view.job.number))


def _to_inspect(view: JobView, record: Record) -> Iterator[Row]:
    """Yield the first part that is to be inspected."""
    if first := next_to_inspect(record):
        yield Row(_("inspect {part}").format(part=first.name), place_address(view, first.item.ordinal))


def _to_order(view: JobView, record: Record, catalogue: Catalogue) -> Row | None:
    """Return that new parts are still to be ordered; what has no number is never recorded as ordered."""
    try:
        numbers = sum(bool(each.to_order and each.line.number) for each in supply(record, catalogue).progress)
    except UsageError:  # too many options are open to tell
        return None
    told = ngettext("order new parts: {count} number", "order new parts: {count} numbers", numbers)
    return Row(told.format(count=numbers), url_for("parts", number=view.job.number)) if numbers else None


def _to_read(record: Record) -> list[tuple[str, str]]:
    """Return the fits to be read in time, the first that ends before the others: the id, and what to do until when."""
    found = []
    for name, end in sorted(readable_now(record).items(), key=lambda fit: fit[1].ordinal):
        told = _("{fit}, before step {step}").format(fit=fit_words(name), step=end.step_words)
        if loose := ", ".join(each.name for each in loosened(record, name)):
            told = _("{told}, with {parts} tightened again").format(told=told, parts=loose)
        found.append((name, told))
    return found


def _to_measure(view: JobView, record: Record, later: str) -> Bin | None:
    """Return the part that came out last while something of it can be measured only now; None when nothing can."""
    last = _last_out(view, record)
    if last is None or str(last.ordinal) == later or not measure_now(record, last.ordinal):
        return None
    return last if record.at(last.ordinal).stage in ("removed", "binned") else None


def _last_out(view: JobView, record: Record) -> Bin | None:
    for event in reversed(record.standing):
        if isinstance(event.act, Removed):
            return next((each for each in view.teardown.bins if each.ordinal == event.place), None)
    return None


def _next_whole(view: JobView, record: Record, each: Bin) -> Bin | None:
    """Return the next part that belongs to no sub-assembly, for who opens this one later; None when there is none."""
    if each.parent is None:
        return None
    bins = view.teardown.bins[view.teardown.places[each.step] :]
    return next((b for b in bins if b.parent is None and record.at(b.ordinal).stage == "in_unit"), None)

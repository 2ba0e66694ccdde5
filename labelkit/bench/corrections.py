"""Correcting an event, one's own or another's: it stays in the record and does not count, and what is right follows."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from flask import Flask, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.acting import Asked, Wish, answered, cautions_of, nothing_asked, send
from labelkit.bench.points import odd_reading, reading_of
from labelkit.bench.typed import figure, figures_alike
from labelkit.bench.web import Bench
from labelkit.calc.notepieces import BETWEEN
from labelkit.calc.record import Record
from labelkit.calc.slips import odd_play
from labelkit.calc.steps import Bin
from labelkit.errors import NotFoundError, UsageError
from labelkit.language import gettext as _
from labelkit.model.acts import CountFound, Inspected, Ordered, Removed, TorqueSigned
from labelkit.model.events import Event, act_data
from labelkit.model.readings import FitChosen, Reading
from labelkit.sheets import keptnotes
from labelkit.sheets.actwords import VERDICTS, event_words
from labelkit.sheets.jobview import JobView
from labelkit.units import Quantity


def add_corrections(app: Flask, bench: Bench) -> None:
    """Add the page that corrects an event."""

    @app.get("/job/<int:number>/correct/<int:event>")
    def correct(number: int, event: int) -> str:
        view = bench.lookup.view(number)
        return _page(bench, view, _event(bench, view, event), None)

    @app.post("/job/<int:number>/correct/<int:event>")
    def corrected(number: int, event: int) -> AnyResponse:
        view = bench.lookup.view(number)
        wrong = _event(bench, view, event)
        # What the options leave out has no place any more; its event is taken back all the same.
        place = wrong.place if wrong.place in bench.record(view).places else None
        wishes = [Wish({"kind": "correction", "of": event, "why": request.form.get("why", "")}, place)]
        faults: dict[str, str] = {}
        text = request.form.get("right", "").strip()
        try:
            right = _right(bench.record(view), wrong, text)
        except UsageError as error:
            right, faults["right"] = {}, str(error)
        if right:
            if odd := _odd(bench.record(view), right, place):
                right["note"] = BETWEEN.join(keptnotes.stands(odd))
                if request.form.get("sure") != text:
                    faults["sure"] = keptnotes.asked(odd)
            wishes.append(Wish(right, wrong.place, dict.fromkeys(right, "right")))
        answer = send(bench, view, wishes, form="correct", then=_way_back(view, wrong), faults=faults)
        return answered(answer, lambda asked: _page(bench, view, wrong, asked))


def _event(bench: Bench, view: JobView, number: int) -> Event:
    events = bench.record(view).events
    if not 1 <= number <= len(events):
        lost = _("job {number} has no event {event}; its last one is {last}")
        raise NotFoundError(lost.format(number=view.job.number, event=number, last=len(events)))
    return events[number - 1]


def _way_back(view: JobView, event: Event) -> str:
    item, number = _item(view, event), view.job.number
    if item:
        return url_for("show", code=view.code(item))
    match event.act:
        case Ordered():
            return url_for("parts", number=number)
        case Reading(fit=str(fit)) | FitChosen(fit=fit):
            return url_for("fit", number=number, name=fit)
    return url_for("job", number=number)


def _item(view: JobView, event: Event) -> Bin | None:
    return next((each for each in view.teardown.bins if each.ordinal == event.place), None)


def _right(record: Record, wrong: Event, text: str) -> dict[str, Any]:
    """Return the act that takes the place of a wrong one; empty when only the wrong one is taken back."""
    act = wrong.act
    if not text:
        return {}
    data = {name: value for name, value in act_data(act).items() if name not in ("note", "ticked", "override")}
    match act:
        case Removed() | CountFound():
            return {**data, "count": text}
        case Inspected():
            return {**data, "verdict": text}
        case Reading():
            # What the sum came to was about the wrong figures.
            left = {name: value for name, value in data.items() if name not in ("verdict", "result")}
            if act.check is not None and wrong.place is not None and wrong.place in record.places:
                again, _answer = reading_of(record.at(wrong.place), act.check, act.unit, text)
                return {**again, **{name: value for name, value in left.items() if name not in ("values", "unit")}}
            read = figures_alike(text, act.unit)
            return {**left, "values": tuple(str(each.value) for each in read), "unit": read[0].unit}
        case TorqueSigned(torque=None, angle=angle) if angle is not None:
            return {**data, "angle": str(figure(text, "deg").value)}
        case TorqueSigned():
            torque = figure(text, act.unit)
            return {**data, "torque": str(torque.value), "unit": torque.unit}
    return {}


def _odd(record: Record, right: Mapping[str, Any], place: int | None) -> tuple[str, ...]:
    """Return in English what looks like a slip of the figures that are right now."""
    if right["kind"] != "reading":
        return ()
    if place is not None:
        return odd_reading(record.at(place), right)
    fit = record.profile.fits[right["fit"]]
    read = [Quantity(Decimal(value), right["unit"]) for value in right["values"]]
    return tuple(dict.fromkeys(odd_play(fit, right["at"], read)))


def _cautions(record: Record, event: Event, who: str) -> tuple[str, ...]:
    """Return what is ticked before the act is written anew."""
    return cautions_of(record, event.act, event.place, who) if event.place in record.places else ()


def _page(bench: Bench, view: JobView, event: Event, asked: Asked | None) -> str:
    record = bench.record(view)
    act = event.act
    count = _("count")
    turned = isinstance(act, TorqueSigned) and act.torque is None and act.angle is not None
    torque = _("degrees") if turned else _("torque")
    asks = {Removed: count, CountFound: count, Reading: _("figures"), TorqueSigned: torque}
    return bench.fill(
        "correct.html",
        title=_("Correct event {number}").format(number=event.number),
        job=view.job.number,
        asked=asked or nothing_asked(record),
        event=event,
        words=event_words(event, view.profile, view.teardown),
        cautions=_cautions(record, event, bench.people.name or ""),
        ask=asks.get(type(act), ""),
        verdicts=tuple((value, _(said)) for value, said in VERDICTS.items()) if isinstance(act, Inspected) else (),
        back=_way_back(view, event),
        done=record.corrected.get(event.number),
    )

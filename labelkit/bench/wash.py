"""Out before the wash: what must be out and bagged first, what goes into the washer, what came out of it clean."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from flask import Flask, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.acting import Asked, Wish, answered, cautions_of, nothing_asked, send
from labelkit.bench.openlist import place_address
from labelkit.bench.typed import whole
from labelkit.bench.web import Bench
from labelkit.calc.apart import before_wash, hosts
from labelkit.calc.cautions import notices, worst_first
from labelkit.calc.placerecord import PlaceRecord
from labelkit.calc.record import Record
from labelkit.calc.washing import cleanable, in_washer, is_dirty, is_washed, treated
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext
from labelkit.model.acts import Washed, WashStarted
from labelkit.sheets import wording
from labelkit.sheets.jobview import JobView

# Classes that go into a washer; a part whose class nobody recorded is asked about.
_BASKETS: Final = ("basket", "small_basket")


@dataclass(frozen=True, slots=True)
class Load:
    """One part as the wash page lists it: its ordinal, name, card, how it is washed, and what is the matter."""

    ordinal: int
    name: str
    address: str | None
    wash: str
    state: str


def add_wash(app: Flask, bench: Bench) -> None:
    """Add the gate before the wash."""

    @app.get("/job/<int:number>/wash")
    def wash(number: int) -> str:
        return _page(bench, bench.lookup.view(number), None)

    @app.post("/job/<int:number>/wash")
    def washed(number: int) -> AnyResponse:
        view = bench.lookup.view(number)
        name = request.form.get("form", "")
        if name not in ("started", "washed"):
            raise UsageError(_("this page has no form {name}; open it again").format(name=name[:40]))
        chosen = tuple(place for text in request.form.getlist("places") if (place := whole(text)) is not None)
        record = bench.record(view)
        here = tuple(each for each in chosen if each in record.places)
        faults = {} if here else {"places": _("nothing is chosen; tick what is meant")}
        wishes = [Wish({"kind": "wash_started", "places": here})]
        if name == "washed":
            wishes = [Wish({"kind": "washed"}, ordinal) for ordinal in here]
        clean = ngettext("Clean and dry: {count} part", "Clean and dry: {count} parts", len(here))
        told = clean.format(count=len(here)) if name == "washed" else ""
        then = url_for("wash", number=number)
        answer = send(bench, view, wishes if here else [], form=name, then=then, faults=faults, told=told)
        return answered(answer, lambda asked: _page(bench, view, asked, chosen))


def _page(bench: Bench, view: JobView, asked: Asked | None, chosen: tuple[int, ...] | None = None) -> str:
    record, who = bench.record(view), bench.people.name or ""
    may = set(cleanable(record))
    dirty = [place for ordinal, place in record.places.items() if is_dirty(place) and ordinal in may]
    first = before_wash(record)
    inside = in_washer(record)
    running = [_load(view, record, place) for place in dirty if place.item.ordinal in inside]
    waiting = [place for place in dirty if place.item.ordinal not in inside]
    baskets = [_load(view, record, place) for place in waiting if treated(record, place).wash in _BASKETS]
    by_hand = [_load(view, record, place) for place in waiting if treated(record, place).wash not in _BASKETS]
    return bench.fill(
        "wash.html",
        title=_("Job {number}: out before the wash").format(number=view.job.number),
        job=view.job.number,
        here_name="wash",
        asked=asked or nothing_asked(record),
        first=[_first(view, record, place) for place in first],
        running=running,
        baskets=baskets,
        by_hand=by_hand,
        held=[place for place in record.places.values() if place.holds and is_dirty(place)],
        chosen={
            "started": {each.ordinal for each in baskets} if chosen is None else set(chosen),
            "washed": inside if chosen is None else set(chosen),
        },
        cautions=cautions_of(record, WashStarted(places=tuple(each.ordinal for each in baskets)), None, who),
        drying=_drying(record, who),
        notices=notices(record, WashStarted(places=tuple(place.item.ordinal for place in dirty)), None),
        closed=record.closed is not None,
        washed=is_washed(record) and any(place.is_out for place in record.places.values()),
    )


def _drying(record: Record, who: str) -> tuple[str, ...]:
    """Return the cautions of parts that are marked clean together."""
    dirty = (ordinal for ordinal in cleanable(record) if is_dirty(record.at(ordinal)))
    return worst_first(text for ordinal in dirty for text in cautions_of(record, Washed(), ordinal, who))


def _first(view: JobView, record: Record, place: PlaceRecord) -> Load:
    around = [record.at(host).name for host in sorted(hosts(record, place.item)) if host in record.places]
    where = _("; it may lie in {parts}").format(parts=", ".join(around)) if around else ""
    state = _("{count} of {expected} counted").format(count=place.count, expected=place.expected)
    if place.count is None:
        state = _("not out yet") if place.stage == "in_unit" else _("out, but not counted and bagged")
    return Load(place.item.ordinal, place.name, place_address(view, place.item.ordinal), "", state + where)


def _load(view: JobView, record: Record, place: PlaceRecord) -> Load:
    unknown = _("wash {unknown}").format(unknown=wording.not_recorded())
    words = wording.treatment_words(treated(record, place)) or unknown
    return Load(place.item.ordinal, place.name, place_address(view, place.item.ordinal), words, "")

"""Where a job is: what was verified last, what is open, allowed now and short, and what lies on which tray."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from flask import Flask, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.about import About
from labelkit.bench.acting import Asked, Wish, answered, kind_of, nothing_asked, send
from labelkit.bench.cardnext import forms_of
from labelkit.bench.openlist import listed_points, place_address, way_in
from labelkit.bench.options import setting
from labelkit.bench.web import Bench
from labelkit.calc.allowed import Assembly
from labelkit.calc.apart import next_out
from labelkit.calc.doing import Allowed
from labelkit.calc.openpoints import open_points
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin
from labelkit.calc.supply import supply
from labelkit.calc.washing import is_in_washer
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.language import ngettext, noop
from labelkit.model.catalogue import Catalogue
from labelkit.sheets.actwords import event_words, place_of
from labelkit.sheets.joblist import job_entry
from labelkit.sheets.jobview import JobView
from labelkit.sheets.picklist import NO_SIZE
from labelkit.sheets.placewords import stage_words

# Kinds whose points are shown at once.
_FIRST: Final = ("hold", "fit", "choose", "unread", "unmeasured", "still_in", "limit", "seen", "count", "option")
_SHOWN: Final = 6
# What is done first with a part that may go in, by the form of its card.
_FIRST_ACT: Final[dict[str, str]] = {
    "count": noop("count it"),
    "points": noop("inspect it"),
    "washed": noop("clean it"),
    "staged": noop("lay it ready"),
    "installed": noop("put in"),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One line that leads on: words, the address (None: nowhere), and a word on its state."""

    text: str
    address: str | None
    state: str = ""


def add_whereabouts(app: Flask, bench: Bench, catalogue: Catalogue) -> None:
    """Add the page that says where a job is, and the acts that are about the whole job.

    Args:
        app: the application.
        bench: what pages share.
        catalogue: of the parts counter: what it has on the shelf is not short.
    """

    @app.get("/job/<int:number>")
    def job(number: int) -> str:
        return _page(bench, bench.lookup.view(number), catalogue, None)

    @app.post("/job/<int:number>/act")
    def job_act(number: int) -> AnyResponse:
        view = bench.lookup.view(number)
        name = request.form.get("form", "")
        then = url_for("job", number=number)
        answer = _option(bench, view, name, then) if kind_of(name) == "option" else _plain(bench, view, name, then)
        return answered(answer, lambda asked: _page(bench, view, catalogue, asked))


_FORMS: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = {
    "hold": ("hold", ("why",)),
    "released": ("released", ("of", "why")),
    "deviation": ("deviation", ("what", "reason", "agreed")),
    "noted": ("noted", ("note",)),
}


def _plain(bench: Bench, view: JobView, name: str, then: str) -> AnyResponse | Asked:
    if kind_of(name) not in _FORMS:
        raise UsageError(_("a job has no form {name}; open its page again").format(name=name[:40]))
    kind, fields = _FORMS[kind_of(name)]
    data: dict[str, Any] = {"kind": kind, **{each: request.form.get(each, "") for each in fields}}
    return send(bench, view, [Wish(data)], form=name, then=then)


def _option(bench: Bench, view: JobView, name: str, then: str) -> AnyResponse | Asked:
    """Keep how the unit was seen to be built, and set the option to it."""
    group, choice = request.form.get("option", ""), request.form.get("choice", "")
    faults: dict[str, str] = {}
    option = view.profile.options.get(group)
    if option is None:
        faults["option"] = _("which option was looked at?")
    elif choice and choice not in option.choices:
        lost = _("{option} has no such choice; allowed: {choices}")
        faults["choice"] = lost.format(option=option.name, choices=", ".join(option.choices.values()))
    how = request.form.get("how", "").strip()
    if not how:
        faults["how"] = _("write in a few words by what it was seen")
    wish = Wish({"kind": "option_seen", "option": group, "choice": choice, "how": how})
    also, tells = setting(bench, view, {group: choice} if choice and not faults else {})
    return send(bench, view, [wish], form=name, then=then, faults=faults, tells=tells, also=also)


def _name_of(view: JobView, place: int | None) -> str:
    """Return the name of a place; nothing for the job itself, and where the options leave the place out."""
    found = None if place is None else place_of(view.teardown, place)
    return found[0] if found else ""


def _page(bench: Bench, view: JobView, catalogue: Catalogue, asked: Asked | None) -> str:
    record = bench.record(view)
    number = view.job.number
    about = job_entry(view.job, bench.lookup.of_job)
    following = next_out(record)
    assembly = Assembly(record)
    rows = rows_of(view, assembly, assembly.allowed())
    last = record.last_verified
    return bench.fill(
        "job.html",
        title=_("Job {number}, {unit}").format(number=number, unit=about.unit),
        about=about,
        job=number,
        here_name="where",
        asked=asked or nothing_asked(record),
        closed=record.closed,
        signatures=record.signatures,
        revision=view.profile.unit.revision if bench.store.drafts.is_revised(number, view.job.version) else "",
        following=following,
        out=sum(place.stage != "in_unit" for place in record.places.values()),
        last=last,
        last_words=event_words(last, view.profile, view.teardown) if last else "",
        holds=[
            (hold, _name_of(view, hold.place), place_address(view, hold.place))
            for hold in (*record.holds, *(hold for place in record.places.values() for hold in place.holds))
        ],
        job_holds=record.holds,
        allowed=rows[:_SHOWN],
        allowed_more=rows[_SHOWN:],
        waiting=rows_of(view, assembly, assembly.waiting()),
        open_groups=[
            (each.kind, each.title, [Row(point.text, point.address) for point in each.points], each.kind in _FIRST)
            for each in listed_points(view, open_points(record))
        ],
        short=_shortages(view, record, catalogue),
        trays=_trays(view, record),
        options=[(group, option) for group, option in view.profile.options.items()],
        chosen=view.job.options,
        deviations=[event_words(each, view.profile, view.teardown) for each in record.deviations],
        latest=[
            (event, event_words(event, view.profile, view.teardown)) for event in reversed(record.events[-_SHOWN:])
        ],
    )


def rows_of(view: JobView, assembly: Assembly, doable: list[Allowed]) -> list[Row]:
    """Return what may be done now, or as soon as new parts are here, with the pages on which it is done."""
    return [_allowed_row(view, assembly, each) for each in doable]


def _allowed_row(view: JobView, assembly: Assembly, each: Allowed) -> Row:
    """Return what may be done now with the page on which it is done."""
    if each.place is None:
        return Row(each.text, url_for("fit", number=view.job.number, name=each.fit))
    if each.what in ("out", "swap"):
        return Row(each.text, place_address(view, each.place))
    record = assembly.record
    address, new = way_in(view, record, view.teardown.items[each.place])
    state = ""
    if each.what in ("install", "join"):
        first = next(iter(forms_of(About(assembly, record.at(each.place), new), goes_in=True)), "")
        state = _(_FIRST_ACT[first]) if first in _FIRST_ACT else ""
    return Row(each.text, address, state)


def _shortages(view: JobView, record: Record, catalogue: Catalogue) -> list[Row]:
    """Return what new parts are missing in the order in which they stop the assembly."""
    try:
        found = supply(record, catalogue)
    except UsageError as error:
        return [Row(str(error), None)]
    coming = {each.line.number: each.coming for each in found.progress if each.line.number}
    rows = []
    for missing in found.now.missing:
        use = missing.use
        number = use.number or use.size or ""
        on_the_way = coming.get(use.number or "", 0)
        count = missing.pieces
        told = [ngettext("{count} missing", "{count} missing", count).format(count=count)] if count else []
        told += [_(NO_SIZE)] if use.unsized and missing.is_short else []
        state = ", ".join([*told, *([_("ON HOLD")] if missing.held else [])])
        state += _(", {count} on the way").format(count=on_the_way) if on_the_way else ""
        name = record.at(use.item.ordinal).name
        rows.append(Row(f"{name}{f' ({number})' if number else ''}", place_address(view, use.item.ordinal), state))
    return rows


def _trays(view: JobView, record: Record) -> list[tuple[str, int, int, list[Row]]]:
    """Return each tray with how many of its parts lie on it, how many there are, and the parts; the floor last."""
    found: dict[str, list[Bin]] = {}
    for each in sorted(view.teardown.bins, key=lambda each: each.step not in view.trays.places):
        on_tray = view.trays.places.get(each.step)
        name = _("Tray {letter}").format(letter=on_tray[0].letter) if on_tray else _("On no tray")
        found.setdefault(name, []).append(each)
    trays = []
    for name, bins in found.items():
        rows = []
        lying = 0
        for each in bins:
            place = record.at(each.ordinal)
            lying += place.is_out and not (place.is_missing or is_in_washer(record, place))
            rows.append(Row(f"{each.step_words} {each.name}", f"/{view.code(each)}", stage_words(record, place)))
        trays.append((name, lying, len(bins), rows))
    return trays

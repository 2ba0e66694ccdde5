"""The card that a scan opens, with what may be done now; every act of it is written here."""

from __future__ import annotations

from dataclasses import replace

from flask import Flask, Response, jsonify, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.about import About
from labelkit.bench.acting import Asked, answered, nothing_asked, send
from labelkit.bench.cardforms import wanted
from labelkit.bench.cardnext import going_together
from labelkit.bench.cardview import card_state
from labelkit.bench.fitstate import fit_rows
from labelkit.bench.openlist import place_address, way_in
from labelkit.bench.options import setting
from labelkit.bench.points import point_fields
from labelkit.bench.signin import local_path
from labelkit.bench.web import Bench
from labelkit.bench.working import wrong_job
from labelkit.calc.allowed import Assembly
from labelkit.calc.apart import next_out
from labelkit.calc.assembly import pack_of
from labelkit.calc.fitsizes import unmeasured_for
from labelkit.calc.gate import bare
from labelkit.calc.grades import as_chosen, new_number
from labelkit.calc.oldandnew import old_lost
from labelkit.calc.openpoints import next_to_inspect
from labelkit.calc.record import Record
from labelkit.calc.steps import Bin, Inside
from labelkit.errors import NotFoundError
from labelkit.language import gettext as _
from labelkit.model.catalogue import Catalogue
from labelkit.model.profile import fit_words
from labelkit.sheets.cardpages import TRIANGLE
from labelkit.sheets.cards import Card, card, card_data, new_card
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import read_scan
from labelkit.sheets.seen import as_seen


def add_cards(app: Flask, bench: Bench, catalogue: Catalogue) -> None:
    """Add the page of a card, its data, and the acts that its forms send.

    Args:
        app: the application.
        bench: what pages share.
        catalogue: of the parts counter.
    """

    @app.get("/<code>")
    def show(code: str) -> str | AnyResponse:
        view, found = bench.find(code)
        if not request.args.get("look") and (refusal := wrong_job(bench, view, found)):
            return _wrong_job(bench, view, found, code, refusal)
        if bench.people.job in (None, view.job.number):  # else the page speaks of two jobs
            bench.may_be_given_again(code)
        return _page(bench, catalogue, view, found, code)

    @app.get("/<code>.json")
    def data(code: str) -> Response:
        view, found = bench.find(code)
        return jsonify(card_data(_card(bench, view, *_meant(view, found, code))[1]))

    @app.post("/<code>/act")
    def act(code: str) -> AnyResponse:
        view, found = bench.find(code)
        if refusal := wrong_job(bench, view, found):
            return _wrong_job(bench, view, found, code, refusal)
        about = _about(bench, catalogue, view, found, code)
        form, name = request.form, request.form.get("form", "")
        asks = wanted(about, name, form)
        then = local_path(form.get("then", ""))
        here = _address(code)
        also, changes = setting(bench, view, asks.options)
        answer = send(
            bench,
            view,
            asks.wishes,
            form=name,
            tells=(*asks.tells, *changes),
            faults=asks.faults,
            also=also,
            then=here if then == "/" else then,
        )

        def page(asked: Asked) -> str:
            called = replace(asked, called=point_fields(about.place))
            return _page(bench, catalogue, view, found, code, called)

        return answered(answer, page)


def _about(bench: Bench, catalogue: Catalogue, view: JobView, found: Bin, code: str) -> About:
    """Return the place that is meant as the record knows it."""
    record, (item, new) = bench.record(view), _meant(view, found, code)
    return About(Assembly(record), record.at(item.ordinal), new, catalogue)


def _meant(view: JobView, found: Bin, code: str) -> tuple[Bin | Inside, bool]:
    """Return what a code means, the bin's part or one that stays inside it, and whether it means a new one."""
    new = view.new_part(read_scan(code))
    item = inside_asked(view, found) or new or found
    return item, new is not None and item is new


def inside_asked(view: JobView, found: Bin) -> Inside | None:
    """Return the part inside that of a bin which address or form name by its ordinal; None where they name none.

    Raises:
        NotFoundError: no part of that ordinal stays inside it.
    """
    wanted_place = request.values.get("inside", "")
    inside = {str(each.ordinal): each for each in view.inside.get(found.step, ())}
    if wanted_place and wanted_place not in inside:
        lost = _("nothing of that number stays inside step {step}; open its card again")
        raise NotFoundError(lost.format(step=found.step))
    return inside.get(wanted_place)


def _card(bench: Bench, view: JobView, item: Bin | Inside, new: bool) -> tuple[Bin | Inside, Card]:
    """Return a part as it was seen to sit, for who may read that, and its card; `new`: that of a new one of it."""
    if not bench.may_read:
        return item, (new_card if new else card)(view, item)
    record = bench.record(view)
    item = as_seen(record.at(item.ordinal))
    if not new:
        return item, card(view, item)
    item, lost = as_chosen(record, item), old_lost(record.at(item.ordinal)) is None
    return item, new_card(view, item, new_number(record, item.ordinal), lost=lost)


def _address(code: str) -> str:
    inside = request.values.get("inside", "")
    return url_for("show", code=code, inside=inside or None)


def _page(bench: Bench, catalogue: Catalogue, view: JobView, found: Bin, code: str, asked: Asked | None = None) -> str:
    about = _about(bench, catalogue, view, found, code)
    who = bench.people.name or ""
    own = read_scan(code)
    item, card_of_it = _card(bench, view, about.place.item, about.new)
    return bench.fill(
        "card_page.html",
        title=f"{card_of_it.step} {card_of_it.name}",
        entry=bench.entry(view, item, card_of_it),
        onward=_onward(view, about.place.item, about.assembly),
        around=_around(view, found, about.record),
        job=view.job.number,
        triangle=TRIANGLE,
        href=lambda other: f"/{other}",
        asked=asked or nothing_asked(about.record),
        state=card_state(about, who),
        fits=list(fit_rows(view, about.record, [each.id for each in view.profile.fits_of(about.place.item.part.id)])),
        captured=[
            (each, url_for("show", code=own, inside=each.ordinal))
            for each in view.inside.get(found.step, ())
            if isinstance(item, Bin)
        ],
        inside=request.values.get("inside", ""),
        code=own,
        sticker=view.new_code(about.place.item),
        of_new=about.of_new,
        comes=_comes(about),
        arrives=_arrives(about),
        turns=_turns(view, about),
        action=f"/{own}/act",
        other_job=bench.people.job if wrong_job(bench, view, found) else None,
        closed=about.record.closed is not None,
        torque_unit=view.profile.unit.torques,
        lengths=view.profile.unit.lengths,
        revision=view.profile.unit.revision if about.place.item.part.id in view.job.changed else "",
    )


def _comes(about: About) -> bool:
    """Say whether some of a new part may still come: not all of its pieces are here, or none lies ready."""
    ready = about.place.staged is not None and not unmeasured_for(about.record, about.ordinal)
    return not about.record.has_new(about.ordinal) or not (about.place.is_in or ready)


def _arrives(about: About) -> bool:
    """Say whether whoever scans the sticker of a new part just got it: nothing of it is here."""
    return about.new and not about.place.is_in and not about.record.received.get(about.ordinal)


def _turns(view: JobView, about: About) -> tuple[str, str] | None:
    """Return the pack in whose order a plate goes in, and its code; None where it lies in none."""
    item = about.place.item
    pack = pack_of(view.teardown, item) if isinstance(item, Bin) else None
    return (pack.full_name, view.code(pack)) if pack else None


def _wrong_job(bench: Bench, view: JobView, found: Bin, code: str, refusal: str) -> Response:
    page = bench.fill(
        "wrong_job.html",
        title=_("This label is of another job"),
        refusal=bare(refusal),
        scanned=view.job.number,
        wanted=bench.people.job,
        part=found.full_name,
        code=read_scan(code),
        job=bench.people.job,
    )
    return Response(page, 409, mimetype="text/html")


def _onward(view: JobView, shown: Bin | Inside, assembly: Assembly) -> list[tuple[str, str, str]]:
    """Return what to go on with from the card of a part: label, address and words.

    In assembly it is a play to be read now, and what goes in next; before it, once all is out, what is to be inspected.
    """
    number, record = view.job.number, assembly.record
    if not going_together(record):
        unseen = next_to_inspect(record, shown.ordinal) if next_out(record) is None else None
        if unseen is None:
            return []
        address = place_address(view, unseen.item.ordinal) or url_for("job", number=number)
        return [(_("Next to inspect"), address, unseen.name)]
    labels, ways = {"measure": _("Read now"), "choose": _("Choose now")}, []
    # As the page of what is next has it: in that order, and nothing is jumped over.
    for each in assembly.allowed():
        if each.fit:
            ways.append((labels[each.what], url_for("fit", number=number, name=each.fit), fit_words(each.fit)))
        elif each.what == "out" and each.place is not None and (way := place_address(view, each.place)):
            ways.append((_("Next to come out"), way, record.at(each.place).name))
        elif each.what in ("install", "join") and each.place not in (None, shown.ordinal) and not assembly.jumps(each):
            goes = record.at(each.place)
            ways.append((_("Next to go in"), way_in(view, record, goes.item)[0], goes.name))
            break
    return ways


def _around(view: JobView, found: Bin, record: Record) -> list[tuple[str, str, str]]:
    """Return the cards before and after one in the order of removal, as long as nothing goes in."""
    if going_together(record):
        return []
    bins = view.teardown.bins
    place = bins.index(found)
    return [
        (label, url_for("show", code=view.code(bins[k])), _("step {step}").format(step=bins[k].step_words))
        for label, k in ((_("Back"), place - 1), (_("Next card"), place + 1))
        if 0 <= k < len(bins)
    ]

"""A new part at its sticker: it came, its sizes beside those of the old one, its serial number, and it lies ready."""

from __future__ import annotations

from flask import Flask, redirect, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench import acting
from labelkit.bench.acting import Asked, Wish
from labelkit.bench.delivery import delivery
from labelkit.bench.parts import tray_of
from labelkit.bench.points import points_of
from labelkit.bench.serials import unnumbered
from labelkit.bench.sources import choices
from labelkit.bench.web import Bench
from labelkit.bench.working import wrong_job
from labelkit.calc.codes import grouped
from labelkit.calc.grades import chosen_words, lying_words, new_number
from labelkit.calc.newsizes import sizes_of
from labelkit.calc.steps import Bin, Inside
from labelkit.calc.supply import Awaited, Supply, supply
from labelkit.calc.usedup import some_stay
from labelkit.errors import NotFoundError, UsageError
from labelkit.language import gettext as _
from labelkit.model.acts import rejects_new
from labelkit.model.catalogue import Catalogue
from labelkit.sheets import wording
from labelkit.sheets.actwords import act_words
from labelkit.sheets.jobview import JobView
from labelkit.sheets.lookup import read_scan
from labelkit.sheets.picklist import reason_words

_FORM = "receive"
# Sizes that are asked for at once; the others behind a tap.
_FIRST = ("t", "section", "teeth", "od", "d", "id")
_TOLD = ("received", "returned", "staged", "noted")


def add_receiving(app: Flask, bench: Bench, catalogue: Catalogue) -> None:
    """Add the page of a sticker on which a new part is received and staged.

    Args:
        app: the application.
        bench: what pages share.
        catalogue: of the parts counter.
    """

    @app.get("/<code>/receive")
    def receive(code: str) -> str | AnyResponse:
        view, new = _find(bench, code)
        if wrong_job(bench, view, _bin(view, new)):
            return redirect(url_for("show", code=read_scan(code)), 303)
        return _page(bench, view, new, catalogue)

    @app.post("/<code>/receive")
    def received(code: str) -> AnyResponse:
        view, new = _find(bench, code)
        if wrong_job(bench, view, _bin(view, new)):
            return redirect(url_for("show", code=read_scan(code)), 303)
        came = delivery(bench.record(view), new.ordinal, request.form, catalogue)
        wishes = [Wish(act, new.ordinal) for act in came.acts]
        then = url_for("receive", code=read_scan(code))
        answer = acting.send(bench, view, wishes, form=_FORM, then=then, faults=came.faults, tells=came.tells)
        return acting.answered(answer, lambda asked: _page(bench, view, new, catalogue, asked))


def _find(bench: Bench, code: str) -> tuple[JobView, Bin | Inside]:
    view, found = bench.find(code)
    new = view.new_part(read_scan(code))
    if new is None:
        lost = _(
            "this is the label of the bin of {part}, not the sticker of its new part; scan the sticker, or type "
            "its code {code}"
        )
        raise NotFoundError(lost.format(part=found.name, code=grouped(view.new_code(found))))
    return view, new


def _bin(view: JobView, new: Bin | Inside) -> Bin:
    found = view.bin_holding(new)
    if found is None:
        raise NotFoundError(_("{part} stays inside a part that has no bin").format(part=new.part.name))
    return found


def _page(bench: Bench, view: JobView, new: Bin | Inside, catalogue: Catalogue, asked: Asked | None = None) -> str:
    record = bench.record(view)
    place, part = record.at(new.ordinal), new.part
    held = _bin(view, new)
    values: dict[str, object] = {"uses": (), "tray": None, "sources": (), "unclear": ""}
    values["at"] = Awaited(came=record.received.get(new.ordinal, 0), loose=record.loose_for(new.ordinal))
    try:
        values |= _standing(view, supply(record, catalogue), new)
    except UsageError as error:  # so many options are open that nobody can say
        values["unclear"] = str(error)
    sizes = sizes_of(record, new.ordinal)
    first = [size for size in sizes if size.name in _FIRST][:3]
    return bench.fill(
        "receive.html",
        title=_("New: {part}").format(part=place.name),
        job=view.job.number,
        here_name="parts",
        asked=asked or acting.nothing_asked(record),
        form=_FORM,
        code=view.new_code(new),
        step=held.step,
        name=new.name
        if isinstance(new, Bin)
        else _("{name}, which goes inside step {step}").format(name=part.name, step=held.step),
        number=new_number(record, new.ordinal)
        or part.number
        or (_("by its size") if part.series else wording.not_recorded()),
        where=view.place_words(held),
        chosen=chosen_words(record, new.ordinal),
        lying=lying_words(record, new.ordinal),
        place=place,
        first=first,
        size_label=lambda size: wording.capital(_(size.words)),
        more=[size for size in sizes if size not in first],
        pairs=unnumbered(record, new.ordinal, new=True),
        closed=record.closed is not None,
        history=[event for event in reversed(place.events) if event.act.kind in _TOLD or rejects_new(event.act)],
        installed=record.count_new(new.ordinal, lambda lot: lot.new),
        looks=[point for point in points_of(record, new.ordinal, view.profile.unit.lengths) if not point.when],
        some=bool(record.stays.get(new.ordinal)) or some_stay(record, place),
        lost=place.is_lost,
        words=lambda event: act_words(event.act, part),
        **values,
    )


def _standing(view: JobView, found: Supply, new: Bin | Inside) -> dict[str, object]:
    ordinal = new.ordinal
    at = found.awaited(ordinal)
    uses = [use for line in found.needs.lines for use in line.uses if use.item.ordinal == ordinal]
    return {
        "uses": [(use, reason_words(use)) for use in uses],
        "tray": tray_of(view, found, ordinal),
        "at": at,
        "sources": choices(at.coming, at.shelf),
    }

"""The fits of a job: what is read and what is not, the sum of each line by line, and what is taken."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Final
from urllib.parse import urlencode

from flask import Flask, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench import acting
from labelkit.bench.fieldwords import field_words, told_faults
from labelkit.bench.fitacts import NOTHING, offers, wishes
from labelkit.bench.fitdoubts import fit_doubts
from labelkit.bench.fitform import GASKETS, TIMES, WAVES, FitForm
from labelkit.bench.fitread import fit_form
from labelkit.bench.fitstate import fit_rows, fit_state
from labelkit.bench.web import Bench
from labelkit.calc.allowed import Assembly
from labelkit.calc.answers import Answer
from labelkit.calc.apart import loosened
from labelkit.calc.refusals import fit_still_out
from labelkit.calc.slips import series_words
from labelkit.calc.verdicts import VERDICT_WORDS
from labelkit.errors import NotFoundError
from labelkit.language import gettext as _
from labelkit.language import noop
from labelkit.model.profile import fit_words
from labelkit.sheets import keptnotes, wording
from labelkit.sheets.actwords import event_words
from labelkit.sheets.fitsheet import has_fit
from labelkit.sheets.jobview import JobView
from labelkit.sheets.worksheetlimits import aim_of, fit_limits

# Nothing is recorded of these: the readings do not allow it, or something must be said first.
_NOT_KEPT: Final = ("refused", "ask")
_AIMS: Final = {"low": noop("low"), "middle": noop("the middle"), "high": noop("high")}


def add_fits(app: Flask, bench: Bench) -> None:
    """Add the list of fits and the page of each."""

    @app.get("/job/<int:number>/fits")
    def fits(number: int) -> str:
        view = bench.lookup.view(number)
        record = bench.record(view)
        return bench.fill(
            "fits.html",
            title=_("Fits, job {number}").format(number=number),
            job=number,
            here_name="fits",
            fits=list(fit_rows(view, record, view.profile.fits)),
            asked=acting.nothing_asked(record),
        )

    @app.get("/job/<int:number>/fits/<name>")
    def fit(number: int, name: str) -> tuple[str, int]:
        view = bench.lookup.view(number)
        asked = acting.nothing_asked(bench.record(view))
        return _page(bench, view, _known(view, name), request.args, asked)

    @app.post("/job/<int:number>/fits/<name>")
    def keep_fit(number: int, name: str) -> AnyResponse:
        view = bench.lookup.view(number)
        form = fit_form(bench.record(view), _known(view, name), view.job.options, request.form)
        answer = form.answer()
        faults = dict(form.faults)
        if answer is not None and answer.verdict in _NOT_KEPT:
            faults[""] = answer.notes[-1] if answer.verdict == "refused" else answer.notes[0]
        if (odd := fit_doubts(form)) and request.form.get("sure") != "yes":
            faults["sure"] = keptnotes.asked(odd)
        acts = wishes(form, answer, faults) if answer is not None else []
        if not acts:
            faults.setdefault("", _("look at the sum first"))
        sent = acting.send(bench, view, acts, form="fit", then=url_for("fit", number=number, name=name), faults=faults)
        return acting.answered(sent, lambda asked: _page(bench, view, name, request.form, asked)[0])


def _known(view: JobView, name: str) -> str:
    if name not in view.profile.fits:
        told = _("job {number} has no fit {fit}; allowed: {fits}")
        raise NotFoundError(told.format(number=view.job.number, fit=name, fits=", ".join(view.profile.fits)))
    return name


def _page(bench: Bench, view: JobView, name: str, typed: Mapping[str, str], asked: acting.Asked) -> tuple[str, int]:
    """Return the page of a fit with the sum of what was typed, and its status."""
    record, fit = bench.record(view), view.profile.fits[name]
    form = fit_form(record, name, view.job.options, {key: value for key, value in typed.items() if value.strip()})
    answer = form.answer()
    own, other = fit_limits(fit)
    setters = view.teardown.of(fit.set_by) if fit.set_by else ()
    counted = view.profile.counted(fit)
    chain = [each for each in view.teardown.bins if each.part.id in counted and each not in setters]
    text = bench.fill(
        "fit.html",
        title=_("{fit}, job {number}").format(fit=fit_words(name), number=view.job.number),
        job=view.job.number,
        here_name="fits",
        asked=asked,
        form=form,
        called=field_words,
        faults=partial(told_faults, called={f"plate-{p.id}": f"{p.count} × {p.name}" for p in form.plates}),
        doubts=[keptnotes.said(odd) for odd in fit_doubts(form)],
        words=fit_words(name),
        kind=_(wording.FIT_KINDS[fit.kind]),
        target=own + (f" = {other}" if other else ""),
        aim=f"{_(_AIMS[fit.aim])}, {aim_of(fit)}" if isinstance(fit.aim, str) else str(fit.aim),
        setters=[(view.code(each), each.full_name) for each in setters],
        packs=[(view.code(each), each.full_name) for each in view.teardown.of(fit.of or "")],
        chain=[(view.code(each), each.full_name) for each in chain],
        state=fit_state(view, record, name),
        early=list(fit_still_out(Assembly(record), name)) if form.at == "assembled" and not asked.refusal else (),
        seat=fit.seat,
        sizes=series_words(form.series) if form.series else "",
        not_recorded=wording.not_recorded(),
        times=[(time, _(label), _way(view, name, form, time)) for time, label in TIMES],
        gaskets=[(value, _(label)) for value, label in GASKETS],
        waves=[(value, _(label)) for value, label in WAVES],
        answer=answer,
        verdict=_(VERDICT_WORDS[answer.verdict]) if answer else "",
        offers=offers(form, answer) if answer else (),
        keeps=answer is not None and answer.verdict not in _NOT_KEPT,
        take=typed.get("take", _usual_take(form, answer)),
        nothing=NOTHING,
        hidden=[(key, value) for key, value in form.typed.items() if key not in _OF_THE_SENDING],
        loose=[each.name for each in loosened(record, name)] if form.at == "before" else [],
        events=[e for e in reversed(record.standing) if getattr(e.act, "fit", None) == name],
        event_words=lambda event: event_words(event, view.profile, view.teardown),
        has=has_fit(view, fit),
        closed=record.closed is not None,
    )
    return text, 422 if form.faults else 200


# What a form carries of its own sending, and no figure of the fit.
_OF_THE_SENDING: Final = frozenset(("csrf", "token", "seen", "take", "note", "form", "ticked", "sure"))


def _way(view: JobView, name: str, form: FitForm, time: str) -> str:
    """Return the address of the form for another time of the job, with what was typed."""
    kept = {key: value for key, value in form.typed.items() if key not in _OF_THE_SENDING and key != "sum"}
    return f"{url_for('fit', number=view.job.number, name=name)}?{urlencode({**kept, 'at': time})}"


def _usual_take(form: FitForm, answer: Answer | None) -> str:
    """Return what is proposed: what the sum chose."""
    return next((each.value for each in offers(form, answer) if each.best), NOTHING) if answer else NOTHING

"""The sign-off: what is still open with what to do about it, what is ticked, the signature, closing and reopening."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from flask import Flask, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench import acting
from labelkit.bench.acting import Asked, Wish
from labelkit.bench.openlist import listed_points
from labelkit.bench.web import Bench
from labelkit.calc.oldandnew import old_lost, old_replaced
from labelkit.calc.openpoints import against_signing, not_empty, open_points
from labelkit.calc.record import Record
from labelkit.language import gettext as _
from labelkit.language import speaking
from labelkit.model.acts import Closed, Reopened
from labelkit.sheets import keptnotes, wording
from labelkit.sheets.actwords import event_words, in_one_line
from labelkit.sheets.jobview import JobView

_FEW: Final = 6  # points of a kind that are shown at once; more behind a tap


def add_sign_off(app: Flask, bench: Bench) -> None:
    """Add the sign-off page with its acts."""

    @app.get("/job/<int:number>/sign-off")
    def sign_off(number: int) -> str:
        return _page(bench, bench.lookup.view(number))

    @app.post("/job/<int:number>/sign-off")
    def sign(number: int) -> AnyResponse:
        view = bench.lookup.view(number)
        name = request.form.get("form", "")
        wishes, faults = _wishes(bench, view, name)
        then, told = url_for("sign_off", number=number), _told(wishes).format(who=bench.people.name)
        answer = acting.send(bench, view, wishes, form=name, then=then, faults=faults, told=told)
        return acting.answered(answer, lambda asked: _page(bench, view, asked))


def _page(bench: Bench, view: JobView, asked: Asked | None = None) -> str:
    record, number = bench.record(view), view.job.number
    everything = open_points(record)
    points = against_signing(everything)
    bins = view.teardown.bins
    last = next((event for event in reversed(record.events) if isinstance(event.act, Closed | Reopened)), None)
    opened = last if last and isinstance(last.act, Reopened) and not record.signed else None
    full = {place.item.ordinal for place in not_empty(record)}
    return bench.fill(
        "signoff.html",
        title=_("Sign-off, job {number}").format(number=number),
        job=number,
        here_name="signoff",
        asked=asked or acting.nothing_asked(record),
        count=len(points),
        few=_FEW,
        kinds=listed_points(view, points),
        empty=sum(each.ordinal not in full and record.at(each.ordinal).stage != "in_unit" for each in bins),
        bins=len(bins),
        ticks=_ticks(view, keptnotes.OIL_UNKNOWN, keptnotes.HOW_MUCH),
        old=() if record.closed else tuple(_old_parts(record)),
        deviations=[(event, event_words(event, view.profile, view.teardown)) for event in record.deviations],
        opened=opened,
        opened_words=event_words(opened, view.profile, view.teardown) if opened else "",
        signatures=record.signatures,
        outdated=record.signed_before,
        signed_before=[point.text for point in everything if point not in points],
        mine=_signed_by(record, bench.people.name or ""),
        said=keptnotes.signed,
        noted=keptnotes.said,
        closed=record.closed,
        statement=keptnotes.statement(len(points), len(record.deviations)),
    )


def _signed_by(record: Record, who: str) -> bool:
    """Say whether a person has signed the unit as it is; whoever has not may do so, as long as the job is open."""
    valid = (event for event in record.signatures if event.number not in record.signed_before)
    return who.casefold() in (event.who.casefold() for event in valid)


def _ticks(view: JobView, oil_unknown: str, how_much: str) -> tuple[tuple[str, str], ...]:
    """Return what is ticked before the signature: the name of its field, and its words.

    Args:
        view: the job.
        oil_unknown: what of the oil is said where the profile tells nothing of it.
        how_much: what is said where it tells no quantity.
    """
    oil = view.profile.unit.oil
    filled = _(oil_unknown).format(unknown=wording.not_recorded())
    if oil is not None:
        much = f"{oil.volume_l} l" if oil.volume_l else _(how_much).format(unknown=wording.not_recorded())
        filled = _(keptnotes.OIL).format(kind=oil.kind, much=much)
    return (
        ("left", _(keptnotes.LEFT_OVER)),
        ("old", _(keptnotes.OLD_PARTS)),
        ("oil", filled),
        ("turned", _(keptnotes.TURNED)),
    )


def _old_parts(record: Record) -> Iterator[tuple[str, str]]:
    """Yield the parts in whose place a new one went or lies, with how many: their old ones are kept to sign-off.

    What is lost nobody can keep.
    """
    for place in record.places.values():
        pieces, lost = old_replaced(place), old_lost(place)
        if pieces != 0 and lost is not None and (pieces is None or pieces > lost):
            yield place.name, f"× {pieces - lost}" if pieces else ""


def _told(wishes: list[Wish]) -> str:
    """Return in one line what is told of a signature; empty for other acts, whose own words are short."""
    kinds = [wish.data["kind"] for wish in wishes]
    if "signature" not in kinds:
        return ""
    return _("Signed by {who}, and the job closed") if "closed" in kinds else _("Signed by {who}")


def _wishes(bench: Bench, view: JobView, name: str) -> tuple[list[Wish], dict[str, str]]:
    """Return what a form of the page asks for, and what is wrong with it by field."""
    form = request.form
    if name == "close":
        return [Wish({"kind": "closed", "note": form.get("note", "")})], {}
    if name == "reopen":
        why = form.get("why", "").strip()
        return [Wish({"kind": "reopened", "why": why})], {} if why else {"why": _("why is it opened again?")}
    if name != "sign":
        return [], {"": _("this page has no form {name}; open it again").format(name=name[:40])}
    who = bench.people.name or ""
    with speaking("en"):
        kept = _ticks(view, keptnotes.OIL_NOTED, keptnotes.MUCH_NOTED)
        seen = keptnotes.TICKED.format(what=in_one_line(words for _name, words in kept))
    faults = {field: _("look, then tick it") for field, _words in kept if form.get(field) != "yes"}
    oil = view.profile.unit.oil
    if (oil is None or not oil.volume_l) and not form.get("note", "").strip():
        faults["note"] = _("write the kind and quantity of the oil")
    typed = " ".join(form.get("signed_by", "").split())
    if not typed:
        faults["signed_by"] = _("type your name: it is the signature")
    elif typed.casefold() != who.casefold():
        other = _('found "{typed}", but {who} is signed in; sign in under your own name, then sign')
        faults["signed_by"] = other.format(typed=typed[:60], who=who)
    note = in_one_line((seen, form.get("note", "").strip()))
    statement = keptnotes.as_kept(form.get("statement", ""))
    signs = Wish({"kind": "signature", "statement": statement, "note": note})
    closes = [Wish({"kind": "closed"})] if form.get("do") == "close" else []
    return [signs, *closes], faults

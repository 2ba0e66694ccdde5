"""The one way in which a form becomes events: read, judged by the gate, cautions ticked, then written and told."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Final

from flask import Response, flash, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from labelkit.bench.fieldwords import CAPTURE, told_faults
from labelkit.bench.keptpages import TOKEN
from labelkit.bench.typed import whole
from labelkit.bench.web import Bench
from labelkit.calc.allowed import Assembly
from labelkit.calc.cautions import cautions, said, signal_of, worst_first
from labelkit.calc.gate import Ruling, bare, judge
from labelkit.calc.record import Record, record_of
from labelkit.errors import UsageError
from labelkit.language import gettext as _
from labelkit.model.act import Act, Gated
from labelkit.model.events import ActFaults, Entry, Event, act_data, act_of
from labelkit.model.readings import Reading
from labelkit.sheets.actwords import event_words, in_one_line
from labelkit.sheets.jobview import JobView
from labelkit.store.events import Kept

# What a reading may come to beside which a tick would say the contrary.
_DOUBTFUL: Final = ("out", "borderline", "unexpected")
# Names of the fields that every form may carry. An override has its own, since a deviation has a reason, too.
_OVERRIDE: Final = {"override.reason": "override_reason", "override.agreed": "override_agreed"}


@dataclass(frozen=True, slots=True)
class Wish:
    """One act that a form asks for.

    Attributes:
        data: its kind and fields, as `model.events.act_of` takes them; empty texts count as left out.
        place: the ordinal of its place; None: the job.
        fields: the form's own name of a field, by the act's, where the two differ.
    """

    data: Mapping[str, Any]
    place: int | None = None
    fields: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Asked:
    """What a page shows of its forms: one that was sent and not written, with the reason, or none yet.

    Attributes:
        seen: number of the last event that the page was made from.
        form: name of the form.
        sent: it was sent, and nothing was written.
        typed: its fields as they were typed.
        ticked: the cautions that were ticked.
        faults: what is wrong with a field, by its name; `` for the whole form.
        refusal: what the gate says, in one line.
        overridable: a reason and a name are enough to do it all the same.
        unticked: cautions that must be ticked first.
        called: fields that have a name of their own on the page, and what they are called.
        token: of the form as it is shown now, so that it is written once.
    """

    seen: int
    form: str = ""
    sent: bool = False
    typed: Mapping[str, str] = field(default_factory=dict)
    ticked: frozenset[str] = frozenset()
    faults: Mapping[str, str] = field(default_factory=dict)
    refusal: str = ""
    overridable: bool = False
    unticked: tuple[str, ...] = ()
    called: Mapping[str, str] = field(default_factory=dict)
    token: str = field(default_factory=lambda: secrets.token_urlsafe(TOKEN))

    def of(self, form: str) -> Asked:
        """Return what belongs to one form of the page: this, when it was the one that was sent."""
        return self if self.sent and form == self.form else Asked(self.seen, form)

    def id(self, name: str) -> str:
        """Return the id of a field, which no other form of the page has."""
        return f"{self.form}-{name}" if self.form else name

    def wanted(self, cautions: Sequence[str]) -> tuple[str, ...]:
        """Return the cautions to show with boxes: those of the act, and those the gate asked for."""
        return tuple(dict.fromkeys((*cautions, *self.unticked)))

    # Of a caution, as it is shown; what is ticked and recorded is its text as it was.
    signal = staticmethod(signal_of)
    said = staticmethod(said)

    @property
    def refused_words(self) -> str:
        """The refusal without the word that the page says larger."""
        return bare(self.refusal)

    @property
    def told_faults(self) -> str:
        """What is wrong, in one line."""
        return told_faults(self.faults, self.called, captured=request.path.startswith(CAPTURE))

    @property
    def status(self) -> int:
        """The HTTP status of the page: 409 when the gate refused, 422 when something is to be filled in or ticked."""
        if not self.sent:
            return 200
        return 409 if self.refusal else 422


def kind_of(form: str) -> str:
    """Return what a form is for by its name; where a page has one for each of several, a dash and which follow.

    >>> kind_of("released-12"), kind_of("hold")
    ('released', 'hold')
    """
    return form.partition("-")[0]


def nothing_asked(record: Record) -> Asked:
    """Return what a page shows of its forms before any was sent."""
    return Asked(len(record.events))


def cautions_of(record: Record, act: Act, place: int | None, who: str) -> tuple[str, ...]:
    """Return the cautions to show, with a box to tick, before an act is accepted from this person."""
    own, general = cautions(record, act, place)
    ticked = record.ticked(who)
    return worst_first((*own, *(text for text in general if text not in ticked)))


def send(
    bench: Bench,
    view: JobView,
    wishes: Sequence[Wish],
    *,
    then: str,
    form: str = "",
    told: str = "",
    tells: Sequence[str] = (),
    faults: Mapping[str, str] | None = None,
    also: Callable[[], object] | None = None,
) -> AnyResponse | Asked:
    """Write what the form of this request asks for, all of it or nothing.

    Args:
        bench: the bench.
        view: the job.
        wishes: the acts, in the order in which they happened; each is judged with those before it done.
        then: the address that is opened when everything is kept.
        form: name of the form on its page.
        told: what to say when it is kept; empty: what the acts say themselves.
        tells: what to say besides, each apart.
        faults: what is wrong with what was typed, found before; then nothing is written.
        also: what is changed in the store before, together with it or not at all.

    Returns:
        The way on, or what the page shows in order to ask again.
    """
    record, who = bench.record(view), bench.people.name or ""
    asked = _as_sent(record, form)
    given = request.form.get("token", "")
    if already := _written_before(record, given):
        return _again(view, wishes, already, then, asked)
    acts, wrong = _read(record, wishes)
    if wrong := {**wrong, **(faults or {})}:
        return replace(asked, faults=wrong)
    try:
        entries, rulings = _judged(bench, record, wishes, acts, who, given)
    except _Wrong as error:
        return error.shown(asked)
    if not all(ruling.allowed for ruling in rulings):
        return _refused(asked, rulings)
    try:
        if also is None:
            kept = bench.store.journal.append(view.job.number, entries)
        else:
            with bench.store.changing():
                also()
                kept = bench.store.journal.append(view.job.number, entries)
    except (ActFaults, UsageError) as error:
        return replace(asked, refusal=str(error))
    if bench.people.job is None:
        bench.people.work_on(view.job.number)
    _tell(view, kept, (*tells, *(text for each in rulings for text in each.told)), told)
    return redirect(then, 303)


def answered(sent: AnyResponse | Asked, page: Callable[[Asked], str]) -> AnyResponse:
    """Return the way on from what was sent, or the page that asks again, its status telling that it was refused."""
    return Response(page(sent), sent.status, mimetype="text/html") if isinstance(sent, Asked) else sent


def _as_sent(record: Record, form: str) -> Asked:
    hidden = ("csrf", "token", "seen", "ticked", "form", "plain")
    typed = {name: value for name, value in request.form.items() if name not in hidden}
    # Nothing was written, so the page is shown with all that came since, and another token.
    return Asked(len(record.events), form, True, typed, frozenset(request.form.getlist("ticked")))


def _seen() -> int | None:
    """Return the number of the last event that the form's page was made from; None when it does not say."""
    return whole(request.form.get("seen", ""))


def _written_before(record: Record, token: str) -> list[Event]:
    """Return the events that this very form has written already."""
    if not token:
        return []
    return [event for event in record.events if event.token.rpartition(".")[0] == token]


def _again(view: JobView, wishes: Sequence[Wish], already: list[Event], then: str, asked: Asked) -> AnyResponse | Asked:
    """Tell that a form was sent twice: nothing was added."""
    try:
        acts = [act_of(_filled(wish)) for wish in wishes]
    except ActFaults:
        acts = []
    numbers = ", ".join(str(event.number) for event in already)
    if [_core(act) for act in acts] == [_core(event.act) for event in already]:
        flash(_("This was recorded already, as event {numbers}; nothing was added").format(numbers=numbers), "told")
        return redirect(then, 303)
    words = in_one_line(event_words(event, view.profile, view.teardown) for event in already)
    told = _(
        "what this form said before is kept as event {numbers} ({words}); what it says now is not. Correct that event"
    )
    return replace(asked, refusal=told.format(numbers=numbers, words=words))


def _core(act: Act) -> dict[str, Any]:
    """Return what was said; when in the job a reading was taken is told from where the part is, which it may move."""
    return {name: value for name, value in act_data(act).items() if name not in ("at", "ticked", "override")}


def _filled(wish: Wish) -> dict[str, Any]:
    """Return the fields of a wish that were filled in."""
    return {
        name: value
        for name, value in wish.data.items()
        if value not in (None, (), []) and not (isinstance(value, str) and not value.strip())
    }


def _field(wish: Wish, name: str) -> str:
    """Return the form's own name of a field; of one in a list, `values.0`, that of the list."""
    whole = name.partition(".")[0]
    return wish.fields.get(name) or wish.fields.get(whole, whole)


def _read(record: Record, wishes: Sequence[Wish]) -> tuple[list[Act], dict[str, str]]:
    """Return the acts, with the cautions that were ticked, or what is wrong by the names of the form's fields."""
    acts: list[Act] = []
    wrong: dict[str, str] = {}
    ticked = set(request.form.getlist("ticked"))
    for wish in wishes:
        try:
            act = act_of(_filled(wish))
        except ActFaults as error:
            wrong.update({_field(wish, name): text for name, text in error.faults.items()})
            continue
        if isinstance(act, Gated) and (wish.place is None or wish.place in record.places):
            own, general = cautions(record, act, wish.place)
            act = act.model_copy(update={"ticked": tuple(text for text in (*own, *general) if text in ticked)})
        acts.append(act)
    return acts, wrong


class _Wrong(Exception):
    """Fields of a form that are wrong, and what the gate had said when these are about an override."""

    def __init__(self, faults: Mapping[str, str], ruling: Ruling | None = None) -> None:
        self.faults = dict(faults)
        self.ruling = ruling

    def shown(self, asked: Asked) -> Asked:
        found = replace(asked, faults=self.faults)
        return found if self.ruling is None else replace(found, refusal=self.ruling.refusal, overridable=True)


def _judged(
    bench: Bench, record: Record, wishes: Sequence[Wish], acts: Sequence[Act], who: str, token: str
) -> tuple[list[Entry], list[Ruling]]:
    """Return entries and rulings, each act judged with those before it done.

    Raises:
        _Wrong: an override, or the entry itself.
    """
    entries: list[Entry] = []
    rulings: list[Ruling] = []
    now, stem = bench.clock(), token or secrets.token_urlsafe(TOKEN)
    for number, (wish, wanted) in enumerate(zip(wishes, acts, strict=True)):
        act, ruling = _with_override(record, wanted, wish.place, who)
        try:
            entry = Entry(act, who, now, f"{stem}.{number}", wish.place, _seen())
        except ActFaults as error:
            raise _Wrong({wish.fields.get(name, ""): text for name, text in error.faults.items()}) from error
        rulings.append(ruling)
        entries.append(entry)
        if number + 1 < len(wishes):
            record = _with(record, entry, now)
    return entries, rulings


def _with_override(record: Record, act: Act, place: int | None, who: str) -> tuple[Act, Ruling]:
    """Return an act and what the gate says; with the override that was filled in where it refuses."""
    assembly = Assembly(record)
    ruling = judge(assembly, act, place, who)
    if not (ruling.refusal and ruling.overridable and isinstance(act, Gated)):
        return act, ruling
    override = _override(ruling)
    if not override:
        return act, ruling
    try:
        act = act_of({**act.model_dump(), "override": override})
    except ActFaults as error:
        faults = {_OVERRIDE.get(name, name): text for name, text in error.faults.items()}
        raise _Wrong(faults, ruling) from error
    return act, judge(assembly, act, place, who)


def _with(record: Record, entry: Entry, now: datetime) -> Record:
    number = len(record.events) + 1
    event = Event(0, number, entry.act, entry.who, now, entry.token, entry.place)
    return record_of(record.profile, record.teardown, record.order, (*record.events, event))


def _override(ruling: Ruling) -> dict[str, str]:
    """Return the override that was filled in; empty when none was, or it is tried again without."""
    if request.form.get("plain"):
        return {}
    given = {name: request.form.get(f"override_{name}", "").strip() for name in ("reason", "agreed")}
    filled = {name: text for name, text in given.items() if text}
    return {**filled, "refusal": ruling.refusal[:2000]} if filled else {}


def _refused(asked: Asked, rulings: Sequence[Ruling]) -> Asked:
    against = [ruling for ruling in rulings if not ruling.allowed and ruling.refusal]
    against.sort(key=lambda ruling: ruling.overridable)
    unticked = tuple(dict.fromkeys(text for ruling in rulings for text in ruling.unticked))
    if not against:
        return replace(asked, unticked=unticked)
    return replace(asked, refusal=against[0].refusal, overridable=against[0].overridable, unticked=unticked)


def _tell(view: JobView, kept: Sequence[Kept], tells: Sequence[str], told: str) -> None:
    words = told or in_one_line(event_words(each.event, view.profile, view.teardown) for each in kept)
    doubtful = any(isinstance(e.event.act, Reading) and e.event.act.verdict in _DOUBTFUL for e in kept)
    flash(words, "told" if doubtful else "done")
    for text in dict.fromkeys(tells):
        flash(text, "told")
    new = {each.event.number for each in kept}
    for other in {e.number: e for each in kept for e in each.meanwhile if e.number not in new}.values():
        shown_words = event_words(other, view.profile, view.teardown)
        meanwhile = _("Meanwhile {who} recorded: {words} (event {number}). Both are kept")
        flash(meanwhile.format(who=other.who, words=shown_words, number=other.number), "meanwhile")

"""How a form becomes events: judged, cautions ticked, written once, told; nothing that was typed is lost."""

from __future__ import annotations

from datetime import timedelta

from flask import Flask
from flask.testing import FlaskClient

from labelkit.bench.app import create_app
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import Page, Person, all_out, person, record
from tests.bench_app.workshop import PUMP, bin_of, code_of, open_job, pump


def kinds(store: Store, job: int = 1) -> list[str]:
    return [event.act.kind for event in store.journal.events(job)]


def test_what_was_done_is_kept_and_told(store: Store, view: JobView, ann: Person) -> None:
    """With who did it and when, in the words of the page that follows."""
    page = ann.does(f"/{code_of(view, 'cover-screws')}", "removed", counted="all")
    (event,) = store.journal.events(1)

    assert ("removed", 6, "Ann", NOON) == (event.act.kind, event.act.count, event.who, event.when)
    assert "1 Cover screw M8 x 30: out, 6 counted" in page.text
    assert "Where it is out, 6 of 6 counted" in page.text


def test_a_form_that_is_sent_twice_is_told_and_not_doubled(store: Store, view: JobView, ann: Person) -> None:
    """Thick gloves tap twice, and browsers go back: the second time says which event it was."""
    path = f"/{code_of(view, 'plug')}"
    page = ann.open(path)
    answers = [ann.send(path, "removed", page=page, counted="all") for _ in range(2)]

    assert [303, 303] == [answer.status_code for answer in answers]
    assert ["removed"] == kinds(store)
    assert "This was recorded already, as event 1; nothing was added" in ann.open(path).text


def test_a_form_that_is_changed_and_sent_again_is_refused(store: Store, view: JobView, ann: Person) -> None:
    """Back in the browser and another count: it is no second act; the way is to correct the first."""
    path = f"/{code_of(view, 'cover-screws')}"
    page = ann.open(path)
    ann.send(path, "removed", page=page, counted="all")
    answer = ann.send(path, "removed", page=page, count="5")

    assert 409 == answer.status_code
    told = "is kept as event 1 (1 Cover screw M8 x 30: out, 6 counted); what it says now is not"
    assert told in Page(answer.text).text
    assert ["removed"] == kinds(store)


def test_an_inspection_that_is_sent_twice_is_told_to_be_kept(store: Store, ann: Person) -> None:
    """The verdict moves the part on, so that what is read then is read when it is clean: it is the same form."""
    view = open_job(store, pump(PUMP.replace("readings: 3, at: apart", "readings: 3")))
    path, step = f"/{code_of(view, 'side-plate')}", bin_of(view, "side-plate").step
    record(store, view, NOON, (step, {"kind": "removed", "count": 1}))
    page = ann.open(path)
    typed = {"value-0": "5.02 5.02 5.02", "verdict": "replace"}
    answers = [ann.send(path, "points", page=page, **typed) for _ in range(2)]

    assert [303, 303] == [answer.status_code for answer in answers]
    assert ["removed", "reading", "inspected"] == kinds(store)
    assert "This was recorded already, as event 2, 3; nothing was added" in ann.open(path).text


def test_what_is_wrong_comes_back_filled_with_the_message_at_its_field(
    store: Store, view: JobView, ann: Person
) -> None:
    """Every other field keeps what was typed; nothing is written."""
    path = f"/{code_of(view, 'body')}"
    answer = ann.send(path, "deviation", what="Flange is 0,1 low", reason="customer wants it", agreed="x" * 61)
    page = Page(answer.text)
    fields = {a["name"]: a for tag, a in page.elements if tag == "input" and a.get("value")}

    assert 422 == answer.status_code
    assert ("Flange is 0,1 low", "customer wants it") == (fields["what"]["value"], fields["reason"]["value"])
    assert "true" == fields["agreed"]["aria-invalid"]
    assert "at most 60 letters" in page.text
    assert [] == kinds(store)


def test_cautions_stand_before_the_act_and_are_ticked(store: Store, view: JobView, ann: Person) -> None:
    """Unticked nothing is written; ticked they are part of the act, word for word."""
    path = f"/{code_of(view, 'cover-screws')}"
    wanted = ann.open(path).form("removed").cautions
    refused = ann.send(path, "removed", tick=False, counted="all")
    some = ann.send(path, "removed", tick=wanted[:1], counted="all")

    assert [
        "LEFT-HAND thread: turn clockwise to loosen",
        "DANGER: The spring pushes the cover up",
        "WARNING: Oil under pressure: let it off first",
    ] == wanted
    assert (422, 422, []) == (refused.status_code, some.status_code, kinds(store))
    assert "read the cautions and tick them" in Page(some.text).text
    ann.does(path, "removed", counted="all")
    assert tuple(wanted) == store.journal.events(1)[0].act.ticked


def test_only_cautions_that_are_there_are_kept_as_ticked(store: Store, view: JobView, ann: Person) -> None:
    """Nobody can write a sentence of his own into what he was warned of."""
    path = f"/{code_of(view, 'plug')}"
    wanted = ann.open(path).form("removed").cautions
    ann.send(path, "removed", tick=[*wanted, "WARNING: made up"], counted="all")

    assert tuple(wanted) == store.journal.events(1)[0].act.ticked


def test_a_refusal_is_one_line_and_gives_way_to_a_reason_and_a_name(store: Store, view: JobView, ann: Person) -> None:
    """It says what is missing and what is allowed now; done all the same, it stays visible with both names."""
    record(store, view, NOON, *all_out(view))
    path = f"/{code_of(view, 'cover')}"
    page = ann.is_refused(path, "installed")
    form = page.form("installed")

    assert {"override_reason", "override_agreed"} <= form.names
    assert "Allowed now: " in page.text
    half = ann.send(path, "installed", page=page, override_reason="the plate follows")
    assert 409 == half.status_code
    assert "the plate follows" in {a.get("value") for tag, a in Page(half.text).elements if tag == "input"}
    ann.send(path, "installed", page=Page(half.text), override_agreed="Chief")
    act = store.journal.events(1)[-1].act
    assert ("installed", "the plate follows", "Chief") == (act.kind, act.override.reason, act.override.agreed)
    assert "the plate follows (agreed: Chief)" in ann.open("/job/1").text.partition("Deviations")[2]


def test_who_acts_on_an_older_page_is_told_what_came_meanwhile(
    store: Store, view: JobView, app: Flask, ann: Person
) -> None:
    """Both events are kept; the second is told of the first."""
    path = f"/{code_of(view, 'plug')}"
    record(store, view, NOON, *[act for act in all_out(view) if act[0] == bin_of(view, "plug").step][:1])
    bo = person(app, "Bo")
    old = bo.open(path)
    ann.does(path, "points", verdict="replace")
    bo.send(path, "points", page=old, verdict="reuse")

    assert ["inspected", "inspected"] == kinds(store)[1:]
    assert "Meanwhile Ann recorded: 7 Plug M10: replace (event 2). Both are kept" in bo.open(path).text


def test_a_correction_takes_one_event_back_and_writes_the_right_one(
    store: Store, view: JobView, app: Flask, ann: Person
) -> None:
    """Also somebody else's; both or nothing, and the wrong one stays to be read."""
    path = f"/{code_of(view, 'cover-screws')}"
    ann.does(path, "removed", count="5")
    bo = person(app, "Bo")
    wrong = bo.send("/job/1/correct/1", "correct", why="one lay on the floor", right="six")
    assert (422, ["removed"]) == (wrong.status_code, kinds(store))
    # The message calls the field as its label does.
    assert 'Nothing is written: "What is right": ' in Page(wrong.text).text
    assert "What is right (count); empty: it did not happen" in Page(wrong.text).text

    page = bo.does("/job/1/correct/1", "correct", why="one lay on the floor", right="6")

    assert ["removed", "correction", "removed"] == kinds(store)
    assert "Where it is out, 6 of 6 counted" in page.text
    assert "out, 5 counted Ann, " in page.text
    assert "does not count: corrected by event 2" in page.text


def test_a_closed_job_takes_nothing(store: Store, view: JobView, ann: Person) -> None:
    """Its cards have no forms, and one that was open before is refused."""
    path = f"/{code_of(view, 'plug')}"
    page = ann.open(path)
    record(store, view, NOON, (None, {"kind": "closed"}))
    answer = ann.send(path, "removed", page=page, counted="all")

    assert 409 == answer.status_code
    assert "Job closed by Bo" in Page(answer.text).text
    assert [] == [form.name for form in ann.open(path).forms if form.action.endswith("/act")]


def test_what_was_typed_survives_the_end_of_a_shift(store: Store, view: JobView) -> None:
    """After twelve hours one signs in again, looks at it once more, and it is kept."""
    hours = [0.0]
    late = create_app(store, clock=lambda: NOON + timedelta(hours=hours[0]))
    ann = person(late)
    path = f"/{code_of(view, 'body')}"
    page = ann.open(path)
    hours[0] = 12.5
    asked = ann.send(path, "noted", page=page, note="a crack at the foot")
    assert (401, []) == (asked.status_code, kinds(store))

    again = ann.client.post("/sign-in", data=_fields(Page(asked.text), "/sign-in", name="Ann", pin="246810"))
    answer = ann.client.post(f"{path}/act", data=_fields(Page(again.text), f"{path}/act"))

    assert 303 == answer.status_code
    assert "a crack at the foot" == store.journal.events(1)[0].act.note


def _fields(page: Page, action: str, **typed: str) -> dict[str, str]:
    form = next(form for form in page.forms if form.action == action)
    return dict(form.fields) | typed


def test_the_act_belongs_to_who_is_signed_in(store: Store, view: JobView, client: FlaskClient, ann: Person) -> None:
    """A name in the form changes nothing."""
    ann.does(f"/{code_of(view, 'plug')}", "removed", counted="all", who="Boss")

    assert "Ann" == store.journal.events(1)[0].who


def test_a_field_that_was_corrected_is_sent_again_without_a_reason(store: Store, view: JobView, ann: Person) -> None:
    """Beside `Do it all the same` stands the plain way; it takes no override, whatever is typed for one."""
    record(store, view, NOON, *all_out(view))
    path = f"/{code_of(view, 'body')}"
    record(store, view, NOON, ("10", {"kind": "hold", "why": "crack test"}))
    asked = ann.is_refused(path, "installed")
    buttons = [given for tag, given in asked.elements if tag == "button" and given.get("name") == "plain"]
    again = ann.send(path, "installed", page=asked, plain="yes", override_reason="late", override_agreed="Chief")

    assert 1 == len(buttons)
    assert (409, "hold") == (again.status_code, kinds(store)[-1])
    record(store, view, NOON, (None, {"kind": "noted", "note": "tested"}))
    hold = next(event for event in store.journal.events(1) if event.act.kind == "hold")
    record(store, view, NOON, ("10", {"kind": "released", "of": hold.number, "why": "no crack"}))
    ann.send(path, "installed", page=Page(again.text), plain="yes", override_reason="late", override_agreed="Chief")
    last = store.journal.events(1)[-1].act
    assert ("installed", None) == (last.kind, last.override)

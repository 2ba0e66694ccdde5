"""The sign-off: refused while anything is open, with what to do; then signed, closed, and opened again.

What the page must mean is common practice, no source, unless a test names one.
"""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest

from labelkit.bench.app import create_app
from labelkit.calc.openpoints import open_points
from labelkit.calc.record import record_of
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.hands import Page, Person, person, record, with_pin
from tests.bench_app.workshop import open_job, pump
from tests.calc.test_gate import finished
from tests.shop import demo

LATER = datetime(2026, 3, 9, 16, 0, tzinfo=UTC)
TICKS = {"left": "yes", "old": "yes", "oil": "yes", "turned": "yes"}
SIGNED = {**TICKS, "signed_by": "olga"}
END_PLAY: dict[str, object] = {
    "kind": "reading",
    "fit": "carrier-end-play",
    "at": "assembled",
    "unit": "mm",
    "values": ["1.41"] * 3,
}
PATH = "/job/1/sign-off"
NEXT = "/job/1/next"


@pytest.fixture
def view(store: Store) -> JobView:
    """A job on which everything is done and right."""
    with_pin(store)
    opened = open_job(store, demo("planetary-reducer"), options={"breather": "std"})
    store.journal.restore(1, finished().events, {})
    return opened


@pytest.fixture
def olga(store: Store, view: JobView) -> Person:
    return person(create_app(store), "Olga")


def test_what_is_lost_is_none_of_the_old_parts_to_keep(olga: Person, view: JobView, store: Store) -> None:
    """One of six washers was lost and one condemned, a button is lost: one washer is there to keep, no button."""
    washers, button = (view.teardown.of(part)[0] for part in ("planet-1-washer", "thrust-button"))
    bent, lost = {"kind": "condemned", "why": "bent", "pieces": 1}, {"kind": "condemned", "why": "fell", "lost": True}
    for each, *acts in (
        (washers, {**lost, "pieces": 1}, bent, {"kind": "installed", "new": True, "pieces": 2}),
        (button, lost, {"kind": "installed", "new": True}),
    ):
        record(store, view, LATER, (each.step, {"kind": "removed"}), *((each.step, act) for act in acts))

    kept = olga.open(PATH).text
    assert f"{washers.full_name} × 1" in kept
    assert f"{button.full_name} × 1" not in kept
    for each, keeps in ((washers, True), (button, False)):
        assert keeps is ("Keep old parts, tagged" in olga.open(f"/{view.new_code(each)}").text), each
    card = olga.open(f"/{view.new_code(button)}").text
    assert "When it lies ready, its sticker takes the place of the old label." in card


def last_number(store: Store) -> int:
    return store.journal.last(1)


def test_a_race_left_in_its_bin_stops_the_signature(olga: Person, view: JobView, store: Store) -> None:
    """Moment 25: measured 1.41, predicted 0.41: the difference is one race of 1.0 mm, and a race lies in its bin."""
    race = view.teardown.of("thrust-race")[0]
    record(store, view, LATER, (race.step, {"kind": "removed", "count": 2}))
    record(store, view, LATER, (race.step, {"kind": "installed", "pieces": 1}), (None, END_PLAY))
    before = last_number(store)

    page = olga.open(PATH)

    told = "measured 1.41 mm, predicted 0.41 mm: difference +1.00 mm"
    hint = f"{told}; 1.0 mm is one Thrust race 50 x 70 x 1: is it missing?"
    assert "NO 3 points open" in page.text
    assert hint in page.text
    assert "Bins that are not empty 1 Look into the bin" in page.text
    assert f"{race.step} {race.name}: 1 of 2 is in, 1 not" in page.text
    assert "51 of 52 bins are empty" in page.text
    assert {f"/{view.code(race)}", "/job/1/fits/carrier-end-play"} <= set(page.addresses())
    refused = olga.is_refused(PATH, "sign", **SIGNED)
    assert "NO 3 points open" in refused.text
    assert hint in refused.text
    assert before == last_number(store)
    for path in (f"/{view.code(race)}", "/job/1/fits/carrier-end-play"):
        olga.open(path)


def test_a_finished_job_is_signed_closed_and_opened_again(olga: Person, store: Store) -> None:
    """By the name of who is signed in, after everything was ticked; what was ticked stays with the signature."""
    page = olga.open(PATH)
    assert "READY nothing is open" in page.text
    assert "Oil filled: ISO VG 150 gear oil, 3.1 l" in page.text
    assert "Radial shaft seal 45 x 62 x 8 × 1" in page.text, "an old part that is kept until now"

    page = olga.does(PATH, "sign", statement="All in.", note="test run 20 min", **SIGNED)
    assert "Signed by Olga" in page.text
    assert ".;" not in page.text
    signature = store.journal.events(1)[-1]
    assert ("signature", "Olga", "All in.") == (signature.act.kind, signature.who, signature.act.statement)  # type: ignore[attr-defined]
    assert signature.act.note is not None
    assert "Oil filled: ISO VG 150 gear oil, 3.1 l" in signature.act.note
    assert signature.act.note.endswith("test run 20 min")
    assert "SIGNED by Olga" in page.text
    assert "Signed Sign-off Signed by Olga" in olga.open(NEXT).text
    assert "CLOSED by Olga" in olga.does(PATH, "close").text
    assert "Closed Sign-off Closed by Olga" in olga.open(NEXT).text
    assert {"reopen"} == {form.name for form in olga.open(PATH).forms if form.action == PATH}
    assert "why is it opened again?" in Page(olga.send(PATH, "reopen", why=" ").text).text
    page = olga.does(PATH, "reopen", why="leak at the output")
    assert "READY nothing is open Olga: reopened: leak at the output" in page.text
    olga.client.environ_base["HTTP_ACCEPT_LANGUAGE"] = "de"
    page = olga.does(PATH, "sign", do="close", **SIGNED)
    assert "GESCHLOSSEN von Olga" in page.text
    assert "nichts ist offen." in page.text
    kept = store.journal.events(1)[-2].act.statement  # type: ignore[attr-defined]
    assert kept.endswith("nothing is open."), "the program's own words are kept in English"
    assert ["reopened", "signature", "closed"] == [event.act.kind for event in store.journal.events(1)[-3:]]


def test_a_second_person_signs_too_while_the_job_is_open(olga: Person, store: Store, view: JobView) -> None:
    """Whoever has signed can close; each other one can do both. What comes out takes all signatures away."""
    luis = person(create_app(store), "Luis")

    def forms(someone: Person) -> set[str]:
        return {form.name for form in someone.open(PATH).forms if form.action == PATH}

    olga.does(PATH, "sign", **SIGNED)
    assert [{"close"}, {"close", "sign"}] == [forms(olga), forms(luis)]
    luis.does(PATH, "sign", **{**SIGNED, "signed_by": "Luis"}, note="inspected", statement="Looked at all of it.")
    assert [{"close"}, {"close"}] == [forms(olga), forms(luis)]
    page = olga.open(PATH).text
    assert "SIGNED by Olga" in page
    assert "SIGNED by Luis" in page
    assert "Looked at all of it." in page
    job, report = olga.open("/job/1").text, olga.open("/job/1/report").text
    for text in (job, report):
        assert all(re.search(f"Signed(: | by ){who}", text) for who in ("Olga", "Luis")), text
    luis.does(PATH, "close")
    assert [{"reopen"}, {"reopen"}] == [forms(olga), forms(luis)]
    olga.does(PATH, "reopen", why="leak")
    assert [{"sign"}, {"sign"}] == [forms(olga), forms(luis)]


def test_a_new_part_that_measures_otherwise_stands_on_the_sign_off(olga: Person, view: JobView, store: Store) -> None:
    """A seal of 141 mm where 140 mm belongs (the profile's size), taken all the same: nobody signs without reading it,
    and what is proposed to be signed says that there is a deviation."""
    seal = view.teardown.of("output-seal-flange")[0]
    record(store, view, LATER, (seal.step, {"kind": "removed", "count": 1}))
    path = f"/{view.new_code(seal)}/receive"
    olga.does(path, "receive", do="both", accept="yes", **{"size-od": "141"})
    record(store, view, LATER, (seal.step, {"kind": "installed", "new": True}), (seal.step, {"kind": "verified"}))

    page = olga.open(PATH)

    stays = page.text[page.text.index("Deviations that stay") :]
    assert "outside diameter 141 mm, the profile has 140 mm: 1 mm larger" in stays
    assert "is listed as a deviation" in dict(page.form("sign").fields)["statement"]
    assert "141 mm" in olga.open("/job/1").text


def test_oil_that_the_profile_does_not_know_is_written_into_the_note(store: Store) -> None:
    """The tick says so; without the note it would sign for oil that nobody named."""
    with_pin(store)
    open_job(store, pump())
    olga = person(create_app(store), "Olga")

    for note, asked in (("", True), ("ISO VG 46, 2 l", False)):
        answer = olga.send(PATH, "sign", **SIGNED, note=note)
        assert asked == ("write the kind and quantity of the oil" in Page(answer.text).text)


@pytest.mark.parametrize(
    ("given", "field", "words"),
    [
        ({"oil": ""}, "oil", "look, then tick it"),
        ({"signed_by": ""}, "signed_by", "type your name"),
        ({"signed_by": "Paul <b>"}, "signed_by", "but Olga is signed in"),
        ({"statement": " "}, "statement", "is empty; write some words"),
    ],
)
def test_a_signature_that_is_not_whole_is_not_kept(
    olga: Person, store: Store, given: dict[str, str], field: str, words: str
) -> None:
    """The message stands at its field, what was typed stays, and nothing is written."""
    before = last_number(store)

    answer = olga.send(PATH, "sign", **{"statement": "Mine", **SIGNED, **given})  # type: ignore[arg-type]

    page = Page(answer.text)
    assert 422 == answer.status_code
    assert words in page.text
    assert "Paul <b>" not in answer.text
    assert given.get("statement", "Mine") == dict(page.form("sign").fields).get("statement")
    assert f"e-sign-{field}" in [attrs.get("id") for tag, attrs in page.elements if tag == "strong"]
    assert before == last_number(store)


def test_what_stands_before_the_signature_is_led_to(olga: Person, view: JobView, store: Store) -> None:
    """All is in and verified: a play that was not read, or something out of its limits, comes before the sign-off."""
    assert "Now: Sign-off" in olga.open(NEXT).text
    cover = view.teardown.of("input-cover")[0]
    wear = {"kind": "reading", "check": 0, "at": "clean", "unit": "mm", "values": ["0.301"]}
    record(store, view, LATER, (cover.step, wear))
    assert f"Now: verify {cover.full_name}" in olga.open(NEXT).text, "that was verified before it was read"
    assert "points" == next(each.name for each in olga.open(f"/{view.code(cover)}").forms if "act" in each.action)
    record(store, view, LATER, (cover.step, {"kind": "verified"}))
    record(store, view, LATER, (None, {"kind": "hold", "why": "waits for the owner"}))
    page = olga.open(NEXT)
    assert "Now: on hold by Bo: waits for the owner" in page.text
    assert "Open 2" in page.text
    assert "points" in {form.name for form in olga.open(f"/{view.code(cover)}").forms}


def test_what_is_signed_against_the_gate_stays_visible(olga: Person, view: JobView, store: Store) -> None:
    """A reason and a name; both stand among the deviations afterwards, before the next signature."""
    record(store, view, LATER, (None, {"kind": "hold", "why": "waits for the owner"}))
    page = olga.open(PATH)
    assert "On hold 1 Release it, with a reason on hold by Bo: waits for the owner" in page.text
    olga.is_refused(PATH, "sign", **SIGNED)

    answer = olga.send(PATH, "sign", override_reason="told by phone", override_agreed="Owner", **SIGNED)  # type: ignore[arg-type]

    assert 303 == answer.status_code
    page = olga.open(PATH)
    assert "SIGNED by Olga" in page.text
    assert "told by phone (agreed: Owner)" in page.text
    assert "Signed with points open; the record lists them." in page.text


def test_every_kind_of_open_point_has_a_title_and_leads_somewhere(store: Store) -> None:
    """On a job that has just been taken apart nothing that is open goes unsaid, and each point has a page."""
    with_pin(store)
    view = open_job(store, demo("planetary-reducer"))
    record(store, view, LATER, ("2", {"kind": "removed", "count": 2}), ("1", {"kind": "removed", "count": 3}))
    olga = person(create_app(store), "Olga")
    points = open_points(record_of(view.profile, view.teardown, view.order, store.journal.events(1)))

    page = olga.open(PATH)

    assert f"NO {len(points)} points open" in page.text
    assert {"option", "not_out", "not_empty", "check", "unread", "count"} <= {point.kind for point in points}
    for point in points:
        assert " ".join(point.text.split()) in page.text
    for address in sorted({href for href in page.addresses() if href.startswith("/") and "sign" not in href})[::6]:
        assert 200 == olga.client.get(address, follow_redirects=True).status_code, address


def test_who_signed_before_something_else_came_is_told_and_may_sign_again(
    olga: Person, view: JobView, store: Store
) -> None:
    """The page does not call it signed and good, and has the form that answers it."""
    assert "SIGNED by Olga" in olga.does(PATH, "sign", **SIGNED).text
    seen = {"kind": "inspected", "check": 0, "verdict": "reuse"}
    port = next(each for each in view.teardown.bins if any(check.at == "assembled" for check in each.part.check))
    number = next(k for k, check in enumerate(port.part.check) if check.at == "assembled")
    (event,) = record(store, view, LATER, (port.step, {**seen, "check": number}))
    told = f"Olga signed before event {event.number} by Bo: look at that, and sign again"
    page = olga.open(PATH)
    assert told in page.text
    assert "good" not in " ".join(given["class"] for tag, given in page.elements if "verdict" in given.get("class", ""))
    assert told not in olga.does(PATH, "sign", **SIGNED).text

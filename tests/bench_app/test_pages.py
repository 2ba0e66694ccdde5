"""The pages of the bench: what comes out next, the card by its stage, out before the wash, where a job is, photos."""

from __future__ import annotations

import hashlib
import io
import re
import struct
import zlib
from dataclasses import replace

import pytest
from flask.testing import FlaskClient
from PIL import Image

from labelkit.bench.app import create_app
from labelkit.calc.allowed import Assembly
from labelkit.calc.record import record_of
from labelkit.errors import NotFoundError
from labelkit.model.readings import Reading
from labelkit.proof.raster import photo_jpeg
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import PIN, Page, Person, all_out, person, record
from tests.bench_app.workshop import bin_of, code_of, open_job, png, pump
from tests.shop import demo

NEXT = "/job/1/next"


def path_of(view: JobView, part: str) -> str:
    return f"/{code_of(view, part)}"


def test_next_leads_through_the_whole_teardown(store: Store, view: JobView, ann: Person) -> None:
    """One button after the other, in removal order; what can be measured only now is asked for in between.

    A part of an open option comes out when somebody says that it is there, which decides the option: the parts of the
    other way are not asked for.
    """
    seen: list[str] = []
    for _ in range(40):
        page = ann.open(NEXT)
        names = {form.name for form in page.forms}
        if "removed" in names:
            typed = {"count": "7"} if "× " not in page.text.partition("next out")[0] else {"counted": "all"}
            if "settles" in page.form("removed").names:
                asks = "NO Key 6 x 6 x 20 is there only if Drive = Keyed shaft, which is open"
                assert asks.replace("Key", "5 Key", 1) in ann.is_refused(NEXT, "removed", page=page, **typed).text
                page, typed = ann.open(NEXT), typed | {"settles": "yes"}
            seen.append(page.text.partition(" ")[2].partition(" ")[0])
            assert 303 == ann.send(NEXT, "removed", page=page, **typed).status_code
        elif "points" in names:
            seen.append("measure")
            assert 303 == ann.send(NEXT, "points", page=page, **{"value-0": "5,00 5.01 5.00"}).status_code
        else:
            break
    steps = [each.step + "?" * each.doubtful for each in view.teardown.bins if each.part.id != "splined-hub"]
    steps.insert(steps.index("3") + 1, "measure")

    assert "Everything is out or left in" in page.text
    assert steps == [each.rstrip(":") for each in _steps(store, view)]
    assert len(seen) == len(steps)
    assert {"drive": "keyed"} == store.job(1).options


def _steps(store: Store, view: JobView) -> list[str]:
    """Return the steps in the order in which they came out, and where something was measured."""
    by_ordinal = {each.ordinal: each for each in view.teardown.bins}
    found = []
    for event in store.journal.events(1):
        each = by_ordinal[event.place or 0]
        if event.act.kind == "removed":
            found.append(each.step + "?" * each.doubtful)
        elif event.act.kind == "reading":
            found.append("measure")
    return found


def test_next_shows_what_to_look_out_for_before_the_button(view: JobView, ann: Person) -> None:
    """Look-alikes, how it comes out and the cautions stand above the way to say that it is out."""
    text = ann.open(NEXT).text

    for words in (
        "the plug has no head",
        "By unscrew",
        "LEFT-HAND thread: turn clockwise",
        "WARNING Oil under pressure",
    ):
        assert text.index(words) < text.index("Out: all 6 counted")


def test_what_a_profile_does_not_know_is_asked_while_it_comes_out(store: Store, view: JobView, ann: Person) -> None:
    """Which face was up and what was at which hour are written down in the same act."""
    record(store, view, NOON, *[act for act in all_out(view) if act[0] in ("1", "2", "2.1")])
    page = ann.does(NEXT, "removed", counted="all", up="chamfer", clock="6:00 the hole")
    out, seen = store.journal.events(1)[-2:]

    assert ("removed", "side_seen") == (out.act.kind, seen.act.kind)
    assert ("chamfer", "6:00 the hole") == (seen.act.up, seen.act.clock)
    assert "nobody wrote down" not in page.text


def test_what_was_seen_at_the_teardown_is_on_the_card_when_it_goes_in(store: Store, view: JobView, ann: Person) -> None:
    """Where the profile does not say: way and hour, who saw them, and the tick of the form; to a stranger nothing."""
    step, path = bin_of(view, "plug").step, path_of(view, "plug")
    record(store, view, NOON, *all_out(view), (step, {"kind": "washed"}))
    before = ann.open(path)
    for told in ({"up": "Hex up", "clock": "5 the notch"}, {"clock": "6 the notch"}):
        record(store, view, NOON, (step, {"kind": "side_seen", **told}), who="Cleo")
    page, stranger = ann.open(path), Page(create_app(store).test_client().get(path).text)

    for text in (before.text, stranger.text):
        assert "Which way up NOT RECORDED" in text
        assert "Cleo" not in text
    assert "Which way up HEX UP" in page.text
    assert "seen by Cleo" in page.text
    assert "6 o'clock the notch" in page.text
    assert "It sits as the card says: HEX UP, 6 o'clock" in page.text


def test_a_later_revision_is_told_where_it_changed_something(store: Store, view: JobView, ann: Person) -> None:
    """On the card of the part that it changed, and once on the page of the job."""
    store.revise_job(replace(view.job, version=1, changed=("plug",)), {})
    told = "taken up profile revision 3: where the label says otherwise, this card counts"

    assert [True, False] == [told in ann.open(path_of(view, part)).text for part in ("plug", "cover")]
    assert "Profile revision 3 was taken up" in ann.open("/job/1").text


def test_a_sub_assembly_that_is_not_opened_keeps_its_parts(store: Store, view: JobView, ann: Person) -> None:
    """They are not asked for any more."""
    ann.does(path_of(view, "cover-screws"), "removed", counted="all")
    ann.does(path_of(view, "cover"), "left_closed")
    ann.does(path_of(view, "cover"), "removed", counted="all")

    assert "3 × 1 Selective side plate" in ann.open(NEXT).text


def test_the_number_of_a_matched_part_is_written_down_as_it_comes_out(store: Store, view: JobView, ann: Person) -> None:
    """Or with its inspection, as long as nobody has; its place remembers it."""
    record(store, view, NOON, *[act for act in all_out(view) if act[0] in ("1", "2", "2.1", "3")])
    path = path_of(view, "gears")
    assert {"serial"} <= ann.open(path).form("removed").names & ann.open(path).form("points").names
    page = ann.does(path, "removed", count="2", serial="G 12")

    assert "serial number G 12" in page.text.partition("History of this place")[2]
    assert "serial" not in page.form("points").names


def test_a_count_and_the_button_for_all_contradict_each_other(store: Store, view: JobView, ann: Person) -> None:
    """Five typed and six pressed: it asks which of the two was counted."""
    answer = ann.send(path_of(view, "cover-screws"), "removed", count="5", counted="all")

    assert 422 == answer.status_code
    assert "found 5 and the button for all 6; which of the two was counted?" in Page(answer.text).text
    assert () == store.journal.events(1)


def test_a_count_that_is_not_right_stays_a_question(view: JobView, ann: Person) -> None:
    """On the card and among what is open, until it is corrected or agreed on."""
    page = ann.does(path_of(view, "cover-screws"), "removed", count="5")
    asked = "Cover screw M8 x 30: 5 came out, the profile has 6"

    assert asked in page.text
    assert asked in ann.open("/job/1").text.partition("Counts: 1")[2]


@pytest.mark.parametrize(
    ("typed", "kept", "unit", "verdict"),
    [
        ("5,00 5.01 5.00", ("5.00", "5.01", "5.00"), "mm", "ok"),
        ("0.197 0.197 0.197 in", ("0.197", "0.197", "0.197"), "in", "ok"),
        ("4.94 5.00 5.00", ("4.94", "5.00", "5.00"), "mm", "out"),
        ("4.95 4.95 4.95", ("4.95", "4.95", "4.95"), "mm", "ok"),
    ],
)
def test_readings_are_kept_as_typed_and_judged(
    store: Store, view: JobView, ann: Person, typed: str, kept: tuple[str, ...], unit: str, verdict: str
) -> None:
    """A comma is a decimal mark, a unit behind the last counts for all, exactly at the limit is inside (4.95)."""
    record(store, view, NOON, ("3", {"kind": "removed", "count": 1}))
    ann.does(path_of(view, "side-plate"), "points", **{"value-0": typed})
    act = store.journal.events(1)[-1].act

    assert (kept, unit, verdict) == (tuple(map(str, act.values)), act.unit, act.verdict)


def test_turns_of_a_screw_are_no_millimetres(store: Store, ann: Person) -> None:
    """A point without limits says what it is read in."""
    point = "{measure: turns from its seat, unit: turns, keep: true}"
    part = f"{{id: screw, name: Screw, check: [{point}]}}"
    text = f"format: 1\nunit: {{mark: P1, name: Pump, up: top}}\nparts: [{part}]\n"
    view = open_job(store, pump(text))
    record(store, view, NOON, ("1", {"kind": "removed", "count": 1}))
    assert "Read, turns" in ann.open(path_of(view, "screw")).text

    ann.does(path_of(view, "screw"), "points", **{"value-0": "3 1/2"})

    assert "turns from its seat: 3.5 turns" in ann.open(path_of(view, "screw")).text


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ("5.00 5.01 5.00 5.02", "4 readings for 3"),
        ("five", '"five" is no length'),
        ("12 N·m", "is not a unit of length"),
        ("1,250 1.2 1.2", "write the decimal mark as a point"),
    ],
)
def test_what_is_no_reading_comes_back_as_typed(
    store: Store, view: JobView, ann: Person, typed: str, words: str
) -> None:
    """With the reason at its field, which the banner names; nothing is kept."""
    record(store, view, NOON, ("3", {"kind": "removed", "count": 1}))
    answer = ann.send(path_of(view, "side-plate"), "points", **{"value-0": typed})
    page = Page(answer.text)

    assert (422, 1) == (answer.status_code, store.journal.last(1))
    assert typed in {attrs.get("value") for tag, attrs in page.elements if attrs.get("name") == "value-0"}
    assert words in page.text
    assert 'Nothing is written: "thickness": ' in page.text


def test_a_graded_part_far_off_its_series_is_asked_about(store: Store) -> None:
    """A ring of 3.0 to 3.8 mm reads 1.00; a worn one of 2.93 is taken, and so is the sum of a stack of shims."""
    job = open_job(store, demo("marine-gear"))
    ring, shims = bin_of(job, "end-ring-ahead"), bin_of(job, "ahead-shims")
    removed = {"kind": "removed", "count": 1}
    record(store, job, NOON, (ring.step, removed), (shims.step, removed))
    petra, before = person(create_app(store), "Petra"), store.journal.last(1)
    path = path_of(job, "end-ring-ahead")
    far = petra.send(path, "points", **{"value-0": "1.00"})

    asked = "1.00 mm is none of the sizes that there are: 3.0, 3.2, 3.4, 3.6, 3.8 mm; type it right, or tick"
    assert (422, before) == (far.status_code, store.journal.last(1))
    assert asked in Page(far.text).text
    petra.does(path, "points", **{"value-0": "2.93"})
    petra.does(path_of(job, "ahead-shims"), "points", **{"value-0": "0.10 0.30 0.50 0.90"})


def test_a_reading_ten_times_its_limit_is_kept_only_when_it_stands(store: Store, view: JobView, ann: Person) -> None:
    """50 mm for 5.0, 0.197 mm for inches (4.95 / 0.197 = 25); what stands is ticked, and is no answer to others."""
    record(store, view, NOON, ("3", {"kind": "removed", "count": 1}))
    path = path_of(view, "side-plate")
    tenfold = ann.send(path, "points", **{"value-0": "50.0 50.0 50.0", "sure-0": "5.0"})
    inches = ann.send(path, "points", **{"value-0": "0.197 0.197 0.197"})

    assert (422, 1) == (tenfold.status_code, store.journal.last(1))
    assert "50.0 mm is 10 times 4.95 mm; type it right, or tick that it stands" in Page(tenfold.text).text
    assert "4.95 mm is 25 times 0.197 mm: inches and millimetres mixed up?" in Page(inches.text).text
    ann.does(path, "points", **{"value-0": "50.0 50.0 50.0", "sure-0": "50.0 50.0 50.0"})
    stands = "50.0 mm is 10 times 4.95 mm; looked at again, it stands"
    assert [stands] == [event.act.note for event in store.journal.events(1)[1:]]
    # What is typed again is looked at again.
    again = ann.send("/job/1/correct/2", "correct", why="slip", right="40.0 40.0 40.0")
    assert (422, 2) == (again.status_code, store.journal.last(1))
    assert "40.0 mm is 8 times 4.95 mm; type it right, or tick that it stands" in Page(again.text).text
    ann.does("/job/1/correct/2", "correct", why="slip", right="5.00 5.00 5.00")
    right = store.journal.events(1)[-1].act
    assert isinstance(right, Reading)
    assert ("ok", None) == (right.verdict, right.note)


def test_a_reading_outside_its_limits_says_what_to_do_and_stays_open(store: Store, view: JobView, ann: Person) -> None:
    """Until somebody decides: here by a verdict on the part."""
    record(store, view, NOON, ("3", {"kind": "removed", "count": 1}))
    path = path_of(view, "side-plate")
    page = ann.does(path, "points", **{"value-0": "4.94 5.00 5.00"})

    assert "thickness: OUT OF LIMITS" in page.text
    assert "Otherwise: take a thicker one" in page.text
    assert "read 4.94 mm, allowed at least 4.95 mm; replace it, repair it, or note a deviation" in page.text
    assert (
        "note a deviation"
        not in ann.does(path, "points", verdict="replace").text.partition("History")[0].partition("Where")[2]
    )


def test_a_card_offers_what_comes_next(store: Store, view: JobView, ann: Person) -> None:
    """From in the unit to verified: the first form of the card is the next act."""
    path = path_of(view, "body")
    firsts = []
    for name, typed in (
        ("removed", {"counted": "all"}),
        ("points", {"verdict": "reuse"}),
        ("installed", {}),
        ("verified", {}),
    ):
        firsts.append(next(form.name for form in ann.open(path).forms if form.action.endswith("/act")))
        if name == "points":
            record(store, view, NOON, ("10", {"kind": "washed"}))
            firsts[-1] = next(form.name for form in ann.open(path).forms if form.action.endswith("/act"))
        page = ann.does(path, name, **typed)

    assert ["removed", "points", "installed", "verified"] == firsts
    assert "Where it is in and verified" in page.text


def test_a_card_leads_to_what_goes_in_next_once_the_unit_is_put_together(
    store: Store, view: JobView, ann: Person
) -> None:
    """Not to what came out next: the first that is free in the order of assembly, and not the card itself."""
    record(store, view, NOON, *all_out(view))
    assert "Next card" in ann.open(path_of(view, "cover")).text
    body = bin_of(view, "body")
    record(store, view, NOON, (body.step, {"kind": "installed"}), (body.step, {"kind": "verified"}))
    page = ann.open(path_of(view, "cover"))

    assert "Next to go in" in page.text
    assert "Next card" not in page.text
    now = record_of(view.profile, view.teardown, view.order, store.journal.events(1))
    free = {each.place for each in Assembly(now).allowed() if each.what in ("install", "join")}
    leads = next(each.bin for each in view.order if each.bin.ordinal in free)
    assert f"Next to go in {leads.step} {leads.name}" in page.text


def test_what_is_inspected_next_is_another_part_in_a_row_of_its_own(store: Store, ann: Person) -> None:
    """A captured bearing is the last one: its own card leads to none, that of the hub has room for its name."""
    view = open_job(store, demo("planetary-reducer"), options={"breather": "std"})
    seen = {"kind": "inspected", "verdict": "reuse"}
    points = [(each.step, {**seen, "check": n}) for each in view.teardown.bins for n in range(len(each.part.check))]
    record(store, view, NOON, *all_out(view), *points)
    bearing = next(each for each in view.teardown.inside if each.part.id == "input-bearing")
    own = f"{path_of(view, 'brake-housing')}?inside={bearing.ordinal}"

    rows = re.findall(r'<nav class="steps.*?</nav>', ann.client.get(path_of(view, "brake-hub")).text, re.DOTALL)
    assert [(1, True), (2, False)] == [(row.count("<a "), bearing.name in row) for row in rows[-2:]]
    assert "Next to inspect" not in ann.open(own).text


def test_a_torque_is_signed_in_the_order_of_its_pattern(store: Store, view: JobView, ann: Person) -> None:
    """Pass by pass; the order stands there as a drawing and as numbers, in three units.

    Opposite ones first, 1-4 then 2-5 and 3-6 of six: star lists of six screws, from memory.
    25 N·m = 18.4 lbf·ft = 221 lbf·in: factors of NIST SP 811.
    """
    record(store, view, NOON, *all_out(view), ("1", {"kind": "installed"}))
    path = path_of(view, "cover-screws")
    page = ann.open(path)

    assert "Order by place: 1-4-2-5-3-6" in page.text
    assert "25 N·m (18.4 lbf·ft, 221 lbf·in), oiled" in page.text
    assert "pass 1: 50 %: 12.5 N·m" in ann.open(path).text
    page = ann.does(path, "torque", torque="12.5")
    assert ("0.5", "12.5") == tuple(str(getattr(store.journal.events(1)[-1].act, n)) for n in ("share", "torque"))
    ann.does(path, "torque", torque="18,4", unit="lbf·ft")
    act = store.journal.events(1)[-1].act
    assert (1, "18.4", "lbf·ft") == (act.share, str(act.torque), act.unit)


@pytest.mark.parametrize(("share", "torque"), [("0.5", "50 %: 12.5 N·m"), ("1.0", "25 N·m"), ("", "25 N·m")])
def test_a_torque_that_was_not_typed_is_asked_for_as_that_of_its_pass(
    store: Store, view: JobView, ann: Person, share: str, torque: str
) -> None:
    """Half of 25 N·m is 12.5 N·m: who types what is asked for signs what the pass wants."""
    record(store, view, NOON, *all_out(view), ("1", {"kind": "installed"}))

    answer = ann.send(path_of(view, "cover-screws"), "torque", torque="", share=share)

    assert 422 == answer.status_code
    assert f"what did the wrench show? Wanted: {torque} " in Page(answer.text).text


def test_a_torque_in_the_wrong_unit_is_asked_about(store: Store, view: JobView, ann: Person) -> None:
    """25 lbf·ft is 33.9 N·m, 36 % over (NIST SP 811); the form keeps what was typed."""
    record(store, view, NOON, *all_out(view), ("1", {"kind": "installed"}))
    page = ann.is_refused(path_of(view, "cover-screws"), "torque", torque="25", unit="lbf·ft", share="1.0")

    assert "25 lbf·ft is 33.9 N·m, 36 % over 25 N·m. Is the unit of the wrench right?" in page.text
    assert ("torque", "25") in page.form("torque").fields


def test_what_is_on_hold_says_so_where_it_is_to_come_out(store: Store, view: JobView, ann: Person) -> None:
    """Who works from this page alone reads why the part waits, and why the whole job does."""
    holds = [(step, {"kind": "hold", "why": why}) for step, why in (("1", "owner looks first"), (None, "not paid"))]
    record(store, view, NOON, *holds)

    text = ann.open(NEXT).text

    assert "ON HOLD owner looks first Bo" in text
    assert "ON HOLD not paid Bo" in text


def test_a_hold_stops_a_part_until_it_is_released(store: Store, view: JobView, ann: Person) -> None:
    """It stands on the card and on the job's page; who releases it says why."""
    record(store, view, NOON, *all_out(view))
    path = path_of(view, "body")
    ann.does(path, "hold", why="crack test")

    assert "body".upper() in ann.is_refused(path, "installed").text.upper()
    assert "ON HOLD 10 Body: crack test" in ann.open("/job/1").text
    held = store.journal.last(1)
    ann.does(path, f"released-{held}", why="no crack found")
    assert "ON HOLD" not in ann.open("/job/1").text
    assert 303 == ann.send(path, "installed").status_code


def test_parts_out_of_the_washer_are_marked_clean_together(store: Store, view: JobView, ann: Person) -> None:
    """One button for all that is ticked; what is not ticked stays dirty."""
    acts = [act for act in all_out(view) if act[1]["kind"] == "removed"]
    record(store, view, NOON, *acts)
    chosen = [bin_of(view, part).ordinal for part in ("cover", "body")]
    ann.does("/job/1/wash", "washed", places=chosen)
    washed = [event.place for event in store.journal.events(1) if event.act.kind == "washed"]

    assert chosen == washed
    assert "3 Selective side plate" in ann.open("/job/1/wash").text


def test_nothing_is_washed_that_is_not_there(store: Store, view: JobView, ann: Person) -> None:
    """Numbers from elsewhere choose nothing; the page asks what is meant."""
    record(store, view, NOON, ("10", {"kind": "removed", "count": 1}))
    answer = ann.send("/job/1/wash", "washed", places=["9" * 5000, "-1", "777", "x"])

    assert (422, 1) == (answer.status_code, store.journal.last(1))
    assert "nothing is chosen" in Page(answer.text).text


def test_an_option_that_is_seen_is_set(store: Store, view: JobView, ann: Person) -> None:
    """What it drops is said, with the labels to print again; a part of the other choice has no card any more."""
    page = ann.does("/job/1", "option-drive", choice="splined", how="looked at the shaft end")

    assert "option Drive: Splined shaft, looked at the shaft end" in page.text
    assert "Drive: Splined shaft is set; not in this unit: 5 Key 6 x 6 x 20" in page.text
    assert "labelkit kit --job 1 --steps 6 --only labels" in page.text
    assert ("splined", "option_seen") == (store.job(1).options["drive"], store.journal.events(1)[0].act.kind)
    assert 404 == ann.client.get(path_of(view, "key")).status_code


def test_what_an_option_still_lacks_is_one_tap_away(view: JobView, ann: Person) -> None:
    """From the part that depends on it to the options, and from the refusal to the form."""
    assert 'href="/job/1#options"' in ann.client.get(f"{NEXT}?step=5").text

    asked = ann.send("/job/1", "option-drive", choice="splined", how="")

    assert 422 == asked.status_code
    assert 'id="options"' in asked.text
    assert '"How it was seen": write in a few words by what it was seen' in Page(asked.text).text
    assert 'href="#form-option-drive"' in asked.text
    assert 1 == asked.text.count('id="form-option-drive"')


def test_an_option_that_is_sent_once_more_is_told_by_its_names(view: JobView, ann: Person) -> None:
    """The form of an earlier visit comes back to be looked at, and ids tell nobody what was chosen."""
    again = ann.send("/job/1", "option-drive", choice="splined", how="seen", csrf="of an earlier visit")

    assert 403 == again.status_code
    assert "Option Drive" in Page(again.text).text
    assert "Splined shaft" in Page(again.text).text


def test_an_option_that_could_not_be_told_stays_open(store: Store, view: JobView, ann: Person) -> None:
    """It is kept that somebody looked."""
    ann.does("/job/1", "option-drive", how="too dirty to see")

    assert (None, "option_seen") == (store.job(1).options["drive"], store.journal.events(1)[0].act.kind)


def test_an_event_of_a_part_that_the_options_leave_out_can_be_corrected(
    store: Store, view: JobView, ann: Person
) -> None:
    """Otherwise such a job could never be signed."""
    record(store, view, NOON, ("5", {"kind": "removed", "count": 1}))
    store.update_job(replace(view.job, options={"drive": "splined"}))
    ann.does("/job/1/correct/1", "correct", why="it was the hub")

    assert "At a part that is not there" not in ann.open("/job/1").text


def test_where_a_job_is_counts_tray_by_tray(store: Store, view: JobView, ann: Person) -> None:
    """What lies on each tray, and where each part is."""
    record(store, view, NOON, *all_out(view), ("10", {"kind": "installed"}), ("10", {"kind": "verified"}))
    trays = ann.open("/job/1").text.partition("Tray by tray")[2]

    assert "10 Body in and verified" in trays
    assert "1 Cover screw M8 x 30 inspected, 6 of 6 counted: good" in trays


def test_what_is_lost_lies_on_no_tray(store: Store, view: JobView, ann: Person) -> None:
    """Neither there, nor in a bin that is not empty: it is missing, until a new one lies ready in its place."""
    record(store, view, NOON, *all_out(view))
    plug = bin_of(view, "plug")
    letter = view.trays.places[plug.step][0].letter

    def told() -> tuple[int, bool, bool]:
        page = ann.open("/job/1").text
        found = re.search(rf"Tray {letter}: (\d+) of \d+ lie there", page)
        assert found
        return (
            int(found[1]),
            "7 Plug M10: the bin is not empty" in page,
            "Not there: 1 7 Plug M10 is lost, and no new one is in" in page,
        )

    lying = told()[0]
    assert (lying, True, False) == told()
    ann.does(path_of(view, "plug"), "condemned", why="nowhere", lost="yes")
    assert (lying - 1, False, True) == told()
    ann.does(f"/{view.new_code(plug)}/receive", "receive", do="both")
    assert (lying, True, False) == told()


def test_a_card_offers_the_verdicts_of_the_inspection_sheet(store: Store, view: JobView, ann: Person) -> None:
    """Of a seal that is always renewed: replace, or ask first; one that is good cannot be said of it."""
    record(store, view, NOON, *((each.step, {"kind": "removed", "count": 1}) for each in view.teardown.bins))

    def offered(part: str) -> list[str]:
        inputs = ((tag, given) for tag, given in ann.open(path_of(view, part)).elements if tag == "input")
        return [given["value"] for _tag, given in inputs if given.get("name") == "verdict"]

    assert {"seal": ["replace", "ask"], "body": ["reuse", "repair", "replace", "ask"]} == {
        part: offered(part) for part in ("seal", "body")
    }
    assert "used once only" in ann.is_refused(path_of(view, "seal"), "points", verdict="reuse").text


def test_what_is_in_the_washer_lies_on_no_tray(store: Store, view: JobView, ann: Person) -> None:
    """Where, its card and the count of a tray say so until it is clean."""
    plug = bin_of(view, "plug")
    record(store, view, NOON, *((each.step, {"kind": "removed", "count": 1}) for each in view.teardown.bins))

    def lying() -> int:
        return sum(map(int, re.findall(r"(\d+) of \d+ lie there", ann.open("/job/1").text)))

    before = lying()
    record(store, view, NOON, (None, {"kind": "wash_started", "places": [plug.ordinal]}))
    assert lying() == before - 1
    assert "Plug M10 in the washer, 1 of 1 counted" in ann.open("/job/1").text
    assert "Where it is in the washer, 1 of 1 counted" in ann.open(path_of(view, "plug")).text
    record(store, view, NOON, (plug.step, {"kind": "washed"}))
    assert lying() == before
    assert "Where it is clean, 1 of 1 counted" in ann.open(path_of(view, "plug")).text


def test_a_new_part_that_is_missing_is_short(store: Store, view: JobView, ann: Person) -> None:
    """The seal is always renewed: it is missing until it lies ready."""
    record(store, view, NOON, *all_out(view))
    assert "2.1 Radial shaft seal 25 x 40 x 7 1 missing" in ann.open("/job/1").text.partition("Short")[2]
    ann.does(f"/{view.new_code(bin_of(view, 'seal'))}/receive", "receive", do="both")

    assert "Radial shaft seal" not in ann.open("/job/1").text.partition("Short")[2].partition("Tray by tray")[0]


def photo(kind: str = "JPEG", size: tuple[int, int] = (2400, 1200)) -> bytes:
    """Return a picture whose left half is light, with a note of the camera's place, turned by its EXIF orientation."""
    picture = Image.new("RGB", size, "black")
    picture.paste("white", (0, 0, size[0] // 2, size[1]))
    exif = Image.Exif()
    exif[0x0112] = 6  # EXIF 2.32, orientation: to be turned by 90 degrees clockwise
    exif[0x8825] = {1: "N", 2: (52.0, 31.0, 12.0)}
    written = io.BytesIO()
    picture.save(written, kind, **({"exif": exif} if kind != "PNG" else {}))
    return written.getvalue()


def take(ann: Person, path: str, data: bytes, name: str = "IMG_1.jpg", **more: str) -> tuple[int, str]:
    form = ann.open(path).form("photo")
    fields = {**dict(form.fields), **more, "picture": (io.BytesIO(data), name)}
    answer = ann.client.post(form.action, data=fields, content_type="multipart/form-data")
    return answer.status_code, answer.text


def test_a_photo_is_kept_without_what_the_camera_wrote(store: Store, view: JobView, ann: Person) -> None:
    """Upright, at most 2000 pixels, no place and no maker in it; it stands on the card and nowhere else."""
    path = path_of(view, "cover")
    assert 303 == take(ann, path, photo(), note="drain notch")[0]
    act = store.journal.events(1)[0].act
    kept = store.journal.picture(act.sha256)
    picture = Image.open(io.BytesIO(kept))

    assert ("JPEG", (1000, 2000), {}) == (picture.format, picture.size, dict(picture.getexif()))
    assert picture.getpixel((500, 100))[0] > 250 > 5 > picture.getpixel((500, 1900))[0]
    assert hashlib.sha256(kept).hexdigest() == act.sha256
    assert f"{path}/picture/{act.sha256}" in ann.open(path).addresses()
    assert kept == ann.client.get(f"{path}/picture/{act.sha256}").data
    assert 404 == ann.client.get(f"{path_of(view, 'body')}/picture/{act.sha256}").status_code


def bomb() -> bytes:
    """Return a PNG of 30 000 by 30 000 pixels in a few bytes."""
    head = b"IHDR" + struct.pack(">IIBBBBB", 30_000, 30_000, 8, 0, 0, 0, 0)
    return png(1, 1)[:8] + struct.pack(">I", 13) + head + struct.pack(">I", zlib.crc32(head)) + png(1, 1)[33:]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is empty"),
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='x()'/>", "this is an SVG drawing"),
        (b"%PDF-1.7 anything", "this is no picture"),
        (photo()[:3000], "damaged or cut short"),
        (bomb(), "too many"),
        (b"\x00\x00\x00\x18ftypheic....", "set the camera to JPEG"),
    ],
    ids=["empty", "svg", "pdf", "cut", "bomb", "heic"],
)
def test_what_is_no_photo_is_refused(store: Store, view: JobView, ann: Person, data: bytes, words: str) -> None:
    """Told by decoding, whatever the name says; the note that was typed is kept."""
    status, text = take(ann, path_of(view, "cover"), data, "../../IMG.jpg", note="drain notch")

    assert (422, ()) == (status, store.journal.events(1))
    assert words in Page(text).text
    assert "drain notch" in text


def test_what_is_no_photo_is_told_in_the_language_of_the_phone(view: JobView, ann: Person) -> None:
    ann.client.environ_base["HTTP_ACCEPT_LANGUAGE"] = "es"
    told = "x.jpg: no es una imagen, o está dañada; permitido: imágenes JPEG, PNG y WebP"
    assert told in Page(take(ann, path_of(view, "cover"), b"no picture", "x.jpg")[1]).text


def test_a_photo_whose_note_is_refused_leaves_no_picture(store: Store, view: JobView, ann: Person) -> None:
    """Nor does one of a job that was closed meanwhile: what is refused changes nothing."""
    name = hashlib.sha256(photo_jpeg(photo(), "")).hexdigest()
    assert 422 == take(ann, path_of(view, "cover"), photo(), note="x" * 5000)[0]
    form = ann.open(path_of(view, "cover")).form("photo")
    record(store, view, NOON, (None, {"kind": "signature", "statement": "all right"}), (None, {"kind": "closed"}))
    fields = dict(form.fields) | {"picture": (io.BytesIO(photo()), "a.jpg")}
    assert 409 == ann.client.post(form.action, data=fields, content_type="multipart/form-data").status_code

    with pytest.raises(NotFoundError):
        store.journal.picture(name)


def test_only_a_photo_may_be_large(store: Store, view: JobView, ann: Person) -> None:
    """16 MB for a photo, 64 kB for anything else."""
    path = path_of(view, "cover")
    form = ann.open(path).form("photo")
    fields = dict(form.fields)
    big = b"x" * 200_000

    assert 413 == ann.client.post(f"{path}/act", data=fields | {"form": "noted", "note": "x" * 200_000}).status_code
    assert 422 == take(ann, path, big)[0]
    kind = "multipart/form-data; boundary=a"
    assert 413 == ann.client.post(f"{path}/photo", data=b"x" * 16_000_001, content_type=kind).status_code


def test_what_was_typed_with_a_photo_outlives_the_sign_in(store: Store, view: JobView) -> None:
    """A photo does not go through it: that is said before, and it is asked for again with all that was typed."""
    path, client = path_of(view, "cover"), create_app(store).test_client()
    sent = {"note": "drain notch", "picture": (io.BytesIO(photo() + b"x" * 200_000), "a.jpg")}
    asked = client.post(f"{path}/photo", data=sent)
    told = Page(asked.text)
    (form,) = (each for each in told.forms if each.action == "/sign-in")
    signed = client.post("/sign-in", data=dict(form.fields) | {"name": "Ann", "pin": PIN})
    (again,) = (each for each in Page(signed.text).forms if each.action == f"{path}/photo")
    done = client.post(again.action, data=dict(again.fields) | {"picture": (io.BytesIO(photo()), "b.jpg")})

    assert 401 == asked.status_code
    assert "The photo is not: take it again then." in told.text
    assert 303 == done.status_code
    assert "drain notch" == store.journal.events(1)[0].act.note


def test_the_sign_in_page_has_nothing_in_its_field_for_codes(client: FlaskClient) -> None:
    """What was typed into its own form is none of the field for codes, which a mistyped code comes back in."""
    assert "data-typed" not in client.get("/sign-in?then=/job/1").text
    assert 'data-typed="7K3M-9Q2X-XXX"' in client.get("/7K3M-9Q2X-XXX").text


def test_a_card_without_a_sign_in_is_for_reading(store: Store, view: JobView, client: FlaskClient) -> None:
    """Who has the code reads the card; forms and history are for who is signed in."""
    record(store, view, NOON, ("10", {"kind": "noted", "note": "secret of the shop"}))
    page = Page(create_app(store).test_client().get(path_of(view, "body")).text)

    assert "Sign in to record what you do" in page.text
    assert [] == [form for form in page.forms if form.action.endswith("/act")]
    assert "secret of the shop" not in page.text


def test_the_last_event_is_told_for_the_live_refresh(store: Store, view: JobView, ann: Person) -> None:
    """Pages that wait for news ask for one number; nobody else is told it."""
    live = [a for _, a in ann.open("/job/1").elements if "data-live" in a]
    record(store, view, NOON, ("10", {"kind": "noted", "note": "news"}))

    assert [("/job/1/last", "0")] == [(a["data-live"], a["data-last"]) for a in live]
    assert "1" == ann.client.get("/job/1/last").text
    assert 401 == create_app(store).test_client().get("/job/1/last").status_code


def test_every_page_of_another_job_says_so_before_anything_is_typed(ann: Person, store: Store, view: JobView) -> None:
    """Whoever works on one job and comes to another's pages is told, and goes over with one tap."""
    other = open_job(store, pump())
    ann.does(f"/{code_of(view, 'cover')}", "noted", note="works on it")
    pages = ("", "/next", "/wash", "/fits", "/parts", "/sign-off")
    words = f"This page is of job {other.job.number}; you work on job {view.job.number}."

    assert [] == [path for path in pages if words not in ann.open(f"/job/{other.job.number}{path}").text]
    assert [] == [path for path in pages if "you work on" in ann.open(f"/job/{view.job.number}{path}").text]
    over = next(each for each in ann.open(f"/job/{other.job.number}/next").forms if each.action.endswith("/work"))
    assert f"/job/{other.job.number}/next" == ann.client.post(over.action, data=dict(over.fields)).location
    assert words not in ann.open(f"/job/{other.job.number}/next").text

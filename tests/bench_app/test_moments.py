"""Moments at which a bench saves a rebuild, from end to end on the demo units: what somebody does, and what it says.

What should be said at each moment is common practice of rebuild shops, no source; figures are those of the invented
demo units.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest
from flask import Flask

from labelkit.bench.app import create_app
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import Page, Person, all_out, person, record, with_pin
from tests.bench_app.workshop import PUMP, SECRET, open_job, pump
from tests.shop import demo

Acts = list[tuple[str | None, dict[str, object]]]


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    folder: Path = tmp_path_factory.mktemp("moments")
    with Store(str(folder / "shop.sqlite"), secret=SECRET) as opened:
        with_pin(opened)
        yield opened


@pytest.fixture(scope="module")
def app(store: Store) -> Flask:
    return create_app(store, clock=lambda: NOON)


@pytest.fixture
def ann(app: Flask) -> Person:
    return person(app)


@pytest.fixture
def reducer(store: Store) -> JobView:
    return open_job(store, demo("planetary-reducer"), options={"output": "splined", "breather": "std"}, serial="4711")


def at(view: JobView, step: str) -> str:
    return f"/{view.code(view.teardown.at(step))}"


def step_of(view: JobView, part: str) -> str:
    return view.teardown.of(part)[0].step


def put_in(view: JobView, parts: Iterable[str]) -> Acts:
    """Return the acts by which parts go in and are verified, in the order of assembly."""
    wanted = {each.step for part in parts for each in view.teardown.of(part)}
    acts: Acts = []
    for placed in view.order:
        part = placed.bin.part
        if placed.bin.step in wanted:
            sizes = {"sizes": ["2.60"]} if part.series else {}
            acts.append((placed.bin.step, {"kind": "installed", "new": part.one_time, **sizes}))
            if part.fasten and part.fasten.torque:
                torque = part.fasten.torque
                acts.append(
                    (placed.bin.step, {"kind": "torque_signed", "torque": str(torque.value), "unit": torque.unit})
                )
            acts.append((placed.bin.step, {"kind": "verified"}))
    return acts


def until(view: JobView, part: str) -> list[str]:
    """Return the parts that go in before one, in the order of assembly."""
    order = [placed.bin.part.id for placed in view.order]
    return order[: order.index(part)]


def test_the_housing_is_refused_while_the_bolt_under_it_is_not_in(store: Store, reducer: JobView, ann: Person) -> None:
    """Moment 1: no socket reaches the carrier bolt once the ring-gear housing is on."""
    record(store, reducer, NOON, *all_out(reducer), *put_in(reducer, until(reducer, "lock-plate")))
    path = at(reducer, step_of(reducer, "ring-housing"))
    scanned = ann.open(path)
    asked = ann.is_refused(path, "installed")

    for page in (scanned, asked):
        assert "NO Not yet 27 Ring-gear housing" in page.text
        assert "first 30 Lock plate 60 x 3, then 29 Carrier bolt M16 x 45" in page.text
        assert "Allowed now: 30 Lock plate 60 x 3" in page.text
    assert "installed" != store.journal.events(reducer.job.number)[-1].act.kind


def test_a_label_of_another_job_is_refused(store: Store, reducer: JobView, ann: Person) -> None:
    """Moment 3: both numbers are said, the card can only be looked at, and an act on it is refused."""
    other = open_job(store, demo("planetary-reducer"), options={"output": "splined"}, serial="4712")
    ann.does(f"/job/{reducer.job.number}", "", then=f"/job/{reducer.job.number}")
    answer = ann.client.get(at(other, "1"))
    words = f"This label is of job {other.job.number}, this is job {reducer.job.number}"
    look = ann.open(f"{at(other, '1')}?look=1")

    assert (409, True) == (answer.status_code, words in Page(answer.text).text)
    assert "LOOK ONLY" in look.text
    assert [] == [form for form in look.forms if form.action.endswith("/act")]
    key = next(value for name, value in Page(answer.text).forms[0].fields if name == "csrf")
    sent = ann.client.post(f"{at(other, '1')}/act", data={"csrf": key, "form": "removed", "counted": "all"})
    assert (409, ()) == (sent.status_code, store.journal.events(other.job.number))


def test_a_label_of_an_older_revision_says_that_limits_have_changed(store: Store, ann: Person) -> None:
    """Moment 3: the label of an earlier job of the same kind of unit, printed from an older profile."""
    old = open_job(store, pump(PUMP.replace('revision: "3"', 'revision: "2"').replace('min: "4.95"', 'min: "4.90"')))
    new = open_job(store, pump())
    ann.does(f"/job/{new.job.number}", "", then="/")
    page = Page(ann.client.get(f"/{old.code(old.teardown.of('side-plate')[0])}").text)

    assert "it has profile revision 2, this job has 3: limits of this part have changed" in page.text
    assert "print a new label" in page.text


def test_the_washer_is_not_started_while_a_button_lies_in_a_blind_hole(
    store: Store, reducer: JobView, ann: Person
) -> None:
    """Moment 15: it is named with what it lies in, and the way to its card; bagged, the washer starts."""
    step = step_of(reducer, "thrust-button")
    acts = [(s, data) for s, data in all_out(reducer, but=[step]) if data["kind"] == "removed"]
    record(store, reducer, NOON, *acts)
    path = f"/job/{reducer.job.number}/wash"
    page = ann.open(path)
    asked = ann.is_refused(path, "started")

    assert "NOT YET 1 part must be out, counted and bagged first: 23 Thrust button 20 x 8 not out yet" in page.text
    assert at(reducer, step) in page.addresses()
    assert "NO Out before the wash: 23 Thrust button 20 x 8 is not out; it may lie in " in asked.text
    ann.does(at(reducer, step), "removed", counted="all")
    assert "washer started with" in ann.does(path, "started").text


def test_a_captured_bearing_is_felt_and_not_looked_for(store: Store, reducer: JobView, ann: Person) -> None:
    """Moment 16: it stays in the housing behind the oil guide; it can be judged from the card of the housing."""
    path = at(reducer, step_of(reducer, "brake-housing"))
    ann.does(at(reducer, step_of(reducer, "through-bolts")), "removed", counted="all")
    page = ann.does(path, "removed", counted="all")
    inside = next(i for i in reducer.teardown.inside if i.part.id == "input-bearing")
    within = f"{path}?inside={inside.ordinal}"

    assert "stays inside, behind Oil guide ring: feel it, do not look for it" in page.text
    assert within in page.addresses()
    ann.does(within, "condemned", why="rough when turned")
    last = store.journal.events(reducer.job.number)[-1]
    assert (inside.ordinal, "condemned") == (last.place, last.act.kind)


def test_what_stayed_in_is_led_out_for_its_new_ones(store: Store, ann: Person) -> None:
    """Moment 20: Next leads from the ring that was left in to the circlip and the bearing behind it, each a removal.

    Until then list, report and sign-off say that the old ones are in, and nothing counts as built.
    """
    view = open_job(store, demo("planetary-reducer"), options={"breather": "std"})
    job, step = f"/job/{view.job.number}", step_of(view, "oil-guide-ring")
    parts = ("oil-guide-ring", "input-bearing-circlip", "input-bearing")
    items = [next(each for each in view.teardown.items.values() if each.part.id == part) for part in parts]
    housing = at(view, step_of(view, "brake-housing"))
    cards = [at(view, step), *(f"{housing}?inside={each.ordinal}" for each in items[1:])]
    record(store, view, NOON, *all_out(view, but=[step]), (step, {"kind": "left_in"}))
    page = ann.does(cards[2], "points", **{"verdict-0": "replace"})
    assert f"With it are renewed: {items[0].full_name}, {items[1].full_name}" in page.text
    for each in items:
        ann.does(f"/{view.new_code(each)}/receive", "receive", do="both")
    record(store, view, NOON, *put_in(view, ["output-housing", "upper-cup", "lower-cup"]))

    assert "Brake housing can be built" in ann.open(f"{job}/parts").text
    assert "Still in, and to come out: 3" in ann.open(job).text
    assert "the old one is still in, and is to be new: take it out" in ann.open(f"{job}/sign-off").text
    assert 3 == ann.open(f"{job}/report").text.count("THE OLD PART IS IN")
    refused = ann.is_refused(f"/{view.new_code(items[2])}", "installed")
    assert "Allowed now: take out 15.1 Oil guide ring" in refused.text
    assert "left in, to come out, new part lies ready" in ann.open(cards[0]).text
    for card in cards:
        page = ann.open(f"{job}/next")
        assert ("a", {"class": "main", "href": card}) in page.elements
        ann.does(card, "removed", counted="all")
    assert "Still in, and to come out" not in ann.open(job).text
    removed = [event for event in store.journal.events(view.job.number) if event.act.kind == "removed"][-2:]
    assert ["Can fly off" in str(removed[0].act), "Press" in str(removed[1].act)] == [True, True], "they were ticked"
    page = ann.open(job)
    assert f"/{view.new_code(items[2])}" in page.addresses(), "the new bearing is the first of them to go in"
    assert f"/{view.new_code(items[1])}" not in page.addresses()


def test_sixteen_springs_ask_for_the_option_and_set_it(store: Store, reducer: JobView, ann: Person) -> None:
    """Moment 17: another count than the option has is a question; the choice brings its own bin and new labels."""
    job = reducer.job.number
    path = at(reducer, step_of(reducer, "brake-springs-12"))
    page = ann.does(path, "removed", count="16")
    told = "16 came out, the profile has 12; 16 springs, no pocket empty would have 16: is the option set right?"
    assert told in page.text
    assert told in ann.open(f"/job/{job}").text.partition("Counts")[2]

    page = ann.does(f"/job/{job}", "option-brake", choice="b16", how="counted, no pocket empty")
    springs = JobView(store.job(job), reducer.profile, store.secret).teardown.of("brake-springs-16")[0]

    assert (
        "Brake springs: 16 springs, no pocket empty is set; not in this unit: 12 Brake spring, set of 12" in page.text
    )
    assert f"Print these labels again: labelkit kit --job {job} --steps {springs.step}" in page.text
    assert "b16" == store.job(job).options["brake"]
    assert "Brake spring, set of 16 next out" in ann.open(f"/job/{job}/next?step={springs.step}").text
    assert "At a part that is not there: 1" in page.text


def test_the_output_end_decides_what_comes_off_first(store: Store, ann: Person, reducer: JobView) -> None:
    """Moment 18: with the extension the unit is first turned over, and its screws are the first step."""
    flange = open_job(store, demo("planetary-reducer"), options={"output": "flange", "breather": "std"})
    first = {view.job.number: ann.open(f"/job/{view.job.number}/next") for view in (reducer, flange)}

    assert "1 × 8 Extension screw M12 x 40" in first[reducer.job.number].text
    assert "then upside down on wooden blocks: first thing to come off" in first[reducer.job.number].text
    assert "Extension screw" not in first[flange.job.number].text


def test_an_old_bolt_that_is_used_once_is_refused_and_its_sticker_is_not(
    store: Store, reducer: JobView, ann: Person
) -> None:
    """Moment 22: how many new ones are needed, and whether they are ordered or here."""
    before = put_in(reducer, until(reducer, "through-bolts"))
    record(store, reducer, NOON, *all_out(reducer), *before)
    each = reducer.teardown.of("through-bolts")[0]
    refused = "Not the old 17 Through bolt M12 x 240, 12.9: it is used once only; 12 new needed, "

    assert (
        f"NO {refused}not ordered yet. Allowed now: scan the new part's sticker"
        in ann.open(at(reducer, each.step)).text
    )
    order = {"kind": "ordered", "number": each.part.number, "pieces": 12}
    record(store, reducer, NOON, (None, order))
    assert f"{refused}12 ordered, not here yet" in ann.is_refused(at(reducer, each.step), "installed").text
    sticker = f"/{reducer.new_code(each)}"
    assert "NEW PART" in ann.open(sticker).text
    ann.does(f"{sticker}/receive", "receive", do="both")
    ann.does(sticker, "installed")
    last = store.journal.events(reducer.job.number)[-1].act
    assert ("installed", True) == (last.kind, last.new)


@pytest.mark.parametrize(
    ("unit", "part", "cautions"),
    [
        ("marine-gear", "astern-nut", ("LEFT-HAND thread: turn clockwise to loosen",)),
        ("planetary-reducer", "cover-screws", ("7.6 kN (12 springs)", "one turn at a time", "4.6 turns of M12")),
    ],
)
def test_what_can_hurt_is_read_before_it_is_loosened(
    store: Store, ann: Person, unit: str, part: str, cautions: tuple[str, ...]
) -> None:
    """Moment 23: a left-hand thread, and springs under a cover; nothing is kept before it is ticked."""
    view = open_job(store, demo(unit))
    path = at(view, step_of(view, part))
    shown = " ".join(ann.open(path).form("removed").cautions)
    answer = ann.send(path, "removed", tick=False, counted="all")

    assert [] == [words for words in cautions if words not in shown]
    assert (422, ()) == (answer.status_code, store.journal.events(view.job.number))
    ann.does(path, "removed", counted="all")
    ticked = " ".join(store.journal.events(view.job.number)[0].act.ticked)
    assert [] == [words for words in cautions if words not in ticked]


def test_which_way_a_left_hand_thread_tightens_is_ticked_before_its_torque_is_signed(store: Store, ann: Person) -> None:
    """The wrench is taken up after the part is in: what was ticked then is not on the page any more."""
    view = open_job(store, pump(), options={"drive": "keyed"})
    record(store, view, NOON, ("1", {"kind": "installed"}))
    typed = {"torque": "12.5", "unit": "N·m", "share": "0.5"}

    assert ["LEFT-HAND thread: turn counter-clockwise to tighten"] == ann.open(at(view, "1")).form("torque").cautions
    assert 422 == ann.send(at(view, "1"), "torque", tick=False, **typed).status_code
    ann.does(at(view, "1"), "torque", **typed)


def test_who_comes_the_next_day_reads_where_the_job_is(store: Store, reducer: JobView, app: Flask) -> None:
    """Moment 24: last verified with who; what is open; why the next part waits; the hold; what may be done now."""
    hold = (step_of(reducer, "sun-1-21"), {"kind": "hold", "why": "waits for the inspector"})
    record(store, reducer, NOON, *all_out(reducer), *put_in(reducer, until(reducer, "carrier-2")), hold)
    cleo = person(app, "Cleo")
    page = cleo.open(f"/job/{reducer.job.number}")
    parts = re.split(r"(Last verified|Allowed now|Open Fits to measure:|Short|Tray by tray) ", page.text)
    told = dict(zip(parts[1::2], parts[2::2], strict=False))

    assert "32 Bearing lock nut M75 x 2: verified: in, and right Bo, " in told["Last verified"]
    assert "ON HOLD 22 First-stage sun shaft, 21 teeth: waits for the inspector Bo, " in page.text
    assert told["Allowed now"].startswith("measure output preload")
    assert "output preload is not read after the assembly" in told["Open Fits to measure:"]
    assert "33 Tab washer" not in told["Short"]
    asked = cleo.is_refused(at(reducer, step_of(reducer, "carrier-2")), "installed")
    assert "measure output preload (it cannot be read afterwards)" in asked.text

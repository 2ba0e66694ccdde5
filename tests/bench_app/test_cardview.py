"""What a card says of the part that was scanned: loud only when it is about to go in, and the size that was chosen."""

from __future__ import annotations

import pytest

from labelkit.bench.about import About
from labelkit.bench.cardforms import going_with, wanted
from labelkit.bench.cardnext import forms_of
from labelkit.bench.cardview import CardState, card_state
from labelkit.bench.points import reading_of
from labelkit.calc.allowed import Assembly
from labelkit.calc.record import Record
from labelkit.language import speaking
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import Page, Person, all_out, record
from tests.bench_app.workshop import PUMP, bin_of, code_of, open_job, png, pump
from tests.shop import profile_of
from tests.walk import Walk

PLAY = """\
fits:
  rotor-play: {kind: clearance, target: ["0.02", "0.08"], set_by: side-plate, thicker: reduces}
"""


def loud(page: Page) -> bool:
    return any(tag == "div" and given.get("class") == "refused" for tag, given in page.elements)


def test_a_washed_part_that_is_scanned_to_be_looked_at_is_not_refused(store: Store, view: JobView, ann: Person) -> None:
    """Everything is out, nothing is in: the card leads to its inspection; inspected, it says NO."""
    cover, body = (f"/{code_of(view, part)}" for part in ("cover", "body"))
    record(store, view, NOON, *(act for act in all_out(view) if act[1]["kind"] == "removed"))
    record(store, view, NOON, *((bin_of(view, part).step, {"kind": "washed"}) for part in ("cover", "gears")))
    page = ann.open(cover)

    assert not loud(page)
    assert "points" == next(form.name for form in page.forms if form.action.endswith("/act"))
    ann.does(cover, "points", verdict="reuse")
    assert loud(ann.open(cover)), "inspected, its scan means that it goes in"
    record(store, view, NOON, (bin_of(view, "body").step, {"kind": "installed"}))
    assert [True, False] == [loud(ann.open(each)) for each in (cover, body)]


def test_what_is_in_the_washer_comes_out_of_it_first(store: Store, view: JobView, ann: Person) -> None:
    """Whatever else is still to be done; nobody holds it in the hand to put it in, so that nothing is refused."""
    cover, plate, screws = (f"/{code_of(view, part)}" for part in ("cover", "side-plate", "cover-screws"))
    acts = [act for act in all_out(view) if act[1]["kind"] == "removed"]
    acts[0] = (acts[0][0], {"kind": "removed"})
    load = [bin_of(view, part).ordinal for part in ("cover", "side-plate", "cover-screws")]
    record(store, view, NOON, *acts, (None, {"kind": "wash_started", "places": load}))
    pages = [ann.open(plate), ann.open(screws), ann.does(cover, "points", verdict="reuse"), ann.open(cover)]

    for page in pages:
        assert not loud(page)
        assert "Clean and dry \u2193" in page.text
        assert "washed" == next(form.name for form in page.forms if form.action.endswith("/act"))
    assert "good, goes in again" in pages[2].text
    ann.does(cover, "washed")
    assert loud(ann.open(cover)), "clean and inspected, its scan means that it goes in"


def test_what_is_ticked_as_on_the_card_is_kept_in_english() -> None:
    """A record has one language for the program's words, whoever ticked it."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    about = About(Assembly(walk.record), walk.record.at(walk.place("oil-guide-ring")))
    with speaking("de"):
        (seen,), (put_in,) = (wanted(about, name, {"as_card": "yes"}).wishes for name in ("side", "installed"))

    assert ("COLLAR UP", "9 o'clock", "COLLAR UP, 9 o'clock") == (
        seen.data["up"],
        seen.data["clock"],
        put_in.data["side"],
    )


def test_a_bin_that_nobody_counted_is_led_to_be_counted_until_it_is(store: Store, view: JobView, ann: Person) -> None:
    """Out without a count, clean, and in: each time the card asks, and leads with the count; so does the job's page."""
    screws, step = f"/{code_of(view, 'cover-screws')}", bin_of(view, "cover-screws").step
    told = "Cover screw M8 x 30: nobody has counted what came out, the profile has 6"
    ann.does(screws, "removed", count="")
    for kind in ("washed", "installed", "verified"):
        record(store, view, NOON, (step, {"kind": kind}))
        page = ann.open(screws)
        assert told in page.text
        assert "count" == next(form.name for form in page.forms if form.action.endswith("/act"))
        assert f"Counts: 1 {step} {told}" in ann.open("/job/1").text
        assert told in ann.open("/job/1/sign-off").text
    assert told not in ann.does(screws, "count", counted="all").text


def test_a_face_that_was_seen_otherwise_stands_on_top_of_the_card(store: Store, view: JobView, ann: Person) -> None:
    """Both statements, from the teardown on; once it is in, its card leads to a look at it, and that settles it."""
    cover = f"/{code_of(view, 'cover')}"
    told = "seen otherwise, ribs up; its card says FLAT FACE UP"
    record(store, view, NOON, *(act for act in all_out(view, but=("2",)) if act[1]["kind"] == "removed"))
    page = ann.does(cover, "removed", counted="all", up="ribs")
    top = page.text[: page.text.index("History of this place")]
    assert (2, 1) == (top.count(told), ann.open(cover).text.count(told)), "said at once, and then on the card"
    assert f"2 Cover: {told}" in ann.open("/job/1").text

    seal = (bin_of(view, "seal").step, {"kind": "installed", "new": True})
    record(store, view, NOON, seal, (bin_of(view, "cover").step, {"kind": "installed", "side": "FLAT FACE UP"}))
    page = ann.open(cover)
    assert ["side", "verified"] == [form.name for form in page.forms if form.action.endswith("/act")][:2]
    assert told in ann.is_refused(cover, "verified").text
    assert told not in ann.does(cover, "side", as_card="yes").text
    ann.does(cover, "verified")


def test_a_note_is_kept_with_the_verdict_that_it_gives_the_reason_of() -> None:
    """With that of a point, too; of several with the one that weighs most, so that the report has the reason."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    cover = About(Assembly(walk.record), walk.record.at(walk.place("input-cover")))
    forms = (
        {"verdict-0": "reuse", "note": "polished"},
        {"verdict-0": "replace", "verdict-1": "reuse", "note": "dented"},
        {"verdict-0": "replace", "verdict": "reuse", "note": "dented"},
        {"verdict-0": "repair", "verdict": "repair", "note": "welded"},
        {"value-0": "0.20", "note": "by a new gauge"},
    )
    told = [
        [(each.data.get("check"), each.data.get("note")) for each in wanted(cover, "points", form).wishes]
        for form in forms
    ]

    assert [
        [(0, "polished")],
        [(0, "dented"), (1, None)],
        [(0, "dented"), (None, None)],
        [(0, None), (None, "welded")],
        [(0, "by a new gauge")],
    ] == told


def test_what_may_go_in_and_has_no_point_left_to_inspect_leads_with_that(store: Store, ann: Person) -> None:
    """Not while anything is still to come out."""
    view = open_job(store, pump(PUMP.replace('name: Body, mass: "20",', "name: Body, check: [{look: cracks}],")))
    body, step = f"/{code_of(view, 'body')}", bin_of(view, "body").step
    record(store, view, NOON, *(act for act in all_out(view, but=("1",)) if act[1]["kind"] == "removed"))
    record(store, view, NOON, (step, {"kind": "washed"}), (step, {"kind": "inspected", "check": 0, "verdict": "reuse"}))
    before = [form.name for form in ann.open(body).forms if form.action.endswith("/act")]
    record(store, view, NOON, ("1", {"kind": "removed", "count": 6}))

    assert "points" == before[0]
    assert "installed" == next(form.name for form in ann.open(body).forms if form.action.endswith("/act"))


def test_an_open_option_leaves_its_question_mark_on_the_card(view: JobView, ann: Person) -> None:
    """As on its label: the key may not be in this unit at all."""
    key = bin_of(view, "key")
    assert f"{key.step}? × 1 {key.name}" in ann.open(f"/{view.code(key)}").text


def test_what_is_measured_before_the_next_step_is_led_to_by_name(store: Store, ann: Person) -> None:
    """Not to a list of all fits, of which some can wait."""
    play = "{kind: end_play, target: [0.04, 0.10], set_by: side-plate, thicker: reduces}"
    open_job(store, pump(f"{PUMP}fits:\n  rotor-play: {play}\n  cover-play: {play}\n"))
    page = ann.open("/job/1/next")

    assert {"/job/1/fits/rotor-play", "/job/1/fits/cover-play"} <= set(page.addresses())
    assert "cover play, before step 3" in page.text


def test_how_it_goes_in_is_asked_where_nobody_knows_how_it_sat(store: Store, view: JobView, ann: Person) -> None:
    """Neither the profile nor who took it out: that is said as it comes out, and what is done now is written down."""
    path = f"/{code_of(view, 'plug')}"
    out = ann.does(path, "removed", counted="all")
    assert "nobody wrote down which face was up and what was at which hour" in out.text
    record(store, view, NOON, *all_out(view, but=(bin_of(view, "plug").step,)))
    ann.does(path, "installed", page=ann.open(path), side="hex up", override_reason="trial", override_agreed="Bo")
    assert "hex up" == store.journal.events(1)[-1].act.side


def test_the_size_that_was_chosen_stands_where_the_part_comes_and_goes_in(store: Store, ann: Person) -> None:
    """On its card before it goes in, and at its sticker, which wants to know what it measures before it lies ready."""
    view = open_job(store, pump(PUMP.replace('tol: "0.01"', 'numbers: {"5.05": P7-505}') + PLAY))
    plate = bin_of(view, "side-plate")
    card, sticker = f"/{view.code(plate)}", f"/{view.new_code(plate)}/receive"
    record(store, view, NOON, *all_out(view))
    assert "Chosen for its fit" not in ann.open(card).text + ann.open(sticker).text
    record(store, view, NOON, (None, {"kind": "fit_chosen", "fit": "rotor-play", "sizes": ["5.05"], "unit": "mm"}))

    assert "Chosen for its fit 5.05 mm P7-505" in ann.open(card).text
    page = ann.open(sticker)
    assert "P7-505" in page.text
    assert "Chosen for its fit 5.05 mm" in page.text
    assert "chosen 5.05 mm" in page.text
    wrong = ann.send(sticker, "receive", **{"size-t": "5.10"})
    assert "thickness 5.10 mm, chosen was 5.05 mm: 0.05 mm thicker" in Page(wrong.text).text
    ann.does(sticker, "receive", do="received")
    unread = ann.send(sticker, "receive", do="staged")
    assert "rotor play needs it: measure it before it lies ready" in Page(unread.text).text
    ann.does(sticker, "receive", do="staged", **{"size-t": "5.05"})
    came = [event.act for event in store.journal.events(view.job.number)[-2:]]
    assert [("received", None), ("staged", "t 5.05 mm")] == [(act.kind, act.measured) for act in came]
    page = ann.open(f"/{view.new_code(plate)}")
    assert "Number P7-505" in page.text
    assert ("sizes", "5.05") in page.form("installed").fields, "as it measured when it came"


def test_a_group_that_was_built_goes_in_and_is_verified_by_one_act(store: Store, view: JobView, ann: Person) -> None:
    """Each of its parts is recorded; what is to be measured of one is asked on that one's card."""
    plate, gears = (bin_of(view, part) for part in ("side-plate", "gears"))
    inner = [each.bin for each in view.order if each.bin.ordinal > gears.ordinal]
    record(store, view, NOON, *all_out(view))
    record(store, view, NOON, *((each.step, {"kind": kind}) for each in inner for kind in ("installed", "verified")))
    record(store, view, NOON, *((each.step, {"kind": "joined"}) for each in (gears, plate)))
    whole = {"whole": "yes", "sizes": "5.05"}

    assert "The whole group is in" not in ann.open(f"/{view.code(gears)}").text
    assert "The whole group is in: Rotor set" in ann.open(f"/{view.code(plate)}").text
    assert "The others sit as their cards say: 4 Gear pair: 6:30" in ann.open(f"/{view.code(plate)}").text
    ann.does(f"/{view.code(plate)}", "installed", as_cards="yes", **whole)
    ann.does(f"/{view.code(gears)}", "verified", whole="yes")
    told = [(event.act.kind, event.place) for event in store.journal.events(1)[-4:]]
    assert [
        (kind, each.ordinal)
        for kind, each in zip(
            ("installed", "installed", "verified", "verified"), (plate, gears, gears, plate), strict=True
        )
    ] == told
    assert "6:30" == store.journal.events(1)[-3].act.side
    assert (
        "the parts of the group are not all as far"
        in Page(ann.send(f"/{view.code(plate)}", "points", form="installed", **whole).text).text
    )


def test_the_photo_stands_beside_the_drawings(store: Store, ann: Person) -> None:
    """A small one, which opens the large one, before the first form."""
    view = open_job(store, pump(), photos={"photos/cover.png": png()})
    elements = ann.open(f"/{code_of(view, 'cover')}").elements
    kinds = [given.get("class") if tag == "p" else tag for tag, given in elements]
    after = elements[kinds.index("thumbs") :]

    assert [after[1][1]["href"]] == [after[2][1]["src"]]
    assert 200 == ann.client.get(after[1][1]["href"]).status_code
    assert kinds.index("thumbs") < next(k for k, (tag, given) in enumerate(elements) if given.get("class") == "sheet")


def test_what_came_out_again_is_cleaned_before_it_goes_in() -> None:
    """What is looked at when it is clean is not asked before."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.put_in_until("nowhere")
    walk.do("removed", "brake-port", count=1)

    def leads(part: str) -> str:
        return forms_of(About(Assembly(walk.record), walk.record.at(walk.place(part))), goes_in=True)[0]

    seen = [leads("brake-port")]
    walk.do("washed", "brake-port")
    seen.append(leads("brake-port"))
    walk.do("inspected", "brake-port", check=0, verdict="reuse")
    assert ["washed", "points", "installed"] == [*seen, leads("brake-port")]


def test_what_is_left_of_a_place_is_cleaned_and_looked_at_while_it_waits_for_a_new_piece() -> None:
    """One of five discs is lost. Nothing is refused before somebody puts them in: the new one is to be ready, then."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.do("condemned", "steel-disc", why="lost", pieces=1, lost=True)

    def card() -> CardState:
        return card_state(About(Assembly(walk.record), walk.record.at(walk.place("steel-disc"))), "Ana")

    assert (False, True, "out, 4 of 5 counted: LOST 1") == (card().loud, "washed" in card().forms, card().stage)
    walk.do("inspected", "steel-disc", verdict="reuse")
    assert (False, "It waits for its new parts: 0 of 1 here") == (card().loud, card().waits)
    assert "1 of 5 new needed, not ordered yet; the old ones" in walk.refused("installed", "steel-disc")


def test_by_a_label_whose_pieces_are_in_nothing_more_goes_in() -> None:
    """Two of six washers are new: each label has its own pieces, says how many are left, and offers no more after."""
    walk = Walk("planetary-reducer", {"breather": "std"})
    walk.take_apart()
    walk.do("condemned", "planet-1-washer", why="thin", pieces=2)
    walk.do("received", "planet-1-washer", pieces=2)

    def about(*, new: bool) -> About:
        return About(Assembly(walk.record), walk.record.at(walk.place("planet-1-washer")), new)

    def offered(*, new: bool) -> tuple[int | None, bool]:
        state = card_state(about(new=new), "Ana")
        return state.goes_in, "installed" in (*state.forms, *state.more)

    assert [(2, True), (4, True)] == [offered(new=True), offered(new=False)]
    walk.do("installed", "planet-1-washer", pieces=1, new=True)
    assert [(1, True), (4, True)] == [offered(new=True), offered(new=False)]
    (act,) = wanted(about(new=True), "installed", {}).wishes
    assert "1" == act.data["pieces"]
    walk.do("installed", "planet-1-washer", pieces=1, new=True)
    assert [(0, False), (4, True)] == [offered(new=True), offered(new=False)]
    assert () == card_state(about(new=True), "Ana").forms
    assert "nothing more goes in by this label" in wanted(about(new=True), "installed", {}).faults[""]
    walk.do("installed", "planet-1-washer", pieces=3)
    assert [(0, False), (1, True)] == [offered(new=True), offered(new=False)]
    walk.do("installed", "planet-1-washer", pieces=1)
    assert [(0, False), (0, False)] == [offered(new=True), offered(new=False)]
    assert ("verified",) == card_state(about(new=False), "Ana").forms


def test_what_is_judged_at_the_end_is_led_to_when_all_is_in() -> None:
    """End plays are read last, and the card of a verified part opens with the point that can be judged now."""
    walk = Walk("marine-gear", {"pto": "none"})
    walk.take_apart()
    walk.put_in_until("nowhere")

    about = About(Assembly(walk.record), walk.record.at(walk.place("aft-cover")))
    assert ("points",) == card_state(about, "Ana").forms
    plays = [f"measure {shaft} end play" for shaft in ("ahead", "astern", "output")]
    assert plays == [each.text for each in Assembly(walk.record).allowed() if "end play" in each.text]


@pytest.mark.parametrize(
    ("part", "first"), [("steel-disc", "piece 1: 2.00 mm"), ("friction-disc", "piece 1, place 1: 2.00 mm")]
)
def test_a_reading_of_several_pieces_names_each(part: str, first: str) -> None:
    """Five discs, read once or at three places each: of a bin of pieces nobody looks for a place."""
    walk = Walk("planetary-reducer")
    number = next(number for number, check in enumerate(walk.bin(part).part.check) if check.each)

    assert first in reading_of(walk.record.at(walk.place(part)), number, "mm", "2.00 2.01")[1].sums[1]


def test_a_reading_that_is_not_whole_is_asked_for_again_though_the_part_was_called_good() -> None:
    """The form of the points comes first, and not putting it in."""
    walk = Walk("marine-gear", {"pto": "none"})
    walk.take_apart()
    walk.do("washed", "friction-astern")
    walk.do("reading", "friction-astern", check=0, at="clean", values=["2.15"] * 17, unit="mm")
    walk.do("inspected", "friction-astern", verdict="reuse")

    about = About(Assembly(walk.record), walk.record.at(walk.place("friction-astern")))
    assert ("points", "installed") == forms_of(about, goes_in=False)[:2]
    assert not card_state(about, "Ann").loud, "nobody asked whether it goes in"


def test_the_card_of_a_graded_part_of_many_pieces_opens(store: Store, ann: Person) -> None:
    """Each of them may be measured as it goes in."""
    text = PUMP.replace("    name: Selective side plate\n", "    name: Selective side plate\n    qty: 30\n")
    view = open_job(store, pump(text), options={"drive": "splined"})
    record(store, view, NOON, *all_out(view))

    assert "Size of each piece that goes in" in ann.open(f"/{code_of(view, 'side-plate')}").text


@pytest.mark.parametrize("thin", [0, 2])
def test_a_group_with_old_and_new_pieces_of_one_place_goes_in_part_by_part(thin: int) -> None:
    """They have two labels; all of one kind go in with the whole group."""
    walk, spring = Walk("marine-gear", {"pto": "none"}), "return-spring-astern"
    walk.take_apart()
    if thin:
        walk.do("condemned", spring, why="cracked", pieces=thin)
        walk.do("received", spring, pieces=thin)
        walk.do("staged", spring, pieces=thin)
        assert any(f"{thin} new ones belong to it" in told for told in walk.ask("joined", spring).told)
    group = next(each for each in walk.view.order if each.bin.part.id == spring).group
    members = [each.bin.part.id for each in walk.view.order if each.group == group]
    for part in members:
        walk.do("joined", part)

    found = [len(going_with(About(Assembly(walk.record), walk.record.at(walk.place(part))))) for part in members]
    assert found == ([0] * len(members) if thin else [len(members) - 1] * len(members))


def test_the_order_of_assembly_is_read_against_the_record_once_for_a_card(
    store: Store, view: JobView, ann: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What the gate says, the forms and what goes in next ask one and the same."""
    made: list[Record] = []
    first = Assembly.__init__

    def count(self: Assembly, record: Record) -> None:
        made.append(record)
        first(self, record)

    record(store, view, NOON, *all_out(view))
    monkeypatch.setattr(Assembly, "__init__", count)
    ann.open(f"/{code_of(view, 'body')}")

    assert len(made) == 1


def test_a_note_beside_readings_alone_belongs_to_the_one_that_weighs_most() -> None:
    """Nothing was judged, so it is about what was read: the reading out of its limits, after what was odd about it."""
    loaded = profile_of(
        """\
format: 1
unit: {mark: T1, name: Test, up: top}
parts:
- {id: ring, name: Ring, form: {ring: {od: 50, id: 40, t: "2.00"}},
   check: [{measure: thickness, min: "1.95"}, {measure: width, min: "4.90"}]}
"""
    )
    walk = Walk(loaded)
    walk.take_apart()
    about = About(Assembly(walk.record), walk.record.at(walk.place("ring")))
    typed = {"value-0": "20.0", "sure-0": "20.0", "value-1": "4.80", "note": "one side"}
    thick, wide = wanted(about, "points", typed).wishes
    (alone,) = wanted(about, "points", {key: typed[key] for key in ("value-0", "sure-0", "note")}).wishes

    assert ("reading", "reading") == (thick.data["kind"], wide.data["kind"])
    assert wide.data["note"] == "one side"
    assert alone.data["note"].endswith("looked at again, it stands; one side")
    assert ["noted"] == [each.data["kind"] for each in wanted(about, "points", {"note": "seen"}).wishes]

"""The parts person at the bench: what to order, what came, what lies ready, and what waits for it.

What the pages must mean is common practice, no source, unless a test names one.
"""

from __future__ import annotations

import itertools
import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any
from urllib.parse import urlencode

import pytest
from click.testing import CliRunner

from labelkit.bench.app import create_app
from labelkit.calc.steps import Bin, Inside
from labelkit.cli.order import order
from labelkit.cli.scan import scan
from labelkit.model.catalogue import Catalogue, CatalogueEntry
from labelkit.model.events import Entry, act_of
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.hands import Page, Person, all_out, person, record, with_pin
from tests.bench_app.workshop import bin_of, open_job, pump
from tests.shop import demo

START = datetime(2026, 3, 2, 7, 30, tzinfo=UTC)
PRELOAD: dict[str, object] = {
    "kind": "reading",
    "fit": "output-preload",
    "at": "assembled",
    "values": ["3.2"],
    "unit": "N·m",
}
SHELF = Catalogue(
    {
        "G2B-1106": CatalogueEntry("G2B-1106", shelf=1),
        "G2B-1107": CatalogueEntry("G2B-1107", pack=5, shelf=1, location="R1-05", supplier="Seal shop"),
    }
)


@pytest.fixture
def reducer(store: Store) -> JobView:
    with_pin(store)
    view = open_job(store, demo("planetary-reducer"), options={"breather": "std"})
    record(store, view, START, *all_out(view))
    return view


@pytest.fixture
def petra(store: Store, reducer: JobView) -> Person:
    return person(create_app(store, catalogue=SHELF), "Petra")


def place(view: JobView, part: str) -> Bin | Inside:
    return next(each for each in view.teardown.items.values() if each.part.id == part)


def put_in(each: Bin) -> Iterator[tuple[str | None, dict[str, object]]]:
    """Yield the acts by which a part, new where it must be, is in and verified."""
    new = each.part.renew == "always" or each.part.one_time
    yield each.step, {"kind": "installed", "new": new, "sizes": ["2.00"] if each.part.series else []}
    if each.part.fasten:
        yield each.step, {"kind": "torque_signed"}
    yield each.step, {"kind": "verified"}


def sticker(view: JobView, part: str) -> str:
    return f"/{view.new_code(place(view, part))}/receive"


def data(petra: Person) -> dict[str, Any]:
    """Return the list of the first job as data."""
    told: dict[str, Any] = json.loads(petra.client.get("/job/1/parts.json").data)
    return told


def listed(petra: Person, part: str) -> str:
    """Return the state of a part in the list of the first job."""
    return str(next(pick["state"] for pick in data(petra)["picks"] if pick["part"] == part))


def test_three_condemned_parts_are_ordered_received_and_staged(petra: Person, reducer: JobView) -> None:
    """From the card of each old part to a tray that is complete; the step that waited waits no more."""
    condemned = {"friction-disc": None, "cover-screws": 2, "thrust-button": None}
    for part, pieces in condemned.items():
        card = f"/{reducer.code(place(reducer, part))}"  # type: ignore[arg-type]
        petra.does(card, "condemned", why="worn", **({"pieces": pieces} if pieces else {}))
    page = petra.open("/job/1/parts")
    assert "G2B-1203 Friction disc 2.50 mm (inner spline) order 1 pack of 5: 5 needed" in page.text
    assert "G2B-1108 Input-cover screw M12 x 35, 10.9 order 2: 2 needed" in page.text
    assert {"short"} == {listed(petra, part) for part in condemned}

    petra.does("/job/1/parts", "all")
    assert {"coming"} == {listed(petra, part) for part in condemned}
    assert "Everything that has a number is ordered or here." in petra.open("/job/1/parts").text

    page = petra.does(sticker(reducer, "cover-screws"), "receive", do="received")
    assert "2 here, not at their place" in page.text
    assert "here" == listed(petra, "cover-screws")
    page = petra.does(sticker(reducer, "cover-screws"), "receive", do="staged")
    assert "2 of 2 ready" in page.text
    for part in ("friction-disc", "thrust-button"):
        petra.does(sticker(reducer, part), "receive", do="both")
    assert {"ready"} == {listed(petra, part) for part in condemned}
    assert "Tray A: 1 of" in page.text
    screws = f"/{reducer.new_code(place(reducer, 'cover-screws'))}"
    assert "How many; empty: all 2" in petra.open(screws).text, "of eight"
    card = petra.open(f"/{reducer.code(place(reducer, 'friction-disc'))}")  # type: ignore[arg-type]
    assert "new part lies ready, 5 of 5: old part CONDEMNED" in card.text
    assert "waits for it" not in petra.open("/job/1/parts").text.partition("G2B-1203 Friction disc")[2][:120]


def test_the_shared_ring_is_one_line_less_the_shelf(petra: Person) -> None:
    """Moment 19: 212 × 3.55 is used 1 + 2 times, one is on the shelf: 1 pack of 5, called by what both places share."""
    page = petra.open("/job/1/parts")

    assert "O-ring 212 x 3.55 order 1 pack of 5: 3 needed, 1 on the shelf" in page.text
    assert "G2B-1107 · A9 · from R1-05, Seal shop · always renewed TO ORDER" in page.text
    assert "G2B-1106 · A5 · always renewed on the shelf" in page.text
    (line,) = (each for each in data(petra)["lines"] if each["number"] == "G2B-1107")
    assert [{"when": {}, "need": 3, "short": 2, "packs": 1, "spare": 3, "cost": None}] == line["ways"]
    page = petra.does("/job/1/parts", "order-G2B-1107")
    assert "5 of G2B-1107 ordered" in page.text
    assert "G2B-1107 O-ring 212 x 3.55 5 of 5 on the way" in page.text
    page = petra.does("/job/1/parts", "came-G2B-1107", pieces=4)
    assert "1 of 5 on the way" in page.text
    assert "A9 · always renewed here" in page.text
    assert "here" == listed(petra, "cover-oring")


def test_where_a_piece_is_from_is_asked_where_it_may_be_either(petra: Person, reducer: JobView) -> None:
    """One ring on the shelf and five on their way: the sticker asks; a ring of the parcel leaves the shelf its own."""
    path = sticker(reducer, "cover-oring")
    assert "Where from" not in petra.open(path).text, "nothing is ordered"
    petra.does("/job/1/parts", "order-G2B-1107")

    card = path.removesuffix("/receive")
    for answer in (petra.send(path, "receive", do="both"), petra.send(card, "installed")):
        assert 422 == answer.status_code
        assert '"Where from": 5 on the way, 1 on the shelf: say which these are' in Page(answer.text).text
    assert "1 new came, of what was ordered" in petra.does(path, "receive", do="both", source="order").text
    page = petra.open("/job/1/parts").text
    assert "4 of 5 on the way" in page
    assert "shelf 1 · ordered 5 · came 1" in page
    # What was received goes in without a question, the second one straight from the shelf.
    assert "source" not in petra.open(card).form("installed").names
    ring = sticker(reducer, "ring-oring").removesuffix("/receive")
    forced = {"override_reason": "urgent", "override_agreed": "Bo"}
    assert "in, new, from the shelf" in petra.does(ring, "installed", source="shelf", **forced).text
    assert "ordered 5 · came 1" in petra.open("/job/1/parts").text
    assert "of 5 on the way" not in petra.open("/job/1/parts").text, "the rest of the pack is wanted nowhere"


def test_a_sticker_knows_what_was_counted_from_the_bag(petra: Person, reducer: JobView) -> None:
    """A short delivery of bolts: eight of twelve are here, so no more are offered; who sends twelve is told of four."""
    path = sticker(reducer, "through-bolts")
    petra.does("/job/1/parts", "order-G2B-1207")
    assert "0 of 12 ready on the way: 12" in petra.open(path).text
    petra.does("/job/1/parts", "came-G2B-1207", pieces=8)

    page = petra.open(path)
    assert "0 of 12 ready in the bag here: 8 · on the way: 4" in page.text
    assert ("pieces", "8") in page.form("receive").fields
    assert "more than" not in petra.does(path, "receive", do="received").text
    assert ("pieces", "4") in petra.open(path).form("receive").fields
    petra.does("/job/1/parts", "came-G2B-1207", pieces=1)
    assert "3 more than were counted from the bag came now" in petra.does(path, "receive", do="both", pieces=4).text


def test_a_bench_without_a_catalogue_says_that_no_shelf_is_counted(petra: Person, store: Store) -> None:
    """Two benches of one store would say otherwise what is to be ordered, and nobody could see why."""
    said = "nothing is counted from the shelf here"
    assert said not in petra.open("/job/1/parts").text
    assert said in person(create_app(store), "Petra").open("/job/1/parts").text


def test_several_sizes_for_one_place_are_one_place(store: Store) -> None:
    """Three shims for the place of the old ones: three rows, each with its thickness, and no place more."""
    with_pin(store)
    view = open_job(store, demo("marine-gear"))
    record(store, view, START, *all_out(view))
    petra = person(create_app(store), "Petra")

    def places() -> int:
        found = re.search(r"0 of (\d+) places have everything ready", petra.open("/job/1/parts").text)
        assert found
        return int(found[1])

    before = places()
    chosen = {"kind": "fit_chosen", "fit": "ahead-end-play", "sizes": ["0.10", "0.20", "0.50"], "predicted": "0.07"}
    record(store, view, START, (None, chosen))
    assert before + 1 == places()
    page = petra.open("/job/1/parts").text
    for size in ("0.10 mm", "0.20 mm", "0.50 mm"):
        assert f"Shims behind the ahead-shaft cup, {size} × 1" in page
    assert "Tray C 0 of 2 ready" in page


def test_every_part_stands_under_what_it_is_built_into(petra: Person) -> None:
    """Also what goes straight into the unit, behind a group of the same tray: nobody builds it into that."""
    runs = itertools.groupby(data(petra)["picks"], key=lambda pick: (pick["tray"], pick["group"]))
    headings = [f"For {group}" if group else "Straight into the unit" for (_tray, group), _picks in runs]

    told = petra.open("/job/1/parts").text.partition("By tray")[2]

    assert headings == re.findall("|".join(map(re.escape, dict.fromkeys(headings))), told)
    assert "Straight into the unit" in headings[1:]


def test_what_lies_on_no_tray_is_no_tray(petra: Person, reducer: JobView) -> None:
    """The housing of 34 kg stands apart, in the list and not in the count of the trays."""
    petra.does(f"/{reducer.code(place(reducer, 'output-housing'))}", "condemned", why="cracked")
    trays = {pick["tray"] for pick in data(petra)["picks"]}

    page = petra.open("/job/1/parts").text

    assert "floor" in trays
    assert f"Trays 0/{len(trays) - 1}" in page
    assert "On no tray" in page


def test_a_rejected_captured_bearing_pulls_its_ring_and_stops_the_brake_core(petra: Person, reducer: JobView) -> None:
    """Moment 20: circlip and guide ring with it; the brake core waits, first stage and output side go on."""
    housing = reducer.bin_holding(place(reducer, "input-bearing"))  # type: ignore[arg-type]
    assert housing is not None
    inside = place(reducer, "input-bearing").ordinal
    petra.does(f"/{reducer.code(housing)}?inside={inside}", "condemned", why="rough")
    pulled = ("input-bearing", "input-bearing-circlip", "oil-guide-ring")
    assert {"short"} == {listed(petra, part) for part in pulled}
    for pick in data(petra)["picks"]:
        if pick["part"] not in pulled:
            petra.does(sticker(reducer, pick["part"]), "receive", do="both")

    page = petra.open("/job/1/parts")

    waits = "waits for Oil guide ring, Internal circlip DIN 472 - 80 x 2.5, Deep-groove ball bearing 50 x 80 x 16"
    assert f"Brake core {waits}" in page.text
    for name in ("First stage", "Output housing", "Output shaft, flange"):
        assert f"{name} can be built" in page.text
    assert "First step that waits 15.1" in page.text
    for part in pulled:
        petra.does(sticker(reducer, part), "receive", do="both")
    page = petra.open("/job/1/parts")
    assert "No step waits for a part" in page.text
    assert "Brake core can be built" in page.text
    bearing = petra.open(f"/{reducer.new_code(place(reducer, 'input-bearing'))}")
    assert "stays inside: CONDEMNED, to come out, new part lies ready" in bearing.text


def test_an_old_through_bolt_is_refused_and_a_new_one_goes_in(petra: Person, reducer: JobView, store: Store) -> None:
    """Moment 22: a one-time part; how many new ones, and whether they are ordered or here."""
    bolts = reducer.teardown.of("through-bolts")[0]
    old = f"/{reducer.code(bolts)}"

    refused = petra.is_refused(old, "installed")
    assert (
        "Not the old 14 Through bolt M12 x 240, 12.9: it is used once only; 12 new needed, not ordered yet"
        in refused.text
    )
    petra.does("/job/1/parts", "order-G2B-1207")
    assert "12 ordered, not here yet" in petra.is_refused(old, "installed").text
    petra.does(sticker(reducer, "through-bolts"), "receive", do="both")
    assert "they are here" in petra.is_refused(old, "installed").text
    before = itertools.takewhile(lambda placed: placed.bin is not bolts, reducer.order)
    record(store, reducer, START, *itertools.chain(*(put_in(placed.bin) for placed in before)))
    record(store, reducer, START, (None, PRELOAD))
    assert "it is used once only" in petra.is_refused(old, "installed").text, "everything before it is in"
    assert ("a", {"class": "main", "href": f"/{reducer.new_code(bolts)}"}) in petra.open("/job/1/next").elements
    assert "#form-installed" not in petra.open(old).addresses()
    page = petra.does(f"/{reducer.new_code(bolts)}", "installed")
    assert sticker(reducer, "through-bolts") not in page.addresses(), "all of it came"
    assert "14 Through bolt M12 x 240, 12.9: in, new" in page.text
    for shown in ("30", "60"):
        petra.does(old, "torque", torque=shown)
    # The pass of the angle asks for degrees: what a wrench shows is not taken for them.
    asked = petra.send(old, "torque", torque="60")
    assert (422, True) == (asked.status_code, "by how many degrees were they turned on? Wanted: 90°" in asked.text)
    assert "70° further is 22 % under 90°" in petra.is_refused(old, "torque", angle="70").text
    page = petra.does(old, "torque", angle="89°")
    assert "turned 89° further" in page.text
    assert "verified" in [form.name for form in page.forms]
    assert "in" == listed(petra, "through-bolts")
    assert "Read now carrier end play" in petra.does(old, "verified").text, "its chain is closed"


def test_a_new_disc_that_differs_is_asked_about_and_can_go_back(petra: Person, reducer: JobView, store: Store) -> None:
    """Old beside new: thickness and teeth; nothing is kept before somebody says that it is the right part."""
    record(
        store,
        reducer,
        START,
        ("11.3", {"kind": "reading", "check": 0, "at": "apart", "values": ["2.52"] * 15, "unit": "mm"}),
    )
    path = sticker(reducer, "friction-disc")
    page = petra.open(path)
    assert "profile 2.50 mm, old one 2.52 mm" in page.text
    assert "Look at it as it comes: lining bonded all over, no crack, no burnt spot; otherwise: replace" in page.text
    before = store.journal.last(1)
    typed = {"pieces": 5, "size-t": "2,35 2,36 2,35 2,35 2,35", "size-teeth": "35"}

    answer = petra.send(path, "receive", **typed)  # type: ignore[arg-type]

    page = Page(answer.text)
    assert 422 == answer.status_code
    for words in ("thickness 2.35 mm, the profile has 2.50 mm: 0.15 mm thinner", "35 teeth, the profile has 36"):
        assert words in page.text
    assert 1 == page.text.count("it differs"), "above, not at the tick once more"
    assert "Nothing is written: thickness 2.35 mm, the" in page.text, "not behind the name that it begins with"
    assert typed.items() <= {name: int(v) if name == "pieces" else v for name, v in page.form("receive").fields}.items()
    assert before == store.journal.last(1)

    back = petra.send(path, "receive", page=page, do="back")
    assert 303 == back.status_code
    sent = store.journal.events(1)[-1].act
    assert ("returned", 5, 0) == (sent.kind, sent.pieces, sent.counted)  # type: ignore[attr-defined]
    assert "thickness 2.35 mm" in sent.why  # type: ignore[attr-defined]
    sizes = {"size-t": "2.33 2.34 2.35 2.36 2.37", "size-od": "131.96 131.97 131.98 131.99 132.00", "size-teeth": "36"}
    petra.client.environ_base["HTTP_ACCEPT_LANGUAGE"] = "de"
    petra.does(path, "receive", accept="yes", do="both", pieces=5, **sizes, **{"looked-2": "yes"})
    came, staged = store.journal.events(1)[-2:]
    line = "t 2.33 2.34 2.35 2.36 2.37 mm; teeth 36; od 131.96 131.97 131.98 131.99 132.00 mm"
    assert (line, 5) == (came.act.measured, came.act.pieces)  # type: ignore[attr-defined]
    assert came.act.note is not None
    assert "0.17 mm thinner" in came.act.note, "in English, whoever takes it in"
    assert came.act.note.endswith("; looked at as it came, and right: lining bonded all over, no crack, no burnt spot")
    assert ("staged", 5, "Petra") == (staged.act.kind, staged.act.pieces, staged.who)  # type: ignore[attr-defined]


def test_what_goes_back_is_on_the_list_to_order_again(petra: Person, reducer: JobView, store: Store) -> None:
    """One that was still to come, then one that lay here: each time it is short, and its card says so."""
    (button,) = reducer.teardown.of("thrust-button")
    code = f"/{reducer.code(button)}"
    record(store, reducer, START, (button.step, {"kind": "removed", "count": 1}))
    petra.does(code, "condemned", why="worn")
    path = sticker(reducer, "thrust-button")
    for here in (False, True):
        petra.does("/job/1/parts", "all")
        assert "coming" == listed(petra, "thrust-button")
        if here:
            petra.does(path, "receive", do="received", pieces=1)
            assert "here" == listed(petra, "thrust-button")
            assert "It waits for its new parts" not in petra.open(code).text
        petra.does(path, "receive", do="back", pieces=1, note="cracked")
        sent = store.journal.events(1)[-1].act
        assert ("returned", int(here)) == (sent.kind, sent.counted)  # type: ignore[attr-defined]
        assert "short" == listed(petra, "thrust-button")
        page = petra.open("/job/1/parts")
        assert f"order 1: 1 needed, {1 + here} sent back" in page.text
        assert f"1 new of {button.part.number} sent back: cracked" in petra.open(path).text
        card = petra.open(code)
        assert "It waits for its new parts: 0 of 1 here" in card.text
        assert {"/job/1/parts", path} <= {attrs.get("href") for tag, attrs in card.elements if tag == "a"}


def test_what_goes_back_lies_ready_no_more(petra: Person, reducer: JobView, store: Store) -> None:
    """A crack is seen at the bench: the place waits again, whether the piece came by a delivery or off the shelf."""
    (button,) = reducer.teardown.of("thrust-button")
    record(store, reducer, START, (button.step, {"kind": "removed", "count": 1}))
    petra.does(f"/{reducer.code(button)}", "condemned", why="worn")
    path = sticker(reducer, "thrust-button")
    for kept in ("both", "staged"):
        petra.does(path, "receive", do=kept, pieces=1)
        assert (1, "staged") == ready(store, reducer, button)

        petra.does(path, "receive", do="back", pieces=1, note="cracked")

        assert (None, "inspected") == ready(store, reducer, button)
        assert 0 == reducer.record(store.journal.events(1)).at(button.ordinal).lot(None).came


def test_a_second_choice_of_a_shim_is_ordered_and_the_first_one_has_come(
    petra: Person, reducer: JobView, store: Store
) -> None:
    """The first was in as its fit was read out of target; it lies beside the second, and goes back once that is in."""
    (spacer,) = reducer.teardown.of("preload-spacer")
    path = sticker(reducer, "preload-spacer")

    def write(*acts: dict[str, object]) -> None:
        about = {"fit_chosen": None, "reading": None}
        record(store, reducer, START, *((about.get(str(act["kind"]), spacer.step), act) for act in acts))

    def choose(size: str) -> dict[str, object]:
        return {"kind": "fit_chosen", "fit": "output-preload", "sizes": [size]}

    write(choose("5.20"))
    petra.does("/job/1/parts", "order-G2B-1445", number="G2B-1445", pieces=1)
    petra.does(path, "receive", do="both", pieces=1, **{"size-t": "5.20"})
    write({"kind": "installed", "new": True, "sizes": ["5.20"]}, {**PRELOAD, "values": ["5.2"]}, choose("5.25"))
    assert "short" == listed(petra, "preload-spacer"), "while the first is in"
    write({"kind": "removed", "count": 1})

    page = petra.open("/job/1/parts").text
    assert "G2B-1446 Selective stepped spacer, 5.25 mm order 1: 1 needed" in page
    assert "G2B-1445" not in page, "it came"
    assert "0 of 1 ready 1 not here yet" in petra.open(path).text
    petra.does("/job/1/parts", "order-G2B-1446", number="G2B-1446", pieces=1)
    assert "1 here, not at its place" in petra.does(path, "receive", do="received", pieces=1, **{"size-t": "5.25"}).text
    petra.does(path, "receive", do="staged", pieces=1)
    assert (1, "staged") == ready(store, reducer, spacer)
    write({"kind": "installed", "new": True, "sizes": ["5.25"]})
    petra.does(path, "receive", do="back", pieces=1, note="too thin")

    sent = store.journal.events(1)[-1].act
    assert ("G2B-1445", 1) == (sent.number, sent.counted)  # type: ignore[attr-defined]
    assert "in" == listed(petra, "preload-spacer")
    assert "On its way" not in petra.open("/job/1/parts").text


def with_lost_shims(store: Store) -> tuple[Person, str]:
    """Return somebody at a job that lost its shims, for which three sizes were chosen, and where they are received."""
    view = open_job(store, demo("marine-gear"))
    chosen = {"kind": "fit_chosen", "fit": "ahead-end-play", "sizes": ["0.50", "0.30", "0.10"]}
    lost = {"kind": "condemned", "why": "lost", "lost": True}
    record(store, view, START, *all_out(view), (bin_of(view, "ahead-shims").step, lost), (None, chosen))
    return person(create_app(store), "Petra"), sticker(view, "ahead-shims")


def test_a_shim_that_nobody_measured_is_one_shim(store: Store) -> None:
    """Of a stack of three it is taken for one that lacks, and goes back as that; what lies ready is not missing."""
    petra, path = with_lost_shims(store)
    petra.does("/job/1/parts", "order-MR3-2301", number="MR3-2301", pieces=1)
    petra.does(path, "receive", do="received", pieces=1, source="order")
    petra.does(path, "receive", do="both", pieces=1, **{"size-t": "0.10"})

    to_order = petra.open("/job/1/parts").text.partition("By tray")[0]
    assert (False, True) == ("MR3-2305" in to_order, "MR3-2304" in to_order)
    assert ["MR3-2304"] == re.findall(r"ahead-shaft cup \((.*?)\) 1 missing", petra.open("/job/1").text)
    petra.does(path, "receive", do="back", pieces=1, note="which one is it?")
    sent = store.journal.events(1)[-1].act
    assert ("MR3-2305", 1) == (sent.number, sent.counted)  # type: ignore[attr-defined]
    where = petra.open("/job/1").text
    assert ["MR3-2305", "MR3-2304"] == re.findall(r"ahead-shaft cup \((.*?)\) 1 missing", where)


def test_a_shim_that_is_measured_goes_back_as_the_size_that_it_is(store: Store) -> None:
    """Of three that lie ready the one of 0.10 goes back under its own number, and is not called thinner."""
    petra, path = with_lost_shims(store)
    for size in ("0.50", "0.30", "0.10"):
        petra.does(path, "receive", do="both", pieces=1, **{"size-t": size})
    petra.does(path, "receive", do="back", pieces=1, note="scratched", **{"size-t": "0.10"})

    sent = store.journal.events(1)[-1].act
    assert ("MR3-2301", 1, "scratched") == (sent.number, sent.counted, sent.why)  # type: ignore[attr-defined]
    to_order = petra.open("/job/1/parts").text.partition("By tray")[0]
    assert (True, False) == ("MR3-2301" in to_order, "MR3-2305" in to_order)


def test_a_step_waits_for_what_has_no_size_yet(store: Store) -> None:
    """A condemned ring and lost shims: everything else is here, and what they go into cannot be built."""
    view = open_job(store, demo("marine-gear"))
    petra = person(create_app(store), "Petra")
    ring, shims = (bin_of(view, part).step for part in ("end-ring-ahead", "ahead-shims"))
    record(store, view, START, *all_out(view))
    needed = view.record(store.journal.events(1)).uses.values()
    came = [(None, {"kind": "received", "number": use.number, "pieces": use.pieces}) for uses in needed for use in uses]
    lost = {"kind": "condemned", "why": "lost", "lost": True}
    record(store, view, START, *came, (ring, {"kind": "condemned", "why": "bent"}), (shims, lost))

    where = petra.open("/job/1").text
    assert "148, internal (ahead) 1 missing, size to be chosen" in where
    assert "Shims behind the ahead-shaft cup size to be chosen" in where
    page = petra.open("/job/1/parts").text
    assert f"First step that waits {ring}" in page
    assert "for Selective end ring 148, internal (ahead), size to be chosen" in page
    assert "by its size" in page
    assert "number not recorded" not in page
    said = CliRunner().invoke(order, ["--job", "1"], env={"LABELKIT_STORE": store.where}).output
    assert f"Short: the first step that waits is {ring}, for Selective end ring 148, internal (ahead), size to" in said
    assert re.search(r"^Ahead shaft with drum.*: waits for Selective end ring", said, re.M)


def test_the_card_of_a_new_ring_has_the_size_that_was_chosen(store: Store) -> None:
    """The profile draws the thinnest; the bin's own card keeps saying so."""
    view = open_job(store, demo("marine-gear"))
    petra = person(create_app(store), "Petra")
    chosen = {"kind": "fit_chosen", "fit": "clutch-clearance-ahead", "sizes": ["3.4"]}
    record(store, view, START, *all_out(view), (None, chosen))
    ring = bin_of(view, "end-ring-ahead")

    for code, size in ((view.new_code(ring), "148 × 3.4 mm"), (view.code(ring), "148 × 3.0 mm")):
        assert size in petra.open(f"/{code}").text
        assert size in CliRunner().invoke(scan, [code], env={"LABELKIT_STORE": store.where}).output


def test_the_list_says_why_what_came_is_ordered_again(store: Store) -> None:
    """A seal was used up in a trial; a bearing came for a place that keeps its old one, and another place needs one."""
    view = open_job(store, demo("marine-gear"))
    petra = person(create_app(store), "Petra")
    parts = ("piston-seal-outer-ahead", "thrust-ahead", "thrust-astern")
    ring, ahead, astern = (bin_of(view, part).step for part in parts)
    new, bent = {"kind": "received", "pieces": 1}, {"kind": "condemned", "why": "bent"}
    trial = ({"kind": "installed", "new": True}, {"kind": "removed", "count": 1})
    record(store, view, START, *all_out(view), *((ring, act) for act in (new, *trial)), (ahead, bent))
    mistaken = store.journal.last(1)
    straight = {"kind": "correction", "of": mistaken, "why": "straight"}
    record(store, view, START, (ahead, new), (ahead, straight), (astern, bent))

    said = petra.open("/job/1/parts").text
    assert "order 2: 2 needed, 1 out of use" in said
    assert "always renewed; 1 new one out of use TO ORDER" in said
    assert "order 1: 1 needed, 1 not wanted any more" in said


def test_old_pieces_of_what_is_always_renewed_do_not_stay(petra: Person, reducer: JobView) -> None:
    """One of three rings is broken, three new ones lie ready: the old label is retired, for it holds no ring to use."""
    (rings,) = reducer.teardown.of("plug-rings")
    petra.does(f"/{reducer.code(rings)}", "condemned", why="broken", pieces=1)

    page = petra.does(sticker(reducer, "plug-rings"), "receive", do="both")

    assert "3 of 3 ready" in page.text
    assert "its sticker takes the place of the old label" in page.text
    assert "Only some are new" not in page.text
    assert "new part lies ready, 3 of 3: old part CONDEMNED 1" in petra.open(f"/{reducer.code(rings)}").text


REJECTED = (
    ("condemned", {"why": "lip torn"}, "new: condemned: lip torn"),
    ("condemned", {"why": "fell into the sump", "lost": "yes"}, "new: lost: fell into the sump"),
    ("points", {"verdict": "replace", "note": "9.1 instead of 7.8"}, "new: replace; 9.1 instead of 7.8"),
)


@pytest.mark.parametrize(("form", "typed", "words"), REJECTED)
def test_by_its_sticker_the_new_part_is_rejected(
    petra: Person, reducer: JobView, store: Store, form: str, typed: dict[str, str], words: str
) -> None:
    """At the bench it turns out to be bad, or is gone: it lies ready no more, is ordered again and does not go in; the
    record says what became of it, and nothing of the old part."""
    (seal,) = reducer.teardown.of("input-seal")
    card, path = f"/{reducer.new_code(seal)}", sticker(reducer, "input-seal")
    assert "condemned" not in {each.name for each in petra.open(card).forms}, "none is here"
    petra.does(path, "receive", do="both")
    assert "ready" == listed(petra, "input-seal")

    page = petra.does(card, form, **typed)

    assert words in page.text
    assert words in petra.open(path).text
    assert "CONDEMNED" not in petra.open(f"/{reducer.code(seal)}").text
    assert "It waits for its new parts: 0 of 1 here" in page.text
    assert "short" == listed(petra, "input-seal")
    assert (None, "inspected") == ready(store, reducer, seal)
    assert "the new one is out of use: " in petra.is_refused(card, "installed").text
    report = petra.open("/job/1/report").text
    assert words in report
    assert f"{words} (Petra" in report
    petra.does(path, "receive", do="both")
    assert "out of use" not in petra.open(card).text.partition("History of this place")[0]


def test_a_new_part_that_is_not_here_is_not_condemned(petra: Person, reducer: JobView) -> None:
    """From a page that was open when it went back, by whoever had it: the old part is left as it is."""
    card, path = f"/{reducer.new_code(place(reducer, 'input-seal'))}", sticker(reducer, "input-seal")
    petra.does(path, "receive", do="both")
    page = petra.open(card)
    petra.does(path, "receive", do="back", pieces=1, note="wrong lip")
    assert "no new one is here" in petra.is_refused(card, "condemned", page=page, why="lip torn").text


def ready(store: Store, view: JobView, each: Bin) -> tuple[int | None, str]:
    place = view.record(store.journal.events(1)).at(each.ordinal)
    return place.staged, place.stage


def test_new_discs_as_they_measured_set_the_brake(petra: Person, reducer: JobView, store: Store) -> None:
    """Moment 11: old discs of 2.52 and new ones of 2.37, five of them: 0.75 more, so 2.60 and 1.77, 0.03 inside 1.80.

    Depth 34.22, steels 5 × 2.01, pressure plate 7.95. Source: arithmetic, worked by hand.
    """
    for step, figures in (("11.1", ["7.95"] * 3), ("11.2", ["2.01"] * 5), ("11.3", ["2.52"] * 15)):
        act = {"kind": "reading", "check": 0, "at": "apart", "values": figures, "unit": "mm"}
        record(store, reducer, START, (step, act))
    code = f"/{reducer.code(reducer.teardown.of('friction-disc')[0])}"
    petra.does(code, "condemned", why="burnt")
    petra.does(sticker(reducer, "friction-disc"), "receive", accept="yes", **{"size-t": "2.37"})

    page = petra.open("/job/1/fits/brake-stroke?at=apart")
    filled = {
        attrs["name"]: attrs.get("value", "") for tag, attrs in page.elements if tag == "input" and "name" in attrs
    }
    plates = {name: value for name, value in filled.items() if name.startswith("plate-")}
    assert {
        "plate-friction-disc": "2.37 mm",
        "plate-steel-disc": "2.01 mm",
        "plate-pressure-plate": "7.95 mm",
    } == plates
    page = petra.open("/job/1/fits/brake-stroke?" + urlencode({**plates, "at": "apart", "sum": "1"}))

    assert "2.60 mm, then 1.77 mm" in page.text


def test_the_serial_number_of_a_matched_part_is_kept(petra: Person, reducer: JobView, store: Store) -> None:
    """A cone is matched with its cup; a part that is matched with none is not asked."""
    page = petra.open(sticker(reducer, "upper-cone"))
    assert "matched with Tapered bearing cup 125 (upper)" in page.text
    petra.does(sticker(reducer, "upper-cone"), "receive", do="received", serial="K 4711/a")

    assert "serial number K 4711/a" == store.journal.events(1)[-1].act.note
    other = petra.open(sticker(reducer, "upper-cup")).text
    assert "matched with Tapered bearing cone 80 x 125 x 29 (upper) (K 4711/a)" in other
    assert "serial" not in petra.open(sticker(reducer, "input-seal")).form("receive").names
    cup = sticker(reducer, "upper-cup")
    alike = petra.does(cup, "receive", do="received", serial="k 4711/A")
    petra.does(cup, "receive", page=alike, do="back", pieces=1, note="chipped")
    assert "is it one pair?" not in alike.text
    asked = petra.send(cup, "receive", serial="K 12")
    assert (422, 2) == (asked.status_code, asked.text.count("has K 4711/a, this one K 12: is it one pair?"))
    assert "K 12; looked at again, it stands" in petra.does(cup, "receive", **{"serial": "K 12", SURE: "K 12"}).text


def test_a_matched_part_lies_ready_with_its_number_only(petra: Person, reducer: JobView) -> None:
    """It is asked for until somebody wrote it down, and again when that one went back."""
    path = sticker(reducer, "upper-cone")
    came = petra.does(path, "receive", do="received", pieces=1)

    asked = petra.send(path, "receive", page=came, do="staged", pieces=1)
    assert (422, True) == (asked.status_code, "write down its serial number or pair mark" in asked.text)
    page = petra.does(path, "receive", page=came, do="staged", pieces=1, serial="K 4711")
    assert "lies ready, the old label is retired; serial number K 4711" in page.text
    assert "serial" not in page.form("receive").names
    page = petra.does(path, "receive", page=page, do="back", pieces=1, note="another mark")
    assert "serial" in page.form("receive").names


SURE = "sure-serial"
WRONG = (
    ({"pieces": "0"}, "pieces"),
    ({"pieces": "many"}, "pieces"),
    ({"pieces": ""}, "pieces"),
    ({"size-t": "thin"}, "size-t"),
    ({"size-t": "-2.5"}, "size-t"),
    ({"size-t": "2.50 kg"}, "size-t"),
    ({"size-t": "2.50 0.1 in 2.5 mm"}, "size-t"),
    ({"pieces": "5", "size-t": "2.50 2.51 2.50 2.49"}, "size-t"),
    ({"size-t": " ".join(f"2.{number}" for number in range(100, 600)), "accept": "yes"}, "size-t"),
    ({"size-teeth": "35.5"}, "size-teeth"),
    ({"do": "back"}, "note"),
)


def test_a_wrong_delivery_comes_back_filled(petra: Person, reducer: JobView) -> None:
    """The message stands at its field, everything typed is still there, and nothing is written."""
    path = sticker(reducer, "friction-disc")
    before, fresh = petra.client.get("/job/1/last").text, petra.open(path)
    for typed, name in WRONG:
        answer = petra.send(path, "receive", page=fresh, **{"note": "", "size-od": "132", **typed})

        page = Page(answer.text)
        assert 422 == answer.status_code, typed
        faulty = [attrs.get("id") for tag, attrs in page.elements if tag == "strong"]
        assert f"e-receive-{name}" in faulty, (typed, faulty)
        assert "is left out" not in page.text, typed
        fields = dict(page.form("receive").fields)
        assert (typed.get("size-t", ""), "132") == (fields["size-t"], fields["size-od"])
    assert before == petra.client.get("/job/1/last").text


def test_a_number_that_is_typed_small_is_the_one_of_the_list(petra: Person, store: Store) -> None:
    """Only case and blanks differ; a number that the unit does not have stays as it was written."""
    petra.does("/job/1/parts", "other", number="g2b -1207", pieces=12, note="by hand")
    petra.does("/job/1/parts", "other", number="misc-7", pieces=1, note="rags")

    assert ["G2B-1207", "misc-7"] == [event.act.number for event in store.journal.events(1)[-2:]]  # type: ignore[attr-defined]
    assert "12 of 12 on the way" in petra.open("/job/1/parts").text


def test_a_list_that_has_changed_meanwhile_is_not_ordered(petra: Person, reducer: JobView, store: Store) -> None:
    """Two order at once: the second is told, and nothing is ordered twice; nor does a form that is not there."""
    page = petra.open("/job/1/parts")
    petra.does("/job/1/parts", "order-G2B-1207")
    ordered = store.journal.last(1)

    answer = petra.send("/job/1/parts", "all", page=page)

    assert 422 == answer.status_code
    assert "somebody has changed what is to be ordered meanwhile" in Page(answer.text).text
    form = page.form("all")
    answer = petra.client.post("/job/1/parts", data={**dict(form.fields), "form": "<b>none</b>"})
    assert 422 == answer.status_code
    assert "<b>none" not in answer.text
    assert ordered == store.journal.last(1)


def test_the_label_of_the_bin_receives_nothing(petra: Person, reducer: JobView) -> None:
    """It names the sticker of the new part; an unknown code opens nothing, and nobody writes without a name."""
    bolts = reducer.teardown.of("through-bolts")[0]
    code, new = reducer.code(bolts), reducer.new_code(bolts)

    answer = petra.client.get(f"/{code}/receive")

    assert 404 == answer.status_code
    assert f"{new[:4]}-{new[4:8]}-{new[8:]}" in answer.text
    stranger = petra.client.application.test_client()
    assert 303 == stranger.get(f"/{new}/receive").status_code
    assert 303 == stranger.get("/job/1/parts").status_code
    assert 401 == stranger.post(f"/{new}/receive", data={"pieces": "1"}).status_code


def test_parts_of_a_job_that_need_nothing_or_cannot_be_told(store: Store) -> None:
    """A unit without anything to renew says so; a part without a number is named, and never ordered by none."""
    with_pin(store)
    plain = "format: 1\nunit: {mark: PL1, name: Plain, up: top}\nparts: [{id: a, name: Body}]\n"
    open_job(store, pump(plain))
    open_job(store, pump(), options={"drive": "keyed"})
    petra = person(create_app(store), "Petra")

    assert "This job needs no new part." in petra.open("/job/1/parts").text
    page = petra.open("/job/2/parts")
    assert "NOT RECORDED Radial shaft seal 25 x 40 x 7 order 1: 1 needed the order number is not recorded" in page.text
    assert {"other"} == {form.name for form in page.forms if form.action.startswith("/job")}, (
        "nothing here can be ordered by its number"
    )
    page = petra.does("/job/2/parts", "other", number="S-25", pieces=2, note="spare seals")
    assert "S-25 spare seals 2 of 2 on the way" in page.text
    order = next(given["href"] for _tag, given in page.elements if given.get("href", "").startswith("/job/2/correct/"))
    assert "On its way" not in petra.does(order, "correct", why="it was for job 1").text
    petra.does("/job/2/parts", "other", number="S-26", pieces=1)
    assert "On its way" not in petra.does("/job/2/parts", "came-other-0", pieces=1).text


def test_with_too_many_open_options_parts_still_come(store: Store) -> None:
    """The list says what to settle first; at its sticker a part is received all the same, and a kiosk only shows."""
    with_pin(store)
    groups = "".join(f"  g{k}: {{name: G{k}, choices: {{a: A, b: B}}}}\n" for k in range(11))
    parts = "".join(f"  - {{id: p{k}, name: Part {k}, renew: always, only: {{g{k}: a}}}}\n" for k in range(11))
    head = "format: 1\nunit: {mark: OP1, name: Open, up: top}\n"
    view = open_job(store, pump(f"{head}options:\n{groups}parts:\n{parts}"))
    petra = person(create_app(store), "Petra")

    assert "over 1024 ways to order; choose some first" in petra.open("/job/1/parts").text
    page = petra.does(sticker(view, "p3"), "receive", do="received")
    assert "1 here" in page.text
    kiosk = create_app(store, read_only=True).test_client()
    assert [] == [
        form
        for form in Page(kiosk.get(sticker(view, "p3")).text).forms
        if form.action.startswith("/" + view.new_code(place(view, "p3")))
    ]
    assert 403 == kiosk.post(sticker(view, "p3"), data={"pieces": "1"}).status_code


def test_which_size_of_a_stack_is_rejected_is_asked(store: Store) -> None:
    """Three shims lie ready and one is bent: its card asks which; the others stay, and that one is ordered again."""
    petra, path = with_lost_shims(store)
    for size in ("0.50", "0.30", "0.10"):
        petra.does(path, "receive", do="both", pieces=1, **{"size-t": size})
    card = path.removesuffix("/receive")
    asked = petra.send(card, "condemned", why="bent", pieces=1)
    assert "they are of several sizes: which one is meant?" in Page(asked.text).text
    petra.does(card, "condemned", why="bent", size="0.30")

    act = store.journal.events(1)[-1].act
    assert ("0.30", 1, True) == (str(act.size), act.pieces, act.new)  # type: ignore[attr-defined]
    page = petra.open("/job/1/parts").text
    to_order, _by, trays = page.partition("By tray")
    assert [False, True, False] == [number in to_order for number in ("MR3-2305", "MR3-2304", "MR3-2301")]
    rows = re.findall(r"Shims behind the ahead-shaft cup, (\S+) mm × 1 .*?(ready|TO ORDER)", trays)
    assert [("0.10", "ready"), ("0.30", "TO ORDER"), ("0.50", "ready")] == sorted(rows)
    assert 1 == page.count("1 new one out of use")


def test_the_card_of_a_part_whose_size_is_not_chosen_says_that_a_new_one_is_awaited(store: Store) -> None:
    """A condemned graded ring: whichever size is chosen, it waits. A part that is lost is not to be measured."""
    view = open_job(store, demo("planetary-reducer"))
    petra = person(create_app(store), "Petra")
    spacer = bin_of(view, "preload-spacer")
    for lost in (False, True):
        out = all_out(view) if not lost else ()
        record(store, view, START, *out, (spacer.step, {"kind": "condemned", "why": "scored", "lost": lost}))
        page = petra.open(f"/{view.code(spacer)}")
        assert "It waits for its new parts, size to be chosen" in page.text
        assert (not lost) == ("Now: Measure thickness" in page.text)
        assert lost == ("points" not in {form.name for form in page.forms})


def test_what_is_on_hold_is_not_called_ready(store: Store, petra: Person, reducer: JobView) -> None:
    """Neither its row nor its tray, nor its own page, nor a terminal; its step waits."""
    view, step = reducer, bin_of(reducer, "ring-oring").step
    tray = view.tray_words(bin_of(view, "ring-oring"))[0]
    uses = view.record(store.journal.events(1)).uses.values()
    ready = [(use.item.ordinal, {"kind": "staged", "pieces": use.pieces}) for each in uses for use in each]
    entries = [Entry(act_of(act), "Ann", START, f"laid-{place:04}", place) for place, act in ready]
    store.journal.append(1, entries)
    assert f"Tray {tray} COMPLETE" in petra.open("/job/1/parts").text
    record(store, view, START, (bin_of(view, "ring-oring").step, {"kind": "hold", "why": "the right rubber?"}))

    page = petra.open("/job/1/parts").text
    assert f"Tray {tray} COMPLETE" not in page
    name = "O-ring 212 x 3.55, ring-gear housing"
    assert f"First step that waits {step} for {name}, ON HOLD" in page
    assert f"{name} × 2 G2B-1107" in page
    assert "ON HOLD" in petra.open(sticker(view, "ring-oring")).text.partition("More came")[0]
    assert "the right rubber?" in petra.open(sticker(view, "ring-oring")).text
    assert "2 of 2 ready" not in petra.open(sticker(view, "ring-oring")).text
    said = CliRunner().invoke(order, ["--job", "1"], env={"LABELKIT_STORE": store.where}).output
    assert f"    × 2 {name}: always renewed, ON HOLD, blocks step {step}\n" in said
    assert f"Short: the first step that waits is {step}, for {name}, ON HOLD\n" in said

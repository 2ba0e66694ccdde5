"""Moments at which a bench saves a rebuild, in a real browser: a phone that is tapped, and a hand scanner that types.

What should be said at each moment is common practice of rebuild shops, no source; figures are those of the invented
demo units.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from labelkit.bench.app import create_app
from labelkit.sheets.jobview import JobView
from labelkit.store.jobs import Store
from tests.bench_app.conftest import NOON
from tests.bench_app.hands import all_out, record, with_pin
from tests.bench_app.phones import SIZE, Phone, a_screen, serving
from tests.bench_app.test_moments import put_in, step_of, until
from tests.bench_app.workshop import PUMP, SECRET, open_job, pump
from tests.calc.test_gate import finished
from tests.shop import demo

PRELOAD: dict[str, object] = {
    "kind": "reading", "fit": "output-preload", "at": "assembled", "values": ["3.2"], "unit": "N·m",
}  # fmt: skip


@dataclass
class Clock:
    """The time at the bench."""

    now: datetime = NOON

    def __call__(self) -> datetime:
        return self.now


@dataclass
class Shop:
    """A bench with one store and one phone, for all moments."""

    store: Store
    app: Flask
    phone: Phone
    clock: Clock

    def reducer(self, **options: str) -> JobView:
        return open_job(self.store, demo("planetary-reducer"), options={"breather": "std", **options})

    def acts(self, view: JobView) -> list[tuple[int | None, Any]]:
        """Return what the record of a job holds: place and act."""
        return [(event.place, event.act) for event in self.store.journal.events(view.job.number)]

    def before(self, view: JobView, *acts: tuple[str | None, dict[str, object]]) -> None:
        """Put into the record what came before, and let the phone's owner begin to work on the job."""
        record(self.store, view, self.clock(), *acts)
        self.phone.belongs_to(self.app, "Ann", view.job.number)
        self.phone.open(f"/job/{view.job.number}")


@pytest.fixture(scope="module")
def opened(tmp_path_factory: pytest.TempPathFactory, browser: Any) -> Iterator[Shop]:
    folder: Path = tmp_path_factory.mktemp("moments")
    clock = Clock()
    with Store(str(folder / "shop.sqlite"), secret=SECRET) as store:
        with_pin(store)
        app = create_app(store, clock=clock)
        with serving(app) as address, a_screen(browser, viewport=SIZE) as page:
            yield Shop(store, app, Phone(page, address), clock)


@pytest.fixture
def shop(opened: Shop) -> Shop:
    opened.clock.now = NOON
    opened.phone.belongs_to(opened.app, "Ann")
    return opened


def code(view: JobView, part: str) -> str:
    return view.code(view.teardown.of(part)[0])


def test_the_housing_waits_for_the_bolt_that_no_socket_reaches_later(shop: Shop) -> None:
    """Moment 1: scanned too early it is refused on top, with what comes first; the new lock plate is scanned and goes
    in, then the housing waits for the bolt alone."""
    view, phone = shop.reducer(), shop.phone
    shop.before(view, *all_out(view), *put_in(view, until(view, "lock-plate")), (None, PRELOAD))
    plate, bolt, housing = (view.teardown.of(part)[0] for part in ("lock-plate", "carrier-bolt", "ring-housing"))

    phone.scans(view.code(housing))
    assert phone.refusal.startswith(f"NO Not yet {housing.step} ")
    assert f"first {plate.step} {plate.name}, then {bolt.step} {bolt.name}" in phone.refusal
    assert f"Allowed now: {plate.step} {plate.name}" in phone.refusal
    before = shop.acts(view)
    phone.ticks("installed")
    phone.taps("In", "installed")
    assert f"first {plate.step} {plate.name}" in phone.refusal
    assert before == shop.acts(view), "nothing was written"

    phone.scans(view.new_code(plate))
    phone.ticks("installed")
    phone.taps("In", "installed")
    phone.taps("In, and right", "verified")
    phone.scans(view.code(housing))
    assert f"first {bolt.step} {bolt.name}" in phone.refusal
    assert plate.name not in phone.refusal


def test_a_label_of_another_job_stops_whoever_scans_it(shop: Shop) -> None:
    """Moment 3: both jobs are named; the card can be looked at and has nothing to tap that writes."""
    view, other, phone = shop.reducer(), shop.reducer(), shop.phone
    shop.before(view)

    phone.scans(code(other, "oil-plugs"))
    ours, theirs = view.job.number, other.job.number
    assert phone.refusal.startswith(f"NO This label is of job {theirs}, this is job {ours}")
    assert 0 == phone.page.locator("form[action$='/act']").count()
    phone.follows("Only look at")
    assert "LOOK ONLY" in phone.refusal
    assert 0 == phone.page.locator("form[action$='/act']").count()
    assert [] == shop.acts(other)
    phone.open(f"/job/{ours}")
    phone.scans(code(view, "oil-plugs"))
    assert 0 == phone.page.locator("div.refused").count()


def test_a_label_of_an_older_revision_is_stopped_with_what_changed(shop: Shop) -> None:
    """Moment 3: the label hangs on from an earlier job of the same unit, whose profile had another limit."""
    old = open_job(shop.store, pump(PUMP.replace('revision: "3"', 'revision: "2"').replace('"4.95"', '"4.90"')))
    new, phone = open_job(shop.store, pump()), shop.phone
    shop.before(new)

    phone.scans(code(old, "side-plate"))
    assert "it has profile revision 2, this job has 3: limits of this part have changed" in phone.refusal
    assert "print a new label" in phone.refusal


def test_two_frictions_that_would_touch_are_stopped_at_the_scan(shop: Shop) -> None:
    """Moment 10: the place is named and the plate not counted in; the right one goes on, and the whole pack is
    recorded."""
    view, phone = shop.reducer(), shop.phone
    shop.before(view)
    pack = view.teardown.of("brake-pack")[0]
    stack = [code(view, part) for part in reversed(pack.part.stack)]
    laid = [step_of(view, part) for part in reversed(pack.part.stack)]
    phone.open(f"/job/{view.job.number}/pack/{pack.step}?laid={','.join(laid[:4])}")
    assert "NO" not in phone.scans(stack[4]).split()

    text = phone.scans(code(view, "friction-disc"))
    assert "NO Two frictions would touch: place 6 is friction, steel belongs there. Take it out" == phone.refusal
    assert "Plate 6 of 13" in text
    assert "Plate 7 of 13" in phone.scans(stack[5])
    phone.open(f"/job/{view.job.number}/pack/{pack.step}?laid={','.join(laid[:12])}")
    text = phone.scans(stack[12])
    assert "All 13 plates are in, in their order" in text
    phone.taps("Record that the pack is right")
    place, act = shop.acts(view)[-1]
    assert pack.ordinal == place
    assert "13 of 13 in their order" in act.note


def test_a_pack_that_is_one_steel_short_is_told_with_both_counts(shop: Shop) -> None:
    """Moment 10: who says that there are no more plates reads what is missing."""
    view, phone = shop.reducer(), shop.phone
    shop.before(view)
    pack = view.teardown.of("brake-pack")[0]
    phone.open(f"/job/{view.job.number}/pack/{pack.step}")
    for part in list(reversed(pack.part.stack))[:4]:
        phone.scans(code(view, part))

    phone.follows("There are no more plates")
    assert "frictions 1 of 5, steels 1 of 5" in phone.refusal
    assert [] == shop.acts(view)


def test_the_spacer_of_the_other_pack_is_sent_home(shop: Shop) -> None:
    """Moment 13: the thick spacer goes with the astern pack; the ahead pack has seven pairs without it."""
    view, phone = open_job(shop.store, demo("marine-gear")), shop.phone
    shop.before(view)
    ahead, astern = (view.teardown.of(part)[0] for part in ("ahead-pack", "astern-pack"))
    phone.open(f"/job/{view.job.number}/pack/{ahead.step}")

    phone.scans(code(view, "astern-spacer"))
    assert f"is of {astern.name}, not of {ahead.step} {ahead.name}" in phone.refusal
    assert "has 7 friction plates" in phone.refusal
    assert "Plate 1 of" in phone.text


def test_the_washer_waits_for_the_button_in_a_blind_hole(shop: Shop) -> None:
    """Moment 15: what is still inside is named, with what it lies in; one tap leads to its card; bagged, the washer
    starts."""
    view, phone = shop.reducer(), shop.phone
    button, sun = (view.teardown.of(part)[0] for part in ("thrust-button", "sun-2"))
    shop.before(view, *(act for act in all_out(view, but=[button.step]) if act[1]["kind"] == "removed"))

    phone.follows("Wash")
    assert "NOT YET 1 part must be out, counted and bagged first" in phone.refusal
    phone.ticks("started")
    phone.taps("Start the washer", "started")
    assert f"Out before the wash: {button.step} {button.name} is not out" in phone.refusal
    assert f"it may lie in {sun.step} {sun.name}" in phone.refusal
    phone.follows(button.name)
    phone.ticks("removed")
    phone.taps("Out", "removed")
    phone.follows("Wash")
    phone.ticks("started")
    assert "washer started with" in phone.taps("Start the washer", "started")
    assert ["removed", "wash_started"] == [act.kind for _, act in shop.acts(view)[-2:]]


def test_a_captured_bearing_is_felt_from_the_card_of_its_housing(shop: Shop) -> None:
    """Moment 16: nobody hunts for it; it is judged where it stays."""
    view, phone = shop.reducer(), shop.phone
    shop.before(view, (step_of(view, "through-bolts"), {"kind": "removed", "count": 12}))
    bearing = next(each for each in view.teardown.inside if each.part.id == "input-bearing")

    phone.scans(code(view, "brake-housing"))
    phone.ticks("removed")
    assert "stays inside, behind Oil guide ring: feel it, do not look for it" in phone.taps("Out", "removed")
    assert f"{bearing.part.name} inside step" in phone.follows(f"Stays inside: {bearing.part.name}")
    phone.types("condemned", why="rough when turned")
    phone.taps("Condemn", "condemned")
    place, act = shop.acts(view)[-1]
    assert (bearing.ordinal, "condemned", "rough when turned") == (place, act.kind, act.why)
    wash = phone.open(f"/job/{view.job.number}/wash")
    assert bearing.part.name not in wash


def test_sixteen_springs_ask_whether_the_option_is_right(shop: Shop) -> None:
    """Moment 17: another count is kept and asked about; once the option is set, its own bin wants sixteen, and labels
    are to be printed again."""
    view, phone = shop.reducer(), shop.phone
    shop.before(view)

    phone.scans(code(view, "brake-springs-12"))
    phone.ticks("removed")
    phone.types("removed", count="16")
    told = phone.taps("Out, with this count", "removed")
    assert (
        "16 came out, the profile has 12; 16 springs, no pocket empty would have 16: is the option set right?" in told
    )

    phone.open(f"/job/{view.job.number}")
    phone.chooses("option-brake", "choice", "b16")
    phone.types("option-brake", how="counted, no pocket empty")
    told = phone.taps("Set the option", "option-brake")
    after = JobView(shop.store.job(view.job.number), view.profile, view.secret)
    springs = after.teardown.of("brake-springs-16")[0]
    assert f"Print these labels again: labelkit kit --job {view.job.number} --steps {springs.step}" in told
    text = phone.scans(after.code(springs))
    assert 16 == springs.part.qty
    assert "Brake spring" in text
    assert "all 16 counted" in text


def test_the_output_end_decides_what_comes_off_first(shop: Shop) -> None:
    """Moment 18: with the splined output the extension comes off first, with the unit turned over."""
    splined, flange, phone = shop.reducer(output="splined"), shop.reducer(output="flange"), shop.phone

    first = phone.open(f"/job/{splined.job.number}/next")
    assert "Extension screw" in phone.page.locator("h1").inner_text()
    assert "then upside down on wooden blocks: first thing to come off" in first
    phone.ticks("removed")
    phone.taps("Out: all 8 counted", "removed")
    assert "Extension" in phone.page.locator("h1").inner_text(), "its housing is next"
    assert "Extension" not in phone.open(f"/job/{flange.job.number}/next")


def test_an_old_bolt_that_is_used_once_is_not_taken(shop: Shop) -> None:
    """Moment 22: how many new ones are needed and whether they are here; the sticker of the new ones is taken."""
    view, phone = shop.reducer(), shop.phone
    shop.before(view, *all_out(view), *put_in(view, until(view, "through-bolts")))
    bolts = view.teardown.of("through-bolts")[0]
    refused = f"Not the old {bolts.step} {bolts.name}: it is used once only; 12 new needed, "

    phone.scans(view.code(bolts))
    assert f"NO {refused}not ordered yet" in phone.refusal
    record(shop.store, view, NOON, (None, {"kind": "ordered", "number": bolts.part.number, "pieces": 12}))
    phone.scans(view.code(bolts))
    assert f"{refused}12 ordered, not here yet" in phone.refusal

    phone.scans(view.new_code(bolts))
    phone.follows("receive it")
    assert "12 of 12 ready" in phone.taps("Here, and ready at its place")
    phone.scans(view.new_code(bolts))
    phone.ticks("installed")
    phone.taps("In", "installed")
    place, act = shop.acts(view)[-1]
    assert (bolts.ordinal, "installed", True) == (place, act.kind, act.new)


@pytest.mark.parametrize(
    ("unit", "part", "cautions"),
    [
        ("marine-gear", "astern-nut", ("LEFT-HAND thread: turn clockwise to loosen",)),
        ("planetary-reducer", "cover-screws", ("7.6 kN (12 springs)", "one turn at a time", "4.6 turns of M12")),
    ],
)
def test_what_can_hurt_is_ticked_before_it_is_loosened(
    shop: Shop, unit: str, part: str, cautions: tuple[str, ...]
) -> None:
    """Moment 23: without the ticks nothing is written, and the ticks made so far stay."""
    view, phone = open_job(shop.store, demo(unit)), shop.phone
    shop.before(view)
    phone.scans(code(view, part))
    boxes = phone.form("removed").locator("input[name=ticked]")
    own = boxes.count() - 1
    boxes.last.check()
    button = phone.form("removed").get_by_role("button").first.inner_text()
    phone.taps(button, "removed")
    assert own
    assert "read the cautions and tick them" in phone.refusal
    assert [False] * own + [True] == [box.is_checked() for box in boxes.all()]
    assert [] == shop.acts(view)
    seen = " ".join(phone.form("removed").inner_text().split())
    assert [] == [words for words in cautions if words not in seen]
    phone.ticks("removed")
    phone.taps(button, "removed")
    (_, act), *_ = shop.acts(view)
    assert "removed" == act.kind
    assert [] == [words for words in cautions if words not in " ".join(act.ticked)]


def test_who_comes_the_next_day_reads_where_the_job_is(shop: Shop) -> None:
    """Moment 24: last verified, by whom and when; what is not read; who waits for whom; what may be done now, by a
    tap; and the next part is refused for the reading."""
    view, phone = shop.reducer(), shop.phone
    hold: tuple[str | None, dict[str, object]] = (
        step_of(view, "sun-1-21"),
        {"kind": "hold", "why": "waits for the inspector"},
    )
    record(shop.store, view, NOON, *all_out(view), *put_in(view, until(view, "carrier-2")), hold)
    shop.clock.now = NOON + timedelta(days=1)
    phone.belongs_to(shop.app, "Cleo")
    sun = view.teardown.of("sun-1-21")[0]

    phone.open("/")
    text = phone.follows(view.profile.unit.name)
    assert f"ON HOLD {sun.step} {sun.name}" in phone.refusal
    assert "waits for the inspector Bo, " in phone.refusal
    last = text.partition("Last verified")[2]
    before = [placed.bin for placed in view.order if placed.bin.part.id in until(view, "carrier-2")][-1]
    assert last.split(" Allowed now")[0].startswith(
        f" {before.step} {before.name}: verified: in, and right Bo, 2026-03-02"
    )
    assert "Allowed now measure output preload" in text
    assert "output preload is not read after the assembly" in text
    assert "output preload" in phone.follows("measure output preload").lower()
    phone.scans(code(view, "carrier-2"))
    assert "measure output preload (it cannot be read afterwards)" in phone.refusal


def test_a_race_left_in_its_bin_stops_the_signature(shop: Shop) -> None:
    """Moment 25: measured 1.41 where 0.41 was predicted is one race of 1.0 mm; one lies in its bin. Its point leads to
    its card; what was typed for the signature is not lost."""
    view, phone = shop.reducer(), shop.phone
    number = view.job.number
    shop.store.journal.restore(number, [replace(event, job=number) for event in finished().events], {})
    race = view.teardown.of("thrust-race")[0]
    play = {"kind": "reading", "fit": "carrier-end-play", "at": "assembled", "unit": "mm", "values": ["1.41"] * 3}
    shop.before(
        view,
        (race.step, {"kind": "removed", "count": 2}),
        (race.step, {"kind": "installed", "pieces": 1}),
        (None, play),
    )

    text = phone.follows("Sign-off")
    assert "measured 1.41 mm, predicted 0.41 mm: difference +1.00 mm; 1.0 mm is one Thrust race" in text
    assert f"{race.step} {race.name}: 1 of 2 is in, 1 not" in text
    form = phone.form("sign")
    for name in ("left", "old", "oil", "turned"):
        form.locator(f"[name={name}]").check()
    phone.types("sign", signed_by="Ann", note="all done, I think")
    before = shop.acts(view)
    phone.taps("Sign", "sign")
    assert phone.refusal.startswith("NO ")
    assert before == shop.acts(view)
    assert "all done, I think" == phone.form("sign").locator("[name=note]").input_value()
    phone.follows(f"{race.step} {race.name}: 1 of 2")
    assert race.name in phone.page.locator("h1").inner_text()

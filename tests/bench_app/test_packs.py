"""A pack of plates that is scanned plate by plate: the first wrong one is refused, in one line, with its place.

Common practice, no source: the order is that of the profile.
"""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from labelkit.bench.app import create_app
from labelkit.load.profile import LoadedProfile
from labelkit.model.acts import Noted
from labelkit.store.jobs import Store
from tests.bench_app.hands import Page, Person, person, with_pin
from tests.bench_app.workshop import open_job
from tests.shop import demo

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


class Checker:
    """Somebody who scans the plates of one pack."""

    def __init__(self, store: Store, loaded: LoadedProfile, pack: str) -> None:
        self.store, self.view = store, open_job(store, loaded)
        with_pin(store)
        self.ann: Person = person(create_app(store, clock=lambda: NOW))
        self.pack = self.view.teardown.of(pack)[0]
        self.address = f"/job/1/pack/{self.pack.step}"

    def code(self, part: str) -> str:
        return self.view.code(self.view.teardown.of(part)[0])

    def scan(self, code: str) -> Page:
        """Type a code into the field of the page as it is, and return the page that answers."""
        form = next(form for form in self.ann.open(self.address).forms if "code" in form.names)
        answer = self.ann.client.get(form.action, query_string={**dict(form.fields), "code": code})
        if answer.status_code == 303:
            self.address = answer.location
            return self.ann.open(self.address)
        return Page(answer.text)

    def lay(self, *parts: str) -> Page:
        """Scan plates that must all be right."""
        for part in parts:
            page = self.scan(self.code(part))
            assert "NO" not in page.words, page.text
        return page


@pytest.fixture
def brake(store: Store) -> Checker:
    return Checker(store, demo("planetary-reducer"), "brake-pack")


def refusal(page: Page) -> str:
    return page.text.partition(" NO ")[2].partition(" Plate ")[0]


def test_two_frictions_that_would_touch_are_refused_at_once(brake: Checker) -> None:
    """Moment 10: the place is named; the plate is not counted in, and the right one goes on from there."""
    brake.lay("backing-plate", "selective-steel", "friction-disc", "steel-disc", "friction-disc")

    wrong = brake.scan(brake.code("friction-disc"))

    assert refusal(wrong) == "Two frictions would touch: place 6 is friction, steel belongs there. Take it out"
    assert "Plate 6 of 13" in wrong.text
    assert "5 of 13 plates are in" in wrong.text
    assert "Plate 7 of 13" in brake.lay("steel-disc").text


def test_a_pack_that_was_laid_one_steel_short(brake: Checker) -> None:
    """Moment 10 for a pack that is said to be whole: the counts, and what is to be put where."""
    brake.lay("backing-plate", "selective-steel", "friction-disc", "steel-disc")

    answer = brake.ann.client.get(f"{brake.address}&whole=1")

    assert answer.status_code == 409
    assert "frictions 1 of 5, steels 1 of 5" in refusal(Page(answer.text))


def test_a_whole_pack_is_recorded_once_it_is_right(brake: Checker) -> None:
    """All thirteen in their order; before that there is no form to record it, and a forged one is refused."""
    stack = tuple(reversed(brake.pack.part.stack))
    first = brake.lay(*stack[:-1])
    assert "pack" not in [form.name for form in first.forms]
    key = dict(brake.ann.open("/sign-in").forms[0].fields)["csrf"]
    short = {"csrf": key, "laid": brake.address.partition("laid=")[2]}
    assert brake.ann.client.post(f"/job/1/pack/{brake.pack.step}", data=short).status_code == 422
    assert brake.store.journal.last(1) == 0

    last = brake.lay(stack[-1])
    assert "All 13 plates are in, in their order" in last.text
    brake.ann.does(brake.address, "pack")

    (event,) = brake.store.journal.events(1)
    assert event.place == brake.pack.ordinal
    assert isinstance(event.act, Noted)
    assert "13 of 13 in their order" in str(event.act.note)


def test_the_field_waits_for_the_next_plate(brake: Checker) -> None:
    """The field has the focus after every scan, says which plate comes next, and is the only one of the page."""
    page = brake.lay("backing-plate")

    fields = [attrs for tag, attrs in page.elements if tag == "input" and attrs.get("name") == "code"]
    steel = brake.view.teardown.of("selective-steel")[0]
    assert ["autofocus" in each for each in fields] == [True]
    assert f"{steel.step} {steel.name}" in page.text


def test_a_plate_of_the_other_pack_is_refused_with_its_home(store: Store) -> None:
    """Moment 13: the thick spacer of the astern pack in the ahead pack; the count of the ahead pack is told."""
    ahead = Checker(store, demo("marine-gear"), "ahead-pack")

    page = ahead.scan(ahead.code("astern-spacer"))

    astern = ahead.view.teardown.of("astern-pack")[0]
    pairs = ahead.pack.part.stack.count("friction-ahead")
    assert f"is of {astern.name}, not of {ahead.pack.step} {ahead.pack.name}" in refusal(page)
    assert f"has {pairs} friction plates" in refusal(page)
    assert pairs == 7


def test_labels_that_are_none_of_this_job(brake: Checker) -> None:
    """Another job's label, a code that cannot be one, a part that is no plate: each is told, none is counted."""
    other = open_job(brake.store, demo("planetary-reducer"))
    brake.lay("backing-plate")

    foreign = brake.scan(other.code(other.teardown.of("selective-steel")[0]))
    garbled = brake.scan("NOCODE")
    cover = brake.scan(brake.code("input-cover"))

    assert "This label is of job 2, this is job 1" in refusal(foreign)
    assert "NOCODE" in refusal(garbled)
    assert "Input cover" in refusal(cover)
    assert "1 of 13 plates are in" in brake.ann.open(brake.address).text


def test_the_order_of_removal_can_be_checked_too(brake: Checker) -> None:
    """From the end that the profile names: the pressure plate is first."""
    page = brake.ann.open(f"{brake.address}?from=start")
    assert "Plate 1 of 13: A," in page.text
    assert "Pressure plate" in page.text.partition("Plate 1 of 13")[2][:60]


def test_what_is_no_pack(brake: Checker) -> None:
    """A step that is none, or has no stack; an address with plates of nowhere."""
    steps = {"99": 404, brake.view.teardown.of("input-cover")[0].step: 404, f"{brake.pack.step}?laid=1,99": 400}
    assert steps == {step: brake.ann.client.get(f"/job/1/pack/{step}").status_code for step in steps}

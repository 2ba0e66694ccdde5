"""The order of a capture against a plain list: every act does to the tree what it does to a list of depths."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from labelkit.bench import captureseats
from labelkit.bench import capturetree as tree
from labelkit.bench.capturemore import no_step
from labelkit.bench.captureprofile import made
from labelkit.bench.capturetree import NEXT, Captured, Unit, unit_of, unit_text
from labelkit.errors import UsageError
from labelkit.store.jobs import Store
from tests.bench_app.workshop import SECRET

Row = tuple[int, int]  # depth from 0, number
EMPTY = Unit("T1", "Test unit", "input side")


def rows(unit: Unit) -> list[Row]:
    return [(step.count("."), part.number) for step, part in unit.walk()]


def stretch(model: list[Row], place: int) -> int:
    """Return where what is inside the row of a place ends."""
    end = place + 1
    while end < len(model) and model[end][0] > model[place][0]:
        end += 1
    return end


def neighbour(model: list[Row], place: int) -> int | None:
    """Return the place of the row before one in the same sub-assembly."""
    depth = model[place][0]
    for before in range(place - 1, -1, -1):
        if model[before][0] <= depth:
            return before if model[before][0] == depth else None
    return None


class Capture(RuleBasedStateMachine):
    """A draft in a store, and beside it a list of (depth, number), with a list of all the lists it was."""

    store: Store

    @initialize()
    def start(self) -> None:
        self.drafts = self.store.drafts
        self.job = self.store.create_job(
            number=None, serial=None, file="t1.yaml", source=b"", options={}, address="http://H", codes=9, photos={}
        ).number
        self.drafts.start(self.job, unit_text(EMPTY), who="Ann", at="2026-01-01", token="0")
        self.past: list[list[Row]] = [[]]
        self.now = 0
        self.fresh = 0

    @property
    def model(self) -> list[Row]:
        return self.past[self.now]

    @property
    def unit(self) -> Unit:
        return unit_of(self.drafts.current(self.job).body)

    def keep(self, unit: Unit, model: list[Row]) -> None:
        self.past = [*self.past[: self.now + 1], model]
        self.now += 1
        token = f"{len(self.past)}-{self.fresh}-{id(model)}"
        self.drafts.append(
            self.job, unit_text(unit), words="", given=self.fresh, who="Ann", at="2026-01-01", token=token
        )

    def new(self) -> Captured:
        self.fresh = self.drafts.current(self.job).given + 1
        return Captured(self.fresh, f"Part {self.fresh}")

    @rule()
    def append(self) -> None:
        part = self.new()
        self.keep(tree.add(self.unit, part), [*self.model, (0, part.number)])

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def insert_between(self, data: st.DataObject) -> None:
        place = data.draw(st.integers(0, len(self.model) - 1))
        part, (depth, before) = self.new(), self.model[place]
        model = [*self.model[:place], (depth, part.number), *self.model[place:]]
        self.keep(tree.add(self.unit, part, before=before), model)

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def tell_what_is_inside(self, data: st.DataObject) -> None:
        place = data.draw(st.integers(0, len(self.model) - 1))
        part, (depth, holder), end = self.new(), self.model[place], stretch(self.model, place)
        model = [*self.model[:end], (depth + 1, part.number), *self.model[end:]]
        self.keep(tree.add(self.unit, part, inside=holder), model)

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def take_out(self, data: st.DataObject) -> None:
        place = data.draw(st.integers(0, len(self.model) - 1))
        model = [*self.model[:place], *self.model[stretch(self.model, place) :]]
        self.keep(tree.remove(self.unit, self.model[place][1]), model)

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def earlier(self, data: st.DataObject) -> None:
        place = data.draw(st.integers(0, len(self.model) - 1))
        before, end = neighbour(self.model, place), stretch(self.model, place)
        model = list(self.model)
        if before is not None:
            model[before:end] = [*self.model[place:end], *self.model[before:place]]
        self.keep(tree.nudge(self.unit, self.model[place][1], -1), model)

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def move_to_a_step(self, data: st.DataObject) -> None:
        place = data.draw(st.integers(0, len(self.model) - 1))
        end = stretch(self.model, place)
        own = self.model[place:end]
        others = [row for index, row in enumerate(self.model) if not place <= index < end]
        tops = [index for index, row in enumerate(others) if row[0] == 0]
        wanted = data.draw(st.integers(0, len(tops)))
        at = tops[wanted] if wanted < len(tops) else len(others)
        moved = [(depth - own[0][0], number) for depth, number in own]
        model = [*others[:at], *moved, *others[at:]]
        self.keep(tree.move(self.unit, own[0][1], str(wanted + 1)), model)

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def drop_before_another(self, data: st.DataObject) -> None:
        place = data.draw(st.integers(0, len(self.model) - 1))
        end = stretch(self.model, place)
        own, others = self.model[place:end], [*self.model[:place], *self.model[end:]]
        at = data.draw(st.integers(0, len(others)))
        depth, before = others[at] if at < len(others) else (0, None)
        moved = [(row[0] - own[0][0] + depth, row[1]) for row in own]
        self.keep(tree.put_before(self.unit, own[0][1], before), [*others[:at], *moved, *others[at:]])
        with pytest.raises(UsageError, match="before itself"):
            tree.put_before(self.unit, own[0][1], own[-1][1])

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def into_the_one_before(self, data: st.DataObject) -> None:
        place = data.draw(st.integers(0, len(self.model) - 1))
        end = stretch(self.model, place)
        if neighbour(self.model, place) is None:
            with pytest.raises(UsageError, match="nothing comes out before"):
                tree.into(self.unit, self.model[place][1])
            return
        model = [(row[0] + (place <= index < end), row[1]) for index, row in enumerate(self.model)]
        self.keep(tree.into(self.unit, self.model[place][1]), model)

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def out_of_its_sub_assembly(self, data: st.DataObject) -> None:
        place = data.draw(st.integers(0, len(self.model) - 1))
        depth, number = self.model[place]
        if not depth:
            with pytest.raises(UsageError, match="inside no sub-assembly"):
                tree.out_of(self.unit, number)
            return
        holder = max(index for index in range(place) if self.model[index][0] == depth - 1)
        end, last = stretch(self.model, place), stretch(self.model, holder)
        own = [(row[0] - 1, row[1]) for row in self.model[place:end]]
        model = [*self.model[:place], *self.model[end:last], *own, *self.model[last:]]
        self.keep(tree.out_of(self.unit, number), model)

    @precondition(lambda self: self.model)
    @rule(data=st.data())
    def split_off(self, data: st.DataObject) -> None:
        place = data.draw(st.integers(0, len(self.model) - 1))
        depth = self.model[place][0]
        ends = [place]
        while (after := stretch(self.model, ends[-1])) < len(self.model) and self.model[after][0] == depth:
            ends.append(after)
        last = data.draw(st.sampled_from(ends))
        whole, end = self.new(), stretch(self.model, last)
        inside = [(row[0] + 1, row[1]) for row in self.model[place:end]]
        model = [*self.model[:place], (depth, whole.number), *inside, *self.model[end:]]
        self.keep(tree.gather(self.unit, self.model[place][1], self.model[last][1], whole), model)

    @rule(back=st.booleans())
    def undo_or_redo(self, back: bool) -> None:
        self.drafts.step(self.job, back=back)
        self.now = max(0, self.now - 1) if back else min(len(self.past) - 1, self.now + 1)

    @invariant()
    def the_same(self) -> None:
        if not hasattr(self, "past"):
            return
        version = self.drafts.current(self.job)
        assert self.model == rows(unit_of(version.body))
        assert len({number for _, number in self.model}) == len(self.model)
        assert all(number <= version.given for _, number in self.model)

    def teardown(self) -> None:
        if self.model:
            assert [number - 1 for _, number in self.model] == list(made(self.unit).indices)


def test_the_order_of_a_capture_is_that_of_a_plain_list(tmp_path: Path) -> None:
    """Adding, inserting, moving, splitting, taking out, undo and redo in any order; and each is a valid profile."""
    with Store(str(tmp_path / "shop.sqlite"), secret=SECRET) as Capture.store:
        run_state_machine_as_test(Capture, settings=settings(max_examples=10, stateful_step_count=12, deadline=None))


def test_what_lies_on_the_next_one_out_lies_on_the_next_of_the_list_as_it_stands() -> None:
    """A shim that came out before its cover lies on it; on what is told between them, or comes next after a move."""
    unit = tree.add(EMPTY, Captured(1, "Shim", on=NEXT))
    assert made(unit).loaded.profile.parts[0].sits is None

    told = tree.add(tree.add(unit, Captured(2, "Cover")), Captured(3, "Washer", on=NEXT), before=2)
    assert ["3", "2", ""] == [part.on for _step, part in told.seated().walk()]
    moved = tree.move(told, 1, "2")
    assert ["1", "2", ""] == [part.on for _step, part in moved.seated().walk()]
    assert [("1 Washer", "2 Shim"), ("2 Shim", "3 Cover")] == list(captureseats.reseated(told, moved))
    assert [("3 Shim", "")] == list(captureseats.reseated(told, tree.move(told, 1, "3")))


def test_what_is_split_off_lies_on_what_comes_out_after_the_sub_assembly() -> None:
    unit = replace(EMPTY, parts=(Captured(1, "A", on=NEXT), Captured(2, "B", on=NEXT), Captured(3, "C")))
    gathered = tree.gather(unit, 1, 2, Captured(4, "Pack"))
    assert ["", "2", "3", ""] == [part.on for _step, part in gathered.seated().walk()]


def test_no_move_lets_parts_lie_on_each_other() -> None:
    unit = replace(EMPTY, parts=(Captured(1, "Key", on=NEXT), Captured(2, "Shaft"), Captured(3, "Ring", on="1")))
    captureseats.no_rings(unit)
    with pytest.raises(UsageError, match="Ring and Key would lie on each other"):
        captureseats.no_rings(tree.move(unit, 3, "2"))


def test_nothing_lies_on_a_part_that_was_taken_out_of_the_list() -> None:
    unit = tree.add(tree.add(EMPTY, Captured(1, "Shim", on=NEXT)), Captured(2, "Cover", along="1"))
    assert "" == tree.remove(unit, 2).seated().find(1).on
    assert "" == tree.remove(unit, 1).find(2).along


@pytest.mark.parametrize("step", ["0", "4", "1.1", "2.2", "x", "", "1.", "²"])
def test_a_part_goes_to_no_step_that_is_not_there(step: str) -> None:
    unit = replace(EMPTY, parts=(Captured(1, "A", parts=(Captured(4, "D"),)), Captured(2, "B"), Captured(3, "C")))
    with pytest.raises(UsageError, match="step"):
        tree.move(unit, 1, step)


def test_what_is_to_be_measured_is_told_apart_from_what_is_to_be_seen() -> None:
    """A caliper for the one, a look for the other; of a part without a kind that is one of the things to be seen."""
    unit = tree.add(EMPTY, Captured(1, "Shim", "ring", {"od": "60", "id": "40"}, on=NEXT, clock="free"))
    unit = tree.add(unit, Captured(2, "Cover", way="free", clock="free", face="any"))
    shim, cover = (made(unit).open[number] for number in (1, 2))

    assert (("Thickness",), ("which way up",)) == (shim.measured, shim.asked)
    assert ((), "kind and sizes") == (cover.measured, cover.asked[0])


def test_what_came_out_with_a_part_is_no_seat_of_it() -> None:
    """A shaft that comes out with its key lies on what comes out after both."""
    parts = (Captured(1, "Shaft", on=NEXT), Captured(2, "Key", along="1"), Captured(3, "Pin", along="2"))
    unit = replace(EMPTY, parts=(*parts, Captured(4, "Spacer")))
    assert ["4", "", "", ""] == [part.on for _step, part in unit.seated().walk()]


def test_what_turns_out_to_be_inside_lies_on_what_it_is_inside() -> None:
    """The bush of a cover is pressed into it, whatever came out next of the unit."""
    unit = replace(
        EMPTY, parts=(Captured(1, "Cover", on=NEXT), Captured(2, "Bush", on=NEXT), Captured(3, "O-ring", on=NEXT))
    )
    unit = tree.into(unit, 2)

    assert [("1", "3"), ("1.1", "1"), ("2", "")] == [(step, part.on) for step, part in unit.seated().walk()]
    (cover, _ring) = made(unit).loaded.profile.parts
    assert cover.parts[0].sits is not None
    assert cover.id == cover.parts[0].sits.on


@pytest.mark.parametrize(
    ("steps", "told"),
    [(["1", "2", "2.1", "2.2", "2.2.1", "3"], "1 – 3, 2.1 – 2.2, 2.2.1."), (["1"], "1."), ([], "–.")],
)
def test_which_steps_there_are_is_told_with_those_inside(steps: list[str], told: str) -> None:
    """From the first to the last of each sub-assembly: whoever was told 1 – 3 only would not look for 2.1."""
    assert f'there is no step "9"; captured so far: {told} ' in no_step("9", steps)

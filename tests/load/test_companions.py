"""What parts say of each other: both are there, one copy is meant, and what holds comes out before what it holds."""

from __future__ import annotations

from dataclasses import astuple

import pytest

from labelkit.errors import InputErrors
from labelkit.load.companions import gaps
from tests.shop import demo, profile_of

HEAD = "format: 1\nunit: {mark: KR2, name: Demo unit, up: input side}\n"
DRUM = "options: {drum: {name: Drum, choices: {grooved: Grooved, smooth: Smooth, blank: Blank}}}\n"


def told(text: str) -> list[str]:
    try:
        profile_of(HEAD + text)
    except InputErrors as error:
        return [str(problem) for problem in error.problems]
    return []


def test_a_part_listed_before_the_ring_that_holds_it_is_told_with_both_steps() -> None:
    """Inside a sub-assembly, behind a part of another version and a sub-assembly that is there twice."""
    text = DRUM.replace("name: Drum,", "name: Drum, default: smooth,") + (
        "parts:\n"
        "- {id: cap, name: Cap, only: {drum: grooved}}\n"
        "- {id: valve, name: Valve, used: 2}\n"
        "- id: drum\n"
        "  name: Drum\n"
        "  parts:\n"
        "  - {id: pack, name: Pack, held: {by: ring, part: end-ring}}\n"
        "  - {id: end-ring, name: End ring}\n"
    )

    assert told(text) == [
        "test.yaml:10:51: parts[2].parts[0].held.part: pack (step 3.1, line 10) stands in the removal order before "
        "end-ring (step 3.2, line 11), which holds it; list end-ring before pack, or say what comes out together with "
        "out.with or carried_by"
    ]


@pytest.mark.parametrize(
    "parts",
    [
        "- {id: ring, name: R}\n- {id: pack, name: P, held: {by: ring, part: ring}}\n",
        "- {id: pack, name: P, held: {by: ring, part: ring}, carried_by: ring}\n- {id: ring, name: R}\n",
        "- {id: pack, name: P, held: {by: ring, part: ring}}\n- {id: ring, name: R, carried_by: pack}\n",
        "- {id: pack, name: P, held: {by: ring, part: ring}, out: {with: ring}}\n- {id: ring, name: R}\n",
        "- {id: pack, name: P, held: {by: ring, part: ring}}\n- {id: ring, name: R, out: {with: pack}}\n",
        "- {id: pack, name: P, held: {by: ring, part: ring}, parts: [{id: ring, name: R}]}\n",
        "- {id: pack, name: P, held: {by: screwed, part: ring}}\n- {id: ring, name: R}\n",
    ],
    ids=["ring first", "carried", "carries", "out with", "out with it", "ring of its own", "not a ring"],
)
def test_an_order_that_the_facts_allow_is_none(parts: str) -> None:
    """The ring is out first, comes out with what it holds, or belongs to it."""
    assert told("parts:\n" + parts) == []


def test_a_ring_inside_a_sub_assembly_that_comes_out_later_is_too_late() -> None:
    """What is inside step 2 is out with step 2 at the earliest."""
    pack, hub = "{id: pack, name: P, held: {by: ring, part: ring}}", "{id: hub, name: H, parts: [{id: ring, name: R}]}"

    (found,) = told(f"parts:\n- {pack}\n- {hub}\n")
    assert "pack (step 1, line 4) stands in the removal order before ring (step 2.1, line 5)" in found


def test_what_is_never_there_itself_is_not_too_early() -> None:
    """A part of another version than its sub-assembly's, beside its ring: found by hostile profiles."""
    text = DRUM + (
        "parts:\n- {id: drum, name: Drum, only: {drum: smooth}, parts: [\n"
        "    {id: pack, name: P, only: {drum: grooved}, held: {by: ring, part: ring}},\n"
        "    {id: ring, name: R}]}\n"
    )

    assert [line for line in told(text) if "stands in the removal order" in line] == []


def test_a_ring_of_another_version_holds_nothing_too_late() -> None:
    """But then nothing of that name ever holds the part, and that is told."""
    text = DRUM + (
        "parts:\n- {id: pack, name: P, only: {drum: grooved}, held: {by: ring, part: ring}}\n"
        "- {id: ring, name: R, only: {drum: [smooth, blank]}}\n"
    )

    (found,) = told(text)
    assert found.endswith("found ring, which is never there together with pack: see `only` of both")


TWICE = "- {id: core, name: Core, used: 2, parts: [{id: ring, name: R}, {id: plate, name: P, FIELD}]}\n"


@pytest.mark.parametrize(
    "field", ["sits: {on: ring}", "held: {by: ring, part: ring}", "carried_by: ring", "out: {with: ring}"]
)
def test_who_names_one_of_several_copies_is_told(field: str) -> None:
    """From outside nobody knows which; inside it is the ring of the same core."""
    (found,) = told(f"parts:\n{TWICE.replace(', FIELD', '')}- {{id: cap, name: Cap, {field}}}\n")
    assert "found ring, which is there 2 times inside core: nobody knows which of them is meant" in found
    assert "list core once for each copy, with ids of its own, instead of used: 2" in found
    assert told(f"parts:\n{TWICE.replace('FIELD', field)}") == []


@pytest.mark.parametrize(
    "cap",
    [
        "used: 2, sits: {on: ring}",
        "qty: 4, sits: {on: ring}",
        "qty: set, sits: {on: ring}",
        "keep_with: [ring]",
        "pair: [ring]",
    ],
)
def test_two_on_two_and_sets_are_clear(cap: str) -> None:
    """One on each; a match or a neighbour may be several."""
    assert told(f"parts:\n{TWICE.replace(', FIELD', '')}- {{id: cap, name: Cap, {cap}}}\n") == []


def test_copies_inside_copies_are_counted_from_where_one_stands() -> None:
    """The ring of a pack is one of two from its core, and one of four from outside."""
    pack = "{id: pack, name: P, used: 2, parts: [{id: ring, name: R}]}"
    inside = f"parts: [{{id: core, name: C, used: 2, parts: [{pack}, {{id: cap, name: Cap, sits: {{on: ring}}}}]}}]\n"
    outside = (
        f"parts:\n- {{id: core, name: C, used: 2, parts: [{pack}]}}\n- {{id: cap, name: Cap, sits: {{on: ring}}}}\n"
    )

    assert "found ring, which is there 2 times inside pack" in told(inside)[0]
    assert "found ring, which is there 4 times inside core" in told(outside)[0]


def test_a_rule_about_copies_is_about_all_of_them() -> None:
    """Both cores before the cover: nothing is left open."""
    text = f"parts:\n- {{id: cap, name: Cap}}\n{TWICE.replace(', FIELD', '')}assembly: [{{first: ring, then: cap}}]\n"

    assert told(text) == []


def test_what_is_there_only_sometimes_is_a_gap() -> None:
    """With the choices that leave nothing to lie on; what a sub-assembly is there for counts for its parts."""
    text = DRUM + (
        "parts:\n- {id: gear, name: Gear, sits: {on: pad}, pair: [pad], only: {drum: [smooth, grooved]}}\n"
        "- {id: hub, name: Hub, only: {drum: [smooth, blank]}, parts: [{id: pad, name: Pad}]}\n"
    )

    assert [astuple(gap) for gap in gaps(profile_of(HEAD + text).profile)] == [
        (("parts", 0, "sits", "on"), "gear", "pad", "drum = grooved", False)
    ]


def test_the_demo_units_have_no_gap() -> None:
    """In every version what a part lies on, is held or carried by is there."""
    assert [gap for name in ("planetary-reducer", "marine-gear") for gap in gaps(demo(name).profile)] == []

"""What of a profile with faults is sound: the rest stays where it is, and the file itself is left alone."""

from __future__ import annotations

import copy

import pytest

from labelkit.load.sound import sound_profile
from labelkit.load.yamltree import parse
from labelkit.model.profile import Profile

HEAD = "format: 1\nunit: {mark: KR2, name: Demo unit, up: input side}\n"


def sound(text: str) -> Profile | None:
    tree = parse(text.encode(), "x")
    before = copy.deepcopy(tree.data)
    found = sound_profile(tree, {})

    assert tree.data == before
    return found


def test_a_fault_takes_its_field_and_nothing_else() -> None:
    """A form of no kind, a check of two kinds, a misspelt field; the part, its place and its other fields stay."""
    text = (
        "parts:\n- {id: a, name: A, form: {rnig: {}}, mass: 2}\n"
        "- {id: b, name: B, check: [{look: x, measure: y}], sits: {on: a}, colour: red}\n"
    )
    found = sound(HEAD + text)

    assert found is not None
    a, b = found.parts
    assert (a.id, str(a.mass), a.form) == ("a", "2 kg", None)
    assert (b.id, b.sits.on if b.sits else None, b.check) == ("b", "a", ())


def test_a_part_without_id_keeps_its_place_and_what_is_inside() -> None:
    """The paths of all others stay true."""
    found = sound(HEAD + "parts:\n- {name: A, parts: [{id: in, name: In}]}\n- 7\n- {id: c, name: C}\n")

    assert found is not None
    assert [(place, part.id) for place, part in found.walk()] == [
        ((0,), "unread-0"),
        ((0, 0), "in"),
        ((1,), "unread-1"),
        ((2,), "c"),
    ]


def test_of_a_part_whose_versions_cannot_be_read_nothing_is_known() -> None:
    """Neither is it there always, nor what is inside it."""
    found = sound(HEAD + "parts:\n- {id: a, name: A, only: x, parts: [{id: in, name: In}]}\n- {id: b, name: B}\n")

    assert found is not None
    assert [part.id for _, part in found.walk()] == ["unread-0", "b"]


def test_faults_inside_a_part_that_was_taken_out_are_gone_with_it() -> None:
    """Found by random profiles: the part goes for its `only`, and what is wrong with its parts goes along."""
    found = sound(HEAD + "parts:\n- {id: hub, name: Hub}\n- {sits: a, only: a, parts: [a]}\n")

    assert found is not None
    assert [part.id for part in found.parts] == ["hub", "unread-1"]


def test_header_options_series_fits_and_rules_do_not_take_each_other_along() -> None:
    """One faulty entry of each is out, its neighbours are in."""
    text = (
        "format: 2\nunit: {mark: k}\ncolour: red\n"
        "options: {e: {name: E}, f: {name: F, choices: {a: A}}}\n"
        "series: {s: {}, t: {sizes: [1]}}\n"
        "hazards: [{signal: peril}]\n"
        "parts: [{id: a, name: A}, {id: b, name: B}]\n"
        "fits: {g: {kind: x}, h: {kind: end_play, target: [1, 2]}}\n"
        "assembly: [{first: a}, {first: a, then: b}]\n"
    )
    found = sound(text)

    assert found is not None
    assert (list(found.options), list(found.series), list(found.fits), found.hazards) == (["f"], ["t"], ["h"], ())
    assert [(rule.first, rule.then) for rule in found.assembly][1] == ("a", "b")


@pytest.mark.parametrize("text", ["x: 1\n", "parts: []\n", "parts: {a: 1}\n", "parts:\n"])
def test_without_parts_nothing_is_left(text: str) -> None:
    """There is nothing to check further."""
    assert sound(HEAD + text) is None

"""Hints say what a valid profile leaves unsaid, at its place, in the order of the file."""

from __future__ import annotations

import pytest

from labelkit.sheets.hints import hints
from labelkit.sheets.wording import short_name
from tests.shop import DEMO_UNITS, demo, profile_of

HEAD = "format: 1\nunit: {mark: KR2, name: Demo unit, up: input side}\n"
DRUM = "options: {drum: {name: Drum, choices: {plain: Plain, grooved: Grooved}}}\n"
KNOWN = "form: {ball: {d: 8}}, mass: 1, sits: {up: free, clock: free}"


def told(text: str) -> list[str]:
    return [str(hint) for hint in hints(profile_of(HEAD + text))]


def test_what_is_not_recorded_of_a_part_is_one_hint() -> None:
    """Form, way, clock and mass, as far as they are missing; free is recorded."""
    text = (
        f"parts:\n- {{id: a, name: A}}\n- {{id: b, name: B, {KNOWN}}}\n- {{id: c, name: C, mass: 2, sits: {{up: x}}}}\n"
    )
    cup = "form (no drawing, a plain cup on the tray)"

    assert told(text) == [
        f"test.yaml:4:3: parts[0]: hint: not recorded of a: {cup}, which way up, clock, mass",
        f"test.yaml:6:3: parts[2]: hint: not recorded of c: {cup}, clock",
    ]


def test_a_part_that_stays_inside_has_no_label_to_say_anything() -> None:
    """Neither it nor what belongs to it; the guide ring that captures it has one."""
    text = (
        f"parts:\n- {{id: ring, name: Ring, {KNOWN}}}\n"
        "- {id: bearing, name: A bearing of a very long name, held: {by: behind, part: ring}, "
        "parts: [{id: cage, name: Cage}]}\n"
    )

    assert told(text) == []


def test_a_name_that_labels_cut_is_shown_as_it_prints() -> None:
    """Twenty-four letters are whole, more need a short."""
    name = "Shims behind the astern cup"
    text = f"parts:\n- {{id: a, name: {name}, {KNOWN}}}\n- {{id: b, name: {'x' * 24}, {KNOWN}}}\n"
    printed = short_name(profile_of(HEAD + text).profile.parts[0])

    assert printed.endswith("…")
    assert told(text) == [
        f'test.yaml:4:17: parts[0].name: hint: the name has {len(name)} letters; labels print "{printed}"; '
        f"give the part a short, at most 24 letters"
    ]
    assert told(text.replace("id: a,", "id: a, short: Shims,")) == []


def test_two_labels_of_one_name_are_told() -> None:
    """Where both parts may lie on one bench: not those of two versions."""
    text = DRUM + (
        f"parts:\n- {{id: a, name: Drum, only: {{drum: plain}}, {KNOWN}}}\n"
        f"- {{id: b, name: Drum, only: {{drum: grooved}}, {KNOWN}}}\n"
        f"- {{id: c, name: Spare drum, short: Drum, {KNOWN}}}\n"
    )

    assert told(text) == [
        'test.yaml:7:36: parts[2].short: hint: labels print "Drum" for a and for c; give each a short of its own'
    ]


def test_what_is_there_only_sometimes_is_told_where_it_is_named() -> None:
    """With the choice that leaves the gear nothing to lie on."""
    gear = KNOWN.replace("up: free", "up: free, on: pad")
    text = (
        f"{DRUM}parts:\n- {{id: gear, name: Gear, {gear}}}\n- {{id: pad, name: Pad, only: {{drum: plain}}, {KNOWN}}}\n"
    )

    (hint,) = told(text)
    assert hint.startswith("test.yaml:5:78: parts[0].sits.on: hint: pad is not there with drum = grooved: ")


def test_what_is_always_bought_needs_a_number() -> None:
    """Its own, or one for each size of its series."""
    text = (
        "series: {s: {sizes: [1], numbers: {1: A-1}}}\n"
        f"parts:\n- {{id: a, name: A, renew: always, {KNOWN}}}\n- {{id: b, name: B, one_time: true, {KNOWN}}}\n"
        f"- {{id: c, name: C, renew: always, number: C-1, {KNOWN}}}\n"
        f"- {{id: d, name: D, renew: always, series: s, {KNOWN}}}\n- {{id: e, name: E, renew: if_worn, {KNOWN}}}\n"
    )

    assert told(text) == [
        "test.yaml:5:3: parts[0]: hint: a is always renewed and has no number to order it by",
        "test.yaml:6:3: parts[1]: hint: b is always renewed and has no number to order it by",
    ]


@pytest.mark.parametrize("name", DEMO_UNITS)
def test_the_demo_units_leave_only_unsaid_what_was_not_recorded(name: str) -> None:
    """No name is cut, none is on two labels, what is always renewed has its number, all dimensions agree."""
    assert [hint for hint in hints(demo(name)) if "hint: not recorded of" not in hint.message] == []


RING = "form: {{ring: {{od: {od}, id: 20, t: 5}}}}, mass: 1, sits: {{up: free, clock: free, on: {on}}}"
DISC = "form: {drum: {od: 80, h: 40, wall: 8, floor: 10, bore: 36}}, mass: 1, sits: {up: mouth, opens: up, clock: free}"


def test_dimensions_that_disagree_are_told_where_the_part_says_what_it_lies_on() -> None:
    """A washer of 34 falls through the bore of 36; one of 40 lies on the floor and nothing is said."""
    text = f"parts:\n- {{id: a, name: Washer, {RING.format(od=34, on='b')}}}\n- {{id: b, name: Drum, {DISC}}}\n"
    (hint,) = told(text)

    assert hint.startswith("test.yaml:4:106: parts[0].sits.on: hint: a (od 34, id 20, t 5) finds no face of b ")
    assert "between radius 10 and 17: b (od 80, h 40, wall 8, floor 10, bore 36) has material only " in hint
    assert told(text.replace("od: 34", "od: 40")) == []


def test_dimensions_are_compared_in_every_version() -> None:
    """The wrong washer is there with one choice only, and with the default it is not; it is told once."""
    text = DRUM + (
        f"parts:\n- {{id: a, name: Washer, only: {{drum: grooved}}, {RING.format(od=34, on='b')}}}\n"
        f"- {{id: c, name: Other washer, {RING.format(od=44, on='b')}}}\n- {{id: b, name: Drum, {DISC}}}\n"
    )

    assert [hint.split(": ")[3].split(" (")[0] for hint in told(text)] == ["a"]


def test_sixty_parts_on_one_seat_are_one_hint() -> None:
    """At the first that finds its place taken."""
    parts = "".join(f"- {{id: w{k}, name: Washer {k}, {RING.format(od=44, on='b')}}}\n" for k in range(60))
    (hint,) = told(f"parts:\n{parts}- {{id: b, name: Drum, {DISC}}}\n")

    assert "w59 and w58, w57 and 57 more lie on b at one place, between radius 18 and 22" in hint

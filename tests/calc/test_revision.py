"""What a new revision of a profile changes, in words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.calc.revision import PART_FIELDS, TOPICS, changes
from labelkit.model.part import Part
from labelkit.model.profile import Profile
from tests.bench_app.workshop import PUMP, pump
from tests.shop import profile_of

ROW = "format: 1\nunit: {{mark: ROW, name: Row, up: top}}\nparts:\n{}"


def told(before: str, after: str) -> list[tuple[str, str, str]]:
    return [(each.topic, each.part, each.words) for each in changes(pump(before).profile, pump(after).profile)]


@pytest.mark.parametrize(
    ("before", "after", "words"),
    [
        ('min: "4.95"', 'min: "4.97"', ("limits", "side-plate", 'check "thickness" min: 4.97 mm (was 4.95 mm)')),
        ('min: "4.95", ', "", ("limits", "side-plate", 'check "thickness" min: not recorded any more (was 4.95 mm)')),
        ("torque: 25", "torque: 28", ("tightening", "cover-screws", "tightening torque: 28 N·m (was 25 N·m)")),
        ("clock: \"6:00\", feature", "clock: \"9:00\", feature", ("seat", "cover", "sits clock: 9:00 (was 6:00)")),
        ("sits: {on: gears}", "sits: {on: gears, clock: free}",
         ("seat", "side-plate", "sits clock: free (was not recorded)")),
        ("{id: plug, name: Plug M10, form: {plug: {d: 10, l: 12}}",
         "{id: plug, name: Plug M10, form: {shaft: {steps: [[16, 30], [30, 22]]}}",
         ("drawing", "plug", "form shaft steps: 16 mm x 30 mm; 30 mm x 22 mm (was not recorded)")),
        ("pair: [body]", "pair: [cover]", ("cautions", "gears", "matched with: Cover (was Body)")),
        ("qty: 6", "qty: 8", ("parts", "cover-screws", "quantity: 8 (was 6)")),
        ("number: P7-01", "number: P7-02", ("ordering", "cover-screws", "number: P7-02 (was P7-01)")),
        ("signal: danger", "signal: warning",
         ("cautions", "cover-screws",
          'caution "The spring pushes the cover up" signal: warning (was danger)')),
        ("thread: left", "thread: right", ("cautions", "cover-screws", "thread: right (was left)")),
        ("d: 8, l: 30", "d: 8, l: 35", ("drawing", "cover-screws", "form bolt l: 35 mm (was 30 mm)")),
        ("stack: [steel, paper, steel]", "stack: [paper, steel, steel]",
         ("seat", "valve",
          "order of the pack: Lined disc, Steel disc, Steel disc (was Steel disc, Lined disc, Steel disc)")),
        ('"5.10"]', '"5.15"]',
         ("ordering", "", "series side-plate sizes: 5.00 mm, 5.05 mm, 5.15 mm (was 5.00 mm, 5.05 mm, 5.10 mm)")),
        ("tell: the plug has no head", "tell: no head",
         ("cautions", "cover-screws", "taken easily for Plug M10: no head (was the plug has no head)")),
        ("look_alike: [{part: plug, tell: the plug has no head}]", "look_alike: [{part: key}]",
         ("cautions", "cover-screws", "taken easily for Key 6 x 6 x 20: yes (was not recorded)")),
        ('{look: "scoring, by fingernail"}', "{look: scoring}",
         ("limits", "side-plate", 'check "scoring": yes (was not recorded)')),
        ("No solvent on seals", "No solvent",
         ("cautions", "", 'caution of the whole unit "No solvent" signal: notice (was not recorded)')),
    ],
)  # fmt: skip
def test_a_changed_field_is_told(before: str, after: str, words: tuple[str, str, str]) -> None:
    """Topic, part and one line with what it is now and what it was."""
    assert before in PUMP
    assert words in told(PUMP, PUMP.replace(before, after))


def test_a_new_part_and_one_that_is_gone_are_told() -> None:
    """With the part that it comes out after."""
    new = PUMP.replace("  - {id: plug, name: Plug M10,", "  - {id: cap, name: Cap M10,").replace(
        "part: plug", "part: cap"
    )

    assert [
        ("parts", "cap", "new part: Cap M10, after Splined hub (was not there)"),
        ("parts", "plug", "part: gone (was Plug M10)"),
    ] == told(PUMP, new)[:2]


def test_who_waits_for_whom_is_told() -> None:
    """A rule changes the order of assembly, and the rule is told with its reason."""
    new = PUMP.replace("assembly:\n", "assembly:\n  - {first: valve, then: cover, because: seen through the bore}\n")

    found = [each for each in told(PUMP, new) if each[0] == "assembly"]

    assert [
        ("assembly", "cover", "what must be in first: Body, Radial shaft seal 25 x 40 x 7, Relief valve "
         "(was Body, Radial shaft seal 25 x 40 x 7)"),
        ("assembly", "", "rule valve before cover: seen through the bore (was not recorded)"),
    ] == found  # fmt: skip


def test_the_same_profile_changes_nothing() -> None:
    """A comment is no change."""
    assert [] == told(PUMP, PUMP + "# looked through again\n")


@given(st.permutations(range(7)))
def test_as_few_parts_as_tell_the_order_are_moved(order: list[int]) -> None:
    """Those that stay are the longest run that keeps its order (dynamic programme, as in any textbook)."""
    line = "  - {{id: p{0}, name: Part {0}}}\n".format
    old = profile_of(ROW.format("".join(map(line, range(7))))).profile
    new = profile_of(ROW.format("".join(map(line, order)))).profile
    longest = [1] * 7
    for i in range(7):
        longest[i] += max((longest[j] for j in range(i) if order[j] < order[i]), default=0)

    moved = [each.part for each in changes(old, new) if each.topic == "order"]

    assert 7 - max(longest) <= len(moved) <= 7 - 1
    assert (moved == []) == (order == sorted(order))


def test_every_field_of_a_part_and_of_a_profile_is_looked_at() -> None:
    """A field that is added later cannot be forgotten: it needs a topic."""
    assert set(PART_FIELDS) == set(Part.model_fields) - {"id", "parts"}
    assert {topic for topic, _ in PART_FIELDS.values()} <= set(TOPICS)
    changed = {"format", "parts"} | {each.split()[0] for each in ("unit", "options", "tools", "series", "hazards")}
    assert set(Profile.model_fields) == changed | {"fits", "assembly"}

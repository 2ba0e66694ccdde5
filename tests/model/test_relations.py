"""What must be in before what: the seat, the sub-assembly, the profile's rules, and never a carried part."""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.model.profile import Profile
from labelkit.model.relations import groups, part_path, relations, ring
from tests.shop import profile_of

HEAD = "format: 1\nunit: {mark: T1, name: Test, up: top}\n"


def found(text: str, *, without: str = "") -> list[tuple[str, str]]:
    profile = profile_of(HEAD + text).profile
    return [(edge.first, edge.then) for edge in relations(profile, present(profile, without))]


def present(profile: Profile, without: str = "") -> dict:
    return {part.id: part for _, part in profile.walk() if part.id != without}


def test_what_a_part_lies_on_is_in_before_it() -> None:
    """The shim lies on the bearing; the field that says so is named."""
    profile = profile_of(
        HEAD + "parts:\n- {id: shim, name: Shim, sits: {on: race}}\n- {id: race, name: Race}\n"
    ).profile
    (edge,) = relations(profile, present(profile))

    assert (edge.first, edge.then, edge.why) == ("race", "shim", "it lies on Race")
    assert edge.path == ("parts", 0, "sits", "on")


@pytest.mark.parametrize("carried", ["cone", "shaft"])
def test_a_carried_part_is_not_before_its_carrier(carried: str) -> None:
    """A cone pressed on its shaft lies on it and goes in with it: no order between them, whichever is carried."""
    other = {"cone": "shaft", "shaft": "cone"}[carried]
    parts = {"cone": "sits: {on: shaft}", "shaft": ""}
    parts[carried] = ", ".join(filter(None, [parts[carried], f"carried_by: {other}"]))
    listed = "".join(f"- {{id: {name}, name: {name}, {fields}}}\n" for name, fields in parts.items())

    assert found("parts:\n" + listed) == []


RINGS = """\
parts:
- {id: rings, name: Rings, qty: 2, carried_by: case, sits: {on: case}}
- {id: case, name: Case}
assembly: [{first: rings, then: case, because: one lies under it}]
"""
RACES = """\
parts:
- {id: washer, name: Washer, sits: {on: races}}
- {id: needles, name: Needles, sits: {on: races}}
- {id: races, name: Races, qty: 2}
assembly: [{first: needles, then: washer}]
"""
CAGE = """\
parts:
- {id: cage, name: Cage, sits: {on: races}}
- {id: races, name: Races, qty: 2, sits: {up: polished toward cage}}
"""


@pytest.mark.parametrize(
    ("text", "some"),
    [
        (RINGS, [("rings", "case")]),
        (RACES, [("races", "needles")]),
        (CAGE, [("races", "cage")]),
        (RINGS.replace("qty: 2", "qty: 1"), []),
        (RACES.replace("qty: 2", "qty: set"), []),
        (RACES.replace("assembly: [{first: needles, then: washer}]\n", ""), []),
        (CAGE.replace("polished toward cage", "polished"), []),
        (CAGE.replace("qty: 2", "qty: 5"), []),
    ],
)
def test_pieces_on_either_side_of_a_part_are_not_all_in_before_it(text: str, some: list[tuple[str, str]]) -> None:
    """Rings under a case and on it, races under needles and over them; five springs under a ring are all before it."""
    profile = profile_of(HEAD + text).profile

    assert some == [(edge.first, edge.then) for edge in relations(profile, present(profile)) if edge.some]


@pytest.mark.parametrize("by", ["ring", "behind"])
def test_what_is_held_is_in_before_what_holds_it(by: str) -> None:
    """The pack before its end ring, the bearing before the guide that captures it; the field that says so is named.

    Common practice, no source: a ring in its groove leaves no way for what it holds.
    """
    text = f"parts:\n- {{id: ring, name: Ring}}\n- {{id: pack, name: Pack, held: {{by: {by}, part: ring}}}}\n"
    profile = profile_of(HEAD + text).profile
    (edge,) = relations(profile, present(profile))

    assert (edge.first, edge.then, edge.why) == ("pack", "ring", "it holds Pack")
    assert edge.path == ("parts", 1, "held", "part")


@pytest.mark.parametrize("by", ["loose", "slip", "pressed", "staked", "screwed"])
def test_another_hold_says_nothing_of_the_order(by: str) -> None:
    """A part may be pressed on, or into, the part that it names."""
    text = f"parts:\n- {{id: pack, name: Pack, held: {{by: {by}, part: ring}}}}\n- {{id: ring, name: Ring}}\n"

    assert found(text) == []


def test_a_ring_that_goes_in_with_what_it_holds_is_not_after_it() -> None:
    """Carried by it, or part of it: then it is built before, as all parts of a sub-assembly are."""
    pack = "{id: pack, name: P, held: {by: ring, part: ring}"

    assert found(f"parts:\n- {pack}}}\n- {{id: ring, name: R, carried_by: pack}}\n") == []
    assert found(f"parts:\n- {pack}, parts: [{{id: ring, name: R}}]}}\n") == [("ring", "pack")]


def test_of_two_reasons_the_authors_own_is_the_first() -> None:
    """What a person wrote says more than that one part lies on the other."""
    text = (
        "parts:\n- {id: a, name: A, sits: {on: b}}\n- {id: b, name: B}\nassembly: [{first: b, then: a, because: x}]\n"
    )
    profile = profile_of(HEAD + text).profile

    assert [edge.why for edge in relations(profile, present(profile))] == ["x", "it lies on B"]


def test_the_parts_of_a_sub_assembly_are_built_before_it() -> None:
    """But a part that lies on the outside of its own sub-assembly does not wait for itself."""
    text = "parts:\n- {id: hub, name: Hub, parts: [{id: ring, name: R, sits: {on: hub}}, {id: seal, name: S}]}\n"

    assert found(text) == [("ring", "hub"), ("seal", "hub")]


def test_parts_of_another_version_ask_for_nothing() -> None:
    """A seat or rule that names a part which is not there is no relation."""
    text = "parts:\n- {id: a, name: A, sits: {on: b}}\n- {id: b, name: B}\nassembly: [{first: b, then: a}]\n"

    assert found(text) == [("b", "a"), ("b", "a")]
    assert found(text, without="b") == []


def test_joined_groups_that_share_a_part_are_one() -> None:
    """Three parts in two rules go in together; a group of one part that is left is none."""
    text = (
        "parts:\n" + "".join(f"- {{id: {name}, name: {name.upper()}}}\n" for name in "abcd") + "assembly:\n"
        "- {join: [a, b], as: Lower}\n- {join: [b, c]}\n- {join: [c, d], as: Upper}\n"
    )
    profile = profile_of(HEAD + text).profile

    assert groups(profile, present(profile)) == [("Lower + B + C + Upper", ("a", "b", "c", "d"))]
    assert groups(profile, present(profile, "b")) == [("Upper", ("c", "d"))]


def test_a_place_in_the_tree_is_a_path_of_the_file() -> None:
    """(3, 0) is the first part of the fourth."""
    assert part_path((3, 0)) == ("parts", 3, "parts", 0)


edges = st.lists(st.tuples(st.sampled_from("abcdefgh"), st.sampled_from("abcdefgh")), max_size=16)


@given(edges)
def test_a_ring_is_found_exactly_when_there_is_one(arrows: list[tuple[str, str]]) -> None:
    """Source: networkx, an independent library of graphs. What is found is a ring of the given arrows."""
    nodes = ring(arrows)

    assert bool(nodes) is not nx.is_directed_acyclic_graph(nx.DiGraph(arrows))
    assert set(zip(nodes, nodes[1:] + nodes[:1], strict=True)) <= set(arrows)
    assert len(set(nodes)) == len(nodes)


def test_a_long_chain_needs_no_deep_stack() -> None:
    """50,000 arrows in a row, closed at the end."""
    arrows = [(str(k), str(k + 1)) for k in range(50_000)]

    assert ring(arrows) == []
    assert len(ring([*arrows, ("50000", "0")])) == 50_001

"""The order of assembly: the reverse of the removal, changed only as far as the rules demand."""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.assembly import RuleRing, assembly_order, failing_pairs, partners
from labelkit.calc.steps import teardown
from labelkit.model.profile import Profile
from labelkit.sheets.jobview import JobView
from tests.shop import demo, profile_of, view_of

REMOVED = ["pump", "shim", "thrust", "drum", "hub", "planet", "ring", "nut", "shaft"]


def unit(parts: list[str], rules: str = "") -> Profile:
    listed = "\n".join(f"- {{id: {part}, name: {part}}}" for part in parts)
    return profile_of(f"format: 1\nunit: {{mark: T1, name: Test, up: top}}\nparts:\n{listed}\n{rules}").profile


def order_of(profile: Profile) -> list[str]:
    return [entry.bin.part.id for entry in assembly_order(profile, teardown(profile, {}))]


def test_without_rules_it_is_the_plain_reverse() -> None:
    """What came out last goes in first."""
    profile = unit(REMOVED)

    assert order_of(profile) == REMOVED[::-1]
    assert failing_pairs(profile, teardown(profile, {})) == ()


def test_one_rule_moves_one_part() -> None:
    """The nut goes on after the ring: shaft, ring, nut, planet, and so on; one pair refutes plain reverse.

    Source: worked by hand from the definition of a topological order.
    """
    profile = unit(REMOVED, "assembly:\n- {first: ring, then: nut, because: the nut holds it}\n")

    assert order_of(profile) == ["shaft", "ring", "nut", "planet", "hub", "drum", "thrust", "shim", "pump"]
    assert [(pair.first, pair.then) for pair in failing_pairs(profile, teardown(profile, {}))] == [("7", "8")]


@settings(max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 7), st.integers(0, 7)).filter(lambda pair: pair[0] != pair[1]), max_size=12))
def test_every_rule_holds_or_the_ring_is_named(pairs: list[tuple[int, int]]) -> None:
    """With random rules the order keeps all of them, and is refused exactly when networkx finds a ring."""
    parts = [f"p{k}" for k in range(8)]
    profile = unit(parts)
    rules = tuple({"first": f"p{a}", "then": f"p{b}"} for a, b in pairs)
    profile = Profile.model_validate({**profile.model_dump(by_alias=True), "format": "1", "assembly": list(rules)})

    if not nx.is_directed_acyclic_graph(nx.DiGraph(pairs)):
        with pytest.raises(RuleRing, match="before"):
            order_of(profile)
        return
    places = {part: place for place, part in enumerate(order_of(profile))}
    assert all(places[f"p{a}"] < places[f"p{b}"] for a, b in pairs)


def test_joined_parts_go_in_together() -> None:
    """The three shafts of the marine gear are one group, side by side in the order."""
    view = view_of(demo("marine-gear"))
    groups = [entry.group for entry in view.order]
    places = [place for place, group in enumerate(groups) if group == "Shaft trio"]

    assert [view.order[place].bin.part.id for place in places] == ["ahead-assy", "output-assy", "astern-assy"]
    assert places == list(range(places[0], places[0] + 3))


@pytest.mark.parametrize("side", ["ahead", "astern"])
def test_a_marine_clutch_is_built_from_the_drum_floor_up(side: str) -> None:
    """Piston, springs, circlip, discs, pressure plate, end ring, and only then the shaft goes in.

    Nothing of the other clutch is asked for. Common practice, no source: a part can go in only before the ring that
    holds it.
    """
    view = view_of(demo("marine-gear"))
    places = {entry.bin.part.id: place for place, entry in enumerate(view.order)}
    built = ["clutch-piston", "return-spring", "spring-circlip", "PACK", "pressure-plate", "end-ring"]
    ids = [f"{side}-shaft", *(f"{name}-{side}".replace(f"PACK-{side}", f"{side}-pack") for name in built)]
    ids.append(f"{side}-assy")
    needs = {
        view.teardown.at(need.step).part.id for part in ids[:-1] for need in view.placed[step_of(view, part)][1].needs
    }
    other = {"ahead": "astern", "astern": "ahead"}[side]

    assert [places[part] for part in ids] == sorted(places[part] for part in ids)
    assert not [name for name in needs if other in name]
    removed = [view.teardown.places[step_of(view, part)] for part in ids[:-1]]
    assert removed == sorted(removed, reverse=True)


def step_of(view: JobView, part: str) -> str:
    (found,) = view.teardown.of(part)
    return found.step


def test_the_marine_gear_fails_plain_reverse_by_its_three_shafts() -> None:
    """They came out together and go in together: each hides the next, so that no shaft is first or last."""
    view = view_of(demo("marine-gear"))
    failing = failing_pairs(view.profile, view.teardown)

    names = [(view.teardown.at(pair.first).part.id, view.teardown.at(pair.then).part.id) for pair in failing]
    assert names == [("ahead-assy", "output-assy"), ("output-assy", "astern-assy")]


def test_parts_of_a_group_that_need_each_other_wait_only_for_those_before_them() -> None:
    """Nobody is told to put in first what goes in at once and is listed after it."""
    rules = "- {join: [a, b, c]}\n- {first: a, then: b}\n- {first: b, then: c}\n- {first: c, then: a}\n"
    profile = unit(list("cba"), "assembly:\n" + rules)
    placed = assembly_order(profile, teardown(profile, {}))

    assert [(entry.bin.part.id, [need.step for need in entry.needs]) for entry in placed] == [
        ("a", []),
        ("b", ["3"]),
        ("c", ["2"]),
    ]


@settings(max_examples=60)
@given(st.permutations(range(6)), st.lists(st.integers(0, 5), min_size=6, max_size=6))
def test_what_a_ring_holds_is_always_in_before_it(numbering: list[int], holders: list[int]) -> None:
    """Whatever holds what: removed after its ring, each part goes in before it, and plain reverse stands."""
    parts = [
        f"- {{id: p{k}, name: P"
        + (f", held: {{by: ring, part: p{holder}}}" if numbering.index(holder) < numbering.index(k) else "")
        + "}\n"
        for k in numbering
        for holder in [holders[k]]
    ]
    profile = profile_of(HEAD + "parts:\n" + "".join(parts)).profile
    places = {part: place for place, part in enumerate(order_of(profile))}

    assert order_of(profile) == [f"p{k}" for k in reversed(numbering)]
    assert failing_pairs(profile, teardown(profile, {})) == ()
    for part in profile.parts:
        assert part.holder is None or places[part.id] < places[part.holder]


def test_a_part_that_comes_out_with_its_ring_still_goes_in_before_it() -> None:
    """Lifted as one lump, put in one by one: plain reverse fails, and says why."""
    text = (
        "parts:\n- {id: pack, name: Pack, held: {by: ring, part: ring}, out: {with: ring}}\n- {id: ring, name: Ring}\n"
    )
    profile = profile_of(HEAD + text).profile

    assert order_of(profile) == ["pack", "ring"]
    (pair,) = failing_pairs(profile, teardown(profile, {}))
    assert (pair.first, pair.then, pair.why) == ("1", "2", "it holds Pack")


def test_the_reducer_fails_plain_reverse_by_one_pair() -> None:
    """The sun shaft came out after the brake housing and goes in after it too."""
    view = view_of(demo("planetary-reducer"))
    failing = failing_pairs(view.profile, view.teardown)

    names = [(view.teardown.at(pair.first).part.id, view.teardown.at(pair.then).part.id) for pair in failing]
    assert names == [("brake-housing", "sun-1-21")]


def ids(text: str, **chosen: str | None) -> list[str]:
    """Return the order of assembly as part@step."""
    profile = profile_of(HEAD + text).profile
    return [f"{entry.bin.part.id}@{entry.bin.step}" for entry in assembly_order(profile, teardown(profile, chosen))]


HEAD = "format: 1\nunit: {mark: T1, name: Test, up: top}\n"
arrows = st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11)).filter(lambda pair: pair[0] < pair[1]), max_size=20)


@settings(max_examples=60)
@given(arrows, st.permutations(range(12)))
def test_the_order_is_one_of_networkxs(pairs: list[tuple[int, int]], numbering: list[int]) -> None:
    """Any network of rules without a ring, whatever the removal order, gives the stable topological order.

    Source: networkx' lexicographical_topological_sort with the place in the plain reverse as key.
    """
    pairs = [(numbering[a], numbering[b]) for a, b in pairs]
    parts = [f"p{k}" for k in range(12)]
    rules = "".join(f"- {{first: p{a}, then: p{b}}}\n" for a, b in pairs)
    profile = unit(parts, "assembly:\n" + rules if rules else "")
    graph = nx.DiGraph(pairs)
    graph.add_nodes_from(range(12))
    expected = [f"p{k}" for k in nx.lexicographical_topological_sort(graph, key=lambda k: -k)]

    assert order_of(profile) == expected
    failing = {(pair.first, pair.then) for pair in failing_pairs(profile, teardown(profile, {}))}
    assert failing == {(str(a + 1), str(b + 1)) for a, b in pairs if a < b}
    assert (failing == set()) == (expected == parts[::-1])


@settings(max_examples=40)
@given(arrows, st.permutations(range(12)), st.sets(st.integers(0, 11), min_size=2, max_size=4))
def test_a_group_stays_together_or_the_ring_is_named(
    pairs: list[tuple[int, int]], numbering: list[int], group: set[int]
) -> None:
    """With the group as one node, networkx says whether an order exists; in it the members are neighbours."""
    pairs = [(numbering[a], numbering[b]) for a, b in pairs]
    parts = [f"p{k}" for k in range(12)]
    rules = [{"first": f"p{a}", "then": f"p{b}"} for a, b in pairs]
    joined = {"join": [f"p{k}" for k in sorted(group)], "as": "Group"}
    fields = {**unit(parts).model_dump(by_alias=True), "format": "1", "assembly": [*rules, joined]}
    profile = Profile.model_validate(fields)
    node = {k: min(group) if k in group else k for k in range(12)}
    contracted = nx.DiGraph((node[a], node[b]) for a, b in pairs if node[a] != node[b])

    if not nx.is_directed_acyclic_graph(contracted):
        with pytest.raises(RuleRing):
            order_of(profile)
        return
    places = {part: place for place, part in enumerate(order_of(profile))}
    members = sorted(places[f"p{k}"] for k in group)
    assert members == list(range(members[0], members[0] + len(group)))
    assert all(places[f"p{a}"] < places[f"p{b}"] for a, b in pairs)


def test_a_group_keeps_its_listed_order_where_no_rule_speaks() -> None:
    """Rules between members hold; the rest is as the author listed it."""
    profile = unit(list("abcd"), "assembly:\n- {join: [a, b, c]}\n- {first: c, then: a}\n")

    assert order_of(profile) == ["d", "b", "c", "a"]


def test_parts_that_need_each_other_go_in_as_a_group() -> None:
    """A ring inside a group is why it is one: listed order, and no error."""
    profile = unit(list("abcd"), "assembly:\n- {join: [a, b]}\n- {first: a, then: b}\n- {first: b, then: a}\n")

    assert order_of(profile) == ["d", "c", "a", "b"]


def test_a_carried_part_does_not_wait_for_its_carrier() -> None:
    """A cone pressed on its shaft lies on it, but goes in with it: plain reverse, nothing to wait for."""
    parts = "parts:\n- {id: cone, name: Cone, sits: {on: shaft}CARRIED}\n- {id: seal, name: Seal}\n"
    parts += "- {id: shaft, name: Shaft}\nassembly: [{first: cone, then: seal}]\n"
    waits, carried = (
        assembly_order(profile, teardown(profile, {}))
        for text in ("", ", carried_by: shaft")
        for profile in [profile_of(HEAD + parts.replace("CARRIED", text)).profile]
    )

    assert [need.step for entry in waits if entry.bin.part.id == "cone" for need in entry.needs] == ["3"]
    assert [need.step for entry in carried if entry.bin.part.id == "cone" for need in entry.needs] == []


def test_what_must_be_in_first_says_why() -> None:
    """Seat, sub-assembly and rule, each in its own words."""
    text = (
        "parts:\n- {id: cover, name: Cover, sits: {on: hub}}\n"
        "- {id: hub, name: Hub, parts: [{id: seal, name: Seal}]}\n- {id: ring, name: Ring}\n"
        "assembly: [{first: ring, then: cover, because: it is hidden afterwards}]\n"
    )
    profile = profile_of(HEAD + text).profile
    placed = {entry.bin.part.id: entry.needs for entry in assembly_order(profile, teardown(profile, {}))}

    assert {(need.step, need.why) for need in placed["cover"]} == {
        ("2", "it lies on Hub"),
        ("3", "it is hidden afterwards"),
    }
    assert [(need.step, need.why) for need in placed["hub"]] == [("2.1", "it belongs to Hub")]


def test_a_captured_part_hands_on_what_it_waits_for() -> None:
    """It has no bin; who waits for it waits for what it lies on."""
    text = (
        "parts:\n- {id: cap, name: Cap, sits: {on: race}}\n"
        "- {id: race, name: Race, held: {by: behind, part: cap}, sits: {on: hub}}\n- {id: hub, name: Hub}\n"
    )
    profile = profile_of(HEAD + text).profile
    placed = assembly_order(profile, teardown(profile, {}))

    assert [(entry.bin.part.id, [need.step for need in entry.needs]) for entry in placed] == [
        ("hub", []),
        ("cap", ["2"]),
    ]


PACKS = """\
parts:
- id: core
  name: Core
  used: 2
  parts:
  - id: pack
    name: Pack
    used: 2
    parts: [{id: plate, name: Plate, sits: {on: spring}}, {id: spring, name: Spring}]
  - {id: ring, name: Ring}
"""


def test_each_copy_is_built_before_it_goes_in_and_waits_for_no_other() -> None:
    """Two cores with two packs each: plain reverse is valid, copy by copy, at both depths."""
    expected = (
        "ring@2.3 spring@2.2.2 plate@2.2.1 pack@2.2 spring@2.1.2 plate@2.1.1 pack@2.1 core@2 "
        "ring@1.3 spring@1.2.2 plate@1.2.1 pack@1.2 spring@1.1.2 plate@1.1.1 pack@1.1 core@1"
    )
    profile = profile_of(HEAD + PACKS).profile

    assert ids(PACKS) == expected.split()
    assert failing_pairs(profile, teardown(profile, {})) == ()


def test_a_rule_inside_a_copied_sub_assembly_holds_in_each_copy() -> None:
    """The ring of one core does not wait for the packs of the other."""
    text = PACKS + "assembly: [{first: pack, then: ring, because: it holds both}]\n"
    profile = profile_of(HEAD + text).profile
    placed = {
        entry.bin.step: [need.step for need in entry.needs] for entry in assembly_order(profile, teardown(profile, {}))
    }

    assert (sorted(placed["1.3"]), sorted(placed["2.3"])) == (["1.1", "1.2"], ["2.1", "2.2"])
    pairs = {(pair.first, pair.then) for pair in failing_pairs(profile, teardown(profile, {}))}
    assert pairs == {("1.1", "1.3"), ("1.2", "1.3"), ("2.1", "2.3"), ("2.2", "2.3")}


def test_a_group_inside_a_copied_sub_assembly_is_one_in_each_copy() -> None:
    """Two cores, two groups, each with the number of its parts; neither takes parts of the other."""
    text = "parts: [{id: core, name: Core, used: 2, parts: [{id: a, name: A}, {id: b, name: B}]}]\n"
    profile = profile_of(HEAD + text + "assembly: [{join: [a, b], as: Pair}]\n").profile
    placed = [(entry.bin.step, entry.group) for entry in assembly_order(profile, teardown(profile, {}))]

    assert placed == [
        ("2.1", "Pair (2 of 2)"),
        ("2.2", "Pair (2 of 2)"),
        ("2", None),
        ("1.1", "Pair (1 of 2)"),
        ("1.2", "Pair (1 of 2)"),
        ("1", None),
    ]


def test_two_parts_used_equally_often_go_in_pairs() -> None:
    """The first circlip waits for the first hub only."""
    text = "parts:\n- {id: clip, name: Clip, used: 2, sits: {on: hub}}\n- {id: hub, name: Hub, used: 2}\n"
    profile = profile_of(HEAD + text).profile

    needs = {
        entry.bin.step: [need.step for need in entry.needs] for entry in assembly_order(profile, teardown(profile, {}))
    }
    assert needs == {"4": [], "3": [], "2": ["4"], "1": ["3"]}


def test_an_open_option_can_make_a_ring_and_is_named() -> None:
    """Two versions with opposite orders: with both on the paper no order exists until one is chosen."""
    text = (
        "options: {end: {name: End, choices: {plain: Plain, sealed: Sealed}}}\nparts:\n"
        "- {id: a, name: A}\n- {id: b, name: B}\n"
        "- {id: p, name: P, only: {end: plain}}\n- {id: s, name: S, only: {end: sealed}}\n"
        "assembly: [{first: a, then: p}, {first: p, then: b}, {first: b, then: s}, {first: s, then: a}]\n"
    )

    assert ids(text, end="plain") == ["a@1", "p@3", "b@2"]
    assert ids(text, end="sealed") == ["b@2", "s@3", "a@1"]
    with pytest.raises(RuleRing, match="a before p before b before s before a; the option end is open: choose it"):
        ids(text, end=None)


def test_a_group_goes_in_where_its_last_removed_part_would() -> None:
    """Whatever part the author lists first: c came out last, so the group with c goes in first."""
    assert order_of(unit(list("abc"), "assembly: [{join: [a, c]}]\n")) == ["a", "c", "b"]


def test_the_partners_of_a_copy_are_those_of_its_own_copy() -> None:
    """The spring of the second core has to do with the ring of the second core, and with the one housing."""
    text = (
        "parts:\n- {id: core, name: Core, used: 2, parts: [{id: ring, name: R}, {id: spring, name: S}]}\n"
        "- {id: housing, name: H}\n"
    )
    removal = teardown(profile_of(HEAD + text).profile, {})

    def steps(step: str, part: str) -> list[str]:
        return [each.step for each in partners(removal, removal.at(step), part)]

    assert (steps("1.2", "ring"), steps("2.2", "ring")) == (["1.1"], ["2.1"])
    assert (steps("2.2", "core"), steps("2", "ring")) == (["2"], ["2.1"])
    assert (steps("2.2", "housing"), steps("3", "ring"), steps("3", "none")) == (["3"], ["1.1", "2.1"], [])


def test_the_partners_of_two_on_two_pair_off() -> None:
    """The second circlip has to do with the second hub."""
    text = "parts:\n- {id: clip, name: Clip, used: 2, sits: {on: hub}}\n- {id: hub, name: Hub, used: 2}\n"
    removal = teardown(profile_of(HEAD + text).profile, {})

    assert [each.step for each in partners(removal, removal.at("2"), "hub")] == ["4"]

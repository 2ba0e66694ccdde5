"""The order of assembly: the reverse of the removal, changed only as far as the rules demand."""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.assembly import RuleRing, assembly_order, failing_pairs
from labelkit.calc.steps import teardown
from labelkit.model.profile import Profile
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


def test_the_reducer_fails_plain_reverse_by_one_pair() -> None:
    """The sun shaft came out after the brake housing and goes in after it too."""
    view = view_of(demo("planetary-reducer"))
    failing = failing_pairs(view.profile, view.teardown)

    names = [(view.teardown.at(pair.first).part.id, view.teardown.at(pair.then).part.id) for pair in failing]
    assert names == [("brake-housing", "sun-1-21")]

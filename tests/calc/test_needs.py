"""The order: one line for each number, in packs, less the shelf, priced; and what a shortage stops."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Mapping
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.calc.assembly import assembly_order
from labelkit.calc.needs import Line, Needs, Way, findings, reduced, roll_up
from labelkit.calc.pulling import Finding, Verdict
from labelkit.calc.shortage import shortage
from labelkit.calc.steps import choose, teardown
from labelkit.errors import UsageError
from labelkit.model.catalogue import NO_CATALOGUE, Catalogue, CatalogueEntry, Money
from labelkit.model.profile import Profile
from labelkit.sheets.jobview import JobView
from tests.needoracle import OPTIONS, count, units
from tests.shop import ROOT, demo, profile_of, view_of

HEAD = "format: 1\nunit: {mark: T1, name: Test, up: top}\n"
Verdicts = Mapping[str, Verdict | Finding]


def entries(*listed: CatalogueEntry, currency: str | None = None) -> Catalogue:
    return Catalogue({entry.number: entry for entry in listed}, currency)


def euro(amount: str) -> Money:
    return Money(Decimal(amount), "EUR")


def order_of(
    view: JobView, verdicts: Verdicts | None = None, catalogue: Catalogue = NO_CATALOGUE, **given_: Any
) -> Needs:
    found = findings(view.profile, view.teardown, verdicts or {})
    return roll_up(view.profile, view.teardown, view.order, found=found, catalogue=catalogue, **given_)


def needs_of(text: str, verdicts: Verdicts | None = None, catalogue: Catalogue = NO_CATALOGUE, **given_: Any) -> Needs:
    return order_of(view_of(profile_of(HEAD + text)), verdicts, catalogue, **given_)


def line_of(needs: Needs, number: str) -> Line:
    return next(line for line in needs.lines if line.number == number)


def only_way(line: Line) -> Way:
    (way,) = line.ways
    assert way.when == ()
    return way


# ---------------------------------------------------------------- worked by hand


def order(way: Way) -> tuple[int, int, int | None, int]:
    return way.need, way.short, way.packs, way.spare


def test_a_size_used_at_two_places_is_one_line() -> None:
    """1 + 2 O-rings, 1 on the shelf, packs of 5: short of 2, one pack, 3 left over. Common practice, no source."""
    text = """parts:
- {id: cover-ring, name: "O-ring 212 x 3.55", number: R, pack: 5, renew: always}
- {id: cover, name: Cover}
- {id: housing-rings, name: "O-ring 212 x 3.55", qty: 2, number: R, pack: 5, renew: always}
"""
    (line,) = needs_of(text, {}, entries(CatalogueEntry("R", shelf=1))).lines

    assert order(only_way(line)) == (3, 2, 1, 3)
    assert [(use.part.id, use.pieces) for use in line.uses] == [("housing-rings", 2), ("cover-ring", 1)]


def test_a_sub_assembly_used_twice_needs_its_seal_twice() -> None:
    """1 x 2 = 2 seals, 1 on the shelf, sold singly: 1. Common practice, no source."""
    text = "parts:\n- {id: clutch, name: Clutch, used: 2, parts: [{id: seal, name: Seal, number: S, renew: always}]}\n"
    (line,) = needs_of(text, {}, entries(CatalogueEntry("S", shelf=1))).lines

    assert order(only_way(line)) == (2, 1, 1, 0)
    assert [use.name for use in line.uses] == ["Seal (2 of 2)", "Seal (1 of 2)"]


@pytest.mark.parametrize(
    ("need", "pack", "shelf", "expected"),
    [
        (6, 3, 0, (6, 6, 2, 0)),  # sealing rings in threes
        (6, 7, 5, (6, 1, 1, 6)),  # frictions in sevens, five on the shelf
        (6, 7, 6, (6, 0, 0, 0)),
        (6, 7, 99, (6, 0, 0, 0)),
        (8, 7, 0, (8, 8, 2, 6)),
        (1, 1, 0, (1, 1, 1, 0)),
    ],
)
def test_packs_are_rounded_up(need: int, pack: int, shelf: int, expected: tuple[int, int, int, int]) -> None:
    """What is short goes up to whole packs; common practice, no source."""
    text = f"parts:\n- {{id: p, name: P, qty: {need}, number: N, pack: {pack}, renew: always}}\n"
    (line,) = needs_of(text, {}, entries(CatalogueEntry("N", shelf=shelf))).lines

    assert order(only_way(line)) == expected


@given(need=st.integers(1, 9999), pack=st.integers(1, 9999), shelf=st.integers(0, 20_000), supplied=st.integers(0, 99))
def test_packs_cover_the_need_and_no_pack_is_too_many(need: int, pack: int, shelf: int, supplied: int) -> None:
    """Shelf, coming and packs together reach the need; with one pack less they do not."""
    text = {"id": "p", "name": "P", "qty": str(need), "number": "N", "renew": "always"}
    profile = Profile.model_validate({"format": "1", "unit": {"mark": "T1", "name": "T", "up": "t"}, "parts": [text]})
    removal = teardown(profile, {})
    catalogue = entries(CatalogueEntry("N", pack=pack, shelf=shelf, price=euro("0.10")), currency="EUR")
    needs = roll_up(
        profile,
        removal,
        assembly_order(profile, removal),
        catalogue=catalogue,
        supplied=lambda line: {"N": supplied, "M": 7}.get(str(line.number), 0),
    )
    way = only_way(needs.lines[0])

    assert way.packs is not None
    assert shelf + supplied + way.packs * pack >= need
    assert way.packs == 0 or shelf + supplied + (way.packs - 1) * pack < need
    assert way.spare == way.packs * pack - way.short
    assert needs.totals[0].cost == way.cost == Money(Decimal(way.packs) / 10, "EUR")


# ---------------------------------------------------------------- against another way of counting


def _profile(parts: list[Any]) -> Profile:
    choices = {
        group: {"name": group, "choices": {choice: choice for choice in choices}} for group, choices in OPTIONS.items()
    }
    unit = {"mark": "T1", "name": "Test", "up": "top"}
    return Profile.model_validate({"format": "1", "unit": unit, "options": choices, "parts": parts})


def _counted(needs: Needs, chosen: Mapping[str, str]) -> tuple[Counter[str], set[str]]:
    """Return what an order comes to under one choice of all options, in the words of the oracle."""
    bit = needs.ways.index(tuple((group, chosen[group]) for group, _ in needs.ways[0]))
    counted: Counter[str] = Counter()
    open_ = set()
    for line in needs.lines:
        key = line.number or f"id {line.uses[0].part.id}"
        told = [way.need for way in line.ways if all(chosen[group] == choice for group, choice in way.when)]
        assert len(told) == bool(line.ways)
        counted[key] += sum(told)
        if any(use.pieces is None and use.ways >> bit & 1 for use in line.uses):
            open_.add(key)
    return +counted, open_


@settings(max_examples=50)
@given(units())
def test_the_order_is_what_counting_piece_by_piece_gives(unit: tuple[list[Any], dict[Any, str]]) -> None:
    """Under every choice of options, chosen and left open; none is lost or doubled when the options change."""
    parts, verdicts = unit
    profile = _profile(parts)
    open_needs = _rolled(profile, {}, verdicts)
    for choices in itertools.product(*OPTIONS.values()):
        chosen = dict(zip(OPTIONS, choices, strict=True))
        expected = count(parts, chosen, verdicts)

        assert _counted(_rolled(profile, chosen, verdicts), chosen) == expected
        assert _counted(open_needs, chosen) == expected


def _rolled(profile: Profile, chosen: dict[str, str], verdicts: dict[Any, str]) -> Needs:
    removal = teardown(profile, choose(profile, chosen))
    paths: dict[int, Any] = {}
    turns: dict[tuple[Any, str], int] = {}
    by_step: dict[str | None, Any] = {None: ()}
    # The path of each bin: that of its sub-assembly, its own id, and which one it is there.
    for each in removal.bins:
        above = by_step[each.parent]
        turn = turns.get((above, each.part.id), 0)
        turns[above, each.part.id] = turn + 1
        by_step[each.step] = paths[each.ordinal] = (*above, (each.part.id, turn))
    for captured in removal.inside:
        paths[captured.ordinal] = (*by_step[captured.parent], (captured.part.id, 0))
    found = {ordinal: Finding(verdicts[path]) for ordinal, path in paths.items() if path in verdicts}  # type: ignore[arg-type]
    return roll_up(profile, removal, assembly_order(profile, removal), found=found)


# ---------------------------------------------------------------- open options

EITHER = """options:
  end: {name: End, choices: {flange: Flange, splined: Splined}}
parts:
- {id: cone-f, name: Cone, number: C, renew: always, only: {end: flange}}
- {id: cone-s, name: Cone, number: C, renew: always, only: {end: splined}}
- {id: seal-f, name: Flange seal, number: SF, renew: always, only: {end: flange}}
- {id: rings-s, name: Ring, qty: 4, number: R, pack: 5, renew: always, only: {end: splined}}
- {id: ring, name: Ring, qty: 2, number: R, pack: 5, renew: always}
"""
PRICES = entries(
    CatalogueEntry("C", price=euro("90.00")),
    CatalogueEntry("SF", price=euro("12.35")),
    CatalogueEntry("R", pack=5, price=euro("3.10")),
    currency="EUR",
)


def test_an_open_option_is_listed_either_way_and_priced_both_ways() -> None:
    """Two rings or six, one pack or two; a seal or none: 105.45 or 96.20."""
    needs = needs_of(EITHER, {}, PRICES)
    flange, splined = (("end", "flange"),), (("end", "splined"),)

    assert [(way.when, way.need, way.packs, way.cost) for way in line_of(needs, "R").ways] == [
        (flange, 2, 1, euro("3.10")),
        (splined, 6, 2, euro("6.20")),
    ]
    assert [(way.when, way.need, way.packs) for way in line_of(needs, "SF").ways] == [(flange, 1, 1), (splined, 0, 0)]
    assert [(each.when, each.cost, each.unpriced) for each in needs.totals] == [
        (flange, euro("105.45"), ()),
        (splined, euro("96.20"), ()),
    ]


def test_one_number_for_both_choices_is_needed_once() -> None:
    """Whichever end it is, it has one cone of this number: nothing is doubtful but where it goes."""
    needs = needs_of(EITHER)
    line = line_of(needs, "C")

    assert only_way(line).need == 1
    assert [needs.when(use) for use in line.uses] == [((("end", "splined"),),), ((("end", "flange"),),)]


def test_a_chosen_option_has_one_total() -> None:
    """No line depends on anything."""
    needs = order_of(view_of(profile_of(HEAD + EITHER), {"end": "splined"}), {}, PRICES)

    assert [(each.when, each.cost) for each in needs.totals] == [((), euro("96.20"))]
    assert all(len(line.ways) == 1 for line in needs.lines)


@given(st.lists(st.integers(0, 3), min_size=12, max_size=12))
def test_reduced_choices_say_the_same_as_all_of_them(values: list[int]) -> None:
    """Every way finds its own value among the reduced ones, exactly once."""
    ways = [tuple(zip("abc", each, strict=True)) for each in itertools.product("12", "123", "45")]

    told = reduced(ways, values)

    for way, value in zip(ways, values, strict=True):
        assert [each for when, each in told if set(when) <= set(way)] == [value]


# ---------------------------------------------------------------- what the catalogue adds

SEAL = "parts:\n- {id: seal, name: Seal, number: G2-11, pack: 2, renew: always}\n- {id: pin, name: Pin}\n"


def test_the_catalogue_knows_packs_and_names_better() -> None:
    """Its pack and name are taken; that the profile says otherwise is told."""
    (line,) = needs_of(SEAL, {}, entries(CatalogueEntry("G2-11", "Lip seal 45", pack=10))).lines

    assert (line.name, line.pack) == ("Lip seal 45", 10)
    assert line.notes == ("the profile says packs of 2; counted in packs of 10",)


def test_two_pack_sizes_of_one_number_are_told() -> None:
    """Of two in the profile the smaller is taken: so many packs are enough in any case."""
    text = SEAL.replace("- {id: pin, name: Pin}", "- {id: other, name: Seal, number: G2-11, pack: 5, renew: always}")
    (line,) = needs_of(text).lines

    assert (line.pack, line.notes) == (2, ("the profile says packs of 2 and 5; counted in packs of 2",))


def test_a_price_of_an_unknown_pack_is_asked_about() -> None:
    """One price, and packs of two by the profile alone."""
    (line,) = needs_of(SEAL, {}, entries(CatalogueEntry("G2-11", price=euro("4")), currency="EUR")).lines

    assert line.notes == ("the catalogue does not say what its price buys: a pack of 2 is taken",)


def test_a_number_that_is_not_in_the_catalogue_is_told() -> None:
    """With the one that it probably is; where nothing is priced there is no total."""
    needs = needs_of(SEAL, {}, entries(CatalogueEntry("g2 11", price=euro("4")), currency="EUR"))

    assert needs.lines[0].notes == ("not in the catalogue; it has g2 11: the same?",)
    assert [(each.cost, each.unpriced) for each in needs.totals] == [(None, ("Seal",))]


def test_a_part_without_a_number_has_a_line_of_its_own() -> None:
    """Two of them are two lines, and both are told; nothing of the catalogue is theirs."""
    needs = needs_of("parts:\n- {id: a, name: A, renew: always}\n- {id: b, name: B, qty: 2, renew: always}\n")

    assert [(line.number, line.name, only_way(line).need) for line in needs.lines] == [(None, "B", 2), (None, "A", 1)]
    assert {line.notes for line in needs.lines} == {("the order number is not recorded",)}


def test_what_is_on_the_shelf_costs_nothing_and_leaves_nothing_open() -> None:
    """A line that needs no pack has no price to know."""
    needs = needs_of(SEAL, {}, entries(CatalogueEntry("G2-11", shelf=4)))

    assert [(each.cost, each.unpriced) for each in needs.totals] == [(None, ())]


def test_a_set_is_as_needed_and_never_priced() -> None:
    """Nobody knows how many; pieces of the same number elsewhere are counted."""
    text = """parts:
- {id: shims, name: Shims, qty: set, number: N, renew: always}
- {id: shim, name: Shim, number: N, renew: always}
- {id: wool, name: Wool, qty: set, number: W, renew: always}
"""
    needs = needs_of(text, {}, entries(CatalogueEntry("N", price=euro("2")), currency="EUR"))

    assert line_of(needs, "N").as_needed
    assert only_way(line_of(needs, "N")).need == 1
    assert line_of(needs, "W").ways == ()
    assert [(each.cost, set(each.unpriced)) for each in needs.totals] == [(euro("2"), {"Wool", "Shim / Shims"})]


def test_graded_parts_wait_for_their_size_with_all_numbers_listed() -> None:
    """Two rings of one series are one line until they are measured, then one line each."""
    text = """series: {ring: {sizes: ["3.0", "3.2"], numbers: {"3.0": R30, "3.2": R32}}}
parts:
- {id: ahead, name: Ring ahead, series: ring, renew: always}
- {id: astern, name: Ring astern, series: ring, renew: always}
"""
    view = view_of(profile_of(HEAD + text))
    (line,) = order_of(view).lines
    assert line.sizes == (("3.0 mm", "R30"), ("3.2 mm", "R32"))
    assert order(only_way(line)) == (2, 2, None, 0)

    sizes = {view.teardown.of(part)[0].ordinal: [Decimal(size)] for part, size in (("ahead", "3.2"), ("astern", "3"))}
    chosen = order_of(view, sizes=sizes)
    assert [(line.number, line.name, only_way(line).need) for line in chosen.lines] == [
        ("R30", "Ring astern, 3.0 mm", 1),
        ("R32", "Ring ahead, 3.2 mm", 1),
    ]


def test_money_is_never_mixed() -> None:
    """A catalogue with a price in another currency is refused before anything is added."""
    with pytest.raises(UsageError, match="N is priced in USD, the catalogue in EUR"):
        entries(CatalogueEntry("N", price=Money(Decimal(1), "USD")), currency="EUR")


# ---------------------------------------------------------------- verdicts by name


def test_a_verdict_is_given_by_step_by_id_or_by_copy() -> None:
    """All three name the same place; a copy must be named where there are several."""
    view = view_of(profile_of(HEAD + "parts:\n- {id: core, name: Core, used: 2, parts: [{id: seal, name: Seal}]}\n"))
    find = partial(findings, view.profile, view.teardown)
    second = view.teardown.at("2.1").ordinal

    assert find({"2.1": "lost"}) == find({"seal/2": "lost"})
    assert find({"seal/2": "lost"}) == {second: Finding("lost")}
    with pytest.raises(UsageError, match='"seal": names 2 places; allowed: seal/1, seal/2'):
        find({"seal": "lost"})
    with pytest.raises(UsageError, match='"seal/3": there is no such step or part; allowed: seal/1, seal/2'):
        find({"seal/3": "lost"})
    with pytest.raises(UsageError, match="did you mean seal"):
        find({"saal": "lost"})


def test_a_verdict_is_one_of_three_and_stands_once() -> None:
    """A slip of the word and two words for one place are told."""
    view = view_of(profile_of(HEAD + SEAL))

    with pytest.raises(UsageError, match=r'seal: found "condemmed"; allowed: ok, condemned, lost; did you mean cond'):
        findings(view.profile, view.teardown, {"seal": "condemmed"})  # type: ignore[dict-item]
    with pytest.raises(UsageError, match="seal: Seal has two verdicts; keep one"):
        findings(view.profile, view.teardown, {"1": "ok", "seal": "lost"})


# ---------------------------------------------------------------- shortage

BENCH = """assembly:
- {join: [housing, hub], as: Brake core}
parts:
- {id: cover, name: Cover, number: C, renew: always}
- {id: hub, name: Hub}
- id: housing
  name: Housing
  parts:
  - {id: guide, name: Guide, number: G, one_time: true, renew: {with: bearing}, held: {by: staked}}
  - {id: bearing, name: Bearing, number: B, held: {by: behind, part: guide}}
- {id: stage, name: Stage, parts: [{id: pin, name: Pin, number: P, renew: always}]}
- {id: ring, name: Ring, number: C, renew: always}
"""


def test_a_shortage_names_the_first_step_it_blocks_and_what_can_still_be_built() -> None:
    """The bearing and guide are missing: the housing waits, and the core with it; the stage can be built."""
    view = view_of(profile_of(HEAD + BENCH))
    short = shortage(order_of(view, {"bearing": "condemned"}), view.order, {"C": 2, "P": 1})

    assert [(each.use.part.id, each.pieces, each.use.step) for each in short.missing] == [
        ("guide", 1, "3.1"),
        ("bearing", 1, "3.1"),
    ]
    assert [(group.name, group.joined, len(group.missing)) for group in short.groups] == [
        ("Stage", False, 0),
        ("Housing", False, 2),
        ("Brake core", True, 2),
    ]


def test_pieces_go_to_the_step_that_needs_them_first() -> None:
    """One of two is there: the ring goes in long before the cover, which waits."""
    view = view_of(profile_of(HEAD + BENCH))
    short = shortage(order_of(view), view.order, {"C": 1, "P": 9})

    assert [(each.use.part.id, each.pieces) for each in short.missing] == [("cover", 1)]


def test_pieces_staged_at_their_place_are_not_taken_from_it() -> None:
    """The cover's own is on its tray: the one on the shelf is the ring's."""
    view = view_of(profile_of(HEAD + BENCH))
    cover = view.teardown.of("cover")[0].ordinal
    needs = order_of(view)

    assert shortage(needs, view.order, {"C": 1, "P": 1}, {(cover, None): 1}).missing == ()
    missing = shortage(needs, view.order, {"P": 1}, {(cover, None): 5}).missing
    assert [each.use.part.id for each in missing] == ["ring"]


def test_a_doubtful_part_is_missing_under_its_own_choice() -> None:
    """Of two rings for six places the first two go to the ring that is always there."""
    view = view_of(profile_of(HEAD + EITHER))
    missing = shortage(order_of(view), view.order, {"R": 2, "C": 1, "SF": 1}).missing

    assert [(each.use.part.id, each.pieces, each.when) for each in missing] == [
        ("rings-s", 4, (("end", "splined"),)),
    ]


def test_what_has_no_size_yet_is_missing_until_some_of_it_came() -> None:
    """A set is unsettled only; a graded part must come whatever is chosen, and so must a set of graded pieces."""
    text = """series: {ring: {sizes: ["3.0"]}}
parts:
- {id: ring, name: Ring, series: ring, renew: always}
- {id: shims, name: Shims, qty: set, renew: always}
- {id: spacers, name: Spacers, qty: set, series: ring, renew: always}
"""
    view = view_of(profile_of(HEAD + text))
    ring, spacers = (view.teardown.of(part)[0].ordinal for part in ("ring", "spacers"))

    def missing(came: dict[tuple[int, Decimal | None], int]) -> list[tuple[str, int | None]]:
        short = shortage(order_of(view), view.order, {}, came)
        assert [use.part.id for use in short.unsettled] == ["spacers", "shims", "ring"]
        return [(each.use.part.id, each.pieces) for each in short.missing]

    assert missing({}) == [("spacers", None), ("ring", 1)]
    assert missing({(ring, Decimal(3)): 1}) == [("spacers", None)]
    assert missing({(ring, None): 1, (spacers, None): 1}) == []


# ---------------------------------------------------------------- the demo units


def _in_file(unit: str, chosen: Mapping[str, str]) -> Counter[str]:
    """Count what a demo unit always needs straight from its file; none of its sub-assemblies is there twice."""
    tree = yaml.load((Path(ROOT) / "unit_profiles" / f"{unit}.yaml").read_text("utf-8"), Loader=yaml.BaseLoader)
    counted: Counter[str] = Counter()
    waiting = list(tree["parts"])
    while waiting:
        part = waiting.pop()
        if any(chosen[group] != choice for group, choice in part.get("only", {}).items()):
            continue
        waiting += part.get("parts", [])
        if part["renew"] == "always" if "renew" in part else False:
            counted[part["number"]] += int(part.get("qty", "1"))
    return counted


@pytest.mark.parametrize(
    ("unit", "chosen"),
    [
        ("planetary-reducer", {"ratio": "i16-8", "brake": "b12", "output": "flange", "breather": "std"}),
        ("planetary-reducer", {"ratio": "i22-0", "brake": "b16", "output": "splined", "breather": "remote"}),
        ("marine-gear", {"ratio": "r2-00", "pto": "none", "trolling": "blank"}),
        ("marine-gear", {"ratio": "r2-45", "pto": "pump", "trolling": "fitted"}),
    ],
)
def test_what_a_demo_unit_always_needs_is_what_its_file_says(unit: str, chosen: dict[str, str]) -> None:
    """Counted from the YAML by other code; every line has one sure count."""
    needs = order_of(view_of(demo(unit), chosen))

    assert {line.number: only_way(line).need for line in needs.lines} == dict(_in_file(unit, chosen))


def test_reducer_o_ring_is_ordered_once_for_both_places() -> None:
    """Input cover 1, ring-gear housing 2, one on the shelf: one pack of 5. By hand from the profile."""
    view = view_of(demo("planetary-reducer"))
    line = line_of(order_of(view, {}, entries(CatalogueEntry("G2B-1107", shelf=1))), "G2B-1107")

    assert order(only_way(line)) == (3, 2, 1, 3)
    assert {use.part.id: use.pieces for use in line.uses} == {"cover-oring": 1, "ring-oring": 2}


def test_reducer_needs_twelve_new_through_bolts() -> None:
    """Sold singly; a used one is not fitted again; of another ratio nothing is lost. By hand from the profile."""
    line = line_of(order_of(view_of(demo("planetary-reducer"))), "G2B-1207")

    assert order(only_way(line)) == (12, 12, 12, 0)
    with pytest.raises(UsageError, match='"planet-1-30": the unit has none of it under the options of this job'):
        order_of(view_of(demo("planetary-reducer")), {"planet-1-30": "lost"})


def test_reducer_rejected_input_bearing() -> None:
    """It pulls circlip and guide ring, which block the brake core; first stage and output side can go on."""
    view = view_of(demo("planetary-reducer"))
    needs, before = order_of(view, {"input-bearing": "condemned"}), order_of(view)
    more = {line.number for line in needs.lines} - {line.number for line in before.lines}
    assert more == {"G2B-1209", "G2B-1210", "G2B-1211"}

    have = {str(line.number): 99 for line in before.lines}
    short = shortage(needs, view.order, have)
    blocked = {group.name for group in short.groups if group.missing}
    assert blocked == {"Brake housing", "Brake core"}
    assert {"First stage", "Output shaft, flange", "Output housing"} <= {group.name for group in short.groups} - blocked
    assert view.teardown.at(str(short.missing[0].use.step)).part.id == "oil-guide-ring"


def test_reducer_springs_depend_on_the_brake() -> None:
    """12 or 16 in packs of 4, 3 or 4 packs, when a set is condemned; only one of the two sets is ever there."""
    for choice, expected in (("b12", (12, 12, 3, 0)), ("b16", (16, 16, 4, 0))):
        view = view_of(demo("planetary-reducer"), {"brake": choice})
        needs = order_of(view, {f"brake-springs-{choice[1:]}": "condemned"})
        assert order(only_way(line_of(needs, "G2B-1121"))) == expected


def test_marine_gear_shares_its_clutch_parts() -> None:
    """Hook rings 3 + 3 in packs of 3; piston seals 1 + 1, one on the shelf. By hand from the profile."""
    view = view_of(demo("marine-gear"))
    needs = order_of(view, {}, entries(CatalogueEntry("MR3-2155", shelf=1)))

    assert order(only_way(line_of(needs, "MR3-2138"))) == (6, 6, 2, 0)
    assert order(only_way(line_of(needs, "MR3-2155"))) == (2, 1, 1, 0)


def test_marine_gear_frictions_of_one_clutch() -> None:
    """Six condemned, five on the shelf, packs of 7: one pack, six left over. By hand from the profile."""
    view = view_of(demo("marine-gear"))
    needs = order_of(view, {"friction-astern": "condemned"}, entries(CatalogueEntry("MR3-2136", shelf=5)))

    assert order(only_way(line_of(needs, "MR3-2136"))) == (6, 1, 1, 6)


def test_marine_gear_output_gear_brings_its_pinions() -> None:
    """The three gears are matched: condemning one orders all; a cone brings its cup and no other."""
    view = view_of(demo("marine-gear"))
    needs = order_of(view, {"ahead-pinion-23": "condemned", "large-cone-ahead": "condemned"})
    pairs = [use.part.id for use in needs.uses if use.reason == "pair"]

    assert sorted(pairs) == ["astern-pinion-23", "large-cup-ahead", "output-gear-46"]
    assert only_way(line_of(needs, "MR3-2127")).need == 1


def test_lines_stand_by_the_step_that_needs_them_first() -> None:
    """The same twice, and never an earlier step behind a later one."""
    view = view_of(demo("marine-gear"))
    needs = order_of(view)
    places = [line.uses[0].position for line in needs.lines]

    assert places == sorted(places)
    assert needs == order_of(view)

"""What must be new, and why: reasons, what one part pulls after it, captured parts, pairs, options and sizes."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import pytest

from labelkit.calc.assembly import assembly_order
from labelkit.calc.needs import findings
from labelkit.calc.pulling import MOST_WAYS, Finding, Tree, Verdict
from labelkit.calc.renewal import Renewal, Use, renewal
from labelkit.calc.steps import choose, teardown
from labelkit.errors import UsageError
from labelkit.model.profile import Profile
from tests.shop import profile_of
from tests.walk import Walk

HEAD = "format: 1\nunit: {mark: T1, name: Test, up: top}\n"


def renew(
    text: str,
    verdicts: Mapping[str, Verdict | Finding] | None = None,
    sizes: Mapping[str, list[str]] | None = None,
    **options: str,
) -> Renewal:
    """Return what must be new of a unit whose parts (and more) are written in a test."""
    profile = profile_of(HEAD + text).profile
    removal = teardown(profile, choose(profile, options))
    chosen = {removal.of(part)[0].ordinal: [Decimal(size) for size in each] for part, each in (sizes or {}).items()}
    order = assembly_order(profile, removal)
    return renewal(profile, removal, order, findings(profile, removal, verdicts or {}), chosen)


def told(found: Renewal) -> dict[str, tuple[int | None, str]]:
    """Return pieces and reason of each use, by name."""
    return {use.name: (use.pieces, use.reason) for use in found.uses}


def use_of(found: Renewal, name: str) -> Use:
    return next(use for use in found.uses if use.name == name)


REASONS = """parts:
- {id: seal, name: Seal, qty: 2, renew: always}
- {id: tab, name: Tab washer, one_time: true, renew: if_worn}
- {id: screw, name: Screw, qty: 6, renew: if_worn}
- {id: pin, name: Pin, qty: 4}
- {id: shaft, name: Shaft, renew: never}
"""


def test_always_and_used_once_only_need_no_verdict() -> None:
    """What is renewed whatever it looks like, and what may not be fitted twice, is new; the rest stays."""
    assert told(renew(REASONS)) == {"Seal": (2, "always"), "Tab washer": (1, "one_time")}


def test_condemned_and_lost_are_new_whatever_the_profile_says() -> None:
    """Also a part that is never renewed as a matter of course."""
    found = told(renew(REASONS, {"screw": "condemned", "pin": "lost", "shaft": "condemned", "seal": "ok"}))

    assert found["Screw"] == (6, "condemned")
    assert found["Pin"] == (4, "lost")
    assert found["Shaft"] == (1, "condemned")
    assert found["Seal"] == (2, "always")


def test_a_few_of_a_bin_may_be_lost() -> None:
    """One of six screws is one screw; where all are new anyway it adds nothing. Common practice, no source."""
    found = told(renew(REASONS, {"screw": Finding("lost", 1), "seal": Finding("condemned", 1)}))

    assert found["Screw"] == (1, "lost")
    assert found["Seal"] == (2, "always")


@pytest.mark.parametrize("pieces", [0, 7, -1])
def test_no_more_can_be_lost_than_are_there(pieces: int) -> None:
    """Seven of six screws is a slip, and none of them no verdict."""
    with pytest.raises(UsageError, match=f"screw: found {pieces} pieces; allowed: 1 to 6"):
        renew(REASONS, {"screw": Finding("lost", pieces)})


def test_what_nobody_has_judged_is_told() -> None:
    """An order before the inspection is not final; what is never renewed needs no verdict."""
    names = [each.part.id for each in renew(REASONS, {"screw": "ok"}).unjudged]

    assert names == ["pin"]


CHAIN = """parts:
- {id: c, name: C, renew: {with: b}}
- {id: b, name: B, qty: 3, renew: {with: a}}
- {id: a, name: A, renew: if_worn}
"""


def test_what_is_renewed_with_another_follows_it_to_the_end() -> None:
    """A pulls B, B pulls C; nothing pulls A."""
    assert told(renew(CHAIN)) == {}
    assert told(renew(CHAIN, {"b": "condemned"})) == {"B": (3, "condemned"), "C": (1, "with")}

    found = renew(CHAIN, {"a": "lost"})
    assert told(found) == {"A": (1, "lost"), "B": (3, "with"), "C": (1, "with")}
    assert use_of(found, "C").causes == ("B",)


def test_parts_that_pull_each_other_come_to_an_end() -> None:
    """Two that are always renewed together are counted once each."""
    text = CHAIN.replace("name: A, renew: if_worn", "name: A, renew: {with: c}")

    assert told(renew(text, {"b": "condemned"})) == {"A": (1, "with"), "B": (3, "condemned"), "C": (1, "with")}


CAPTURED = """parts:
- id: housing
  name: Housing
  number: N1
  parts:
  - {id: guide, name: Guide, one_time: true, renew: {with: bearing}, held: {by: staked}}
  - {id: ring, name: Ring, renew: {with: bearing}, one_time: true, held: {by: behind, part: guide}}
  - {id: bearing, name: Bearing, renew: if_worn, held: {by: behind, part: guide}}
- {id: shaft, name: Shaft}
"""


def test_a_condemned_captured_bearing_pulls_its_ring_and_guide() -> None:
    """Used-once parts that nobody takes out stay; common practice, no source."""
    assert told(renew(CAPTURED)) == {}
    assert told(renew(CAPTURED, {"bearing": "condemned"})) == {
        "Guide": (1, "with"),
        "Ring": (1, "with"),
        "Bearing": (1, "condemned"),
    }


def test_what_came_out_for_a_condemned_part_says_what_it_is_renewed_with() -> None:
    """Out or not, the guide is new for the bearing; that it is used once is why where nothing else pulls it."""
    walk = Walk(profile_of(HEAD + CAPTURED))
    walk.do("removed", "guide", count=1)

    (alone,) = walk.record.uses[walk.place("guide")]
    walk.do("condemned", "bearing", why="rough")
    (both,) = walk.record.uses[walk.place("guide")]

    assert (("one_time", ()), ("with", ("Bearing",))) == ((alone.reason, alone.causes), (both.reason, both.causes))


def test_what_has_to_come_out_for_a_captured_part_is_new_if_it_is_used_once_only() -> None:
    """A broken ring behind a staked guide costs a guide, though only the bearing is said to pull it."""
    found = renew(CAPTURED, {"ring": "condemned"})

    assert told(found) == {"Guide": (1, "one_time"), "Ring": (1, "condemned")}
    assert use_of(found, "Guide").causes == ("Ring",)


def test_a_captor_behind_a_captor_comes_out_too() -> None:
    """What is behind a plain cover behind a staked cap needs a new cap."""
    text = """parts:
- {id: cap, name: Cap, one_time: true, renew: {with: cover}}
- {id: cover, name: Cover, held: {by: behind, part: cap}}
- {id: race, name: Race, held: {by: behind, part: cover}}
"""
    assert told(renew(text, {"race": "condemned"})) == {"Cap": (1, "one_time"), "Race": (1, "condemned")}


def test_what_is_inside_a_captured_part_needs_its_captor_out_too() -> None:
    """A ball in a valve behind a staked plug: the plug is new."""
    text = """parts:
- {id: plug, name: Plug, one_time: true, renew: {with: valve}}
- {id: valve, name: Valve, number: V, held: {by: behind, part: plug}, parts: [{id: ball, name: Ball}]}
"""
    assert told(renew(text, {"ball": "lost"})) == {"Plug": (1, "one_time"), "Ball": (1, "lost")}


def test_a_captured_part_blocks_what_closes_over_it() -> None:
    """It has no step: the first one that waits for it is its captor's, in the order of assembly."""
    found = renew(CAPTURED, {"bearing": "condemned"})

    assert use_of(found, "Bearing").step == use_of(found, "Guide").step == "1.1"
    assert use_of(found, "Bearing").position == 1  # the shaft goes in first


def test_a_captured_part_behind_nothing_blocks_no_step() -> None:
    """The loader refuses it today, a job of earlier days may hold it: it stands at the end of the order."""
    plug = {"id": "plug", "name": "Plug", "renew": "always", "held": {"by": "behind", "part": "lid"}}
    unit = {"mark": "T1", "name": "Test", "up": "top"}
    profile = Profile.model_validate({"format": "1", "unit": unit, "parts": [plug, {"id": "shaft", "name": "Shaft"}]})
    removal = teardown(profile, {})
    (use,) = renewal(profile, removal, assembly_order(profile, removal), {}, {}).uses

    assert (use.name, use.step, use.position) == ("Plug", None, 1)


COPIES = """parts:
- id: core
  name: Core
  number: K
  used: 2
  parts:
  - {id: piston, name: Piston, renew: if_worn}
  - {id: seal, name: Seal, qty: 2, renew: {with: piston}}
- {id: cover, name: Cover, renew: {with: seal}}
"""


def test_a_copy_pulls_its_own_parts_only() -> None:
    """The second piston pulls the second pair of seals, not the first; the one cover follows either."""
    found = told(renew(COPIES, {"piston/2": "condemned"}))

    assert found == {
        "Piston (2 of 2)": (1, "condemned"),
        "Seal (2 of 2)": (2, "with"),
        "Cover": (1, "with"),
    }


def test_copies_pair_off_by_their_number() -> None:
    """Two cups and two cones: the second cone brings the second cup."""
    text = """parts:
- {id: cup, name: Cup, used: 2}
- {id: cone, name: Cone, used: 2, pair: [cup]}
"""
    assert told(renew(text, {"cone/2": "condemned"})) == {
        "Cup (2 of 2)": (1, "pair"),
        "Cone (2 of 2)": (1, "condemned"),
    }


def test_counts_multiply_down_the_tree() -> None:
    """Three rockers with two rollers each in both of two heads: twelve; with one count not fixed: as needed."""
    text = """parts:
- id: head
  name: Head
  used: 2
  parts:
  - {id: rocker, name: Rocker, number: R, qty: 3, parts: [{id: roller, name: Roller, qty: 2, renew: always}]}
- {id: shims, name: Shims, qty: set, parts: [{id: leaf, name: Leaf, qty: 3, renew: always}]}
"""
    found = renew(text)

    assert [(use.name, use.pieces) for use in found.uses if use.part.id == "leaf"] == [("Leaf", None)]
    assert sum(use.pieces or 0 for use in found.uses if use.part.id == "roller") == 2 * 3 * 2


PACK = """parts:
- id: pack
  name: Disc pack
  parts:
  - {id: friction, name: Friction, qty: 5, number: F}
  - {id: steel, name: Steel, qty: 5, number: S}
- {id: drum, name: Drum, number: D, parts: [{id: bush, name: Bush, number: B}]}
"""


def test_a_pack_without_a_number_is_ordered_as_its_discs() -> None:
    """It is nothing but its parts; a note says what was done."""
    found = renew(PACK, {"pack": "condemned"})

    assert told(found) == {"Friction": (5, "with"), "Steel": (5, "with")}
    assert use_of(found, "Steel").causes == ("Disc pack",)
    assert found.notes == ("Disc pack has no order number of its own: its parts are ordered in its place",)


def test_a_sub_assembly_with_a_number_is_ordered_alone_and_asked_about() -> None:
    """Whether a new drum comes with its bush is for the supplier to say."""
    found = renew(PACK, {"drum": "condemned"})

    assert told(found) == {"Drum": (1, "condemned")}
    assert found.notes == ("Drum (D): whether its parts come with it is not recorded; they are not counted",)


def test_a_housing_without_a_number_is_not_its_parts() -> None:
    """Of 10 kg its bearing is one: it is ordered itself, and nobody buys a bearing in its place."""
    text = """parts:
- {id: housing, name: Housing, mass: "10", parts: [{id: bearing, name: Bearing, mass: "1", number: B}]}
"""
    assert told(renew(text, {"housing": "condemned"})) == {"Housing": (1, "condemned")}


PAIRS = """parts:
- {id: pinion, name: Pinion, pair: [gear]}
- {id: other, name: Other pinion, pair: [gear]}
- {id: gear, name: Gear}
- {id: shaft, name: Shaft}
"""


@pytest.mark.parametrize("condemned", ["pinion", "other", "gear"])
def test_matched_parts_are_renewed_together(condemned: str) -> None:
    """Whichever is condemned, whoever names the other; common practice, no source."""
    found = renew(PAIRS, {condemned: "condemned"})

    assert {use.part.id for use in found.uses} == {"pinion", "other", "gear"}
    assert {use.reason for use in found.uses} == {"condemned", "pair"}
    assert use_of(found, "Gear").pairs == ("Pinion", "Other pinion")


def test_a_pair_is_pulled_by_the_one_that_was_condemned() -> None:
    """The cause of the gear is the pinion, that of the other pinion the gear."""
    found = renew(PAIRS, {"pinion": "condemned"})

    assert use_of(found, "Gear").causes == ("Pinion",)
    assert use_of(found, "Other pinion").causes == ("Gear",)


GRADED = """series:
  shim: {sizes: ["2.00", "2.15"], numbers: {"2.00": N200, "2.15": N215}}
  leaf: {sizes: ["0.10", "0.50"]}
parts:
- {id: shim, name: Shim, number: N, series: shim, renew: if_worn}
- {id: leaves, name: Leaves, qty: set, number: L, series: leaf, renew: if_worn}
"""


def test_the_number_of_a_graded_part_waits_for_its_size() -> None:
    """A condemned shim is needed, and nobody knows yet which."""
    use = use_of(renew(GRADED, {"shim": "condemned"}), "Shim")

    assert (use.pieces, use.number, use.unsized) == (1, None, True)


def test_a_chosen_size_has_its_own_number() -> None:
    """Also where the old one is sound, and only the measuring asks for another."""
    use = use_of(renew(GRADED, {"shim": "condemned"}, {"shim": ["2.15"]}), "Shim")
    assert (use.pieces, use.number, use.unsized, use.reason) == (1, "N215", False, "condemned")

    use = use_of(renew(GRADED, {"shim": "ok"}, {"shim": ["2.150"]}), "Shim")
    assert (use.pieces, use.number, str(use.size), use.reason) == (1, "N215", "2.15 mm", "size")


def test_a_set_is_counted_when_its_pieces_are_chosen() -> None:
    """Three leaves of two thicknesses; without numbers by size they go by the part's own."""
    found = renew(GRADED, {}, {"leaves": ["0.10", "0.50", "0.10"]})

    assert [(str(use.size), use.pieces, use.number) for use in found.uses] == [
        ("0.10 mm", 2, "L"),
        ("0.50 mm", 1, "L"),
    ]


def test_a_size_that_does_not_exist_is_refused() -> None:
    """So is one of a part that is not graded."""
    with pytest.raises(UsageError, match=r"shim: found 2.3 mm; allowed: 2.00 mm, 2.15 mm"):
        renew(GRADED, {}, {"shim": ["2.3"]})
    with pytest.raises(UsageError, match="screw has no graded sizes"):
        renew(REASONS, {}, {"screw": ["2.3"]})


OPTIONS = """options:
  end: {name: End, choices: {flange: Flange, splined: Splined}}
  pto: {name: PTO, choices: {none: None, pump: Pump, shaft: Shaft}}
parts:
- {id: seal-f, name: Flange seal, renew: always, only: {end: flange}}
- {id: seal-s, name: Splined seal, renew: always, only: {end: splined}}
- {id: ring, name: Ring, renew: {with: seal-s}}
- {id: gasket, name: Gasket, renew: always, only: {pto: [pump, shaft]}}
- {id: plug, name: Plug, renew: always}
"""


def test_a_part_of_an_open_option_is_needed_in_some_ways_only() -> None:
    """What such a part pulls depends on the option too, though it is always there itself."""
    found = renew(OPTIONS)

    def there(use: Use) -> set[tuple[tuple[str, str], ...]]:
        return {way for bit, way in enumerate(found.ways) if use.ways >> bit & 1}

    assert len(found.ways) == 6
    assert there(use_of(found, "Plug")) == set(found.ways)
    assert {dict(way)["end"] for way in there(use_of(found, "Flange seal"))} == {"flange"}
    assert {dict(way)["end"] for way in there(use_of(found, "Ring"))} == {"splined"}
    assert {dict(way)["pto"] for way in there(use_of(found, "Gasket"))} == {"pump", "shaft"}


def test_a_chosen_option_leaves_no_doubt() -> None:
    """There is one way, and parts of another choice are not needed."""
    found = renew(OPTIONS, end="flange", pto="none")

    assert found.ways == ((),)
    assert set(told(found)) == {"Flange seal", "Plug"}


def test_too_many_open_options_are_refused() -> None:
    """Nobody orders by a list of thousands of ways; the open options are named."""
    groups = [f"o{k}" for k in range(11)]
    options = ", ".join(f"{group}: {{name: {group}, choices: {{a: A, b: B}}}}" for group in groups)
    parts = "\n".join(f"- {{id: p-{group}, name: P, renew: always, only: {{{group}: a}}}}" for group in groups)
    assert 2 ** len(groups) > MOST_WAYS

    with pytest.raises(UsageError, match=r"the options o0, o1, .* are open: over 1024 ways"):
        renew(f"options: {{{options}}}\nparts:\n{parts}\n- {{id: always, name: Always}}\n")


def test_what_pulls_what_is_worked_out_once_for_a_removal_order(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each event makes another state of the record, and each state asks what must be new."""
    made: list[Profile] = []
    first = Tree.__init__

    def count(self: Tree, profile: Profile, chosen: Mapping[str, str | None]) -> None:
        made.append(profile)
        first(self, profile, chosen)

    monkeypatch.setattr(Tree, "__init__", count)
    profile = profile_of(HEAD + REASONS).profile
    for removal in (teardown(profile, {}), teardown(profile, {})):
        for verdict in ("condemned", "lost"):
            found = {0: Finding(verdict)}
            assert renewal(profile, removal, assembly_order(profile, removal), found, {}).uses

    assert len(made) == 2, "one for each removal order"

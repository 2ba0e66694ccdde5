"""What no single field can tell: names, counts and rings, told with the field faults of the same file."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest

from labelkit.errors import InputErrors
from labelkit.load.crosscheck import MOST_COMBINATIONS, MOST_PLACES, combinations
from labelkit.load.profile import parse_profile
from tests.shop import profile_of

HEAD = "format: 1\nunit: {mark: KR2, name: Demo unit, up: input side}\n"


def told(text: str, folder: Path | None = None) -> list[str]:
    with pytest.raises(InputErrors) as error:
        parse_profile((HEAD + text).encode(), "x", folder)
    return [str(problem) for problem in error.value.problems]


def test_faults_of_fields_do_not_hide_those_between_fields() -> None:
    """A misspelt field, a name of nothing and an option of nothing are told in one run."""
    text = (
        "options: {end: {name: End, choices: {a: A}, default: b}}\n"
        "parts:\n"
        "- {id: hub, name: Hub, qyt: 2, sits: {on: shmi}}\n"
        "- {id: shim, name: Shim, mass: heavy, only: {edn: a}}\n"
        "- {id: shim, nam: Shim}\n"
        "fits: {play: {kind: end_play, target: [1], set_by: hubb}}\n"
    )

    assert [line.split(": ")[:2] for line in told(text)] == [
        ["x:3:54", "options.end.default"],
        ["x:5:24", "parts[0].qyt"],
        ["x:5:43", "parts[0].sits.on"],
        ["x:6:32", "parts[1].mass"],
        ["x:6:51", "parts[1].only.edn"],
        ["x:7:3", "parts[2]"],
        ["x:7:8", "parts[2].id"],
        ["x:7:14", "parts[2].nam"],
        ["x:8:39", "fits.play.target"],
        ["x:8:52", "fits.play.set_by"],
    ]


def test_faults_of_fields_do_not_hide_counts_rules_and_order() -> None:
    """One look tells the slip of a field, the plate too many, the ring of rules, the size of no series, the order."""
    text = (
        "series: {shims: {sizes: [2, 3], numbers: {4: A}}}\n"
        "options: {end: {name: End, choises: {a: A}}}\n"
        "parts:\n"
        "- {id: hub, name: Hub, mass: heavy, sits: {on: shim}, only: [x], parts: [{id: in, name: In}]}\n"
        "- {id: shim, name: Shim, qty: many, held: {by: ring, part: clip}}\n"
        "- {id: clip, name: Clip, wash: twice}\n"
        "- {id: pack, name: Pack, form: {rnig: {}}, stack: [steel, steel], parts: [{id: steel, name: S, qty: 3}]}\n"
        "assembly:\n- {first: shim, then: clip, becuse: x}\n- {first: clip, then: pack}\n- {first: pack, then: clip}\n"
    )

    assert [line.split(": ")[1] for line in told(text)] == [
        "series.shims.numbers.4",
        "options.end",
        "options.end.choises",
        "parts[0].mass",
        "parts[0].only",
        "parts[1].qty",
        "parts[1].held.part",
        "parts[2].wash",
        "parts[3].form",
        "parts[3].stack",
        "assembly[0].becuse",
        "assembly[2]",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "parts:\n- {id: pack, name: Pack, stack: [a, a], parts: [{id: a, name: A, qty: two}]}\n",
        "parts:\n- {id: pack, name: Pack, stack: [a], parts: [{id: a, name: A}, {id: B b, name: B, form: {steel_plate: "
        "{od: 9, id: 5, t: 1, lugs: 3}}}]}\n",
        "options: {e: {name: E, choices: {x: X, y: Y}}}\nparts:\n- {id: a, name: A, only: [e], sits: {on: b}}\n"
        "- {id: b, name: B, only: {e: y}}\nassembly: [{first: a, then: b}]\n",
        "parts:\n- {id: a, name: A, sits: {on: ring}}\n- {id: c, name: C, used: x, parts: [{id: ring, name: R}]}\n",
        "parts: [{id: a, name: A}, 3]\n",
        "parts: [{id: a, name: A, parts: {id: b}}]\n",
    ],
)
def test_what_is_taken_out_for_a_fault_makes_no_fault_of_its_own(text: str) -> None:
    """A count that cannot be read is not one too few, a version that cannot be read makes no ring."""
    assert len(told(text)) == 1


def test_a_part_with_a_fault_is_still_there_for_others() -> None:
    """A name that stands in the file is not called missing because its part has a fault."""
    assert len(told("parts:\n- {id: hub, name: Hub, sits: {on: shim}}\n- {id: shim, name: Shim, qty: many}\n")) == 1


def test_one_value_gets_one_message() -> None:
    """What is no id at all is not looked up as well."""
    assert len(told("parts:\n- {id: hub, name: Hub, sits: {on: My Shim}}\n")) == 1


EVERY_REFERENCE = """\
tools: {pliers: Pliers}
series: {shims: {sizes: [2, 3]}}
parts:
- id: hub
  name: Hub
  series: NAME
  carried_by: NAME
  sits: {on: NAME}
  held: {by: ring, part: NAME}
  out: {tool: NAME, with: NAME}
  renew: {with: NAME}
  keep_with: [NAME]
  pair: [NAME]
  look_alike: [{part: NAME}]
  parts: [{id: ring, name: Ring, sits: {on: NAME}}]
fits: {play: {kind: end_play, target: [1, 2], set_by: NAME, of: NAME, chain: [NAME]}}
assembly:
- {first: NAME, then: ring}
- {join: [hub, NAME], tool: NAME}
"""


def test_every_reference_is_looked_up() -> None:
    """Seventeen fields name something that is defined elsewhere; each is told at its own place."""
    found = told(EVERY_REFERENCE.replace("NAME", "none"))

    assert len(found) == EVERY_REFERENCE.count("NAME") == 17
    assert sum("there is no part of that id; allowed: hub, ring" in line for line in found) == 14
    assert sum("there is no tool of that id; allowed: pliers" in line for line in found) == 2
    assert sum("there is no series of that id; allowed: shims" in line for line in found) == 1


@pytest.mark.parametrize(
    "field", ["keep_with: [b, b]", "pair: [b, b]", "look_alike: [{part: b}, {part: b, tell: longer}]"]
)
def test_a_list_of_a_part_names_another_once(field: str) -> None:
    """Two remarks on one part would be printed as two parts."""
    (line,) = told(f"parts: [{{id: a, name: A, {field}}}, {{id: b, name: B}}]\n")

    assert line.endswith("found b again; name a part once")


def test_no_part_refers_to_itself() -> None:
    """Nothing lies on itself, carries itself or looks like itself."""
    text = EVERY_REFERENCE.replace("series: NAME", "series: shims").replace("tool: NAME", "tool: pliers")
    itself = [line for line in told(text.replace("NAME", "hub")) if line.endswith("found hub, the part itself")]

    assert len(itself) == 8


def test_a_series_may_be_named_as_a_part_is() -> None:
    """Parts, tools and series have names of their own kind."""
    text = (
        "series: {hub: {sizes: [2]}}\ntools: {hub: Hub driver}\n"
        "parts: [{id: hub, name: Hub, series: hub, out: {tool: hub}}]"
    )

    assert profile_of(HEAD + text).profile.parts[0].series == "hub"


def test_photos_are_looked_for_below_the_profile(tmp_path: Path) -> None:
    """A file that is there is fine, a folder is none, and a job's snapshot looks for nothing."""
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "hub.jpg").touch()
    text = "parts:\n- {id: hub, name: Hub, photo: photos/hub.jpg}\n- {id: shim, name: Shim, photo: photos}\n"

    assert told(text, tmp_path) == [
        f"x:5:33: parts[1].photo: found photos; there is no such file below {tmp_path}",
    ]
    assert told(text, Path())[-1].endswith("there is no such file below the folder of the profile")
    assert profile_of(HEAD + text).profile
    long = "ü" * 200  # more bytes than a file system allows in a name
    assert "there is no such file" in told(f"parts: [{{id: hub, name: Hub, photo: {long}}}]", tmp_path)[0]


def test_each_ring_of_rules_is_told_once_where_it_closes() -> None:
    """Two rings that share nothing, of three rules and of two: the last rule says the whole ring, and every line."""
    rules = "".join(f"- {{first: {a}, then: {b}}}\n" for a, b in ["ab", "bc", "ca", "de", "ed"])
    parts = "".join(f"- {{id: {name}, name: {name.upper()}}}\n" for name in "abcde")
    found = told(f"parts:\n{parts}assembly:\n{rules}")
    says = "(the profile says so, line {})"

    assert [line.split(": ")[:2] for line in found] == [["x:12:3", "assembly[2]"], ["x:14:3", "assembly[4]"]]
    ring = f"a before b {says.format(10)}; b before c {says.format(11)}; c before a {says.format(12)}; take one"
    assert ring in found[0]
    assert f"d before e {says.format(13)}; e before d {says.format(14)}; take one" in found[1]


def test_a_ring_through_a_seat_names_the_seats_line() -> None:
    """A rule and a seat that need each other are told at the one that stands last, with the lines of both."""
    text = "parts:\n- {id: a, name: A, sits: {on: b}}\n- {id: b, name: B}\nassembly:\n- {first: a, then: b}\n"

    (line,) = told(text)
    assert line.startswith("x:7:3: assembly[0]: ")
    assert "a before b (the profile says so, line 7); b before a (it lies on B, line 4); take one" in line


def test_a_ring_through_a_joined_group_is_told() -> None:
    """What has to go in between two parts of a group cannot."""
    parts = "".join(f"- {{id: {name}, name: {name.upper()}}}\n" for name in "abc")
    rules = "[{join: [a, b], as: Pair}, {first: a, then: c, because: x}, {first: c, then: b, because: y}]"

    (line,) = told(f"parts:\n{parts}assembly: {rules}\n")
    assert "the rules run in a ring: a before c (x, line 7); c before b (y, line 7)" in line


def test_what_is_inside_a_part_that_is_not_there_is_in_no_ring() -> None:
    """The ring would need the cover of one version and the seal inside the hub of another."""
    text = (
        "options: {end: {name: End, choices: {plain: Plain, sealed: Sealed}}}\nparts:\n"
        "- {id: hub, name: Hub, only: {end: sealed}, parts: [{id: seal, name: Seal}]}\n"
        "- {id: cover, name: Cover, only: {end: plain}}\n"
        "assembly: [{first: seal, then: cover}, {first: cover, then: seal}]\n"
    )

    assert profile_of(HEAD + text).profile


def test_parts_that_need_each_other_are_fine_once_joined() -> None:
    """A group is the way out that the message names."""
    parts = "".join(f"- {{id: {name}, name: {name.upper()}}}\n" for name in "ab")
    rules = "{first: a, then: b}, {first: b, then: a}"

    assert len(told(f"parts:\n{parts}assembly: [{rules}]\n")) == 1
    assert profile_of(f"{HEAD}parts:\n{parts}assembly: [{rules}, {{join: [a, b]}}]\n").profile


def test_two_groups_of_one_name_stay_two() -> None:
    """The name is for people; it joins nothing."""
    parts = "".join(f"- {{id: {name}, name: {name.upper()}}}\n" for name in "abcdx")
    rules = "{join: [a, b], as: Pair}, {join: [c, d], as: Pair}, {first: a, then: x}, {first: x, then: c}"

    assert profile_of(f"{HEAD}parts:\n{parts}assembly: [{rules}]\n").profile


def test_rules_that_differ_by_version_are_no_ring() -> None:
    """Opposite orders of two versions never meet in one unit."""
    text = (
        "options: {end: {name: End, choices: {plain: Plain, sealed: Sealed}}}\nparts:\n"
        "- {id: a, name: A}\n- {id: b, name: B}\n"
        "- {id: p, name: P, only: {end: plain}}\n- {id: s, name: S, only: {end: sealed}}\n"
        "assembly: [{first: a, then: p}, {first: p, then: b}, {first: b, then: s}, {first: s, then: a}]\n"
    )

    assert profile_of(HEAD + text).profile


def options(*sizes: int) -> str:
    listed = (
        f"  g{k}: {{name: G, choices: {{{', '.join(f'c{c}: C' for c in range(size))}}}}}\n"
        for k, size in enumerate(sizes)
    )
    return HEAD + "options:\n" + "".join(listed) + "parts: [{id: a, name: A}]\n"


def test_few_options_are_tried_in_all_combinations() -> None:
    """2 x 3 choices are the six pairs."""
    found = [tuple(chosen.values()) for chosen in combinations(profile_of(options(2, 3)).profile)]

    assert found == list(itertools.product(["c0", "c1"], ["c0", "c1", "c2"]))


def test_many_options_are_tried_one_change_at_a_time() -> None:
    """2^9 combinations are too many: the usual one, and each other choice alone."""
    found = [tuple(chosen.values()) for chosen in combinations(profile_of(options(*[2] * 9)).profile)]

    assert 2**9 > MOST_COMBINATIONS
    assert len(found) == len(set(found)) == 1 + 9
    assert all(chosen.count("c1") <= 1 for chosen in found)


def test_copies_of_copies_end_somewhere() -> None:
    """Each copy has a bin: as many as the limit are fine, one more is a fault at its `used`."""
    text = "parts: [{{id: a, name: A, used: 10, parts: [{{id: b, name: B, used: {}}}]}}]"

    assert profile_of(HEAD + text.format(MOST_PLACES // 10 - 1)).profile
    (found,) = told(text.format(MOST_PLACES // 10))
    assert found.startswith("x:3:67: parts[0].parts[0].used: with its copies the unit has over 50000 parts")

"""The removal order: options, sub-assemblies, copies, captured parts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.calc.steps import choose, condition, places, select_steps, teardown
from labelkit.errors import UsageError
from labelkit.model.profile import Profile
from tests.shop import demo, profile_of

TEXT = """
format: 1
unit: {mark: T1, name: Test, up: top}
options:
  end: {name: End, choices: {flange: Flange, splined: Splined}}
parts:
- {id: cover, name: Cover}
- {id: flange, name: Flange, only: {end: flange}}
- {id: hub, name: Hub, only: {end: splined}}
- id: core
  name: Core
  used: 2
  parts:
  - {id: ring, name: Ring}
  - {id: bearing, name: Bearing, held: {by: behind, part: ring}}
- {id: housing, name: Housing}
"""


def steps(profile: Profile, **options: str) -> list[tuple[str, str, bool]]:
    bins = teardown(profile, choose(profile, options)).bins
    return [(each.step, each.name, each.doubtful) for each in bins]


def test_a_chosen_option_leaves_the_other_out() -> None:
    """Parts of the other choice take no step; copies of a sub-assembly take one each, with parts of their own."""
    found = steps(profile_of(TEXT).profile, end="splined")

    assert found == [
        ("1", "Cover", False),
        ("2", "Hub", False),
        ("3", "Core (1 of 2)", False),
        ("3.1", "Ring (1 of 2)", False),
        ("4", "Core (2 of 2)", False),
        ("4.1", "Ring (2 of 2)", False),
        ("5", "Housing", False),
    ]


def test_an_open_option_shows_both_ways() -> None:
    """Both parts are there and doubtful."""
    doubtful = [name for _, name, doubt in steps(profile_of(TEXT).profile) if doubt]

    assert doubtful == ["Flange", "Hub"]


def test_a_captured_part_stays_inside() -> None:
    """It has no bin; the list of what stays inside says behind what."""
    profile = profile_of(TEXT).profile
    inside = teardown(profile, choose(profile, {})).inside

    assert [(each.part.id, each.behind, each.copy) for each in inside] == [
        ("bearing", "ring", 1),
        ("bearing", "ring", 2),
    ]


def test_numbers_for_codes_do_not_depend_on_options() -> None:
    """A part keeps its ordinal, and so its code, when an open option is settled."""
    profile = demo("planetary-reducer").profile
    found = [
        {each.part.id: each.ordinal for each in teardown(profile, choose(profile, chosen)).bins}
        for chosen in ({}, {"breather": "std"}, {"output": "splined", "brake": "b16"})
    ]

    for one in found[1:]:
        assert all(found[0][part] == ordinal for part, ordinal in one.items() if part in found[0])
    assert all(max(one.values()) < places(profile) for one in found)


def test_what_a_later_choice_brings_takes_the_number_of_what_it_puts_out() -> None:
    """Sixteen springs instead of twelve are step 10 as those were: one label is printed again, not all after it."""
    profile = demo("planetary-reducer").profile
    first = choose(profile, {})
    before = {each.part.id: each.step for each in teardown(profile, first).bins}
    after = {each.part.id: each.step for each in teardown(profile, first | {"brake": "b16"}, first).bins}

    assert after.pop("brake-springs-16") == before.pop("brake-springs-12") == "10"
    assert after == before


@given(st.lists(st.sampled_from(["", "x", "y"]), min_size=1, max_size=12))
def test_no_two_parts_have_one_number_whatever_is_chosen_later(only: list[str]) -> None:
    """Parts of both choices stand in any order; who stays keeps its number unless more come in than go out."""
    parts = [f"- {{id: p{k}, name: P{k}{f', only: {{o: {who}}}' if who else ''}}}" for k, who in enumerate(only)]
    profile = unit("options: {o: {name: O, choices: {x: X, y: Y}}}\nparts:\n" + "\n".join(parts) + "\n")
    before = {each.part.id: each.step for each in teardown(profile, {"o": "x"}).bins}
    bins = teardown(profile, {"o": "y"}, {"o": "x"}).bins

    assert [int(each.step) for each in bins] == sorted({int(each.step) for each in bins})
    runs = "".join(who or "." for who in only).split(".")
    if all(run.count("y") <= run.count("x") for run in runs):
        stay = [f"p{place}" for place, who in enumerate(only) if not who]
        assert [each.step for each in bins if each.part.id in stay] == [before[name] for name in stay]


def test_selected_steps_bring_their_parts() -> None:
    """`3` brings 3.1; a range is of whole steps."""
    profile = profile_of(TEXT).profile
    bins = teardown(profile, choose(profile, {"end": "flange"})).bins

    assert [each.step for each in select_steps(bins, "3")] == ["3", "3.1"]
    assert [each.step for each in select_steps(bins, "1-2, 4.1")] == ["1", "2", "4.1"]


@pytest.mark.parametrize(
    ("wanted", "words"), [("9", "there is no step"), ("2-1", "lower to a higher"), (",", "names no step")]
)
def test_wrong_steps_say_what_is_allowed(wanted: str, words: str) -> None:
    """The message quotes what was asked for."""
    profile = profile_of(TEXT).profile
    bins = teardown(profile, choose(profile, {"end": "flange"})).bins

    with pytest.raises(UsageError, match=words):
        select_steps(bins, wanted)


def test_an_unknown_choice_offers_the_nearest() -> None:
    """`splinde` is probably splined."""
    with pytest.raises(UsageError, match="did you mean splined"):
        choose(profile_of(TEXT).profile, {"end": "splinde"})


def unit(text: str) -> Profile:
    return profile_of("format: 1\nunit: {mark: T1, name: Test, up: top}\n" + text).profile


def test_nested_sub_assemblies_are_numbered_from_one_at_each_level() -> None:
    """`1.2.1` is the first part of the second part of step 1; each knows the step it belongs to."""
    profile = unit(
        "parts:\n- {id: a, name: A, parts: [{id: b, name: B}, {id: c, name: C, parts: [{id: d, name: D}]}]}\n"
        "- {id: e, name: E}\n"
    )
    bins = teardown(profile, {}).bins

    assert [(each.step, each.parent) for each in bins] == [
        ("1", None),
        ("1.1", "1"),
        ("1.2", "1"),
        ("1.2.1", "1.2"),
        ("2", None),
    ]


def test_copies_of_copies_say_which_they_are() -> None:
    """Two cores with two packs each are four packs, each with its own step."""
    profile = unit("parts: [{id: core, name: Core, used: 2, parts: [{id: pack, name: Pack, used: 2}]}]")
    packs = teardown(profile, {}).of("pack")

    assert [(each.step, each.copy, each.copies) for each in packs] == [
        ("1.1", 1, 2),
        ("1.2", 2, 2),
        ("2.1", 1, 2),
        ("2.2", 2, 2),
    ]


def test_what_belongs_to_a_captured_part_stays_inside_with_it() -> None:
    """It takes no step from its neighbours: every step stands on one bin."""
    profile = unit(
        "parts:\n- id: drum\n  name: Drum\n  parts:\n"
        "  - {id: cage, name: Cage, held: {by: behind, part: drum}, parts: [{id: roller, name: Roller}]}\n"
        "  - {id: ring, name: Ring}\n"
    )
    found = teardown(profile, {})

    assert [(each.step, each.part.id) for each in found.bins] == [("1", "drum"), ("1.1", "ring")]
    assert [(each.part.id, each.behind, each.parent) for each in found.inside] == [
        ("cage", "drum", "1"),
        ("roller", "drum", "1"),
    ]
    assert sorted(each.ordinal for each in (*found.bins, *found.inside)) == list(range(4))


@pytest.mark.parametrize("name", ["planetary-reducer", "marine-gear"])
def test_every_step_and_ordinal_of_a_demo_unit_stands_once(name: str) -> None:
    """No two bins share a label."""
    profile = demo(name).profile
    found = teardown(profile, choose(profile, {}))
    ordinals = [each.ordinal for each in (*found.bins, *found.inside)]

    assert len({each.step for each in found.bins}) == len(found.bins)
    assert len(set(ordinals)) == len(ordinals)
    assert [found.at(each.step) for each in found.bins] == list(found.bins)


def test_a_default_choice_is_taken_unless_another_is_wanted() -> None:
    """Without a default the option stays open."""
    profile = unit(
        "options:\n  end: {name: End, choices: {flange: F, splined: S}, default: flange}\n"
        "  ratio: {name: Ratio, choices: {i3: I3, i4: I4}}\nparts: [{id: a, name: A}]\n"
    )

    assert choose(profile, {}) == {"end": "flange", "ratio": None}
    assert choose(profile, {"end": "splined", "ratio": "i4"}) == {"end": "splined", "ratio": "i4"}
    with pytest.raises(UsageError, match=r"there is no option ends; allowed: end, ratio; did you mean end\?"):
        choose(profile, {"ends": "flange"})


def test_a_condition_is_said_in_the_options_own_words() -> None:
    """Every open group on which the part, or what it is inside, depends, with all the choices it is there for."""
    profile = unit(
        "options:\n  end: {name: Output end, choices: {f: Flange, s: Splined shaft, k: Keyed}}\n"
        "  ratio: {name: Ratio, choices: {i3: 1 to 3}}\n"
        "parts: [{id: b, name: B}, {id: a, name: A, only: {end: [f, s]},"
        " parts: [{id: c, name: C, only: {ratio: i3}}]}]\n"
    )
    removal = teardown(profile, {"end": None, "ratio": None})
    said = {each.part.id: condition(profile, removal, each) for each in removal.bins}

    outer = "Output end = Flange or Splined shaft"
    assert said == {"a": outer, "c": f"Ratio = 1 to 3, {outer}", "b": ""}
    decided = teardown(profile, {"end": "f", "ratio": None})
    assert condition(profile, decided, decided.of("c")[0]) == "Ratio = 1 to 3"


ELEVEN = "parts: [" + ", ".join(f"{{id: p{k}, name: P{k}}}" for k in range(1, 12)) + "]"


@pytest.mark.parametrize(
    ("wanted", "expected"),
    [
        ("1", "1"),
        ("9-11", "9 10 11"),
        ("11, 2-3,2", "2 3 11"),
        (" 4 - 5 ,", "4 5"),
        ("7-7", "7"),
        ("1-11", "1 2 3 4 5 6 7 8 9 10 11"),
    ],
)
def test_ranges_count_numbers_not_letters(wanted: str, expected: str) -> None:
    """10 comes after 9; the order is that of the removal, each step once."""
    bins = teardown(unit(ELEVEN), {}).bins

    assert [each.step for each in select_steps(bins, wanted)] == expected.split()


@pytest.mark.parametrize(
    ("wanted", "words"),
    [
        ("12", 'there is no step "12"; allowed: 1 to 11'),
        ("0-3", 'there is no step "0"'),
        ("3-", 'there is no step ""'),
        ("-3", 'there is no step ""'),
        ("1-2-3", 'there is no step "2-3"'),
        ("1-999999999", 'there is no step "999999999"'),
        ("1..3", 'there is no step "1..3"'),
        ("two", 'there is no step "two"'),
        ("²", 'there is no step "²"'),
        ("5-4", "the range 5-4 is not from a lower to a higher whole step; did you mean 4-5?"),
        ("", "names no step; allowed: 1 to 11; write them as 5-9,12"),
        (" , ,", "names no step; allowed: 1 to 11; write them as 5-9,12"),
    ],
)
def test_steps_that_are_not_there_are_named(wanted: str, words: str) -> None:
    """What was asked for, what is not there, what there is."""
    bins = teardown(unit(ELEVEN), {}).bins
    with pytest.raises(UsageError) as error:
        select_steps(bins, wanted)

    assert words in str(error.value)
    assert str(error.value).startswith(f'steps "{wanted}"')


def test_inner_steps_are_offered_where_there_are_some() -> None:
    """Of a job without a single bin nothing can be chosen."""
    bins = teardown(unit("parts: [{id: a, name: A, parts: [{id: b, name: B}]}]"), {}).bins

    with pytest.raises(UsageError, match=r"allowed: 1 to 1, and steps inside one, as 1\.1"):
        select_steps(bins, "2")
    with pytest.raises(UsageError, match="allowed: nothing"):
        select_steps((), "2")
    with pytest.raises(UsageError, match=r"the range 1\.1-1 is not from a lower to a higher whole step"):
        select_steps(bins, "1.1-1")

"""The removal order: options, sub-assemblies, copies, captured parts."""

from __future__ import annotations

import pytest

from labelkit.calc.steps import choose, places, select_steps, teardown
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

"""A part says when it is there, and gives itself back in the words of the file."""

from __future__ import annotations

from typing import Any

import pytest

from labelkit.model.part import Part, dump, wanted_choices


def part(**fields: Any) -> Part:
    return Part.model_validate({"id": "hub", "name": "Hub", **fields})


@pytest.mark.parametrize(
    ("only", "chosen", "expected"),
    [
        ({}, {"output": "flange"}, True),
        ({"output": "flange"}, {"output": "flange"}, True),
        ({"output": "flange"}, {"output": "splined"}, False),
        ({"output": ["flange", "splined"]}, {"output": "splined"}, True),
        ({"output": "flange"}, {"output": None}, None),
        ({"output": "flange"}, {}, None),
        ({"output": "flange", "ratio": "i3"}, {"output": None, "ratio": "i4"}, False),
        ({"output": "flange", "ratio": "i3"}, {"output": "flange", "ratio": None}, None),
    ],
)
def test_a_part_is_there_not_there_or_open(only: Any, chosen: dict[str, str | None], expected: bool | None) -> None:
    """Open is a third answer; one choice that does not match settles it."""
    assert part(only=only).matches(chosen) is expected


def test_an_only_entry_names_one_choice_or_several() -> None:
    """Both ways of writing it give a tuple."""
    assert wanted_choices("flange") == ("flange",)
    assert wanted_choices(("flange", "splined")) == ("flange", "splined")


def test_a_part_has_the_stated_defaults_and_no_other() -> None:
    """qty 1, thread right, not one-time, used once; everything else is not recorded."""
    plain = part()

    assert (plain.qty, plain.thread, plain.one_time, plain.used) == (1, "right", False, 1)
    assert (plain.sits, plain.form, plain.mass, plain.renew, plain.wash) == (None,) * 5
    assert not plain.captured


def test_a_part_gives_itself_back_in_the_words_of_the_file() -> None:
    """Reading, giving back and reading again changes nothing; typed digits and `with`, `else`, `ring` survive."""
    written = {
        "id": "hub",
        "name": "Hub",
        "qty": "set",
        "form": {"ring": {"od": "72 mm", "id": "50 mm", "t": "2.60 mm"}},
        "renew": {"with": "shaft"},
        "out": {"by": "lift", "with": "shaft"},
        "sits": {"up": "free", "clock": "6:00"},
        "check": [{"measure": "play", "min": "0.20 mm", "keep": True, "else": "replace"}],
        "held": {"by": "behind", "part": "shaft"},
        "only": {"output": ["flange", "splined"]},
    }
    first = part(**written)

    given = dump(first)
    assert {key: given[key] for key in written} == written
    assert Part.model_validate({k: v for k, v in given.items() if isinstance(v, str | dict | list)}) == first
    assert first.captured

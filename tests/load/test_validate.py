"""A tree becomes a model, or every fault of it at its place: none hidden, none invented, none told twice."""

from __future__ import annotations

from typing import Annotated, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import Field

from labelkit.errors import InputErrors
from labelkit.load.profile import parse_profile
from labelkit.load.validate import validate
from labelkit.load.yamltree import parse
from labelkit.model.form import Step
from labelkit.model.part import Only
from labelkit.model.profile import Profile
from labelkit.model.scalars import Count, Ident, Length, Model, Words
from labelkit.model.stock import StockHead

HEAD = "format: 1\nunit: {mark: KR2, name: Demo unit, up: input side}\n"


class Inner(Model):
    size: Length
    note: Annotated[Words | None, Field(alias="as")] = None


class Outer(Model):
    name: Words
    pair: tuple[Length, Length] | None = None
    steps: tuple[Step, ...] = ()
    only: Only | None = None
    inner: Inner | None = None
    table: dict[Ident, Inner] = Field(default_factory=dict)
    several: Literal["one", "two"] | Inner | tuple[Count, ...] | None = None
    many: Annotated[tuple[Inner, ...], Field(min_length=1)] = ()


def told(text: str) -> list[str]:
    _, problems = validate(parse(text.encode(), "x"), Outer, {})
    return [str(problem) for problem in problems]


def test_a_tree_without_fault_is_a_model() -> None:
    """The context gives bare numbers their unit."""
    model, problems = validate(parse(b"name: a\npair: [1, 2 mm]", "x"), Outer, {"lengths": "in"})

    assert problems == []
    assert model is not None
    assert str(model.pair) == str(Outer.model_validate({"name": "a", "pair": ["1 in", "2 mm"]}).pair)


def test_all_faults_are_told_at_once() -> None:
    """Each field that is wrong gives one message, in whatever part of the file."""
    text = "nam: a\npair: [1, x]\ninner: {size: -1, notes: b}\ntable: {A b: {size: 0}, c: {}}\nmany: [{size: y}]\n"

    assert told(text) == [
        "x:1:1: the field name is missing",
        'x:2:11: pair[1]: "x" is no length; write a number and its unit, as in 2.60 mm',
        "x:3:15: inner.size: found -1 mm; allowed: more than 0",
        "x:3:19: inner.notes: the field notes is not known here; allowed: size, as",
        'x:4:9: table.A b: found "A b"; allowed: up to 48 of a-z, 0-9 and -, as in thrust-2',
        "x:4:21: table.A b.size: found 0 mm; allowed: more than 0",
        "x:4:28: table.c: the field size is missing",
        'x:5:15: many[0].size: "y" is no length; write a number and its unit, as in 2.60 mm',
        "x:1:1: nam: the field nam is not known here; "
        "allowed: name, pair, steps, only, inner, table, several, many; did you mean name?",
    ]


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        (
            "too",
            'x:2:10: several: found "too"; allowed: one, two, {size: ..., ...}, [whole number, ...]; did you mean two?',
        ),
        ("[1, x]", 'x:2:14: several[1]: found "x"; allowed: a whole number from 1 to 9999'),
        ("{size: x}", 'x:2:17: several.size: "x" is no length; write a number and its unit, as in 2.60 mm'),
        ("{sise: 1}", "x:2:10: several: the field size is missing"),
    ],
)
def test_of_several_types_the_written_one_is_told(written: str, expected: str) -> None:
    """A text is measured against the words, a list against the list, a mapping against the fields."""
    assert told(f"name: a\nseveral: {written}")[0] == expected


def test_a_type_that_fits_none_is_told_once() -> None:
    """One message, not one for each type it is not."""
    _, problems = validate(parse(b"format: 1\nstock: [a]", "x"), StockHead, {})

    assert [str(problem) for problem in problems] == [
        "x:2:8: stock: found a list; a mapping is wanted here: {id: ..., ...}"
    ]


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("inner: [x]", "found a list; a mapping of fields is wanted here: {size: ..., ...}"),
        ("inner: x", 'found "x"; a mapping of fields is wanted here: {size: ..., ...}'),
        ("table: x", 'found "x"; a mapping is wanted here: {id: {size: ..., ...}, ...}'),
        ("pair: x", 'found "x"; a list is wanted here: [length, length]'),
        ("steps: x", 'found "x"; a list is wanted here: [[diameter, length], ...]'),
        ("steps: [x]", 'found "x"; a list is wanted here: [diameter, length]'),
        ("only: [a]", "found a list; a mapping is wanted here: {id: id or [id, ...], ...}"),
    ],
)
def test_what_is_wanted_is_told_as_it_is_written(written: str, expected: str) -> None:
    """By the type of the field, which knows what its lists and mappings hold."""
    assert expected in told(f"name: a\n{written}")[-1]


def test_a_list_is_short_only_when_nothing_was_written() -> None:
    """Entries with faults do not make a list empty."""
    assert told("name: a\nmany: []") == [
        "x:2:7: many: found a list; at least one entry is wanted here: [{size: ..., ...}, ...]"
    ]
    assert told("name: a\nmany: [{}]") == ["x:2:8: many[0]: the field size is missing"]


def test_the_faults_of_a_pair_are_told_in_words() -> None:
    """How many values there are, and how many are wanted."""
    assert told("name: a\npair: []") == ["x:2:7: pair: the list has 0 values; wanted here: [length, length]"]
    assert told("name: a\npair: [1]") == ["x:2:7: pair: the list has 1 value; wanted here: [length, length]"]
    assert told("name: a\npair: [1, 2, 3]") == ["x:2:7: pair: the list has 3 values; wanted here: [length, length]"]


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("pair: [1,5, 2,5]", ['x:2:8: pair[0]: "1,5" is not a number; ', 'x:2:13: pair[1]: "2,5" is not a number; ']),
        (
            "steps: [[30, 40,5]]",
            ['x:2:14: steps[0][1]: "40,5" is not a number; write the decimal mark as a point, as '],
        ),
        (
            "pair: [0,10,0,30]",
            ["x:2:7: pair: the list has 4 values; wanted here: [length, length]; a decimal mark is a "],
        ),
        ("inner: {size: 0,30}", ['x:2:15: inner.size: "0,30" is not a number; write the decimal mark as a point']),
        ("steps: [[30,80], [25,40]]", []),
        ("several: [1,4, 2,5]", []),
    ],
)
def test_a_decimal_comma_in_brackets_is_named(text: str, faults: list[str]) -> None:
    """Where figures are wanted that may have decimals: whole numbers, and pairs without a blank, are what they say."""
    found = told(f"name: a\n{text}")

    assert len(found) == len(faults)
    assert all(map(str.startswith, found, faults))


def test_an_alias_is_told_once() -> None:
    """The value that is not there is not told as well."""
    assert told("name: *x") == ["x:1:7: name: the alias *x is not allowed; write the value itself"]


def test_reading_faults_and_field_faults_come_together() -> None:
    """An anchor does not hide a wrong size."""
    assert len(told("name: &x a\ninner: {size: y}")) == 2


@pytest.mark.parametrize(
    ("place", "text", "nearest"),
    [
        ("unit.clock_form", "unit: {mark: KR2, name: A, up: b, clock_form: c}", "clock_from"),
        ("options.o.tel", "options: {o: {name: O, tel: x, choices: {a: A}}}", "tell"),
        ("series.s.numbrs", "series: {s: {sizes: [1], numbrs: {}}}", "numbers"),
        ("fits.f.set-by", "fits: {f: {kind: stack, target: [1, 2], set-by: a}}", "set_by"),
        ("assembly[0].frist", "assembly: [{frist: a, then: b}]", "first"),
        ("hazards[0].singal", "hazards: [{singal: danger, text: a}]", "signal"),
        ("parts[0].sits.opns", "parts: [{id: a, name: A, sits: {opns: up}}]", "opens"),
        ("parts[0].parts[0].qyt", "parts: [{id: a, name: A, parts: [{id: b, name: B, qyt: 1}]}]", "qty"),
        ("parts[0].form.hub.flange_d", "parts: [{id: a, name: A, form: {hub: {od: 9, flange_d: 8}}}]", "flange_od"),
        ("parts[0].check[0].measured", "parts: [{id: a, name: A, check: [{measured: b}]}]", "measure"),
        ("parts[0].look_alike[0].tel", "parts: [{id: a, name: A, look_alike: [{part: a, tel: b}]}]", "tell"),
        ("parts[0].fasten.tork", "parts: [{id: a, name: A, fasten: {tork: 5}}]", "torque"),
        ("unit.oil.volume", "unit: {mark: KR2, name: A, up: b, oil: {volume: 3}}", "volume_l"),
    ],
)
def test_a_misspelt_field_gets_the_nearest_right_one(place: str, text: str, nearest: str) -> None:
    """At every depth: in mappings by name, lists, forms and sub-assemblies."""
    _, problems = validate(parse(text.encode(), "x"), Profile, {})
    (found,) = [problem for problem in problems if "is not known here" in problem.message]

    assert found.path == place
    assert found.message.endswith(f"did you mean {nearest}?")


WORDS = "a,1,-1,nan,0.5 in,free,always,ring,6:00,behind,é\u200b," + "x" * 70
FIELDS = "id,name,qty,form,ring,od,parts,sits,on,clock,with,by,part,only,renew,sizes,from,target,kind,join,first,as,x"
junk = st.recursive(
    st.sampled_from([*WORDS.split(","), ""]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(FIELDS.split(",")), inner, max_size=4),
    max_leaves=12,
)
fields = st.sampled_from(["format", "unit", "options", "tools", "series", "hazards", "parts", "fits", "assembly", "x"])
UNIT = {"mark": "KR2", "name": "Demo unit", "up": "input side"}


def as_yaml(node: object) -> str:
    if isinstance(node, dict):
        return "{" + ", ".join(f'"{key}": {as_yaml(value)}' for key, value in node.items()) + "}"
    if isinstance(node, list):
        return "[" + ", ".join(map(as_yaml, node)) + "]"
    return f'"{node}"'


@given(st.dictionaries(fields, junk, max_size=4), junk)
def test_whatever_is_written_gives_messages_and_no_traceback(top: dict, part: object) -> None:
    """Any shape in any field is a profile or a list of faults, each with a place inside the file."""
    text = as_yaml({"format": "1", "unit": UNIT, "parts": [{"id": "hub", "name": "Hub"}, part], **top})
    try:
        parse_profile(text.encode(), "x.yaml", None)
        problems = ()
    except InputErrors as error:
        problems = error.problems

    for problem in problems:
        assert problem.line == 1
        assert 1 <= problem.column <= len(text)
        assert "Value error" not in problem.message
        assert "function-" not in str(problem)

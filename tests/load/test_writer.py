"""Profiles written as YAML: read back equal, by us and, word for word, by a program that guesses types."""

from __future__ import annotations

from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.load.profile import load_profile, parse_profile, unit_context
from labelkit.load.validate import validate
from labelkit.load.writer import WIDTH, profile_yaml, scalar
from labelkit.load.yamltree import parse
from labelkit.model.profile import Profile
from tests.shop import DEMO_UNITS

LEAST: dict[str, Any] = {
    "format": "1",
    "unit": {"mark": "KR2", "name": "Reducer", "up": "input side"},
    "parts": [{"id": "shim", "name": "Shim"}],
}


def built(data: dict[str, Any]) -> Profile:
    return Profile.model_validate(data, context=unit_context(data))


def read(source: bytes) -> Profile:
    return parse_profile(source, "written.yaml", None).profile


def model_of(source: bytes) -> Profile:
    """Return the model alone: a random profile names parts that are not there."""
    tree = parse(source, "written.yaml")
    found, problems = validate(tree, Profile, unit_context(tree.data))
    assert not problems
    assert found
    return found


def written(**part: Any) -> str:
    """Return what is written of a profile of one part."""
    return profile_yaml(built(LEAST | {"parts": [{"id": "shim", "name": "Shim"} | part]})).decode()


@pytest.mark.parametrize("name", DEMO_UNITS)
def test_a_profile_reads_back_equal_and_is_written_the_same_again(name: str) -> None:
    """Load, write, load: the same profile; write again: the same bytes; no line is wider than a screen."""
    profile = load_profile(name).profile

    source = profile_yaml(profile, heading="Written by the program\n\nand read by people")

    assert read(source) == profile
    assert profile_yaml(read(source), heading="Written by the program\n\nand read by people") == source
    assert max(map(len, source.decode().splitlines())) <= WIDTH
    assert source.startswith(b"# Written by the program\n#\n# and read by people\n\nformat: 1\n")


@pytest.mark.parametrize("name", DEMO_UNITS)
def test_fields_stand_in_the_order_of_the_format(name: str) -> None:
    """The header first, parts in removal order, of each part the id and the name first."""
    data = yaml.load(profile_yaml(load_profile(name).profile), Loader=yaml.BaseLoader)
    order = [info.alias or field for field, info in type(load_profile(name).profile.parts[0]).model_fields.items()]

    assert list(data)[:2] == ["format", "unit"]
    for part in data["parts"]:
        assert list(part) == sorted(part, key=order.index)
        assert list(part)[:2] == ["id", "name"]


@pytest.mark.parametrize(
    "text",
    [
        *("12:00", "00123", "1e5", "0x1F", "1_000", "2.60", "2026-11-26", "yes", "No", "ON", "off", "y", "N", "true"),
        *("~", "null", "Null", ".inf", ".NaN", "-", "- a", "a: b", "a #b", "#a", "&a", "*a", "!a", "%a", "@a", "`a"),
        *("'a", '"a"', "a\\b", "[a", "{a", "a, b", "a]", "=", "<<", "?", "? a", "|", ">", "a:", "Größe 5 µm", "a\tb"),
        *("ä", "1/2", "+5", "-5", "1:20", "€ 5", "a\u00a0b", "\x85", "😀", "---", "...", "", "é" * 95),
    ],
)
def test_a_text_is_this_text_to_every_reader(text: str) -> None:
    """Neither a number, nor a time, nor a yes. Oracle: PyYAML's safe loader, which guesses types by YAML 1.1."""
    assert yaml.safe_load(f"a: {scalar(text)}\nb: [{scalar(text)}, {{c: {scalar(text)}}}]") == {
        "a": text,
        "b": [text, {"c": text}],
    }


def test_lengths_stay_as_they_were_typed() -> None:
    """Digits, noughts and units; a bare figure is in the header's unit, whole ones need no quotes."""
    source = written(form={"ring": {"od": "72", "id": "0.104 in", "t": "2.60"}}, mass="1 lb 4 oz")

    assert 'form: {ring: {od: 72, id: "0.104 in", t: "2.60"}}\n    mass: "1.25 lb"' in source


def test_inches_and_a_fits_own_unit_are_bare() -> None:
    """As the header and the fit state them; what is in another unit says so."""
    data = LEAST | {
        "unit": LEAST["unit"] | {"lengths": "in", "torques": "lbf·ft"},
        "parts": [
            {
                "id": "shim",
                "name": "Shim",
                "form": {"ball": {"d": "0.250"}},
                "check": [{"measure": "drag", "min": "3 lbf·ft"}],
                "fasten": {"torque": "18"},
            }
        ],
        "fits": {
            "drag": {"kind": "preload", "target": ["1.1", "3.4"], "unit": "N·m", "spread": "0.2", "depth": "2 mm"},
            "play": {"kind": "end_play", "target": ["0.010", "0.3 mm"], "aim": "0.011"},
        },
    }
    source = profile_yaml(built(data))

    for line in (
        b'{ball: {d: "0.250"}}',
        b"torque: 18",
        'min: "3 lbf·ft"'.encode(),
        b'target: ["1.1", "3.4"]',
        b'depth: "2 mm"',
        b'"0.3 mm"]',
    ):
        assert line in source
    assert read(source) == built(data)


def test_open_points_are_comments() -> None:
    """What is not recorded is said where it would stand, and nothing more once it is."""
    assert "    # NOT RECORDED: kind and sizes, which way up, clock position, what it lies on" in written()
    known = written(
        form={"ball": {"d": "5"}},
        sits={"up": "free", "clock": "free"},
        mass="1",
        held={"by": "slip"},
        wash="basket",
        renew="never",
    )
    assert "NOT RECORDED" not in known.partition("parts:")[2]
    assert "NOT RECORDED: where the figures come from" in known.partition("parts:")[0]


WORDS = st.text(st.characters(exclude_categories=["C", "Z"]) | st.just(" "), min_size=1, max_size=60).filter(str.strip)
FIGURES = st.builds(
    lambda value, unit: f"{value:f}{unit}", st.decimals("0.001", "99", places=3), st.sampled_from(["", " in", " mm"])
)
IDENTS = st.from_regex(r"[a-z0-9][a-z0-9-]{0,11}", fullmatch=True)
CLOCKS = st.builds(lambda h, m: f"{h}:{m:02d}", st.integers(1, 12), st.integers(0, 59)) | st.just("free")
FORM = st.one_of(
    st.builds(lambda d: {"ball": {"d": d}}, FIGURES),
    st.builds(
        lambda a: {"shaft": {"steps": [[x, y] for x, y in a]}}, st.lists(st.tuples(FIGURES, FIGURES), min_size=1)
    ),
    st.builds(lambda a, b, c: {"block": {"l": a, "w": b, "h": c}}, FIGURES, FIGURES, FIGURES),
    st.builds(lambda d, length: {"bolt": {"d": d, "l": length, "head": "socket"}}, FIGURES, FIGURES),
)
CHECK = st.one_of(
    st.fixed_dictionaries({"look": WORDS}, optional={"else": WORDS, "keep": st.sampled_from(["true", "false"])}),
    st.fixed_dictionaries({"measure": WORDS}, optional={"min": FIGURES, "readings": st.sampled_from("123")}),
)
PART = st.fixed_dictionaries(
    {"name": WORDS},
    optional={
        "short": WORDS.map(lambda words: words[:24]).filter(str.strip),
        "qty": st.sampled_from(["1", "12", "set"]),
        "form": FORM,
        "mass": st.sampled_from(["0.30", "2", "1 lb 4 oz"]),
        "number": WORDS.map(lambda words: words[:40]).filter(str.strip) | st.sampled_from(["00123", "1e5", "12:00"]),
        "renew": st.sampled_from(["always", "never", {"with": "part-0"}]),
        "out": st.fixed_dictionaries({}, optional={"by": WORDS, "note": WORDS, "with": st.just("part-0")}),
        "sits": st.fixed_dictionaries({}, optional={"up": WORDS, "clock": CLOCKS, "opens": st.just("up")}),
        "check": st.lists(CHECK, max_size=2),
        "hazards": st.lists(st.fixed_dictionaries({"signal": st.just("notice"), "text": WORDS}), max_size=2),
        "photo": st.just("photos/a b.jpg"),
        "used": st.sampled_from(["1", "2"]),
        "fasten": st.fixed_dictionaries(
            {},
            optional={
                "angle": FIGURES.map(lambda f: f.split()[0]),
                "torque": FIGURES.map(lambda f: f.split()[0]),
                "passes": st.just(["0.50", "1"]),
            },
        ),
    },
)


@st.composite
def profiles(draw: st.DrawFn) -> Profile:
    parts = [{"id": f"part-{k}"} | part for k, part in enumerate(draw(st.lists(PART, min_size=1, max_size=4)))]
    inner = [{"id": f"inner-{k}"} | part for k, part in enumerate(draw(st.lists(PART, max_size=2)))]
    if inner:
        parts[-1]["parts"] = inner
    unit = {"mark": draw(st.sampled_from(["KR2", "0012", "12-30", "NO"])), "name": draw(WORDS), "up": draw(WORDS)}
    unit["lengths"] = draw(st.sampled_from(["mm", "in"]))
    tools = draw(st.dictionaries(IDENTS, WORDS, max_size=2))
    choices = draw(st.dictionaries(IDENTS, WORDS, min_size=1, max_size=2))
    options = draw(
        st.dictionaries(IDENTS, st.fixed_dictionaries({"name": WORDS, "choices": st.just(choices)}), max_size=2)
    )
    return built({"format": "1", "unit": unit, "tools": tools, "options": options, "parts": parts})


@settings(max_examples=50, deadline=None)
@given(profiles())
def test_any_profile_reads_back_equal(profile: Profile) -> None:
    """Whatever its names, figures and numbers look like; and the second writing is the first."""
    source = profile_yaml(profile)

    found = model_of(source)
    assert found == profile
    assert profile_yaml(found) == source

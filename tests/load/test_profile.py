"""Profiles: every fault at its place, in words that say what is allowed and what was probably meant."""

from __future__ import annotations

import hashlib
import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from labelkit.errors import InputErrors
from labelkit.load.profile import load_profile, parse_profile
from labelkit.load.schema import SCHEMAS
from tests.shop import DEMO_UNITS, ROOT

GOOD = """\
format: 1
unit: {mark: KR2, name: Test unit, up: input side, lengths: mm}
options:
  output: {name: Output end, choices: {flange: Flange, splined: Splined}}
series:
  shims: {from: "2.00", to: "3.20", step: "0.15"}
parts:
  - {id: shim, name: Shim, form: {ring: {od: 72, id: 50, t: "2.60"}}, series: shims}
  - id: hub
    name: Hub
    only: {output: splined}
    sits: {on: shim, clock: "6:00"}
  - id: pack
    name: Pack
    stack: [steel, friction, steel]
    parts:
      - {id: friction, name: Friction, form: {friction_plate: {od: 132, id: 92, t: "2.5", teeth: 30}}}
      - {id: steel, name: Steel, qty: 2, form: {steel_plate: {od: 140, id: 98, t: 2, lugs: 6}}}
fits:
  play: {kind: end_play, target: ["0.40", "0.60"], set_by: shim}
"""


def faults(text: str, folder: Path | None = None) -> str:
    with pytest.raises(InputErrors) as caught:
        parse_profile(text.encode(), "unit.yaml", folder)
    return str(caught.value)


def as_editors_read(text: str) -> Any:
    """Read YAML as version 1.2 does, which editors follow: only true, false and decimal numbers are not text."""

    def typed(node: Any) -> Any:
        if isinstance(node, dict):
            return {key: typed(value) for key, value in node.items()}
        if isinstance(node, list):
            return [typed(value) for value in node]
        if re.fullmatch(r"[-+]?\d+", node):
            return int(node)
        if re.fullmatch(r"[-+]?\d*\.\d+", node):
            return float(node)
        return {"true": True, "false": False}.get(node, node)

    return typed(yaml.load(text, Loader=yaml.BaseLoader))


def test_the_good_one_is_good() -> None:
    """What the faults below are made from has none."""
    assert parse_profile(GOOD.encode(), "unit.yaml", None).profile.unit.mark == "KR2"


@pytest.mark.parametrize(
    ("right", "wrong", "place", "words"),
    [
        ("clock: ", "clok: ", ":12:22:", "did you mean clock"),
        ('"6:00"', '"16:00"', ":12:29:", "an hour on the dial"),
        ("on: shim", "on: shimm", ":12:16:", "did you mean shim"),
        ("output: splined}", "output: splinde}", ":11:20:", "did you mean splined"),
        ("{ring: {od", "{rnig: {od", ":8:", "did you mean ring"),
        ("{ring: {od", "{cup: {od", ":8:", "did you mean drum or taper_cup"),
        ("{ring: {od", "{Unterlegscheibe: {od", ":8:", "did you mean ring"),
        ('t: "2.60"', "t: -2.60", ":8:", "more than 0"),
        ('t: "2.60"', "t: .nan", ":8:", "is no length"),
        ('t: "2.60"', "t: 2,60", ":8:", ""),
        ('t: "2.60"', 't: "0.0072 in (0.15 mm)"', ":8:", "says two things"),
        ("id: 50", "id: 80", ":8:", "id 80 mm is not smaller than od 72 mm"),
        ("id: hub", "id: shim", ":9:", "shim"),
        ("name: Hub", "name: Hub\n    name: Again", ":11:5:", "stands here twice"),
        ("series: shims}", "series: shmis}", ":8:", "did you mean shims"),
        ('step: "0.15"', 'step: "0.17"', ":6:", "do not reach"),
        ('["0.40", "0.60"]', '["0.60", "0.40"]', ":20:", "is not below"),
        ("[steel, friction, steel]", "[friction, friction, steel]", ":15:", "two frictions touch"),
        ("qty: 2", "qty: 3", ":15:", "its qty is 3"),
        ("mark: KR2", "mark: k", ":2:14:", "2 to 8 of A-Z"),
        ("up: input side, ", "", ":2:7:", "the field up is missing"),
        ("name: Hub", "name: &hub Hub", ":10:", "anchor"),
        ("name: Hub", "name: !!str Hub", ":10:", "tag"),
        ("name: Hub", "name: Hub\n    photo: none.jpg", ":11:", "no such file"),
    ],
)
def test_each_fault_is_told_at_its_place(tmp_path: Path, right: str, wrong: str, place: str, words: str) -> None:
    """One slip in a good profile gives a message with its line, and what is allowed or was meant."""
    told = faults(GOOD.replace(right, wrong, 1), tmp_path)

    assert f"unit.yaml{place}" in told, told
    assert words in told, told


def test_all_faults_are_told_at_once() -> None:
    """Three slips give three messages in the order of their lines."""
    text = GOOD.replace("mark: KR2", "mark: k").replace("od: 72", "od: x").replace('"6:00"', "25:00")

    assert [line.split(":")[1] for line in faults(text).splitlines()] == ["2", "8", "12"]


def test_rules_in_a_ring_are_named_whole() -> None:
    """The message goes once round the ring."""
    told = faults(GOOD + "assembly:\n- {first: hub, then: shim, because: no}\n")

    assert "ring" in told
    assert "hub before shim" in told
    assert "shim before hub" in told


def test_typed_text_survives() -> None:
    """What implicit typing would turn into 720, 83 or False stays what was typed."""
    text = (
        GOOD.replace("name: Hub", "name: no\n    number: 00123\n    short: 1e3")
        .replace('"6:00"', "12:00")
        .replace('"2.60"', "2.60")
    )
    shim = parse_profile(text.encode(), "unit.yaml", None).profile.parts[0]
    hub = parse_profile(text.encode(), "unit.yaml", None).profile.parts[1]

    assert (hub.name, hub.number, hub.short) == ("no", "00123", "1e3")
    assert str(hub.sits.clock if hub.sits else "") == "12:00"
    assert str(vars(shim.form)["t"] if shim.form else "") == "2.60 mm"


@pytest.mark.parametrize("unit", DEMO_UNITS)
def test_editors_accept_the_shipped_profiles(unit: str) -> None:
    """The JSON Schema accepts what the loader accepts, as an editor reads it.

    Source: jsonschema, an independent implementation of JSON Schema 2020-12.
    """
    schema = json.loads(json.dumps(SCHEMAS["profile"]()))
    data = as_editors_read((ROOT / "unit_profiles" / f"{unit}.yaml").read_text())

    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(data)


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("clock: ", "clok: "),
        ('"6:00"', '"16:00"'),
        ("{ring: {od", "{rnig: {od"),
        ("mark: KR2", "mark: k"),
        ("up: input side, ", ""),
        ("qty: 2", "qty: 2.5"),
        ("id: hub", "id: Hub one"),
    ],
)
def test_editors_refuse_what_a_schema_can_refuse(right: str, wrong: str) -> None:
    """The faults of single fields are marked while typing; what lies between fields only the loader tells."""
    schema = SCHEMAS["profile"]()

    assert not list(jsonschema.Draft202012Validator(schema).iter_errors(as_editors_read(GOOD)))
    assert list(jsonschema.Draft202012Validator(schema).iter_errors(as_editors_read(GOOD.replace(right, wrong, 1))))


BROKEN = ROOT / "tests" / "data" / "profiles"


@pytest.mark.parametrize("path", sorted(BROKEN.glob("*.yaml")), ids=lambda path: path.stem)
def test_a_file_with_one_fault_gives_one_message(path: Path) -> None:
    """The first lines of each file say the place and the beginning of each message: one, or one for each rule."""
    head = path.read_text(encoding="utf-8").partition("# schema: ")[0]
    expected = [f"unit.yaml:{line.removeprefix('# ')}" for line in head.splitlines()]
    with pytest.raises(InputErrors) as caught:
        parse_profile(path.read_bytes(), "unit.yaml", BROKEN)

    told = [str(problem)[: len(start)] for problem, start in zip(caught.value.problems, expected, strict=True)]
    assert told == expected


def test_a_profile_is_read_by_name_or_path(here: Path) -> None:
    """By name from the shop's folder before the packaged ones; its folder and fingerprint are kept."""
    (here / "unit_profiles").mkdir()
    own = here / "unit_profiles" / "mine.yaml"
    own.write_text(GOOD)
    loaded = load_profile("mine")

    assert (loaded.file, loaded.folder) == ("mine.yaml", Path("unit_profiles"))
    assert loaded.sha256 == hashlib.sha256(GOOD.encode()).hexdigest()
    assert load_profile(str(own)).profile == loaded.profile
    assert load_profile("planetary-reducer").profile.unit.invented


def test_a_fault_names_the_file_as_it_is_reached_from_here(here: Path) -> None:
    """A terminal makes a link of it."""
    (here / "mine").mkdir()
    (here / "mine" / "unit.yaml").write_text(GOOD.replace("mark: KR2", "mark: k"))
    with pytest.raises(InputErrors, match=r"^mine/unit\.yaml:2:14: unit\.mark: "):
        load_profile(str(here / "mine" / "unit.yaml"))


def test_a_profile_in_inches_is_the_same_unit(tmp_path: Path) -> None:
    """The header's unit is that of every bare number. Source: NIST SP 811, 25.4 mm to the inch."""
    text = GOOD.replace("lengths: mm", "lengths: in").replace("od: 72, id: 50", "od: 2.8, id: 2")
    ring = parse_profile(text.encode(), "unit.yaml", None).profile.parts[0].form

    assert ring is not None
    assert vars(ring)["od"].mm == Decimal("71.12")

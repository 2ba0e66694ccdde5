"""Editors are told the same as the loader tells, as far as a schema can."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from labelkit.load.schema import SCHEMAS
from labelkit.model.form import FORMS
from tests.shop import ROOT

BROKEN = Path(__file__).parents[1] / "data" / "profiles"
PROFILE = Draft202012Validator(SCHEMAS["profile"]())
STOCK = Draft202012Validator(SCHEMAS["stock"]())
HEAD = "format: 1\nunit: {mark: KR2, name: Demo unit, up: input side}\n"


def with_text_keys(node: Any) -> Any:
    """Return what YAML 1.2 reads: `on` is a word there."""
    if isinstance(node, dict):
        return {"on" if key is True else key: with_text_keys(value) for key, value in node.items()}
    return [with_text_keys(item) for item in node] if isinstance(node, list) else node


def faults(schema: Draft202012Validator, text: str) -> list[str]:
    return [f"{error.json_path}: {error.message}" for error in schema.iter_errors(yaml.safe_load(text))]


@pytest.mark.parametrize("kind", sorted(SCHEMAS))
def test_the_schemas_are_schemas(kind: str) -> None:
    """Source: the metaschema of JSON Schema 2020-12, as jsonschema holds it."""
    schema = SCHEMAS[kind]()

    Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("path", sorted((ROOT / "unit_profiles").glob("*.yaml")), ids=lambda path: path.stem)
def test_shipped_profiles_pass_in_either_yaml(path: Path) -> None:
    """PyYAML reads YAML 1.1, where the key `on` is true; newer editors read 1.2."""
    data = yaml.safe_load(path.read_text(encoding="utf-8"))

    assert list(PROFILE.iter_errors(data)) == []
    assert list(PROFILE.iter_errors(with_text_keys(data))) == []


@pytest.mark.parametrize("path", sorted((ROOT / "layouts").glob("*.yaml")), ids=lambda path: path.stem)
def test_shipped_stock_passes(path: Path) -> None:
    """Every file of the layouts folder."""
    assert faults(STOCK, path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("path", sorted(BROKEN.glob("*.yaml")), ids=lambda path: path.stem)
def test_broken_profiles_are_refused_as_far_as_a_schema_can(path: Path) -> None:
    """A line of each file says whether an editor marks its fault, and if not, why it cannot."""
    text = path.read_text(encoding="utf-8")
    said = text.partition("# schema: ")[2].splitlines()[0]
    if said == "cannot: this reader stops there":
        with pytest.raises(yaml.YAMLError):
            yaml.safe_load(text)
        return

    assert said == "refuses" or said.startswith("cannot: ")
    assert bool(faults(PROFILE, text)) is (said == "refuses")


STOCK_NOT_BY_SCHEMA = {
    "corner-too-round": "compares fields",
    "cut-longer-than-its-maximum": "compares fields",
    "label-wider-than-its-roll": "compares fields",
    "labels-overlap-across": "calculates",
    "labels-overlap-down": "calculates",
    "last-column-outside-the-paper": "calculates",
    "last-row-outside-the-paper": "calculates",
    "margin-eats-the-label": "compares fields",
    "die-cut-without-gap": "compares fields",
    "roll-of-no-kind": "compares fields",
    "roll-of-two-kinds": "compares fields",
    "paper-not-known": "looks up a name",
    "paper-in-kilograms": "knows the units",
    "tray-limit-in-millimetres": "knows the units",
    "name-twice": "sees the file, not only its content",
    "dpi-of-no-printer": "knows printers",
}


@pytest.mark.parametrize("path", sorted((BROKEN.parent / "stock").glob("[!b]*.yaml")), ids=lambda path: path.stem)
def test_broken_stock_is_refused_as_far_as_a_schema_can(path: Path) -> None:
    """What remains for the loader is what only a program can do, named in the table above.

    `bracket-open` is left out: it is no YAML at all, so there is nothing to hold against a schema.
    """
    assert bool(faults(STOCK, path.read_text(encoding="utf-8"))) is (path.stem not in STOCK_NOT_BY_SCHEMA)


@pytest.mark.parametrize(
    "part",
    [
        "name: no",
        "name: 4711",
        "number: 00123",
        "number: 1e3",
        "mass: 0.04",
        'mass: "0.04 kg"',
        "mass: 1 lb 4 oz",
        "mass: 3/32 lb",
        "qty: set",
        'qty: "3"',
        'sits: {clock: "6:00"}',
        "sits: {clock: free}",
        "one_time: true",
        "renew: {with: hub}",
        "form: {ring: {od: 72, id: 50, t: '2.60'}}",
        "form: {outline: {points: [[-1, 0], [1, 0], [0, 2]], h: 5}}",
        "only: {pto: yes}",
        "fasten: {pattern: [1, 4, 2, 5]}",
        "mass:",
    ],
)
def test_values_pass_bare_or_quoted(part: str) -> None:
    """What the loader takes as the typed text, an editor may see as a number, a truth value or nothing."""
    head = HEAD + "options: {pto: {name: PTO, choices: {yes: With, no: Without}}}\n"

    assert (
        faults(
            PROFILE,
            f"{head}parts:\n- {{id: hub, name: Hub}}\n- {{id: shim, {part}{', name: S' * ('name' not in part)}}}\n",
        )
        == []
    )


def test_a_clock_position_must_be_quoted_for_yaml_1_1() -> None:
    """There 6:00 is 360, a number to base sixty; the schema says so before it is printed anywhere."""
    text = HEAD + "parts: [{id: a, name: A, sits: {clock: 6:00}}]"

    assert yaml.safe_load(text)["parts"][0]["sits"]["clock"] == 360
    assert len(faults(PROFILE, text)) == 1


def test_what_yaml_1_1_makes_something_else_of_is_not_accepted_by_chance() -> None:
    """A date is neither a text nor a number: an editor asks for quotes, the loader takes it as typed."""
    text = HEAD.replace("up:", "revision: 2026-11-25, up:") + "parts: [{id: a, name: A}]"

    assert yaml.safe_load(text)["unit"]["revision"] == date(2026, 11, 25)
    assert [line.split(": ")[0] for line in faults(PROFILE, text)] == ["$.unit.revision"]


def test_editors_know_every_form_and_its_sizes() -> None:
    """The sizes a form must have are required in the schema too."""
    schema = SCHEMAS["profile"]()
    branches = schema["$defs"]["Part"]["properties"]["form"]["anyOf"][0]["properties"]

    assert list(branches) == list(FORMS)
    for name, form in FORMS.items():
        its = schema["$defs"][branches[name]["$ref"].rpartition("/")[2]]
        must = [key for key, field in form.model_fields.items() if field.is_required()]
        assert its["required"] == must
        assert its["additionalProperties"] is False


def test_fields_are_explained_while_typing() -> None:
    """Every kind of entry has a description."""
    assert all(entry.get("description") for entry in SCHEMAS["profile"]()["$defs"].values())

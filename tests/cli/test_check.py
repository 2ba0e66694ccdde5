"""`labelkit check` tells every fault of every profile; `labelkit schema` prints what editors use."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from jsonschema import Draft202012Validator

from labelkit.cli.main import main
from tests.shop import DEMO_UNITS

GOOD = "format: 1\nunit: {mark: KR2, name: Demo unit, up: input side}\nparts:\n- {id: shim, name: Shim}\n"


def labelkit(*words: str) -> Result:
    return CliRunner().invoke(main, words, catch_exceptions=False)


@pytest.mark.parametrize("name", DEMO_UNITS)
def test_a_shipped_profile_is_fine(here: Path, name: str) -> None:
    """The answer goes to stdout, with how much was read."""
    done = labelkit("check", name)

    assert (done.exit_code, done.stderr) == (0, "")
    assert re.fullmatch(rf"{name}: fine, \d+ entries\n", done.stdout)


def test_every_fault_has_file_line_and_column(here: Path) -> None:
    """One line each on stderr, in the order of the file, and exit status 1."""
    Path("unit.yaml").write_text(
        GOOD.replace("mark: KR2", "mark: k") + "- {id: hub, nam: Hub, sits: {on: shmi, clock: 13:00}}\n"
    )
    done = labelkit("check", "unit.yaml")

    assert (done.exit_code, done.stdout) == (1, "unit.yaml: 5 faults\n")
    assert [line.split(": ")[:2] for line in done.stderr.splitlines()] == [
        ["unit.yaml:2:14", "unit.mark"],
        ["unit.yaml:5:3", "parts[1]"],
        ["unit.yaml:5:13", "parts[1].nam"],
        ["unit.yaml:5:34", "parts[1].sits.on"],
        ["unit.yaml:5:47", "parts[1].sits.clock"],
    ]


def test_faults_of_all_files_are_told(here: Path) -> None:
    """A file that cannot be read, one that is missing and one with a fault do not hide each other."""
    Path("empty.yaml").touch()
    Path("wrong.yaml").write_text(GOOD.replace("format: 1", "format: 2"))
    done = labelkit("check", "empty.yaml", "./gone.yaml", "wrong.yaml", "planetary-reduce")

    assert done.exit_code == 1
    assert len(done.stderr.splitlines()) == 4
    assert "empty.yaml: the file is empty\n" in done.stderr
    assert "gone.yaml: there is no such file\n" in done.stderr
    assert 'wrong.yaml:1:9: format: found "2"; allowed: 1\n' in done.stderr
    assert "did you mean planetary-reducer?" in done.stderr


def test_each_file_has_its_answer(here: Path) -> None:
    """One line on stdout for each, in the order they were named; a bad one does not silence a good one."""
    Path("bad.yaml").write_text(GOOD.replace("format: 1", "format: 2"))
    Path("good.yaml").write_text(GOOD)
    done = labelkit("check", "good.yaml", "bad.yaml", "./gone.yaml", "good.yaml", "planetary-reduce")

    assert done.exit_code == 1
    assert done.stdout.splitlines() == [
        "good.yaml: fine, 1 entry",
        "bad.yaml: 1 fault",
        "./gone.yaml: 1 fault",
        "good.yaml: fine, 1 entry",
        "planetary-reduce: 1 fault",
    ]
    assert len(done.stderr.splitlines()) == 3


@pytest.mark.parametrize("name", ["", "./gone.yaml", "gone/", "../gone.yaml"])
def test_a_file_is_named_once(here: Path, name: str) -> None:
    """As it was given, whatever short way there is to say it."""
    done = labelkit("check", name)
    shown = name or '""'

    assert (done.exit_code, done.stdout) == (1, f"{shown}: 1 fault\n")
    assert done.stderr.startswith(f"{shown}: there is no ")


def test_faults_as_json_are_the_same_faults(here: Path) -> None:
    """For other programs: file, line, column, path, message of each; an empty list when there is none."""
    Path("unit.yaml").write_text(GOOD.replace("mark: KR2", "mark: k"))
    done = labelkit("check", "--json", "unit.yaml")
    (fault,) = json.loads(done.stdout)

    assert (done.exit_code, done.stderr) == (1, "")
    assert fault == {
        "file": "unit.yaml",
        "line": 2,
        "column": 14,
        "path": "unit.mark",
        "message": 'found "k"; allowed: 2 to 8 of A-Z, 0-9 and -, as in KR2',
    }
    fine = labelkit("check", "--json", "planetary-reducer")
    assert (fine.exit_code, json.loads(fine.stdout)) == (0, [])


def test_a_letter_that_no_font_has_is_told_before_anything_is_printed(here: Path) -> None:
    """Its place, the letter, its number and its name in Unicode."""
    Path("unit.yaml").write_text(GOOD.replace("name: Shim", "name: Shim \U00013000"))
    done = labelkit("check", "unit.yaml")

    assert done.exit_code == 1
    assert re.search(r"unit\.yaml:4:20: parts\[0\]\.name: no font here has the letter .*U\+13000", done.stderr)
    assert "egyptian hieroglyph a001" in done.stderr


@pytest.mark.parametrize("kind", ["profile", "stock"])
def test_the_schema_is_printed_as_json(here: Path, kind: str) -> None:
    """Ready to be kept in a file beside the profiles."""
    done = labelkit("schema", kind)

    assert done.exit_code == 0
    Draft202012Validator.check_schema(json.loads(done.stdout))


def test_without_a_word_it_is_the_profiles_schema(here: Path) -> None:
    """Profiles are what people write."""
    assert labelkit("schema").stdout == labelkit("schema", "profile").stdout


@pytest.mark.parametrize("command", ["check", "schema"])
def test_help_has_an_example(here: Path, command: str) -> None:
    """A newcomer can copy it."""
    assert f"Example: labelkit {command} " in labelkit(command, "--help").stdout


def test_hints_are_told_when_asked_for_and_are_no_faults(here: Path) -> None:
    """On stdout, each with its place, before the answer that counts them; the exit status stays 0."""
    Path("unit.yaml").write_text(GOOD)
    done = labelkit("check", "--hints", "unit.yaml")

    assert (done.exit_code, done.stderr) == (0, "")
    hint, answer = done.stdout.splitlines()
    assert hint.startswith(
        "unit.yaml:4:3: parts[0]: hint: not recorded of shim: kind and sizes (no drawing, a plain cup "
    )
    assert hint.endswith(" [not-recorded]")
    assert answer == "unit.yaml: fine, 1 entry, 1 hint"
    assert labelkit("check", "unit.yaml").stdout == "unit.yaml: fine, 1 entry\n"


def test_dimensions_that_disagree_are_hints_and_no_faults(here: Path) -> None:
    """At the field that says what the part lies on; the exit status stays 0."""
    Path("unit.yaml").write_text(
        GOOD.replace("name: Shim}", "name: Shim, form: {ring: {od: 30, id: 20, t: 2}}, sits: {on: pad}}")
        + "- {id: pad, name: Pad, form: {ring: {od: 60, id: 40, t: 2}}}\n"
    )
    done = labelkit("check", "--hints", "unit.yaml")

    assert (done.exit_code, done.stderr) == (0, "")
    assert re.search(r"^unit\.yaml:4:\d+: parts\[0\]\.sits\.on: hint: shim .* finds no face of pad", done.stdout, re.M)


def test_hints_name_the_file_as_it_is_reached_from_here(here: Path) -> None:
    """As faults do, letters that no font has among them."""
    Path("mine").mkdir()
    Path("mine/unit.yaml").write_text(GOOD)

    assert labelkit("check", "--hints", "mine/unit.yaml").stdout.startswith("mine/unit.yaml:4:3: parts[0]: hint: ")
    Path("mine/unit.yaml").write_text(GOOD.replace("name: Shim", "name: Shim \U00013000"))
    assert labelkit("check", "mine/unit.yaml").stderr.startswith("mine/unit.yaml:4:20: ")


def test_hints_as_json_are_marked_as_hints(here: Path) -> None:
    """With their kind, beside the faults of other files, which bear no such mark."""
    Path("unit.yaml").write_text(GOOD)
    Path("bad.yaml").write_text(GOOD.replace("mark: KR2", "mark: k"))
    done = labelkit("check", "--json", "--hints", "unit.yaml", "bad.yaml")

    assert done.exit_code == 1
    assert [(entry["file"], entry.get("hint"), entry.get("kind")) for entry in json.loads(done.stdout)] == [
        ("bad.yaml", None, None),
        ("unit.yaml", True, "not-recorded"),
    ]


def test_one_round_tells_field_faults_counts_order_and_letters(here: Path) -> None:
    """A slip of a field hides neither the ring of rules nor the letter that no font has."""
    Path("unit.yaml").write_text(
        GOOD.replace("mark: KR2", "mark: k")
        + "- {id: hub, name: Hub \U00013000, held: {by: ring, part: clip}}\n- {id: clip, name: Clip, wash: twice}\n"
        + "assembly:\n- {first: clip, then: shim}\n- {first: shim, then: clip}\n"
    )
    done = labelkit("check", "unit.yaml")

    assert [line.split(": ")[1] for line in done.stderr.splitlines()] == [
        "unit.mark",
        "parts[1].name",
        "parts[1].held.part",
        "parts[2].wash",
        "assembly[1]",
    ]
    assert done.stdout == "unit.yaml: 5 faults\n"


STOCK = (
    "format: 1\nstock:\n  own-a4: {kind: paper, size: [210, 297]}\n  own: {kind: tray, inside: [300, 200], depth: 50}\n"
)


def test_a_file_of_stock_is_checked_as_stock(here: Path) -> None:
    """Its faults are those of stock, not of a unit profile that it never was; what neither is, is told as what."""
    Path("stock.yaml").write_text(STOCK)
    Path("neither.yaml").write_text(STOCK.replace("stock:", "stok:"))
    Path("bad.yaml").write_text(STOCK.replace("kind: tray", "kind: trya"))
    done = labelkit("check", "stock.yaml", "bad.yaml")

    assert done.stdout == "stock.yaml: fine, 2 stocks\nbad.yaml: 1 fault\n"
    assert done.stderr.startswith('bad.yaml:4:15: stock.own.kind: found "trya"; allowed: labels, ')
    assert done.stderr.endswith("; did you mean tray?\n")
    assert len(done.stderr.splitlines()) == 1
    assert (
        "checked as a unit profile, which has unit: and parts:, a file of stock"
        in labelkit(*("check", "neither.yaml")).stdout
    )
    assert done.exit_code == 1


def test_a_paper_in_capitals_is_offered_as_it_is_written(here: Path) -> None:
    """Whoever writes A4 means a4."""
    labels = (
        "  own: {kind: labels, paper: A4, label: [70, 36], columns: 3, rows: 8, pitch: [70, 36], first: [0, 4.5]}\n"
    )
    Path("stock.yaml").write_text(f"format: 1\nstock:\n{labels}")

    assert labelkit("check", "stock.yaml").stderr.endswith("; did you mean a4?\n")

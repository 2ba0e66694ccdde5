"""`labelkit import` shows a table as it is understood, makes a profile of it, and prints tables to fill in."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from labelkit.cli.main import main
from labelkit.errors import LabelkitError
from labelkit.language import LANGUAGES
from labelkit.load.profile import load_profile

TABLE = "Bezeichnung;Menge;Abmessungen;Farbe\nDeckelschraube;6 Stk.;M8 x 30;rot\nWellendichtring;1;40 x 62 x 7,5;\n"


@pytest.fixture(autouse=True)
def table(here: Path) -> None:
    """A table in the working folder."""
    (here / "kr2.csv").write_text(TABLE)


def labelkit(*words: str) -> Result:
    return CliRunner().invoke(main, ("import", *words), standalone_mode=False)


def raised(*words: str) -> str:
    done = labelkit(*words)
    assert isinstance(done.exception, LabelkitError), done.exception
    return str(done.exception)


def test_a_dry_run_shows_the_table_as_it_is_understood_and_writes_nothing() -> None:
    """A line a part, from which heading each column comes, and every doubt by line and column."""
    done = labelkit("kr2.csv", "--dry-run")

    lines = done.stdout.splitlines()
    assert lines[0].split() == ["line", "part", "in", "qty", "name", "form", "and", "sizes", "more"]
    assert lines[1].split()[:4] == ["2", "deckelschraube", "6", "Deckelschraube"]
    assert "lip_seal {id 40, od 62, w 7.5}" in lines[2]
    assert "read: Bezeichnung as name, Menge as qty, Abmessungen as sizes" in lines
    assert 'look at kr2.csv:1:31: the column "Farbe" is not read' in lines
    assert lines[-1] == "2 parts, 3 doubts, 0 faults; nothing is written"
    assert list(Path().iterdir()) == [Path("kr2.csv")]


def test_a_dry_run_answers_in_json_and_says_no_with_its_status() -> None:
    """Faults are in the answer, and the exit status is 1."""
    Path("bad.csv").write_text("name;qty\nRing;many\n")
    done = labelkit("bad.csv", "--dry-run", "--json")
    found = json.loads(done.stdout)

    assert done.return_value == 1 or done.exit_code == 1
    assert found["parts"] == [{"line": 2, "in": None, "name": "Ring", "qty": "many", "id": "ring"}]
    assert [(fault["line"], fault["column"], fault["field"]) for fault in found["faults"]] == [(2, 6, "qty")]


def test_a_table_becomes_a_profile_beside_it() -> None:
    """Doubts are told on the way; the file is never written over."""
    done = labelkit("kr2.csv", "--up", "Eingang")
    profile = load_profile("kr2.yaml").profile

    assert done.exception is None
    assert (profile.unit.mark, profile.unit.name, profile.unit.up) == ("KR2", "kr2", "Eingang")
    assert [(part.id, part.qty) for part in profile.parts] == [("deckelschraube", 6), ("wellendichtring", 1)]
    assert "from the file's name: mark KR2, name kr2; --mark and --name say others" in done.stderr
    assert 'look at kr2.csv:1:31: the column "Farbe" is not read' in done.stderr
    assert "is never overwritten" in raised("kr2.csv", "--up", "Eingang")


def test_a_mapping_file_names_own_words() -> None:
    """A column that it maps to nothing is left out without a doubt."""
    Path("own.csv").write_text("Was;Fach\nRing;R2\n")
    Path("map.yaml").write_text("Was: name\nFach:\n")

    assert "no column is named name; found: Was | Fach" in raised("own.csv", "--dry-run")
    assert "1 part, 0 doubts, 0 faults" in labelkit("own.csv", "--mapping", "map.yaml", "--dry-run").stdout


def test_the_table_of_a_profile_goes_to_a_spreadsheet_and_back() -> None:
    """With semicolon and decimal comma; put onto the profile it came from it is the same one."""
    labelkit("--template", "--onto", "marine-gear", "--delimiter", ";", "--decimal", ",", "--out", "parts.csv")
    done = labelkit("parts.csv", "--onto", "marine-gear", "--out", "again.yaml")
    first = Path("parts.csv").read_text().splitlines()[1]

    assert first.startswith("dipstick;Dipstick with breather;;;1;pin;'30 x 210;0,060;MR3-2101;")

    assert done.exception is None
    assert load_profile("again.yaml").profile == load_profile("marine-gear").profile


def test_the_template_is_printed_as_bytes_that_a_spreadsheet_opens() -> None:
    """With a byte-order mark, so that umlauts survive."""
    assert labelkit("--template").stdout_bytes.startswith(b"\xef\xbb\xbfpart,name,short,in,qty,form,sizes,")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((), "name a CSV file, or print a --template to fill in"),
        (("nope.csv", "--dry-run"), "nope.csv: there is no such file"),
        ((".", "--dry-run"), "a CSV file is wanted here"),
        (("kr2.csv",), 'give --up, as in --mark KR2 --name "Two-stage reducer" --up "input side"'),
        (("kr2.csv", "--up", "x", "--mark", "k"), '--mark: found "k"; allowed: 2 to 8'),
        (("kr2.csv", "--template"), "--template prints a table and reads none"),
        (("kr2.csv", "--json"), "--json belongs to --dry-run"),
        (("kr2.csv", "--onto", "marine-gear", "--up", "x"), "--onto marine-gear: that profile has a header"),
        (("kr2.csv", "--onto", "marine-gaer"), "marine-gear"),
        (("kr2.csv", "--mapping", "kr2.csv", "--dry-run"), "kr2.csv"),
    ],
)
def test_what_cannot_be_done_is_said(words: tuple[str, ...], message: str) -> None:
    """And nothing is written."""
    assert message in raised(*words)
    assert list(Path().iterdir()) == [Path("kr2.csv")]


def test_the_help_names_every_language_of_headings() -> None:
    """By its own name, also one that comes later."""
    said = CliRunner().invoke(main, ["import", "--help"]).output

    assert all(name in said for name in LANGUAGES.values())

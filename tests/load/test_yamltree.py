"""YAML is read as it was typed, with places; what is not plain YAML text is refused in one clear sentence."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest
import yaml

from labelkit.errors import InputError, InputErrors
from labelkit.load.yamltree import DEEPEST, LARGEST_FILE, parse, path_text, read_file


def told(data: bytes | str) -> str:
    with pytest.raises(InputError) as error:
        parse(data.encode() if isinstance(data, str) else data, "x.yaml")
    return str(error.value)


# What YAML 1.1's implicit typing makes of the text, as PyYAML's safe_load shows it.
@pytest.mark.parametrize(
    ("text", "typed"),
    [
        ("12:00", 720),
        ("1:20", 80),
        ("00123", 83),
        ("no", False),
        ("on", True),
        ("0.30", 0.3),
        ("1e3", "1e3"),
        ("1.0e+3", 1000.0),
        ("0x1F", 31),
        ("1_000", 1000),
        (".5", 0.5),
        ("=", None),
    ],
)
def test_a_scalar_stays_what_was_typed(text: str, typed: object) -> None:
    """Nothing is read as a time of day, an octal number or a truth value."""
    if typed is not None:
        assert yaml.safe_load(text) == typed

    assert parse(f"a: {text}".encode(), "x").data == {"a": text}
    assert parse(f"{text}: a".encode(), "x").data == {text: "a"}


@pytest.mark.parametrize(
    ("text", "expected"), [("", None), ("~", None), ("null", None), ("''", ""), ('"null"', "null")]
)
def test_nothing_is_not_an_empty_text(text: str, expected: str | None) -> None:
    """What is in quotes is a text, whatever it says."""
    assert parse(f"a: {text}".encode(), "x").data == {"a": expected}


def test_every_value_and_key_has_its_place() -> None:
    """Line and column from 1, in block and in flow style."""
    tree = parse(b"# top\na:\n  - b: 1\n    c: [x, {d: y}]\n", "x.yaml")

    assert tree.data == {"a": [{"b": "1", "c": ["x", {"d": "y"}]}]}
    assert tree.place(("a", 0, "b")) == (3, 8)
    assert tree.place(("a", 0, "b"), key=True) == (3, 5)
    assert tree.place(("a", 0, "c", 1, "d")) == (4, 16)
    assert tree.place(("a", 0, "c", 1, "d"), key=True) == (4, 13)
    assert tree.place(("a", 0, "gone")) == (3, 5)
    assert str(tree.problem(("a", 0, "c", 0), "is wrong")) == "x.yaml:4:9: a[0].c[0]: is wrong"


def test_a_decimal_comma_in_braces_stays_what_was_typed() -> None:
    """YAML ends a value at each comma in brackets; a key of figures that has no value is the end of the one before."""
    tree = parse(b"a: {b: 0,30, c: 40,5 mm, d: '1',5, e: 1, 5, f: 1,5: x, 7}", "x.yaml")
    typed = {"b": "0,30", "c": "40,5 mm", "d": "1", "5": "x", "e": "1", "f": "1", "7": None}

    assert tree.data == {"a": typed}
    assert (tree.place(("a", "b")), tree.place(("a", "c"), key=True)) == ((1, 8), (1, 14))


@pytest.mark.parametrize(
    ("text", "mixed", "joined"),
    [
        ("[2,45, 2,60, 3]", True, ["2,45", "2,60", "3"]),
        ("[-0,05 mm, 0.10 mm]", True, ["-0,05 mm", "0.10 mm"]),
        ("[2,45]", False, ["2,45"]),
        ("[1,4,2, 5]", False, None),
    ],
)
def test_the_commas_of_a_list_are_told_apart(text: str, mixed: bool, joined: list[str] | None) -> None:
    """Only one without a blank may part a figure, and only beside one with a blank it surely does."""
    tree = parse(f"a: {text}".encode(), "x.yaml")
    assert tree.mixes_commas(("a",)) is mixed

    if joined:
        tree.join_commas(("a",))
        assert tree.data == {"a": joined}
        assert [tree.place(("a", k))[1] for k in range(len(joined))] == [text.index(each) + 4 for each in joined]


def test_of_two_equal_keys_the_commas_are_those_of_the_value_that_is_kept() -> None:
    """Whatever stands in the first."""
    tree = parse(b"a: {b: [1,5, 2]}\na: {b: [3]}\nc: [1,5, 2]\nc: [1, 3,5]\n", "x.yaml")

    assert tree.data == {"a": {"b": ["3"]}, "c": ["1", "3", "5"]}
    assert tree.commas == {("c",): (2,)}


def test_what_is_no_figure_has_no_decimal_comma() -> None:
    """Words, figures with a point, fractions, and figures in quotes or with a blank between them."""
    assert parse(b"a: [x,1, 0.1,0.2, '1',5, 1,3/32, 1, 2, [3],4]", "x.yaml").commas == {}


@pytest.mark.parametrize("head", ["\ufeff", "# words\n", "---\n", "%YAML 1.1\n---\n", "\r\n"])
def test_what_stands_before_the_text_does_not_hinder(head: str) -> None:
    """A byte order mark, comments, a document mark; CR LF as line ends."""
    assert parse(f"{head}a: 1\r\nb: 2\r\n...\n".encode(), "x").data == {"a": "1", "b": "2"}


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"\x89PNG\r\n\x1a\n\x00\x00", "is a binary file; a YAML text file is wanted here"),
        ("a: 1\n".encode("utf-16"), "is UTF-16 text; save it as UTF-8"),
        ("a: für\n".encode("latin-1"), "x.yaml:1:5: holds the byte 0xFC, which is not UTF-8; save the file as UTF-8"),
        ("a: ü\nb: für\n".encode() + b"\xe9", "x.yaml:3:1: holds the byte 0xE9"),
        ("a: ü\nb: \x07", "x.yaml:2:4: holds the control character U+0007; take it out"),
        ('a: "\\ud800"', "x.yaml:1:7: is not YAML: found invalid Unicode character escape code"),
        ("a: [1, 2\n", "x.yaml:2:1: is not YAML: did not find expected ',' or ']'; look for a bracket"),
        ("a: [1,\n  2\nb: 3\n", "or a line that is indented otherwise; the bracket opens at 1:4"),
        (
            "a: 1\nb: ['open]\nc: 2\n",
            "x.yaml:2:5: is not YAML: found unexpected end of stream; the quote that opens here is not closed",
        ),
        (
            "a: {b: 'open, c: d}\ne: {f: 'g'}\n",
            "x.yaml:1:8: is not YAML: did not find expected ',' or '}' in line 2; the quote that opens here is closed "
            "there only: look for one that is missing",
        ),
        (
            "a: b: c",
            'x.yaml:1:5: is not YAML: mapping values are not allowed in this context; put a text that holds ": "',
        ),
        (
            "- id: a\n   name: b",
            "x.yaml:2:4: is not YAML: mapping values are not allowed in this context; indent the field like those "
            'beside it, and put a text that holds ": " in quotes',
        ),
        (
            "a: b\n\tc: d",
            "x.yaml:2:1: is not YAML: found a tab character that violates indentation; indent with spaces",
        ),
        ("a:\n\tb: c", "x.yaml:2:1: is not YAML: found character that cannot start any token; indent with spaces"),
        ("a: @b", "x.yaml:1:4: is not YAML: found character that cannot start any token"),
        ("a: 1\nb\n", "x.yaml:2:1: is not YAML: could not find expected ':'; a field is written as NAME: VALUE"),
        ("a: 1\n--- \nb: 2\n", "x.yaml:2:1: a second document starts; one is allowed"),
        ("? [a, b]\n: c\n", "x.yaml:1:3: a key is one word"),
        ("a: &x 1\n*x : 2\n", "x.yaml:2:1: a key is one word"),
    ],
)
def test_what_is_no_plain_yaml_says_why(data: bytes | str, words: str) -> None:
    """One sentence with the place, never the parser's own page of text."""
    found = told(data)

    assert words in found
    assert "\n" not in found


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a: &x 1\nb: 2", "x.yaml:1:4: a: the anchor &x is not allowed; write the value where it is used"),
        ("&x a: 1\nb: 2", "x.yaml:1:1: a: the anchor &x is not allowed"),
        ("a: *x\nb: 2", "x.yaml:1:4: a: the alias *x is not allowed; write the value itself"),
        ("a: !!python/object:os.system ls\nb: 2", "x.yaml:1:4: a: the tag tag:yaml.org,2002:python/object:os.system"),
        ("a: !own 1\nb: 2", "x.yaml:1:4: a: the tag !own is not allowed; take it out"),
        ("!!str a: 1\nb: 2", "x.yaml:1:1: a: the tag tag:yaml.org,2002:str is not allowed"),
        ("b: 2\na: 1\na: 3", "x.yaml:3:1: a: the key a stands here twice (first in line 2); keep one"),
    ],
)
def test_what_hides_a_value_is_noted_and_reading_goes_on(text: str, words: str) -> None:
    """Aliases, anchors, tags and equal keys do not stop the other faults of the file from being told."""
    tree = parse(text.encode(), "x.yaml")
    (problem,) = tree.problems

    assert str(problem).startswith(words)
    assert tree.data["b"] == "2"


@pytest.mark.parametrize(
    "text",
    [
        "[" * 10_000 + "]" * 10_000,
        "{a: " * 10_000 + "}" * 10_000,
        "- " * 10_000 + "a",
        "[" * 10_000,
        "a: " + "[" * 10_000,
    ],
    ids=["lists", "mappings", "dashes", "open", "inside"],
)
def test_ten_thousand_levels_are_refused_at_once(text: str) -> None:
    """A nest of brackets neither overflows the stack nor takes long."""
    found = told(text)

    assert f"{DEEPEST} levels" in found
    assert len(found) < 300


def test_the_deepest_profile_is_read() -> None:
    """Nine sub-assemblies inside each other are deeper than any real unit."""
    text = "{parts: [" * 11 + "]}" * 11

    assert parse(text.encode(), "x").data["parts"][0]["parts"]


def test_what_the_file_holds_never_steers_the_terminal() -> None:
    """A message shows control characters and line ends by their numbers, and cuts what is endless."""
    tree = parse(b'"a\\e[2J\\nb": 1\n' + b"c" * 200 + b": 2\n", "x.yaml")
    one, two = (str(tree.problem((key,), f"found {key}")) for key in tree.data)

    assert one == "x.yaml:1:14: a<U+001B>[2J<U+000A>b: found a<U+001B>[2J<U+000A>b"
    assert two.startswith(f"x.yaml:2:203: {'c' * 57}...: ")


def test_a_path_is_written_as_people_do() -> None:
    """Fields with dots, entries in brackets from 0."""
    assert path_text(("parts", 3, "sits", "clock")) == "parts[3].sits.clock"
    assert path_text(()) == ""


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("gone.yaml", "gone.yaml: there is no such file"),
        ("./emtpy.yaml", "emtpy.yaml: there is no such file; did you mean empty.yaml?"),
        ("emty.yaml", "; did you mean empty.yaml?"),
        (".", "is a folder; a YAML file is wanted here"),
        ("empty.yaml", "empty.yaml: the file is empty"),
        ("blank.yaml", "blank.yaml: the file is empty"),
        ("empty.yaml/x", "cannot be read: Not a directory"),
        ("x" * 300, "cannot be read: File name too long"),
        ("loop.yaml", "cannot be read: Too many levels of symbolic links"),
    ],
)
def test_what_cannot_be_read_is_named(here: Path, name: str, words: str) -> None:
    """The file, and why."""
    Path("empty.yaml").touch()
    Path("emtyy.csv").touch()
    Path("blank.yaml").write_text(" \n\n")
    Path("loop.yaml").symlink_to("loop.yaml")
    with pytest.raises(InputError) as error:
        read_file(Path(name))

    assert words in str(error.value)


def test_fifty_megabytes_are_refused_unread(tmp_path: Path) -> None:
    """A file far too large is not parsed."""
    path = tmp_path / "large.yaml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(InputError, match=r"large\.yaml: the file has over 16 MB; no profile is that large"):
        read_file(path)


def test_a_device_without_end_is_refused() -> None:
    """It has no size to look at; reading stops at the limit."""
    with pytest.raises(InputError, match="over 16 MB"):
        read_file(Path("/dev/zero"))


def test_a_pipe_is_read_to_its_end(tmp_path: Path) -> None:
    """A profile may come from another program."""
    path = tmp_path / "pipe"
    os.mkfifo(path)
    writer = threading.Thread(target=lambda: path.write_bytes(b"a: 1\n"))
    writer.start()

    assert read_file(path) == b"a: 1\n"
    writer.join()


@pytest.mark.parametrize("loader", ["CBaseLoader", "BaseLoader"])
def test_the_parser_in_c_is_not_needed(loader: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where PyYAML was built without libyaml, the same files give the same trees and places."""
    monkeypatch.setattr(yaml, "CBaseLoader", getattr(yaml, loader))
    tree = parse(b"a: [1, 'two']\nb: {c: 12:00}\n", "x.yaml")

    assert tree.data == {"a": ["1", "two"], "b": {"c": "12:00"}}
    assert (tree.place(("a", 1)), tree.place(("b", "c"), key=True)) == ((1, 8), (2, 5))
    with pytest.raises(InputErrors, match=r"x\.yaml:2:4: is not YAML"):
        parse(b"a: 1\nb: @\n", "x.yaml")


def test_a_large_profile_is_far_below_the_limit() -> None:
    """10,000 parts with their forms are read whole."""
    form = "form: {ring: {od: 72, id: 50, t: 2}}"
    text = "parts:\n" + "".join(f"- {{id: part-{k}, name: Part {k}, {form}}}\n" for k in range(10_000))

    assert len(text) < LARGEST_FILE
    assert len(parse(text.encode(), "x").data["parts"]) == 10_000

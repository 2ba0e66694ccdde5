"""`labelkit new` starts a profile, by questions, by options or as a skeleton, and never writes over a file."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from labelkit.cli import new as command
from labelkit.cli.main import main
from labelkit.errors import OutputError, UsageError
from labelkit.load.profile import load_profile, parse_profile
from labelkit.load.schema import SCHEMAS
from labelkit.load.starting import skeleton
from labelkit.model.form import FORMS

ANSWERS = ("--mark", "KR2", "--name", "Reducer: two stages", "--up", "input side")


pytestmark = pytest.mark.usefixtures("here")


def labelkit(*words: str, answers: str = "") -> Result:
    return CliRunner().invoke(main, ("new", *words), catch_exceptions=False, input=answers, standalone_mode=False)


def raised(*words: str) -> str:
    done = CliRunner().invoke(main, ("new", *words), standalone_mode=False)
    assert isinstance(done.exception, OutputError | UsageError)
    return str(done.exception)


def test_options_answer_everything() -> None:
    """The file is a valid profile, with what is open as comments; without an ending it gets one."""
    done = labelkit("kr2", *ANSWERS, "--lengths", "in", "--clock-from", "above", "--first-part", "Cover screw")
    profile = load_profile("kr2.yaml").profile

    assert "kr2.yaml: written" in done.stderr
    assert (profile.unit.name, profile.unit.lengths, profile.unit.clock_from) == ("Reducer: two stages", "in", "above")
    assert [part.name for part in profile.parts] == ["Cover screw"]
    assert "# NOT RECORDED: where the figures come from, what is at 12 o'clock" in Path("kr2.yaml").read_text()


def test_a_terminal_is_asked_for_the_rest_and_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """An answer that cannot be written is refused with what is allowed; an empty one takes what is shown."""
    monkeypatch.setattr(command, "is_asked", lambda: True)
    done = labelkit("kr2.yaml", "--mark", "KR2", answers="\nReducer\ninput side\nyards\nmm\n\n\n")
    profile = load_profile("kr2.yaml").profile

    assert 'found "yards"; allowed: mm, in' in done.stderr
    assert (profile.unit.name, profile.unit.up, profile.unit.clock_from) == ("Reducer", "input side", None)
    assert [part.name for part in profile.parts] == ["First part"]


def test_nobody_there_to_ask_says_what_to_give() -> None:
    """In a script nothing waits for ever; a wrong answer is told by its option."""
    assert raised("kr2.yaml", "--mark", "KR2") == "nobody is here to ask; give --name, --up, or --skeleton"
    assert raised("kr2.yaml", *ANSWERS, "--mark", "k").startswith('--mark: found "k"; allowed: 2 to 8 of A-Z')
    assert not list(Path().iterdir())


def test_the_skeleton_is_a_valid_profile_with_every_field_as_a_comment() -> None:
    """With its comments taken off it is a valid profile, too, in which no field of the format is missing."""
    labelkit("kr2.yaml", "--skeleton")
    text = Path("kr2.yaml").read_text()

    assert text == skeleton({})
    assert load_profile("kr2.yaml").profile.unit.mark == "XX"
    fields_only, _, kinds = text.partition("# Kinds of form")
    assert set(FORMS) == {*re.findall(r"^#   (\w+) \{", kinds, re.MULTILINE)}
    assert "#   hub {od, h, bore, flange_od?, flange_t?} " in kinds
    lines = [line for line in fields_only.splitlines() if not line.startswith(("# A unit", "# names"))]
    opened = "\n".join(line.replace("# ", "", 1) if line.lstrip().startswith("#") else line for line in lines)
    assert parse_profile(opened.encode(), "open.yaml", None).profile.unit.clock_from == "above"
    schema = SCHEMAS["profile"]()
    forms = {form.__name__ for form in FORMS.values()}
    models = [schema, *(model for name, model in schema["$defs"].items() if name not in forms)]
    fields = {key for model in models for key in model.get("properties", ())}
    assert set() == fields - {*re.findall(r"\w+(?=:)", opened)}, "these lack a line in _SKELETON of load/starting.py"


def test_the_skeleton_takes_what_is_known_already() -> None:
    """What was given stands in its place, a comment opened for it, with the words behind it; the rest as ever."""
    labelkit("kr2.yaml", "--skeleton", *ANSWERS, "--clock-from", "a" * 60, "--first-part", "Cover screw")
    text, profile = Path("kr2.yaml").read_text(), load_profile("kr2.yaml").profile

    assert (profile.unit.mark, profile.unit.name, profile.unit.up) == ("KR2", "Reducer: two stages", "input side")
    assert (profile.unit.clock_from, profile.parts[0].name) == ("a" * 60, "Cover screw")
    assert "  mark: KR2                    # 2 to 8 of A-Z, 0-9 and -, printed on every label\n" in text
    assert text.count("\n") == skeleton({}).count("\n")


@pytest.mark.parametrize("words", [("--skeleton",), ANSWERS])
def test_nothing_is_written_over(words: tuple[str, ...]) -> None:
    """What was there is still there."""
    Path("kr2.yaml").write_text("mine")

    assert "is there already and is never overwritten" in raised("kr2.yaml", *words)
    assert Path("kr2.yaml").read_text() == "mine"
    assert raised(".", *words).startswith(".: is there already")
    assert "there is no folder nowhere; make it first" in raised("nowhere/here/kr2.yaml", *words)

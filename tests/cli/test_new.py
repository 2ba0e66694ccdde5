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
from labelkit.load.starting import SKELETON
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

    assert text == SKELETON
    assert load_profile("kr2.yaml").profile.unit.mark == "XX"
    lines = [line for line in text.splitlines() if not line.startswith("# A unit") and not line.startswith("# names")]
    opened = "\n".join(line.replace("# ", "", 1) if line.lstrip().startswith("#") else line for line in lines)
    assert parse_profile(opened.encode(), "open.yaml", None).profile.unit.clock_from == "above"
    schema = SCHEMAS["profile"]()
    forms = {form.__name__ for form in FORMS.values()}
    models = [schema, *(model for name, model in schema["$defs"].items() if name not in forms)]
    fields = {key for model in models for key in model.get("properties", ())}
    assert set() == fields - {*re.findall(r"\w+(?=:)", opened)}, "these lack a line in SKELETON of load/starting.py"


@pytest.mark.parametrize("words", [("--skeleton",), ANSWERS])
def test_nothing_is_written_over(words: tuple[str, ...]) -> None:
    """What was there is still there."""
    Path("kr2.yaml").write_text("mine")

    assert "is there already and is never overwritten" in raised("kr2.yaml", *words)
    assert Path("kr2.yaml").read_text() == "mine"
    assert "there is no folder nowhere; make it first" in raised("nowhere/here/kr2.yaml", *words)
    assert raised("x.yaml", "--skeleton", "--mark", "KR2").startswith("--skeleton asks nothing")

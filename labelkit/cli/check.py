"""`labelkit check` and `labelkit schema`."""

from __future__ import annotations

import json
from dataclasses import asdict

import click

from labelkit.errors import InputErrors, LabelkitError, Problem
from labelkit.load.profile import load_profile
from labelkit.load.schema import SCHEMAS
from labelkit.sheets.letters import letter_problems


@click.command()
@click.argument("profiles", nargs=-1, required=True, metavar="PROFILE...")
@click.option("--json", "as_json", is_flag=True, help="Print the faults as JSON.")
def check(profiles: tuple[str, ...], as_json: bool) -> None:
    """Check unit profiles; print every fault with its line and column.

    PROFILE is a name (planetary-reducer) or a path to a YAML file.

    \b
    Example: labelkit check unit_profiles/planetary-reducer.yaml
    """
    problems: list[Problem] = []
    for name in profiles:
        try:
            loaded = load_profile(name)
        except InputErrors as error:
            problems += error.problems
        except LabelkitError as error:
            problems.append(Problem(name, 0, 0, "", str(error).removeprefix(f"{name}: ")))
        else:
            problems += letter_problems(loaded)
            if not as_json and not problems:
                click.echo(f"{name}: fine, {sum(1 for _ in loaded.profile.walk())} entries")
    if as_json:
        click.echo(json.dumps([asdict(problem) for problem in problems], indent=2, ensure_ascii=False))
    else:
        for problem in problems:
            click.echo(str(problem), err=True)
    if problems:
        raise click.exceptions.Exit(1)


@click.command()
@click.argument("kind", type=click.Choice(sorted(SCHEMAS)), default="profile")
def schema(kind: str) -> None:
    """Print the JSON Schema of a kind of file, for editors.

    \b
    Example: labelkit schema profile > profile.schema.json
    """
    click.echo(json.dumps(SCHEMAS[kind](), indent=2, ensure_ascii=False))

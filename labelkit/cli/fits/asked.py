"""What the kinds of `labelkit fit` share: common options, and how an answer is told."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, Final, TypeVar

import click

from labelkit.calc.answers import Answer
from labelkit.calc.verdicts import VERDICT_WORDS, taken

# An answer of these is a no: nothing was found, nothing was worked out, or it is outside.
_NO: Final = ("none", "refused", "out", "ask")
Command = TypeVar("Command", bound=Callable[..., Any])


def shown_options(command: Command) -> Command:
    """Add --unit and --json, which every kind has; they come as `unit` and `as_json`."""
    command = click.option("--json", "as_json", is_flag=True, help="Print as JSON.")(command)
    return click.option(
        "--unit",
        type=click.Choice(["mm", "in"]),
        default="mm",
        show_default=True,
        help="Of bare numbers, and of the answer.",
    )(command)


def tell(answer: Answer, *, as_json: bool) -> None:
    """Print an answer; end with exit status 1 where it is a no.

    Raises:
        Exit: the answer is none, refused, out or ask.
    """
    if as_json:
        click.echo(json.dumps(answer.data(), indent=1, ensure_ascii=False))
    else:
        for line in answer.sums:
            click.echo(line)
        told = f": take {words}" if (words := taken(answer)) else ""
        click.echo(f"{answer.fit.replace('_', ' ')}: {VERDICT_WORDS[answer.verdict]}{told}")
        for note in answer.notes:
            click.echo(f"  - {note}")
    if answer.verdict in _NO:
        raise click.exceptions.Exit(1)

"""Groups of commands that list each with the whole first sentence of its help."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import click

# No first sentence is longer.
_WHOLE: Final = 1000


class ToldGroup(click.Group):
    """A group whose list of commands ends no sentence in three dots."""

    def told(self, ctx: click.Context) -> Mapping[str, str]:
        """Return what each command is for, by its name."""
        commands = {name: self.get_command(ctx, name) for name in self.list_commands(ctx)}
        return {name: command.get_short_help_str(_WHOLE) for name, command in commands.items() if command}

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the list of commands."""
        with formatter.section("Commands"):
            formatter.write_dl(list(self.told(ctx).items()))

"""The `labelkit` command and its one way of failing: a clear text on stderr and an exit status."""

from __future__ import annotations

import gc
import importlib
import os
import sys
from typing import Final

import click

from labelkit import __version__
from labelkit.errors import LabelkitError

# Commands load when they are called: `labelkit scan` on a bench tablet does not wait for the PDF writer.
COMMANDS: Final = {
    "bench": "labelkit.cli.bench:bench",
    "check": "labelkit.cli.check:check",
    "diff": "labelkit.cli.diff:diff",
    "fit": "labelkit.cli.fit:fit",
    "import": "labelkit.cli.importing:import_",
    "job": "labelkit.cli.job:job",
    "kit": "labelkit.cli.kit:kit",
    "new": "labelkit.cli.new:new",
    "order": "labelkit.cli.order:order",
    "pack": "labelkit.cli.sharing:pack_",
    "printer": "labelkit.cli.printer:printer",
    "proof": "labelkit.cli.proof:proof",
    "scan": "labelkit.cli.scan:scan",
    "schema": "labelkit.cli.check:schema",
    "stock": "labelkit.cli.stock:stock",
    "unpack": "labelkit.cli.sharing:unpack_",
}


class _LateGroup(click.Group):
    """A group whose commands are imported when they are needed."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        module, _, name = COMMANDS[cmd_name].partition(":")
        command = getattr(importlib.import_module(module), name)
        return command if isinstance(command, click.Command) else None


@click.group(cls=_LateGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="labelkit")
def main() -> None:
    """Print a teardown and rebuild kit from a unit profile, and open a part's card by a scan.

    \b
    Example: labelkit kit planetary-reducer --out kit
    """


def run() -> None:
    """Run the command; no traceback reaches a user for bad input."""
    # No other package that happens to be installed may change how profiles are read, nor is it looked for.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # A kit makes a million objects and hardly a cycle; the usual thresholds look through them again and again.
    gc.set_threshold(50_000, 20, 100)
    try:
        sys.exit(main.main(standalone_mode=False))
    except LabelkitError as error:
        click.echo(f"labelkit: {error}", err=True)
        sys.exit(error.exit_status)
    except click.exceptions.Exit as error:
        sys.exit(error.exit_code)
    except click.ClickException as error:
        error.show()
        sys.exit(error.exit_code)
    except click.Abort:
        click.echo("labelkit: stopped; nothing was changed", err=True)
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()  # the reader of our output went away; there is nobody to tell
        sys.exit(1)
    except OSError as error:
        name = f"{error.filename}: " if error.filename else ""
        click.echo(f"labelkit: {name}{error.strerror or error}", err=True)
        sys.exit(1)

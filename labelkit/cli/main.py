"""The `labelkit` command and its one way of failing: a clear text on stderr and an exit status."""

from __future__ import annotations

import atexit
import gc
import importlib
import os
import signal
import sys
from typing import Final

import click

from labelkit import __version__
from labelkit.cli.groups import ToldGroup
from labelkit.errors import LabelkitError

# Commands load when they are called: `labelkit scan` on a bench tablet does not wait for the PDF writer, nor the list
# of all commands for any of them. So what each is for stands here as well as in its own help.
COMMANDS: Final = {
    "bench": (
        "labelkit.cli.bench:bench",
        "Serve the cards and the record of all jobs on the shop's network, until Ctrl-C.",
    ),
    "check": (
        "labelkit.cli.check:check",
        "Check unit profiles; print every fault with its line and column, and an answer for each profile.",
    ),
    "diff": (
        "labelkit.cli.diff:diff",
        "Say what a new revision of a profile changes, and which labels and stickers of open jobs are out of date with "
        "it.",
    ),
    "fit": (
        "labelkit.cli.fit:fit",
        "Work out a fit from its readings: which shim, plate or ring, and what it will then be.",
    ),
    "import": (
        "labelkit.cli.importing:import_",
        "Make a unit profile from a table of parts, one line each, as a spreadsheet saves it (CSV, UTF-8).",
    ),
    "job": ("labelkit.cli.job:job", "List the jobs of the store, show where one is, export, import and close it."),
    "kit": (
        "labelkit.cli.kit:kit",
        "Make the kit of a job: labels, tray sheets, cards, what is new of it, and the manifest kit.json.",
    ),
    "new": (
        "labelkit.cli.new:new",
        "Start a unit profile: a few questions on a terminal, options for those that are answered already.",
    ),
    "order": (
        "labelkit.cli.order:order",
        "Show what to order for a job and whom a shortage blocks; with --assembly, the order of assembly.",
    ),
    "pack": ("labelkit.cli.sharing:pack_", "Pack a profile with its photos into one ZIP file."),
    "printer": (
        "labelkit.cli.printer:printer",
        "Print the check sheet, keep what it reads, and list what is kept of printers.",
    ),
    "proof": (
        "labelkit.cli.proof:proof",
        "Decode every symbol of PDF files or scans, compare with the kit, and measure the true scale.",
    ),
    "scan": ("labelkit.cli.scan:scan", "Show the card of a label, or of a new part's sticker."),
    "schema": ("labelkit.cli.check:schema", "Print the JSON Schema of a kind of file, for editors."),
    "stock": ("labelkit.cli.stock:stock", "List the stock there is, or show one by name."),
    "unpack": (
        "labelkit.cli.sharing:unpack_",
        "Unpack a profile with its photos into a new folder, once all of it was looked at.",
    ),
}

# What stops a service, what a window sends that is closed, and what Windows does.
_ENDING: Final = tuple(getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGBREAK") if hasattr(signal, name))


class _LateGroup(ToldGroup):
    """A group whose commands are imported when they are needed."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in COMMANDS:
            return None
        module, _, name = COMMANDS[cmd_name][0].partition(":")
        command = getattr(importlib.import_module(module), name)
        return command if isinstance(command, click.Command) else None

    def told(self, ctx: click.Context) -> dict[str, str]:
        return {name: COMMANDS[name][1] for name in self.list_commands(ctx)}


@click.group(cls=_LateGroup, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, prog_name="labelkit")
def main() -> None:
    """Print a teardown and rebuild kit from a unit profile, and open a part's card by a scan.

    \b
    Example: labelkit kit planetary-reducer --out kit
    """


def _end() -> None:
    """Keep the interpreter, as it ends, from looking for cycles in what goes with it anyhow: a tenth of a kit's time.

    The reader of symbols wants that: it tells on stderr what it still finds of its own.
    """
    if "labelkit.proof.decode" not in sys.modules:
        gc.freeze()


def _stop(*_: object) -> None:
    """End as at Ctrl-C, so that the store is closed; once, since a window that closes often says so twice."""
    for number in _ENDING:
        signal.signal(number, lambda *_: None)
    raise KeyboardInterrupt


def run() -> None:
    """Run the command; no traceback reaches a user for bad input."""
    for number in _ENDING:
        if signal.getsignal(number) == signal.SIG_DFL:
            signal.signal(number, _stop)
    # No other package that happens to be installed may change how profiles are read, nor is it looked for.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # A kit makes a million objects and hardly a cycle; the usual thresholds look through them again and again.
    gc.set_threshold(50_000, 20, 100)
    atexit.register(_end)
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

"""The options of a play or a clearance: the readings, the target, and what there is to choose from."""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce
from typing import Final

import click

from labelkit.calc.clutchplay import PLACES
from labelkit.calc.typedplay import USUAL
from labelkit.cli.fits.asked import Command

_READING: Final = (
    click.option("--reading", multiple=True, metavar="LENGTH", help="As read; repeat for each, or 1.08,1.10,1.12."),
    click.option("--spread", metavar="LENGTH", help="What they may differ by."),
    click.option("--seat", multiple=True, metavar="TEXT", help="How the part is seated before each."),
    click.option("--gauge", type=click.Choice(["straight", "lever", "face", "point"]), default=USUAL["gauge"],
                 help="How it stood: a lever at an angle; a plunger that leans, on a flat face or on a point."),
    click.option("--angle", metavar="DEGREES", help="By which it leaned."),
    click.option("--added", metavar="LENGTH", help="Added to each reading: a gasket that was left out."),
    click.option("--dial-turn", metavar="LENGTH", help="One turn of the dial."),
    click.option("--expected", metavar="LENGTH", help="What the reading should be near."),
    click.option("--gasket", metavar="TEXT", help="State of the gasket when it was read."),
    click.option("--warm/--cold", default=None, help="Whether the unit was warm."),
)  # fmt: skip
_TARGET: Final = (click.option("--target", metavar="LOW:HIGH", help="Where it must lie."),)
_AIM: Final = (
    click.option("--aim", default=USUAL["aim"], show_default=True, metavar="middle|low|high|LENGTH"),
    click.option("--tie", type=click.Choice(["tight", "loose"]), default=USUAL["tie"], show_default=True,
                 help="Of two that are as near, the one that leaves less, or more."),
)  # fmt: skip
_SHELF: Final = (
    click.option("--series", metavar="SIZES", help="What there is: 2.45,2.60,2.75 or FROM:TO:STEP."),
    click.option("--tol", metavar="LENGTH", help="Tolerance of each size, to either side."),
    click.option("--measured", is_flag=True, help="Each piece is measured: its tolerance does not count."),
    click.option("--pieces", type=click.IntRange(1, 9), metavar="N", default=USUAL["pieces"], show_default=True,
                 help="How many may go in together."),
)  # fmt: skip
_FITTED: Final = (
    click.option("--fitted", multiple=True, metavar="LENGTH", help="What was in when it was read; repeat for each."),
    click.option("--thicker", type=click.Choice(["reduces", "increases"]), help="What a thicker piece does to it."),
    click.option("--before", metavar="LENGTH", help="What was read before the teardown."),
    click.option("--predicted", metavar="LENGTH", help="What was expected: this is the check after fitting."),
    click.option("--chain", multiple=True, metavar="NAME=LENGTH", help="A thin part that may be missing or doubled."),
)
_STATES: Final = click.Choice(["free", "flat", "none"])
_WAVE: Final = (
    click.option("--wave", metavar="LENGTH", help="Height of the wave plate free less flat, if known."),
    click.option("--frictions", type=click.IntRange(1), metavar="N", help="How many friction plates the pack has."),
    click.option("--state", type=_STATES,
                 help="How the wave or cushion plate was when it was measured; none: the pack has none."),
    click.option("--limit-state", type=_STATES, help="How the limit means the wave or cushion plate."),
)  # fmt: skip


def reading_options(command: Command) -> Command:
    """Add the options of readings and of how they were taken."""
    return _with(command, (*_READING, _wanted(USUAL["readings"], 1)))


def place_options(command: Command) -> Command:
    """Add the same of a pack, which is read at several places."""
    return _with(command, (*_READING, _wanted(PLACES, PLACES)))


def target_option(command: Command) -> Command:
    """Add --target."""
    return _with(command, _TARGET)


def shelf_options(command: Command) -> Command:
    """Add the options of what there is to choose from."""
    return _with(command, _SHELF)


def picking_options(command: Command) -> Command:
    """Add the options of a target, an aim in it and what there is to choose from."""
    return _with(command, (*_TARGET, *_AIM, *_SHELF))


def fitted_options(command: Command) -> Command:
    """Add the options of what was in, and of the check after fitting."""
    return _with(command, _FITTED)


def wave_options(command: Command) -> Command:
    """Add the options of the friction plates of a pack and of the state of its wave or cushion plate."""
    return _with(command, _WAVE)


def _wanted(usual: int, least: int) -> Callable[[Command], Command]:
    number = click.IntRange(least)
    words = "How many are wanted."
    return click.option("--readings", type=number, metavar="N", default=usual, show_default=True, help=words)


def _with(command: Command, options: tuple[Callable[[Command], Command], ...]) -> Command:
    return reduce(lambda decorated, option: option(decorated), reversed(options), command)

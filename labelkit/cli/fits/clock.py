"""`labelkit fit clock`: a clock position, and how it reads from the other end."""

from __future__ import annotations

import click

from labelkit.calc.clock import at_degrees, read
from labelkit.calc.clock import clock as both_ends
from labelkit.calc.typed import number
from labelkit.cli.fits.asked import tell
from labelkit.errors import UsageError


@click.command()
@click.option("--at", metavar="CLOCK", help="As it is read: 5:30, or 9.")
@click.option("--degrees", metavar="DEGREES", help="Instead: the angle from 12, clockwise.")
@click.option("--from", "seen_from", default="", metavar="END", help="From which end it is read.")
@click.option("--to", "other_end", default="the other end", metavar="END", help="What the end across is called.")
@click.option("--words", default="", metavar="TEXT", help="Which way the part lies, told turned over as well.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def clock(at: str | None, degrees: str | None, seen_from: str, other_end: str, words: str, as_json: bool) -> None:
    """Tell a clock position as seen from the other end, and as an angle.

    \b
    Example: labelkit fit clock --at 5:00 --from above --to below --words "lip down"
    """
    if (at is None) == (degrees is None):
        raise UsageError("clock: either --at 5:00, or --degrees 150")
    position = read(at) if at is not None else at_degrees(number("--degrees", degrees or ""))
    tell(both_ends(position, seen_from=seen_from, other_end=other_end, words=words), as_json=as_json)

"""`labelkit fit heating`: how warm a part must be to slip on, and how warm it may be."""

from __future__ import annotations

import re
from decimal import Decimal

import click

from labelkit.calc.heating import EXPANSION, celsius
from labelkit.calc.heating import heating as work_out
from labelkit.calc.typed import maybe, number, quantity
from labelkit.cli.fits.asked import shown_options, tell


@click.command()
@click.option("--interference", metavar="LENGTH", required=True, help="How much the bore is smaller than the shaft.")
@click.option("--diameter", metavar="LENGTH", required=True, help="Of the fit.")
@click.option("--clearance", metavar="LENGTH", help="How much room is wanted while it slips on.")
@click.option("--metal", type=click.Choice(sorted(EXPANSION)), default="steel", show_default=True)
@click.option("--room", metavar="DEGREES", default="20", show_default=True, help="Temperature now, as 20 or 68 F.")
@click.option(
    "--cap", metavar="DEGREES", default="135", show_default=True, help="The most the part may have, as 135 or 275 F."
)
@shown_options
def heating(
    interference: str,
    diameter: str,
    clearance: str | None,
    metal: str,
    room: str,
    cap: str,
    unit: str,
    as_json: bool,
) -> None:
    """Tell how warm the outer part must be to slip over the inner one. Never a flame.

    \b
    Example: labelkit fit heating --interference 0.030 --clearance 0.030 --diameter 50
    """
    tight, size = (
        quantity(*each, "length", unit) for each in (("--interference", interference), ("--diameter", diameter))
    )
    gap = maybe("--clearance", clearance, "length", unit)
    now, most = _temperature("--room", room), _temperature("--cap", cap)
    tell(work_out(tight, size, clearance=gap, metal=metal, room=now, cap=most), as_json=as_json)


def _temperature(option: str, text: str) -> Decimal:
    """Return a temperature in °C, from `135`, `135 C` or `275 F`."""
    found = re.fullmatch(r"\s*(.*?)\s*°?\s*([CF])?\s*", text, re.IGNORECASE)
    value = number(option, found[1] if found else text)
    return celsius(value) if found and (found[2] or "").upper() == "F" else value

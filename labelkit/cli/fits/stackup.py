"""`labelkit fit stackup`: a gap from the sizes of a chain, worst case and statistical."""

from __future__ import annotations

import re

import click

from labelkit.calc.limits import Limits
from labelkit.calc.stackup import Link
from labelkit.calc.stackup import stackup as add_up
from labelkit.calc.typed import band, parts
from labelkit.cli.fits.asked import shown_options, tell
from labelkit.errors import UsageError


@click.command()
@click.option("--add", multiple=True, metavar="NAME=SIZE:TOL", help="A size that opens the gap.")
@click.option("--less", multiple=True, metavar="NAME=SIZE:TOL", help="A size that fills it; 2x NAME=... for two.")
@click.option("--target", metavar="LOW:HIGH", help="Limits of the gap.")
@shown_options
def stackup(add: tuple[str, ...], less: tuple[str, ...], target: str | None, unit: str, as_json: bool) -> None:
    """Add up a chain of sizes with their tolerances; SIZE:PLUS:MINUS where they differ.

    \b
    Example: labelkit fit stackup --add case=68.40:0.10 --less drum=62.35:0.08 --less "2x bearing=2.80:0.02"
               --target 0.20:0.80
    """
    links = [_link("--add", text, 1, unit) for text in add] + [_link("--less", text, -1, unit) for text in less]
    limits = None if target is None else Limits(*band("--target", target, "length", unit))
    tell(add_up(links, limits, unit=unit), as_json=as_json)


def _link(option: str, text: str, sign: int, unit: str) -> Link:
    found = re.fullmatch(r"\s*(?:(\d{1,3})\s*[x×]\s*)?([^=]+)=(.+)", text, re.DOTALL)
    sizes = parts(option, found[3], "length", unit, mark=":") if found else ()
    if found is None or len(sizes) not in (2, 3):
        raise UsageError(f'{option} "{text}": allowed: NAME=SIZE:TOL or NAME=SIZE:PLUS:MINUS, as drum=62.35:0.08')
    minus = sizes[2] if len(sizes) > 2 else None
    return Link(found[2].strip(), sizes[0], sizes[1], minus, sign=sign, count=int(found[1] or 1))

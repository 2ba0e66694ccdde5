"""`labelkit fit tightening`: in which order screws are tightened."""

from __future__ import annotations

import click

from labelkit.calc.tightening import PATTERNS
from labelkit.calc.tightening import tightening as in_order
from labelkit.calc.typed import number
from labelkit.cli.fits.asked import tell
from labelkit.errors import UsageError


@click.command()
@click.option("--pattern", required=True, metavar="PATTERN", help=f"{', '.join(PATTERNS)}, or your own order 1,3,2,4.")
@click.option("--screws", metavar="N", type=int, required=True, help="How many there are.")
@click.option("--passes", metavar="SHARES", help="Shares of the torque, a pass for each: 0.7,1.")
@click.option("--loosen", is_flag=True, help="The same backwards, for taking apart.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def tightening(pattern: str, screws: int, passes: str | None, loosen: bool, as_json: bool) -> None:
    """Tell the order of the screws of a pattern.

    \b
    Example: labelkit fit tightening --pattern circle --screws 12 --passes 0.7,1
    """
    shares = [number("--passes", each) for each in passes.split(",")] if passes else []
    own = _own(pattern) if pattern[:1].isdigit() else pattern
    tell(in_order(own, screws, passes=shares, loosen=loosen), as_json=as_json)


def _own(text: str) -> list[int]:
    pieces = [piece.strip() for piece in text.replace("-", ",").split(",")]
    strange = [piece for piece in pieces if not (piece.isascii() and piece.isdigit() and len(piece) < 4)]
    if strange:
        raise UsageError(f'--pattern "{text}": found "{strange[0]}"; allowed: numbers of screws, as 1,3,2,4')
    return [int(piece) for piece in pieces]

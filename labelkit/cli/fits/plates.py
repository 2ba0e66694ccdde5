"""`labelkit fit plates`: is a pack of plates stacked as it must be?"""

from __future__ import annotations

import click

from labelkit.calc.platestack import plate_stack
from labelkit.cli.fits.asked import tell
from labelkit.errors import UsageError


@click.command()
@click.option("--found", required=True, metavar="PLATES", help="As they lie, with blanks or commas.")
@click.option("--wanted", required=True, metavar="PLATES", help="As they must lie, from the same end.")
@click.option(
    "--friction", "frictions", metavar="PLATE", multiple=True, help="Which are frictions; by default F and friction."
)
@click.option("--name", "names", multiple=True, metavar="PLATE=NAME", help="What a plate is called: F=friction.")
@click.option(
    "--ends",
    metavar="NAME NAME",
    nargs=2,
    default=("the piston", "the other end"),
    help="What first and last lie against.",
)
@click.option("--dished", metavar="PLATE", multiple=True, help="A plate whose dish has a direction.")
@click.option("--ticked", type=int, multiple=True, metavar="N", help="A dished plate that was looked at.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def plates(
    found: str,
    wanted: str,
    frictions: tuple[str, ...],
    names: tuple[str, ...],
    ends: tuple[str, str],
    dished: tuple[str, ...],
    ticked: tuple[int, ...],
    as_json: bool,
) -> None:
    """Hold a stack of clutch plates against the order it must have.

    \b
    Example: labelkit fit plates --found "S F S F S F F S F" --wanted "S F S F S F S F S F"
    """
    called = {"F": "friction", "S": "steel", **dict(_name(text) for text in names)}
    answer = plate_stack(
        _plates(found),
        _plates(wanted),
        frictions or ("F", "friction"),
        names=called,
        ends=ends,
        dished=dished,
        ticked=ticked,
    )
    tell(answer, as_json=as_json)


def _plates(text: str) -> list[str]:
    return text.replace(",", " ").split()


def _name(text: str) -> tuple[str, str]:
    plate, mark, name = text.partition("=")
    if not mark or not plate.strip() or not name.strip():
        raise UsageError(f'--name "{text}": allowed: PLATE=NAME, as F=friction')
    return plate.strip(), name.strip()

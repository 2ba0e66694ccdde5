"""`labelkit fit depth_gauge`, `straightedge`, `retainer`, `gasket_shim`, `rows`: plays and shims from depths."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import click

from labelkit.calc import depthplay
from labelkit.calc.depthplay import Row, Term
from labelkit.calc.readings import Taking, take
from labelkit.calc.selecting import Asked
from labelkit.calc.selective import Target
from labelkit.calc.showing import LengthUnit
from labelkit.calc.typed import band, quantity
from labelkit.calc.typedplay import Typed
from labelkit.cli.fits.asked import Command, shown_options, tell
from labelkit.cli.fits.play import picking_options, target_option
from labelkit.errors import UsageError


def _place(name: str, text: str) -> Callable[[Command], Command]:
    return click.option(name, multiple=True, metavar="LENGTH", help=f"{text}; repeat for each place.")


@click.command()
@_place("--to-seat", "Depth to the seat")
@_place("--to-ring", "Depth to the ring")
@target_option
@shown_options
def depth_gauge(unit: LengthUnit, as_json: bool, **given: Any) -> None:
    """Work out a play from the depth to a seat and the depth to the ring over it.

    \b
    Example: labelkit fit depth_gauge --to-seat 12.45 --to-ring 12.10 --target 0.30:0.40
    """
    typed = Typed(given, unit)
    seat, ring = _depth(typed, "to_seat"), _depth(typed, "to_ring")
    target = None if given["target"] is None else typed.target()
    tell(depthplay.depth_gauge(seat, ring, target, typed.resolution("to_ring"), typed.show), as_json=as_json)


@click.command()
@_place("--over-bar", "Depth from the top of the bar, D")
@click.option("--bar", metavar="LENGTH", help="Thickness of the bar, E.")
@_place("--other", "The other height, C")
@click.option("--row", multiple=True, metavar="PART=LOW:HIGH", help="A row of the table; a second unit behind a ;")
@shown_options
def straightedge(unit: LengthUnit, as_json: bool, row: tuple[str, ...], **given: Any) -> None:
    """Choose the shim of a table from two depths, one of them read over a straightedge: F = D - E, G = C - F.

    \b
    Example: labelkit fit straightedge --over-bar 41.27 --bar 6.35 --other 39.90
               --row 3.60=4.574:4.843 --row 3.80=4.844:5.113
    """
    typed = Typed(given, unit)
    over, bar, other = _depth(typed, "over_bar"), typed.needed("bar"), _depth(typed, "other")
    rows = [_row(text, unit) for text in row]
    tell(depthplay.straightedge(over, bar, other, rows, typed.show), as_json=as_json)


@click.command()
@click.option("--reading", required=True, metavar="LENGTH", help="What was measured.")
@click.option("--row", multiple=True, metavar="PART=LOW:HIGH", help="A row; a second unit behind a ;")
@shown_options
def rows(reading: str, row: tuple[str, ...], unit: LengthUnit, as_json: bool) -> None:
    """Look a measurement up in a printed table of rows, in every unit that it has; say where it falls between two.

    \b
    Example: labelkit fit rows --reading "0.191 in" --row "1=4.574:4.843 mm; 0.180:0.190 in"
               --row "2=4.844:5.113 mm; 0.192:0.201 in"
    """
    measured = quantity("--reading", reading, "length", unit)
    tell(depthplay.row_of(measured, [_row(text, unit) for text in row]), as_json=as_json)


@click.command()
@_place("--depth", "Depth from the face to the part")
@_place("--thickness", "Thickness of the retainer")
@click.option("--add", metavar="LENGTH", help="What the shim is thicker by: the squeeze. Below zero: a play.")
@picking_options
@shown_options
def retainer(unit: LengthUnit, as_json: bool, **given: Any) -> None:
    """Work out the shim under a retainer: depth - thickness + what is added; with --series, choose it.

    --target gives the play instead of --add where a band is allowed; below zero it is a squeeze.

    \b
    Example: labelkit fit retainer --depth 1.482 --thickness 1.375 --add 0.012 --unit in
             labelkit fit retainer --depth 37.64 --thickness 34.92 --target -0.35:-0.25 --series 2.90,3.00,3.10
    """
    typed = Typed(given, unit)
    terms = [
        Term("depth", _depth(typed, "depth")),
        Term("thickness of the retainer", _depth(typed, "thickness"), -1),
    ]
    if (given["add"] is None) == (given["target"] is None):
        raise UsageError("either --add, as 0.012, or --target LOW:HIGH: how much thicker, or which play?")
    if given["add"] is None:
        target = typed.target(negative=True)
        tell(
            depthplay.shim_for(terms, target, typed.pieces(), Asked("retainer", "play", typed.show)),
            as_json=as_json,
        )
    else:
        if given["series"] is not None:
            raise UsageError("--series chooses inside a --target LOW:HIGH; with --add there is no band to choose in")
        tell(depthplay.thickness([*terms, Term("added", typed.needed("add"))], "retainer", typed.show), as_json=as_json)


@click.command()
@_place("--depth", "Depth of the bore from the joint face, A")
@_place("--height", "Height of what goes in, B")
@click.option("--gasket", "seal", metavar="LENGTH", help="Thickness of the gasket in the state named.")
@click.option("--gasket-state", type=click.Choice(["uncompressed", "compressed", "none"]), help="What it means.")
@picking_options
@shown_options
def gasket_shim(unit: LengthUnit, as_json: bool, seal: str | None, gasket_state: str | None, **given: Any) -> None:
    """Work out the shim in a closed joint: A + gasket - B - play; with --series, choose it.

    \b
    Example: labelkit fit gasket_shim --depth 52.30 --height 49.10 --gasket 0.28 --gasket-state compressed
               --target 0.05:0.10 --series 2.80,2.90,3.00,3.10,3.20,3.30,3.40
    """
    typed = Typed({**given, "seal": seal}, unit)
    if gasket_state is None or (gasket_state == "none") != (seal is None):
        raise UsageError(
            "--gasket and --gasket-state go together: how thick is it, uncompressed or compressed? "
            "Where there is none: --gasket-state none"
        )
    terms = [Term("A, depth", _depth(typed, "depth"))]
    terms += [Term(f"gasket {gasket_state}", typed.needed("seal"))] if seal is not None else []
    terms.append(Term("B, height", _depth(typed, "height"), -1))
    target: Target = typed.target()
    notes = (f"gasket: {gasket_state}; the formula of the manual must mean the same",)
    tell(
        depthplay.shim_for(terms, target, typed.pieces(), Asked("gasket_shim", "play", typed.show), notes),
        as_json=as_json,
    )


def _depth(typed: Typed, name: str) -> Decimal:
    """Return the mean of a depth that was read at several places, mm."""
    read = typed.lengths(name)
    if not read:
        raise UsageError(f"--{name.replace('_', '-')} is missing; repeat it for each of three places")
    return depthplay.mean_of_places(take(read, Taking(least=1), typed.show))


def _row(text: str, unit: str) -> Row:
    part, equals, bands = text.partition("=")
    if not equals or not part.strip():
        raise UsageError(f'--row "{text}": allowed: PART=LOW:HIGH, as 3.80=4.844:5.113, a second unit behind a ;')
    return Row(part.strip(), tuple(band("--row", each, "length", unit) for each in bands.split(";")))

"""`labelkit fit torque`, `passes`, `torque_angle`, `clamping`: what is set on the wrench, what it does to a screw."""

from __future__ import annotations

from typing import Any

import click

from labelkit import units
from labelkit.calc import bolting
from labelkit.calc.torque import CONDITIONS, UNITS, Wrench, setting
from labelkit.calc.typed import maybe, number, parts, quantity
from labelkit.cli.fits.asked import Command, tell
from labelkit.errors import UsageError


def _torque_options(command: Command) -> Command:
    command = click.option("--json", "as_json", is_flag=True, help="Print as JSON.")(command)
    return click.option(
        "--unit", metavar="UNIT", default="N·m", show_default=True, help=f"Of bare torques: {', '.join(UNITS)}."
    )(command)


def _unit(option: str, text: str) -> str:
    try:
        return units.unit(text, "torque")
    except units.UnitError as error:
        raise UsageError(f"{option}: {error}") from error


@click.command()
@click.option("--torque", "wanted", required=True, metavar="TORQUE", help="What is wanted, or LOW:HIGH.")
@click.option("--wrench", metavar="UNIT", help=f"Unit of the wrench's scale: {', '.join(UNITS)}.")
@click.option("--length", metavar="LENGTH", help="Of the wrench, from the drive to the middle of the grip.")
@click.option("--adapter", metavar="LENGTH", help="From the drive to the screw, in line with the wrench.")
@click.option("--range", "scale", metavar="LOW:HIGH", help="Of the wrench, in its own unit.")
@click.option("--prevailing", metavar="TORQUE", help="Of a self-locking nut, one turn before it seats.")
@click.option("--threads", type=click.Choice(sorted(CONDITIONS)), help="With a value from a table for dry threads.")
@click.option("--set", "set_to", metavar="TORQUE", help="What somebody has set: is it right?")
@_torque_options
def torque(unit: str, as_json: bool, **given: Any) -> None:
    """Tell what to set on the wrench; all three units are shown.

    \b
    Example: labelkit fit torque --torque "48 N·m" --wrench lbf·ft --length "12 in" --adapter "4 in"
             labelkit fit torque --torque "50:70 lbf·ft" --prevailing "30 lbf·ft"
    """
    bare = _unit("--unit", unit)
    ends = parts("--torque", given["wanted"], "torque", bare, mark=":")
    if len(ends) > 2:
        raise UsageError(f'--torque "{given["wanted"]}": allowed: one torque, or LOW:HIGH')
    on_scale = _unit("--wrench", given["wrench"]) if given["wrench"] else ends[0].unit
    scale = parts("--range", given["scale"], "torque", on_scale, mark=":") if given["scale"] else ()
    if len(scale) > 2:
        raise UsageError(f'--range "{given["scale"]}": allowed: LOW:HIGH, or the highest figure')
    arm, adapter = (maybe(f"--{name}", given[name], "length", "mm") for name in ("length", "adapter"))
    wrench = Wrench(on_scale, arm, adapter, scale[0] if len(scale) > 1 else None, scale[-1] if scale else None)
    answer = setting(
        ends[0],
        upto=ends[1] if len(ends) > 1 else None,
        wrench=wrench,
        prevailing=maybe("--prevailing", given["prevailing"], "torque", bare),
        condition=given["threads"],
        set_to=maybe("--set", given["set_to"], "torque", on_scale),
    )
    tell(answer, as_json=as_json)


@click.command()
@click.option("--torque", "full", required=True, metavar="TORQUE", help="The full one.")
@click.option("--shares", metavar="SHARES", help="0.5,1 or one, two, half, flange.")
@_torque_options
def passes(full: str, shares: str | None, unit: str, as_json: bool) -> None:
    """Tell the torque of each pass over all screws of a pattern.

    \b
    Example: labelkit fit passes --torque 60
             labelkit fit passes --torque 60 --shares 0.3,0.6,1,1
    """
    whole = quantity("--torque", full, "torque", _unit("--unit", unit))
    steps = shares if shares is None or shares.isalpha() else [number("--shares", each) for each in shares.split(",")]
    tell(bolting.passes(whole, steps), as_json=as_json)


@click.command()
@click.option("--snug", required=True, metavar="TORQUE", help="The torque first.")
@click.option("--angle", required=True, metavar="DEGREES", help="To turn on after it.")
@click.option("--pitch", metavar="LENGTH", help="Of the thread, in mm.")
@_torque_options
def torque_angle(snug: str, angle: str, pitch: str | None, unit: str, as_json: bool) -> None:
    """Tell how far a screw is turned on after its snug torque.

    \b
    Example: labelkit fit torque_angle --snug 60 --angle 90 --pitch 1.75
    """
    answer = bolting.by_angle(
        quantity("--snug", snug, "torque", _unit("--unit", unit)),
        quantity("--angle", angle, "angle", "deg"),
        pitch=maybe("--pitch", pitch, "length", "mm"),
    )
    tell(answer, as_json=as_json)


@click.command()
@click.option("--torque", "full", required=True, metavar="TORQUE", help="That it is tightened to.")
@click.option("--diameter", required=True, metavar="LENGTH", help="Of the thread, in mm.")
@_torque_options
def clamping(full: str, diameter: str, unit: str, as_json: bool) -> None:
    """Tell how hard a screw clamps, dry and oiled.

    \b
    Example: labelkit fit clamping --torque 25 --diameter 8
    """
    whole = quantity("--torque", full, "torque", _unit("--unit", unit))
    tell(bolting.clamping(whole, quantity("--diameter", diameter, "length", "mm")), as_json=as_json)

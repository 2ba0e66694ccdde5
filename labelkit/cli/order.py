"""`labelkit order`: in which order the unit goes together."""

from __future__ import annotations

import json

import click

from labelkit.calc.assembly import assembly_order, failing_pairs
from labelkit.calc.steps import choose, teardown
from labelkit.cli.options import option_pairs
from labelkit.load.profile import load_profile
from labelkit.sheets.manifest import order_data


@click.command()
@click.argument("profile")
@click.option("--assembly", is_flag=True, required=True, help="Show the order of assembly.")
@click.option("--option", "options", multiple=True, metavar="GROUP=CHOICE", help="Choose an option; repeat for more.")
@click.option("--json", "as_json", is_flag=True, help="Print as JSON.")
def order(profile: str, assembly: bool, options: tuple[str, ...], as_json: bool) -> None:  # noqa: ARG001
    """Show the order of assembly, and whether it is the plain reverse of the removal.

    \b
    Example: labelkit order planetary-reducer --assembly
    """
    unit = load_profile(profile).profile
    removal = teardown(unit, choose(unit, option_pairs(options)))
    placed, failing = assembly_order(unit, removal), failing_pairs(unit, removal)
    if as_json:
        data = {
            "order": order_data(placed),
            "plain_reverse": not failing,
            "failing": [{"first": pair.first, "then": pair.then, "why": pair.why} for pair in failing],
        }
        click.echo(json.dumps(data, indent=1, ensure_ascii=False))
        return
    for number, entry in enumerate(placed, start=1):
        group = f"  [{entry.group}]" if entry.group else ""
        after = f"  after {', '.join(need.step for need in entry.needs)}" if entry.needs else ""
        click.echo(f"{number:4}  step {entry.bin.step:6} {entry.bin.name}{group}{after}")
    if not failing:
        click.echo("Plain reverse is valid: every part that must be in before another was removed after it.")
    for pair in failing:
        click.echo(f"Plain reverse fails: step {pair.first} must be in before step {pair.then}: {pair.why}")
